//! Words of conditions and of cars that nothing in force knows.

use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Place, SourceFile, did_you_mean, near_or};
use crate::model::Car;
use crate::model::car::Facts;
use crate::model::vocabulary::{Declared, Vocabulary, folded};
use crate::source::{self, Reader, Value, Word};

use super::alike::also_at;
use super::builtin::BUILT_IN;
use super::ruleset::Ruleset;

/// Reads `words = { fuel = […], equipment = […], discipline = […], class = […] }` of a rule file's head.
pub(super) fn read(r: &Reader<'_>) -> Declared {
    let mut declared = Declared::default();
    for (of, key, doc) in [
        (Vocabulary::Fuel, "fuel", "Fuels that cars and conditions may name besides those known."),
        (Vocabulary::Equipment, "equipment", "What a car may have besides the tags known."),
        (Vocabulary::Discipline, "discipline", "Disciplines besides those known."),
        (Vocabulary::Class, "class", "Classes of cars that these rules are for."),
    ] {
        r.words(key, doc).unwrap_or_default().iter().for_each(|word| declared.add(of, &word.text));
    }
    declared
}

/// The classes that a rule file says it is for, and whether the file could be read whole.
pub fn classes_of(file: &Arc<SourceFile>) -> (Vec<String>, bool) {
    let (root, diagnostics) = source::parse(file);
    let words = |name: &str, node: &source::Node| node.value.as_table()?.get(name).cloned();
    let listed = words("ruleset", &root)
        .and_then(|head| words("words", &head))
        .and_then(|declared| words(Vocabulary::Class.name(), &declared));
    let items: Arc<Vec<source::Node>> = match listed.map(|node| node.value) {
        Some(Value::Array(items)) => items,
        _ => Arc::default(),
    };
    let texts = items.iter().filter_map(|item| match &item.value {
        Value::Text(text) => Some(text.clone()),
        _ => None,
    });
    (texts.collect(), diagnostics.is_empty())
}

/// Tells every condition what the files in force declare.
pub(super) fn tell(rules: &mut Ruleset) {
    if rules.words.is_empty() {
        return;
    }
    let declared = rules.words.clone();
    let checks = rules.checks.iter_mut().flat_map(|check| check.when.iter_mut().chain(&mut check.unless));
    for condition in checks.chain(rules.laps.iter_mut().map(|lap| &mut lap.when)) {
        condition.declared = declared.clone();
    }
}

/// Words of conditions, and of the cars of cases, that no file declares: a typing error there would drop a check.
pub(super) fn undeclared(rules: &Ruleset) -> Vec<Diagnostic> {
    let conditions = rules.checks.iter().flat_map(|check| check.when.iter().chain(&check.unless));
    let conditions = conditions.chain(rules.laps.iter().map(|lap| &lap.when));
    let asked = conditions.flat_map(|condition| condition.to_declare.iter().map(|(of, word)| (*of, word)));
    let read = rules.checks.iter().flat_map(|check| &check.cases);
    let given = read.filter_map(|case| case.given.car.as_ref()).flat_map(words_of);
    let unknown = asked.chain(given).filter(|(of, word)| !rules.words.knows(*of, &word.text));
    let mut found: Vec<(Vocabulary, &Word, Vec<Place>)> = Vec::new();
    for (of, word) in unknown {
        let same = |(known, other, _): &&mut (Vocabulary, &Word, Vec<Place>)| {
            *known == of && folded(&other.text) == folded(&word.text)
        };
        match found.iter_mut().find(same) {
            Some((_, _, places)) => places.push(word.at.clone()),
            None => found.push((of, word, vec![word.at.clone()])),
        }
    }
    let told = |(of, word, places): &(Vocabulary, &Word, Vec<Place>)| {
        let help = format!("{}{}", remedy(rules, *of, word), also_at(places));
        Diagnostic::error(&word.at, no_word(*of, word), help)
    };
    found.iter().map(told).collect()
}

/// Words of a car that nothing in force knows: what is asked of them is not known, so that their checks are asked.
pub fn strange_words(rules: &Ruleset, car: &Car) -> Vec<Diagnostic> {
    let unknown = words_of(&car.facts).filter(|(of, word)| !rules.words.knows(*of, &word.text));
    let warning = |(of, word): (Vocabulary, &Word)| {
        let message = format!("{}, so every check that depends on it is asked", no_word(of, word));
        let help = near_or(&word.text.to_lowercase(), rules.words.words(of), || {
            match rules.words.words(of).join(", ") {
                none if none.is_empty() => format!("no rules in force declare a {}", of.name()),
                known => format!("known here: {known}"),
            }
        });
        Diagnostic::warning(&word.at, message, help)
    };
    unknown.map(warning).collect()
}

/// The shipped ruleset that is for a car's discipline, where it is not in force.
pub fn offered_for(rules: &Ruleset, car: &Car) -> Option<&'static str> {
    let discipline = car.facts.discipline.as_ref()?;
    let meanings = Vocabulary::Discipline.meanings(&discipline.text);
    let (id, _) = BUILT_IN.iter().find(|(id, _)| meanings.iter().any(|meant| meant == id))?;
    rules.layers.iter().all(|layer| layer.id != *id).then_some(*id)
}

fn words_of(facts: &Facts) -> impl Iterator<Item = (Vocabulary, &Word)> {
    let fuel = facts.fuel.iter().flatten().map(|word| (Vocabulary::Fuel, word));
    let others = facts.other_equipment.iter().chain(&facts.other_without);
    let discipline = facts.discipline.iter().map(|word| (Vocabulary::Discipline, word));
    let class = facts.class.iter().map(|word| (Vocabulary::Class, word));
    fuel.chain(others.map(|word| (Vocabulary::Equipment, word))).chain(discipline).chain(class)
}

fn no_word(of: Vocabulary, word: &Word) -> String {
    match of {
        Vocabulary::Equipment => format!("{} is not a known equipment name", word.text),
        of => format!("{} is no {} known here", word.text, of.name()),
    }
}

fn remedy(rules: &Ruleset, of: Vocabulary, word: &Word) -> String {
    let near = did_you_mean(&word.text.to_lowercase(), rules.words.words(of));
    let near = near.map(|near| format!("did you mean {near}? Else ")).unwrap_or_default();
    format!("{near}declare it under [ruleset]: words = {{ {} = [\"{}\"] }}", of.name(), word.text)
}
