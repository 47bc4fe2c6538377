//! One car that was begun twice: by its number and by a full file, or on two machines. What may be the same car is asked
//! about once; a file that is adopted is brought into the data folder, and the record goes on.

use std::path::{Path, PathBuf};

use crate::diagnostic::shown;
use crate::logbook::hash::Hex;
use crate::logbook::storage::Trouble;
use crate::logbook::writer::{LogError, LogWriter};
use crate::model::entry::{Entry, Severity};
use crate::model::history::by_weight;
use crate::model::values::{self, Changed};
use crate::model::{Answer3, Car, Tag};
use crate::source::{Overrides, is_id};
use crate::walk::{Decided, Journal, SameCarPart, SameCarQuestion};

use super::clock;
use super::disk::DiskStorage;
use super::identity;
use super::load::{self, FoundCar};
use super::paths::{Paths, path_of, read_text, write_inside};
use super::workspace::DiskWorkspace;

/// What may be the same car as one that is opened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SameCar {
    /// The car has a file in use, and another one was given.
    OtherFile {
        /// The id the car is kept under.
        id: String,
        /// The file in use.
        in_use: PathBuf,
        /// The file given.
        given: PathBuf,
    },
    /// Another car here has the same number.
    OtherRecord {
        /// The car opened.
        id: String,
        /// The other car.
        other: String,
        /// Their number.
        number: String,
    },
}

impl SameCar {
    /// What a reader of a report or of numbers has to know.
    pub fn told(&self, paths: &Paths) -> String {
        match self {
            Self::OtherFile { in_use, given, .. } => format!(
                "This is from {}, and the file in use for this car is {}.",
                shown(given),
                shown(in_use)
            ),
            Self::OtherRecord { id, other, number } => {
                let open = identity::record(paths, other).map(|record| by_weight(&record.history.open()));
                let [stop, fix, note] = open.unwrap_or_default();
                format!(
                    "Another car here has the number {number}: {other}, with {stop} stop, {fix} fix, {note} note open, and \
                     nothing of it is in this. If both are one car: `linewalk log join {id} {other}`."
                )
            }
        }
    }

    /// Why nothing is kept or reported by the path of a file, until somebody says what it is.
    pub fn refused(&self, given: &str) -> String {
        match self {
            Self::OtherFile { id, in_use, .. } => format!(
                "car {id} has the file {} in use, and {given} says something else. `linewalk car adopt {given}` puts it in \
                 use, and the record goes on; `{id}` instead of the path goes on with the file in use",
                shown(in_use)
            ),
            Self::OtherRecord { id, other, number } => format!(
                "{given} is of car {number}, and a record of car {number} is kept under {other}. If both are one car, \
                 `linewalk car adopt {given}` puts this file in use, and the record goes on; if not, \
                 `linewalk car adopt {given} --two-cars` keeps {id} and {other} apart"
            ),
        }
    }
}

/// What adopting came to.
#[derive(Debug)]
pub struct Adopted {
    /// The id the car goes on under.
    pub id: String,
    /// What was done, in sentences.
    pub done: Vec<String>,
}

impl DiskWorkspace {
    /// The id that a car goes on under, or the path that was given.
    pub(super) fn in_use(&self, car: &str) -> String {
        let by_path = path_of(car).is_file();
        if by_path || !is_id(car) { car.to_owned() } else { identity::goes_on_under(&self.paths, car) }
    }

    /// What here may be the same car as one that was found, and nobody said yet whether it is.
    pub(super) fn same_car_as(&self, found: &FoundCar) -> Result<Vec<SameCar>, String> {
        let (paths, car) = (&self.paths, &found.read.car);
        let id = identity::goes_on_under(paths, &car.id);
        let mut same = Vec::new();
        if let (Some(in_use), Some(given)) = (identity::other_file(paths, found), &found.elsewhere) {
            same.push(SameCar::OtherFile { id: id.clone(), in_use, given: given.clone() });
        }
        let others = identity::of_the_same_number(paths, &id, &car.number)?;
        let number = car.number.clone();
        same.extend(others.into_iter().map(|other| SameCar::OtherRecord {
            id: id.clone(),
            other,
            number: number.clone(),
        }));
        Ok(same)
    }

