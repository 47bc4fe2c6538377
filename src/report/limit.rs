//! What was seen against what is allowed, in words.

use crate::model::entry::{Finding, Outcome};
use crate::model::keys;
use crate::numbers::{Number, NumberValue};
use crate::rules::{
    Check, ComputeRow, CountEquals, CountRow, DateRow, Judged, Limit, MeasureRow, Typed, WordOrFlag,
    judge_compute, judge_count, judge_date, judge_measure,
};
use crate::source::parse_date;
use crate::units::parse_bare;

use super::record::Record;

/// The value that stands for a judgement by eye.
const BY_EYE: &str = "by eye";

/// What was seen, with where it stands against the limit; `None` where no value was kept.
pub(super) fn seen(record: &Record<'_>, finding: &Finding) -> Option<String> {
    let value = finding.value.as_deref()?;
    let with = finding.instrument.as_deref().map(|id| format!(" with a {}", instrument(record, id)));
    let with = with.unwrap_or_default();
    let says = match record.check(&finding.check) {
        Some(check) if value != BY_EYE => against(record, check, finding, value),
        _ => Vec::new(),
    };
    Some(match says.as_slice() {
        [] => format!("{value}{with}"),
        // "1 of 2" and a worked-out value name the value themselves.
        [one] if one.starts_with(value) => format!("{one}{with}"),
        says => format!("{value}{with}: {}", says.join("; ")),
    })
}

fn instrument(record: &Record<'_>, id: &str) -> String {
    record.rules().instrument(id).map_or_else(|| id.to_owned(), |tool| tool.title.to_lowercase())
}

/// Where each value of a finding stands, worked out again under the rules in force.
fn against(record: &Record<'_>, check: &Check, finding: &Finding, value: &str) -> Vec<String> {
    let values = rows(value);
    let several = check.typed_rows() > 1;
    let mut says: Vec<String> = Vec::new();
    let mut say = |id: &str, label: &str, judged: Option<Judged>| {
        let Some(judged) = judged else { return };
        let name = if label.is_empty() { id } else { label };
        says.push(if several { format!("{name}: {}", judged.says) } else { judged.says });
    };
    let of_row = |id: &str| {
        values.iter().find(|(row, _)| *row == id || (!several && row.is_empty())).map(|(_, text)| *text)
    };
    match &check.typed {
        Typed::Measure(rows) => rows.iter().for_each(|row| {
            say(&row.id, &row.label, of_row(&row.id).and_then(|text| measured(record, row, text, finding)))
        }),
        Typed::Count(rows) => rows.iter().for_each(|row| {
            say(&row.id, &row.label, of_row(&row.id).and_then(|text| counted(record, row, text)))
        }),
        Typed::Date(rows) => rows.iter().for_each(|row| {
            say(&row.id, &row.label, of_row(&row.id).and_then(|text| dated(record, row, text)))
        }),
        Typed::None => {}
    }
    if says.is_empty() || finding.by.as_deref() == Some("computed") {
        says.extend(computed(record, check, finding));
    }
    says
}

/// `id = value; id = value` by id, or the only value under an empty one. A computed value behind a typed one is left.
fn rows(value: &str) -> Vec<(&str, &str)> {
    value
        .split("; ")
        .filter_map(|part| match part.split_once(" = ") {
            Some((id, text)) => Some((id.trim(), text.trim())),
            None if part.contains(": ") => None,
            None => Some(("", part.trim())),
        })
        .collect()
}

fn measured(record: &Record<'_>, row: &MeasureRow, text: &str, finding: &Finding) -> Option<Judged> {
    let (parsed, _) = parse_bare(text, row.kind, &row.unit).ok()?;
    let has_limit = row.min.is_some() || row.max.is_some() || row.equals.is_some();
    let tool = finding.instrument.as_deref();
    has_limit
        .then(|| judge_measure(record.rules(), row, parsed.si, parsed.half_width, tool, record.input.units))
}

fn counted(record: &Record<'_>, row: &CountRow, text: &str) -> Option<Judged> {
    let count = text.parse().ok()?;
    let equals = match &row.equals {
        Some(CountEquals::Number(number)) => Some(*number),
        Some(CountEquals::Key(key)) => keys::count(record.input.car, key),
        None => None,
    };
    Some(judge_count(count, row.min, row.max, equals))
}

