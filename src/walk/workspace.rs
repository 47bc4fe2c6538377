//! What the terminal app asks of the world outside: cars, time, and keeping. The shell answers; tests answer by hand.

use serde::{Deserialize, Serialize};

use crate::model::Tag;
use crate::model::doubt::Past;
use crate::model::entry::{Kept, Moment, Photo, Severity};
use crate::rules::{CarState, Ruleset};

use super::ahead::Ahead;
use super::decide::Decided;
use super::persist::Journal;
use super::state::Walk;

/// What the rules in force offer before a car is opened.
#[derive(Clone, Debug, Default)]
pub struct Offered {
    /// Their profiles: id and title.
    pub profiles: Vec<(String, String)>,
    /// Which of them are past their review date, begin, end or ended, in one line.
    pub stale: Option<String>,
}

impl Offered {
    /// What these rules offer on a day.
    pub fn of(rules: &Ruleset, on: chrono::NaiveDate) -> Self {
        let profiles = rules.profiles.iter().map(|profile| (profile.id.clone(), profile.title.clone()));
        Self { profiles: profiles.collect(), stale: rules.in_short_of_day(on) }
    }
}

/// One car in the list.
#[derive(Clone, Debug, PartialEq)]
pub struct CarLine {
    /// Its id, or the path of its file: what opens it.
    pub open: String,
    /// Its id.
    pub id: String,
    /// The number it runs under.
    pub number: String,
    /// What it is called.
    pub name: Option<String>,
    /// Who answers for it.
    pub keeper: Option<String>,
    /// Open items by severity: stop, fix, note.
    pub open_items: [usize; 3],
    /// Whether its numbers, which may show more, are still to be worked out.
    pub being_worked: bool,
    /// The state it is in, once its numbers are worked out.
    pub state: Option<CarState>,
    /// When something was last kept about it.
    pub last: Option<Moment>,
    /// Profile of a walk that has not ended.
    pub walking: Option<String>,
    /// What is wrong with its file or log, where something is.
    pub trouble: Option<String>,
    /// Whether it is put away: the list leaves it out, its number still finds it.
    pub put_away: bool,
}

impl CarLine {
    /// Open items of one severity.
    pub fn open_of(&self, severity: Severity) -> usize {
        let [stop, fix, note] = self.open_items;
        match severity {
            Severity::Stop => stop,
            Severity::Fix => fix,
            Severity::Note => note,
        }
    }
}

/// Whether two things are one car, asked before one of them is opened.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SameCarQuestion {
    /// Whether two records would be joined; else one file would take another's place.
    pub joins: bool,
    /// The one that is opened.
    pub here: SameCarPart,
    /// The other one.
    pub other: SameCarPart,
    /// What the file used from now on leaves unsaid, or says the other way.
    pub differs: Vec<String>,
}

/// One of two things that may be one car.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SameCarPart {
    /// The id its record is kept under.
    pub id: String,
    /// The number it runs under.
    pub number: String,
    /// What it is called.
    pub name: Option<String>,
    /// Who answers for it.
    pub keeper: Option<String>,
    /// The class or discipline it runs in.
    pub class: Option<String>,
    /// The file that describes it.
    pub file: String,
    /// How many records are kept.
    pub records: usize,
    /// When something was last kept about it.
    pub last: Option<Moment>,
    /// What stands open and stops it.
    pub stops: Vec<String>,
}

/// A text half typed and put by. It is in no record, and stays with its check until it is kept or emptied.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Draft {
    /// The check.
    pub check: String,
    /// The item, where it is about one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of: Option<String>,
    /// What it is for: a note, a photo, a value of a row …
    pub what: String,
    /// The text.
    pub text: String,
}

/// The world outside, as the terminal app sees it. One car is open at a time; what is kept goes to its log.
pub trait Workspace: Journal {
    /// The time.
    fn now(&self) -> Moment;

    /// Every car known, in the data folder and on the command line.
    ///
    /// # Errors
    /// Why the data folder cannot be read.
    fn cars(&mut self) -> Result<Vec<CarLine>, String>;

    /// The numbers that a car of the list waits for; none where it waits for none.
    fn ahead(&self, _line: &CarLine) -> Option<Ahead> {
        None
    }

    /// A car of the list with what its numbers show, for which these have to be worked out; none where they cannot be.
    fn worked(&self, _line: &CarLine) -> Option<CarLine> {
        None
    }

    /// Whether a car's file can be read.
    ///
    /// # Errors
    /// That there is no such car, or its file's mistakes.
    fn readable(&self, car: &str) -> Result<(), String>;

    /// Opens a car for a walk of a profile; what it says of itself beside the walk (a torn log tail set aside,
    /// rules changed since) comes with it.
    ///
    /// # Errors
    /// Why it cannot be opened: its file's mistakes, or another program that has it open.
    fn open(&mut self, car: &str, profile: &str, stage: Option<&str>) -> Result<(Walk, Vec<String>), String>;