    /// That the file a car's own was brought in from says something else by now.
    pub(super) fn drifted(&self, id: &str) -> Option<String> {
        let path = load::drifted(&self.paths, id)?;
        let path = shown(&path);
        Some(format!(
            "{path} is another file of this car and says something else than the one in use: `linewalk car adopt {path}` \
             puts it in use."
        ))
    }

    /// Brings a file in as the one in use for its car, and joins what was kept of the car under other ids.
    ///
    /// # Errors
    /// What is wrong with the file, or stands in the way; then nothing was changed.
    pub fn adopt(&mut self, given: &str, joins: &[String]) -> Result<Adopted, String> {
        let found = load::find_car(&self.paths, given, &Overrides::new())?;
        let path = found.elsewhere.clone().filter(|_| path_of(given).is_file());
        let path =
            path.ok_or_else(|| format!("{given} is no file: give the path of the car file to bring in"))?;
        let path = std::fs::canonicalize(&path).unwrap_or(path);
        let id = found.read.car.id.clone();
        let main = identity::goes_on_under(&self.paths, &id);
        if main != id {
            return Err(format!(
                "car {id} goes on as {main}: give the file the id {main}, or take the join back with \
                 `linewalk log join {main} {id} --take-back --reason …`"
            ));
        }
        for other in joins {
            self.joinable(&id, other)?;
        }
        let mut done = self.open_log(&id)?;
        done.extend(self.put_in_use(&id, &found, &path)?);
        for other in joins {
            done.push(self.keep_join(&id, other)?);
            match load::find_car(&self.paths, other, &Overrides::new()) {
                Ok(before) => done.extend(differences(&found, &before)),
                Err(_) => done.push(format!(
                    "the file of {other} has mistakes, and nothing was compared with it: \
                     `linewalk car check {other}` names them"
                )),
            }
        }
        self.settle()?;
        Ok(Adopted { id, done })
    }

    /// Puts a file in the place of the one in use, which stays among the car's editions.
    fn put_in_use(&mut self, id: &str, found: &FoundCar, path: &Path) -> Result<Option<String>, String> {
        let own = self.paths.car(id).join("car.toml");
        let before = read_text(&own).ok();
        if before.as_deref() == Some(&*found.file.text) {
            return Ok(None);
        }
        let sha = |text: &str| Hex::of(text.as_bytes()).text().to_owned();
        let mut text = format!("file brought in from {}, sha256 {}", shown(path), sha(&found.file.text));
        if let Some(before) = &before {
            self.keep_edition(id, before)?;
            text.push_str(&format!(", in place of sha256 {}", sha(before)));
        }
        load::remember(&self.paths, id, found)?;
        write_inside(&self.paths.data, &own, found.file.text.as_bytes())?;
        self.remark_on_file(text)?;
        let kept = if before.is_some() { "; the one before is kept in editions" } else { "" };
        Ok(Some(format!(
            "{} is the file of car {id} now, brought in from {}{kept}",
            shown(&own),
            shown(path)
        )))
    }

    /// Whether a folder may be joined to a car: it is there, it is another one, nobody has it open.
    fn joinable(&self, id: &str, other: &str) -> Result<(), String> {
        if !is_id(other) || !self.paths.car(other).is_dir() {
            return Err(format!("there is no car with the id {other}"));
        }
        for one in [id, other] {
            let main = identity::goes_on_under(&self.paths, one);
            if main != *one {
                return Err(format!("{one} is joined to {main} already: give {main}"));
            }
        }
        if id == other {
            return Err(format!("{id} and {other} are one record already"));
        }
        let writer = self.paths.writer_id()?;
        match LogWriter::open(DiskStorage::at(self.paths.car(other)), &writer) {
            Err(LogError::Storage(error)) if error.trouble == Trouble::Held => {
                Err(super::holder::held(&self.paths, other, &writer))
            }
            _ => Ok(()),
        }
    }

