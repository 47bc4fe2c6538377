//! Cars on disk: the terminal app's and the commands' way to a car, its record and its log.

use std::cell::RefCell;
use std::path::PathBuf;
use std::sync::Arc;

use chrono::NaiveDate;

use crate::diagnostic::shown;
use crate::logbook::problem::{Fault, Problem};
use crate::logbook::storage::Trouble;
use crate::logbook::writer::{LogError, LogWriter};
use crate::model::Tag;
use crate::model::doubt::Past;
use crate::model::entry::{Kept, Moment, Photo};
use crate::model::history::{History, by_weight};
use crate::numbers::Situation;
use crate::rules::{
    Check, RulesetCache, StateOf, Terms, answered_lately, asked, calculated, is_overtaken, is_signed, items,
    standings_of_calculated,
};
use crate::source::{Overrides, is_id};
use crate::units::Units;
use crate::walk::{
    Ahead, CarLine, Decided, Draft, Journal, Offered, SameCarQuestion, Start, Walk, Workspace, overrides_of,
    readings_of,
};

use super::adopt::SameCar;
use super::chosen;
use super::clock;
use super::disk::DiskStorage;
use super::drafts;
use super::holder::{self, Holder};
use super::identity;
use super::load::{self, FoundCar, FoundRules};
use super::paths::{Paths, links_in, no_links, path_of, write_inside};
use super::photo;
use super::recorded;

/// The car that is offered where none is known, to try things on.
const SAMPLE: &str = include_str!("../../sample-cars/heron.toml");
/// The folder beside the cars that play is kept in: no command, report, merge or export looks there.
const PLAY: &str = "play";

/// What the person chose on the command line or in the settings.
#[derive(Clone, Debug)]
pub struct Choices {
    /// Rule files named; those of the newest walk where none is.
    pub rules: Vec<String>,
    /// The day that dates count to; today where silent.
    pub on: Option<NaiveDate>,
    /// Units shown.
    pub units: Units,
    /// Who.
    pub by: Option<String>,
}

/// Cars on disk.
#[derive(Debug)]
pub struct DiskWorkspace {
    /// Where things are kept.
    pub paths: Paths,
    /// What the person chose.
    pub choices: Choices,
    /// Cars named by the path of their file.
    pub named: Vec<String>,
    /// Who carries records to the event this machine has joined, if it has.
    pub replicator: Option<Box<dyn Replicator>>,
    /// The rules read so far.
    pub cache: RulesetCache,
    /// The car read last of those that are opened.
    last_car: RefCell<Option<FoundCar>>,
    open: Option<OpenCar>,
    /// The data folder, while what is kept is only play.
    away_from: Option<PathBuf>,
}

/// Who carries what is kept to other machines. Nothing here waits for it.
pub trait Replicator: std::fmt::Debug {
    /// So many records were kept about a car, and its head file says so.
    fn kept(&self, car: &str, records: u64);

    /// How it stands, in a word or two.
    fn mark(&self) -> String;

    /// Ends, after a moment for what was kept last.
    fn finish(&self);

    /// What a writer is called.
    fn name_of(&self, writer: &str) -> Option<String>;
}

#[derive(Debug)]
struct OpenCar {
    id: String,
    log: LogWriter<DiskStorage>,
    /// The last record that was told to who carries records to other machines.
    told: u64,
    /// What a second session reads of this one.
    holder: Holder,
}

/// A car with its record, ready for any command.
#[derive(Debug)]
pub struct CarOnFile {
    /// The id its record is kept under; another than that of its file, where that was joined to another car.
    pub id: String,
    /// The car, with measured values in place of the file's.
    pub found: FoundCar,
    /// Those measured values, and what was set on the command line.
    pub overrides: Overrides,
    /// Its record up to the day asked for.
    pub history: History,
    /// The rules in force.
    pub rules: FoundRules,
    /// What else here may be the same car, and nobody said yet whether it is.
    pub same_car: Vec<SameCar>,
    /// What the reader should know: damage to the log, rules changed since.
    pub trouble: Vec<String>,
    /// Whether a copy of a log of it was set aside and is not settled.
    pub unsettled: bool,
    /// That records are later than the day asked for, where some are.
    pub left_out: Option<String>,
}

impl DiskWorkspace {
    /// A workspace over the folders of this user.
    pub fn new(paths: Paths, choices: Choices, named: Vec<String>) -> Self {
        let cache = RulesetCache::default();
        Self {
            paths,
            choices,
            named,
            replicator: None,
            cache,
            last_car: RefCell::default(),
            open: None,
            away_from: None,
        }
    }

