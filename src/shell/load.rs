//! Car files and rule files from where they are kept.

use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono::NaiveDate;

use crate::diagnostic::{Diagnostic, SourceFile, any_error, escape_control, near_or, shown};
use crate::model::car::CarRead;
use crate::model::entry::WalkStarted;
use crate::model::history::History;
use crate::model::{Car, read_car};
use crate::rules::{Ruleset, RulesetCache, built_in, load_from, offered_for, strange_words};
use crate::source::{Overrides, is_id};

use super::paths::{Paths, path_of, read_text, text_of};

/// Name of the file that says where a car's file is, for a car opened by its path.
const ELSEWHERE: &str = "car-file";

/// Name of the file with which a ruleset begins that is kept in a folder of several files.
const RULESET_HEAD: &str = "ruleset.toml";

/// The file that a car was opened by or brought in from, where it says something else than the one in use.
pub fn drifted(paths: &Paths, id: &str) -> Option<PathBuf> {
    let folder = paths.car(id);
    let path = noted(&read_text(&folder.join(ELSEWHERE)).ok()?);
    let (used, other) = (read_text(&folder.join("car.toml")).ok()?, read_text(&path).ok()?);
    (used != other).then_some(path)
}

/// The path that a note holds. One that a person wrote ends with the line.
fn noted(text: &str) -> PathBuf {
    let exact = path_of(text);
    if exact.is_file() { exact } else { path_of(text.trim()) }
}

/// A car as found.
#[derive(Clone, Debug)]
pub struct FoundCar {
    /// Its file.
    pub file: Arc<SourceFile>,
    /// What was read of it.
    pub read: CarRead,
    /// Where its file is, where that is not its own folder.
    pub elsewhere: Option<PathBuf>,
}

/// Finds a car by the path of its file or by its id.
///
/// # Errors
/// Where there is none, with the id that may be meant; or every mistake in its file.
pub fn find_car(paths: &Paths, car: &str, overrides: &Overrides) -> Result<FoundCar, String> {
    let (file, elsewhere) = car_file(paths, car)?;
    read_found(file, elsewhere, overrides)
}

/// As [`find_car`] without values standing in; one that was found before is read again only where its file has changed.
///
/// # Errors
/// As [`find_car`].
pub fn find_car_again(
    paths: &Paths,
    car: &str,
    known: &RefCell<Option<FoundCar>>,
) -> Result<FoundCar, String> {
    let (file, elsewhere) = car_file(paths, car)?;
    if let Some(known) =
        known.borrow().as_ref().filter(|known| *known.file == *file && known.elsewhere == elsewhere)
    {
        return Ok(known.clone());
    }
    let found = read_found(file, elsewhere, &Overrides::new())?;
    *known.borrow_mut() = Some(found.clone());
    Ok(found)
}

/// A car's file, and where it is, where that is not its own folder.
///
/// # Errors
/// Where there is none, or it cannot be read.
pub(super) fn car_file(paths: &Paths, car: &str) -> Result<(Arc<SourceFile>, Option<PathBuf>), String> {
    let (path, elsewhere) = locate(paths, car)?;
    let file = SourceFile::new(text_of(&path), read_text(&path)?);
    Ok((file, elsewhere.then_some(path)))
}

fn read_found(
    file: Arc<SourceFile>,
    elsewhere: Option<PathBuf>,
    overrides: &Overrides,
) -> Result<FoundCar, String> {
    let mut read = read_car(&file, overrides);
    crate::diagnostic::sort(&mut read.diagnostics);
    if any_error(&read.diagnostics) {
        return Err(rendered(&read.diagnostics));
    }
    Ok(FoundCar { file, read, elsewhere })
}

/// Whether a car has a file of its own, or a note of where it is.
pub fn has_file(paths: &Paths, id: &str) -> bool {
    let folder = paths.car(id);
    folder.join("car.toml").exists() || folder.join(ELSEWHERE).exists()
}

/// Every mistake as text.
pub fn rendered(diagnostics: &[Diagnostic]) -> String {
    crate::diagnostic::render_all(diagnostics)
}

