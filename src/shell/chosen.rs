//! Rules that a car chooses for itself: those its file names, or those that are for its class.

use std::path::PathBuf;

use chrono::NaiveDate;

use crate::diagnostic::{escape_control, near_or, shown};
use crate::model::Car;
use crate::model::history::History;
use crate::model::vocabulary::folded;
use crate::rules::{Ruleset, RulesetCache, classes_of};
use crate::source::is_id;

use super::load::{FoundRules, rules_by_id, rules_of_last_walk, ruleset_by_id};
use super::paths::Paths;

/// Checks named where two sets of rules differ.
const NAMED: usize = 6;

/// Rulesets a car chooses, by their ids, and what they are in a sentence.
struct Chosen {
    ids: Vec<String>,
    whose: String,
    notes: Vec<String>,
}

/// The rules for a car where none are named: those of its file, else of its class, else of its newest walk, else base.
///
/// # Errors
/// Where one that it names is not there, or every mistake in them.
pub(super) fn rules_of(
    paths: &Paths,
    cache: &RulesetCache,
    on: NaiveDate,
    history: &History,
    car: &Car,
) -> Result<FoundRules, String> {
    let chosen = match named(paths, car)? {
        Some(chosen) => chosen,
        None => of_class(paths, car),
    };
    if chosen.ids.is_empty() {
        let mut found = rules_of_last_walk(paths, cache, on, history)?;
        found.notes.extend(chosen.notes);
        return Ok(found);
    }
    let mut found = rules_by_id(paths, cache, on, &chosen.ids)?;
    found.notes.extend(chosen.notes);
    if !history.walks().is_empty() {
        match rules_of_last_walk(paths, cache, on, history) {
            Ok(last) if last.rules.marks() == found.rules.marks() => found.notes.extend(last.notes),
            Ok(last) => found.notes.push(other_than(&chosen.whose, &last.rules, &found.rules)),
            // They are not in force, so that what is wrong with them stops nothing here.
            Err(_) => found.notes.push(format!("{}; those of its last walk cannot be read", chosen.whose)),
        }
    }
    Ok(found)
}

/// Those that the car's file names. Only ids: a file from elsewhere opens no path of this machine.
fn named(paths: &Paths, car: &Car) -> Result<Option<Chosen>, String> {
    for word in &car.rules {
        if ruleset_by_id(paths, &word.text).is_none() {
            let id = escape_control(&word.text);
            let folder = shown(&paths.data.join("rulesets"));
            return Err(format!(
                "{}: there are no rules {id} here: put {id}.toml into {folder}, or take it out of rules",
                word.at.shown()
            ));
        }
    }
    let ids: Vec<String> = car.rules.iter().map(|word| word.text.clone()).collect();
    let whose = format!("rules in force, as the car's file asks: {}", ids.join(", "));
    Ok((!ids.is_empty()).then_some(Chosen { ids, whose, notes: Vec::new() }))
}

/// Those in the data folder that declare the car's class.
fn of_class(paths: &Paths, car: &Car) -> Chosen {
    let mut chosen = Chosen { ids: Vec::new(), whose: String::new(), notes: Vec::new() };
    let Some(class) = &car.facts.class else { return chosen };
    let mut known: Vec<String> = Vec::new();
    for id in kept(paths) {
        let Some(file) = ruleset_by_id(paths, &id) else { continue };
        let (classes, is_whole) = classes_of(&file);
        if classes.iter().any(|one| folded(one) == folded(&class.text)) {
            chosen.ids.push(id);
        } else if !is_whole {
            chosen.notes.push(format!(
                "{} cannot be read, so whether it is for class {} is not known: run `linewalk rules check {}`",
                shown(&paths.data.join("rulesets").join(format!("{id}.toml"))),
                escape_control(&class.text),
                id
            ));
        }
        known.extend(classes);
    }
    let named = escape_control(&class.text);
    chosen.whose = format!("rules in force, for class {named}: {}", chosen.ids.join(", "));
    if chosen.ids.is_empty() {
        known.sort();
        known.dedup();
        let help = near_or(&class.text.to_lowercase(), known.iter().map(String::as_str), || {
            "name rules with --rules, or put the club's file into the rules folder".to_owned()
        });
        chosen.notes.push(format!("no rules here are for class {named}: {}", escape_control(&help)));
    }
    chosen
}

/// The rulesets of the data folder, in the order of their names.
fn kept(paths: &Paths) -> Vec<String> {
    let entries = std::fs::read_dir(paths.data.join("rulesets")).into_iter().flatten().flatten();
    let id_of = |path: PathBuf| {
        let is_set = path.extension().is_some_and(|ending| ending == "toml") || path.is_dir();
        let stem = path.file_stem()?.to_str()?.to_owned();
        (is_set && is_id(&stem)).then_some(stem)
    };
    let mut ids: Vec<String> = entries.filter_map(|entry| id_of(entry.path())).collect();
    ids.sort();
    ids.dedup();
    ids
}

/// What comes and goes against the rules of the last walk, in a sentence.
fn other_than(whose: &str, last: &Ruleset, now: &Ruleset) -> String {
    let missing = |from: &Ruleset, to: &Ruleset| -> Vec<String> {
        let gone = from.checks.iter().filter(|check| to.check(&check.id).is_none());
        gone.map(|check| check.code.clone().unwrap_or_else(|| check.id.clone())).collect()
    };
    let counted = |verb: &str, checks: Vec<String>| match checks.as_slice() {
        [] => String::new(),
        some => {
            let more = if some.len() > NAMED { " …" } else { "" };
            let names = some.iter().take(NAMED).cloned().collect::<Vec<_>>().join(", ");
            format!("; checks that {verb}: {} ({names}{more})", some.len())
        }
    };
    let last_name = last.layers.last().map_or("base", |layer| layer.id.as_str());
    format!(
        "{whose}; the last walk was under {last_name}{}{}",
        counted("come", missing(now, last)),
        counted("go", missing(last, now))
    )
}
