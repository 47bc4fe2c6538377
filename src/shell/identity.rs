//! Which car is meant, which folder holds its record, and which file describes it: one car has one of each, however often
//! it was begun.
//!
//! Two folders of one car are joined by a record in the log of the one that goes on; nothing is moved. The other folder
//! gets a note of where its car went, which counts only as long as that record stands.

use std::fs;
use std::path::PathBuf;

use crate::diagnostic::{escape_control, near_or};
use crate::logbook::reader::Reading;
use crate::logbook::storage::StorageError;
use crate::model::entry::{Entry, Kept};
use crate::model::history::{History, JoinedFolder};
use crate::model::read_car;
use crate::source::{Overrides, is_id};

use super::load::{self, FoundCar};
use super::paths::{Paths, path_of, read_text, write_inside};
use super::recorded::read_folder;

/// Name of the note in a joined folder: the id its car goes on under.
const NOW: &str = "now";
/// Name of the note of ids that have the same number and are other cars.
const APART: &str = "other-cars";
/// Folders joined one into the other that are followed; nobody joins more.
const MOST_JOINS: usize = 50;

/// The record of a car, of every folder that is joined to it.
#[derive(Debug, Default)]
pub struct Record {
    /// What was kept.
    pub history: History,
    /// What is wrong with the logs, and joins that only another machine's log says.
    pub trouble: Vec<String>,
    /// Every folder read: id and what was read.
    pub folders: Vec<(String, Reading)>,
}

/// Reads a car's record, with that of every folder joined to it.
///
/// # Errors
/// Where one of the folders cannot be read.
pub fn record(paths: &Paths, id: &str) -> Result<Record, StorageError> {
    let mut record = Record::default();
    let own = paths.known_writer();
    let mut joins: Vec<JoinedFolder> = Vec::new();
    let mut at = 0;
    record.folders.push((id.to_owned(), read_folder(paths, id)?));
    while let Some((folder, reading)) = record.folders.get(at) {
        let seen: Vec<String> = record.folders.iter().map(|(id, _)| id.clone()).collect();
        let mut found = Vec::new();
        for (kept, car) in joined(reading, own.as_deref()).filter(|(_, car)| !seen.contains(car)) {
            if !is_of(own.as_deref(), &kept.writer) {
                record.trouble.push(proposal(folder, car));
            } else if record.folders.len() + found.len() <= MOST_JOINS && paths.car(car).is_dir() {
                let (writer, seq) = (kept.writer.clone(), kept.seq);
                joins.push(JoinedFolder { car: car.clone(), under: at, writer, seq });
                found.push((car.clone(), read_folder(paths, car)?));
            }
        }
        record.folders.extend(found);
        at += 1;
    }
    let mut records = record.folders.iter().map(|(_, reading)| reading.kept.clone());
    let first = records.next().unwrap_or_default();
    let mut history = History::fold_joined(first, joins.into_iter().zip(records).collect());
    for (folder, (_, reading)) in record.folders.iter().enumerate() {
        history = history.with_past_in(folder, reading.past.iter().cloned());
    }
    record.history = history;
    Ok(record)
}

/// Joins that stand. Only the machine that said that two folders are one car may say that they are not; what nobody
/// vouches for neither joins nor parts.
fn joined<'r>(reading: &'r Reading, own: Option<&'r str>) -> impl Iterator<Item = (&'r Kept, &'r String)> {
    let history = (!reading.past.is_empty() || reading.kept.iter().any(says_unconfirmed))
        .then(|| History::fold(reading.kept.iter().cloned()).with_past(reading.past.iter().cloned()));
    let doubted = move |kept: &Kept| history.as_ref().is_some_and(|history| history.is_unconfirmed(kept));
    let kept = &reading.kept;
    kept.iter().filter_map(move |join| {
        let Entry::Joined { car, .. } = &join.entry else { return None };
        let taken_back = kept.iter().any(|later| match &later.entry {
            Entry::Withdrawn { record, .. } => {
                *record == join.id
                    && !doubted(later)
                    && (later.writer == join.writer || is_of(own, &later.writer))
            }
            _ => false,
        });
        (is_id(car) && !taken_back && !doubted(join)).then_some((join, car))
    })
}

fn says_unconfirmed(kept: &Kept) -> bool {
    matches!(kept.entry, Entry::Unconfirmed { .. })
}

/// Whether a log is this machine's own: a damaged one is gone on with under `<id>-2` to `<id>-9`.
fn is_of(own: Option<&str>, writer: &str) -> bool {
    let rest = own.and_then(|own| writer.strip_prefix(own));
    rest.is_some_and(|rest| matches!(rest.as_bytes(), [] | [b'-', b'2'..=b'9']))
}

fn proposal(id: &str, other: &str) -> String {
    format!(
        "Another machine's record says that {other} is the same car as {id}. Its record is not read here until somebody at \
         this machine says so too: `linewalk log join {id} {other}`."
    )
}

