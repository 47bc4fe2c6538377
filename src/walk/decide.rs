//! An action and a walk to the entries that would keep it. Nothing is changed here.

use std::collections::BTreeSet;

use crate::diagnostic::near_or;
use crate::model::entry::{
    Entry, Finding, JudgedBy, Kept, Observation, Outcome, Reading, Severity, WalkStarted,
};
use crate::model::history::Standing;
use crate::model::letters::{Lettered, Letters};
use crate::model::{Car, keys};
use crate::numbers::reading_kind;
use crate::rules::{Check, Method};
use crate::source::{Word, date_help, parse_date};
use crate::units::{Kind, parse};

use super::action::{Action, Objection, Observed, Wants};
use super::plan::Why;
use super::reply::{Reply, known_item, settle};
use super::state::Walk;

/// An entry with the id that it is kept under.
#[derive(Clone, Debug, PartialEq)]
pub struct Decided {
    /// Its id.
    pub id: String,
    /// What it says.
    pub entry: Entry,
}

/// Gives an id that no record has.
pub type NewId<'i> = &'i mut dyn FnMut() -> String;

/// The entries that keep an action, each with its id; a walk not begun yet begins with them.
///
/// # Errors
/// What stands in the way.
pub fn decide(walk: &Walk, action: &Action, new_id: NewId<'_>) -> Result<Vec<Decided>, Objection> {
    let begun = walk.id.clone();
    let id = begun.clone().unwrap_or_else(&mut *new_id);
    let entries = entries(walk, &id, action)?;
    // Of itself a take-back begins no walk, which would stand in the report as one that reached nothing.
    let begins = begun.is_none() && !matches!(action, Action::Withdraw { .. });
    let beginning = begins.then(|| Decided { id, entry: Entry::WalkStarted(opening(walk)) });
    let rest = entries.into_iter().map(|entry| Decided { id: new_id(), entry });
    Ok(beginning.into_iter().chain(rest).collect())
}

fn entries(walk: &Walk, id: &str, action: &Action) -> Result<Vec<Entry>, Objection> {
    Ok(match action {
        Action::Answer(reply) => vec![Entry::Finding(Box::new(answer(walk, id, reply)?))],
        Action::AcceptStation(station) => accept_station(walk, id, station)?,
        Action::Read { key, value, instrument } => {
            vec![Entry::Reading(read(walk, key, value, instrument.clone())?)]
        }
        Action::Withdraw { record, note } => vec![withdraw(walk, record, note.clone())?],
        Action::Weigh { record, severity, note } => {
            vec![Entry::Finding(Box::new(weigh(walk, id, record, *severity, note.clone())?))]
        }
        Action::Remark { record, about, text } => vec![remark(walk, record.clone(), about.clone(), text)?],
        Action::Observe(observed) => vec![Entry::Observation(Box::new(observe(walk, id, observed)?))],
        Action::Sign { role, by } => sign(walk, role, by)?,
        Action::End => end(walk)?,
    })
}

/// How this walk begins.
pub(super) fn opening(walk: &Walk) -> WalkStarted {
    let start = &walk.start;
    WalkStarted {
        profile: start.profile.clone(),
        stage: start.stage.clone(),
        rules: start.rules.mark(),
        layers: start.rules.marks(),
        files: start.rule_files.clone(),
        rulebook: None,
        clock_correction: walk.clock_correction,
        letters: new_letters(walk),
        recheck: walk.recheck,
        answers_sha256: None,
        station: start.station.clone(),
        lap: walk.lap().map(|lap| lap.id.clone()),
        car: Some(start.car.id.clone()),
        car_sha256: Some(start.car_file.sha256()),
        number: Some(start.car.number.clone()),
        by: start.by.clone(),
    }
}

