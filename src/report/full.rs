//! The full record: everything answered, in the order of the lap, with its whole history.

use crate::model::entry::{Entry, Finding, Kept, Outcome};

use super::deficiency;
use super::document::{Block, Item, Pair, Section, Table};
use super::due;
use super::facts::{Facts, State};
use super::figures;
use super::item;
use super::limit;
use super::reading;
use super::record::{Record, moment};

/// Its sections.
pub(super) fn sections(record: &Record<'_>, facts: &Facts) -> Vec<Section> {
    let mut sections = vec![deficiency::nothing_checked(record), walks(record)];
    sections.extend(stations(record));
    sections.extend([
        deficiency::against_limit(record),
        deficiency::could_not_see(record),
        deficiency::not_yet(record),
        deficiency::not_reached(record, facts),
        deficiency::not_judged(record, facts),
        deficiency::beside_answers(record),
        readings(record, |_| true),
        remarks(record),
        due::whole(&facts.due, "What falls due"),
        figures::whole(record, &facts.numbers),
        deficiency::rulebooks_differ(record),
        deficiency::left_out(record, facts),
        withdrawn(record),
        deficiency::cautions(facts),
        deficiency::signatures(record),
    ]);
    sections
}

fn walks(record: &Record<'_>) -> Section {
    let mut section = Section::new("Walks");
    let mut table = Table::new(["Begun", "Profile", "Who", "Rules", "Ended"]);
    for walk in &record.walks {
        let stage = walk.started.stage.as_deref().map(|stage| format!(", stage {stage}")).unwrap_or_default();
        table.push([
            moment(walk.at),
            format!("{}{stage}", walk.started.profile),
            walk.started.by.clone().unwrap_or_default(),
            format!("{} {}", walk.started.rules.id, walk.started.rules.edition),
            walk.ended.map_or_else(|| "not ended".to_owned(), moment),
        ]);
    }
    section.table(table);
    section
}

/// A section for every station with an answer; answers to checks the rules no longer have come last.
fn stations(record: &Record<'_>) -> Vec<Section> {
    let findings = record.input.history.findings();
    let mut sections: Vec<(Option<&str>, Section)> = Vec::new();
    let mut number = 0;
    for standing in &record.standings {
        let station = record.check(&standing.finding.check).map(|check| check.station.as_str());
        if sections.last().is_none_or(|(known, _)| *known != station) {
            let title = station
                .and_then(|id| record.station(id))
                .unwrap_or("Checks that the rules in force no longer have");
            sections.push((station, Section::new(title)));
        }
        // An answer for the whole check that closed single items is told with those items.
        let told = standing.finding.of.is_none()
            && standing.before.is_some_and(|before| before.id == standing.kept.id);
        if let (false, Some((_, section))) = (told, sections.last_mut()) {
            number += 1;
            section.blocks.push(Block::Item(one(record, standing, number, &findings)));
        }
    }
    sections.into_iter().map(|(_, section)| section).collect()
}

fn one(
    record: &Record<'_>,
    standing: &crate::model::history::Standing<'_>,
    number: usize,
    findings: &[(&Kept, &Finding)],
) -> Item {
    let state = State::of_standing(standing);
    let opened = match standing.opened.map(|kept| &kept.entry) {
        Some(Entry::Finding(finding)) => finding.as_ref(),
        _ => standing.finding,
    };
    let of = standing.finding.of.clone().or_else(|| opened.of.clone());
    if matches!(state, State::Open | State::Repaired) {
        let mut item = item::whole(record, standing, number);
        item.lines.extend(history(record, findings, &item.check, of.as_deref()));
        return item;
    }
    let check = record.check(&standing.finding.check);
    let mut lines = vec![Pair::new("State", state.phrase())];
    lines.extend(of.iter().map(|of| Pair::new("Part", of)));
    lines.extend(
        check
            .map(|check| limit::words(record, check))
            .filter(|words| !words.is_empty())
            .map(|words| Pair::new("Limit", words)),
    );
    lines.push(Pair::new("Rule", item::rule(record, check, standing.finding)));
    lines.extend(history(record, findings, &standing.finding.check, of.as_deref()));
    let code = record.code(&standing.finding.check, of.as_deref());
    Item { of, code, ..item::titled(record, standing.finding, state, number, lines) }
}

