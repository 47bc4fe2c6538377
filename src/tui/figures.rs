//! Numbers as lines of a screen: value, band, margin, and everything behind them.

use crate::model::entry::Outcome;
use crate::numbers::{Answer, Number, part_of_car, quantity};
use crate::rules::{Check, TRACKS, Terms, gauge, judge};
use crate::units::{Kind, Units, show};
use crate::walk::Walk;

use super::sheet::NumberLine;

/// Every number of a walk, as it stands.
pub fn number_lines(walk: &Walk) -> Vec<NumberLine> {
    let asked = walk.asked(&walk.start.car);
    walk.numbers().iter().map(|answer| number_line(walk, &asked, answer)).collect()
}

/// How many stand where, in words.
pub fn counted(lines: &[NumberLine]) -> String {
    let with = |wanted: Outcome| {
        let known = lines.iter().filter_map(|line| line.margin.as_ref());
        known.filter(|(outcome, _)| *outcome == wanted).count()
    };
    let free = lines.iter().filter(|line| line.worked && line.margin.is_none()).count();
    let refused = lines.iter().filter(|line| !line.worked).count();
    format!(
        "{} outside, {} undecided, {} inside, {free} without limit, {refused} not calculated",
        with(Outcome::Reject),
        with(Outcome::Undecided),
        with(Outcome::Accept),
    )
}

/// Columns of a track on the page of numbers.
const TRACK: usize = TRACKS[1];

fn number_line(walk: &Walk, asked: &[&Check], answer: &Answer) -> NumberLine {
    let title = quantity(answer.quantity())
        .map_or_else(|| answer.quantity().to_owned(), |known| known.title.to_owned());
    let of = answer.of().unwrap_or("").to_owned();
    match answer {
        Answer::Refused(refused) => NumberLine {
            title,
            of,
            shown: refused.reason.clone(),
            group: (usize::MAX, "NOT CALCULATED"),
            behind: refused.needs.iter().map(|key| ("needs".to_owned(), key.clone())).collect(),
            ..NumberLine::default()
        },
        Answer::Number(number) => {
            let margin = margin(walk, asked, &walk.terms(), answer);
            let (place, part) = part_of_car(number.quantity);
            let group = match margin.as_ref().map(|(outcome, _)| *outcome) {
                Some(Outcome::Reject) => (0, "OUTSIDE"),
                Some(Outcome::Undecided) => (1, "UNDECIDED"),
                _ => (2 + place, part),
            };
            NumberLine {
                title,
                of,
                shown: with_band(number, walk.start.units),
                value: number.shown(walk.start.units),
                worked: true,
                track: track(walk, asked, number),
                margin,
                group,
                behind: behind(number, walk.start.units),
            }
        }
    }
}

/// The number against the first limit that holds it.
fn track(walk: &Walk, asked: &[&Check], number: &Number) -> Option<String> {
    let terms = walk.terms();
    let rows = asked.iter().flat_map(|check| &check.compute);
    let mut held =
        rows.filter(|row| row.judges() && row.is_about(terms.car, number.quantity, Some(&number.of)));
    let ends = held.next()?.gauge_ends(&terms, &number.of, walk.start.units);
    gauge(TRACK, number.si()?, number.range(), ends)
}

/// A value with its band, as people read it.
pub fn with_band(number: &Number, units: Units) -> String {
    let shown = number.shown(units);
    match (number.low, number.high) {
        (Some(low), Some(high)) => {
            format!("{shown} ({} to {})", number.shown_as.show(low, units), number.shown_as.show(high, units))
        }
        _ => shown,
    }
}

/// The severest verdict among the checks asked of a car that limit this number, with its words.
pub fn margin(
    walk: &Walk,
    asked: &[&Check],
    terms: &Terms<'_>,
    answer: &Answer,
) -> Option<(Outcome, String)> {
    let number = answer.number()?;
    let judged = judge(asked.iter().copied(), terms, answer, walk.start.units).into_iter().next()?.judged?;
    let says = judged.says;
    // The value stands beside it already.
    let rest = says
        .strip_prefix(&number.shown(walk.start.units))
        .map(|rest| rest.trim_start_matches([':', ',', ' ']));
    let rest = rest.filter(|rest| !rest.is_empty()).map(str::to_owned);
    Some((judged.outcome, rest.unwrap_or(says)))
}

fn behind(number: &Number, units: Units) -> Vec<(String, String)> {
    let mut lines: Vec<(String, String)> = Vec::new();
    for input in &number.inputs {
        // A half-width of a temperature is a difference, not a temperature.
        let spread = if input.kind == Kind::Temperature { Kind::TemperatureDifference } else { input.kind };
        let half =
            input.half_width.map_or_else(String::new, |half| format!(" +/- {}", show(half, spread, units)));
        let assumed = if input.assumed { ", assumed" } else { "" };
        lines.push((
            "input".to_owned(),
            format!("{} = {}{half}{assumed}", input.path, show(input.si, input.kind, units)),
        ));
    }
    lines.extend(number.assumed.iter().map(|words| ("assumed".to_owned(), words.clone())));
    lines.extend(number.notes.iter().map(|words| ("note".to_owned(), words.clone())));
    let share =
        |(path, share): &(String, f64)| ("driven by".to_owned(), format!("{path}: {:.0} %", share * 100.0));
    lines.extend(number.drivers.iter().map(share));
    lines.push(("source".to_owned(), number.source.clone()));
    lines
}
