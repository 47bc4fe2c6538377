//! The deficiency report: open items worst first, then everything else that keeps a car from being settled.

use crate::model::entry::Severity;
use crate::model::history::Standing;

use super::changes;
use super::document::{Block, Section, Signature};
use super::due;
use super::facts::{Facts, LeftOut, NotReached, State};
use super::figures;
use super::item;
use super::record::{Record, count, moment};

/// Its sections.
pub(super) fn sections(record: &Record<'_>, facts: &Facts) -> Vec<Section> {
    vec![
        nothing_checked(record),
        open(record, facts),
        against_limit(record),
        could_not_see(record),
        not_yet(record),
        not_reached(record, facts),
        not_judged(record, facts),
        beside_answers(record),
        due::soon(record, &facts.due),
        figures::section(record, &facts.numbers),
        changes::section(record),
        rulebooks_differ(record),
        left_out(record, facts),
        cautions(facts),
        signatures(record),
    ]
}

/// Said where no check was ever answered.
pub(super) fn nothing_checked(record: &Record<'_>) -> Section {
    let mut section = Section::new("Nothing has been checked");
    if record.input.history.findings().is_empty() {
        let log = if record.input.history.is_empty() {
            "The car has no log up to this day"
        } else {
            "The log holds no answer"
        };
        section.say(format!("{log}: nothing has been checked on this car. What follows comes from its file and the rules alone."));
    }
    section
}

/// What stands in some states, worst first.
pub(super) fn standing_in<'r, 'a>(record: &'r Record<'a>, states: &[State]) -> Vec<&'r Standing<'a>> {
    let mut found: Vec<_> =
        record.standings.iter().filter(|standing| states.contains(&State::of_standing(standing))).collect();
    found.sort_by_key(|standing| standing.cause().severity);
    // One accept for a whole check stands for each of its items, but is said once.
    found.dedup_by(|a, b| a.kept.id == b.kept.id);
    found
}

/// Open items and claims of repair, each in full.
fn open(record: &Record<'_>, facts: &Facts) -> Section {
    let mut section = Section::new("Open items, worst first");
    for (at, standing) in standing_in(record, &[State::Open, State::Repaired]).into_iter().enumerate() {
        section.blocks.push(Block::Item(item::whole(record, standing, at + 1)));
    }
    if section.blocks.is_empty() && !record.input.history.findings().is_empty() {
        let noted = if facts.noted.is_empty() { String::new() } else { format!(" {}.", noted(facts)) };
        section.say(format!(
            "No item is open.{noted} That is what was noted, not a ruling: see what was not seen and not reached."
        ));
    }
    section
}

/// Accepted by a person where the program says otherwise.
pub(super) fn against_limit(record: &Record<'_>) -> Section {
    let mut section = Section::new("Accepted against the limit");
    let points = standing_in(record, &[State::AcceptedAgainstLimit]).into_iter().map(|standing| {
        let finding = standing.finding;
        let by = record.who(finding).unwrap_or_else(|| "a person not named".to_owned());
        let seen = super::limit::seen(record, finding).map(|seen| format!("; seen {seen}")).unwrap_or_default();
        let verdict = finding.verdict.map_or("", |verdict| verdict.word());
        let note = finding.note.as_deref().unwrap_or("no reason was written");
        let place = item::whereabouts(record, finding);
        let when = item::when(standing.kept, finding);
        let code = record.code(&finding.check, standing.of);
        format!("{code} {} ({place}): accepted against the limit, by {by}, {when}{seen}; the program says {verdict}. Reason: {note}", finding.title)
    });
    section.list(points.collect());
    section
}

/// What could not be seen.
pub(super) fn could_not_see(record: &Record<'_>) -> Section {
    let mut section = Section::new("Could not be seen");
    section.list(
        standing_in(record, &[State::NotSeen])
            .into_iter()
            .map(|standing| item::short(record, standing))
            .collect(),
    );
    section
}

/// What is to be fitted.
pub(super) fn not_yet(record: &Record<'_>) -> Section {
    let mut section = Section::new("Not yet fitted");
    section.list(
        standing_in(record, &[State::NotYet])
            .into_iter()
            .map(|standing| item::short(record, standing))
            .collect(),
    );
    section
}

