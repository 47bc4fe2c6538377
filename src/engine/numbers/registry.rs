//! The list of quantities: one entry each, with what it is of, its unit, its formula and its source.

use crate::cite::Cite;
use crate::units::{Kind, Units};

use super::answer::{Answer, Refused, show_kind};
use super::situation::Situation;

/// How a value is shown and which unit it carries in files.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// A quantity of a kind.
    Kind(Kind),
    /// A deceleration or load in g: a plain number in files.
    Gravity,
    /// A share, shown in per cent: a plain number in files.
    Share,
    /// Whole days.
    Days,
    /// Yes or no.
    Flag,
    /// One word.
    Word,
}

impl Shown {
    /// The unit in `numbers --format json`.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Kind(kind) => kind.si_unit(),
            Self::Gravity | Self::Share => "1",
            Self::Days => "day",
            Self::Flag => "bool",
            Self::Word => "text",
        }
    }

    /// The kind a limit of it is typed in.
    pub fn kind(self) -> Kind {
        match self {
            Self::Kind(kind) => kind,
            Self::Days => Kind::Span,
            _ => Kind::Ratio,
        }
    }

    /// A value as people read it.
    pub fn show(self, si: f64, units: Units) -> String {
        match self {
            Self::Kind(kind) => show_kind(si, kind, units),
            Self::Gravity => format!("{} g", show_kind(si, Kind::Ratio, units)),
            Self::Share => format!("{} %", crate::units::significant(si * 100.0, 3)),
            Self::Days => format!("{si:.0} day{}", if si.abs() == 1.0 { "" } else { "s" }),
            Self::Flag | Self::Word => show_kind(si, Kind::Ratio, units),
        }
    }
}

/// One quantity.
#[derive(Debug)]
pub struct Quantity {
    /// Its name in rule files and on the command line.
    pub id: &'static str,
    /// What it is, in a few words.
    pub title: &'static str,
    /// What it is of: circuit, hose, bottle, car …
    pub of: &'static str,
    /// The table whose absence refuses it whole; several, parted by a comma, where any of them would do.
    pub table: &'static str,
    /// How it is shown.
    pub shown: Shown,
    /// Formula in words or symbols.
    pub formula: &'static str,
    /// Where the formula comes from.
    pub source: Cite,
    /// Works it out for everything it is of.
    pub work: fn(&Quantity, &Situation<'_>) -> Vec<Answer>,
}

/// Every quantity, in the order of the lap.
pub fn registry() -> impl Iterator<Item = &'static Quantity> {
    super::FAMILIES.iter().flat_map(|family| family.iter())
}

/// A quantity by name.
pub fn quantity(id: &str) -> Option<&'static Quantity> {
    registry().find(|quantity| quantity.id == id)
}

/// Works out one quantity for everything it is of.
pub fn work(quantity: &Quantity, situation: &Situation<'_>) -> Vec<Answer> {
    let answers = (quantity.work)(quantity, situation);
    if !answers.is_empty() {
        return answers;
    }
    vec![absent(quantity, quantity.table.split(", ").map(str::to_owned).collect())]
}

/// The refusal of a whole quantity, for want of these tables.
pub(super) fn absent(quantity: &Quantity, needs: Vec<String>) -> Answer {
    let reason = format!("the car file has no {}", needs.join(" or "));
    Answer::Refused(Refused { quantity: quantity.id, of: None, needs, reason })
}

/// Works out everything.
pub fn work_all(situation: &Situation<'_>) -> Vec<Answer> {
    registry().flat_map(|quantity| work(quantity, situation)).collect()
}
