//! What to measure next as a text, for the screen, the command line and paper.

use crate::diagnostic::escape_control_text;
use crate::model::entry::Severity;
use crate::numbers::{Situation, quantity};
use crate::units::{Kind, Units, fraction_inches, show};

use super::measure_next::{Basis, MOST, Next, NextList, measure_next};
use super::state::{Walk, overrides_of};

/// What to measure next on the car of a walk.
pub fn next_of(walk: &Walk) -> NextList {
    let (car, checks) = (&walk.start.car, walk.asked(&walk.start.car));
    let situation = Situation::new(car, walk.readings.clone(), walk.start.on);
    let basis = Basis {
        file: &walk.start.car_file,
        overrides: &overrides_of(&walk.history),
        situation: &situation,
        answers: walk.numbers(),
        checks: &checks,
        units: walk.start.units,
    };
    measure_next(&basis, MOST)
}

/// The list as people read and print it.
pub fn next_as_text(number: &str, list: &NextList, units: Units) -> String {
    let head = format!("CAR {number}: measure next");
    if list.rows.is_empty() {
        let why = match list.undecided {
            0 => "Nothing to measure: every number that a limit judges is decided.",
            _ => "No value of the car file would decide what is undecided: see `linewalk numbers`.",
        };
        return format!("{head}\n\n{why}\n");
    }
    let mut out = format!("{head} (bears on {} of {} undecided)\n", list.settled, list.undecided);
    let mut place = "";
    for (at, row) in list.rows.iter().enumerate() {
        if row.measured.place != place {
            place = &row.measured.place;
            out.push_str(&format!("\nAT THE {}\n", place.to_uppercase()));
        }
        out.push_str(&row_as_text(at + 1, row, units));
    }
    if list.left > 0 {
        out.push_str(&format!(
            "\nNot on the list: {} assumed values that change no verdict, or too little.\n",
            list.left
        ));
    }
    escape_control_text(&out).into_owned()
}

fn row_as_text(at: usize, row: &Next, units: Units) -> String {
    let shown = |si: f64| row.kind.map(|kind| show(si, kind, units)).unwrap_or_default();
    let places = row.keys.first().is_some_and(|key| key.ends_with(".within"));
    let value = match (row.si, row.half_width) {
        // Two ends, each within so much, make a reach the square root of two uncertain.
        (_, Some(half)) if places => format!("within {}", shown(half / std::f64::consts::SQRT_2)),
        _ if row.missing => "not in the file".to_owned(),
        (Some(si), Some(half)) if row.kind.is_some() => format!("{} +/- {}", shown(si), shown(half)),
        (Some(si), None) if row.kind.is_some() => format!("{}, and may be anything", shown(si)),
        _ => "assumed: look at it".to_owned(),
    };
    let close = |enough: f64| {
        let fraction =
            fraction_inches(enough).filter(|_| row.kind == Some(Kind::Length) && units == Units::Us);
        format!(", to {}", fraction.unwrap_or_else(|| shown(enough)))
    };
    let enough = match row.enough {
        Some(enough) if places => close(enough / std::f64::consts::SQRT_2),
        Some(enough) => close(enough),
        None if row.half_width.is_some() => ", as close as can be".to_owned(),
        None => String::new(),
    };
    let stops = row.settles.iter().filter(|settled| settled.severity == Severity::Stop).count();
    let severity = row.settles.first().map_or("", |settled| settled.severity.word()).to_uppercase();
    let counted = if stops > 0 { stops } else { row.settles.len() };
    let mut out = format!("{at:>2} {}: {value}{enough}   {severity} {counted}\n", row.measured.what);
    out.push_str(&format!("   with: {}\n", row.measured.tool));
    if row.half_width.is_none() && row.si.is_none() && row.keys.len() > 1 {
        let more = row.keys.len() - 1;
        out.push_str(&format!("   the same look confirms {more} more of it: linewalk car seen CAR PART\n"));
    } else if row.keys.len() > 1 {
        out.push_str(&format!(
            "   one assumption with {} more: measure one, the rest are likely alike\n",
            row.keys.len() - 1
        ));
    }
    if let Some(first) = row.settles.first() {
        let title = quantity(first.quantity).map_or(first.quantity, |quantity| quantity.title);
        let wrong = if first.looks_wrong { "looks wrong" } else { "decides" };
        out.push_str(&format!("   {wrong}: {title}, {} ({})\n", first.of, first.limit));
    }
    if let Some(key) = row.keys.first() {
        out.push_str(&format!("   key: {key}\n"));
    }
    out
}