fn dated(record: &Record<'_>, row: &DateRow, text: &str) -> Option<Judged> {
    let date = parse_date(text)?;
    let spans = keys::dates(record.input.car, &row.field);
    let every = spans.iter().filter_map(|of| of.every).min_by_key(|span| span.after(date));
    Some(judge_date(row, date, every, record.input.on))
}

/// A worked-out value against the row that decided: the one of its unit with its verdict.
fn computed(record: &Record<'_>, check: &Check, finding: &Finding) -> Option<String> {
    let (si, unit) = (finding.si?, finding.unit.as_deref()?);
    check.compute.iter().filter(|row| row.judges() && row.quantity.shown.unit() == unit).find_map(|row| {
        let number = Number {
            low: finding.low,
            high: finding.high,
            ..Number::given(row.quantity, NumberValue::Number(si))
        };
        let judged = judge_compute(row, &number, record.input.units);
        let verdict = finding.verdict.unwrap_or(finding.result);
        (judged.outcome == verdict || verdict == Outcome::Refused).then_some(judged.says)
    })
}

/// The limits of a check in words; empty where it has none.
pub(super) fn words(record: &Record<'_>, check: &Check) -> String {
    let mut limits: Vec<String> = match &check.typed {
        Typed::Measure(rows) => rows.iter().filter_map(measure_words).collect(),
        Typed::Count(rows) => rows.iter().filter_map(|row| count_words(record, row)).collect(),
        Typed::Date(rows) => rows.iter().filter_map(date_words).collect(),
        Typed::None => Vec::new(),
    };
    limits.extend(check.compute.iter().filter_map(|row| compute_words(record, row)));
    limits.join("; ")
}

fn labelled(label: &str, words: &str) -> String {
    if label.is_empty() { words.to_owned() } else { format!("{label}: {words}") }
}

fn range(min: Option<String>, max: Option<String>, equals: Option<String>) -> Option<String> {
    match (min, max, equals) {
        (_, _, Some(equals)) => Some(format!("exactly {equals}")),
        (Some(min), Some(max), None) => Some(format!("{min} to {max}")),
        (Some(min), None, None) => Some(format!("at least {min}")),
        (None, Some(max), None) => Some(format!("at most {max}")),
        (None, None, None) => None,
    }
}

fn measure_words(row: &MeasureRow) -> Option<String> {
    let text = |limit: &Option<Limit>| limit.as_ref().map(|limit| limit.text.clone());
    let words = range(text(&row.min), text(&row.max), text(&row.equals))?;
    let aim = range(text(&row.aim_min), text(&row.aim_max), None).map(|aim| format!(" (aim for {aim})"));
    Some(labelled(&row.label, &format!("{words}{}", aim.unwrap_or_default())))
}

fn count_words(record: &Record<'_>, row: &CountRow) -> Option<String> {
    let equals = match &row.equals {
        Some(CountEquals::Number(number)) => Some(number.to_string()),
        Some(CountEquals::Key(key)) => Some(
            keys::count(record.input.car, key)
                .map_or_else(|| format!("as many as {key}"), |count| count.to_string()),
        ),
        None => None,
    };
    let text = |count: Option<u32>| count.map(|count| count.to_string());
    Some(labelled(&row.label, &range(text(row.min), text(row.max), equals)?))
}

fn date_words(row: &DateRow) -> Option<String> {
    Some(labelled(&row.label, &format!("every {}", row.every?)))
}

fn compute_words(record: &Record<'_>, row: &ComputeRow) -> Option<String> {
    let show = |limit: &Limit| row.quantity.shown.show(limit.si, record.input.units);
    let equals = row.equals.as_ref().map(|equals| match equals {
        WordOrFlag::Flag(true) => "yes".to_owned(),
        WordOrFlag::Flag(false) => "no".to_owned(),
        WordOrFlag::Word(word) => word.clone(),
        WordOrFlag::Number(limit) => show(limit),
    });
    Some(labelled(&row.label, &range(row.min.as_ref().map(show), row.max.as_ref().map(show), equals)?))
}