    /// The day that dates count to.
    pub fn on(&self) -> NaiveDate {
        self.choices.on.unwrap_or_else(clock::today)
    }

    /// A car's whole record, and what is wrong with it.
    ///
    /// # Errors
    /// Where its folder cannot be read.
    pub fn history(&self, id: &str) -> Result<(History, Vec<String>), String> {
        let record = identity::record(&self.paths, id).map_err(|error| error.to_string())?;
        let own = self.open.as_ref().filter(|open| open.id == id).map(|open| &open.log);
        let mut trouble = Vec::new();
        for (folder, reading) in &record.folders {
            trouble.extend(links_in(&self.paths.car(folder)));
            let told = reading
                .problems
                .iter()
                .filter(|problem| own.is_none() || problem.fault != Fault::BeingWritten);
            let path = shown(&self.paths.car(folder));
            let remedy = |problem: &Problem| {
                problem.fault.remedy(id, &path).map_or_else(String::new, |remedy| format!(": {remedy}"))
            };
            trouble.extend(told.map(|problem| format!("log: {problem}{}", remedy(problem))));
        }
        trouble.extend(record.trouble);
        // A log that this session holds open is not just being written by another.
        Ok((record.history.with_past(own.and_then(LogWriter::past).cloned()), trouble))
    }

    /// A car with its record and rules, as they stood at the end of the day asked for.
    ///
    /// # Errors
    /// Whatever makes its file, record or rules unusable.
    pub fn car(&self, car: &str, overrides: &Overrides) -> Result<CarOnFile, String> {
        let car = &self.in_use(car);
        let first = load::find_car_again(&self.paths, car, &self.last_car)?;
        let id = identity::goes_on_under(&self.paths, &first.read.car.id);
        let (whole, mut trouble) = self.history(&id)?;
        let unsettled = recorded::is_unsettled(&self.paths, &id)?;
        let count = whole.all().len();
        let history = match self.choices.on {
            Some(on) => whole.until(on),
            None => whole,
        };
        let later = count - history.all().len();
        let left_out = self.choices.on.filter(|_| later > 0);
        let left_out = left_out.map(|on| match later {
            1 => format!("1 record later than {on} is left out."),
            _ => format!("{later} records later than {on} are left out."),
        });
        let mut all = overrides_of(&history);
        all.extend(overrides.clone());
        let found = if all.is_empty() { first } else { load::find_car(&self.paths, car, &all)? };
        let rules = if self.choices.rules.is_empty() {
            chosen::rules_of(&self.paths, &self.cache, self.on(), &history, &found.read.car)?
        } else {
            load::find_rules(&self.paths, &self.cache, self.on(), &self.choices.rules)?
        };
        trouble.extend(super::rename::other_number(&history, &found.read.car.number));
        let same_car = self.same_car_as(&found)?;
        trouble.extend(same_car.iter().map(|same| same.told(&self.paths)));
        trouble.extend(self.drifted(&id));
        trouble.extend(rules.notes.iter().cloned());
        trouble.extend(rules.strange_words(&found.read.car));
        Ok(CarOnFile { id, found, overrides: all, history, rules, same_car, trouble, unsettled, left_out })
    }

    /// Opens a car's log for keeping; another writer id is taken where this one's log is damaged.
    ///
    /// # Errors
    /// Where it cannot be opened, or another program has it.
    pub fn open_log(&mut self, id: &str) -> Result<Vec<String>, String> {
        if self.open.as_ref().is_some_and(|open| open.id == id && !open.log.is_poisoned()) {
            return Ok(Vec::new());
        }
        self.open = None;
        no_links(&self.paths.data, &self.paths.car(id))?;
        let writer = self.paths.writer_id()?;
        let mut notes = Vec::new();
        for attempt in 1..=9 {
            let name = if attempt == 1 { writer.clone() } else { format!("{writer}-{attempt}") };
            let storage = DiskStorage::create(self.paths.car(id)).map_err(|error| error.to_string())?;
            match LogWriter::open(storage, &name) {
                Ok(log) => {
                    notes.extend(log.notices().iter().cloned());
                    let holder = Holder::note(&self.paths, id, &name, self.choices.by.as_deref());
                    self.open = Some(OpenCar { id: id.to_owned(), told: log.last_seq(), log, holder });
                    return Ok(notes);
                }
                Err(LogError::Damaged(problem)) => {
                    notes.push(format!("{problem}: it stays as it is, and a new log is begun beside it"));
                }
                Err(LogError::Storage(error)) if error.trouble == Trouble::Held => {
                    return Err(holder::held(&self.paths, id, &name));
                }
                Err(error) => return Err(error.to_string()),
            }
        }
        Err(format!(
            "every log of this machine in {} is damaged: run `linewalk log verify {id}`",
            shown(&self.paths.car(id))
        ))
    }