    /// Records of the open car that stand past the head of this machine's log, where no record says so yet.
    fn cut_off(&self) -> Option<Past> {
        None
    }

    /// What may be the same car as one that is about to be opened, where nobody said yet whether it is.
    ///
    /// # Errors
    /// Why that cannot be found out.
    fn same_car(&mut self, _car: &str) -> Result<Option<SameCarQuestion>, String> {
        Ok(None)
    }

    /// Says whether it is, and gives what opens the car.
    ///
    /// # Errors
    /// Why it could not be kept.
    fn say_same_car(&mut self, car: &str, _same: bool) -> Result<String, String> {
        Ok(car.to_owned())
    }

    /// What opens the car of a number, read anew: another lane may have begun it since the list was read.
    ///
    /// # Errors
    /// Why the cars cannot be read.
    fn known(&mut self, _number: &str) -> Result<Option<String>, String> {
        Ok(None)
    }

    /// Makes a new car from its number and what it has or has not; gives what opens it.
    ///
    /// # Errors
    /// Why it could not be made.
    fn create(&mut self, number: &str, has: &[Tag], without: &[Tag]) -> Result<String, String>;

    /// Writes a report beside the car's log and gives its path.
    ///
    /// # Errors
    /// Why it could not be written.
    fn save_report(&mut self, name: &str, bytes: &[u8]) -> Result<String, String>;

    /// Texts put by about the open car.
    ///
    /// # Errors
    /// Why they could not be read.
    fn drafts(&mut self) -> Result<Vec<Draft>, String> {
        Ok(Vec::new())
    }

    /// Puts these texts by about the open car, in place of those before; they survive whatever ends the program.
    ///
    /// # Errors
    /// Why they could not be written.
    fn keep_drafts(&mut self, _drafts: &[Draft]) -> Result<(), String> {
        Ok(())
    }

    /// Whether there is a sample car to try things on.
    fn has_sample(&self) -> bool {
        false
    }

    /// Leaves the cars for the sample car, which is kept apart from them, and gives what opens it.
    ///
    /// # Errors
    /// Why it could not be written.
    fn play(&mut self) -> Result<String, String> {
        Err("there is no sample car here".to_owned())
    }

    /// Whether what is kept now is only play.
    fn is_playing(&self) -> bool {
        false
    }

    /// Goes back from play to the cars.
    fn stop_playing(&mut self) {}

    /// The folder that everything is kept in.
    fn kept_in(&self) -> String {
        String::new()
    }

    /// Keeps in the settings which of the three kinds of person this is.
    ///
    /// # Errors
    /// Why the settings could not be written.
    fn set_person(&mut self, _word: &str) -> Result<(), String> {
        Ok(())
    }

    /// Who else has a car open now, in a sentence; asked before it is opened.
    fn elsewhere(&mut self, _car: &str) -> Option<String> {
        None
    }

    /// How the event joined stands, in a word or two; `None` where none is joined.
    fn mark(&self) -> Option<String> {
        None
    }

    /// What the rules in force offer; nothing where they cannot be read.
    fn offered(&self) -> Offered;

    /// Who walks, where it was said.
    fn by(&self) -> Option<String>;

    /// Says who walks from now on, and keeps it in the settings.
    ///
    /// # Errors
    /// Why the settings could not be written; it holds for this run all the same.
    fn set_by(&mut self, by: &str) -> Result<(), String>;
}

/// A workspace that keeps everything in memory, for tests and benches.
#[derive(Debug, Default)]
pub struct MemoryJournal {
    /// What was kept.
    pub kept: Vec<Kept>,
    /// The time of the next entry; advances a second an entry.
    pub clock: Option<Moment>,
    /// Whether keeping fails from now on.
    pub failing: bool,
    /// How many ids were given.
    pub issued: u64,
}

impl Journal for MemoryJournal {
    fn new_id(&mut self) -> String {
        self.issued += 1;
        format!("record-{}", self.issued)
    }

    fn keep(&mut self, decided: Decided) -> Result<Kept, String> {
        if self.failing {
            return Err("the disk is full: nothing was kept".to_owned());
        }
        let seq = u64::try_from(self.kept.len()).unwrap_or(u64::MAX) + 1;
        let at = self.clock.unwrap_or_default();
        self.clock = at.checked_add_signed(chrono::TimeDelta::seconds(1));
        let kept = Kept { id: decided.id, writer: "memory".to_owned(), seq, at, entry: decided.entry };
        self.kept.push(kept.clone());
        Ok(kept)
    }

    fn photo(&mut self, path: &str) -> Result<Photo, String> {
        Ok(Photo { file: path.to_owned(), sha256: "0".repeat(64) })
    }
}