/// The id under which a car goes on: its own, or that of the folder it was joined to.
pub fn goes_on_under(paths: &Paths, id: &str) -> String {
    let mut at = id.to_owned();
    for _ in 0..9 {
        let Ok(next) = read_text(&paths.car(&at).join(NOW)) else { break };
        let next = next.trim().to_owned();
        let stands = is_id(&next)
            && read_folder(paths, &next).is_ok_and(|reading| {
                let own = paths.known_writer();
                joined(&reading, own.as_deref())
                    .any(|(kept, car)| *car == at && is_of(own.as_deref(), &kept.writer))
            });
        if !stands {
            break;
        }
        at = next;
    }
    at
}

/// Notes in a folder where its car went. It counts once the record that says so is kept.
///
/// # Errors
/// Where the note cannot be written.
pub fn note_where(paths: &Paths, from: &str, to: &str) -> Result<(), String> {
    write_inside(&paths.data, &paths.car(from).join(NOW), to.as_bytes())
}

/// Takes that note away.
///
/// # Errors
/// Where it cannot be removed.
pub fn forget_where(paths: &Paths, from: &str) -> Result<(), String> {
    let path = paths.car(from).join(NOW);
    match fs::remove_file(&path) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
            Err(super::paths::told("remove", &path, &error))
        }
        _ => Ok(()),
    }
}

/// Numbers are alike as typed, apart from case and outer blanks.
pub fn same_number(one: &str, other: &str) -> bool {
    one.trim().to_lowercase() == other.trim().to_lowercase()
}

/// Numbers that differ only in leading zeros: they are mentioned, never taken for each other.
fn nearly_same(one: &str, other: &str) -> bool {
    let bare = |number: &str| number.trim().trim_start_matches('0').to_lowercase();
    !same_number(one, other) && bare(one) == bare(other)
}

/// The number a car runs under: that of its file, whatever else is wrong in it, else that of its last walk.
pub fn number_of(paths: &Paths, id: &str) -> Option<String> {
    if let Ok((file, _)) = load::car_file(paths, id) {
        let number = read_car(&file, &Overrides::new()).car.number.clone();
        if !number.trim().is_empty() {
            return Some(number);
        }
    }
    let reading = read_folder(paths, id).ok()?;
    reading.kept.iter().rev().find_map(|kept| match &kept.entry {
        Entry::WalkStarted(started) => started.number.clone(),
        _ => None,
    })
}

/// Ids of every car here that goes on under its own id, with its number.
///
/// # Errors
/// Where the data folder cannot be read.
pub fn numbers(paths: &Paths) -> Result<Vec<(String, String)>, String> {
    let ids = paths.cars()?.into_iter().filter(|id| goes_on_under(paths, id) == *id);
    Ok(ids.filter_map(|id| number_of(paths, &id).map(|number| (id, number))).collect())
}

/// What opens the car that a word on the command line means: the path of a car file, an id or a number.
///
/// # Errors
/// That there is no such car, or that two have this number.
pub fn resolve(paths: &Paths, word: &str) -> Result<String, String> {
    if path_of(word).is_file() {
        return Ok(word.to_owned());
    }
    let known = numbers(paths)?;
    let own = (is_id(word) && paths.car(word).is_dir()).then(|| goes_on_under(paths, word));
    let mut ids: Vec<&str> =
        known.iter().filter(|(_, n)| same_number(n, word)).map(|(id, _)| id.as_str()).collect();
    if let Some(own) = own.as_deref().filter(|own| !ids.contains(own)) {
        ids.push(own);
    }
    match ids.as_slice() {
        [one] => Ok((*one).to_owned()),
        [] => Err(nobody(paths, &known, word)),
        several => Err(ambiguous(paths, word, several)),
    }
}

fn nobody(paths: &Paths, known: &[(String, String)], word: &str) -> String {
    let near = known.iter().find(|(_, number)| nearly_same(number, word));
    if let Some((id, number)) = near {
        return escape_control(&format!(
            "there is no car {word}. Car {number} is known (id {id}): a number counts as it is written, so give {number} if \
             that is meant"
        ));
    }
    let words = known.iter().flat_map(|(id, number)| [id.as_str(), number.as_str()]);
    let help = near_or(word, words, || {
        "give the path of a car file, an id or a number, or start one with `linewalk`".to_owned()
    });
    let what = if is_id(word) { "car" } else { "car file" };
    let unread = unread(paths, known);
    escape_control(&format!("there is no {what} {word}: {help}{unread}"))
}

/// Cars whose number nobody can tell, as their file cannot be read: one of them may be the car that is meant.
fn unread(paths: &Paths, known: &[(String, String)]) -> String {
    let ids = paths.cars().unwrap_or_default();
    let mut unread: Vec<String> = ids
        .into_iter()
        .filter(|id| goes_on_under(paths, id) == *id && known.iter().all(|(known, _)| known != id))
        .collect();
    unread.truncate(3);
    match unread.first() {
        None => String::new(),
        Some(first) => format!(
            ". The number of {} is not known, as the file cannot be read: `linewalk car check {first}` says what is wrong",
            unread.join(", ")
        ),
    }
}