/// Letters for the items that the car has now and the record has not seen: given before anything is answered, they stay.
fn new_letters(walk: &Walk) -> Vec<Lettered> {
    let known = Letters::of(&walk.history);
    let mut fresh = Vec::new();
    for check in walk.plan.steps.iter().filter_map(|step| walk.start.rules.check(&step.check)) {
        let all = known.of_check(&check.id, &walk.evaluator().items(check));
        let new = all.into_iter().filter(|(of, _)| !known.has(&check.id, of));
        fresh.extend(new.map(|(of, letter)| Lettered { check: check.id.clone(), of, letter }));
    }
    fresh
}

fn answer(walk: &Walk, id: &str, reply: &Reply) -> Result<Finding, Objection> {
    let mut reply = reply.clone();
    reply.by = reply.by.or_else(|| walk.start.by.clone());
    let first = walk
        .plan
        .steps
        .iter()
        .find(|step| step.check == reply.check)
        .is_some_and(|step| step.why == Why::First);
    if !first {
        safe_first(walk)?;
    }
    settle(&walk.evaluator(), &walk.history, id, &reply)
}

/// Pins in and car made safe before anything else.
fn safe_first(walk: &Walk) -> Result<(), Objection> {
    if let Some(wrong) = walk.unsafe_now() {
        let message = format!("the walk is paused: make this safe first — {wrong}");
        return Err(Objection::new(Wants::Nothing, message));
    }
    let answered = walk.answered();
    let open =
        walk.plan.steps.iter().find(|step| step.why == Why::First && !answered.contains(step.check.as_str()));
    match open.and_then(|step| walk.start.rules.check(&step.check)) {
        Some(check) => Err(Objection::new(Wants::Nothing, format!("first of all: {}", check.title))),
        None => Ok(()),
    }
}

/// First every look, feel and ask check left at a station; where none of these is left, the others that one key each would
/// accept: by eye where the rule allows that, as the file says, by a number that is inside.
fn accept_station(walk: &Walk, id: &str, station: &str) -> Result<Vec<Entry>, Objection> {
    safe_first(walk)?;
    let answered = walk.answered();
    let left: Vec<&Check> = walk
        .plan
        .at_station(station)
        .filter(|step| !answered.contains(step.check.as_str()))
        .filter_map(|step| walk.start.rules.check(&step.check))
        .filter(|check| !check.first)
        .filter(|check| !walk.history.standing_of(&check.id).is_some_and(|standing| standing.is_open()))
        .collect();
    let mut entries = accepted_in_passing(walk, id, left.iter().filter(|check| check.method.by_answer()));
    if entries.is_empty() {
        // A stop that is measured, counted, dated or computed is answered by itself.
        let rest = left.iter().filter(|check| !check.method.by_answer() && check.severity != Severity::Stop);
        entries = accepted_in_passing(walk, id, rest);
    }
    if entries.is_empty() {
        return Err(Objection::new(
            Wants::Nothing,
            "nothing at this station is left to accept in one go: give what is left its own value or answer",
        ));
    }
    Ok(entries)
}

fn accepted_in_passing<'c>(walk: &Walk, id: &str, checks: impl Iterator<Item = &'c &'c Check>) -> Vec<Entry> {
    let mut entries = Vec::new();
    for check in checks {
        let typed = matches!(check.method, Method::Measure | Method::Count | Method::Date);
        let by_eye = typed && !walk.evaluator().assess(check, &Default::default(), None).has_typed();
        let reply = Reply { by_station: true, by_eye, ..Reply::plain(&check.id, Outcome::Accept) };
        // What a number or the rule speaks against is not accepted in passing: it stays to be answered by itself.
        if let Ok(finding) = answer(walk, id, &reply) {
            entries.push(Entry::Finding(Box::new(finding)));
        }
    }
    entries
}

