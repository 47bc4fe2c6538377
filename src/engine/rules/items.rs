//! The parts of a car that a check is about, and whether its answers speak for all of them.

use std::collections::{BTreeMap, BTreeSet};

use crate::model::entry::Finding;
use crate::model::{Car, Corner, keys};
use crate::numbers::Answer;

use super::check::Check;
use super::limits::{OfFilter, Typed};
use super::ruleset::Ruleset;

impl OfFilter {
    /// Whether an item is one of those a row goes over.
    pub fn goes_over(&self, car: &Car, of: &str) -> bool {
        match self {
            Self::All => true,
            Self::Id(id) => id == of,
            Self::Corner(corner) => corner_of(car, of) == Some(*corner),
        }
    }
}

/// The corner that a part with this id belongs to.
fn corner_of(car: &Car, id: &str) -> Option<Corner> {
    let hose = car.brakes.hoses.iter().find(|hose| hose.id == id).and_then(|hose| hose.corner);
    let run = || car.runs().find(|run| run.id == id).and_then(|run| run.corner);
    let bottle =
        || car.suppression.bottles.iter().find(|bottle| bottle.id == id).and_then(|bottle| bottle.corner);
    hose.or_else(run).or_else(bottle).or_else(|| Corner::named(id))
}

/// The parts that the numbers and dates which a check judges are of; none where it judges no part by itself.
pub fn items<'a>(check: &Check, car: &'a Car, numbers: &'a [Answer]) -> BTreeSet<&'a str> {
    let worked = check.compute.iter().filter(|row| row.judges()).flat_map(|row| {
        numbers.iter().filter(|one| row.is_about(car, one.quantity(), one.of())).filter_map(Answer::of)
    });
    let mut items: BTreeSet<&str> = worked.collect();
    if let Typed::Date(rows) = &check.typed {
        items.extend(rows.iter().flat_map(|row| keys::dates(car, &row.field)).map(|date| date.of));
    }
    items
}

/// The checks that some findings answer: by one that names no item of theirs or stands open, or by one for each item. An
/// accept of one bottle says nothing of the other. `items` are asked for only where a finding names one.
pub fn answered<'f, 'i>(
    rules: &Ruleset,
    items: impl Fn(&Check) -> BTreeSet<&'i str>,
    findings: impl IntoIterator<Item = &'f Finding>,
) -> BTreeSet<&'f str> {
    let mut whole = BTreeSet::new();
    let mut parts: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for finding in findings {
        match finding.of.as_deref().filter(|_| !finding.result.is_open()) {
            Some(of) => {
                parts.entry(&finding.check).or_default().insert(of);
            }
            None => {
                whole.insert(finding.check.as_str());
            }
        }
    }
    let all = parts.into_iter().filter(|(check, parts)| {
        whole.contains(check)
            || rules.check(check).is_none_or(|check| {
                let items = items(check);
                items.is_subset(parts) || !parts.is_subset(&items)
            })
    });
    let all: Vec<&str> = all.map(|(check, _)| check).collect();
    whole.extend(all);
    whole
}
