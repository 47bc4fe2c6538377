//! Which checks a car needs, and which lap fits it.

use crate::model::{Answer3, Car, Tag};

use super::condition::Condition;
use super::ruleset::{Check, Lap, Ruleset};

/// Whether a check is for a car.
#[derive(Clone, Debug, PartialEq)]
pub enum Applies {
    /// It is.
    Yes,
    /// It certainly is not, and why.
    No(String),
    /// Not known: it is asked, and may be answered not fitted.
    Unknown,
}

impl Applies {
    /// Whether it is walked.
    pub fn is_asked(&self) -> bool {
        !matches!(self, Self::No(_))
    }
}

/// Whether a check is for a car. It is left out only where that is certain.
pub fn applies(check: &Check, car: &Car) -> Applies {
    let when = check.when.as_ref().map_or(Answer3::Yes, |condition| condition.holds(car));
    let unless = check.unless.as_ref().map_or(Answer3::No, |condition| condition.holds(car));
    match when.and(unless.not()) {
        Answer3::Yes => Applies::Yes,
        Answer3::Unknown => Applies::Unknown,
        Answer3::No if when == Answer3::No => Applies::No(why_not(check.when.as_ref(), car)),
        Answer3::No => {
            let phrase = check.unless.as_ref().map(Condition::phrase).unwrap_or_default();
            Applies::No(format!("not asked of a car with {phrase}"))
        }
    }
}

/// Names the tag that the car certainly lacks, or the whole question.
fn why_not(when: Option<&Condition>, car: &Car) -> String {
    let Some(when) = when else { return String::new() };
    let lacking: Vec<&str> =
        when.tags().filter(|tag| car.has(*tag) == Answer3::No).map(Tag::phrase).collect();
    if lacking.is_empty() {
        format!("for cars with {} only", when.phrase())
    } else {
        format!("the car is without {}", lacking.join(" or "))
    }
}

/// The lap that fits: the first whose `when` is true; if none is, the first that is not false; else the first.
pub fn lap_for<'r>(rules: &'r Ruleset, car: &Car) -> Option<&'r Lap> {
    let fits = |wanted: &dyn Fn(Answer3) -> bool| rules.laps.iter().find(|lap| wanted(lap.when.holds(car)));
    fits(&|answer| answer == Answer3::Yes)
        .or_else(|| fits(&|answer| answer != Answer3::No))
        .or(rules.laps.first())
}
