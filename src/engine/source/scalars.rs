//! One node to one value, or the mistake that stands there.

use chrono::{DateTime, FixedOffset, NaiveDate, NaiveTime};

use crate::diagnostic::{Diagnostic, Place, did_you_mean};
use crate::units::{self, Given, Kind, Parsed, Quantity, Rate, Span};

use super::reader::Word;
use super::tree::{Node, Value};

/// A date as written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Dated {
    /// The day; a month alone counts from its first.
    pub day: NaiveDate,
}

/// A node for a text typed on the command line: a bare number stays one.
pub(super) fn typed(text: &str, at: &Place) -> Node {
    let trimmed = text.trim();
    let value = match (trimmed.parse::<i64>(), trimmed.parse::<f64>(), trimmed) {
        (_, _, "true") => Value::Flag(true),
        (_, _, "false") => Value::Flag(false),
        (Ok(whole), _, _) => Value::Integer(whole),
        (_, Ok(number), _) if number.is_finite() => Value::Float(number),
        _ => Value::Text(text.to_owned()),
    };
    Node { value, at: at.clone() }
}

pub(super) fn wanted(node: &Node, wanted: &str) -> Diagnostic {
    Diagnostic::error(&node.at, format!("here stands {}", node.value.name()), format!("write {wanted}"))
}

/// A table or a value where a list of them belongs.
pub(super) fn no_array(node: &Node) -> Diagnostic {
    let raw = node.at.file.text.get(node.at.range.clone()).unwrap_or("").trim();
    let heading = raw.starts_with('[') && raw.ends_with(']');
    let help = match &node.value {
        Value::Table(_) if heading => format!("two brackets on each side: [{raw}]"),
        Value::Text(_) if raw.len() < 40 && !raw.contains('\n') => format!("a list in [ ]: [{raw}]"),
        _ => "a list in [ ]".to_owned(),
    };
    wanted(node, &help)
}

/// The members of a list, no more than `most` of them; with what is wrong where there are more, or no list at all.
pub(super) fn items(node: &Node, most: usize) -> Result<&[Node], (&[Node], Diagnostic)> {
    let Value::Array(items) = &node.value else { return Err((&[], no_array(node))) };
    match (items.get(..most), items.get(most)) {
        (Some(read), Some(next)) => {
            let message = format!("the list has more than {most} members, and no more are read");
            let help = "no car has so many: take out what is not on this one";
            Err((read, Diagnostic::error(&next.at, message, help)))
        }
        _ => Ok(items),
    }
}

/// The place of a stretch of a quoted text, or of the whole where escapes shift it.
pub fn text_place(node: &Node, text: &str, range: std::ops::Range<usize>) -> Place {
    let raw = node.at.file.text.get(node.at.range.clone()).unwrap_or("");
    if raw == text {
        return node.at.inside(range);
    }
    match raw.get(1..raw.len().saturating_sub(1)) {
        Some(inner) if inner == text => node.at.inside(range.start + 1..range.end + 1),
        _ => node.at.clone(),
    }
}

pub(super) fn quantity_of(node: &Node, kind: Kind) -> Result<Parsed, Diagnostic> {
    let bare = |number: f64| {
        if kind != Kind::Ratio {
            let help = format!("write it as a text with its unit: {}", kind.examples());
            return Err(Diagnostic::error(&node.at, format!("{} needs a unit", kind.name()), help));
        }
        if !number.is_finite() || number < 0.0 {
            return Err(Diagnostic::error(
                &node.at,
                "a share or factor must be a finite number, not negative",
                "write it like 0.46",
            ));
        }
        Ok(Parsed { si: number, half_width: None, span: None })
    };
    match &node.value {
        Value::Text(text) => units::parse(text, kind).map_err(|refusal| {
            Diagnostic::error(&text_place(node, text, refusal.at), refusal.message, refusal.help)
        }),
        #[expect(clippy::cast_precision_loss, reason = "a factor typed as a whole number is small")]
        Value::Integer(whole) => bare(*whole as f64),
        Value::Float(number) => bare(*number),
        _ => Err(wanted(node, kind.examples())),
    }
}

pub(super) fn quantity<Q: Quantity>(node: &Node) -> Result<Given<Q>, Diagnostic> {
    let parsed = quantity_of(node, Q::KIND)?;
    Ok(Given { value: Q::from_si(parsed.si), half_width: parsed.half_width })
}

pub(super) fn text(node: &Node) -> Result<&str, Diagnostic> {
    match &node.value {
        Value::Text(text) => Ok(text),
        _ => Err(wanted(node, "a text in quotes")),
    }
}

pub(super) fn word(node: &Node) -> Result<Word, Diagnostic> {
    text(node).map(|text| Word { text: text.to_owned(), at: node.at.clone() })
}

