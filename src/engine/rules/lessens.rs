//! Changes by which some car is asked or stopped less than under the rules that a file extends: each needs a reason, and
//! the reason is printed like that of a check switched off.

use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Place, Weight};
use crate::source::{Node, Overrides, ReadState, Reader, Table, Value};
use crate::units::Kind;

use super::check::Check;
use super::condition::Condition;
use super::lessens_limits::limits;
use super::read;
use super::read_check::check;
use super::ruleset::{Instrument, Profile, Ruleset};

/// One thing of a rule file before and after a layer was laid over it.
#[derive(Debug)]
pub(super) struct Laid {
    /// The layer.
    pub layer: String,
    /// The array it is in.
    pub array: String,
    /// Its id.
    pub id: String,
    /// As it stood.
    pub before: Arc<Table>,
    /// As it stands.
    pub after: Arc<Table>,
    /// What the layer itself says of it.
    pub own: Arc<Table>,
    /// Where the layer says so.
    pub at: Place,
}

/// What a layer asks or stops less, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct Lessened {
    /// The layer.
    pub layer: String,
    /// The array it is in: `check`, `profile`, `lap`, `instrument` or `station`.
    pub array: String,
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// What is less, each in a few words.
    pub what: Vec<String>,
    /// Why.
    pub reason: String,
    /// Where the layer says so.
    pub at: Place,
}

impl Laid {
    /// Whether a mistake stands in what the layer says here.
    fn holds(&self, mistake: &Diagnostic) -> bool {
        mistake.weight == Weight::Error && (self.own.holds(&mistake.at) || self.at == mistake.at)
    }
}

/// One way in which something is less: the key behind it, and the words.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Less {
    /// The key of the table that makes it so.
    pub key: &'static str,
    /// In a few words.
    pub words: String,
}

/// One way in which something is less.
pub(super) fn less(key: &'static str, words: impl Into<String>) -> Less {
    Less { key, words: words.into() }
}

/// What the layers ask or stop less, and an error for each that gives no reason. A table with a mistake of its own is passed
/// over: what is less there may be only what could not be read.
pub(super) fn lessened(
    rules: &Ruleset,
    laid: &[Laid],
    mistakes: &[Diagnostic],
) -> (Vec<Lessened>, Vec<Diagnostic>) {
    let (mut found, mut wrong) = (Vec::new(), Vec::new());
    for one in laid.iter().filter(|one| !mistakes.iter().any(|mistake| one.holds(mistake))) {
        let what = what_is_less(rules, one);
        let Some(first) = what.first() else { continue };
        let reason = one.own.text("reason").map(str::trim).filter(|reason| !reason.is_empty());
        let Some(reason) = reason else {
            let at = one.own.get(first.key).map_or(&one.at, |node| &node.at);
            let words: Vec<&str> = what.iter().map(|less| less.words.as_str()).collect();
            let message = format!(
                "the {} {} asks or stops less, without a reason: {}",
                one.array,
                one.id,
                words.join("; ")
            );
            wrong.push(Diagnostic::error(at, message, "add reason = \"…\": it is printed on every report"));
            continue;
        };
        found.push(Lessened {
            layer: one.layer.clone(),
            array: one.array.clone(),
            id: one.id.clone(),
            title: one.after.text("title").unwrap_or(&one.id).to_owned(),
            what: what.into_iter().map(|less| less.words).collect(),
            reason: reason.to_owned(),
            at: one.at.clone(),
        });
    }
    (found, wrong)
}

fn what_is_less(rules: &Ruleset, one: &Laid) -> Vec<Less> {
    match one.array.as_str() {
        "check" => {
            let both = read_again(&one.before, check).flatten().zip(read_again(&one.after, check).flatten());
            both.map_or_else(Vec::new, |(before, after)| check_less(rules, &before, &after))
        }
        "profile" => pair(one, read::profile).map_or_else(Vec::new, |(a, b)| profile_less(&a, &b)),
        "instrument" => pair(one, read::instrument).map_or_else(Vec::new, |(a, b)| instrument_less(&a, &b)),
        "lap" => pair(one, read::lap).map_or_else(Vec::new, |(before, after)| {
            gone(&before.stations, &after.stations)
                .map(|stations| less("stations", format!("this order passes no longer {stations}")))
                .into_iter()
                .collect()
        }),
        "station" => cautions(&one.before, &one.after),
        _ => Vec::new(),
    }
}