    /// Takes a car away again that was made for something that came to nothing. What has a record stays.
    pub fn unmake(&mut self, id: &str) {
        let is_empty = self.history(id).is_ok_and(|(history, _)| history.all().is_empty());
        if is_id(id) && is_empty {
            self.open = self.open.take().filter(|open| open.id != id);
            // An empty folder that stays is a car of this number without a record: nothing is lost by it.
            let _ = std::fs::remove_dir_all(self.paths.car(id));
        }
    }

    /// Begins or takes up a walk.
    ///
    /// # Errors
    /// Whatever makes the car, its record, its rules or its log unusable.
    pub fn open_walk(
        &mut self,
        car: &str,
        profile: &str,
        stage: Option<&str>,
    ) -> Result<(Walk, Vec<String>), String> {
        self.settle()?;
        let on_file = self.car(car, &Overrides::new())?;
        on_file.rules.rules.offers(profile, stage).map_err(|told| told.join(": "))?;
        if path_of(car).is_file()
            && let Some(same) = on_file.same_car.first()
        {
            return Err(same.refused(car));
        }
        let id = on_file.id.clone();
        let mut notes = self.open_log(&id)?;
        load::remember(&self.paths, &id, &on_file.found)?;
        // The record again: opening the log may have set a torn end aside.
        let (history, _) = self.history(&id)?;
        let start = Start {
            car_file: Arc::clone(&on_file.found.file),
            car: on_file.found.read.car,
            rules: Arc::clone(&on_file.rules.rules),
            rule_files: on_file.rules.files.clone(),
            profile: profile.to_owned(),
            stage: stage.map(str::to_owned),
            station: None,
            lap: None,
            on: self.on(),
            units: self.choices.units,
            by: self.choices.by.clone(),
        };
        let mut walk = Walk::new(start, history).ok_or_else(|| format!("there is no profile {profile}"))?;
        walk.unsettled = on_file.unsettled;
        notes.extend(self.walked_elsewhere(&walk.history));
        notes.extend(on_file.trouble);
        notes.extend(load::offered(&walk.start.rules, &walk.start.car).filter(|_| walk.id.is_none()));
        Ok((walk, notes))
    }

    /// Walks of other machines on a car that have not ended and went on in the last half day, in a sentence.
    fn walked_elsewhere(&self, history: &History) -> Option<String> {
        let own = self.paths.writer_id().ok()?;
        let now = clock::now();
        let mut told = Vec::new();
        for walk in history.walks().iter().rev().filter(|walk| walk.ended.is_none()) {
            let Some(begun) = history.get(walk.id).filter(|begun| !begun.writer.starts_with(&own)) else {
                continue;
            };
            let last =
                history.all().iter().filter(|kept| kept.writer == begun.writer).map(|kept| kept.at).max();
            let last = last.unwrap_or(walk.at);
            if (now - last).num_hours() >= 12 {
                continue;
            }
            let named = self.replicator.as_ref().and_then(|replicator| replicator.name_of(&begun.writer));
            let lane = named.unwrap_or_else(|| format!("machine {}", begun.writer));
            let by = walk.started.by.as_ref().map_or_else(String::new, |by| format!(" by {by}"));
            told.push(format!(
                "{lane}{by}: {} since {}, last record {}",
                walk.started.profile,
                walk.at.format("%H:%M"),
                last.format("%H:%M")
            ));
        }
        (!told.is_empty()).then(|| format!("open in another lane ({})", told.join("; ")))
    }

    fn line(&self, open: &str) -> CarLine {
        let mut line = CarLine {
            open: open.to_owned(),
            id: open.to_owned(),
            number: String::new(),
            name: None,
            keeper: None,
            open_items: [0; 3],
            being_worked: false,
            state: None,
            last: None,
            walking: None,
            trouble: None,
            put_away: false,
        };
        // One that is named is opened next; of the others one read is enough, and nothing is kept.
        let found = if self.named.iter().any(|named| named == open) {
            load::find_car_again(&self.paths, open, &self.last_car)
        } else {
            load::find_car(&self.paths, open, &Overrides::new())
        };
        match found {
            Ok(found) => {
                line.id = identity::goes_on_under(&self.paths, &found.read.car.id);
                line.number.clone_from(&found.read.car.number);
                line.name.clone_from(&found.read.car.name);
                line.keeper.clone_from(&found.read.car.keeper);
                // Its state needs the rules and its numbers.
                line.being_worked = true;
            }
            Err(error) => line.trouble = error.lines().next().map(str::to_owned),
        }
        line.put_away = identity::put_away(&self.paths, &line.id).is_some();
        match self.history(&line.id) {
            Ok((history, _)) => recorded::fill_line(&mut line, &history),
            Err(error) => line.trouble = Some(error),
        }
        line
    }
}

