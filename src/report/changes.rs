//! What changed since the walk before: new, still open, said to be repaired, closed.

use crate::model::entry::{Entry, Finding, Kept, Outcome};
use crate::model::history::Standing;

use super::document::Section;
use super::facts::closes;
use super::item::time;
use super::record::{Record, moment};

/// The section; empty where there was no walk before.
pub(super) fn section(record: &Record<'_>) -> Section {
    let (Some(newest), Some(previous)) = (record.newest(), record.previous()) else {
        return Section::default();
    };
    let mut section = Section::new("Changes since the walk before");
    let before = previous.started.by.as_deref().map(|by| format!(" by {by}")).unwrap_or_default();
    section.say(format!(
        "The walk before was {}{before}, profile {}.",
        moment(previous.at),
        previous.started.profile
    ));
    let mut points: Vec<(usize, String)> = Vec::new();
    let mut closed: Vec<String> = Vec::new();
    // What the numbers say now was not found by a walk.
    for standing in record.standings.iter().filter(|standing| standing.kept.seq > 0) {
        if standing.is_open() {
            points.push(still(record, standing, newest.id));
        } else if closes(standing) && standing.finding.walk == newest.id {
            let line = closed_line(record, standing);
            if !closed.contains(&line) {
                closed.push(line);
            }
        }
    }
    points.sort_by_key(|(rank, _)| *rank);
    section.list(points.into_iter().map(|(_, line)| line).chain(closed).collect());
    if section.blocks.len() == 1 {
        section.say("Nothing was open then or now.");
    }
    section
}

/// New, still open or said to be repaired, with its rank.
fn still(record: &Record<'_>, standing: &Standing<'_>, newest: &str) -> (usize, String) {
    let name = name(standing);
    if standing.finding.result == Outcome::Repaired {
        let by = record.who(standing.finding).unwrap_or_else(|| "a person not named".to_owned());
        return (2, format!("Said to be repaired: {name}, by {by}, {}.", time(standing.kept)));
    }
    let opened_in = |kept: &Kept| matches!(&kept.entry, Entry::Finding(finding) if finding.walk == newest);
    if standing.opened.is_none_or(opened_in) {
        return (0, format!("New: {name}."));
    }
    let since = standing.opened.map(|kept| format!(", {}", time(kept))).unwrap_or_default();
    (1, format!("Still open: {name}{since}."))
}

fn closed_line(record: &Record<'_>, standing: &Standing<'_>) -> String {
    let by = record.who(standing.finding).unwrap_or_else(|| "a person not named".to_owned());
    let repaired = standing.before.and_then(|kept| match &kept.entry {
        Entry::Finding(claim) if claim.result == Outcome::Repaired => Some(repair(record, kept, claim)),
        _ => None,
    });
    let word = if standing.finding.result == Outcome::NotFitted { "not fitted" } else { "accepted" };
    format!(
        "Closed: {}, {}looked at again and {word} by {by}, {}.",
        name(standing),
        repaired.unwrap_or_default(),
        time(standing.kept)
    )
}

/// Who said when that it is repaired.
fn repair(record: &Record<'_>, kept: &Kept, claim: &Finding) -> String {
    let by = record.who(claim).unwrap_or_else(|| "a person not named".to_owned());
    format!("said to be repaired by {by}, {}; ", time(kept))
}

/// Title and part, of the finding that opened it.
fn name(standing: &Standing<'_>) -> String {
    let finding = match standing.opened.map(|kept| &kept.entry) {
        Some(Entry::Finding(finding)) => finding,
        _ => standing.finding,
    };
    match &finding.of {
        Some(of) => format!("{} ({of})", finding.title),
        None => finding.title.clone(),
    }
}