fn ambiguous(paths: &Paths, word: &str, ids: &[&str]) -> String {
    let told: Vec<String> = ids.iter().map(|id| in_words(paths, id)).collect();
    let join = match ids {
        [one, other] if apart(paths, one, other) => String::new(),
        [one, other, ..] => format!(". If they are one car: `linewalk log join {one} {other}`"),
        _ => String::new(),
    };
    escape_control(&format!("{word} may mean {}: give the id{join}", told.join(" or ")))
}

/// A car in a few words: its id, number, name and keeper, and its last record.
pub fn in_words(paths: &Paths, id: &str) -> String {
    let found = load::find_car(paths, id, &Overrides::new()).ok();
    let car = found.as_ref().map(|found| &found.read.car);
    let mut words =
        vec![format!("number {}", number_of(paths, id).unwrap_or_else(|| "not known".to_owned()))];
    words.extend(car.and_then(|car| car.name.clone()));
    words.extend(car.and_then(|car| car.keeper.clone()));
    let last = record(paths, id).ok().and_then(|record| record.history.all().last().map(|kept| kept.at));
    words.push(last.map_or_else(
        || "nothing kept".to_owned(),
        |at| format!("last record {}", at.format("%Y-%m-%d %H:%M")),
    ));
    format!("{id} ({})", words.join(", "))
}

/// Other cars here with the number of a car, that nobody said are other cars, and that are not joined to it.
///
/// # Errors
/// Where the data folder cannot be read.
pub fn of_the_same_number(paths: &Paths, id: &str, number: &str) -> Result<Vec<String>, String> {
    let main = goes_on_under(paths, id);
    let others = numbers(paths)?.into_iter();
    let others = others.filter(|(other, known)| *other != main && same_number(known, number));
    Ok(others.map(|(other, _)| other).filter(|other| !apart(paths, &main, other)).collect())
}

/// Whether a person said that two ids are two cars.
fn apart(paths: &Paths, one: &str, other: &str) -> bool {
    let says = |one: &str, other: &str| {
        read_text(&paths.car(one).join(APART)).is_ok_and(|text| text.lines().any(|line| line.trim() == other))
    };
    says(one, other) || says(other, one)
}

/// Remembers that two ids are two cars; it is not asked again.
///
/// # Errors
/// Where that cannot be written.
pub fn keep_apart(paths: &Paths, one: &str, other: &str) -> Result<(), String> {
    let path = paths.car(one).join(APART);
    let before = read_text(&path).unwrap_or_default();
    write_inside(&paths.data, &path, format!("{before}{other}\n").as_bytes())
}

/// The file that describes a car for good, where another one was given for the same id; `None` where they say the same.
pub fn other_file(paths: &Paths, found: &FoundCar) -> Option<PathBuf> {
    found.elsewhere.as_ref()?;
    let id = goes_on_under(paths, &found.read.car.id);
    let own = paths.car(&id).join("car.toml");
    match read_text(&own) {
        Ok(text) => (*text != *found.file.text).then_some(own),
        Err(_) if id != found.read.car.id => {
            load::find_car(paths, &id, &Overrides::new()).ok().map(|used| PathBuf::from(&used.read.car.file))
        }
        Err(_) => None,
    }
}

/// The record by which this machine joined a folder to a car, where it stands.
///
/// # Errors
/// That there is none.
pub fn own_join(paths: &Paths, id: &str, other: &str) -> Result<String, String> {
    let reading = read_folder(paths, id).map_err(|error| error.to_string())?;
    let own = paths.known_writer();
    let mut joins = joined(&reading, own.as_deref());
    let join = joins.find(|(kept, car)| *car == other && is_of(own.as_deref(), &kept.writer));
    join.map(|(kept, _)| kept.id.clone()).ok_or_else(|| format!("this machine never joined {other} to {id}"))
}

/// Name of the note that a car is put away: who did it, when and why.
const AWAY: &str = "put-away";

/// What was said when a car was put away; `None` where it is not.
pub fn put_away(paths: &Paths, id: &str) -> Option<String> {
    read_text(&paths.car(id).join(AWAY)).ok().map(|text| text.trim().to_owned())
}

/// Puts a car away: the list leaves it out, and nothing else does.
///
/// # Errors
/// Where the note cannot be written.
pub fn put_car_away(paths: &Paths, id: &str, why: &str) -> Result<(), String> {
    write_inside(&paths.data, &paths.car(id).join(AWAY), format!("{why}\n").as_bytes())
}

/// Takes the note away; whether there was one.
///
/// # Errors
/// Where it cannot be removed.
pub fn bring_back(paths: &Paths, id: &str) -> Result<bool, String> {
    let path = paths.car(id).join(AWAY);
    match fs::remove_file(&path) {
        Ok(()) => Ok(true),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(false),
        Err(error) => Err(super::paths::told("remove", &path, &error)),
    }
}

/// An id for a new car, from its number.
pub(super) fn free_id(number: &str, known: &[String]) -> String {
    let plain: String = number
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' })
        .collect();
    let base = format!("car-{}", plain.trim_matches('-'));
    let base = if is_id(&base) { base } else { "car-new".to_owned() };
    let mut id = base.clone();
    let mut next = 2;
    while known.contains(&id) {
        id = format!("{base}-{next}");
        next += 1;
    }
    id
}
