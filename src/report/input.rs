//! What a report is made from.

use chrono::NaiveDate;

use crate::drawing::Curves;
use crate::model::Car;
use crate::model::entry::Moment;
use crate::model::history::History;
use crate::numbers::{Answer, Readings};
use crate::rules::{Profile, Ruleset, Terms};
use crate::units::Units;

/// The kinds of report.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Open items, worst first, and everything else that keeps a car from being settled.
    Deficiency,
    /// Every answer in lap order with its whole history.
    Full,
    /// A strip for a receipt printer.
    Slip,
    /// What a shop hands over with a car.
    Delivery,
    /// What falls due, and when.
    Due,
    /// What the owner mends first.
    FixFirst,
    /// What a fabricator bends, buys and fills in.
    Build,
}

impl Kind {
    /// The words of the command line.
    pub const WORDS: &'static [(&'static str, Self)] = &[
        ("deficiency", Self::Deficiency),
        ("full", Self::Full),
        ("slip", Self::Slip),
        ("delivery", Self::Delivery),
        ("due", Self::Due),
        ("fix-first", Self::FixFirst),
        ("build", Self::Build),
    ];

    /// The word of the command line.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, kind)| *kind == self).map_or("", |(word, _)| word)
    }

    /// The heading of the report.
    pub fn title(self) -> &'static str {
        match self {
            Self::Deficiency => "Deficiency report",
            Self::Full => "Full record",
            Self::Slip => "Slip",
            Self::Delivery => "Delivery document",
            Self::Due => "What falls due",
            Self::FixFirst => "Fix first",
            Self::Build => "Build sheet",
        }
    }
}

/// The shop that hands a car over.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Shop {
    /// Its name.
    pub name: String,
    /// Its address; empty where none is given.
    pub address: String,
}

/// Everything a report is made from.
#[derive(Clone, Debug)]
pub struct Input<'a> {
    /// The car.
    pub car: &'a Car,
    /// The rules in force.
    pub rules: &'a Ruleset,
    /// The profile it is reported for; every check where there is none.
    pub profile: Option<&'a Profile>,
    /// The record, already cut at [`Self::on`].
    pub history: &'a History,
    /// Every number, worked out or refused.
    pub numbers: &'a [Answer],
    /// The readings that they were worked from.
    pub readings: &'a Readings,
    /// Its discharge over time, network by network; empty where nobody will see it drawn.
    pub curves: &'a [Curves],
    /// The day that dates count to.
    pub on: NaiveDate,
    /// This machine's clock: only told apart from the record's times, never printed, so that the same record
    /// gives the same bytes.
    pub now: Moment,
    /// Units people read.
    pub units: Units,
    /// Whether checks that were not reached count against the car.
    pub complete: bool,
    /// Whether a copy of a log of the car was set aside and is not settled.
    pub unsettled: bool,
    /// The shop that hands it over.
    pub shop: Option<Shop>,
    /// The program that makes it, with its release and commit.
    pub made_by: String,
    /// What is wrong with the record or the rules behind it, in full sentences.
    pub trouble: Vec<String>,
}

impl Input<'_> {
    /// What limits that are worked out are worked out of.
    pub fn terms(&self) -> Terms<'_> {
        Terms { car: self.car, numbers: self.numbers, readings: self.readings }
    }
}
