//! What was seen against what is allowed, in words.

use crate::model::Car;
use crate::model::entry::{Finding, Outcome};
use crate::model::keys;
use crate::numbers::{Answer, Number, NumberValue};
use crate::rules::{
    Check, ComputeRow, CountEquals, CountRow, DateRow, Judged, Limit, MeasureRow, Typed, WordOrFlag,
    judge_count, judge_date, judge_measure, judge_worked,
};
use crate::source::parse_date;
use crate::units::{Units, parse_bare};

use super::record::Record;

/// What was seen, with where it stands against the limit; `None` where no value was kept.
pub(super) fn seen(record: &Record<'_>, finding: &Finding) -> Option<String> {
    let words = finding.value_words()?;
    let with = finding.instrument.as_deref().map(|id| format!(" with a {}", instrument(record, id)));
    let with = with.unwrap_or_default();
    // What was kept without a limit stays so, whatever limit is known by now.
    let known = record.check(&finding.check).filter(|_| !finding.by_eye && !finding.limit_unknown);
    let says = known.and_then(|check| against(record, check, finding, &with));
    Some(says.unwrap_or_else(|| format!("{words}{with}")))
}

fn instrument(record: &Record<'_>, id: &str) -> String {
    record.rules().instrument(id).map_or_else(|| id.to_owned(), |tool| tool.title.to_lowercase())
}

/// Each value of a finding with where it stands, worked out again under the rules in force; none where nothing can be
/// said, or not of every value.
fn against(record: &Record<'_>, check: &Check, finding: &Finding, with: &str) -> Option<String> {
    if finding.rows.is_empty() || is_the_number(record, check, finding) {
        return computed(record, check, finding);
    }
    let several = check.typed_rows() > 1;
    let mut says: Vec<String> = Vec::new();
    let mut judged_any = false;
    for (id, label, judge) in judges(record, check, finding) {
        let Some(row) = finding.row(id, !several) else { continue };
        let text = row.text.as_str();
        let judged = judge(text);
        judged_any |= judged.is_some();
        let stands = judged.map(|judged| judged.says);
        let name = if label.is_empty() { id } else { label };
        says.push(match (several, stands) {
            (true, Some(stands)) if stands.starts_with(text) => format!("{name}: {stands}"),
            // "1 of 2" names the value itself.
            (false, Some(stands)) if stands.starts_with(text) => format!("{stands}{with}"),
            (false, Some(stands)) => format!("{text}{with}: {stands}"),
            (true, Some(stands)) => format!("{name} {text} ({stands})"),
            (true, None) => format!("{name} {text}"),
            (false, None) => text.to_owned(),
        });
    }
    if judged_any && says.len() == finding.rows.len() {
        let with = if several { with } else { "" };
        return Some(format!("{}{with}", says.join("; ")));
    }
    computed(record, check, finding)
}

/// What would decide a value that its instrument cannot: a finer one, for each row that stands undecided.
pub(super) fn to_decide(record: &Record<'_>, finding: &Finding) -> Option<String> {
    if finding.result != Outcome::Undecided {
        return None;
    }
    let check = record.check(&finding.check)?;
    let mut remedies: Vec<String> = Vec::new();
    for (id, _, judge) in judges(record, check, finding) {
        let text = finding.row(id, check.typed_rows() == 1).map(|row| row.text.as_str());
        let judged = text.and_then(judge).filter(|judged| judged.outcome == Outcome::Undecided);
        remedies.extend(judged.and_then(|judged| judged.remedy).filter(|remedy| !remedies.contains(remedy)));
    }
    (!remedies.is_empty()).then(|| remedies.join("; "))
}

/// What a text makes against one row.
type Judge<'r> = Box<dyn Fn(&str) -> Option<Judged> + 'r>;

