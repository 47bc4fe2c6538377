//! `linewalk car next`: what to measure next, by what it settles.

use serde_json::{Value, json};

use crate::diagnostic::{escape_control, escape_control_json};
use crate::model::entry::Severity;
use crate::numbers::{Situation, quantity, worked};
use crate::rules::asked;
use crate::source::Overrides;
use crate::units::{Kind, Units, fraction_inches, show};
use crate::walk::{Basis, Next, NextList, Settles, measure_next};

use super::car_args::CarFormat;
use super::output::put;
use super::report::profile;
use super::run::{Context, DONE, OPEN, Outcome};

pub(super) fn next(context: &Context, car: &str, most: usize, format: CarFormat) -> Outcome {
    let workspace = context.workspace(None, Vec::new());
    let on_file = workspace.car(&context.car(car)?, &Overrides::new())?;
    let readings = crate::walk::readings_of(&on_file.history, &on_file.rules.rules);
    let situation = Situation::new(&on_file.found.read.car, readings, workspace.on());
    let answers = worked(&on_file.found.file, &on_file.overrides, &situation);
    let (checks, _) = asked(&on_file.rules.rules, situation.car, profile(context, &on_file, None)?, None);
    let list = measure_next(
        &Basis {
            file: &on_file.found.file,
            overrides: &on_file.overrides,
            situation: &situation,
            answers: &answers,
            checks: &checks,
            units: context.units(),
        },
        most,
    );
    match format {
        CarFormat::Json => {
            let rows: Vec<Value> = list.rows.iter().map(row_as_json).collect();
            let head =
                json!({"format": 1, "car": on_file.id, "undecided": list.undecided, "settled": list.settled});
            let mut document = head;
            document["left"] = list.left.into();
            document["next"] = rows.into();
            put(&format!("{}\n", escape_control_json(&document.to_string())));
        }
        CarFormat::Text => put(&as_text(&on_file.found.read.car.number, &list, context.units())),
    }
    Ok(if list.undecided == 0 { DONE } else { OPEN })
}

fn row_as_json(row: &Next) -> Value {
    let settles: Vec<Value> = row.settles.iter().map(settles_as_json).collect();
    json!({
        "key": row.keys.first(),
        "keys_alike": row.keys,
        "si": row.si,
        "unit": row.kind.map(crate::units::Kind::si_unit),
        "half_width": row.half_width,
        "enough": row.enough,
        "missing": row.missing,
        "tool": row.measured.tool,
        "place": row.measured.place,
        "settles": settles,
        "score": row.score,
    })
}

fn settles_as_json(settled: &Settles) -> Value {
    json!({
        "quantity": settled.quantity,
        "of": settled.of,
        "check": settled.check,
        "severity": settled.severity.word(),
        "limit": settled.limit,
        "low": settled.band.map(|[low, _]| low),
        "high": settled.band.map(|[_, high]| high),
        "looks_wrong": settled.looks_wrong,
    })
}

/// The list as people read and print it.
pub(super) fn as_text(number: &str, list: &NextList, units: Units) -> String {
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
    escape_control_lines(&out)
}

fn escape_control_lines(text: &str) -> String {
    text.lines().map(|line| format!("{}\n", escape_control(line))).collect()
}

fn row_as_text(at: usize, row: &Next, units: Units) -> String {
    let shown = |si: f64| row.kind.map(|kind| show(si, kind, units)).unwrap_or_default();
    let value = match (row.si, row.half_width) {
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
        Some(enough) => close(enough),
        None if row.half_width.is_some() => ", as close as can be".to_owned(),
        None => String::new(),
    };
    let stops = row.settles.iter().filter(|settled| settled.severity == Severity::Stop).count();
    let severity = row.settles.first().map_or("", |settled| settled.severity.word()).to_uppercase();
    let counted = if stops > 0 { stops } else { row.settles.len() };
    let mut out = format!("{at:>2} {}: {value}{enough}   {severity} {counted}\n", row.measured.what);
    out.push_str(&format!("   with: {}\n", row.measured.tool));
    if row.keys.len() > 1 {
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
