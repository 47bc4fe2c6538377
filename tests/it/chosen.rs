//! A car's file and its class choose rules, where none are named on the command line.

use std::fs;

use crate::strangers::{Machine, words};

const HEAD: &str =
    "edition = \"1\"\nreviewed = 2026-11-01\nreview_every = \"10 years\"\nextends = [\"base\"]\n";

/// A ruleset that is for one class and asks one thing more.
fn club(id: &str, class: &str, code: &str) -> String {
    format!(
        "format = 1\n[ruleset]\nid = \"{id}\"\ntitle = \"{id}\"\n{HEAD}words = {{ fuel = [\"M5 Blend\"], class = [\"{class}\"] }}\n\
         [[check]]\nid = \"{id}-hose-age\"\ncode = \"{code}\"\nstation = \"tail\"\ntopic = \"brake-lines\"\n\
         subject = \"Oldest brake hose\"\ntitle = \"No brake hose is too old\"\nfault = \"Brake hose too old\"\n\
         brief = \"Brake hose too old\"\ndo = \"Replace the hose\"\nlook = \"The date on each hose.\"\n\
         accept = \"Every hose is new enough.\"\nreject = \"A hose is too old.\"\nwhy = \"Rubber ages.\"\n\
         remedy = \"Replace the hose.\"\nmethod = \"look\"\nseverity = \"stop\"\nprofiles = [\"owner\"]\nseconds = 10\n\
         when = {{ class = [\"{class}\"] }}\nsource = [{{ document = \"Club\", clause = \"7.2\", basis = \"common-practice\" }}]\n"
    )
}

fn machine(car: &str, rules: &[(&str, &str, &str)]) -> Machine {
    let machine = Machine::new();
    machine.write("car.toml", &format!("format = 1\n[car]\nid = \"kite\"\nnumber = \"7\"\n{car}\n"));
    fs::create_dir_all(machine.path("data/rulesets")).unwrap();
    for (id, class, code) in rules {
        machine.write(&format!("data/rulesets/{id}.toml"), &club(id, class, code));
    }
    machine
}

/// What the sheet asks.
fn sheet(machine: &Machine) -> String {
    let out = machine.run(&["sheet", "car.toml", "--profile", "owner"]);
    assert_eq!(out.status.code(), Some(0), "{}", words(&out));
    String::from_utf8(out.stdout).unwrap()
}

/// What is said of the rules, in one line.
fn said(machine: &Machine) -> String {
    let out = machine.run(&["report", "car.toml", "--kind", "full"]);
    words(&out).split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_rules_that_declare_a_class_are_in_force_for_its_cars() {
    let rules = [("hillside", "Sprint Saloon", "TL61"), ("seaside", "midget", "TL62")];
    let asked = sheet(&machine("class = \"sprint-saloon\"\nfuel = [\"m5 blend\"]", &rules));
    assert!(asked.contains("TL61") && !asked.contains("TL62"), "{asked}");
    let asked = sheet(&machine("class = \"MIDGET\"", &rules));
    assert!(asked.contains("TL62") && !asked.contains("TL61"), "{asked}");
    let asked = sheet(&machine("", &rules));
    assert!(!asked.contains("TL61") && !asked.contains("TL62"), "{asked}");
}

#[test]
fn a_class_that_no_rules_are_for_is_said() {
    let rules = [("hillside", "sprint", "TL61")];
    let told = said(&machine("class = \"sprnt\"", &rules));
    assert!(told.contains("no rules here are for class sprnt: did you mean sprint?"), "{told}");
    let machine = machine("class = \"sprint\"", &[]);
    machine.write("data/rulesets/torn.toml", "format = 1\n[ruleset\nid = \"torn\"\n");
    let told = said(&machine);
    assert!(told.contains("whether it is for class sprint is not known"), "{told}");
}

#[test]
fn rules_that_the_car_names_go_before_those_of_its_class() {
    let rules = [("hillside", "sprint", "TL61"), ("seaside", "midget", "TL62")];
    let machine = machine("class = \"sprint\"\nrules = [\"seaside\", \"hill-climb\"]", &rules);
    let asked = sheet(&machine);
    assert!(!asked.contains("TL61"), "{asked}");
    // Of another class: certainly left out, and said so nowhere but in the list of what is left out.
    let out = machine.run(&["report", "car.toml", "--kind", "full"]);
    let told = words(&out);
    assert!(told.contains("seaside") && told.contains("hill-climb"), "{told}");
    let named = machine.run(&["sheet", "car.toml", "--profile", "owner", "--rules", "hillside"]);
    assert!(words(&named).contains("TL61"), "what is named on the command line goes before both");
}

/// A car file comes from anybody: a path in it is not opened.
#[test]
fn a_car_names_rules_by_id_alone() {
    for name in ["nowhere", "../car", "car.toml"] {
        let machine = machine(&format!("rules = [\"{name}\"]"), &[]);
        let out = machine.run(&["sheet", "car.toml"]);
        let told = words(&out);
        assert_eq!(out.status.code(), Some(2), "{told}");
        assert!(told.contains(&format!("car.toml:5:10: there are no rules {name} here: put")), "{told}");
    }
}

#[test]
fn rules_other_than_those_of_the_last_walk_are_said_with_what_comes_and_goes() {
    let machine = machine("", &[("hillside", "sprint", "TL61")]);
    machine.write("paper.toml", "format = 1\nby = \"R.N.\"\nprofile = \"owner\"\n[[answer]]\ncheck = \"LF02\"\nresult = \"not-seen\"\n");
    let out = machine.run(&["walk", "car.toml", "--answers", "paper.toml"]);
    assert!(out.status.code().is_some_and(|code| code < 2), "{}", words(&out));
    let car = fs::read_to_string(machine.path("car.toml")).unwrap();
    machine.write("car.toml", &format!("{car}class = \"sprint\"\n"));
    let told = said(&machine);
    let said = "rules in force, for class sprint: hillside; the last walk was under base; checks that come: 1 (TL61)";
    assert!(told.contains(said), "{told}");
}