impl Journal for DiskWorkspace {
    fn new_id(&mut self) -> String {
        clock::new_id()
    }

    fn keep(&mut self, decided: Decided) -> Result<Kept, String> {
        let Some(open) = &mut self.open else { return Err("no car is open: nothing was kept".to_owned()) };
        clock::usable()?;
        open.log.append(clock::now(), decided.id, decided.entry).map_err(|error| error.to_string())
    }

    fn settle(&mut self) -> Result<(), String> {
        let Some(open) = &mut self.open else { return Ok(()) };
        open.log.settle().map_err(|error| error.to_string())?;
        // Only now: who carries records reads from the head how many there are.
        let fresh = open.log.last_seq() - open.told;
        if let Some(replicator) = self.replicator.as_ref().filter(|_| fresh > 0) {
            replicator.kept(&open.id, fresh);
        }
        open.told += fresh;
        Ok(())
    }

    fn photo(&mut self, path: &str) -> Result<Photo, String> {
        let Some(open) = &self.open else {
            return Err("no car is open: the photo was not copied".to_owned());
        };
        photo::copy(&self.paths.data, &self.paths.car(&open.id).join("photos"), &path_of(path))
    }
}

impl Workspace for DiskWorkspace {
    fn cut_off(&self) -> Option<Past> {
        self.open.as_ref()?.log.past().cloned()
    }

    fn now(&self) -> Moment {
        clock::now()
    }

    fn cars(&mut self) -> Result<Vec<CarLine>, String> {
        let mut lines: Vec<CarLine> = self.named.iter().map(|path| self.line(path)).collect();
        for id in self.paths.cars()? {
            let goes_on = identity::goes_on_under(&self.paths, &id) == id;
            if goes_on && lines.iter().all(|line| line.id != id) {
                lines.push(self.line(&id));
            }
        }
        Ok(lines)
    }

    fn ahead(&self, line: &CarLine) -> Option<Ahead> {
        let CarOnFile { found, overrides, history, rules, .. } =
            self.car(&line.open, &Overrides::new()).ok()?;
        let readings = readings_of(&history, &rules.rules);
        let (file, car) = (found.file, found.read.car);
        let ahead = Ahead { file, car, rules: rules.rules, overrides, readings, on: self.on() };
        ahead.known().is_none().then_some(ahead)
    }

    fn worked(&self, line: &CarLine) -> Option<CarLine> {
        let CarOnFile { found, overrides, history, rules, unsettled, .. } =
            self.car(&line.open, &Overrides::new()).ok()?;
        let car = &found.read.car;
        let situation = Situation::new(car, readings_of(&history, &rules.rules), self.on());
        let numbers = rules.rules.numbers_of(&found.file, &overrides, &situation);
        let terms = || Terms { car, numbers: &numbers, readings: &situation.readings };
        let walks = history.walks();
        let profile = walks.last().and_then(|walk| rules.rules.profile(&walk.started.profile));
        let (checks, _) = asked(&rules.rules, car, profile, None);
        let kept = calculated(&rules.rules, &checks, &terms(), &history, self.choices.units);
        let mut open = history.open();
        open.retain(|one| !is_overtaken(one.finding, &rules.rules, terms, self.choices.units));
        open.extend(standings_of_calculated(&kept));
        let items_of = |check: &Check| items(check, car, &numbers);
        let answered =
            answered_lately(&rules.rules, || Some(terms()), items_of, &history, self.choices.units);
        let newest = walks.iter().max_by_key(|walk| walk.at);
        let state = StateOf {
            rules: &rules.rules,
            open: &open,
            against: 0,
            asked: &checks,
            answered: &answered,
            signed: newest.is_some_and(|walk| is_signed(walk, rules.rules.profile(&walk.started.profile))),
            being_worked: false,
            unsettled,
        };
        let (state, open_items) = (Some(state.state()), by_weight(&open));
        Some(CarLine { open_items, state, being_worked: false, ..line.clone() })
    }

    fn readable(&self, car: &str) -> Result<(), String> {
        load::find_car_again(&self.paths, car, &self.last_car).map(|_| ())
    }

    fn open(&mut self, car: &str, profile: &str, stage: Option<&str>) -> Result<(Walk, Vec<String>), String> {
        self.open_walk(car, profile, stage)
    }

    fn same_car(&mut self, car: &str) -> Result<Option<SameCarQuestion>, String> {
        self.question(car)
    }

