//! The end of a walk: what it came to, the number asked back, signatures, and the next car.

use crate::walk::{Action, Workspace};

use super::app::App;
use super::keymap::UiAction;
use super::moving::scrolled;
use super::sheet::{Summary, open_counts};
use super::state::{EndPage, From, Purpose, Screen};

impl<G: Workspace> App<G> {
    pub(super) fn open_end(&mut self) {
        let Some(walk) = &self.state.walk else { return };
        let page = match &self.ended {
            Some(summary) if walk.id.is_none() => {
                EndPage { summary: summary.clone(), ended: true, scroll: 0 }
            }
            _ => EndPage { summary: Summary::of(walk), ended: false, scroll: 0 },
        };
        self.show(Screen::End(page));
    }

    pub(super) fn act_end(&mut self, action: UiAction) {
        let Screen::End(page) = &mut self.state.screen else { return };
        let ended = page.ended;
        match action {
            UiAction::Findings => self.open_findings(From::End),
            UiAction::Numbers => self.open_numbers(From::End),
            UiAction::Plan => self.open_plan(),
            UiAction::Report => self.open_report(From::End),
            UiAction::Rules => self.open_rules(From::End),
            UiAction::Go if ended => self.list_cars(),
            UiAction::Go => self.ask_number(""),
            UiAction::Back if ended => self.list_cars(),
            UiAction::Back => self.back_to_walk(),
            action => scrolled(&mut page.scroll, action),
        }
    }

    /// A digit begins the number of the car, to sign.
    pub(super) fn number_begins(&mut self, c: char) -> bool {
        self.ask_number(&c.to_string());
        true
    }

    fn ask_number(&mut self, begun: &str) {
        let Some(walk) = &self.state.walk else { return };
        if walk.id.is_none() {
            self.state.object("Nothing was answered yet: there is nothing to sign.");
            return;
        }
        self.ask_words("Which car is this? Type its number to sign:", begun, Purpose::SignNumber);
    }

    /// The number typed before signing has to be that of the car walked.
    pub(super) fn number_asked_back(&mut self, typed: &str) {
        let Some(walk) = &self.state.walk else { return };
        let number = walk.start.car.number.trim();
        if !typed.eq_ignore_ascii_case(number) {
            let message = format!(
                "this walk is of car {number}, not {typed}: if you stand at {typed}, leave with Esc and open that car"
            );
            self.refuse_words(message);
            return;
        }
        self.next_signature(true);
    }

    /// Asks the next role to sign; ends the walk once all have.
    fn next_signature(&mut self, first: bool) {
        let Screen::End(page) = &self.state.screen else { return };
        match page.summary.unsigned().map(str::to_owned) {
            Some(role) => {
                let known = self.workspace.by().filter(|_| first).unwrap_or_default();
                self.ask_words(
                    format!("Signed as {role} by (initials or name):"),
                    &known,
                    Purpose::Sign(role),
                );
            }
            None => self.end_walk(),
        }
    }

    pub(super) fn sign(&mut self, role: String, by: String) {
        let action = Action::Sign { role, by: by.clone() };
        if self.carry_out(&action).is_none() {
            return;
        }
        if self.workspace.by().is_none() {
            self.remember_who(&by);
        }
        self.uncover();
        if let (Screen::End(page), Some(walk)) = (&mut self.state.screen, &self.state.walk) {
            page.summary = Summary::of(walk);
        }
        self.next_signature(false);
    }

    fn end_walk(&mut self) {
        self.uncover();
        if self.carry_out(&Action::End).is_none() {
            return;
        }
        if let (Screen::End(page), Some(walk)) = (&mut self.state.screen, &self.state.walk) {
            page.ended = true;
            page.scroll = 0;
            page.summary.open = open_counts(walk);
            self.ended = Some(page.summary.clone());
        }
        self.state.say("Kept: the walk is signed and has ended.");
    }
}
