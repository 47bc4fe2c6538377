//! `linewalk numbers`: everything that can be worked out, and what it lacks.

use crate::diagnostic::escape_control;
use crate::numbers::{
    Against, Answer, POINTS, Situation, explain, quantity, registry, split_sets, strays, to_csv, to_json,
    to_summary, to_text, with_bands, work,
};
use crate::rules::{Check, NOTICE, Terms, asked, judge};
use crate::shell::load::rendered;
use crate::units::Units;

use super::args::{NumbersArgs, NumbersFormat};
use super::output::{columns, put, say};
use super::report::profile;
use super::run::{Context, DONE, Outcome};

/// Columns of a line in a pipe or a file.
const LINE: usize = 110;

pub(super) fn run(context: &Context, args: &NumbersArgs) -> Outcome {
    let sets = split_sets(&args.set).map_err(|diagnostics| rendered(&diagnostics))?;
    let workspace = context.workspace(None, Vec::new());
    let on_file = workspace.car(&context.car(&args.car)?, &sets.overrides)?;
    let of_day = on_file.rules.rules.sentences_of_day(workspace.on());
    of_day.iter().for_each(|sentence| say(&escape_control(sentence)));
    on_file.trouble.iter().for_each(|trouble| say(&escape_control(trouble)));
    let car = &on_file.found.read.car;
    let stray = strays(car, &sets);
    if !stray.is_empty() {
        return Err(rendered(&stray));
    }
    let mut readings = crate::walk::readings_of(&on_file.history, &on_file.rules.rules);
    sets.apply(&mut readings);
    let situation = Situation::new(car, readings, workspace.on());
    let (rules, units) = (&on_file.rules.rules, context.units());
    let one = args.only.as_deref().or(args.explain.as_deref());
    let one = one.map(|name| quantity(name).ok_or_else(|| unknown(name))).transpose()?;
    // A limit that is worked out may rest on any number.
    let numbers = match one {
        Some(one) if !rules.works_limits_of(one.id) => {
            with_bands(&on_file.found.file, &on_file.overrides, &situation, work(one, &situation), POINTS)
        }
        _ => rules.numbers_of(&on_file.found.file, &on_file.overrides, &situation).to_vec(),
    };
    let terms = Terms { car, numbers: &numbers, readings: &situation.readings };
    let mut answers = numbers.clone();
    answers.retain(|answer| one.is_none_or(|one| answer.quantity() == one.id));
    let (checks, _) = asked(rules, car, profile(context, &on_file, None)?, None);
    if let Some(quantity) = args.explain.as_deref().and_then(quantity) {
        let said = |answer: &Answer| limits_of(&checks, &terms, answer, units);
        put(&explain(quantity, &answers, &on_file.overrides, units, said));
        return Ok(DONE);
    }
    let against = |answer: &Answer| against(&checks, &terms, answer, units);
    put(&match args.format {
        NumbersFormat::Json => to_json(&car.id, &answers, units, against),
        NumbersFormat::Csv => to_csv(&answers, units, against),
        NumbersFormat::Text => {
            let text = if args.behind || one.is_some() {
                to_text(&answers, units, against)
            } else {
                to_summary(&answers, units, columns().unwrap_or(LINE), against)
            };
            let head = format!("Car {}, file {}", escape_control(&car.number), escape_control(&car.file));
            format!("{head}\n{NOTICE}\n\n{text}")
        }
    });
    Ok(DONE)
}

/// What the limit that speaks for a number makes of it.
fn against(checks: &[&Check], terms: &Terms<'_>, answer: &Answer, units: Units) -> Option<Against> {
    let held = judge(checks.iter().copied(), terms, answer, units).into_iter().next()?;
    Some(Against {
        check: held.check.id.clone(),
        limit: held.row.limit(units, Some((terms, answer.of().unwrap_or_default())))?,
        verdict: held.outcome().word(),
        looks_wrong: held.looks_wrong(),
    })
}

/// What every limit that a number is held to makes of it, the severest first.
fn limits_of(checks: &[&Check], terms: &Terms<'_>, answer: &Answer, units: Units) -> Vec<String> {
    let held = judge(checks.iter().copied(), terms, answer, units);
    let said = held.iter().map(|held| match &held.judged {
        Some(judged) => format!("{}: {}, {}", held.check.id, judged.outcome.word(), judged.says),
        None => format!("{}: not judged", held.check.id),
    });
    said.collect()
}

fn unknown(name: &str) -> String {
    let near = crate::diagnostic::did_you_mean(name, registry().map(|quantity| quantity.id));
    let near = near.map_or_else(String::new, |near| format!(": did you mean {near}?"));
    format!("there is no quantity {}{near}", escape_control(name))
}
