//! `linewalk car new`, `layouts`: a car begun from a starting layout.

use crate::diagnostic::{escape_control, near_or, shown};
use crate::walk::{Asked, LAYOUTS, layout, new_car};

use super::car_change::origin;
use super::output::put;
use super::run::{Context, DONE, Outcome};

pub(super) fn layouts() -> Outcome {
    let width = LAYOUTS.iter().map(|layout| layout.id.len()).max().unwrap_or_default();
    for layout in LAYOUTS {
        put(&format!("{:width$}  {}\n", layout.id, layout.words));
    }
    Ok(DONE)
}

pub(super) fn new(
    context: &Context,
    (number, id): (&str, Option<&str>),
    name: &str,
    (ask, with): (&[String], &str),
    dry: bool,
) -> Outcome {
    let found = layout(name).ok_or_else(|| {
        let ids = || LAYOUTS.iter().map(|layout| layout.id);
        let help = near_or(name, ids(), || format!("layouts are {}", ids().collect::<Vec<_>>().join(", ")));
        format!("there is no layout {}: {help}", escape_control(name))
    })?;
    let answers: Result<Vec<(String, String)>, String> = ask
        .iter()
        .map(|answer| {
            let pair =
                answer.split_once('=').map(|(key, value)| (key.trim().to_owned(), value.trim().to_owned()));
            pair.ok_or_else(|| {
                format!("{} answers nothing: write KEY=VALUE, as wheelbase=98 in", escape_control(answer))
            })
        })
        .collect();
    let asked = Asked { answers: answers?, how: origin(context, with)? };
    let mut workspace = context.workspace(None, Vec::new());
    let id = match id {
        Some(id) => id.to_owned(),
        None => workspace.id_for(number)?,
    };
    let text = new_car(found, &id, number, &asked)?;
    if dry {
        put(&text);
        return Ok(DONE);
    }
    let path = workspace.begin_car(&id, number, &text, name)?;
    put(&format!(
        "car {} is begun as {id}: {}\n`linewalk numbers {id}` shows its rough numbers, `linewalk car next {id}` what to measure \
         first\n",
        escape_control(number),
        shown(&path)
    ));
    Ok(DONE)
}
