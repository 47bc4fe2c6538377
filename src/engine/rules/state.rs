//! The one word for the state of a car, and what stands beside it. Lists, headers, the end of a walk, slip and reports all
//! ask here.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::model::entry::{Finding, Outcome, Severity};
use crate::model::history::{History, Standing, WalkSeen};
use crate::units::Units;

use super::calculated::is_overtaken;
use super::check::Check;
use super::expression::Terms;
use super::items::answered;
use super::ruleset::{Profile, Ruleset};

/// The state of a car: the first that fits. A car that is on a list and was not seen yet has a word of its own, as soon as
/// there is a list.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum CarState {
    /// A stop is open, whatever day it is of.
    Stopped,
    /// A stop check has no answer, or the walk is not signed.
    #[default]
    NotDone,
    /// A stop could not be seen or decided, or a fix is said to be mended.
    LookAgain,
    /// None of these.
    NoOpenStop,
    /// Nothing at all is open, after a walk of every severity.
    NoOpenItem,
}

impl CarState {
    /// How people read it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Stopped => "STOPPED",
            Self::NotDone => "NOT DONE",
            Self::LookAgain => "LOOK AGAIN",
            Self::NoOpenStop => "NO OPEN STOP",
            Self::NoOpenItem => "NO OPEN ITEM",
        }
    }
}

/// How many checks a walk asks, and what became of them: each is one of these.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Tally {
    /// All of them.
    pub asked: usize,
    /// Answered by a person.
    pub by_person: usize,
    /// Answered by a number alone.
    pub by_number: usize,
    /// Not seen.
    pub not_seen: usize,
    /// Not reached.
    pub not_reached: usize,
}

impl Tally {
    /// Counts the checks asked. `answered` are those that the walk answered, `standings` what stands of each.
    pub fn of(asked: &[&Check], answered: &BTreeSet<&str>, standings: &[Standing<'_>]) -> Self {
        let mut tally = Self { asked: asked.len(), ..Self::default() };
        for check in asked {
            let of_check =
                || standings.iter().filter(|one| one.finding.check == check.id).map(|one| one.finding);
            if !answered.contains(check.id.as_str()) {
                tally.not_reached += 1;
            } else if of_check().any(|one| one.result == Outcome::NotSeen) {
                tally.not_seen += 1;
            } else if of_check().all(Finding::is_computed) {
                tally.by_number += 1;
            } else {
                tally.by_person += 1;
            }
        }
        tally
    }

    /// "38 checks asked: 30 answered by a person, 2 by number only, 1 not seen, 5 not reached".
    pub fn words(&self) -> String {
        let parts = [
            (self.by_person, "answered by a person"),
            (self.by_number, "by number only"),
            (self.not_seen, "not seen"),
            (self.not_reached, "not reached"),
        ];
        let parts: Vec<String> = parts
            .iter()
            .filter(|(count, _)| *count > 0)
            .map(|(count, what)| format!("{count} {what}"))
            .collect();
        let checks = if self.asked == 1 { "check" } else { "checks" };
        format!("{} {checks} asked: {}", self.asked, parts.join(", "))
    }
}

/// What the state of a car comes from.
#[derive(Clone, Debug)]
pub struct StateOf<'a> {
    /// The rules in force.
    pub rules: &'a Ruleset,
    /// What stands open, with what the numbers reject.
    pub open: &'a [Standing<'a>],
    /// How many items a person accepted against the limit.
    pub against: usize,
    /// Checks that the way round asks.
    pub asked: &'a [&'a Check],
    /// Those of them that the newest walk answered.
    pub answered: &'a BTreeSet<&'a str>,
    /// Whether the newest walk has ended, with every signature that it asks for.
    pub signed: bool,
    /// Whether numbers are still to be worked out.
    pub being_worked: bool,
    /// Whether a copy of a log was set aside and is not settled.
    pub unsettled: bool,
}

/// What stands in the way of a better word.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Counts {
    stops: usize,
    unanswered: usize,
    again: usize,
}

