//! `linewalk car`: which file and record a car has.

use crate::diagnostic::escape_control;
use crate::model::edit::Edit;
use crate::shell::identity;
use crate::shell::load;
use crate::shell::paths::{path_of, text_of};
use crate::source::Overrides;

use super::car_args::CarCommand;
use super::car_change::{added, change, known_by, looked_at, restore, sets};
use super::car_new::{layouts, new};
use super::car_next::next;
use super::car_show::{check, diff, editions, missing, plain, show};
use super::output::put;
use super::run::{Context, DONE, Outcome};

pub(super) fn run(context: &Context, what: &CarCommand) -> Outcome {
    match what {
        CarCommand::Layouts => layouts(),
        CarCommand::New { number, layout, ask, with, id, dry } => {
            new(context, (number, id.as_deref()), layout, (ask, with), *dry)
        }
        CarCommand::Adopt { file, joins, two_cars } => adopt(context, &text_of(file), joins, *two_cars),
        CarCommand::Rename { car, part: Some(part), new: Some(new), dry, .. } => {
            let edit = Edit::Rename { id: part.clone(), to: new.clone() };
            change(context, car, &[edit], *dry)
        }
        CarCommand::Rename { car, number, name, .. } => {
            rename(context, car, number.as_deref(), name.as_deref())
        }
        CarCommand::Set { car, values, with, from, dry } => {
            let mut edits = sets(values, from.as_deref())?;
            if let Some(with) = with {
                known_by(context, car, with, &mut edits)?;
            }
            change(context, car, &edits, *dry)
        }
        CarCommand::Seen { car, parts, dry } => change(context, car, &looked_at(context, car, parts)?, *dry),
        CarCommand::Unset { car, keys, dry } => {
            let edits: Vec<Edit> = keys.iter().map(|key| Edit::Unset { key: key.clone() }).collect();
            change(context, car, &edits, *dry)
        }
        CarCommand::Add { car, part, id, from, to, values, dry } => {
            let edits = added(part, id, [from.as_deref(), to.as_deref()], values)?;
            change(context, car, &edits, *dry)
        }
        CarCommand::Takeout { car, part, dry } => {
            change(context, car, &[Edit::TakeOut { id: part.clone() }], *dry)
        }
        CarCommand::Restore { car, edition, dry } => restore(context, car, edition, *dry),
        CarCommand::Check { car, format } => check(context, car, *format),
        CarCommand::Show { car, plain: true, .. } => plain(context, car),
        CarCommand::Show { car, part, origin, format, .. } => {
            show(context, car, part.as_deref(), *origin, *format)
        }
        CarCommand::Next { car, most, format } => next(context, car, *most, *format),
        CarCommand::Missing { car, format } => missing(context, car, *format),
        CarCommand::Editions { car, format } => editions(context, car, *format),
        CarCommand::Diff { car, before, after, format } => {
            diff(context, car, [before.as_deref(), after.as_deref()], *format)
        }
        CarCommand::PutAway { car, reason } => put_away(context, car, reason.as_deref()),
        CarCommand::BringBack { car } => bring_back(context, car),
    }
}

fn adopt(context: &Context, file: &str, joins: &[String], two_cars: bool) -> Outcome {
    let found = load::find_car(&context.paths, file, &Overrides::new())?;
    let car = &found.read.car;
    let others = identity::of_the_same_number(&context.paths, &car.id, &car.number)?;
    if two_cars {
        for other in &others {
            identity::keep_apart(&context.paths, other, &car.id)?;
        }
    }
    let joins: Vec<String> = match others.as_slice() {
        _ if !joins.is_empty() || two_cars => joins.to_vec(),
        [] => Vec::new(),
        [one] => vec![one.clone()],
        several => {
            let told: Vec<String> = several.iter().map(|id| identity::in_words(&context.paths, id)).collect();
            return Err(escape_control(&format!(
                "several cars here have the number {}: {}. Say which it is with --joins ID",
                car.number,
                told.join("; ")
            )));
        }
    };
    let adopted = context.workspace(None, Vec::new()).adopt(file, &joins)?;
    told(&adopted.done);
    if adopted.done.is_empty() {
        put(&escape_control(&format!("car {}: this file is in use already\n", adopted.id)));
    }
    Ok(DONE)
}

fn told(done: &[String]) {
    done.iter().for_each(|done| put(&format!("{}\n", escape_control(done))));
}

/// The id under which a car is kept here, for what is done to its folder.
fn kept_id(context: &Context, car: &str) -> Result<String, String> {
    let car = context.car(car)?;
    if !path_of(&car).is_file() {
        return Ok(car);
    }
    let found = load::find_car(&context.paths, &car, &Overrides::new())?;
    let id = identity::goes_on_under(&context.paths, &found.read.car.id);
    if context.paths.car(&id).is_dir() { Ok(id) } else { Err(format!("nothing is kept of car {id} here")) }
}

fn rename(context: &Context, car: &str, number: Option<&str>, name: Option<&str>) -> Outcome {
    let id = kept_id(context, car)?;
    told(&context.workspace(None, Vec::new()).rename(&id, number, name)?);
    Ok(DONE)
}

fn put_away(context: &Context, car: &str, reason: Option<&str>) -> Outcome {
    let id = kept_id(context, car)?;
    let by = context.common.by.as_ref().or(context.config.by.as_ref());
    let mut why = vec![crate::shell::clock::now().format("%Y-%m-%d %H:%M").to_string()];
    why.extend(by.map(|by| format!("by {by}")));
    why.extend(reason.map(str::to_owned));
    identity::put_car_away(&context.paths, &id, &escape_control(&why.join(", ")))?;
    put(&format!(
        "car {id} is put away: the list leaves it out. `linewalk car bring-back {id}` brings it back\n"
    ));
    Ok(DONE)
}

fn bring_back(context: &Context, car: &str) -> Outcome {
    let id = kept_id(context, car)?;
    let was = identity::put_away(&context.paths, &id);
    let words = match (identity::bring_back(&context.paths, &id)?, was) {
        (true, Some(why)) => {
            format!("car {id} is on the list again; it was put away {}\n", escape_control(&why))
        }
        _ => format!("car {id} is not put away\n"),
    };
    put(&words);
    Ok(DONE)
}
