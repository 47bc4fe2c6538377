//! What lies over a screen: a value or words being typed, stations and checks, help.

use std::collections::BTreeMap;

use tui_input::Input;

use crate::units::{Kind, parse_bare};
use crate::walk::{Action, Assessment};

use super::asking::Question;
use super::keymap::Place;
use super::trying::KeyList;

/// What lies over a screen.
#[derive(Debug)]
pub enum Overlay {
    /// A value being typed.
    Typing(Box<Typing>),
    /// Words being typed.
    Words(Box<Words>),
    /// A question.
    Ask(Box<Question>),
    /// Stations and checks.
    Jump(JumpList),
    /// Keys of the car file to try another value for.
    Keys(KeyList),
    /// The keys of a place, and the first line shown.
    Help(Place, usize),
    /// A text of several lines that something outside gave, and the first line shown.
    Text(String, usize),
}

/// A value being typed.
#[derive(Clone, Debug)]
pub struct Typing {
    /// The check.
    pub check: String,
    /// One line each.
    pub slots: Vec<Slot>,
    /// The line at hand.
    pub at: usize,
    /// Instrument chosen.
    pub instrument: Option<String>,
    /// Instruments that measure this.
    pub instruments: Vec<(String, String)>,
    /// Where the values stand.
    pub assessment: Assessment,
    /// Whether accept or reject is awaited.
    pub deciding: bool,
    /// What stands in the way.
    pub trouble: Option<String>,
}

/// One value being typed.
#[derive(Clone, Debug)]
pub struct Slot {
    /// Its row id, or the key of a reading.
    pub id: String,
    /// Whether it is a reading.
    pub reading: bool,
    /// What it is.
    pub label: String,
    /// The unit a bare number takes.
    pub unit: String,
    /// Its kind, where it is a quantity.
    pub kind: Option<Kind>,
    /// Its limits, in words.
    pub limits: String,
    /// What is known already.
    pub known: Option<String>,
    /// The text.
    pub input: Input,
    /// The text that a hold has put there.
    pub held: Option<String>,
    /// What it is read as.
    pub echo: Option<String>,
    /// The remedy, where it cannot be read.
    pub unread: Option<String>,
}

impl Slot {
    /// Whether a person typed something.
    pub(super) fn is_typed(&self) -> bool {
        let text = self.input.value();
        !text.trim().is_empty() && self.held.as_deref() != Some(text)
    }

    fn text(&self) -> String {
        let text = self.input.value();
        let Some(kind) = self.kind else { return text.to_owned() };
        match parse_bare(text, kind, &self.unit) {
            Ok((_, echo)) => echo.unwrap_or_else(|| text.to_owned()),
            // A number that is refused in this unit is not to be read in the rule's.
            Err(_) if !text.contains(char::is_alphabetic) => format!("{text} {}", self.unit),
            Err(_) => text.to_owned(),
        }
    }
}

impl Typing {
    /// Texts by row id, of rows that are filled; a bare number with the unit that stands beside its field.
    pub fn values(&self) -> BTreeMap<String, String> {
        let filled = self.slots.iter().filter(|slot| !slot.reading && !slot.input.value().trim().is_empty());
        filled.map(|slot| (slot.id.clone(), slot.text())).collect()
    }
}

/// Words being typed.
#[derive(Debug)]
pub struct Words {
    /// What is asked.
    pub prompt: String,
    /// The text.
    pub input: Input,
    /// Texts that a digit alone picks.
    pub offers: Vec<String>,
    /// What they are for.
    pub purpose: Purpose,
    /// What stands in the way.
    pub trouble: Option<String>,
}

impl Words {
    /// What was typed, or what a digit alone picks.
    pub fn said(&self) -> String {
        let typed = self.input.value().trim();
        let picked = typed.parse::<usize>().ok().and_then(|digit| self.offers.get(digit.checked_sub(1)?));
        picked.map_or(typed, String::as_str).to_owned()
    }
}

/// What words are for: each carries what it will do.
#[derive(Clone, Debug, PartialEq)]
pub enum Purpose {
    /// The note that this action wants.
    NoteFor(Action),
    /// A note.
    Note(About),
    /// A note on a reject just kept; none where nothing is typed.
    NoteAfter(About),
    /// A photo.
    Photo(About),
    /// The owner's remark on a record, and what the item is called.
    Remark(String, String),
    /// The right date and time.
    Clock,
    /// The number of a new car.
    NewNumber,
    /// Who walks.
    Who,
    /// The number of the car, asked back.
    SignNumber,
    /// Initials for a role.
    Sign(String),
    /// A reading of the hold: its key.
    HoldReading(String),
    /// Another value for a key of the car file, to see what it would do.
    WhatIf(String),
}

/// What a note or a photo is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct About {
    /// The check.
    pub check: String,
    /// The item, where it is about one.
    pub of: Option<String>,
    /// What people call it.
    pub name: String,
}

/// Stations and checks to go to.
#[derive(Debug, Default)]
pub struct JumpList {
    /// Letters typed.
    pub filter: Input,
    /// Row chosen.
    pub at: usize,
    /// What fits.
    pub rows: Vec<JumpRow>,
}

/// A row of the jump list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JumpRow {
    /// The step to go to.
    pub step: usize,
    /// Whether it is a station.
    pub station: bool,
    /// Its title.
    pub title: String,
    /// A mark for how it stands.
    pub mark: char,
}