fn locate(paths: &Paths, car: &str) -> Result<(PathBuf, bool), String> {
    let as_path = path_of(car);
    if as_path.is_file() {
        return Ok((as_path, true));
    }
    if !is_id(car) {
        return Err(format!("there is no car file {}", escape_control(car)));
    }
    let folder = paths.car(car);
    let own = folder.join("car.toml");
    if own.is_file() {
        return Ok((own, false));
    }
    if let Ok(text) = read_text(&folder.join(ELSEWHERE)) {
        let path = noted(&text);
        if path.is_file() {
            return Ok((path, true));
        }
        return Err(format!(
            "the file of car {car} was {}, and is not there now: give its path",
            shown(&path)
        ));
    }
    let known = paths.cars()?;
    let help = near_or(car, known.iter().map(String::as_str), || {
        "give the path of a car file, or start one with `linewalk`".to_owned()
    });
    Err(format!("there is no car {car}: {help}"))
}

/// Remembers where a car's file is, so that its id alone finds it again.
///
/// # Errors
/// Where the note cannot be written.
pub fn remember(paths: &Paths, id: &str, found: &FoundCar) -> Result<(), String> {
    let Some(path) = &found.elsewhere else { return Ok(()) };
    let absolute = std::fs::canonicalize(path).map_err(|error| super::paths::told("find", path, &error))?;
    let note = paths.car(id).join(ELSEWHERE);
    let text = text_of(&absolute);
    if read_text(&note).is_ok_and(|known| known == text) {
        return Ok(());
    }
    super::paths::write_inside(&paths.data, &note, text.as_bytes())
}

/// Rules as loaded, with what is doubtful about them.
#[derive(Debug)]
pub struct FoundRules {
    /// The ruleset.
    pub rules: Arc<Ruleset>,
    /// Files as named on the command line, absolute where they could be found so.
    pub files: Vec<String>,
    /// What the reader should know: rules changed since the last walk, or not found again.
    pub notes: Vec<String>,
}

impl FoundRules {
    /// Words of a car that nothing in force knows, each with its place and what may be meant.
    pub fn strange_words(&self, car: &Car) -> Vec<String> {
        let strange = strange_words(&self.rules, car).into_iter();
        strange
            .map(|warning| format!("{}: {}: {}", warning.at.shown(), warning.message, warning.help))
            .collect()
    }
}

/// Shipped rules for a car's discipline that are not in force, in a sentence.
pub fn offered(rules: &Ruleset, car: &Car) -> Option<String> {
    offered_for(rules, car).map(|id| {
        format!(
            "rules for {id} are shipped and not in force here: begin with `--rules {id}` to add their checks"
        )
    })
}

/// A rule file beside another, in the data folder, or built in.
pub fn look_up(paths: &Paths, id: &str, from: &SourceFile) -> Option<Arc<SourceFile>> {
    // An id is no path: it cannot lead out of these folders.
    if !is_id(id) {
        return None;
    }
    let beside = path_of(&from.name).parent().map(Path::to_owned);
    let folders = [beside, Some(paths.data.join("rulesets"))];
    for folder in folders.into_iter().flatten() {
        let path = folder.join(format!("{id}.toml"));
        // The file itself may bear the name of what it extends.
        if path.is_file() && text_of(&path) != from.name {
            return read_ruleset(&path).ok();
        }
        if folder.join(id).join(RULESET_HEAD).is_file() {
            return read_ruleset(&folder.join(id)).ok();
        }
    }
    built_in(id)
}

/// A ruleset from its file, or from a folder that holds its head and, in the order of their names, its other files.
fn read_ruleset(path: &Path) -> Result<Arc<SourceFile>, String> {
    let read = |path: &Path| Ok::<_, String>(SourceFile::new(text_of(path), read_text(path)?));
    if !path.is_dir() {
        return read(path);
    }
    let listed = std::fs::read_dir(path).map_err(|error| super::paths::told("read", path, &error))?;
    let mut parts: Vec<PathBuf> = listed.flatten().map(|entry| entry.path()).collect();
    parts.retain(|part| {
        part.extension().is_some_and(|ending| ending == "toml") && !part.ends_with(RULESET_HEAD)
    });
    parts.sort();
    let parts = parts.iter().map(|part| read(part)).collect::<Result<_, _>>()?;
    Ok(SourceFile::with_parts(read(&path.join(RULESET_HEAD))?, parts))
}

