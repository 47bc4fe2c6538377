//! Words of car and rule files: compared by meaning, and never a reason to leave a check out where nothing knows them.

use std::sync::Arc;

use linewalk::diagnostic::{Diagnostic, SourceFile, Weight};
use linewalk::model::{Car, Tag, read_car};
use linewalk::rules::{Applies, BUILT_IN, Loaded, Ruleset, applies, load, offered_for, strange_words};
use linewalk::source::Overrides;

use crate::shipped::shipped;

fn car(facts: &str) -> Car {
    let text = format!("format = 1\n[car]\nid = \"car\"\nnumber = \"1\"\n{facts}");
    let read = read_car(&SourceFile::new("car.toml", text), &Overrides::new());
    assert!(read.diagnostics.is_empty(), "{:?}", read.diagnostics);
    Arc::unwrap_or_clone(read.car)
}

fn loaded(head: &str, check: &str) -> Loaded {
    let ground = SourceFile::new("ground.toml", include_str!("../bad/rules/ground.toml"));
    let text = format!(
        "format = 1\n[ruleset]\nid = \"c\"\ntitle = \"c\"\nedition = \"1\"\nreviewed = 2026-11-01\n\
         review_every = \"1 year\"\nextends = [\"ground\"]\n{head}\n[[check]]\nid = \"hose-gap\"\nreason = \"ours\"\n{check}\n"
    );
    load(&[SourceFile::new("c.toml", text)], &|_, _| Some(Arc::clone(&ground)))
}

fn rules(head: &str, check: &str) -> Arc<Ruleset> {
    let loaded = loaded(head, check);
    assert!(loaded.diagnostics.is_empty(), "{:?}", loaded.diagnostics);
    loaded.rules
}

fn asked(rules: &Ruleset, facts: &str) -> Option<bool> {
    match applies(rules.check("hose-gap").unwrap(), &car(facts)) {
        Applies::Yes => Some(true),
        Applies::No(_) => Some(false),
        Applies::Unknown => None,
    }
}

fn messages(diagnostics: &[Diagnostic]) -> Vec<&str> {
    diagnostics.iter().map(|diagnostic| diagnostic.message.as_str()).collect()
}

#[test]
fn capitals_blanks_and_synonyms_do_not_drop_a_check() {
    let methanol = rules("", "when = { fuel = [\"methanol\"] }");
    for word in ["Methanol", "METHANOL", " methanol ", "methyl alcohol", "Methyl_Alcohol", "alcohol", "M100"]
    {
        assert_eq!(asked(&methanol, &format!("fuel = [\"{word}\"]")), Some(true), "{word}");
    }
    assert_eq!(asked(&methanol, "fuel = [\"Petrol\"]"), Some(false), "gasoline is known, and no methanol");
    let petrol = rules("", "when = { fuel = [\"petrol\"] }");
    assert_eq!(asked(&petrol, "fuel = [\"Gasoline\"]"), Some(true), "the rule's word is folded too");
    let lock = rules("", "when = { all = [\"Line Lock\"] }");
    assert_eq!(asked(&lock, "equipment = [\"LINE-LOCK\"]"), Some(true));
    assert_eq!(asked(&lock, "without = [\"linelock\"]"), Some(false));
    let drag = rules("", "when = { discipline = [\"straight-line\"] }");
    assert_eq!(asked(&drag, "discipline = \"Drag Racing\""), Some(true));
    assert_eq!(asked(&drag, "discipline = \"Off Road\""), Some(false));
}

