//! Keys of the plan and of the discharge.

use std::sync::Arc;

use crate::drawing::{View, discharge_curves};
use crate::numbers::Situation;
use crate::physics::discharge::Settings;
use crate::walk::Workspace;

use super::app::App;
use super::keymap::UiAction;
use super::moving::scrolled;
use super::picture::{DischargePage, PlanPage, Shown, drawing, findings};
use super::state::{CarsPage, Screen};

impl<G: Workspace> App<G> {
    /// Takes the open screen away, to lie under another one.
    pub(super) fn lift(&mut self) -> Screen {
        std::mem::replace(&mut self.state.screen, Screen::Cars(CarsPage::default()))
    }

    /// Puts the screen back that lay under a picture.
    pub(super) fn put_back(&mut self) {
        let under = match self.lift() {
            Screen::Plan(page) => *page.under,
            Screen::Discharge(page) => *page.under,
            Screen::WhatIf(page) => *page.under,
            other => other,
        };
        self.state.screen = under;
        if let Some(page) = self.page() {
            page.fresh = None;
        }
    }

    pub(super) fn open_plan(&mut self) {
        if self.state.walk.is_none() {
            return;
        }
        let under = self.lift();
        if let Some(walk) = &self.state.walk {
            self.state.screen = Screen::Plan(Box::new(PlanPage::new(walk, self.state.grain, under)));
        }
    }

    pub(super) fn act_plan(&mut self, action: UiAction) {
        let (Screen::Plan(page), Some(walk)) = (&mut self.state.screen, &self.state.walk) else { return };
        let last = page.stations.len().saturating_sub(1);
        match action {
            UiAction::OtherView => {
                page.view = page.view.other();
                page.redraw(walk);
            }
            UiAction::Zoom => page.zoomed = !page.zoomed,
            UiAction::NextPlace => page.at = if page.at >= last { 0 } else { page.at + 1 },
            UiAction::PreviousPlace => page.at = page.at.checked_sub(1).unwrap_or(last),
            UiAction::Dots => {
                page.grain = page.grain.next();
                self.state.grain = page.grain;
                let words = page.grain.words();
                self.state.say(format!("Drawn with {words}."));
            }
            UiAction::Discharge => self.open_discharge(),
            UiAction::WhatIf => self.open_what_if(),
            UiAction::Back => self.put_back(),
            action => scrolled(&mut page.scroll, action),
        }
    }

    /// The discharge of the car, or of the car as a what-if has it.
    pub(super) fn open_discharge(&mut self) {
        let Some(walk) = &self.state.walk else { return };
        let (car, readings, changes) = match &self.state.screen {
            Screen::WhatIf(page) => {
                (Arc::clone(&page.after.car), page.after.readings.clone(), page.changes.len())
            }
            _ => (Arc::clone(&walk.start.car), walk.readings.clone(), 0),
        };
        let (all, refused) = {
            let settings = Settings::CLOSE.with_curves();
            discharge_curves(&Situation::with(&car, readings, walk.start.on, settings))
        };
        if let ([], [why]) = (all.as_slice(), refused.as_slice()) {
            let why = format!("There is no discharge to show: {why}.");
            self.state.object(why);
            return;
        }
        let base = drawing(walk, &car, &findings(walk), View::Top);
        let units = walk.start.units;
        let under = Box::new(self.lift());
        let mut page = DischargePage {
            car,
            changes,
            all,
            refused,
            network: 0,
            moment: 0,
            shown: Shown::Curves(crate::drawing::Figure::Flow),
            drawing: base.clone(),
            base,
            words: Vec::new(),
            units,
            grain: self.state.grain,
            scroll: 0,
            under,
        };
        page.settle();
        self.state.screen = Screen::Discharge(Box::new(page));
    }

    pub(super) fn act_discharge(&mut self, action: UiAction) {
        let (Screen::Discharge(page), Some(walk)) = (&mut self.state.screen, &self.state.walk) else {
            return;
        };
        match action {
            UiAction::Later => page.step(1),
            UiAction::Earlier => page.step(-1),
            UiAction::MuchLater => page.step(10),
            UiAction::MuchEarlier => page.step(-10),
            UiAction::First => page.moment = 0,
            UiAction::Last => page.step(isize::MAX),
            UiAction::NextFigure => page.shown = page.shown.next(),
            UiAction::NextNetwork => {
                page.network = if page.network + 1 < page.all.len() { page.network + 1 } else { 0 };
                page.moment = 0;
            }
            UiAction::OtherView => {
                let view = page.base.view.other();
                page.base = drawing(walk, &page.car, &findings(walk), view);
            }
            UiAction::Down => page.scroll += 1,
            UiAction::Up => page.scroll = page.scroll.saturating_sub(1),
            UiAction::Dots => {
                page.grain = page.grain.next();
                self.state.grain = page.grain;
            }
            UiAction::WhatIf => return self.open_what_if(),
            UiAction::Back => return self.put_back(),
            _ => return,
        }
        page.settle();
    }
}