/// Loads rule files by path or built-in name, as they are in force on a day; with none, base.
///
/// # Errors
/// Where one cannot be read, or every mistake in them.
pub fn find_rules(
    paths: &Paths,
    cache: &RulesetCache,
    on: NaiveDate,
    named: &[String],
) -> Result<FoundRules, String> {
    let base = ["base".to_owned()];
    let named = if named.is_empty() { &base[..] } else { named };
    or_last_good(cache, on, named, || {
        let (files, names) = named.iter().map(|name| rule_file(paths, name)).collect::<Result<_, _>>()?;
        loaded(paths, cache, on, files, names)
    })
}

/// Rules as they are now, else as they were when this program last read them without a mistake, which is said.
fn or_last_good(
    cache: &RulesetCache,
    on: NaiveDate,
    named: &[String],
    load: impl FnOnce() -> Result<FoundRules, String>,
) -> Result<FoundRules, String> {
    match load() {
        Ok(found) => {
            cache.keep_good(named, Some(on), &found.rules);
            Ok(found)
        }
        Err(wrong) => {
            let Some(rules) = cache.last_good(named, Some(on)) else { return Err(wrong) };
            let note = format!(
                "rules {} were changed and cannot be used as they are now ({}): those read before stay in force",
                named.join(", "),
                in_one_line(&wrong)
            );
            Ok(FoundRules { rules, files: named.to_vec(), notes: vec![note] })
        }
    }
}

/// The first mistake with its place, and how many there are, of mistakes as they are printed.
fn in_one_line(wrong: &str) -> String {
    let mut lines = wrong.lines();
    let message = lines.next().unwrap_or_default().trim_start_matches("error: ").to_owned();
    let place = lines.next().and_then(|line| line.trim_start().strip_prefix("--> "));
    let more = wrong.lines().skip(1).filter(|line| line.starts_with("error: ")).count();
    let more = if more == 0 { String::new() } else { format!(", and {more} more") };
    place.map_or_else(|| format!("{message}{more}"), |place| format!("{place}: {message}{more}"))
}

/// Loads rulesets of the data folder, or built in, by their ids alone: no path of this machine is opened.
///
/// # Errors
/// The id that is not there, or every mistake in them.
pub(super) fn rules_by_id(
    paths: &Paths,
    cache: &RulesetCache,
    on: NaiveDate,
    ids: &[String],
) -> Result<FoundRules, String> {
    or_last_good(cache, on, ids, || {
        let found = ids.iter().map(|id| ruleset_by_id(paths, id).ok_or_else(|| no_rule_file(id)));
        let files = found.collect::<Result<_, _>>()?;
        loaded(paths, cache, on, files, ids.to_vec())
    })
}

/// A ruleset of the data folder, or built in.
pub(super) fn ruleset_by_id(paths: &Paths, id: &str) -> Option<Arc<SourceFile>> {
    look_up(paths, id, &SourceFile::new("", ""))
}

fn no_rule_file(name: &str) -> String {
    format!("there is no rule file {}", escape_control(name))
}

fn loaded(
    paths: &Paths,
    cache: &RulesetCache,
    on: NaiveDate,
    files: Vec<Arc<SourceFile>>,
    names: Vec<String>,
) -> Result<FoundRules, String> {
    let loaded = load_from(cache, &files, &|id, from| look_up(paths, id, from), Some(on));
    if any_error(&loaded.diagnostics) {
        return Err(rendered(&loaded.diagnostics));
    }
    Ok(FoundRules { rules: Arc::clone(&loaded.rules), files: names, notes: Vec::new() })
}

