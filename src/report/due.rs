//! What falls due, and when: dates of the car file and of the day's readings, by the rule's span or the car's.

use chrono::{Days, NaiveDate};
use serde::Serialize;

use crate::model::entry::Outcome;
use crate::model::keys::{self, DATE_KEYS};
use crate::rules::{DateRow, Typed};
use crate::source::parse_date;
use crate::units::Span;

use super::deficiency;
use super::document::{Section, Table};
use super::facts::Facts;
use super::record::Record;

/// How far ahead the deficiency report looks.
const AHEAD: Days = Days::new(90);

/// One thing that falls due.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Due {
    /// What falls due, in words.
    pub title: String,
    /// What it is of.
    pub of: Option<String>,
    /// Key of the date it counts from.
    pub field: String,
    /// That date.
    pub from: Option<NaiveDate>,
    /// When it falls due; none where the date or the span is not known.
    pub due: Option<NaiveDate>,
    /// Whole days from the report's day; below nought where it ran out.
    pub days: Option<i64>,
    /// The span, and whose it is.
    pub span: Option<String>,
    /// The check that asks for it.
    pub check: Option<String>,
    /// What stands in the way of a date, in words.
    pub unknown: Option<String>,
}

impl Due {
    /// Title and what it is of.
    pub fn name(&self) -> String {
        match &self.of {
            Some(of) => format!("{}, {of}", self.title),
            None => self.title.clone(),
        }
    }

    /// "in 12 days", "ran out 3 days ago".
    pub fn when(&self) -> String {
        match self.days {
            Some(0) => "due on the day of this report".to_owned(),
            Some(1) => "in 1 day".to_owned(),
            Some(-1) => "RAN OUT 1 day ago".to_owned(),
            Some(days @ 2..) => format!("in {days} days"),
            Some(days) => format!("RAN OUT {} days ago", days.unsigned_abs()),
            None => self.unknown.clone().unwrap_or_default(),
        }
    }
}

/// Everything that falls due, the soonest first; what is not known comes last.
pub(super) fn list(record: &Record<'_>) -> Vec<Due> {
    let mut all: Vec<Due> = Vec::new();
    for check in &record.asked {
        if let Typed::Date(rows) = &check.typed {
            let title =
                |row: &DateRow| if row.label.is_empty() { check.title.clone() } else { row.label.clone() };
            rows.iter().for_each(|row| by_rule(record, row, &title(row), &check.id, rows.len(), &mut all));
        }
    }
    for key in DATE_KEYS {
        for of in keys::dates(record.input.car, key) {
            let known = all.iter().any(|due| due.field == *key && due.of.as_deref() == Some(of.of));
            if let (false, Some(from), Some(every)) = (known, of.date, of.every) {
                let due = reckon(record, from, None, Some(every));
                all.push(Due {
                    title: field_words(key),
                    of: Some(of.of.to_owned()),
                    field: (*key).to_owned(),
                    ..due
                });
            }
        }
    }
    all.sort_by_key(|due| (due.due.is_none(), due.due, due.title.clone(), due.of.clone()));
    all.dedup_by(|a, b| a.field == b.field && a.of == b.of && a.due == b.due && a.from == b.from);
    all
}

/// The dates of one row of a rule.
fn by_rule(record: &Record<'_>, row: &DateRow, title: &str, check: &str, rows: usize, all: &mut Vec<Due>) {
    let named = |of: Option<&str>, due: Due| Due {
        title: title.to_owned(),
        of: of.map(str::to_owned),
        // A date of the rule writer's own has no key; its row tells it from others.
        field: if row.field.is_empty() { format!("{check}.{}", row.id) } else { row.field.clone() },
        check: Some(check.to_owned()),
        ..due
    };
    let dates = keys::dates(record.input.car, &row.field);
    let typed = typed(record, check, row, rows);
    for of in &dates {
        // What was read on the car beats what its file says.
        let read = typed.iter().find(|(item, _)| item.map_or(dates.len() == 1, |item| item == of.of));
        let due = match read.map(|(_, date)| *date).or(of.date) {
            Some(from) => reckon(record, from, row.every, of.every),
            None => unknown("the date is not given"),
        };
        all.push(named(Some(of.of), due));
    }
    let loose = typed.iter().filter(|(item, _)| match item {
        Some(item) => dates.iter().all(|of| of.of != *item),
        None => dates.len() != 1,
    });
    loose.for_each(|(item, date)| all.push(named(*item, reckon(record, *date, row.every, None))));
    let readings = record.input.history.readings();
    let reading = readings.get(row.field.as_str()).and_then(|(_, reading)| parse_date(&reading.value));
    match reading {
        Some(from) => all.push(named(None, reckon(record, from, row.every, None))),
        None if dates.is_empty() && typed.is_empty() => {
            all.push(named(None, unknown("the date is not given")))
        }
        None => {}
    }
}

