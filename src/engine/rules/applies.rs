//! Which checks a car needs, and which lap fits it.

use crate::model::{Answer3, Car};

use super::check::Check;
use super::condition::Condition;
use super::ruleset::{Lap, Profile, Ruleset};

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
        Answer3::No if when == Answer3::No => {
            Applies::No(check.when.as_ref().and_then(|when| when.fails_by(car)).unwrap_or_default())
        }
        Answer3::No => {
            let phrase = check.unless.as_ref().map(Condition::phrase).unwrap_or_default();
            Applies::No(format!("not asked of a car with {phrase}"))
        }
    }
}

/// Checks that a walk of a profile asks of a car, in the order of the rules, and those that it certainly does not, with
/// the reason. Without a profile or a stage those of every one.
pub fn asked<'r>(
    rules: &'r Ruleset,
    car: &Car,
    profile: Option<&Profile>,
    stage: Option<&str>,
) -> (Vec<&'r Check>, Vec<(&'r Check, String)>) {
    let (mut asked, mut left_out) = (Vec::new(), Vec::new());
    for check in &rules.checks {
        if !profile.is_none_or(|profile| check.in_profile(profile)) || !check.in_stage(stage) {
            continue;
        }
        match applies(check, car) {
            Applies::No(reason) => left_out.push((check, reason)),
            _ => asked.push(check),
        }
    }
    (asked, left_out)
}

/// Why a walk of a profile does not ask a check of a car any more; none where it asks it.
pub fn why_not_asked(
    rules: &Ruleset,
    car: &Car,
    profile: Option<&Profile>,
    stage: Option<&str>,
    check: &str,
) -> Option<String> {
    let (asked, left_out) = asked(rules, car, profile, stage);
    if asked.iter().any(|known| known.id == check) {
        return None;
    }
    if let Some((_, reason)) = left_out.into_iter().find(|(known, _)| known.id == check) {
        return Some(reason);
    }
    if let Some(dropped) = rules.dropped.iter().find(|dropped| dropped.id == check) {
        return Some(format!("switched off by {}, {}", dropped.layer, dropped.reason));
    }
    Some(match (rules.check(check), profile) {
        (Some(known), Some(profile)) if !known.in_profile(profile) => {
            format!("it is not part of \"{}\"", profile.title)
        }
        (Some(_), _) => "it is not of this stage".to_owned(),
        (None, _) => {
            rules.off_by_day(check).map_or_else(|| "these rules do not have it".to_owned(), str::to_owned)
        }
    })
}

/// The lap that fits: the first whose `when` is true; if none is, the first that is not false; else the first.
pub fn lap_for<'r>(rules: &'r Ruleset, car: &Car) -> Option<&'r Lap> {
    let fits = |wanted: &dyn Fn(Answer3) -> bool| rules.laps.iter().find(|lap| wanted(lap.when.holds(car)));
    fits(&|answer| answer == Answer3::Yes)
        .or_else(|| fits(&|answer| answer != Answer3::No))
        .or(rules.laps.first())
}
