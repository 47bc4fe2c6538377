//! A ruleset as it is in force: checks, profiles, laps, instruments, and where each came from.

use std::sync::OnceLock;

use chrono::NaiveDate;

use crate::diagnostic::{Place, SourceFile, did_you_mean, escape_control};
use crate::model::entry::{Finding, Outcome, RulesMark, Severity};
use crate::model::vocabulary::{Declared, folded};
use crate::physics::conformity::Shape;
use crate::units::{Kind, Span};

use super::builtin::built_in;
use super::check::Check;
use super::condition::Condition;
use super::dated::{DatedChange, Dates};
use super::lessens::Lessened;

/// One file of the stack that makes a ruleset.
#[derive(Clone, Debug)]
pub struct Layer {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Its edition.
    pub edition: String,
    /// When somebody last went through it.
    pub reviewed: Option<NaiveDate>,
    /// How long that holds.
    pub review_every: Option<Span>,
    /// What it wants printed on every report.
    pub notice: Option<String>,
    /// The days it is in force.
    pub dates: Dates,
    /// Whether it extends nothing; such a one never lapses.
    pub is_root: bool,
    /// The file it was read from.
    pub file: String,
    /// SHA-256 of its text, once somebody asked for it by [`Self::sum`].
    pub sha256: OnceLock<String>,
    /// Where it says when it was reviewed, or its beginning.
    pub place: Place,
}

impl Layer {
    /// SHA-256 of its text. The first screen shows none, and a start is shorter without it.
    pub fn sum(&self) -> &str {
        self.sha256.get_or_init(|| self.place.file.sha256())
    }

    /// Whether it has the id of shipped rules and reads otherwise.
    pub fn is_instead_of_shipped(&self) -> bool {
        let file = &self.place.file;
        let texts = |file: &SourceFile| file.parts.iter().map(|part| part.text.clone()).collect::<Vec<_>>();
        built_in(&self.id).is_some_and(|shipped| {
            file.name != shipped.name && (file.text != shipped.text || texts(file) != texts(&shipped))
        })
    }

    /// The same in a sentence, with the file and the sum of its text.
    pub(super) fn instead_of_shipped(&self) -> Option<String> {
        self.is_instead_of_shipped().then(|| {
            format!(
                "Rules {} are not the shipped ones: they are read from {}, SHA-256 {}. Name them otherwise if that is not meant.",
                self.id,
                self.file,
                self.sum()
            )
        })
    }

    /// The day past which it is stale.
    pub fn stale_after(&self) -> Option<NaiveDate> {
        self.review_every?.after(self.reviewed?)
    }

    /// Whether it is stale on a day.
    pub fn is_stale(&self, on: NaiveDate) -> bool {
        self.stale_after().is_some_and(|day| on > day)
    }
}

/// Rules in force.
#[derive(Clone, Debug, Default)]
pub struct Ruleset {
    /// The files it was made of, the first extended first.
    pub layers: Vec<Layer>,
    /// Ways round the car.
    pub profiles: Vec<Profile>,
    /// Lap orders.
    pub laps: Vec<Lap>,
    /// Instruments.
    pub instruments: Vec<Instrument>,
    /// Stations.
    pub stations: Vec<Station>,
    /// Checks, by station in the order of the files.
    pub checks: Vec<Check>,
    /// Checks that a later file dropped.
    pub dropped: Vec<Dropped>,
    /// Keys that a later file sets to what they were already.
    pub repeats: Vec<Repeat>,
    /// What each later file changed or added.
    pub changes: Vec<Change>,
    /// What later files ask or stop less, each with its reason.
    pub lessened: Vec<Lessened>,
    /// Changes that have a first or a last day, or whose layer has.
    pub dated: Vec<DatedChange>,
    /// Words that its files declare.
    pub words: Declared,
}

/// What a later file did to one key of something it named, or that it is new.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// The layer that did it.
    pub layer: String,
    /// The array it is in: `check`, `profile`, `lap`, `instrument` or `station`.
    pub array: String,
    /// Its id.
    pub id: String,
    /// The key, from there; empty where the whole of it is new.
    pub key: String,
    /// As it was written before; nothing where the key is new.
    pub before: Option<String>,
    /// As it is written now; nothing where the key was cleared.
    pub after: Option<String>,
    /// Where the file says so.
    pub at: Place,
}