/// A reading, checked against what its key takes and what the car has.
pub(super) fn read(
    walk: &Walk,
    key: &str,
    value: &str,
    instrument: Option<String>,
) -> Result<Reading, Objection> {
    let by = walk.start.by.clone();
    let Some(kind) = reading_kind(key).or(keys::quantity_kind(key)) else {
        return Err(Objection::new(Wants::Nothing, format!("there is no reading {key}")));
    };
    known_element(&walk.start.car, key)?;
    known_instrument(walk, instrument.as_deref())?;
    let si = if kind == Kind::Span {
        if parse_date(value).is_none() {
            let message = format!("\"{value}\" is not a date: {}", date_help(value));
            return Err(Objection::new(Wants::Value, message));
        }
        None
    } else {
        let parsed =
            parse(value, kind).map_err(|refusal| Objection::new(Wants::Value, refusal.to_string()))?;
        if kind == Kind::Pressure && reading_kind(key).is_some() {
            gauge(key, parsed.si)?;
        }
        Some(parsed.si)
    };
    Ok(Reading {
        key: key.to_owned(),
        value: value.trim().to_owned(),
        si,
        instrument,
        by,
        seen_at: None,
        sheet: None,
    })
}

/// A gauge of this car shows no vacuum, and a hold that starts at nothing holds nothing.
fn gauge(key: &str, si: f64) -> Result<(), Objection> {
    let message = if si < 0.0 {
        "a pressure on this gauge cannot be less than zero"
    } else if si == 0.0 && key.ends_with(".start_pressure") {
        "the pressure at the start has to be over zero"
    } else {
        return Ok(());
    };
    Err(Objection::new(Wants::Value, message))
}

/// A reading's key names a part that the car file has, where it has parts of that kind.
fn known_element(car: &Car, key: &str) -> Result<(), Objection> {
    let (suppression, brakes) = (&car.suppression, &car.brakes);
    let parts: Vec<&str> = key.split('.').collect();
    let (what, id, known): (_, _, Vec<&str>) = match parts.as_slice() {
        ["suppression", "bottle", id, ..] => {
            ("bottle", *id, suppression.bottles.iter().map(|bottle| bottle.id.as_str()).collect())
        }
        ["brakes", "circuit", id, ..] => {
            let ports = brakes.masters.iter().flat_map(|master| &master.ports);
            ("circuit", *id, ports.filter_map(|port| port.plumbed_to.as_ref()).map(Word::as_str).collect())
        }
        ["brakes", "wheel_brake", id, ..] => {
            ("wheel brake", *id, brakes.wheel_brakes.iter().map(|brake| brake.id.as_str()).collect())
        }
        ["electrics", id, ..] => {
            ("electric part", *id, car.electrics.iter().map(|part| part.id.as_str()).collect())
        }
        _ => return Ok(()),
    };
    // Without its id a key of the car file means every part of its kind.
    if known.is_empty() || known.contains(&id) || reading_kind(key).is_none() {
        return Ok(());
    }
    let help = near_or(id, known.iter().copied(), || format!("it has {}", known.join(", ")));
    Err(Objection::new(Wants::Nothing, format!("the car file has no {what} {id}: {help}")))
}

/// An instrument has to be one of the rules', because its accuracy counts.
pub(super) fn known_instrument(walk: &Walk, instrument: Option<&str>) -> Result<(), Objection> {
    let rules = &walk.start.rules;
    let Some(id) = instrument.filter(|id| rules.instrument(id).is_none()) else { return Ok(()) };
    let known: Vec<&str> = rules.instruments.iter().map(|known| known.id.as_str()).collect();
    let help = near_or(id, known.iter().copied(), || format!("known are {}", known.join(", ")));
    Err(Objection::new(Wants::Nothing, format!("there is no instrument {id}: {help}")))
}

