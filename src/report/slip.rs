//! The slip: the open items with what to do, short enough for a receipt printer.

use linewalk_engine::rules::Check;

use super::deficiency::{self, standing_in};
use super::document::{Block, Pair, Section};
use super::facts::{Facts, State};
use super::item::{self, noted, titled, to_do, whereabouts};
use super::limit;
use super::record::{Record, count};

/// Its sections.
pub(super) fn sections(record: &Record<'_>, facts: &Facts) -> Vec<Section> {
    vec![open(record), counts(record, facts), initials(record)]
}

fn open(record: &Record<'_>) -> Section {
    let mut section = Section::new("Open");
    for (at, standing) in standing_in(record, &[State::Open, State::Repaired]).into_iter().enumerate() {
        let cause = standing.cause();
        let check = record.check(&cause.check);
        let mut lines = vec![Pair::new("at", whereabouts(record, cause))];
        lines.extend(limit::seen(record, cause).map(|seen| Pair::new("seen", seen)));
        lines.extend(cause.note.as_ref().map(|note| Pair::new("note", note)));
        let beside = record.input.history.observations_beside(standing).into_iter();
        lines.extend(beside.map(|(_, observation)| Pair::new("note", noted(observation))));
        lines.extend(check.and_then(Check::clause).map(|clause| Pair::new("rule", clause)));
        let to_do = to_do(check, standing).filter(|to_do| !to_do.is_empty());
        lines.extend(to_do.map(|to_do| Pair::new("do", to_do)));
        if let Some(reason) = record.no_longer_asked(&cause.check) {
            lines.push(Pair::new("open", format!("this checklist no longer asks it: {reason}")));
        }
        let state = State::of_standing(standing);
        if cause.is_computed() {
            lines.push(Pair::new("but", item::who(record, cause)));
        }
        if state == State::Repaired {
            lines.push(Pair::new("but", "said to be repaired, look again"));
        }
        section.blocks.push(Block::Item(titled(record, cause, state, at + 1, lines)));
    }
    section
}

/// What was not settled, in counts; titles of stop items that could not be seen.
fn counts(record: &Record<'_>, facts: &Facts) -> Section {
    let nothing = record.input.history.findings().is_empty();
    let mut section = Section::new("Also");
    let mut points: Vec<String> = Vec::new();
    if nothing {
        points.push("NOTHING HAS BEEN CHECKED".to_owned());
    } else if facts.in_state(&[State::Open, State::Repaired, State::NotYet, State::NotSeen]).next().is_none()
    {
        points.push("no item noted as open".to_owned());
    }
    if !facts.noted.is_empty() {
        points.push(deficiency::noted(facts));
    }
    points.extend(facts.noted.iter().map(|one| {
        let observation = &one.observation;
        format!("note: {}: {}", observation.title, noted(observation))
    }));
    points.extend(deficiency::beside_points(record).into_iter().map(|point| format!("note: {point}")));
    points.extend(
        facts
            .not_seen
            .iter()
            .map(|unseen| format!("not seen: {} {} [{}]", unseen.code, unseen.title, unseen.severity.word())),
    );
    points.extend(facts.in_state(&[State::NotYet]).map(|fact| {
        format!("not yet fitted: {} {} [{}]", fact.code(), fact.finding.title, fact.finding.severity.word())
    }));
    points.extend(
        facts
            .in_state(&[State::AcceptedAgainstLimit])
            .map(|fact| format!("accepted against the limit: {} {}", fact.code(), fact.finding.title)),
    );
    if !facts.not_reached.is_empty() {
        points.push(count(facts.not_reached.len(), "check not reached", "checks not reached"));
    }
    points.extend(
        facts
            .due
            .iter()
            .filter(|due| due.days.is_some_and(|days| days < 0))
            .map(|due| format!("ran out: {}", due.name())),
    );
    section.list(points);
    section
}

fn initials(record: &Record<'_>) -> Section {
    let mut section = super::deficiency::signatures(record);
    "Initials".clone_into(&mut section.title);
    if section.blocks.is_empty() {
        section.blocks.push(Block::Signatures(vec![super::document::Signature {
            role: "initials".to_owned(),
            signed: None,
        }]));
    }
    section
}
