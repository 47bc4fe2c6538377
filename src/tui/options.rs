//! What the shell chooses for the app, from the command line, the settings and the terminal.

use std::time::Duration;

use crate::model::entry::Moment;
use crate::walk::Walk;

use super::layout::Keymap;
use super::picture::Grain;
use super::theme::Theme;

/// Makes the text of the deficiency report as the walk stands.
pub type Preview = fn(&Walk, Moment) -> String;

/// What the shell chooses for the app.
#[derive(Clone, Debug)]
pub struct Options {
    /// Colours; mono where the person wants no colour.
    pub theme: Theme,
    /// Makes the report.
    pub preview: Preview,
    /// A car to open at once: what opens it, and the profile where one was named.
    pub open: Option<(String, Option<String>)>,
    /// Profile named on the command line: every car is opened for it.
    pub profile: Option<String>,
    /// Stage of a build, where one was named.
    pub stage: Option<String>,
    /// Which key does what.
    pub keys: Keymap,
    /// What pictures are made of.
    pub grain: Grain,
    /// Whether only plain ASCII signs are shown.
    pub plain: bool,
    /// Which of the three kinds of person this is, where that was said.
    pub person: Option<Person>,
    /// Whether to ask for it: once, and for what they come for as long as there is no car.
    pub asks_person: bool,
    /// The same answer key again within this time answers nothing; zero takes every arrival.
    pub repeat_guard: Duration,
}

impl Options {
    /// Dark, fine dots, the keys as they come, and nothing asked.
    pub fn new(preview: Preview) -> Self {
        Self {
            theme: Theme::default(),
            preview,
            open: None,
            profile: None,
            stage: None,
            keys: Keymap::default(),
            grain: Grain::default(),
            plain: false,
            person: None,
            asks_person: false,
            repeat_guard: super::guard::USUAL,
        }
    }
}

/// The three kinds of person the program is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Person {
    /// Looks over the own car.
    Owner,
    /// Looks over other people's cars, one after the other.
    Inspector,
    /// Builds or repairs cars.
    Shop,
}

impl Person {
    /// Every one with its word.
    pub const WORDS: &'static [(&'static str, Self)] =
        &[("owner", Self::Owner), ("inspector", Self::Inspector), ("shop", Self::Shop)];

    /// The person a word of the settings names.
    pub fn named(word: &str) -> Option<Self> {
        Self::WORDS.iter().find(|(name, _)| *name == word).map(|(_, person)| *person)
    }

    /// The profile that this person walks first.
    pub fn profile(self) -> &'static str {
        match self {
            Self::Owner => "owner",
            Self::Inspector => "scales",
            Self::Shop => "shop",
        }
    }

    /// What this person comes for.
    pub fn door(self) -> &'static str {
        match self {
            Self::Owner => "Walk my car",
            Self::Inspector => "Check cars at an event",
            Self::Shop => "Build or repair cars",
        }
    }

    /// One sentence.
    pub fn says(self) -> &'static str {
        match self {
            Self::Owner => "What do I fix, and what runs out soon?",
            Self::Inspector => "One car after another: which may run?",
            Self::Shop => "Measured values, and a record for the customer.",
        }
    }
}
