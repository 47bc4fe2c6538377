//! Limits of a check before and after a layer: where some value is accepted that was not.

use std::cmp::Ordering;

use crate::units::{Kind, Span, parse_signed};

use super::check::Check;
use super::expression::Expression;
use super::lessens::{Less, less};
use super::limits::{
    ComputeRow, CountEquals, CountRow, DateRow, Limit, MeasureRow, OfFilter, Typed, WordOrFlag,
};
use super::ruleset::Ruleset;

/// A limit, however it is written.
enum Bound {
    None,
    Fixed(f64, String),
    Worked(String, Kind),
}

/// What the limits of a check ask less.
pub(super) fn limits(rules: &Ruleset, before: &Check, after: &Check) -> Vec<Less> {
    let mut found = match (&before.typed, &after.typed) {
        (Typed::None, _) => Vec::new(),
        (Typed::Measure(old), Typed::Measure(new)) => {
            rows("measure", (old, new), |row| (&row.id, &row.label), |old, new| measured(rules, old, new))
        }
        (Typed::Count(old), Typed::Count(new)) => {
            rows("count", (old, new), |row| (&row.id, &row.label), counted)
        }
        (Typed::Date(old), Typed::Date(new)) => rows("date", (old, new), |row| (&row.id, &row.label), dated),
        (Typed::Measure(_), _) => vec![less("measure", "nothing is measured any more")],
        (Typed::Count(_), _) => vec![less("count", "nothing is counted any more")],
        (Typed::Date(_), _) => vec![less("date", "no date is asked for any more")],
    };
    found.extend(rows("compute", (&before.compute, &after.compute), |row| (&row.id, &row.label), computed));
    found
}

/// Rows by their id; a single row of each side is one, whatever it is called.
fn rows<R>(
    key: &'static str,
    (old, new): (&[R], &[R]),
    name: impl Fn(&R) -> (&String, &String),
    compare: impl Fn(&R, &R) -> Vec<String>,
) -> Vec<Less> {
    let mut found = Vec::new();
    for row in old {
        let (id, label) = name(row);
        let same = new.iter().find(|other| name(other).0 == id);
        let same = same.or_else(|| new.first().filter(|_| old.len() == 1 && new.len() == 1));
        let label = if label.is_empty() { id } else { label };
        match same {
            Some(other) => {
                let called = if label.is_empty() { String::new() } else { format!("{label}: ") };
                let words = compare(row, other).into_iter();
                found.extend(words.map(|words| less(key, format!("{called}{words}"))));
            }
            None => found.push(less(key, format!("no longer asks for {label}"))),
        }
    }
    found
}

fn measured(rules: &Ruleset, old: &MeasureRow, new: &MeasureRow) -> Vec<String> {
    if old.kind != new.kind {
        return vec![format!("another thing is measured, in {}", new.unit)];
    }
    let bound = |row: &'_ MeasureRow, key, limit: &Option<Limit>| as_bound(limit, &row.worked, key, row.kind);
    let mut found: Vec<String> = [
        looser("least", &bound(old, "min", &old.min), &bound(new, "min", &new.min), false),
        looser("most", &bound(old, "max", &old.max), &bound(new, "max", &new.max), true),
        other(&bound(old, "equals", &old.equals), &bound(new, "equals", &new.equals)),
    ]
    .into_iter()
    .flatten()
    .collect();
    match (old.guarded, new.guarded) {
        (true, false) => found.push("the instrument's accuracy counts no longer".to_owned()),
        // What was rejected near a limit is undecided then.
        (false, true) => {
            found.push(
                "the instrument's accuracy counts, so that near a limit nothing is rejected any more"
                    .to_owned(),
            );
        }
        (true, true) => found.extend(other_instrument(rules, old, new)),
        (false, false) => {}
    }
    if old.of.as_ref().is_some_and(|of| new.of.as_ref().is_none_or(|new| narrower(of, new))) {
        found.push("asked of fewer parts".to_owned());
    }
    if old.reading.is_some() && old.reading != new.reading {
        found.push("another reading gives its value".to_owned());
    }
    found
}

/// Another instrument than was counted with: a finer one accepts more near a limit, and a coarser one rejects less.
fn other_instrument(rules: &Ruleset, old: &MeasureRow, new: &MeasureRow) -> Option<String> {
    let width = |row: &MeasureRow| {
        let tool = row.instrument.as_deref().and_then(|id| rules.instrument(id));
        tool.and_then(|tool| tool.half_width(row.kind)).unwrap_or(0.0)
    };
    let how = match width(new).total_cmp(&width(old)) {
        Ordering::Less => "finer",
        Ordering::Greater => "coarser",
        Ordering::Equal => return None,
    };
    let instrument = new.instrument.as_deref().unwrap_or("none");
    Some(format!("judged as with a {how} instrument: {instrument}"))
}

