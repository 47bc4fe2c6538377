//! What a person writes on a sheet: values with their units and limits, readings of the day; and what was open before.

use crate::model::entry::Outcome;
use crate::model::history::{History, Standing};
use crate::model::keys;
use crate::numbers::{reading_keys, reading_kind};
use crate::rules::{Check, CountRow, DateRow, MeasureRow, Typed};
use crate::units::{Kind, Units, default_unit};

use super::document::{Section, Table};
use super::limit;
use super::sheet::{LINE, SheetInput};

/// Stands for the id of a part where the sheet is for any car.
const SOME_ID: &str = "ID";

/// Lines to write the values of a check on, each with its unit and its limit.
pub(super) fn values(input: &SheetInput<'_>, check: &Check) -> Vec<String> {
    let several = check.typed_rows() > 1;
    let name = |id: &str, label: &str, plain: &str| named(if several { id } else { "" }, label, plain);
    let mut lines: Vec<String> = match &check.typed {
        Typed::Measure(rows) => {
            rows.iter().map(|row| measured(&name(&row.id, &row.label, "Value"), row, input.units)).collect()
        }
        Typed::Count(rows) => {
            rows.iter().map(|row| counted(input, &name(&row.id, &row.label, "Count"), row)).collect()
        }
        Typed::Date(rows) => {
            rows.iter().flat_map(|row| dated(input, &name(&row.id, &row.label, "Date"), row)).collect()
        }
        Typed::None => Vec::new(),
    };
    if check.closes_by_number() {
        let rows = check.compute.iter().filter(|row| row.judges());
        let worked: Vec<String> = rows.filter_map(|row| limit::compute_words(row, input.units)).collect();
        if !worked.is_empty() {
            lines.push(format!("Worked out from the car file. {}.", worked.join("; ")));
        }
    }
    lines
}

/// `bare-tube: Gap of the bare tube`: the id is what is keyed in where there are several.
fn named(id: &str, label: &str, plain: &str) -> String {
    match (id, label) {
        ("", "") => plain.to_owned(),
        ("", label) => label.to_owned(),
        (id, "") => id.to_owned(),
        (id, label) => format!("{id}: {label}"),
    }
}

fn bracketed(limit: Option<String>) -> String {
    limit.map(|limit| format!(" ({limit})")).unwrap_or_default()
}

fn measured(name: &str, row: &MeasureRow, units: Units) -> String {
    let unit = if row.unit == "1" { "" } else { row.shown_unit(units) };
    let limit = bracketed(limit::measure_range(row, units));
    let tool = row.instrument.as_deref().map(|tool| format!("{tool} or ")).unwrap_or_default();
    let line = format!("{name} {LINE}{LINE} {unit}");
    format!("{}{limit} with {tool}{LINE}", line.trim_end())
}

fn counted(input: &SheetInput<'_>, name: &str, row: &CountRow) -> String {
    let limit = bracketed(limit::count_range(input.car, row));
    format!("{name} {LINE}{limit}")
}

/// A line for the date, and one for each that the car file gives, to be confirmed.
fn dated(input: &SheetInput<'_>, name: &str, row: &DateRow) -> Vec<String> {
    let every = bracketed(row.every.map(|every| format!("every {every}")));
    let on_file = input.car.map_or_else(Vec::new, |car| keys::dates(car, &row.field));
    let on_file = on_file.iter().filter_map(|of| {
        Some(format!("The file says {} for {}. Same on the car: yes / no", of.date?, of.of))
    });
    std::iter::once(format!("{name} ____-__-__{every}")).chain(on_file).collect()
}

/// What of a check was open when it was last looked at.
pub(super) fn last_time(history: &History, check: &Check) -> Vec<String> {
    let open = history.open();
    open.iter().filter(|standing| standing.finding.check == check.id).map(told).collect()
}

fn told(standing: &Standing<'_>) -> String {
    let cause = standing.cause();
    let of = cause.of.as_deref().map(|of| format!("{of}, ")).unwrap_or_default();
    let result = match standing.finding.result {
        Outcome::Reject => "rejected",
        Outcome::Undecided => "undecided",
        Outcome::Repaired => "said to be repaired, look again",
        Outcome::NotYet => "to be fitted",
        Outcome::NotSeen => "could not be seen",
        other => other.word(),
    };
    let value = cause.value_words().map(|value| format!(", {value}")).unwrap_or_default();
    let note = cause.note.as_deref().map(|note| format!(", {note}")).unwrap_or_default();
    let by = standing.finding.by.as_deref().map(|by| format!(", {by}")).unwrap_or_default();
    let day = standing.kept.seen_at().date_naive();
    format!("Last time: {of}{result}{value}{note} ({day}{by}).")
}

/// Readings that the checks of the sheet work numbers from.
pub(super) fn reading_list(input: &SheetInput<'_>) -> Vec<(String, Kind)> {
    let mut asked: Vec<&str> = Vec::new();
    for key in input.checks().flat_map(|check| &check.compute).flat_map(|row| &row.asks) {
        if !asked.contains(&key.as_str()) {
            asked.push(key);
        }
    }
    match input.car {
        Some(car) => {
            let known = reading_keys(car);
            known.into_iter().filter(|(key, _)| asked.iter().any(|asked| is_one_of(key, asked))).collect()
        }
        None => asked.into_iter().filter_map(with_some_id).collect(),
    }
}

/// Whether a key with an id is one of those that a key without it means.
fn is_one_of(key: &str, every: &str) -> bool {
    let without = |left_out: usize| {
        let parts = key.split('.').enumerate().filter(|(at, _)| *at != left_out);
        parts.map(|(_, part)| part).eq(every.split('.'))
    };
    key == every || (0..key.split('.').count()).any(without)
}

/// A reading's key with a stand-in for the id it lacks; none where it is no reading.
fn with_some_id(key: &str) -> Option<(String, Kind)> {
    if let Some(kind) = reading_kind(key) {
        return Some((key.to_owned(), kind));
    }
    let parts: Vec<&str> = key.split('.').collect();
    (1..parts.len()).find_map(|at| {
        let (before, after) = parts.split_at_checked(at)?;
        let named = [before, &[SOME_ID], after].concat().join(".");
        reading_kind(&named).map(|kind| (named, kind))
    })
}

/// The unit that a reading is usually written in.
pub(super) fn unit(kind: Kind, units: Units) -> &'static str {
    match kind {
        Kind::Span => "date",
        Kind::Ratio => "%",
        kind => default_unit(kind, units),
    }
}

/// A row for each reading of the day.
pub(super) fn readings(input: &SheetInput<'_>) -> Section {
    let mut section = Section::new("Readings of the day");
    let list = reading_list(input);
    if list.is_empty() {
        return section;
    }
    if input.car.is_none() {
        section.say(format!("{SOME_ID} stands for the id of the bottle, circuit or part: write it in."));
    }
    let mut table = Table::new(["Reading", "Value", "Unit", "With", "At", "By"]);
    for (key, kind) in list {
        let short = || "_____".to_owned();
        table.push([key, LINE.to_owned(), unit(kind, input.units).to_owned(), short(), short(), short()]);
    }
    section.table(table);
    section
}
