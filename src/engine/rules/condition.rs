//! `when` and `unless`: three-valued questions about a car.

use crate::diagnostic::{Diagnostic, near_or};
use crate::model::tag;
use crate::model::vocabulary::{Declared, Vocabulary, folded};
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
    /// Any of these classes.
    pub class: Vec<String>,
    /// Any of these engine places.
    pub engine: Vec<EnginePlace>,
    /// Any of these seats.
    pub driver: Vec<Seat>,
    /// Words beyond the tags, every one of them.
    pub all_others: Vec<String>,
    /// Words beyond the tags, any of them.
    pub equipment_others: Vec<String>,
    /// Every word of it that is not known here: a rule file has to declare it.
    pub(super) to_declare: Vec<(Vocabulary, Word)>,
    /// What the rule files in force declare.
    pub(super) declared: Declared,
}

/// A list of words of which a car needs one.
pub(super) struct AnyOf {
    /// The list.
    pub whole: Condition,
    /// Each of its words by itself.
    pub words: Vec<Condition>,
}

impl Condition {
    pub(super) fn read(r: &Reader<'_>) -> Self {
        const ENGINES: &[(&str, EnginePlace)] =
            &[("front", EnginePlace::Front), ("mid", EnginePlace::Mid), ("rear", EnginePlace::Rear)];
        const SEATS: &[(&str, Seat)] =
            &[("left", Seat::Left), ("right", Seat::Right), ("centre", Seat::Centre)];
        let engines: Vec<&str> = ENGINES.iter().map(|(name, _)| *name).collect();
        let seats: Vec<&str> = SEATS.iter().map(|(name, _)| *name).collect();
        let words = |key, doc| r.words(key, doc).unwrap_or_default();
        let narrowed = |key, doc, schema: &dyn Fn() -> serde_json::Value| {
            let words = words(key, doc);
            r.narrow(key, schema);
            words
        };
        let all = narrowed("all", "Tags the car must all have.", &tag::schema);
        let equipment = narrowed("equipment", "Tags of which the car has at least one.", &tag::schema);
        let fuel = words("fuel", "Fuels, any of them.");
        let discipline = words("discipline", "Disciplines, any of them.");
        let class = words("class", "Classes that a ruleset declares, any of them.");
        let lists = [
            (Vocabulary::Equipment, &all),
            (Vocabulary::Equipment, &equipment),
            (Vocabulary::Fuel, &fuel),
            (Vocabulary::Discipline, &discipline),
            (Vocabulary::Class, &class),
        ];
        let beyond = lists.iter().flat_map(|(of, words)| words.iter().map(move |word| (*of, word.clone())));
        Self {
            to_declare: beyond.filter(|(of, word)| !of.knows(&word.text)).collect(),
            declared: Declared::default(),
            all: all.iter().filter_map(|word| Tag::named(&word.text)).collect(),
            equipment: equipment.iter().filter_map(|word| Tag::named(&word.text)).collect(),
            all_others: others(&all),
            equipment_others: others(&equipment),
            fuel: meanings(Vocabulary::Fuel, &fuel),
            discipline: meanings(Vocabulary::Discipline, &discipline),
            class: meanings(Vocabulary::Class, &class),
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
        for word in &self.all_others {
            answer = answer.and(car.has_other(word));
        }
        if self.asks_equipment() {
            let tags = self.equipment.iter().map(|tag| car.has(*tag));
            let others = self.equipment_others.iter().map(|word| car.has_other(word));
            answer = answer.and(tags.chain(others).fold(Answer3::No, Answer3::or));
        }
        let facts = &car.facts;
        let discipline = facts.discipline.as_ref().map(std::slice::from_ref);
        let class = facts.class.as_ref().map(std::slice::from_ref);
        answer
            .and(self.one_of_words(Vocabulary::Fuel, &self.fuel, facts.fuel.as_deref()))
            .and(self.one_of_words(Vocabulary::Discipline, &self.discipline, discipline))
            .and(self.one_of_words(Vocabulary::Class, &self.class, class))
            .and(one_of(&self.engine, facts.engine.as_ref().map(std::slice::from_ref)))
            .and(one_of(&self.driver, facts.driver.as_ref().map(std::slice::from_ref)))
    }

    fn asks_equipment(&self) -> bool {
        !self.equipment.is_empty() || !self.equipment_others.is_empty()
    }

    /// Silent is unknown; given is certain, but for a word that nothing knows: it may mean any of those wanted.
    fn one_of_words(&self, of: Vocabulary, wanted: &[String], given: Option<&[Word]>) -> Answer3 {
        if wanted.is_empty() {
            return Answer3::Yes;
        }
        let Some(given) = given else { return Answer3::Unknown };
        let means = |word: &Word| of.meanings(&word.text).iter().any(|meant| wanted.contains(meant));
        if given.iter().any(means) {
            return Answer3::Yes;
        }
        let known = given.iter().all(|word| self.declared.knows(of, &word.text));
        if known { Answer3::No } else { Answer3::Unknown }
    }

    /// Whether every car that meets `other` meets this one too, as far as the two themselves tell.
    pub fn follows_from(&self, other: &Self) -> bool {
        let any = self.equipment.iter().any(|tag| other.all.contains(tag))
            || self.equipment_others.iter().any(|word| other.all_others.contains(word));
        let same_any = within(&other.equipment, &self.equipment) && other.equipment_others.is_empty();
        self.all.iter().all(|tag| other.all.contains(tag))
            && self.all_others.iter().all(|word| other.all_others.contains(word))
            && (!self.asks_equipment() || any || same_any)
            && (self.fuel.is_empty() || within(&other.fuel, &self.fuel))
            && (self.discipline.is_empty() || within(&other.discipline, &self.discipline))
            && (self.class.is_empty() || within(&other.class, &self.class))
            && (self.engine.is_empty() || within(&other.engine, &self.engine))
            && (self.driver.is_empty() || within(&other.driver, &self.driver))
    }

    /// Which part of it certainly does not hold for a car, in words.
    pub fn fails_by(&self, car: &Car) -> Option<String> {
        let lacking = |tags: &[Tag], others: &[String]| -> Vec<String> {
            let tags = tags.iter().filter(|tag| car.has(**tag) == Answer3::No);
            let others = others.iter().filter(|word| car.has_other(word) == Answer3::No);
            tags.map(|tag| tag.phrase().to_owned()).chain(others.cloned()).collect()
        };
        let lacks = |names: &[String]| format!("the car is without {}", names.join(" or "));
        let all = lacking(&self.all, &self.all_others);
        if !all.is_empty() {
            return Some(lacks(&all));
        }
        let any = lacking(&self.equipment, &self.equipment_others);
        if self.asks_equipment() && any.len() == self.equipment.len() + self.equipment_others.len() {
            return Some(lacks(&any));
        }
        let facts = Self {
            all: Vec::new(),
            equipment: Vec::new(),
            all_others: Vec::new(),
            equipment_others: Vec::new(),
            ..self.clone()
        };
        (facts.holds(car) == Answer3::No).then(|| format!("for cars with {} only", facts.phrase()))
    }

    /// What it asks for, taken apart: words that must all hold, each by itself, and lists of which one word is enough.
    pub(super) fn taken_apart(&self) -> (Vec<Self>, Vec<AnyOf>) {
        let none = Self { declared: self.declared.clone(), ..Self::default() };
        let tags = self.all.iter().map(|tag| Self { all: vec![*tag], ..none.clone() });
        let others =
            self.all_others.iter().map(|word| Self { all_others: vec![word.clone()], ..none.clone() });
        let all = tags.chain(others).collect();
        let list = |whole: Self, words: Vec<Self>| (!words.is_empty()).then_some(AnyOf { whole, words });
        let of_words = |words: &[String], put: fn(&Self, Vec<String>) -> Self| {
            let each = words.iter().map(|word| put(&none, vec![word.clone()])).collect();
            list(put(&none, words.to_vec()), each)
        };
        let tags = self.equipment.iter().map(|tag| Self { equipment: vec![*tag], ..none.clone() });
        let others = self.equipment_others.iter();
        let others = others.map(|word| Self { equipment_others: vec![word.clone()], ..none.clone() });
        let equipment = Self {
            equipment: self.equipment.clone(),
            equipment_others: self.equipment_others.clone(),
            ..none.clone()
        };
        let engines = self.engine.iter().map(|engine| Self { engine: vec![*engine], ..none.clone() });
        let seats = self.driver.iter().map(|seat| Self { driver: vec![*seat], ..none.clone() });
        let any = [
            list(equipment, tags.chain(others).collect()),
            of_words(&self.fuel, |none, fuel| Self { fuel, ..none.clone() }),
            of_words(&self.discipline, |none, discipline| Self { discipline, ..none.clone() }),
            of_words(&self.class, |none, class| Self { class, ..none.clone() }),
            list(Self { engine: self.engine.clone(), ..none.clone() }, engines.collect()),
            list(Self { driver: self.driver.clone(), ..none.clone() }, seats.collect()),
        ];
        (all, any.into_iter().flatten().collect())
    }

    /// Every tag it asks about.
    pub fn tags(&self) -> impl Iterator<Item = Tag> {
        self.all.iter().chain(&self.equipment).copied()
    }

    /// The question in words: "a line-lock and fuel methanol".
    pub fn phrase(&self) -> String {
        let all = self.all.iter().map(|tag| tag.phrase().to_owned());
        let mut parts: Vec<String> = all.chain(self.all_others.iter().cloned()).collect();
        if self.asks_equipment() {
            let any = self.equipment.iter().map(|tag| tag.phrase()).map(str::to_owned);
            parts.push(any.chain(self.equipment_others.iter().cloned()).collect::<Vec<_>>().join(" or "));
        }
        if !self.fuel.is_empty() {
            parts.push(format!("fuel {}", self.fuel.join(" or ")));
        }
        if !self.discipline.is_empty() {
            parts.push(format!("discipline {}", self.discipline.join(" or ")));
        }
        if !self.class.is_empty() {
            parts.push(format!("class {}", self.class.join(" or ")));
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

/// The words that name no tag, folded.
fn others(words: &[Word]) -> Vec<String> {
    let beyond = words.iter().filter(|word| Tag::named(&word.text).is_none());
    beyond.map(|word| folded(&word.text)).collect()
}

fn meanings(of: Vocabulary, words: &[Word]) -> Vec<String> {
    words.iter().flat_map(|word| of.meanings(&word.text)).collect()
}

fn look_up<T: Copy>(words: &[(&str, T)], name: &str) -> Option<T> {
    words.iter().find(|(word, _)| *word == name).map(|(_, value)| *value)
}

/// The word, where it is one of the known ones; else a mistake.
fn named<'w>(r: &Reader<'_>, word: &'w Word, what: &str, names: &[&str]) -> Option<&'w str> {
    if names.contains(&word.as_str()) {
        return Some(word.as_str());
    }
    let help = near_or(&word.text, names.iter().copied(), || format!("{what}s are: {}", names.join(", ")));
    r.report(Diagnostic::error(&word.at, format!("{} is no {what}", word.text), help));
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