impl StateOf<'_> {
    fn counts(&self) -> Counts {
        let unsure =
            |one: &&Standing<'_>| matches!(one.finding.result, Outcome::NotSeen | Outcome::Undecided);
        let stop = |one: &&Standing<'_>| is_stop(self.rules, one);
        let mended_fix = |one: &&Standing<'_>| {
            one.finding.result == Outcome::Repaired && one.cause().severity == Severity::Fix
        };
        let unanswered = self
            .asked
            .iter()
            .filter(|check| check.severity == Severity::Stop && !self.answered.contains(check.id.as_str()));
        Counts {
            stops: self.open.iter().filter(stop).filter(|one| !unsure(one)).count(),
            unanswered: unanswered.count(),
            again: self
                .open
                .iter()
                .filter(|one| (stop(one) && unsure(one)) || (!stop(one) && mended_fix(one)))
                .count(),
        }
    }

    /// The state.
    pub fn state(&self) -> CarState {
        let counts = self.counts();
        let asks = |severity: Severity| self.asked.iter().any(|check| check.severity == severity);
        let whole = [Severity::Stop, Severity::Fix, Severity::Note].into_iter().all(asks)
            && self.asked.iter().all(|check| self.answered.contains(check.id.as_str()));
        let done = self.signed && counts.unanswered == 0 && asks(Severity::Stop) && !self.being_worked;
        match () {
            () if counts.stops > 0 => CarState::Stopped,
            () if !done => CarState::NotDone,
            () if counts.again > 0 || self.unsettled => CarState::LookAgain,
            () if self.open.is_empty() && whole => CarState::NoOpenItem,
            () => CarState::NoOpenStop,
        }
    }

    /// The state with its count, and what a later word would say: "STOPPED: 1 stop open; 4 stop checks not reached, not
    /// signed".
    pub fn words(&self) -> String {
        let counts = self.counts();
        let many = |count: usize, one: &str, several: &str| match count {
            0 => None,
            1 => Some(format!("1 {one}")),
            _ => Some(format!("{count} {several}")),
        };
        let told = [
            many(counts.stops, "stop open", "stops open"),
            self.being_worked.then(|| "numbers are being worked out".to_owned()),
            self.asked
                .iter()
                .all(|check| check.severity != Severity::Stop)
                .then(|| "no stop check is asked".to_owned()),
            many(counts.unanswered, "stop check not reached", "stop checks not reached"),
            (!self.signed).then(|| "not ended and signed".to_owned()),
            many(counts.again, "item to look at again", "items to look at again"),
            many(self.against, "accepted against the limit", "accepted against the limit"),
            self.unsettled.then(|| "a copy of the record is not settled".to_owned()),
        ];
        let told: Vec<String> = told.into_iter().flatten().collect();
        let word = self.state().word();
        if told.is_empty() { word.to_owned() } else { format!("{word}: {}", told.join(", ")) }
    }
}

/// Checks that the newest walk answered; where that asked only what was open, the whole walk before it too. A reject by number
/// that is outside no more answers nothing, once the numbers are known.
pub fn answered_lately<'h, 'n>(
    rules: &Ruleset,
    terms: impl Fn() -> Option<Terms<'n>>,
    items: impl Fn(&Check) -> BTreeSet<&'n str>,
    history: &'h History,
    units: Units,
) -> BTreeSet<&'h str> {
    let mut walks = history.walks();
    // Stable, so that walks of one moment stay in the order of the logs.
    walks.sort_by_key(|walk| walk.at);
    let last_whole = walks.iter().rposition(|walk| !walk.started.recheck).unwrap_or(0);
    let lately: Vec<&str> = walks.iter().skip(last_whole).map(|walk| walk.id).collect();
    let findings = history.findings().into_iter().map(|(_, finding)| finding);
    let these = findings.filter(|finding| {
        lately.contains(&finding.walk.as_str())
            && !terms().is_some_and(|terms| is_overtaken(finding, rules, || terms, units))
    });
    answered(rules, items, these)
}

/// Whether a walk has ended with every signature that its profile asks for.
pub fn is_signed(walk: &WalkSeen<'_>, profile: Option<&Profile>) -> bool {
    let roles = profile.map(|profile| profile.signatures.as_slice()).unwrap_or_default();
    let signed = |role: &String| walk.signed.iter().any(|(known, ..)| known == role);
    walk.ended.is_some() && roles.iter().all(signed)
}

/// A stop by the rule stays one where a person lowered it, and one that a person raised is one too. Whether the rules in
/// force still ask it makes no difference: no rule file closes what somebody found.
pub fn is_stop(rules: &Ruleset, standing: &Standing<'_>) -> bool {
    let by_rule = rules.check(&standing.finding.check).is_some_and(|check| check.severity == Severity::Stop);
    by_rule || standing.cause().severity == Severity::Stop || standing.finding.severity == Severity::Stop
}