/// A key that a later file sets to what it was already.
#[derive(Clone, Debug)]
pub struct Repeat {
    /// What it is in: "the check lf-hose-at-steer-lock".
    pub what: String,
    /// The key, from there.
    pub key: String,
    /// Where it is set again.
    pub at: Place,
    /// Where it was set before.
    pub before: Place,
}

/// A check that a later file dropped.
#[derive(Clone, Debug)]
pub struct Dropped {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Why.
    pub reason: String,
    /// The layer that dropped it.
    pub layer: String,
}

/// Order of a profile.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// Station by station, once round.
    Lap,
    /// Any order.
    Free,
}

/// A way round the car.
#[derive(Clone, Debug)]
pub struct Profile {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Its order.
    pub order: Order,
    /// The profile whose checks it walks; its own where silent.
    pub from: Option<String>,
    /// Severities it walks.
    pub only: Vec<Severity>,
    /// Signatures it asks for.
    pub signatures: Vec<String>,
    /// Stages of a build, in order.
    pub stages: Vec<String>,
}

/// A lap order.
#[derive(Clone, Debug)]
pub struct Lap {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Stations in order.
    pub stations: Vec<String>,
    /// Cars it is for.
    pub when: Condition,
}

/// An instrument.
#[derive(Clone, Debug)]
pub struct Instrument {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Half-width as typed: `1/16 in`, `2.5 % of 1500 psi`.
    pub accuracy: String,
    /// Shape of its error.
    pub shape: Shape,
    /// Its half-widths by what it measures.
    pub(super) widths: Vec<(Kind, f64)>,
    /// How far two of its readings differ by themselves, by what it measures.
    pub(super) repeats: Vec<(Kind, f64)>,
}

impl Instrument {
    /// Its half-width in SI for a kind of quantity, where it measures that kind.
    pub fn half_width(&self, kind: Kind) -> Option<f64> {
        self.widths.iter().find(|(known, _)| *known == kind).map(|(_, width)| *width)
    }

    /// How far two of its readings within one test differ by themselves, in SI; its accuracy is another matter.
    pub fn repeat(&self, kind: Kind) -> Option<f64> {
        self.repeats.iter().find(|(known, _)| *known == kind).map(|(_, repeat)| *repeat)
    }
}

/// Which side of the car a station is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the words say it")]
pub enum Side {
    Left,
    Right,
    Middle,
}

/// A station of the lap.
#[derive(Clone, Debug)]
pub struct Station {
    /// Its id.
    pub id: String,
    /// Two letters that the codes of its checks begin with.
    pub code: Option<String>,
    /// Where that stands in its file.
    pub place: Place,
    /// Its title.
    pub title: String,
    /// 0 at the rear axle, 1 at the front axle.
    pub along: f64,
    /// Which side.
    pub side: Side,
    /// What can hurt here.
    pub caution: Option<String>,
    /// Where to stand.
    pub stand: Option<String>,
    /// What to have in the hand.
    pub hold: Option<String>,
}

impl Ruleset {
    /// What a finding is listed by: what is wrong, where it is open by a reject, else the title of its check. A title says
    /// what is wanted, so what keeps it open stands before it.
    pub fn listed(&self, finding: &Finding) -> String {
        let check = self.check(&finding.check);
        let title = check.map_or(&finding.title, |check| &check.title);
        let subject = check.map_or(finding.title.as_str(), Check::looked_at);
        match (check, finding.result) {
            (Some(check), Outcome::Reject | Outcome::Repaired) => check.fault_of(finding).to_owned(),
            (_, Outcome::NotSeen) => format!("Not seen: {subject}"),
            (_, Outcome::Undecided) => format!("Undecided: {subject}"),
            (_, Outcome::NotYet) => format!("Not fitted yet: {subject}"),
            _ => title.clone(),
        }
    }

    /// A check by id.
    pub fn check(&self, id: &str) -> Option<&Check> {
        self.checks.iter().find(|check| check.id == id)
    }

    /// A check by its id or its code.
    pub fn find(&self, name: &str) -> Option<&Check> {
        self.check(name).or_else(|| self.by_code(name))
    }

    /// That there is no check of a name, and which may be meant.
    pub fn no_check(&self, name: &str) -> String {
        let near = did_you_mean(name, self.checks.iter().map(|check| check.id.as_str()));
        let help = near.map_or_else(
            || ": `linewalk rules list` names them all".to_owned(),
            |near| format!(": did you mean {near}?"),
        );
        format!("there is no check {}{help}", escape_control(name))
    }