/// A text, or a bare number taken as its text.
///
/// # Errors
/// Anything else.
pub fn text_or_number(node: &Node) -> Result<String, Diagnostic> {
    match &node.value {
        Value::Text(text) => Ok(text.clone()),
        Value::Integer(whole) => Ok(whole.to_string()),
        Value::Float(number) if number.is_finite() => {
            Ok(node.at.file.text.get(node.at.range.clone()).map_or_else(|| number.to_string(), str::to_owned))
        }
        _ => Err(wanted(node, "a text in quotes")),
    }
}

pub(super) fn id(node: &Node) -> Result<Word, Diagnostic> {
    let id = match &node.value {
        Value::Integer(whole) if *whole >= 0 => Word { text: whole.to_string(), at: node.at.clone() },
        _ => word(node)?,
    };
    if linewalk_record::logbook::names::is_id(&id.text) {
        return Ok(id);
    }
    let help = "an id is letters, digits and hyphens, and starts with a letter or digit: rear-run";
    Err(Diagnostic::error(&node.at, format!("\"{}\" cannot be an id", id.text), help))
}

pub(super) fn choice<T: Copy>(node: &Node, words: &[(&str, T)]) -> Result<T, Diagnostic> {
    let text = word(node)?.text;
    if let Some((_, value)) = words.iter().find(|(word, _)| *word == text) {
        return Ok(*value);
    }
    let names: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
    let list = format!("one of: {}", names.join(", "));
    let help =
        did_you_mean(&text, names.iter().copied()).map_or(list, |near| format!("did you mean {near}?"));
    Err(Diagnostic::error(&node.at, format!("\"{text}\" is not known here"), help))
}

/// A whole number, not negative.
///
/// # Errors
/// Anything else.
pub fn count(node: &Node) -> Result<u32, Diagnostic> {
    match &node.value {
        Value::Integer(whole) => {
            u32::try_from(*whole).map_err(|_| wanted(node, "a whole number from 0 to 4294967295"))
        }
        _ => Err(wanted(node, "a whole number, without quotes")),
    }
}

pub(super) fn number(node: &Node) -> Result<f64, Diagnostic> {
    #[expect(clippy::cast_precision_loss, reason = "a number typed as a whole one is small")]
    let number = match node.value {
        Value::Integer(whole) => whole as f64,
        Value::Float(number) => number,
        _ => return Err(wanted(node, "a plain number, without quotes")),
    };
    if number.is_finite() { Ok(number) } else { Err(wanted(node, "a finite number")) }
}

pub(super) fn rpm(node: &Node) -> Result<Given<Rate>, Diagnostic> {
    if matches!(node.value, Value::Text(_)) {
        return quantity(node);
    }
    let speed = number(node)?;
    if speed < 0.0 {
        return Err(wanted(node, "revolutions a minute, not negative"));
    }
    Ok(Given::exact(Rate::from_si(speed / 60.0)))
}

pub(super) fn flag(node: &Node) -> Result<bool, Diagnostic> {
    match &node.value {
        Value::Flag(flag) => Ok(*flag),
        _ => Err(wanted(node, "true or false")),
    }
}

pub(super) fn date(node: &Node) -> Result<Dated, Diagnostic> {
    let text = match &node.value {
        Value::Date(date) if date.time.is_none() => date.to_string(),
        Value::Text(text) => text.trim().to_owned(),
        Value::Date(_) => {
            let help = "leave the time out: 2026-03-14";
            return Err(Diagnostic::error(&node.at, "a day is wanted here, without a time", help));
        }
        _ => return Err(wanted(node, "a date: 2026-03-14, or \"2026-03\"")),
    };
    parse_date(&text)
        .map(|day| Dated { day })
        .ok_or_else(|| Diagnostic::error(&node.at, format!("\"{text}\" is not a date"), date_help(&text)))
}

/// A date as typed: `2026-03-14`, or `2026-03` counted from the 1st; as on a stamp `03/2025`, `Mar 2025`; `3/14/2026`
/// where only one of the two can be the month; `14 Mar 2026`. Years 1900 to 2200.
pub fn parse_date(text: &str) -> Option<NaiveDate> {
    by_number(text).or_else(|| by_slashes(text)).or_else(|| by_month(text))
}

/// What to type for a text that is no date.
pub fn date_help(text: &str) -> String {
    let parts: Vec<&str> = text.trim().split('/').collect();
    match parts.as_slice() {
        [first, second, year]
            if whole(first, second, year).is_some() && whole(second, first, year).is_some() =>
        {
            format!(
                "this may be two days: write {year}-{first:0>2}-{second:0>2} or {year}-{second:0>2}-{first:0>2}"
            )
        }
        _ => "write year-month-day, 2026-03-14, or month and year, 03/2025".to_owned(),
    }
}