/// Every answer to one item, the oldest first.
fn history(record: &Record<'_>, findings: &[(&Kept, &Finding)], check: &str, of: Option<&str>) -> Vec<Pair> {
    let answers = findings.iter().filter(|(_, finding)| {
        finding.check == check && (finding.of.as_deref() == of || finding.of.is_none())
    });
    answers.map(|(kept, finding)| Pair::new("Answer", answer(record, kept, finding))).collect()
}

fn answer(record: &Record<'_>, kept: &Kept, finding: &Finding) -> String {
    let mut parts = vec![item::when(kept, finding), result(finding)];
    parts.extend(limit::seen(record, finding));
    parts.push(item::who(record, finding));
    parts.extend(finding.note.clone());
    parts.push(item::weight(record.check(&finding.check), finding));
    parts.push(item::photos(finding));
    parts.retain(|part| !part.is_empty());
    parts.join("; ")
}

/// What the person said, and the program where it says otherwise.
fn result(finding: &Finding) -> String {
    let word = match finding.result {
        Outcome::Repaired => "said to be repaired".to_owned(),
        other => other.word().to_owned(),
    };
    match finding.verdict.filter(|verdict| *verdict != finding.result) {
        Some(verdict) => format!("{word} (the program says {})", verdict.word()),
        None => word,
    }
}

/// Readings of the day, those that are wanted.
pub(super) fn readings(record: &Record<'_>, wanted: impl Fn(&str) -> bool) -> Section {
    let mut section = Section::new("Readings");
    let mut table = Table::new(["Reading", "Value", "Instrument", "When", "Who"]);
    for (key, (kept, read)) in record.input.history.readings() {
        if !wanted(key) {
            continue;
        }
        table.push([
            reading::title(key),
            read.value.clone(),
            read.instrument.clone().unwrap_or_default(),
            item::time(kept),
            read.by.clone().unwrap_or_default(),
        ]);
    }
    section.table(table);
    section
}

/// Remarks on the car as a whole.
pub(super) fn remarks(record: &Record<'_>) -> Section {
    let mut section = Section::new("Remarks");
    let mut points: Vec<String> = Vec::new();
    for kept in record.input.history.standing_entries() {
        let Entry::Remark { record: None, about, text, by, .. } = &kept.entry else { continue };
        let about = about.as_deref().map(|about| format!("{about}: ")).unwrap_or_default();
        let by = by.as_deref().map(|by| format!("{by}, ")).unwrap_or_default();
        points.push(format!("{about}{text} ({by}{})", moment(kept.at)));
    }
    section.list(points);
    section
}

/// What was taken back: nothing is ever erased.
fn withdrawn(record: &Record<'_>) -> Section {
    let mut section = Section::new("Taken back");
    let history = record.input.history;
    let points = history.all().iter().filter_map(|kept| {
        let Entry::Withdrawn { record: id, note, by } = &kept.entry else { return None };
        let what = match history.get(id).map(|kept| &kept.entry) {
            Some(Entry::Finding(finding)) => format!("{}, {}", finding.title, finding.result.word()),
            Some(Entry::Reading(reading)) => format!("{} {}", reading.key, reading.value),
            Some(Entry::Remark { text, .. }) => format!("the remark \"{text}\""),
            Some(Entry::Observation(observed)) => {
                format!("the note on {}: {}", observed.title, item::noted(observed))
            }
            _ => format!("record {id}"),
        };
        let by = by.as_deref().unwrap_or("a person not named");
        let note = note.as_deref().map(|note| format!(": {note}")).unwrap_or_default();
        Some(format!("{what}; taken back by {by}, {}{note}", moment(kept.at)))
    });
    section.list(points.collect());
    section
}
