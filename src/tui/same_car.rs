//! Whether two things are one car: asked once, before one of them is opened. Enter is never yes.

use crate::walk::Workspace;

use super::app::App;
use super::keymap::UiAction;
use super::moving::scrolled;
use super::state::{SameCarPage, Screen};

impl<G: Workspace> App<G> {
    /// Asks whether the car about to be opened is one that is known; whether it asked.
    pub(super) fn asks_same_car(&mut self, car: &str, profile: &str, stage: Option<&str>) -> bool {
        match self.workspace.same_car(car) {
            Ok(Some(question)) => {
                let (car, profile) = (car.to_owned(), profile.to_owned());
                let page = SameCarPage { question, car, profile, stage: stage.map(str::to_owned), scroll: 0 };
                self.state.screen = Screen::SameCar(Box::new(page));
                true
            }
            // What is wrong with the car is said where it is opened.
            Ok(None) | Err(_) => false,
        }
    }

    pub(super) fn act_same_car(&mut self, action: UiAction) {
        let Screen::SameCar(page) = &mut self.state.screen else { return };
        match action {
            UiAction::Yes => self.answer_same_car(true),
            UiAction::No => self.answer_same_car(false),
            UiAction::Back => self.list_cars(),
            action => scrolled(&mut page.scroll, action),
        }
    }

    fn answer_same_car(&mut self, same: bool) {
        let Screen::SameCar(page) = &self.state.screen else { return };
        let (car, profile, stage) = (page.car.clone(), page.profile.clone(), page.stage.clone());
        match self.workspace.say_same_car(&car, same) {
            Ok(car) => self.start(&car, &profile, stage),
            Err(message) => self.state.refuse(message),
        }
    }
}
