//! `linewalk car show`, `check`, `missing`, `editions`, `diff`: what a car file holds, and what it lacks.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde_json::{Value, json};

use crate::diagnostic::{Diagnostic, SourceFile, Weight, any_error, escape_control, escape_control_json};
use crate::model::edit_known::known_of;
use crate::model::keys::{quantity_kind, with_id};
use crate::model::known::{Known, Origin};
use crate::model::plausible::plausible;
use crate::model::read_car;
use crate::model::values::{Written, differences, values};
use crate::numbers::{Answer, Situation, work_all};
use crate::shell::carfile::edition_of;
use crate::shell::load::rendered;
use crate::source::Overrides;

use super::car_args::CarFormat;
use super::output::put;
use super::run::{Context, DONE, OPEN, Outcome, UNUSABLE};

fn put_json(value: &Value) {
    put(&format!("{}\n", escape_control_json(&value.to_string())));
}

/// The file as an older program reads it.
pub(super) fn plain(context: &Context, car: &str) -> Outcome {
    let (_, file, _) = context.workspace(None, Vec::new()).file_of(&context.car(car)?)?;
    put(&crate::model::edit_known::plain(&file)?);
    Ok(DONE)
}

pub(super) fn show(
    context: &Context,
    car: &str,
    part: Option<&str>,
    origin: bool,
    format: CarFormat,
) -> Outcome {
    let workspace = context.workspace(None, Vec::new());
    let (id, file, _) = workspace.file_of(&context.car(car)?)?;
    let of_part = |written: &Written| {
        part.is_none_or(|part| {
            let key = written.key.as_str();
            key == part || key.starts_with(&format!("{part}.")) || key.contains(&format!(".{part}."))
        })
    };
    let known = known_of(&file);
    let said = |written: &Written| (part.is_some() || !written.key.starts_with("known.")) && of_part(written);
    let found: Vec<Written> = values(&file).into_iter().filter(said).collect();
    if let (Some(part), true) = (part, found.is_empty()) {
        return Err(format!("the file has no part or key {}", escape_control(part)));
    }
    if format == CarFormat::Json {
        let all: Vec<Value> = found.iter().map(|written| as_json(written, &known)).collect();
        put_json(&json!({
            "format": 1, "car": id, "file": file.name, "edition": edition_of(&file.text), "values": all,
        }));
        return Ok(DONE);
    }
    put(&format!("Car {id}, file {}, edition {}\n\n", escape_control(&file.name), edition_of(&file.text)));
    let width = found.iter().map(|written| written.key.len()).max().unwrap_or_default();
    let values = found.iter().map(|written| written.text.chars().count()).max().unwrap_or_default().min(40);
    for written in &found {
        let how = origin_of(written, &known).filter(|_| origin);
        let line = match how {
            Some(how) => format!("{:width$}  {:values$}  {}", written.key, written.text, how.text()),
            None => format!("{:width$}  {}", written.key, written.text),
        };
        put(&format!("{}\n", escape_control(&line)));
    }
    Ok(DONE)
}

/// How a value is known, where the file says it.
fn origin_of<'k>(written: &Written, known: &'k Known) -> Option<&'k Origin> {
    let of_word = quantity_kind(&written.key).is_none();
    if of_word { known.of_word(&written.key) } else { known.of(&written.key) }
}

fn as_json(written: &Written, known: &Known) -> Value {
    let typed = Origin::default();
    let how = origin_of(written, known).unwrap_or(&typed);
    let kind = quantity_kind(&written.key);
    let parsed = kind.and_then(|kind| crate::units::parse(&written.text, kind).ok());
    json!({
        "key": written.key,
        "text": written.text,
        "line": written.line,
        "si": parsed.as_ref().map(|parsed| parsed.si),
        "unit": kind.filter(|_| parsed.is_some()).map(crate::units::Kind::si_unit),
        "half_width": parsed.and_then(|parsed| parsed.half_width),
        "way": how.way.word(),
        "on": how.on.map(|on| on.to_string()),
        "by": how.by,
        "assumed": how.way.is_assumed(),
    })
}

pub(super) fn check(context: &Context, car: &str, format: CarFormat) -> Outcome {
    let workspace = context.workspace(None, Vec::new());
    let (id, file, _) = workspace.file_of(&context.car(car)?)?;
    let read = read_car(&file, &Overrides::new());
    let mut found = read.diagnostics;
    found.extend(plausible(&file, &read.car));
    crate::diagnostic::sort(&mut found);
    let status = if any_error(&found) {
        UNUSABLE
    } else if found.is_empty() {
        DONE
    } else {
        OPEN
    };
    match format {
        CarFormat::Json => {
            let all: Vec<Value> = found.iter().map(diagnostic).collect();
            put_json(&json!({"format": 1, "car": id, "file": file.name, "found": all}));
        }
        CarFormat::Text if found.is_empty() => {
            put(&format!("{}: no mistake and nothing doubtful\n", escape_control(&file.name)));
        }
        CarFormat::Text => put(&format!("{}\n", rendered(&found))),
    }
    Ok(status)
}