/// Notes and photos beside checks that nobody answered.
pub(super) fn not_judged(record: &Record<'_>, facts: &Facts) -> Section {
    let mut section = Section::new("Noted, not judged");
    if facts.noted.is_empty() {
        return section;
    }
    section.say(format!("{}: nobody has looked yet.", noted(facts)));
    let points = facts.noted.iter().map(|noted| {
        let observation = &noted.observation;
        let station = record.station_title(&observation.check);
        let place: Vec<&str> = [station, observation.of.as_deref()].into_iter().flatten().collect();
        let late = if noted.after_signing { ", after the walk was signed" } else { "" };
        let by = observation.by.as_deref().unwrap_or("a person not named");
        let (words, at) = (item::noted(observation), moment(noted.at));
        let code = record.code(&observation.check, observation.of.as_deref());
        format!("{code} {} ({}): {words} - {by}, {at}{late}", observation.title, place.join("; "))
    });
    section.list(points.collect());
    section
}

/// Notes and photos beside answers that leave nothing open; those of open items stand with them.
pub(super) fn beside_answers(record: &Record<'_>) -> Section {
    let mut section = Section::new("Noted beside answers");
    section.list(beside_points(record));
    section
}

/// A point for each of them.
pub(super) fn beside_points(record: &Record<'_>) -> Vec<String> {
    let mut points: Vec<String> = Vec::new();
    for standing in record.standings.iter().filter(|standing| !standing.is_open()) {
        for (kept, observation) in record.input.history.observations_beside(standing) {
            let of = observation.of.as_deref().map(|of| format!(" ({of})")).unwrap_or_default();
            let words = item::noted_fully(record, kept, observation);
            let point = format!("{}{of}: {words}", observation.title);
            if !points.contains(&point) {
                points.push(point);
            }
        }
    }
    points
}

/// "1 note, not judged".
pub(super) fn noted(facts: &Facts) -> String {
    format!("{}, not judged", count(facts.noted.len(), "note", "notes"))
}

/// More checks than this without an answer are not each named by their title.
const MANY: usize = 30;

/// Checks that the newest walk did not answer, a point for each station.
pub(super) fn not_reached(record: &Record<'_>, facts: &Facts) -> Section {
    let mut section = Section::new("Not reached");
    if facts.not_reached.is_empty() {
        return section;
    }
    let stops = facts.not_reached.iter().filter(|check| check.severity == Severity::Stop).count();
    if record.walks.is_empty() {
        let all = count(facts.not_reached.len(), "check", "checks");
        section.say(format!("No walk was begun: {all} would be asked, {stops} of them of severity stop."));
        return section;
    }
    let checks = count(facts.not_reached.len(), "check has", "checks have");
    section.say(format!("{checks} no answer in the last walk, {stops} of them of severity stop."));
    let mut stations: Vec<(&str, Vec<&NotReached>)> = Vec::new();
    for check in &facts.not_reached {
        match stations.last_mut().filter(|(station, _)| *station == check.station) {
            Some((_, checks)) => checks.push(check),
            None => stations.push((&check.station, vec![check])),
        }
    }
    let many = facts.not_reached.len() > MANY;
    let point = |(station, checks): (&str, Vec<&NotReached>)| {
        let title = record.rules().station(station).map_or(station, |known| &known.title);
        if many { in_short(record, title, &checks) } else { by_title(record, title, &checks) }
    };
    section.list(stations.into_iter().map(point).collect());
    section
}

fn by_title(record: &Record<'_>, station: &str, checks: &[&NotReached]) -> String {
    let titles: Vec<String> = checks.iter().map(|check| marked(record, check)).collect();
    format!("{station}: {}.", titles.join("; "))
}

/// How many at a station; stops and what is still open by title, the rest by code.
fn in_short(record: &Record<'_>, station: &str, checks: &[&NotReached]) -> String {
    let by_name = |check: &NotReached| check.severity == Severity::Stop || is_open(record, check);
    let (named, rest): (Vec<&NotReached>, Vec<&NotReached>) =
        checks.iter().copied().partition(|check| by_name(check));
    let titles: Vec<String> = named.into_iter().map(|check| marked(record, check)).collect();
    let ids: Vec<&str> = rest.iter().map(|check| check.code.as_str()).collect();
    let parts = [titles.join("; "), ids.join(", ")];
    let parts: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    format!("{station}, {}: {}.", checks.len(), parts.join("; "))
}

