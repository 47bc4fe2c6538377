//! Numbers as lines of a screen: value, band, margin, and everything behind them.

use crate::model::entry::Outcome;
use crate::numbers::{Answer, Number, quantity};
use crate::rules::{Check, Terms, judge};
use crate::units::{Kind, Units, show};
use crate::walk::Walk;

use super::sheet::NumberLine;

/// Every number of a walk, as it stands.
pub fn number_lines(walk: &Walk) -> Vec<NumberLine> {
    let asked = walk.asked(&walk.start.car);
    walk.numbers().iter().map(|answer| number_line(walk, &asked, answer)).collect()
}

fn number_line(walk: &Walk, asked: &[&Check], answer: &Answer) -> NumberLine {
    let title = quantity(answer.quantity())
        .map_or_else(|| answer.quantity().to_owned(), |known| known.title.to_owned());
    let of = answer.of().unwrap_or("").to_owned();
    match answer {
        Answer::Refused(refused) => NumberLine {
            title,
            of,
            shown: refused.reason.clone(),
            worked: false,
            margin: None,
            behind: refused.needs.iter().map(|key| ("needs".to_owned(), key.clone())).collect(),
        },
        Answer::Number(number) => NumberLine {
            title,
            of,
            shown: with_band(number, walk.start.units),
            worked: true,
            margin: margin(walk, asked, &walk.terms(), answer),
            behind: behind(number, walk.start.units),
        },
    }
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