/// Dates that a person typed for a row, by item.
fn typed<'a>(
    record: &Record<'a>,
    check: &str,
    row: &DateRow,
    rows: usize,
) -> Vec<(Option<&'a str>, NaiveDate)> {
    let answers = record.standings.iter().filter(|standing| {
        standing.finding.check == check
            && matches!(standing.finding.result, Outcome::Accept | Outcome::Reject)
    });
    answers
        .filter_map(|standing| {
            let typed = standing.finding.row(&row.id, rows == 1)?;
            Some((standing.finding.of.as_deref(), parse_date(&typed.text)?))
        })
        .collect()
}

fn unknown(why: &str) -> Due {
    Due {
        title: String::new(),
        of: None,
        field: String::new(),
        from: None,
        due: None,
        days: None,
        span: None,
        check: None,
        unknown: Some(why.to_owned()),
    }
}

/// The shorter of the rule's and the car's span, and which that is.
fn reckon(record: &Record<'_>, from: NaiveDate, rule: Option<Span>, car: Option<Span>) -> Due {
    if from > record.input.on {
        return Due { from: Some(from), ..unknown("the date is after the day of this report: check it") };
    }
    let spans = [(rule, "the rule's"), (car, "the car file's")];
    let due = spans.into_iter().filter_map(|(span, whose)| Some((span?.after(from)?, span?, whose)));
    match due.min_by_key(|(day, _, _)| *day) {
        Some((day, span, whose)) => Due {
            from: Some(from),
            due: Some(day),
            days: Some((day - record.input.on).num_days()),
            span: Some(format!("{span}, {whose} span")),
            unknown: None,
            ..unknown("")
        },
        None => Due { from: Some(from), ..unknown("neither the rule nor the car file says how often") },
    }
}

fn field_words(key: &str) -> String {
    match key {
        "suppression.bottle.serviced" => "Service of the bottle".to_owned(),
        "suppression.bottle.tested" => "Pressure test of the bottle".to_owned(),
        "hand_held.serviced" => "Service of the hand-held extinguisher".to_owned(),
        other => other.to_owned(),
    }
}

fn table<'d>(dues: impl Iterator<Item = &'d Due>) -> Table {
    let mut table = Table::new(["Due", "What", "When", "Counted from"]);
    for due in dues {
        let day = due.due.map_or_else(|| "not known".to_owned(), |day| day.to_string());
        let from = due.from.map(|from| from.to_string());
        let counted = [from, due.span.clone()].into_iter().flatten().collect::<Vec<_>>().join(", ");
        table.push([day, due.name(), due.when(), counted]);
    }
    table
}

/// What falls due soon, for the deficiency report.
pub(super) fn soon(record: &Record<'_>, dues: &[Due]) -> Section {
    let edge = record.input.on.checked_add_days(AHEAD).unwrap_or(record.input.on);
    let mut section = Section::new(format!("Falls due before {edge}"));
    section.table(table(dues.iter().filter(|due| due.due.is_some_and(|day| day < edge))));
    section.list(undated(dues));
    section
}

/// What has no date, one point for each reason.
fn undated(dues: &[Due]) -> Vec<String> {
    dues.iter()
        .filter(|due| due.due.is_none())
        .map(|due| format!("{}: {}.", due.name(), due.when()))
        .collect()
}

/// Everything with its date, for what must be looked at again.
pub(super) fn whole(dues: &[Due], title: &str) -> Section {
    let mut section = Section::new(title);
    section.table(table(dues.iter().filter(|due| due.due.is_some())));
    section.list(undated(dues));
    section
}

/// The report of what falls due.
pub(super) fn sections(record: &Record<'_>, facts: &Facts) -> Vec<Section> {
    let mut dated = whole(&facts.due, "What falls due, the soonest first");
    if dated.blocks.is_empty() {
        dated.say("Nothing in the car file, the record or the rules gives a date that falls due.");
    }
    let mut rules = Section::new("When the rules go stale");
    let mut table = Table::new(["Rules", "Edition", "Stale after"]);
    for layer in &record.rules().layers {
        if let Some(day) = layer.stale_after() {
            table.push([layer.title.clone(), layer.edition.clone(), day.to_string()]);
        }
    }
    rules.table(table);
    vec![dated, rules, deficiency::not_judged(record, facts), deficiency::beside_answers(record)]
}
