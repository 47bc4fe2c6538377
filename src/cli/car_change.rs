//! `linewalk car set`, `unset`, `add`, `takeout`, `rename`, `restore`: changes of a car file.

use std::io::Read;
use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Place, SourceFile, escape_control, near_or, shown};
use crate::model::edit::Edit;
use crate::model::edit_known::seen;
use crate::model::keys::quantity_kind;
use crate::model::known::{Origin, Way};
use crate::model::plausible::plausible;
use crate::model::read_car;
use crate::shell::carfile::FileChange;
use crate::shell::load::rendered;
use crate::shell::paths::{path_of, read_text};
use crate::source::Overrides;

use super::output::{put, say};
use super::run::{Context, DONE, Outcome};

/// The largest text taken from standard input, as of a file.
const LARGEST: u64 = 1024 * 1024;

pub(super) fn change(context: &Context, car: &str, edits: &[Edit], dry: bool) -> Outcome {
    let car = context.car(car)?;
    let mut workspace = context.workspace(None, Vec::new());
    let nothing = |why: String| format!("{why}\nnothing was written");
    let change = if dry { workspace.would_change(&car, edits) } else { workspace.change(&car, edits) };
    told(&change.map_err(nothing)?, dry);
    Ok(DONE)
}

pub(super) fn restore(context: &Context, car: &str, edition: &str, dry: bool) -> Outcome {
    let car = context.car(car)?;
    let change = context.workspace(None, Vec::new()).restore(&car, edition, dry)?;
    told(&change, dry);
    Ok(DONE)
}

/// What changed, and what is doubtful about the file as it is from now on.
fn told(change: &FileChange, dry: bool) {
    if change.changed.is_empty() && change.before == change.after {
        put("nothing changes: the file says so already\n");
        return;
    }
    change.changed.iter().for_each(|one| put(&format!("{}\n", escape_control(&one.words()))));
    let (file, before, after) = (shown(&change.path), &change.before, &change.after);
    put(&if dry {
        format!("nothing was written: {file} stays edition {before}\n")
    } else {
        format!("{file} is edition {after} now; the one before, {before}, is kept\n")
    });
    let doubts = |file: &Arc<SourceFile>| {
        let read = read_car(file, &Overrides::new());
        let unlikely = plausible(file, &read.car);
        read.diagnostics.into_iter().chain(unlikely).collect::<Vec<Diagnostic>>()
    };
    // What was doubtful before is what `car check` is for.
    let (before, mut new) = (doubts(&change.was), doubts(&change.file));
    new.retain(|one| before.iter().all(|known| known.message != one.message));
    if !new.is_empty() {
        say(&rendered(&new));
    }
}

/// Values given as arguments and in a file, in that order.
pub(super) fn sets(values: &[String], from: Option<&str>) -> Result<Vec<Edit>, String> {
    let mut edits = Vec::new();
    for value in values {
        edits.push(set_of(&SourceFile::new("set", value.as_str()), 0, value)?);
    }
    let Some(from) = from else { return Ok(edits) };
    let text = if from == "-" {
        let mut text = String::new();
        let read = std::io::stdin().lock().take(LARGEST).read_to_string(&mut text);
        read.map_err(|error| format!("standard input cannot be read: {error}"))?;
        text
    } else {
        read_text(&path_of(from))?
    };
    let file = SourceFile::new(from, text.as_str());
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let said = line.trim();
        if !said.is_empty() && !said.starts_with('#') {
            edits.push(line_of(&file, start, line.trim_end())?);
        }
        start += line.len();
    }
    Ok(edits)
}

/// A line of a file of changes: a value, or a part that comes, goes or gets another id.
fn line_of(file: &Arc<SourceFile>, start: usize, line: &str) -> Result<Edit, String> {
    let words: Vec<&str> = line.split_whitespace().collect();
    let own = |word: &str| word.to_owned();
    match words.as_slice() {
        ["unset", key] => Ok(Edit::Unset { key: own(key) }),
        ["takeout", id] => Ok(Edit::TakeOut { id: own(id) }),
        ["rename", id, to] => Ok(Edit::Rename { id: own(id), to: own(to) }),
        ["add", part, id, values @ ..] if values.iter().all(|value| value.contains('=')) => {
            let values = values.iter().filter_map(|value| pair(value)).collect();
            Ok(Edit::Add { list: own(part), id: own(id), values })
        }
        _ => set_of(file, start, line),
    }
}

fn set_of(file: &Arc<SourceFile>, start: usize, line: &str) -> Result<Edit, String> {
    match pair(line) {
        Some((key, value)) => Ok(Edit::Set { key, value, how: None }),
        None => {
            let at = Place { file: Arc::clone(file), range: start..start + line.len() };
            let help = "write a key path and its value: brakes.hose.lf-hose.length=13 5/8 in";
            Err(Diagnostic::error(&at, "this sets nothing", help).render())
        }
    }
}

