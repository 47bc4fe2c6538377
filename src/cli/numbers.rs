//! `linewalk numbers`: everything that can be worked out, and what it lacks.

use crate::mistake::plain;
use crate::model::Car;
use crate::numbers::{
    Answer, POINTS, Situation, explain, quantity, registry, split_sets, strays, to_csv, to_json, to_text,
    with_bands, work, work_all,
};
use crate::rules::{Check, ComputeRow, Ruleset, judge_compute};
use crate::shell::load::rendered;
use crate::units::Units;

use super::args::{NumbersArgs, NumbersFormat};
use super::output::{put, say};
use super::run::{Context, DONE, Outcome};

pub(super) fn run(context: &Context, args: &NumbersArgs) -> Outcome {
    let sets = split_sets(&args.set).map_err(|mistakes| rendered(&mistakes))?;
    let garage = context.garage(None, Vec::new());
    let on_file = garage.car(&context.car(&args.car)?, &sets.overrides)?;
    on_file.rules.rules.stale_sentences(garage.on()).for_each(|stale| say(&plain(&stale)));
    on_file.trouble.iter().for_each(|trouble| say(&plain(trouble)));
    let car = &on_file.found.read.car;
    let stray = strays(car, &sets);
    if !stray.is_empty() {
        return Err(rendered(&stray));
    }
    let mut readings = crate::walk::readings_of(&on_file.history, &on_file.rules.rules);
    sets.apply(&mut readings);
    let situation = Situation::new(car, readings, garage.on());
    let answers = match args.only.as_deref().or(args.explain.as_deref()) {
        None => work_all(&situation),
        Some(name) => work(quantity(name).ok_or_else(|| unknown(name))?, &situation),
    };
    let answers = with_bands(&on_file.found.file, &on_file.overrides, &situation, answers, POINTS);
    if let Some(quantity) = args.explain.as_deref().and_then(quantity) {
        let rules = &on_file.rules.rules;
        let against = |answer: &Answer| limits_of(rules, car, answer, context.units());
        put(&explain(quantity, &answers, &on_file.overrides, context.units(), against));
        return Ok(DONE);
    }
    put(&match args.format {
        NumbersFormat::Json => to_json(&car.id, &answers, context.units()),
        NumbersFormat::Csv => to_csv(&answers, context.units()),
        NumbersFormat::Text => {
            format!(
                "Car {}, file {}\n\n{}",
                plain(&car.number),
                plain(&car.file),
                to_text(&answers, context.units())
            )
        }
    });
    Ok(DONE)
}

/// What every limit of the rules in force makes of an answer.
fn limits_of(rules: &Ruleset, car: &Car, answer: &Answer, units: Units) -> Vec<String> {
    let of = |row: &&ComputeRow| {
        row.quantity.id == answer.quantity()
            && row.judges()
            && answer.of().is_none_or(|of| row.of.goes_over(car, of))
    };
    let rows =
        rules.checks.iter().flat_map(|check| check.compute.iter().filter(of).map(move |row| (check, row)));
    let said = |(check, row): (&Check, &ComputeRow)| match answer {
        Answer::Number(number) => {
            let judged = judge_compute(row, number, units);
            format!("{}: {}, {}", check.id, judged.outcome.word(), judged.says)
        }
        Answer::Refused(_) => format!("{}: not judged", check.id),
    };
    rows.map(said).collect()
}

fn unknown(name: &str) -> String {
    let near = crate::mistake::did_you_mean(name, registry().map(|quantity| quantity.id));
    let near = near.map_or_else(String::new, |near| format!(": did you mean {near}?"));
    format!("there is no quantity {}{near}", plain(name))
}
