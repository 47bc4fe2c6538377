//! `linewalk car next`: what to measure next, by what it settles.

use serde_json::{Value, json};

use crate::diagnostic::escape_control_json;
use crate::numbers::Situation;
use crate::rules::asked;
use crate::source::Overrides;
use crate::walk::{Basis, Next, Settles, measure_next, next_as_text};

use super::car_args::CarFormat;
use super::output::put;
use super::report::profile;
use super::run::{Context, DONE, OPEN, Outcome};

pub(super) fn next(context: &Context, car: &str, most: usize, format: CarFormat) -> Outcome {
    let workspace = context.workspace(None, Vec::new());
    let on_file = workspace.car(&context.car(car)?, &Overrides::new())?;
    let readings = crate::walk::readings_of(&on_file.history, &on_file.rules.rules);
    let situation = Situation::new(&on_file.found.read.car, readings, workspace.on());
    let answers = on_file.rules.rules.numbers_of(&on_file.found.file, &on_file.overrides, &situation);
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
            let (undecided, settled, left) = (list.undecided, list.settled, list.left);
            let document = json!({
                "format": 1, "car": on_file.id, "undecided": undecided, "settled": settled, "left": left, "next": rows,
            });
            put(&format!("{}\n", escape_control_json(&document.to_string())));
        }
        CarFormat::Text => put(&next_as_text(&on_file.found.read.car.number, &list, context.units())),
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