fn pair<T>(one: &Laid, read: impl Fn(&Reader<'_>) -> T) -> Option<(T, T)> {
    Some((read_again(&one.before, &read)?, read_again(&one.after, &read)?))
}

/// A table read by itself; what is wrong in it is said where the whole is read.
fn read_again<T>(table: &Arc<Table>, read: impl Fn(&Reader<'_>) -> T) -> Option<T> {
    let at = table.entries.first().map(|(key, _)| key.at.clone())?;
    let node = Node { value: Value::Table(Arc::clone(table)), at };
    let state = ReadState::of_part(Overrides::new(), true);
    Some(Reader::document(&node, &state, read))
}

/// What a check asks or stops less than it did.
pub(super) fn check_less(rules: &Ruleset, before: &Check, after: &Check) -> Vec<Less> {
    let mut found = Vec::new();
    // Stop sorts first.
    if after.severity > before.severity {
        let words = format!("severity {} -> {}", before.severity.word(), after.severity.word());
        found.push(less("severity", words));
    }
    let left =
        rules.profiles.iter().filter(|profile| before.in_profile(profile) && !after.in_profile(profile));
    // What is lighter leaves the short checklists by itself, and that was said.
    let left = left.filter(|profile| after.severity <= before.severity || !named(after, profile));
    let left: Vec<String> = left.map(|profile| format!("\"{}\"", profile.title)).collect();
    if !left.is_empty() {
        found.push(less("profiles", format!("no longer part of {}", left.join(", "))));
    }
    found.extend(conditions(before, after));
    if let Some(stages) = narrowed(&before.stage, &after.stage) {
        found.push(less("stage", stages));
    }
    if before.first && !after.first {
        found.push(less("first", "no longer asked before all others"));
    }
    if before.no_eye && !after.no_eye {
        found.push(less("no_eye", "may be accepted by eye without a value"));
    }
    if !before.method.by_answer() && after.method.by_answer() {
        let (old, new) = (before.method.word(), after.method.word());
        found.push(less("method", format!("no value is needed any more: {old} -> {new}")));
    }
    if !before.closes_by_number() && after.closes_by_number() {
        found.push(less("look", "its number alone accepts it, with nobody looking"));
    }
    found.extend(cautions(&before.table, &after.table));
    found.extend(limits(rules, before, after));
    found
}

fn named(check: &Check, profile: &Profile) -> bool {
    let from = profile.from.as_deref().unwrap_or(&profile.id);
    check.profiles.iter().any(|id| id == from)
}

/// A narrower `when`, or an `unless` that takes more cars out.
fn conditions(before: &Check, after: &Check) -> Vec<Less> {
    let mut found = Vec::new();
    let wider = |new: &Condition, old: &Condition| new == old || new.follows_from(old);
    let asked = match (&before.when, &after.when) {
        (_, None) => true,
        (None, Some(_)) => false,
        (Some(old), Some(new)) => wider(new, old),
    };
    if !asked {
        let of = after.when.as_ref().map(Condition::phrase).unwrap_or_default();
        found.push(less("when", format!("asked only of cars with {of}")));
    }
    let left_in = match (&before.unless, &after.unless) {
        (_, None) => true,
        (None, Some(_)) => false,
        (Some(old), Some(new)) => wider(old, new),
    };
    if !left_in {
        let of = after.unless.as_ref().map(Condition::phrase).unwrap_or_default();
        found.push(less("unless", format!("no longer asked of cars with {of}")));
    }
    found
}

/// Cautions that are taken off.
fn cautions(before: &Table, after: &Table) -> Vec<Less> {
    let has = |table: &Table, key: &str| match table.get(key).map(|node| &node.value) {
        Some(Value::Text(text)) => !text.trim().is_empty(),
        Some(Value::Array(items)) => !items.is_empty(),
        Some(_) => true,
        None => false,
    };
    let off = ["caution", "caution_more"].into_iter().filter(|key| has(before, key) && !has(after, key));
    off.map(|key| less(key, "its caution is taken off")).collect()
}

/// Stages: none named means every one.
fn narrowed(before: &[String], after: &[String]) -> Option<String> {
    if after.is_empty() {
        return None;
    }
    if before.is_empty() {
        return Some(format!("asked only at {}", after.join(", ")));
    }
    gone(before, after).map(|stages| format!("no longer asked at {stages}"))
}

/// Members of a list that are in it no more, in one text.
fn gone(before: &[String], after: &[String]) -> Option<String> {
    let missing: Vec<&str> = before.iter().filter(|word| !after.contains(word)).map(String::as_str).collect();
    (!missing.is_empty()).then(|| missing.join(", "))
}

fn profile_less(before: &Profile, after: &Profile) -> Vec<Less> {
    let mut found = Vec::new();
    let lost: Vec<&str> =
        before.only.iter().filter(|one| !after.only.contains(one)).map(|one| one.word()).collect();
    if !lost.is_empty() {
        found.push(less("only", format!("walks no longer {}", lost.join(", "))));
    }
    if before.from != after.from {
        found.push(less("from", "walks the checks of another checklist"));
    }
    if let Some(roles) = gone(&before.signatures, &after.signatures) {
        found.push(less("signatures", format!("no longer signed by {roles}")));
    }
    if let Some(stages) = gone(&before.stages, &after.stages) {
        found.push(less("stages", format!("without the stage {stages}")));
    }
    found
}

fn instrument_less(before: &Instrument, after: &Instrument) -> Vec<Less> {
    let smaller = |old: &[(Kind, f64)], new: &[(Kind, f64)]| {
        let width = |kind| new.iter().find(|(known, _)| *known == kind).map(|(_, width)| *width);
        old.iter().any(|(kind, old)| width(*kind).is_none_or(|new| new < *old))
    };
    let mut found = Vec::new();
    if smaller(&before.widths, &after.widths) {
        let words = format!("taken to be finer, so that more is accepted near a limit: {}", after.accuracy);
        found.push(less("accuracy", words));
    } else if smaller(&after.widths, &before.widths) {
        let words = format!("taken to be coarser, so that less is rejected near a limit: {}", after.accuracy);
        found.push(less("accuracy", words));
    }
    if smaller(&before.repeats, &after.repeats) {
        found.push(less("repeat", "taken to repeat better, so that more is accepted near a limit"));
    } else if smaller(&after.repeats, &before.repeats) {
        found.push(less("repeat", "taken to repeat worse, so that less is rejected near a limit"));
    }
    if before.shape != after.shape {
        found.push(less("shape", "its error is taken to be of another shape"));
    }
    found
}

impl Lessened {
    /// "severity stop -> fix; no longer part of "At the scales""
    pub fn words(&self) -> String {
        self.what.join("; ")
    }
}
