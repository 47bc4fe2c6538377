//! What is asked once: who this is, and whether the clock is right. And the colours, which may change at any time.

use chrono::{Datelike, NaiveDateTime, TimeDelta};

use crate::model::entry::Moment;
use crate::walk::Workspace;

use super::app::App;
use super::keymap::UiAction;
use super::options::Person;
use super::state::{PersonPage, Purpose, Screen, StartPage};
use super::text::{row_of_digit, when};

/// No clock is right that stands before the program was made.
const MADE: i32 = 2026;

/// Clocks of several machines may differ by this much.
const APART: TimeDelta = TimeDelta::minutes(10);

/// What was asked and said about the clock in this run.
#[derive(Clone, Copy, Debug, Default)]
pub struct ClockAsked {
    /// Whether it was asked.
    asked: bool,
    /// Seconds to add to it, where it is wrong.
    pub correction: Option<i64>,
}

impl<G: Workspace> App<G> {
    pub(super) fn next_colours(&mut self) {
        self.options.theme = self.options.theme.next();
        let words = self.options.theme.words();
        self.state.say(format!("Colors: {words}."));
    }

    pub(super) fn ask_person(&mut self) {
        let sample = self.is_without_cars() && self.workspace.has_sample();
        let kept_in = self.workspace.kept_in();
        let known = self.options.person;
        let at = Person::WORDS.iter().position(|(_, person)| Some(*person) == known).unwrap_or_default();
        self.state.screen = Screen::Person(PersonPage { at, sample, kept_in });
    }

    /// Whether the list of cars is empty.
    pub(super) fn is_without_cars(&self) -> bool {
        matches!(&self.state.screen, Screen::Cars(page) if page.cars.is_empty())
    }

    pub(super) fn act_person(&mut self, action: UiAction) {
        let Screen::Person(page) = &mut self.state.screen else { return };
        let last = page.rows().saturating_sub(1);
        match action {
            UiAction::Down => page.at = (page.at + 1).min(last),
            UiAction::Up => page.at = page.at.saturating_sub(1),
            UiAction::Go => self.take_person(),
            UiAction::Back => {
                self.list_cars();
                self.open_named();
            }
            _ => {}
        }
    }

    pub(super) fn person_by_digit(&mut self, c: char) -> bool {
        let Screen::Person(page) = &mut self.state.screen else { return false };
        match row_of_digit(c, page.rows()) {
            Some(at) => {
                page.at = at;
                self.take_person();
                true
            }
            None => false,
        }
    }

    fn take_person(&mut self) {
        let Screen::Person(page) = &self.state.screen else { return };
        let Some((word, person)) = Person::WORDS.get(page.at).copied() else { return self.open_sample() };
        self.options.person = Some(person);
        self.profile = Some(person.profile().to_owned());
        let kept = self.workspace.set_person(word);
        self.list_cars();
        match kept {
            Ok(()) => self.state.say(
                "Kept in the settings; nothing else is asked. Type the number of a car, or press Enter for the chosen row.",
            ),
            Err(message) => self.state.object(format!("It could not be written to the settings: {message}")),
        }
        self.open_named();
    }

    /// Whether the clock stands where it cannot: before this program, or before the car's newest record.
    fn clock_trouble(&self) -> Option<String> {
        let now = self.workspace.now();
        let newest =
            self.state.walk.as_ref().and_then(|walk| walk.history.all().iter().map(|kept| kept.at).max());
        if now.year() < MADE {
            return Some("That is before this program was made.".to_owned());
        }
        let newest = newest.filter(|newest| *newest > now + APART)?;
        Some(format!("The newest record of this car is of {}.", when(newest)))
    }

    /// After a car is opened: asks about the clock where it cannot be right, once in a run.
    pub(super) fn look_at_clock(&mut self) {
        if let Some(correction) = self.clock.correction {
            self.correct_clock(correction);
        } else if let (false, Some(why)) = (self.clock.asked, self.clock_trouble()) {
            self.clock.asked = true;
            self.state.screen = Screen::Clock(why);
        }
    }

    pub(super) fn act_clock(&mut self, action: UiAction) {
        match action {
            UiAction::Yes => {
                self.state.screen = Screen::Start(StartPage::default());
                self.state.say("The clock counts as right. It is not asked again.");
            }
            UiAction::No => self.ask_words(
                "What is the date and time now? Year-month-day hour:minute, as 2026-11-25 14:30:",
                "",
                Purpose::Clock,
            ),
            _ => {
                self.clock.asked = false;
                self.list_cars();
            }
        }
    }

    /// The right time: what is kept from now on says when it was truly seen, and dates count from the right day.
    pub(super) fn clock_said(&mut self, text: &str) {
        let now = self.workspace.now();
        let Ok(right) = NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M") else {
            self.refuse_words("write it as 2026-11-25 14:30");
            return;
        };
        if right.year() < MADE {
            self.refuse_words("that is before this program was made: write the year with four digits");
            return;
        }
        self.clock.correction = Some((right - now.naive_local()).num_seconds());
        self.uncover();
        self.state.screen = Screen::Start(StartPage::default());
        self.look_at_clock();
        self.state.say(format!(
            "The record will say that this clock is wrong, and when each thing was seen by the right one: {}.",
            right.format("%Y-%m-%d %H:%M")
        ));
    }

    fn correct_clock(&mut self, correction: i64) {
        let day = (self.workspace.now() + TimeDelta::seconds(correction)).date_naive();
        if let Some(walk) = &mut self.state.walk {
            walk.correct_clock(correction, day);
        }
    }

    /// The right time, where the clock is known to be wrong.
    pub(super) fn right_time(&self) -> Option<Moment> {
        self.clock.correction.map(|correction| self.workspace.now() + TimeDelta::seconds(correction))
    }
}