    /// The note first: it counts only once the record is kept.
    fn keep_join(&mut self, id: &str, other: &str) -> Result<String, String> {
        identity::note_where(&self.paths, other, id)?;
        let by = self.choices.by.clone();
        self.write_down(Entry::Joined { car: other.to_owned(), by })?;
        Ok(format!(
            "{other} and {id} are one car now: both records are read together, and new answers go to {id}"
        ))
    }

    pub(super) fn write_down(&mut self, entry: Entry) -> Result<(), String> {
        self.keep(Decided { id: clock::new_id(), entry }).map(drop)
    }

    /// Joins another folder to a car: both records stand side by side.
    ///
    /// # Errors
    /// What stands in the way.
    pub fn join(&mut self, id: &str, other: &str) -> Result<Adopted, String> {
        self.joinable(id, other)?;
        let mut done = self.open_log(id)?;
        done.push(self.keep_join(id, other)?);
        self.settle()?;
        Ok(Adopted { id: id.to_owned(), done })
    }

    /// Takes a join back: both folders stand again as they are by themselves.
    ///
    /// # Errors
    /// That this machine joined no such folder, or what went wrong.
    pub fn take_back_join(&mut self, id: &str, other: &str, reason: String) -> Result<Adopted, String> {
        let join = identity::own_join(&self.paths, id, other)?;
        let mut done = self.open_log(id)?;
        let by = self.choices.by.clone();
        self.write_down(Entry::Withdrawn { record: join, note: Some(reason), by })?;
        self.settle()?;
        identity::forget_where(&self.paths, other)?;
        done.push(format!("{other} and {id} are two cars again: what is kept in each counts for it alone"));
        Ok(Adopted { id: id.to_owned(), done })
    }

    /// What is asked before a car is opened.
    pub(super) fn question(&self, car: &str) -> Result<Option<SameCarQuestion>, String> {
        let found = load::find_car(&self.paths, &self.in_use(car), &Overrides::new())?;
        let Some(same) = self.same_car_as(&found)?.into_iter().next() else { return Ok(None) };
        let here = |file: String| self.part(&found, file);
        Ok(Some(match &same {
            SameCar::OtherFile { id, in_use, given } => SameCarQuestion {
                differs: self.differs(&found, id),
                joins: false,
                here: here(shown(given))?,
                other: self.part(&load::find_car(&self.paths, id, &Overrides::new())?, shown(in_use))?,
            },
            SameCar::OtherRecord { other, .. } => {
                let found = load::find_car(&self.paths, other, &Overrides::new())?;
                SameCarQuestion {
                    differs: self.differs(&found, other),
                    joins: true,
                    here: here(found_at(&self.paths, car))?,
                    other: self.part(&found, found.read.car.file.clone())?,
                }
            }
        }))
    }

    /// What the fuller of two files leaves unsaid or says otherwise than the other.
    fn differs(&self, found: &FoundCar, other: &str) -> Vec<String> {
        let Ok(other) = load::find_car(&self.paths, other, &Overrides::new()) else { return Vec::new() };
        let (mut used, mut before) = (found, &other);
        if before.file.text.len() > used.file.text.len() {
            std::mem::swap(&mut used, &mut before);
        }
        differences(used, before)
    }

    fn part(&self, found: &FoundCar, file: String) -> Result<SameCarPart, String> {
        let car = &found.read.car;
        let id = identity::goes_on_under(&self.paths, &car.id);
        let (history, _) = self.history(&id)?;
        let open = history.open();
        let stops = open.iter().filter(|standing| standing.cause().severity == Severity::Stop);
        Ok(SameCarPart {
            id,
            number: car.number.clone(),
            name: car.name.clone(),
            keeper: car.keeper.clone(),
            class: car.facts.class.as_ref().or(car.facts.discipline.as_ref()).map(|word| word.text.clone()),
            file,
            records: history.all().len(),
            last: history.all().last().map(|kept| kept.at),
            stops: stops.map(|standing| standing.finding.title.clone()).collect(),
        })
    }

