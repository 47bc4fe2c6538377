//! A walk on ten checks of every kind, kept in memory: what the tests of verdicts and of paper play with.

use std::collections::BTreeMap;

use linewalk::diagnostic::{SourceFile, any_error};
use linewalk::model::entry::{Entry, Finding, Kept, Outcome};
use linewalk::model::history::History;
use linewalk::model::read_car;
use linewalk::rules::load;
use linewalk::source::Overrides;
use linewalk::units::Units;
use linewalk::walk::{Action, Journal, MemoryJournal, Objection, Reply, Start, Walk, decide, keep_all};

use crate::shipped::day;

pub const RULES: &str = include_str!("../fixtures/walk/rules.toml");
pub const CAR: &str = include_str!("../fixtures/walk/car.toml");

/// A walk and what keeps it.
pub struct Bench {
    pub walk: Walk,
    pub keeper: MemoryJournal,
}

pub fn start(car: &str, profile: &str) -> Start {
    let rules = load(&[SourceFile::new("rules.toml", RULES)], &|_, _| None);
    assert!(!any_error(&rules.diagnostics), "{:?}", rules.diagnostics);
    let car_file = SourceFile::new("car.toml", car);
    let read = read_car(&car_file, &Overrides::new());
    assert!(!any_error(&read.diagnostics), "{:?}", read.diagnostics);
    Start {
        car_file,
        car: read.car,
        rules: rules.rules,
        rule_files: Vec::new(),
        profile: profile.to_owned(),
        stage: None,
        station: None,
        lap: None,
        on: day("2026-11-25"),
        units: Units::Us,
        by: Some("A.B.".to_owned()),
    }
}

impl Bench {
    /// On a car, with nothing answered.
    pub fn fresh(car: &str) -> Self {
        let walk = Walk::new(start(car, "owner"), History::default()).unwrap();
        let clock = Some("2026-11-25T10:00:00Z".parse().unwrap());
        Self { walk, keeper: MemoryJournal { clock, ..MemoryJournal::default() } }
    }

    /// With pins in and the car made safe.
    pub fn on(car: &str) -> Self {
        let mut bench = Self::fresh(car);
        bench.say("pins", Outcome::Accept).unwrap();
        bench.say("safe", Outcome::Accept).unwrap();
        bench
    }

    /// On the sound car.
    pub fn sound() -> Self {
        Self::on(CAR)
    }

    /// On a car whose right hose is short by number: 12.2 in over 12 in.
    pub fn short() -> Self {
        Self::on(&short_car())
    }

    /// Carries an action out; gives the last entry kept.
    pub fn act(&mut self, action: Action) -> Result<Entry, Objection> {
        let entries = decide(&self.walk, &action, &mut || self.keeper.new_id())?;
        keep_all(&mut self.walk, &mut self.keeper, entries).unwrap();
        Ok(self.keeper.kept.last().unwrap().entry.clone())
    }

    pub fn reply(&mut self, reply: Reply) -> Result<Finding, Objection> {
        match self.act(Action::Answer(Box::new(reply)))? {
            Entry::Finding(finding) => Ok(*finding),
            other => panic!("{other:?}"),
        }
    }

    /// A plain answer.
    pub fn say(&mut self, check: &str, result: Outcome) -> Result<Finding, Objection> {
        self.reply(Reply::plain(check, result))
    }

    /// The id of the last record.
    pub fn last_id(&self) -> String {
        self.keeper.kept.last().unwrap().id.clone()
    }

    /// The result that stands for a check.
    pub fn standing(&self, check: &str) -> Option<Outcome> {
        self.walk.history.standing_of(check).map(|standing| standing.finding.result)
    }

    /// Whether anything of a check is open.
    pub fn is_open(&self, check: &str) -> bool {
        self.walk.history.open().iter().any(|standing| standing.finding.check == check)
    }

    pub fn records(&self) -> &[Kept] {
        &self.keeper.kept
    }
}

pub fn short_car() -> String {
    let at = CAR.rfind("length = \"14 in\"").unwrap();
    format!("{}length = \"12.2 in\"{}", &CAR[..at], &CAR[at + "length = \"14 in\"".len()..])
}

/// A reply with one typed value.
pub fn typed(check: &str, result: Option<Outcome>, value: &str) -> Reply {
    let values = BTreeMap::from([(String::new(), value.to_owned())]);
    Reply { check: check.to_owned(), result, values, ..Reply::default() }
}

/// A reply with several typed values.
pub fn rows(check: &str, result: Option<Outcome>, values: &[(&str, &str)]) -> Reply {
    let values = values.iter().map(|(id, value)| ((*id).to_owned(), (*value).to_owned())).collect();
    Reply { check: check.to_owned(), result, values, ..Reply::default() }
}

pub fn of(item: &str, reply: Reply) -> Reply {
    Reply { of: Some(item.to_owned()), ..reply }
}

pub fn noted(reply: Reply) -> Reply {
    Reply { note: Some("looked at twice".to_owned()), ..reply }
}