fn withdraw(walk: &Walk, record: &str, note: Option<String>) -> Result<Entry, Objection> {
    let known = walk.history.get(record);
    let can = known.is_some_and(|kept| {
        let of_a_person =
            matches!(kept.entry, Entry::Reading(_) | Entry::Remark { .. } | Entry::Observation(_));
        of_a_person || matches!(kept.entry, Entry::Finding(_))
    });
    if !can || walk.history.is_withdrawn(record) {
        return Err(Objection::new(Wants::Nothing, "there is nothing here to take back"));
    }
    let noted = note.as_deref().is_some_and(|note| !note.trim().is_empty());
    if let (Some(signed), false) = (known.and_then(|kept| signed_walk(walk, kept)), noted) {
        let message =
            format!("this walk is locked, signed by {signed}: to take an answer of it back, write why");
        return Err(Objection::new(Wants::Note, message));
    }
    Ok(Entry::Withdrawn { record: record.to_owned(), note, by: walk.start.by.clone() })
}

/// Who signed the walk of a finding, where it was signed and has ended.
fn signed_walk(walk: &Walk, kept: &Kept) -> Option<String> {
    let Entry::Finding(finding) = &kept.entry else { return None };
    let walks = walk.history.walks();
    let seen = walks.iter().find(|seen| seen.id == finding.walk && seen.ended.is_some())?;
    let names: Vec<&str> = seen.signed.iter().map(|(_, by, _)| *by).collect();
    (!names.is_empty()).then(|| names.join(" and "))
}

/// The same finding with another severity: a new entry that supersedes it.
fn weigh(
    walk: &Walk,
    id: &str,
    record: &str,
    severity: Severity,
    note: Option<String>,
) -> Result<Finding, Objection> {
    let open = walk.history.open();
    let Some(standing) = open.iter().find(|standing| standing.kept.id == record) else {
        return Err(Objection::new(Wants::Nothing, "there is no open finding to weigh here"));
    };
    let finding = standing.finding;
    let noted = note.as_deref().is_some_and(|note| !note.trim().is_empty());
    if severity > finding.severity && !noted {
        let message = format!("to lower {} to {}, write why", finding.severity.word(), severity.word());
        return Err(Objection::new(Wants::Note, message));
    }
    let mut finding = finding.clone();
    finding.walk = id.to_owned();
    finding.severity = severity;
    finding.sheet = None;
    finding.by = walk.start.by.clone().or(finding.by);
    finding.note = match (finding.note, note) {
        (Some(old), Some(new)) => Some(format!("{old}; {new}")),
        (old, new) => new.or(old),
    };
    Ok(finding)
}

/// A note or photos at a check: beside the answer of this walk where there is one, else beside the check alone.
fn observe(walk: &Walk, id: &str, observed: &Observed) -> Result<Observation, Objection> {
    let Some(check) = walk.start.rules.check(&observed.check) else {
        return Err(Objection::new(Wants::Nothing, format!("there is no check {}", observed.check)));
    };
    let reply = Reply { check: check.id.clone(), of: observed.of.clone(), ..Reply::default() };
    known_item(&walk.evaluator(), &reply)?;
    let note = observed.note.as_deref().map(str::trim).filter(|note| !note.is_empty()).map(str::to_owned);
    if note.is_none() && observed.photos.is_empty() {
        return Err(Objection::new(Wants::Note, "type a note, or give a photo"));
    }
    let standings = walk.history.standings_of(&check.id).into_iter();
    let answer = standings.filter(|standing| standing.finding.walk == id).find(|standing| {
        observed.of.is_none() || standing.of.is_none() || standing.of == observed.of.as_deref()
    });
    Ok(Observation {
        walk: id.to_owned(),
        check: check.id.clone(),
        of: observed.of.clone(),
        code: Some(walk.evaluator().code(check, observed.of.as_deref(), &Letters::of(&walk.history))),
        title: check.title.clone(),
        record: answer.map(|standing| standing.kept.id.clone()),
        note,
        photos: observed.photos.clone(),
        by: observed.by.clone().or_else(|| walk.start.by.clone()),
        seen_at: observed.seen_at,
    })
}