/// How a value is known, as a person says it now.
pub(super) fn origin(context: &Context, way: &str) -> Result<Origin, String> {
    let file = SourceFile::new("--with", way);
    let read = Origin::read(way).map_err(|(message, help)| {
        let at = Place { file, range: 0..way.len() };
        Diagnostic::error(&at, message, help).render()
    })?;
    let by = context.common.by.clone().or_else(|| context.config.by.clone()).filter(|_| read.by.is_none());
    let on = read.on.or(context.common.on).unwrap_or_else(crate::shell::clock::today);
    let dated = !matches!(read.way, Way::Guess | Way::Trade(_) | Way::Layout(_));
    Ok(Origin { on: Some(on).filter(|_| dated), by: read.by.clone().or(by).filter(|_| dated), ..read })
}

/// Says of every value how it is known; a tool's accuracy is written beside what has none.
pub(super) fn known_by(context: &Context, car: &str, with: &str, edits: &mut [Edit]) -> Result<(), String> {
    let origin = origin(context, with)?;
    let on_file = match &origin.way {
        Way::Measured(_) => {
            Some(context.workspace(None, Vec::new()).car(&context.car(car)?, &Overrides::new())?)
        }
        _ => None,
    };
    for edit in edits {
        let Edit::Set { key, value, how } = edit else { continue };
        if let (Some(on_file), Way::Measured(tool)) = (&on_file, &origin.way) {
            let tools = &on_file.rules.rules.instruments;
            let Some(tool) = tools.iter().find(|known| known.id == *tool) else {
                let ids: Vec<&str> = tools.iter().map(|tool| tool.id.as_str()).collect();
                let help = near_or(tool, ids.iter().copied(), || format!("tools are {}", ids.join(", ")));
                return Err(format!("the rules in force know no tool {tool}: {help}"));
            };
            if let Some(kind) = quantity_kind(key)
                && let Some(half) = tool.half_width(kind)
                && crate::units::parse(value, kind).is_ok_and(|parsed| parsed.half_width.is_none())
            {
                let own = crate::units::parse(&tool.accuracy, kind).is_ok();
                let width =
                    if own { tool.accuracy.clone() } else { crate::units::show(half, kind, context.units()) };
                value.push_str(&format!(" +/- {width}"));
            }
        }
        *how = Some(origin.clone());
    }
    Ok(())
}

/// What a look at some parts confirms.
pub(super) fn looked_at(context: &Context, car: &str, parts: &[String]) -> Result<Vec<Edit>, String> {
    let origin = origin(context, "seen")?;
    let (_, file, _) = context.workspace(None, Vec::new()).file_of(&context.car(car)?)?;
    let mut edits = Vec::new();
    for part in parts {
        let own = seen(&file, part, &origin);
        if own.is_empty() {
            return Err(format!("the file has no part {part} with a word, a count or a joint"));
        }
        edits.extend(own);
    }
    Ok(edits)
}

/// A key and its value; blanks around the equals sign and quotes around the whole value are no part of them.
fn pair(line: &str) -> Option<(String, String)> {
    let (key, value) = line.split_once('=')?;
    let (key, value) = (key.trim(), value.trim());
    let inner = value.strip_prefix('"').and_then(|value| value.strip_suffix('"'));
    let value = inner.filter(|inner| !inner.contains('"')).unwrap_or(value);
    (!key.is_empty()).then(|| (key.to_owned(), value.to_owned()))
}

/// A part to add, and for a nozzle the line that feeds it: without one its file could not be used.
pub(super) fn added(
    part: &str,
    id: &str,
    [from, to]: [Option<&str>; 2],
    values: &[String],
) -> Result<Vec<Edit>, String> {
    let feeds = part.rsplit('.').next() == Some("nozzle");
    let line = from.filter(|_| feeds).map(|from| Edit::Add {
        list: "suppression.line".to_owned(),
        id: format!("to-{id}"),
        values: vec![("from".to_owned(), from.to_owned()), ("to".to_owned(), id.to_owned())],
    });
    let from = from.filter(|_| !feeds);
    let ends = [("from", from), ("to", to)];
    let mut all: Vec<(String, String)> =
        ends.into_iter().filter_map(|(key, id)| Some((key.to_owned(), id?.to_owned()))).collect();
    for value in values {
        let pair = pair(value).ok_or_else(|| {
            let file = SourceFile::new("add", value.as_str());
            let at = Place { file, range: 0..value.len() };
            Diagnostic::error(&at, "this gives the part nothing", "write KEY=VALUE: length=16 in").render()
        })?;
        all.push(pair);
    }
    let part = Edit::Add { list: part.to_owned(), id: id.to_owned(), values: all };
    Ok(line.into_iter().chain([part]).collect())
}
