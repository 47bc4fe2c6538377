//! `when` and `unless`: three-valued questions about a car.

use crate::mistake::{Mistake, did_you_mean};
use crate::model::tag::{self, TAGS};
use crate::model::{Answer3, Car, EnginePlace, Seat, Tag};
use crate::source::{Reader, Word};

use super::schema;

/// A question about a car; several keys mean all of them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Condition {
    /// Every one of these tags.
    pub all: Vec<Tag>,
    /// Any of these tags.
    pub equipment: Vec<Tag>,
    /// Any of these fuels.
    pub fuel: Vec<String>,
    /// Any of these disciplines.
    pub discipline: Vec<String>,
    /// Any of these engine places.
    pub engine: Vec<EnginePlace>,
    /// Any of these seats.
    pub driver: Vec<Seat>,
}

impl Condition {
    pub(super) fn read(r: &Reader<'_>) -> Self {
        const ENGINES: &[(&str, EnginePlace)] =
            &[("front", EnginePlace::Front), ("mid", EnginePlace::Mid), ("rear", EnginePlace::Rear)];
        const SEATS: &[(&str, Seat)] =
            &[("left", Seat::Left), ("right", Seat::Right), ("centre", Seat::Centre)];
        let names: Vec<&str> = TAGS.iter().map(|(name, _, _)| *name).collect();
        let tag = |word: &Word| named(r, word, "tag", &names).and_then(Tag::named);
        let engines: Vec<&str> = ENGINES.iter().map(|(name, _)| *name).collect();
        let seats: Vec<&str> = SEATS.iter().map(|(name, _)| *name).collect();
        let words = |key, doc| r.words(key, doc).unwrap_or_default();
        let narrowed = |key, doc, schema: &dyn Fn() -> serde_json::Value| {
            let words = words(key, doc);
            r.narrow(key, schema);
            words
        };
        Self {
            all: narrowed("all", "Tags the car must all have.", &tag::schema)
                .iter()
                .filter_map(tag)
                .collect(),
            equipment: narrowed("equipment", "Tags of which the car has at least one.", &tag::schema)
                .iter()
                .filter_map(tag)
                .collect(),
            fuel: texts(words("fuel", "Fuels, any of them.")),
            discipline: texts(words("discipline", "Disciplines, any of them.")),
            engine: narrowed("engine", "Engine places, any of them: front, mid, rear.", &|| {
                schema::words(ENGINES)
            })
            .iter()
            .filter_map(|word| look_up(ENGINES, named(r, word, "engine place", &engines)?))
            .collect(),
            driver: narrowed("driver", "Seats, any of them: left, right, centre.", &|| schema::words(SEATS))
                .iter()
                .filter_map(|word| look_up(SEATS, named(r, word, "seat", &seats)?))
                .collect(),
        }
    }

    /// Whether it holds for a car.
    pub fn holds(&self, car: &Car) -> Answer3 {
        let mut answer = Answer3::Yes;
        for tag in &self.all {
            answer = answer.and(car.has(*tag));
        }
        if !self.equipment.is_empty() {
            let any = self.equipment.iter().fold(Answer3::No, |any, tag| any.or(car.has(*tag)));
            answer = answer.and(any);
        }
        let facts = &car.facts;
        answer
            .and(one_of(&self.fuel, facts.fuel.as_deref()))
            .and(one_of(&self.discipline, facts.discipline.as_ref().map(std::slice::from_ref)))
            .and(one_of(&self.engine, facts.engine.as_ref().map(std::slice::from_ref)))
            .and(one_of(&self.driver, facts.driver.as_ref().map(std::slice::from_ref)))
    }

    /// Whether every car that meets `other` meets this one too, as far as the two themselves tell.
    pub fn follows_from(&self, other: &Self) -> bool {
        self.all.iter().all(|tag| other.all.contains(tag))
            && (self.equipment.is_empty()
                || self.equipment.iter().any(|tag| other.all.contains(tag))
                || within(&other.equipment, &self.equipment))
            && (self.fuel.is_empty() || within(&other.fuel, &self.fuel))
            && (self.discipline.is_empty() || within(&other.discipline, &self.discipline))
            && (self.engine.is_empty() || within(&other.engine, &self.engine))
            && (self.driver.is_empty() || within(&other.driver, &self.driver))
    }