fn remark(
    walk: &Walk,
    record: Option<String>,
    about: Option<String>,
    text: &str,
) -> Result<Entry, Objection> {
    if text.trim().is_empty() {
        return Err(Objection::new(Wants::Note, "a remark needs words"));
    }
    if record.as_ref().is_some_and(|record| walk.history.get(record).is_none()) {
        return Err(Objection::new(Wants::Nothing, "there is no record here for a remark to stand beside"));
    }
    // The line names the item by itself: a reader need not look the record up.
    let answer = record.as_deref().and_then(|id| walk.history.get(id)).and_then(|kept| match &kept.entry {
        Entry::Finding(finding) => Some((finding.check.clone(), finding.of.clone())),
        _ => None,
    });
    let (check, of) = answer.map_or((None, None), |(check, of)| (Some(check), of));
    let (text, by) = (text.trim().to_owned(), walk.start.by.clone());
    Ok(Entry::Remark { record, check, of, about, text, by })
}

fn sign(walk: &Walk, role: &str, by: &str) -> Result<Vec<Entry>, Objection> {
    let Some(id) = &walk.id else {
        return Err(Objection::new(Wants::Nothing, "there is nothing to sign yet: answer a check first"));
    };
    if by.trim().is_empty() {
        return Err(Objection::new(Wants::Value, "type initials or a name"));
    }
    Ok(vec![Entry::Signed { walk: id.clone(), role: role.to_owned(), by: by.trim().to_owned() }])
}

/// The end of the walk; rejects by number that nobody answered are kept before it.
fn end(walk: &Walk) -> Result<Vec<Entry>, Objection> {
    let Some(id) = &walk.id else {
        return Err(Objection::new(Wants::Nothing, "there is nothing to end yet: answer a check first"));
    };
    let mut entries: Vec<Entry> =
        computed_rejects(walk, id).into_iter().map(|f| Entry::Finding(Box::new(f))).collect();
    entries.push(Entry::WalkEnded { walk: id.clone(), by: walk.start.by.clone() });
    Ok(entries)
}

/// Rejects by number of checks, or items of them, that no answer of this walk and no open finding names. They never supersede a
/// person's result.
pub(super) fn computed_rejects(walk: &Walk, id: &str) -> Vec<Finding> {
    let findings = walk.history.findings().into_iter().map(|(_, finding)| finding);
    let whole = findings.filter(|finding| finding.walk == id && finding.of.is_none());
    let whole: BTreeSet<&str> = whole.map(|finding| finding.check.as_str()).collect();
    let mut rejects = Vec::new();
    for step in walk.plan.steps.iter().filter(|step| !whole.contains(step.check.as_str())) {
        let Some(check) = walk.start.rules.check(&step.check) else { continue };
        let standings = walk.history.standings_of(&check.id);
        let spoken_for = |one: &&Standing<'_>| one.is_open() || one.finding.verdict == Some(Outcome::Reject);
        // One number speaks for the check: the others stand beside it in the report.
        let for_all = |one: &Standing<'_>| one.of.is_none() || one.finding.is_computed();
        if standings.iter().filter(spoken_for).any(for_all) {
            continue;
        }
        // What a person said of one item leaves the others to their numbers.
        let said = standings.iter().filter(|one| spoken_for(one) || one.finding.walk == id);
        let said: BTreeSet<&str> = said.filter_map(|standing| standing.of).collect();
        let assessment = walk.evaluator().assess(check, &Default::default(), None).without(&said);
        if assessment.verdict() == Some(Outcome::Reject) {
            let item = assessment.deciding().and_then(|row| row.of.clone());
            let reply =
                Reply { check: check.id.clone(), of: item.filter(|_| !said.is_empty()), ..Reply::default() };
            let settled = settle(&walk.evaluator(), &walk.history, id, &reply);
            rejects.extend(settled.map(|finding| Finding {
                judged_by: JudgedBy::Program,
                by: None,
                ..finding
            }));
        }
    }
    rejects
}