    /// Carries out the answer to that question; gives what opens the car.
    pub(super) fn answer_same_car(&mut self, car: &str, same: bool) -> Result<String, String> {
        let found = load::find_car(&self.paths, &self.in_use(car), &Overrides::new())?;
        let by_path = path_of(car).is_file();
        match (self.same_car_as(&found)?.into_iter().next(), same) {
            (None, _) => Ok(car.to_owned()),
            (Some(SameCar::OtherFile { id, .. }), false) => Ok(id),
            (Some(SameCar::OtherFile { .. }), true) => Ok(self.adopt(car, &[])?.id),
            (Some(SameCar::OtherRecord { other, .. }), true) if by_path => Ok(self.adopt(car, &[other])?.id),
            (Some(SameCar::OtherRecord { id, other, .. }), true) => {
                let (main, other) = fuller(&self.paths, id, other);
                Ok(self.join(&main, &other)?.id)
            }
            (Some(SameCar::OtherRecord { id, other, .. }), false) => {
                identity::keep_apart(&self.paths, &other, &id)?;
                Ok(car.to_owned())
            }
        }
    }
}

/// Of the values that the file in use leaves out or says otherwise, how many are named.
const NAMED: usize = 12;

/// What one file of a car says, and the one in use from now on does not say, or says otherwise.
fn differences(used: &FoundCar, before: &FoundCar) -> Vec<String> {
    let mut lost = equipment_lost(&used.read.car, &before.read.car);
    let typed = values::differences(&before.file, &used.file);
    let mut values = typed.iter().filter_map(|changed| value_lost(changed, &before.read.car.file));
    lost.extend(values.by_ref().take(NAMED));
    let more = values.count();
    if more > 0 {
        lost.push(format!("{more} more values of {} are not in this file", before.read.car.file));
    }
    lost
}

/// What a file says the car has or has not.
fn equipment_lost(used: &Car, before: &Car) -> Vec<String> {
    let has = before.facts.equipment.iter().map(|tag| (tag, Answer3::Yes, "has"));
    let without = before.facts.without.iter().map(|tag| (tag, Answer3::No, "has not"));
    let told = |(tag, said, word): (&Tag, Answer3, &str)| {
        let now = match used.has(*tag) {
            now if now == said => return None,
            Answer3::Unknown => "does not say",
            _ => "says the opposite",
        };
        Some(format!(
            "{} said that the car {word} {}, and this file {now}: look at the car",
            before.file,
            tag.phrase()
        ))
    };
    has.chain(without).filter_map(told).collect()
}

/// A value that was typed, and the file in use does not have; its id, its number and how it was known aside.
fn value_lost(changed: &Changed, file: &str) -> Option<String> {
    let asked_elsewhere = ["format", "car.id", "car.number", "car.equipment", "car.without"];
    let before = changed.before.as_ref()?;
    if asked_elsewhere.contains(&changed.key.as_str()) || changed.key.starts_with("known.") {
        return None;
    }
    let name = changed.key.strip_prefix("car.").unwrap_or(&changed.key).replace(['.', '_'], " ");
    Some(match &changed.after {
        Some(after) => format!("{file} said {name} {before}, and this file says {after}: see which is right"),
        None => format!("{file} said {name} {before}, and this file does not say it: add it if it is right"),
    })
}

fn found_at(paths: &Paths, car: &str) -> String {
    load::find_car(paths, car, &Overrides::new())
        .map_or_else(|_| car.to_owned(), |found| found.read.car.file.clone())
}

/// Of two ids the one whose file says more goes on.
fn fuller(paths: &Paths, one: String, other: String) -> (String, String) {
    let length =
        |id: &str| load::find_car(paths, id, &Overrides::new()).map_or(0, |found| found.file.text.len());
    if length(&other) > length(&one) { (other, one) } else { (one, other) }
}
