//! Which limits a number is held to, and what they make of it. Screens, what-if, command line and reports all ask here:
//! whoever chose rows by a rule of its own would tell another story of the same number.

use crate::model::Car;
use crate::model::entry::Outcome;
use crate::numbers::Answer;
use crate::units::Units;

use super::check::Check;
use super::drawn::judge_drawn;
use super::expression::{Expression, Terms};
use super::gauge::Ends;
use super::limits::{ComputeRow, Limit, WordOrFlag};
use super::verdict::{Judged, NONE_ALLOWED, judge_compute};

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

    /// Its limit in words: "at least 1", "at most 50 lbf"; none where it has none. One that is worked out is said with what
    /// it comes to for a part, where `terms` are known: "at least 1,500 psi, the greater of 1200 psi and ...".
    pub fn limit(&self, units: Units, terms: Option<(&Terms<'_>, &str)>) -> Option<String> {
        let end = |limit: &Option<Limit>, key: &str| {
            let worked = self.worked.iter().find(|(known, _)| *known == key).map(|(_, limit)| limit);
            let fixed = || limit.as_ref().map(|limit| self.quantity.shown.show(limit.si, units));
            worked.map_or_else(fixed, |limit| Some(self.comes_to(limit, units, terms)))
        };
        let exactly = match &self.equals {
            Some(WordOrFlag::Flag(flag)) => return Some(if *flag { "yes" } else { "no" }.to_owned()),
            Some(WordOrFlag::Word(word)) => return Some(word.clone()),
            Some(WordOrFlag::Number(limit)) => end(&Some(limit.clone()), "equals"),
            None => end(&None, "equals"),
        };
        Some(match (exactly, end(&self.min, "min"), end(&self.max, "max")) {
            (Some(exactly), ..) => format!("exactly {exactly}"),
            (None, Some(min), Some(max)) if min == max => format!("exactly {min}"),
            (None, Some(min), Some(max)) => format!("{min} to {max}"),
            (None, Some(min), None) => format!("at least {min}"),
            (None, None, Some(_)) if self.max.as_ref().is_some_and(|max| max.si == 0.0) => {
                NONE_ALLOWED.to_owned()
            }
            (None, None, Some(max)) => format!("at most {max}"),
            (None, None, None) => return None,
        })
    }

    /// A worked limit in words, with what it comes to for a part, the inputs as given.
    fn comes_to(&self, limit: &Expression, units: Units, terms: Option<(&Terms<'_>, &str)>) -> String {
        let words = limit.words();
        let Some((terms, of)) = terms else { return words };
        let [low, high] = limit.range_by(&|name| terms.given(name, Some(of)));
        let show = |si| self.quantity.shown.show(si, units);
        match (low.is_finite() && high.is_finite(), show(low) == show(high)) {
            (false, _) => format!("{words}, which cannot be worked out"),
            (true, true) => format!("{}, {words}", show(low)),
            (true, false) => format!("{} to {}, {words}", show(low), show(high)),
        }
    }

    /// Its limit in SI and to the last digit, to tell it from another; none where it has none. A worked one is told by what
    /// it comes to, too.
    pub fn limit_si(&self, terms: &Terms<'_>, of: &str) -> Option<String> {
        let end = |word: &str, limit: &Limit| format!("{word} {}", limit.si);
        let equals = self.equals.as_ref().map(|equals| match equals {
            WordOrFlag::Flag(flag) => format!("equals {flag}"),
            WordOrFlag::Word(word) => format!("equals {word}"),
            WordOrFlag::Number(limit) => end("equals", limit),
        });
        let (min, max) = (self.min.as_ref(), self.max.as_ref());
        let ends = [equals, min.map(|min| end("min", min)), max.map(|max| end("max", max))];
        let worked = self.worked.iter().map(|(key, limit)| {
            let [low, high] = limit.range_by(&|name| terms.given(name, Some(of)));
            format!("{key} {low} to {high} by {}", limit.text)
        });
        let ends: Vec<String> = ends.into_iter().flatten().chain(worked).collect();
        (!ends.is_empty()).then(|| ends.join(", "))
    }

    /// Its least and its most, as strict as what is not known of a worked one leaves them.
    pub fn gauge_ends(&self, terms: &Terms<'_>, of: &str, units: Units) -> Ends {
        let [_, strict] = self.settled(|limit| limit.range_by(&|name| terms.given(name, Some(of))), units);
        let si = |limit: &Option<Limit>| limit.as_ref().map(|limit| limit.si);
        Ends { min: si(&strict.min), max: si(&strict.max) }
    }

    /// What the row makes of an answer that it speaks of; none where that is refused.
    pub fn judge(&self, terms: &Terms<'_>, answer: &Answer, units: Units) -> Option<Judged> {
        let number = answer.number()?;
        Some(match self.worked.as_slice() {
            [] => judge_compute(self, number, units),
            _ => judge_drawn(self, number, terms, units),
        })
    }
}

/// What every limit among some checks makes of a number, the severest first; none where no limit holds it.
pub fn judge<'r>(
    checks: impl IntoIterator<Item = &'r Check>,
    terms: &Terms<'_>,
    answer: &Answer,
    units: Units,
) -> Vec<Held<'r>> {
    let mut held: Vec<Held<'r>> = Vec::new();
    for check in checks {
        let rows = check.compute.iter().filter(|row| row.judges());
        let rows = rows.filter(|row| row.is_about(terms.car, answer.quantity(), answer.of()));
        held.extend(rows.map(|row| Held { check, row, judged: row.judge(terms, answer, units) }));
    }
    // Stable: of several alike the first in the rules speaks, but one that the number is near goes before.
    held.sort_by_key(|held| {
        let near = held.judged.as_ref().is_some_and(|judged| judged.near);
        (super::verdict::rank(held.outcome()), !held.looks_wrong(), !near, held.check.severity)
    });
    held
}