/// Every typed row of a check: id, label, and what a text makes against it.
fn judges<'r>(
    record: &'r Record<'_>,
    check: &'r Check,
    finding: &'r Finding,
) -> Vec<(&'r str, &'r str, Judge<'r>)> {
    match &check.typed {
        Typed::Measure(rows) => rows
            .iter()
            .map(|row| {
                let judge: Judge<'r> = Box::new(move |text: &str| measured(record, row, text, finding));
                (row.id.as_str(), row.label.as_str(), judge)
            })
            .collect(),
        Typed::Count(rows) => rows
            .iter()
            .map(|row| {
                let judge: Judge<'r> = Box::new(move |text: &str| counted(record, row, text));
                (row.id.as_str(), row.label.as_str(), judge)
            })
            .collect(),
        Typed::Date(rows) => rows
            .iter()
            .map(|row| {
                let judge: Judge<'r> = Box::new(move |text: &str| dated(record, row, text));
                (row.id.as_str(), row.label.as_str(), judge)
            })
            .collect(),
        Typed::None => Vec::new(),
    }
}

fn measured(record: &Record<'_>, row: &MeasureRow, text: &str, finding: &Finding) -> Option<Judged> {
    let (parsed, _) = parse_bare(text, row.kind, &row.unit).ok()?;
    let (tool, input) = (finding.instrument.as_deref(), record.input);
    let terms = input.terms();
    let judge = |row: &MeasureRow| {
        judge_measure(record.rules(), row, parsed.si, parsed.half_width, tool, input.units)
    };
    row.judges().then(|| judge_worked(row, (&terms, finding.of.as_deref()), judge))
}

fn counted(record: &Record<'_>, row: &CountRow, text: &str) -> Option<Judged> {
    let count = text.parse().ok()?;
    let equals = match &row.equals {
        Some(CountEquals::Number(number)) => Some(*number),
        Some(CountEquals::Key(key)) => keys::count(record.input.car, key),
        None => None,
    };
    let unknown = row.equals.is_some() && equals.is_none();
    let has_limit = !unknown && (row.min.is_some() || row.max.is_some() || equals.is_some());
    has_limit.then(|| judge_count(count, row.min, row.max, equals))
}

fn dated(record: &Record<'_>, row: &DateRow, text: &str) -> Option<Judged> {
    let date = parse_date(text)?;
    let spans = keys::dates(record.input.car, &row.field);
    let every = spans.iter().filter_map(|of| of.every).min_by_key(|span| span.after(date));
    Some(judge_date(row, date, every, record.input.on))
}

/// Whether the one text of a record of format 1 is the worked-out number, and nothing measured: that format kept both
/// alike, but a typed value is what its text says to the last digit, and a number is shown rounded.
fn is_the_number(record: &Record<'_>, check: &Check, finding: &Finding) -> bool {
    let Some(value) = finding.typed_or_number() else { return false };
    let shown = |row: &ComputeRow| Some(row.quantity.shown.show(finding.si?, record.input.units));
    let says = |row: &MeasureRow| parse_bare(value, row.kind, &row.unit).ok().map(|(parsed, _)| parsed.si);
    let as_typed = match &check.typed {
        Typed::Measure(rows) => rows.iter().any(|row| says(row).is_some() && says(row) == finding.si),
        _ => false,
    };
    (finding.of.is_some() || !as_typed)
        && check.compute.iter().any(|row| row.judges() && shown(row).as_deref() == Some(value))
}

/// A worked-out value against the row that decided: the one of its unit with its verdict, or the one that wants a word.
fn computed(record: &Record<'_>, check: &Check, finding: &Finding) -> Option<String> {
    let (label, says) = stands(record, check, finding)?;
    Some(format!("{label}, {says}"))
}

/// As [`seen`], without what the value is called: "0.843: below the minimum, 1".
pub(super) fn briefly(record: &Record<'_>, finding: &Finding) -> Option<String> {
    let check = record.check(&finding.check);
    let stands = check.filter(|_| finding.rows.is_empty()).and_then(|check| stands(record, check, finding));
    stands.map(|(_, says)| says).or_else(|| seen(record, finding))
}