#[test]
fn a_word_that_nothing_knows_leaves_its_checks_asked() {
    let methanol = rules("", "when = { fuel = [\"methanol\"] }");
    assert_eq!(asked(&methanol, "fuel = [\"methanoll\"]"), None);
    assert_eq!(asked(&methanol, "fuel = [\"gasoline\", \"brew\"]"), None, "one of two is not known");
    let unless = rules("", "unless = { fuel = [\"gasoline\"] }");
    assert_eq!(asked(&unless, "fuel = [\"gasolin\"]"), None);
    let chute = rules("", "when = { all = [\"parachute\"] }");
    assert_eq!(asked(&chute, "without = [\"parachut\"]"), None);
    let typed = car("fuel = [\"methanoll\"]\nequipment = [\"winngs\"]\nwithout = [\"parachut\"]");
    let warnings = strange_words(&methanol, &typed);
    assert!(warnings.iter().all(|warning| warning.weight == Weight::Warning));
    let helps: Vec<&str> = warnings.iter().map(|warning| warning.help.as_str()).collect();
    assert_eq!((helps[0], helps[2]), ("did you mean methanol?", "did you mean parachute?"));
    assert_eq!(warnings[1].at.shown(), "car.toml:6:14");
    assert!(strange_words(&methanol, &car("fuel = [\"Race Gas\"]\ndiscipline = \"circuit\"")).is_empty());
}

#[test]
fn a_rule_file_declares_the_words_it_adds() {
    let wrong = loaded("", "when = { fuel = [\"methanoll\"], all = [\"roll-fairing\"] }");
    assert_eq!(
        messages(&wrong.diagnostics),
        ["methanoll is no fuel known here", "roll-fairing is not a known equipment name"]
    );
    assert!(wrong.diagnostics.iter().all(|diagnostic| diagnostic.weight == Weight::Error));
    let words = "words = { fuel = [\"M5 Blend\"], equipment = [\"roll-fairing\"] }";
    let declared = rules(words, "when = { fuel = [\"m5 blend\"], all = [\"Roll Fairing\"] }");
    assert_eq!(asked(&declared, "fuel = [\"M5-BLEND\"]\nequipment = [\"roll fairing\"]"), Some(true));
    assert_eq!(asked(&declared, "fuel = [\"m5 blend\"]\nwithout = [\"roll-fairing\"]"), Some(false));
    assert_eq!(asked(&declared, "fuel = [\"m5 blend\"]"), None, "the car does not say");
    assert_eq!(asked(&declared, "fuel = [\"gasoline\"]\nequipment = [\"roll-fairing\"]"), Some(false));
    assert!(
        strange_words(&declared, &car("fuel = [\"m5 blend\"]\nequipment = [\"roll-fairing\"]")).is_empty()
    );
    // A declared word is known to every check: it is none of the fuels that another one is for.
    let other = rules(words, "when = { fuel = [\"methanol\"] }");
    assert_eq!(asked(&other, "fuel = [\"m5 blend\"]"), Some(false));
    assert_eq!(asked(&rules("", "when = { fuel = [\"methanol\"] }"), "fuel = [\"m5 blend\"]"), None);
}

#[test]
fn a_typing_error_in_the_car_of_a_case_is_an_error_too() {
    let case = "[[check.case]]\ngiven = { car = { without = [\"parachut\"] } }\nexpect = \"asked\"";
    assert_eq!(messages(&loaded("", case).diagnostics), ["parachut is not a known equipment name"]);
}

#[test]
fn rules_of_the_cars_discipline_are_offered() {
    let base = shipped("base").rules;
    for (id, _) in BUILT_IN.iter().filter(|(id, _)| *id != "base") {
        let typed = car(&format!("discipline = \"{}\"", id.to_uppercase().replace('-', " ")));
        assert_eq!(offered_for(&base, &typed), Some(*id));
        assert_eq!(offered_for(&shipped(id).rules, &typed), None, "{id} is in force already");
    }
    assert_eq!(offered_for(&base, &car("discipline = \"rally\"")), None);
    assert_eq!(offered_for(&base, &car("")), None);
}

#[test]
fn instruments_compare_without_capitals() {
    let base = shipped("base").rules;
    assert_eq!(base.instrument("Gauge Set").map(|tool| tool.id.as_str()), Some("gauge-set"));
    assert!(base.instrument("gauges").is_none());
    assert_eq!(Tag::named("Hand Brake"), Some(Tag::ParkingBrake));
}