    /// A profile by id.
    pub fn profile(&self, id: &str) -> Option<&Profile> {
        self.profiles.iter().find(|profile| profile.id == id)
    }

    /// Whether there is a profile, and a stage of it: under one that nobody knows, checks would be left out unsaid.
    ///
    /// # Errors
    /// What is not known, and what is.
    pub fn offers(&self, profile: &str, stage: Option<&str>) -> Result<(), [String; 2]> {
        let Some(known) = self.profile(profile) else {
            let ids: Vec<&str> = self.profiles.iter().map(|profile| profile.id.as_str()).collect();
            return Err([
                format!("there is no profile {}", escape_control(profile)),
                format!("profiles are {}", ids.join(", ")),
            ]);
        };
        match stage {
            Some(stage) if known.stages.is_empty() => Err([
                format!("profile {profile} has no stages"),
                format!("leave stage {} out", escape_control(stage)),
            ]),
            Some(stage) if known.stages.iter().all(|one| one != stage) => Err([
                format!("profile {profile} has no stage {}", escape_control(stage)),
                format!("stages are {}", known.stages.join(", ")),
            ]),
            _ => Ok(()),
        }
    }

    /// An instrument by id, whatever its capitals.
    pub fn instrument(&self, id: &str) -> Option<&Instrument> {
        let id = folded(id);
        self.instruments.iter().find(|instrument| folded(&instrument.id) == id)
    }

    /// A station by id.
    pub fn station(&self, id: &str) -> Option<&Station> {
        self.stations.iter().find(|station| station.id == id)
    }

    /// The mark of the last layer, for the log.
    pub fn mark(&self) -> RulesMark {
        self.layers.last().map_or_else(RulesMark::default, layer_mark)
    }

    /// The mark of every layer, the first extended first.
    pub fn marks(&self) -> Vec<RulesMark> {
        self.layers.iter().map(layer_mark).collect()
    }

    /// Which layer a place is in, counted from the first extended.
    pub fn layer_at(&self, place: &Place) -> Option<usize> {
        let holds = |layer: &Layer| {
            let file = &layer.place.file;
            file.name == place.file.name || file.parts.iter().any(|part| part.name == place.file.name)
        };
        self.layers.iter().position(holds)
    }

    /// What one layer changed or added, in the order of its file.
    pub fn changes_of(&self, layer: &str) -> impl Iterator<Item = &Change> {
        self.changes.iter().filter(move |change| change.layer == layer)
    }

    /// The checks that one layer switched off.
    pub fn dropped_by(&self, layer: &str) -> impl Iterator<Item = &Dropped> {
        self.dropped.iter().filter(move |dropped| dropped.layer == layer)
    }

    /// What one layer asks or stops less.
    pub fn lessened_by(&self, layer: &str) -> impl Iterator<Item = &Lessened> {
        self.lessened.iter().filter(move |lessened| lessened.layer == layer)
    }

    /// Which layers are past their review date, in one line that begins with the word for it.
    pub fn stale_in_short(&self, on: NaiveDate) -> Option<String> {
        let stale: Vec<&Layer> = self.stale(on).collect();
        let since = stale.iter().filter_map(|layer| layer.stale_after()).min()?;
        let names: Vec<String> =
            stale.iter().map(|layer| format!("{} {}", layer.id, layer.edition)).collect();
        Some(format!("STALE RULES, review was due {since}: {}", names.join(", ")))
    }

    /// Every layer past its review date as a sentence for a report.
    pub fn stale_sentences(&self, on: NaiveDate) -> impl Iterator<Item = String> {
        self.stale(on).map(|layer| {
            let day = layer.stale_after().map(|day| day.to_string()).unwrap_or_default();
            format!(
                "The rules are stale: {} {} was to be reviewed by {day}. Read the current rulebook before using this.",
                layer.id, layer.edition
            )
        })
    }

    /// Layers that are stale on a day.
    pub fn stale(&self, on: NaiveDate) -> impl Iterator<Item = &Layer> {
        self.layers.iter().filter(move |layer| layer.is_stale(on))
    }
}

fn layer_mark(layer: &Layer) -> RulesMark {
    RulesMark { id: layer.id.clone(), edition: layer.edition.clone(), sha256: layer.sum().to_owned() }
}
