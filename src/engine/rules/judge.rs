//! Which limits a number is held to, and what they make of it. Screens, what-if, command line and reports all ask here:
//! whoever chose rows by a rule of its own would tell another story of the same number.

use crate::model::Car;
use crate::model::entry::Outcome;
use crate::numbers::Answer;
use crate::units::Units;

use super::check::Check;
use super::limits::{ComputeRow, Limit, WordOrFlag};
use super::verdict::{Judged, judge_compute};

/// One limit that a number is held to, with what it makes of it.
#[derive(Clone, Debug)]
pub struct Held<'r> {
    /// The check whose limit it is.
    pub check: &'r Check,
    /// The limit.
    pub row: &'r ComputeRow,
    /// What it makes of the number; none where the number could not be worked out.
    pub judged: Option<Judged>,
}

impl Held<'_> {
    /// The verdict.
    pub fn outcome(&self) -> Outcome {
        self.judged.as_ref().map_or(Outcome::Refused, |judged| judged.outcome)
    }

    /// Whether it is outside only by what the car file assumes.
    pub fn looks_wrong(&self) -> bool {
        self.judged.as_ref().is_some_and(|judged| judged.looks_wrong)
    }
}

impl ComputeRow {
    /// Whether a row speaks of a quantity of one part; of no part where its table is absent.
    pub fn is_about(&self, car: &Car, quantity: &str, of: Option<&str>) -> bool {
        self.quantity.id == quantity && of.is_none_or(|of| self.of.goes_over(car, of))
    }

    /// Its limit in words: "at least 1", "at most 50 lbf"; none where it has none.
    pub fn limit(&self, units: Units) -> Option<String> {
        let show = |limit: &Limit| self.quantity.shown.show(limit.si, units);
        Some(match (&self.equals, &self.min, &self.max) {
            (Some(WordOrFlag::Flag(flag)), ..) => if *flag { "yes" } else { "no" }.to_owned(),
            (Some(WordOrFlag::Word(word)), ..) => word.clone(),
            (Some(WordOrFlag::Number(limit)), ..) => format!("exactly {}", show(limit)),
            (None, Some(min), Some(max)) if show(min) == show(max) => format!("exactly {}", show(min)),
            (None, Some(min), Some(max)) => format!("{} to {}", show(min), show(max)),
            (None, Some(min), None) => format!("at least {}", show(min)),
            (None, None, Some(max)) => format!("at most {}", show(max)),
            (None, None, None) => return None,
        })
    }

    /// Its limit in SI and to the last digit, to tell it from another; none where it has none.
    pub fn limit_si(&self) -> Option<String> {
        let end = |word: &str, limit: &Limit| format!("{word} {}", limit.si);
        let equals = self.equals.as_ref().map(|equals| match equals {
            WordOrFlag::Flag(flag) => format!("equals {flag}"),
            WordOrFlag::Word(word) => format!("equals {word}"),
            WordOrFlag::Number(limit) => end("equals", limit),
        });
        let (min, max) = (self.min.as_ref(), self.max.as_ref());
        let ends = [equals, min.map(|min| end("min", min)), max.map(|max| end("max", max))];
        let ends: Vec<String> = ends.into_iter().flatten().collect();
        (!ends.is_empty()).then(|| ends.join(", "))
    }

    /// What the row makes of an answer that it speaks of; none where that is refused.
    pub fn judge(&self, answer: &Answer, units: Units) -> Option<Judged> {
        answer.number().map(|number| judge_compute(self, number, units))
    }
}

/// What every limit among some checks makes of a number, the severest first; none where no limit holds it.
pub fn judge<'r>(
    checks: impl IntoIterator<Item = &'r Check>,
    car: &Car,
    answer: &Answer,
    units: Units,
) -> Vec<Held<'r>> {
    let mut held: Vec<Held<'r>> = Vec::new();
    for check in checks {
        let rows = check.compute.iter().filter(|row| row.judges());
        let rows = rows.filter(|row| row.is_about(car, answer.quantity(), answer.of()));
        held.extend(rows.map(|row| Held { check, row, judged: row.judge(answer, units) }));
    }
    // Stable: of several alike the first in the rules speaks, but one that the number is near goes before.
    held.sort_by_key(|held| {
        let near = held.judged.as_ref().is_some_and(|judged| judged.near);
        (super::verdict::rank(held.outcome()), !held.looks_wrong(), !near, held.check.severity)
    });
    held
}
