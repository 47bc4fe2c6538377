//! What the owner mends first: by severity, then station, with parts and remedy.

use crate::model::entry::Severity;

use super::deficiency;
use super::document::{Block, Item, Pair, Section};
use super::facts::{Facts, State};
use super::item;
use super::limit;
use super::record::Record;

/// Its sections.
pub(super) fn sections(record: &Record<'_>, facts: &Facts) -> Vec<Section> {
    let mut sections = vec![deficiency::nothing_checked(record)];
    let mut number = 0;
    for (_, severity) in Severity::WORDS {
        let title = match severity {
            Severity::Stop => "Before the car runs (stop)",
            Severity::Fix => "Before the next event (fix)",
            Severity::Note => "When there is time (note)",
        };
        let mut section = Section::new(title);
        for standing in
            deficiency::standing_in(record, &[State::Open, State::Repaired, State::NotYet, State::NotSeen])
        {
            if standing.cause().severity == *severity {
                number += 1;
                section.blocks.push(Block::Item(one(record, standing, number)));
            }
        }
        sections.push(section);
    }
    sections.push(parts(record));
    if number == 0 && !record.input.history.findings().is_empty() {
        let mut section = Section::new("Nothing to mend");
        section.say("No item is open. That is what was noted, not a ruling: see what was not reached.");
        sections.push(section);
    }
    sections.push(deficiency::not_reached(record, facts));
    sections.push(deficiency::not_judged(record, facts));
    sections.push(deficiency::beside_answers(record));
    sections.push(super::due::soon(record, &facts.due));
    sections.push(deficiency::cautions(facts));
    sections
}

fn one(record: &Record<'_>, standing: &crate::model::history::Standing<'_>, number: usize) -> Item {
    let cause = standing.cause();
    let state = State::of_standing(standing);
    let check = record.check(&cause.check);
    let mut lines = vec![Pair::new("Where", item::whereabouts(record, cause))];
    lines.extend(limit::seen(record, cause).map(|seen| Pair::new("Seen", seen)));
    lines.extend(cause.note.as_ref().map(|note| Pair::new("Noted", note)));
    let beside = record.input.history.observations_beside(standing).into_iter();
    lines.extend(beside.map(|(_, observation)| Pair::new("Note", item::noted(observation))));
    let notes = record.input.history.notes_on(standing);
    lines.extend(item::to_do(check, standing, &notes).map(|to_do| Pair::new("Remedy", to_do)));
    if let Some(check) = check.filter(|_| item::is_seen_wrong(standing)) {
        lines.push(Pair::new("Parts", check.parts_of(cause, &notes).join("; ")));
    }
    if let Some(reason) = record.no_longer_asked(&cause.check) {
        lines.push(Pair::new("Still open", format!("this checklist no longer asks it: {reason}")));
    }
    if cause.is_computed() {
        lines.push(Pair::new("State", item::who(record, cause)));
    } else if state != State::Open {
        lines.push(Pair::new("State", state.phrase()));
    }
    lines.retain(|pair| !pair.text.is_empty());
    item::titled(record, cause, state, number, lines)
}

/// Every part that an open item may want, once, with how many items want it.
fn parts(record: &Record<'_>) -> Section {
    let mut wanted: Vec<(&str, usize)> = Vec::new();
    let open = deficiency::standing_in(record, &[State::Open, State::NotYet]);
    for standing in open.into_iter().filter(|standing| item::is_seen_wrong(standing)) {
        let cause = standing.cause();
        let notes = record.input.history.notes_on(standing);
        let parts = record.check(&cause.check).map_or(&[][..], |check| check.parts_of(cause, &notes));
        for part in parts {
            match wanted.iter_mut().find(|(known, _)| known == part) {
                Some((_, times)) => *times += 1,
                None => wanted.push((part, 1)),
            }
        }
    }
    let mut section = Section::new("Parts to have at hand");
    let line = |(part, times): (&str, usize)| {
        if times > 1 { format!("{part} (for {times} items)") } else { part.to_owned() }
    };
    section.list(wanted.into_iter().map(line).collect());
    section
}