/// What a worked-out number is called, and where it stands.
fn stands<'c>(record: &Record<'_>, check: &'c Check, finding: &Finding) -> Option<(&'c str, String)> {
    let verdict = finding.verdict.unwrap_or(finding.result);
    let value = finding.value.as_deref()?;
    check.compute.iter().filter(|row| row.judges()).find_map(|row| {
        let value = match (&row.equals, finding.si) {
            (Some(WordOrFlag::Flag(_)), None) => NumberValue::Flag(value == "yes"),
            (Some(WordOrFlag::Word(_)), None) => NumberValue::Word(value.to_owned()),
            (_, si) => NumberValue::Number(
                si.filter(|_| finding.unit.as_deref() == Some(row.quantity.shown.unit()))?,
            ),
        };
        let given = Number::given(row.quantity, value);
        let of = finding.of.clone().unwrap_or_default();
        let number = Number { low: finding.low, high: finding.high, of, ..given };
        let judged =
            row.judge(&record.input.terms(), &Answer::Number(Box::new(number)), record.input.units)?;
        (judged.outcome == verdict || verdict == Outcome::Refused)
            .then_some((row.label.as_str(), judged.says))
    })
}

/// The limits of a check in words; empty where it has none.
pub(super) fn words(record: &Record<'_>, check: &Check) -> String {
    let mut limits: Vec<String> = match &check.typed {
        Typed::Measure(rows) => rows
            .iter()
            .filter_map(|row| Some(labelled(&row.label, &measure_range(row, record.input.units)?)))
            .collect(),
        Typed::Count(rows) => {
            let range = |row| count_range(Some(record.input.car), row);
            rows.iter().filter_map(|row| Some(labelled(&row.label, &range(row)?))).collect()
        }
        Typed::Date(rows) => rows.iter().filter_map(date_words).collect(),
        Typed::None => Vec::new(),
    };
    limits.extend(check.compute.iter().filter_map(|row| compute_words(row, record.input.units)));
    limits.join("; ")
}

fn labelled(label: &str, words: &str) -> String {
    if label.is_empty() { words.to_owned() } else { format!("{label}: {words}") }
}

fn range(min: Option<String>, max: Option<String>, equals: Option<String>) -> Option<String> {
    match (min, max, equals) {
        (Some(min), Some(max), None) if min == max => Some(format!("exactly {min}")),
        (_, _, Some(equals)) => Some(format!("exactly {equals}")),
        (Some(min), Some(max), None) => Some(format!("{min} to {max}")),
        (Some(min), None, None) => Some(format!("at least {min}")),
        (None, Some(max), None) => Some(format!("at most {max}")),
        (None, None, None) => None,
    }
}

/// The limits of a measured value: "at least 1/2 in (aim for at least 3/4 in)".
pub(super) fn measure_range(row: &MeasureRow, units: Units) -> Option<String> {
    let text = |limit: &Option<Limit>| limit.as_ref().map(|limit| limit.shown(row.kind, units));
    let worked = |key| row.worked.iter().find(|(known, _)| *known == key).map(|(_, limit)| limit.words());
    let or_worked = |limit, key| text(limit).or_else(|| worked(key));
    let words =
        range(or_worked(&row.min, "min"), or_worked(&row.max, "max"), or_worked(&row.equals, "equals"))?;
    let aim = range(text(&row.aim_min), text(&row.aim_max), None).map(|aim| format!(" (aim for {aim})"));
    Some(format!("{words}{}", aim.unwrap_or_default()))
}

/// "as many as the car's release heads".
fn as_many(key: &str) -> String {
    format!("as many as the car's {}", key.rsplit('.').next().unwrap_or(key).replace('_', " "))
}

/// The limits of a count, by the car's own count where the rule points at one.
pub(super) fn count_range(car: Option<&Car>, row: &CountRow) -> Option<String> {
    let equals = match &row.equals {
        Some(CountEquals::Number(number)) => Some(number.to_string()),
        Some(CountEquals::Key(key)) => Some(
            car.and_then(|car| keys::count(car, key)).map_or_else(|| as_many(key), |count| count.to_string()),
        ),
        None => None,
    };
    let text = |count: Option<u32>| count.map(|count| count.to_string());
    range(text(row.min), text(row.max), equals)
}

fn date_words(row: &DateRow) -> Option<String> {
    Some(labelled(&row.label, &format!("every {}", row.every?)))
}

/// The limits of a number, with what it tells.
pub(super) fn compute_words(row: &ComputeRow, units: Units) -> Option<String> {
    Some(labelled(&row.label, &row.limit(units, None)?))
}