fn whole(year_month: &str, day: &str, year: &str) -> Option<NaiveDate> {
    let short = |text: &str| (1..=2).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
    if !short(year_month) || !short(day) || year.len() != 4 {
        return None;
    }
    by_number(&format!("{year}-{year_month:0>2}-{day:0>2}"))
}

fn by_slashes(text: &str) -> Option<NaiveDate> {
    let parts: Vec<&str> = text.trim().split('/').collect();
    match parts.as_slice() {
        [month, year] => whole(month, "1", year),
        // 03/04/2026 is March here and April there: only what can be one day is taken.
        [first, second, year] => match (whole(first, second, year), whole(second, first, year)) {
            (Some(one), Some(other)) => (one == other).then_some(one),
            (one, other) => one.or(other),
        },
        _ => None,
    }
}

fn by_month(text: &str) -> Option<NaiveDate> {
    use chrono::Datelike;
    let text = text.trim().replace(',', " ");
    if text.len() > 40 {
        return None;
    }
    let words: Vec<&str> = text.split_whitespace().collect();
    let dated = match words.as_slice() {
        [month, year] => format!("1 {month} {year}"),
        [first, second, year] if first.bytes().all(|b| b.is_ascii_digit()) => {
            format!("{first} {second} {year}")
        }
        [month, day, year] => format!("{day} {month} {year}"),
        _ => return None,
    };
    let day = NaiveDate::parse_from_str(&dated, "%d %B %Y").ok()?;
    (1900..=2200).contains(&day.year()).then_some(day)
}

fn by_number(text: &str) -> Option<NaiveDate> {
    use chrono::Datelike;
    let text = text.trim();
    let full = if text.len() == 7 { format!("{text}-01") } else { text.to_owned() };
    let shape = full.len() == 10 && full.bytes().all(|b| b.is_ascii_digit() || b == b'-');
    let day = NaiveDate::parse_from_str(&full, "%Y-%m-%d").ok()?;
    (shape && (1900..=2200).contains(&day.year())).then_some(day)
}

/// A time as a person writes it: whole, or of a day that is known otherwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TimeTyped {
    /// Date, time and offset.
    Whole(DateTime<FixedOffset>),
    /// The time of a day.
    OfDay(NaiveTime),
}

pub(super) fn time_typed(node: &Node) -> Result<TimeTyped, Diagnostic> {
    let text = match &node.value {
        Value::Date(date) => date.to_string(),
        Value::Text(text) => text.trim().to_owned(),
        _ => return Err(wanted(node, "a time: \"10:15\" under a date, or 2026-11-25T10:00:00-05:00")),
    };
    let whole = DateTime::parse_from_rfc3339(&text).ok().map(TimeTyped::Whole);
    let upper = text.to_uppercase();
    let mut forms = ["%H:%M", "%H:%M:%S", "%I:%M %p", "%I:%M%p"].into_iter();
    let of_day = || forms.find_map(|form| NaiveTime::parse_from_str(&upper, form).ok()).map(TimeTyped::OfDay);
    whole.or_else(of_day).ok_or_else(|| {
        let help = "write the time of the day, \"10:15\", with date = 2026-11-25 above the first answer, or both with the offset: \
                    2026-11-25T10:00:00-05:00";
        Diagnostic::error(&node.at, format!("\"{text}\" is not a time"), help)
    })
}

pub(super) fn span(node: &Node) -> Result<Span, Diagnostic> {
    let parsed = quantity_of(node, Kind::Span)?;
    parsed.span.ok_or_else(|| wanted(node, Kind::Span.examples()))
}

/// Three plain numbers.
///
/// # Errors
/// Anything but an array of three finite numbers.
pub fn point(node: &Node) -> Result<[f64; 3], Diagnostic> {
    let help = "three plain numbers: [60, 15, 14]";
    let Value::Array(items) = &node.value else { return Err(wanted(node, help)) };
    let mut point = [0.0; 3];
    if items.len() != 3 {
        return Err(Diagnostic::error(
            &node.at,
            format!("a point has three numbers, here are {}", items.len()),
            help,
        ));
    }
    for (slot, item) in point.iter_mut().zip(&**items) {
        *slot = coordinate(item)?;
    }
    Ok(point)
}

fn coordinate(item: &Node) -> Result<f64, Diagnostic> {
    #[expect(clippy::cast_precision_loss, reason = "a coordinate beyond 2^53 is refused below")]
    let number = match item.value {
        Value::Integer(whole) => whole as f64,
        Value::Float(number) => number,
        _ => return Err(wanted(item, "a plain number, in the file's axes unit")),
    };
    if number.is_finite() && number.abs() < 1e6 {
        return Ok(number);
    }
    Err(Diagnostic::error(&item.at, "a coordinate must be a finite number", "write it like 60 or 60.5"))
}