    /// Which part of it certainly does not hold for a car, in words.
    pub fn fails_by(&self, car: &Car) -> Option<String> {
        let lacks = |tags: &[Tag]| {
            let names: Vec<&str> =
                tags.iter().filter(|tag| car.has(**tag) == Answer3::No).map(|tag| tag.phrase()).collect();
            format!("the car is without {}", names.join(" or "))
        };
        if self.all.iter().any(|tag| car.has(*tag) == Answer3::No) {
            return Some(lacks(&self.all));
        }
        if !self.equipment.is_empty() && self.equipment.iter().all(|tag| car.has(*tag) == Answer3::No) {
            return Some(lacks(&self.equipment));
        }
        let facts = Self { all: Vec::new(), equipment: Vec::new(), ..self.clone() };
        (facts.holds(car) == Answer3::No).then(|| format!("for cars with {} only", facts.phrase()))
    }

    /// Every tag it asks about.
    pub fn tags(&self) -> impl Iterator<Item = Tag> {
        self.all.iter().chain(&self.equipment).copied()
    }

    /// The question in words: "a line-lock and fuel methanol".
    pub fn phrase(&self) -> String {
        let mut parts: Vec<String> = self.all.iter().map(|tag| tag.phrase().to_owned()).collect();
        if !self.equipment.is_empty() {
            parts.push(self.equipment.iter().map(|tag| tag.phrase()).collect::<Vec<_>>().join(" or "));
        }
        if !self.fuel.is_empty() {
            parts.push(format!("fuel {}", self.fuel.join(" or ")));
        }
        if !self.discipline.is_empty() {
            parts.push(format!("discipline {}", self.discipline.join(" or ")));
        }
        if !self.engine.is_empty() {
            let words: Vec<String> =
                self.engine.iter().map(|engine| format!("{engine:?}").to_lowercase()).collect();
            parts.push(format!("engine {}", words.join(" or ")));
        }
        if !self.driver.is_empty() {
            let words: Vec<String> =
                self.driver.iter().map(|seat| format!("{seat:?}").to_lowercase()).collect();
            parts.push(format!("driver {}", words.join(" or ")));
        }
        parts.join(" and ")
    }
}

/// Whether a list names something, and nothing but what the other names.
fn within<T: PartialEq>(some: &[T], of: &[T]) -> bool {
    !some.is_empty() && some.iter().all(|value| of.contains(value))
}

fn texts(words: Vec<Word>) -> Vec<String> {
    words.into_iter().map(|word| word.text).collect()
}

fn look_up<T: Copy>(words: &[(&str, T)], name: &str) -> Option<T> {
    words.iter().find(|(word, _)| *word == name).map(|(_, value)| *value)
}

/// The word, where it is one of the known ones; else a mistake.
fn named<'w>(r: &Reader<'_>, word: &'w Word, what: &str, names: &[&str]) -> Option<&'w str> {
    if names.contains(&word.as_str()) {
        return Some(word.as_str());
    }
    let help = did_you_mean(&word.text, names.iter().copied())
        .map_or_else(|| format!("{what}s are: {}", names.join(", ")), |near| format!("did you mean {near}?"));
    r.report(Mistake::error(&word.at, format!("{} is no {what}", word.text), help));
    None
}

/// Silent is unknown, given is certain.
fn one_of<T: PartialEq>(wanted: &[T], given: Option<&[T]>) -> Answer3 {
    if wanted.is_empty() {
        return Answer3::Yes;
    }
    match given {
        None => Answer3::Unknown,
        Some(given) if given.iter().any(|value| wanted.contains(value)) => Answer3::Yes,
        Some(_) => Answer3::No,
    }
}