fn as_bound(limit: &Option<Limit>, worked: &[(&'static str, Expression)], key: &str, kind: Kind) -> Bound {
    let expression = worked.iter().find(|(known, _)| *known == key);
    match (limit, expression) {
        (_, Some((_, expression))) => Bound::Worked(expression.text.clone(), kind),
        (Some(limit), None) => Bound::Fixed(limit.si, limit.text.clone()),
        (None, None) => Bound::None,
    }
}

fn text_of(bound: &Bound) -> &str {
    match bound {
        Bound::None => "none",
        Bound::Fixed(_, text) => text,
        Bound::Worked(text, _) => text,
    }
}

/// A least or most value that lets more through; one that is worked out counts as looser unless it holds the old one.
fn looser(what: &str, old: &Bound, new: &Bound, most: bool) -> Option<String> {
    let is_looser = match (old, new) {
        (Bound::None, _) => false,
        (_, Bound::None) => true,
        (Bound::Fixed(old, _), Bound::Fixed(new, _)) => beyond(*new, *old, most),
        (Bound::Fixed(si, _), Bound::Worked(text, kind)) => !members(text, most).iter().any(|member| {
            parse_signed(member.trim_matches('\''), *kind).is_ok_and(|limit| !beyond(limit.si, *si, most))
        }),
        (Bound::Worked(old, _), Bound::Worked(new, _)) => {
            old != new && !members(new, most).contains(&old.as_str())
        }
        (Bound::Worked(..), Bound::Fixed(..)) => true,
    };
    is_looser.then(|| format!("{what} {} -> {}", text_of(old), text_of(new)))
}

fn beyond(new: f64, old: f64, most: bool) -> bool {
    if most { new > old } else { new < old }
}

/// The members of `max(…)` for a least value, of `min(…)` for a most: none of them can be undercut.
fn members(text: &str, most: bool) -> Vec<&str> {
    let pick = if most { "min(" } else { "max(" };
    let Some(inner) = text.trim().strip_prefix(pick).and_then(|rest| rest.strip_suffix(')')) else {
        return Vec::new();
    };
    let (mut found, mut depth, mut from) = (Vec::new(), 0_i32, 0);
    for (at, sign) in inner.char_indices() {
        match sign {
            '(' => depth += 1,
            ')' => depth -= 1,
            ',' if depth == 0 => {
                found.push(inner.get(from..at).unwrap_or_default().trim());
                from = at + 1;
            }
            _ => {}
        }
        if depth < 0 {
            // Not one max(…) around it all.
            return Vec::new();
        }
    }
    found.push(inner.get(from..).unwrap_or_default().trim());
    found
}

/// An only value that is another one now, or none.
fn other(old: &Bound, new: &Bound) -> Option<String> {
    let same = match (old, new) {
        (Bound::None, _) => true,
        (Bound::Fixed(old, _), Bound::Fixed(new, _)) => (old - new).abs() <= f64::EPSILON * old.abs(),
        (Bound::Worked(old, _), Bound::Worked(new, _)) => old == new,
        _ => false,
    };
    (!same).then(|| format!("only {} -> {}", text_of(old), text_of(new)))
}

fn counted(old: &CountRow, new: &CountRow) -> Vec<String> {
    let whole = |count: Option<u32>| match count {
        Some(count) => Bound::Fixed(f64::from(count), count.to_string()),
        None => Bound::None,
    };
    let mut found: Vec<String> = [
        looser("least", &whole(old.min), &whole(new.min), false),
        looser("most", &whole(old.max), &whole(new.max), true),
    ]
    .into_iter()
    .flatten()
    .collect();
    if old.equals.is_some() && old.equals != new.equals {
        let text = |equals: &Option<CountEquals>| match equals {
            Some(CountEquals::Number(number)) => number.to_string(),
            Some(CountEquals::Key(key)) => key.clone(),
            None => "none".to_owned(),
        };
        found.push(format!("only {} -> {}", text(&old.equals), text(&new.equals)));
    }
    found
}

fn dated(old: &DateRow, new: &DateRow) -> Vec<String> {
    let mut found = Vec::new();
    let longer = match (old.every, new.every) {
        (None, _) => false,
        (Some(_), None) => true,
        (Some(Span::Days(old)), Some(Span::Days(new)))
        | (Some(Span::Months(old)), Some(Span::Months(new))) => new > old,
        // The shortest months there are on the one side, the longest on the other.
        (Some(Span::Days(old)), Some(Span::Months(new))) => f64::from(new) * 31.0 > f64::from(old),
        (Some(Span::Months(old)), Some(Span::Days(new))) => f64::from(new) > f64::from(old) * 28.0,
    };
    if longer {
        found.push("due less often".to_owned());
    }
    if !old.field.is_empty() && old.field != new.field {
        found.push("another date is asked for".to_owned());
    }
    found
}

fn computed(old: &ComputeRow, new: &ComputeRow) -> Vec<String> {
    if old.quantity.id != new.quantity.id {
        return vec![format!("{} is judged no longer", old.quantity.title)];
    }
    let kind = old.quantity.shown.kind();
    let bound = |row: &ComputeRow, key, limit: &Option<Limit>| as_bound(limit, &row.worked, key, kind);
    let mut found: Vec<String> = [
        looser("least", &bound(old, "min", &old.min), &bound(new, "min", &new.min), false),
        looser("most", &bound(old, "max", &old.max), &bound(new, "max", &new.max), true),
    ]
    .into_iter()
    .flatten()
    .collect();
    let only = |row: &ComputeRow| match (&row.equals, row.worked.iter().find(|(key, _)| *key == "equals")) {
        (_, Some((_, expression))) => expression.text.clone(),
        (Some(WordOrFlag::Flag(flag)), None) => flag.to_string(),
        (Some(WordOrFlag::Word(word)), None) => word.clone(),
        (Some(WordOrFlag::Number(limit)), None) => limit.text.clone(),
        (None, None) => "none".to_owned(),
    };
    let (before, after) = (only(old), only(new));
    if before != "none" && before != after {
        found.push(format!("only {before} -> {after}"));
    }
    if narrower(&old.of, &new.of) {
        found.push("judged of fewer parts".to_owned());
    }
    if old.asks.iter().any(|key| !new.asks.contains(key)) {
        found.push("asks for fewer of the inputs it lacks".to_owned());
    }
    found
}

fn narrower(old: &OfFilter, new: &OfFilter) -> bool {
    old != new && *new != OfFilter::All
}