    fn say_same_car(&mut self, car: &str, same: bool) -> Result<String, String> {
        self.answer_same_car(car, same)
    }

    fn known(&mut self, number: &str) -> Result<Option<String>, String> {
        let known = identity::numbers(&self.paths)?.into_iter();
        Ok(known.filter(|(_, known)| identity::same_number(known, number)).map(|(id, _)| id).next())
    }

    fn create(&mut self, number: &str, has: &[Tag], without: &[Tag]) -> Result<String, String> {
        let number = number.trim();
        if number.is_empty()
            || number.chars().any(crate::diagnostic::needs_escape)
            || number.chars().count() > 20
        {
            return Err("a car's number is 1 to 20 plain characters".to_owned());
        }
        if let Some(known) = self.known(number)? {
            return Err(format!("car {number} is here already, with the id {known}: open that one"));
        }
        let known = self.paths.cars()?;
        let id = identity::free_id(number, &known);
        let tags = |tags: &[Tag]| {
            tags.iter().map(|tag| format!("\"{}\"", tag.word())).collect::<Vec<_>>().join(", ")
        };
        let quoted = toml::Value::String(number.to_owned());
        let mut text = format!("format = 1\n\n[car]\nid = \"{id}\"\nnumber = {quoted}\n");
        if !has.is_empty() {
            text.push_str(&format!("equipment = [{}]\n", tags(has)));
        }
        if !without.is_empty() {
            text.push_str(&format!("without = [{}]\n", tags(without)));
        }
        write_inside(&self.paths.data, &self.paths.car(&id).join("car.toml"), text.as_bytes())?;
        Ok(id)
    }

    fn save_report(&mut self, name: &str, bytes: &[u8]) -> Result<String, String> {
        let Some(open) = &self.open else { return Err("no car is open".to_owned()) };
        let path = self.paths.car(&open.id).join("reports").join(name);
        write_inside(&self.paths.data, &path, bytes)?;
        Ok(shown(&path))
    }

    fn drafts(&mut self) -> Result<Vec<Draft>, String> {
        self.open.as_ref().map_or(Ok(Vec::new()), |open| drafts::read(&self.paths, &open.id))
    }

    fn keep_drafts(&mut self, put_by: &[Draft]) -> Result<(), String> {
        let Some(open) = &self.open else { return Err("no car is open".to_owned()) };
        drafts::write(&self.paths, &open.id, put_by)
    }

    fn has_sample(&self) -> bool {
        // What other lanes see is no play.
        self.replicator.is_none()
    }

    fn play(&mut self) -> Result<String, String> {
        const ID: &str = "heron";
        let own = self.paths.data.clone();
        self.paths.data = own.join(PLAY);
        let text = SAMPLE.replacen("name = \"Heron\"", "name = \"Heron (sample)\"", 1);
        let written = write_inside(&own, &self.paths.car(ID).join("car.toml"), text.as_bytes());
        if let Err(message) = written {
            self.paths.data = own;
            return Err(message);
        }
        (self.open, self.away_from) = (None, Some(own));
        Ok(ID.to_owned())
    }

    fn is_playing(&self) -> bool {
        self.away_from.is_some()
    }

    fn stop_playing(&mut self) {
        if let Some(own) = self.away_from.take() {
            self.open = None;
            self.paths.data = own;
        }
    }

    fn kept_in(&self) -> String {
        shown(&self.paths.data)
    }

    fn set_person(&mut self, word: &str) -> Result<(), String> {
        super::config::keep(&self.paths, "person", word)
    }

    fn elsewhere(&mut self, car: &str) -> Option<String> {
        let id = load::find_car_again(&self.paths, car, &self.last_car).ok()?.read.car.id.clone();
        let (history, _) = self.history(&id).ok()?;
        self.walked_elsewhere(&history)
    }

    fn mark(&self) -> Option<String> {
        self.replicator.as_ref().map(|replicator| replicator.mark())
    }

    fn offered(&self) -> Offered {
        load::find_rules(&self.paths, &self.cache, self.on(), &self.choices.rules)
            .map_or_else(|_| Offered::default(), |found| Offered::of(&found.rules, self.on()))
    }

    fn by(&self) -> Option<String> {
        self.choices.by.clone()
    }

    fn set_by(&mut self, by: &str) -> Result<(), String> {
        self.choices.by = Some(by.trim().to_owned()).filter(|by| !by.is_empty());
        if let Some(open) = &self.open {
            open.holder.write(&self.paths, self.choices.by.as_deref());
        }
        super::config::keep(&self.paths, "by", by.trim())
    }
}