/// A title with what the reader should not miss: a stop, or an item still open from an earlier walk.
fn marked(record: &Record<'_>, check: &NotReached) -> String {
    let open = is_open(record, check);
    let stop = if check.severity == Severity::Stop { " [stop]" } else { "" };
    format!("{} {}{stop}{}", check.code, check.title, if open { " [open from an earlier walk]" } else { "" })
}

fn is_open(record: &Record<'_>, check: &NotReached) -> bool {
    record.standings.iter().any(|standing| standing.is_open() && standing.finding.check == check.check)
}

/// Where rulebooks differ on what was answered.
pub(super) fn rulebooks_differ(record: &Record<'_>) -> Section {
    let mut section = Section::new("Where rulebooks differ");
    let mut points: Vec<String> = Vec::new();
    for standing in &record.standings {
        let Some(check) = record.check(&standing.finding.check) else { continue };
        let point = check.words.rulebooks_differ.as_ref().map(|differ| format!("{}: {differ}", check.title));
        points.extend(point.filter(|point| !points.contains(point)));
    }
    section.list(points);
    section
}

/// What was not asked, a point for each reason.
pub(super) fn left_out(record: &Record<'_>, facts: &Facts) -> Section {
    let mut section = Section::new("Left out, and why");
    let mut reasons: Vec<(&str, Vec<&str>)> = Vec::new();
    for LeftOut { title, reason, .. } in &facts.left_out {
        match reasons.iter_mut().find(|(known, _)| known == reason) {
            Some((_, titles)) => titles.push(title),
            None => reasons.push((reason, vec![title])),
        }
    }
    let mut points: Vec<String> =
        reasons.into_iter().map(|(reason, titles)| format!("{reason}: {}.", titles.join("; "))).collect();
    points.extend(record.rules().dropped.iter().map(|dropped| {
        format!("{} ({}) was dropped by {}: {}", dropped.title, dropped.id, dropped.layer, dropped.reason)
    }));
    points.extend(record.rules().lessened.iter().map(|less| {
        format!(
            "{} ({}) asks or stops less by {}, {}: {}",
            less.title,
            less.id,
            less.layer,
            less.words(),
            less.reason
        )
    }));
    section.list(points);
    section
}

/// Cautions.
pub(super) fn cautions(facts: &Facts) -> Section {
    let mut section = Section::new("Cautions");
    section.list(facts.cautions.clone());
    section
}

/// Lines to sign on: those of the profile.
pub(super) fn signatures(record: &Record<'_>) -> Section {
    // Where no profile says who signs, there still is a line to sign on.
    signed_by(record, &record.signers().unwrap_or_else(|| vec!["signature"]))
}

/// Lines to sign on for those who are wanted, with those already signed, and any other signature.
pub(super) fn signed_by(record: &Record<'_>, wanted: &[&str]) -> Section {
    let mut section = Section::new("Signatures");
    let signed = record.newest().map_or(&[][..], |walk| &walk.signed);
    let words = |by: &str, at| format!("{by}, {}", moment(at));
    let mut lines: Vec<Signature> = Vec::new();
    for role in wanted {
        let found = signed.iter().filter(|(known, _, _)| known == role);
        let mut found = found
            .map(|(_, by, at)| Signature { role: (*role).to_owned(), signed: Some(words(by, *at)) })
            .peekable();
        if found.peek().is_none() {
            lines.push(Signature { role: (*role).to_owned(), signed: None });
        }
        lines.extend(found);
    }
    let others = signed.iter().filter(|(role, _, _)| !wanted.contains(role));
    lines.extend(
        others.map(|(role, by, at)| Signature { role: (*role).to_owned(), signed: Some(words(by, *at)) }),
    );
    if !lines.is_empty() {
        section.blocks.push(Block::Signatures(lines));
    }
    section
}