/// A rule file by the path of its file or folder, or by its id in the data folder or built in.
///
/// # Errors
/// Where there is none.
pub fn rule_file(paths: &Paths, name: &str) -> Result<(Arc<SourceFile>, String), String> {
    let path = &path_of(name);
    if path.is_file() || path.join(RULESET_HEAD).is_file() {
        let absolute = std::fs::canonicalize(path).map_or_else(|_| name.to_owned(), |path| text_of(&path));
        return Ok((read_ruleset(path)?, absolute));
    }
    if is_id(name)
        && let Some(file) = ruleset_by_id(paths, name)
    {
        return Ok((file, name.to_owned()));
    }
    Err(no_rule_file(name))
}

/// The rules of the newest walk, found again; base where they are not, and said.
///
/// # Errors
/// Every mistake in the rules found.
pub fn rules_of_last_walk(
    paths: &Paths,
    cache: &RulesetCache,
    on: NaiveDate,
    history: &History,
) -> Result<FoundRules, String> {
    let walks = history.walks();
    let Some(last) = walks.last() else { return find_rules(paths, cache, on, &[]) };
    let started: &WalkStarted = last.started;
    let own = history.get(last.id).is_some_and(|begun| paths.is_own(&begun.writer));
    let found =
        if own { own_rules(paths, cache, on, started)? } else { foreign_rules(paths, cache, on, started)? };
    let Some(mut found) = found else {
        let mut found = find_rules(paths, cache, on, &[])?;
        let (id, edition) = (escape_control(&started.rules.id), escape_control(&started.rules.edition));
        found.notes.push(if own {
            format!(
                "the rules of the last walk, {id} {edition}, are not found: base is used; name them with --rules"
            )
        } else {
            format!(
                "the rules of the last walk, {id} {edition}, were named by another machine, and neither the built-in \
                 rules nor {} have that very edition: base is used; name them with --rules",
                shown(&paths.data.join("rulesets"))
            )
        });
        return Ok(found);
    };
    found.notes.extend(changed_since(&found.rules, started));
    Ok(found)
}

/// The rules of a walk that this machine began, by the paths it named; `None` where they are gone.
fn own_rules(
    paths: &Paths,
    cache: &RulesetCache,
    on: NaiveDate,
    started: &WalkStarted,
) -> Result<Option<FoundRules>, String> {
    let names: Vec<String> =
        if started.files.is_empty() { vec![started.rules.id.clone()] } else { started.files.clone() };
    match find_rules(paths, cache, on, &names) {
        Err(_) if !names.iter().all(|name| rule_file(paths, name).is_ok()) => Ok(None),
        found => found.map(Some),
    }
}

/// The rules of a walk that another machine began. Whoever wrote its record could name any file of this machine, to have it
/// quoted or its rules in force: so no path of it is opened, and only what is built in or in the rules folder can be meant.
fn foreign_rules(
    paths: &Paths,
    cache: &RulesetCache,
    on: NaiveDate,
    started: &WalkStarted,
) -> Result<Option<FoundRules>, String> {
    let layers =
        if started.layers.is_empty() { std::slice::from_ref(&started.rules) } else { &started.layers };
    let mut files = Vec::new();
    for layer in layers {
        let Some(file) = ruleset_by_id(paths, &layer.id) else { return Ok(None) };
        // What is built in is known by its id alone: another edition of it is said, as for a walk of this machine.
        let is_built_in = built_in(&layer.id).is_some_and(|built_in| *built_in == *file);
        if !is_built_in && file.sha256() != layer.sha256 {
            return Ok(None);
        }
        files.push(file);
    }
    let names = layers.iter().map(|layer| layer.id.clone()).collect();
    loaded(paths, cache, on, files, names).map(Some)
}

/// Rules that read differently than when a walk began, in sentences.
fn changed_since(rules: &Ruleset, started: &WalkStarted) -> Vec<String> {
    let mut notes = Vec::new();
    let now = rules.marks();
    for (mark, then) in
        now.iter().filter_map(|mark| Some((mark, started.layers.iter().find(|then| then.id == mark.id)?)))
    {
        if mark.sha256 != then.sha256 {
            let editions = if mark.edition == then.edition {
                format!("edition {} reads differently now", mark.edition)
            } else {
                format!("edition {} then, {} now", escape_control(&then.edition), mark.edition)
            };
            notes.push(format!("the rules {} were changed since the last walk: {editions}", mark.id));
        }
    }
    notes
}