fn diagnostic(found: &Diagnostic) -> Value {
    let (line, column) = found.at.file.line_column(found.at.range.start);
    let weight = if found.weight == Weight::Error { "error" } else { "warning" };
    json!({"line": line, "column": column, "weight": weight, "message": found.message, "help": found.help})
}

/// What is missing, with the parts it is missing of and the numbers that lack it.
pub(super) fn missing(context: &Context, car: &str, format: CarFormat) -> Outcome {
    let workspace = context.workspace(None, Vec::new());
    let on_file = workspace.car(&context.car(car)?, &Overrides::new())?;
    let readings = crate::walk::readings_of(&on_file.history, &on_file.rules.rules);
    let situation = Situation::new(&on_file.found.read.car, readings, workspace.on());
    let mut lacking: BTreeMap<String, Vec<(&'static str, Option<String>)>> = BTreeMap::new();
    for answer in work_all(&situation) {
        let Answer::Refused(refused) = answer else { continue };
        for need in &refused.needs {
            let key = with_id(situation.car, need, refused.of.as_deref());
            lacking.entry(key).or_default().push((refused.quantity, refused.of.clone()));
        }
    }
    let mut all: Vec<_> = lacking.into_iter().collect();
    all.sort_by(|one, other| other.1.len().cmp(&one.1.len()).then_with(|| one.0.cmp(&other.0)));
    if format == CarFormat::Json {
        let rows: Vec<Value> = all
            .iter()
            .map(|(key, numbers)| {
                let of = |(quantity, of): &(&str, Option<String>)| json!({"quantity": quantity, "of": of});
                json!({"key": key, "numbers": numbers.iter().map(of).collect::<Vec<_>>()})
            })
            .collect();
        put_json(&json!({"format": 1, "car": on_file.id, "missing": rows}));
        return Ok(DONE);
    }
    if all.is_empty() {
        put("no number lacks anything\n");
    }
    let width = all.iter().map(|(key, _)| key.len()).max().unwrap_or_default();
    for (key, numbers) in &all {
        let mut parts: Vec<&str> = numbers.iter().filter_map(|(_, of)| of.as_deref()).collect();
        parts.sort_unstable();
        parts.dedup();
        let count = numbers.len();
        let word = if count == 1 { "number lacks it" } else { "numbers lack it" };
        let line = format!("{key:width$}  {count:>3} {word}  {}", parts.join(", "));
        put(&format!("{}\n", escape_control(line.trim_end())));
    }
    Ok(DONE)
}

pub(super) fn editions(context: &Context, car: &str, format: CarFormat) -> Outcome {
    let workspace = context.workspace(None, Vec::new());
    let car = context.car(car)?;
    let (id, file, _) = workspace.file_of(&car)?;
    let (all, now) = (workspace.editions(&car)?, edition_of(&file.text));
    if format == CarFormat::Json {
        let rows = all.iter().map(|edition| {
            let at = edition.at.map(|at| at.to_rfc3339());
            json!({"edition": edition.sha, "at": at, "by": edition.by, "in_use": edition.sha == now})
        });
        put_json(&json!({"format": 1, "car": id, "editions": rows.collect::<Vec<_>>()}));
        return Ok(DONE);
    }
    for edition in &all {
        let at = edition.at.map_or_else(|| "-".to_owned(), |at| at.format("%Y-%m-%d %H:%M").to_string());
        let by = edition.by.as_deref().unwrap_or_default();
        let used = if edition.sha == now { "in use" } else { "" };
        let line = format!("{}  {at:16}  {used:6}  {by}", edition.sha);
        put(&format!("{}\n", escape_control(line.trim_end())));
    }
    Ok(DONE)
}

pub(super) fn diff(
    context: &Context,
    car: &str,
    [before, after]: [Option<&str>; 2],
    format: CarFormat,
) -> Outcome {
    let workspace = context.workspace(None, Vec::new());
    let car = context.car(car)?;
    let (id, file, _) = workspace.file_of(&car)?;
    let named = |sha: &str| Ok::<_, String>(workspace.edition(&car, sha)?.file);
    let after: Arc<SourceFile> = after.map_or_else(|| Ok(Arc::clone(&file)), named)?;
    let before = match before {
        Some(sha) => named(sha)?,
        None => {
            let now = edition_of(&file.text);
            let all = workspace.editions(&car)?;
            let last = all.into_iter().rfind(|edition| edition.sha != now);
            last.ok_or_else(|| format!("car {id} has no edition but the one in use"))?.file
        }
    };
    let changed = differences(&before, &after);
    let (one, other) = (edition_of(&before.text), edition_of(&after.text));
    if format == CarFormat::Json {
        let rows: Vec<Value> = changed
            .iter()
            .map(|one| json!({"key": one.key, "before": one.before, "after": one.after}))
            .collect();
        put_json(&json!({"format": 1, "car": id, "before": one, "after": other, "changed": rows}));
    } else {
        put(&format!("edition {one} -> {other}\n"));
        changed.iter().for_each(|one| put(&format!("{}\n", escape_control(&one.words()))));
        if changed.is_empty() {
            put("no value differs\n");
        }
    }
    Ok(if one == other { DONE } else { OPEN })
}
