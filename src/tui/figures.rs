//! Numbers as lines of a screen: value, band, margin, and everything behind them.

use crate::model::entry::Outcome;
use crate::numbers::{Answer, Number, quantity};
use crate::rules::{ComputeRow, Judged, judge_compute};
use crate::units::{Kind, Units, show};
use crate::walk::Walk;

use super::sheet::NumberLine;

/// Every number of a walk, as it stands.
pub fn number_lines(walk: &Walk) -> Vec<NumberLine> {
    walk.numbers().iter().map(|answer| number_line(walk, answer)).collect()
}

fn number_line(walk: &Walk, answer: &Answer) -> NumberLine {
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
            margin: margin(walk, number),
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

/// The worst verdict among the checks that limit this number, with its words.
pub fn margin(walk: &Walk, number: &Number) -> Option<(Outcome, String)> {
    let rows = walk.start.rules.checks.iter().flat_map(|check| check.compute.iter());
    let limits = rows.filter(|row: &&ComputeRow| row.judges() && row.quantity.id == number.quantity);
    let judged: Vec<Judged> = limits.map(|row| judge_compute(row, number, walk.start.units)).collect();
    let worst = crate::rules::worst(judged.iter().map(|judged| judged.outcome))?;
    let says = judged.into_iter().find(|judged| judged.outcome == worst).map(|judged| judged.says)?;
    // The value stands beside it already.
    let rest = says
        .strip_prefix(&number.shown(walk.start.units))
        .map(|rest| rest.trim_start_matches([':', ',', ' ']));
    let rest = rest.filter(|rest| !rest.is_empty()).map(str::to_owned);
    Some((worst, rest.unwrap_or(says)))
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
