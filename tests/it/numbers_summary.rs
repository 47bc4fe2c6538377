//! `linewalk numbers` as a person reads it: what is outside first, every number once, in few lines.

use std::process::Command;

use linewalk::numbers::registry;

fn run(arguments: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_linewalk"));
    command.env("LINEWALK_DATA_DIR", folder.path().join("d")).env("XDG_CONFIG_HOME", folder.path().join("c"));
    let out = command.args(arguments).args(["--on", "2026-12-01"]).output().unwrap();
    assert!(out.status.success(), "{arguments:?}");
    String::from_utf8(out.stdout).unwrap()
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

const CARS: [&str; 5] = ["bittern", "heron", "plover", "dunlin", "curlew"];

/// The first count of each is that of the JSON, and the longest sample fits five screens.
#[test]
fn counts_are_those_of_the_json_and_the_text_is_short() {
    for name in CARS {
        let car = format!("sample-cars/{name}.toml");
        let text = run(&["numbers", &car]);
        assert!(text.lines().count() <= 125, "{name}: {} lines", text.lines().count());
        assert!(text.lines().all(|line| line.chars().count() <= 115), "{name}");
        let json: serde_json::Value =
            serde_json::from_str(&run(&["numbers", &car, "--format", "json"])).unwrap();
        let of = |wanted: &[&str]| {
            let numbers = json["numbers"].as_array().unwrap().iter();
            numbers.filter(|one| wanted.contains(&one["verdict"].as_str().unwrap_or("none"))).count()
        };
        let counts = text.lines().nth(3).unwrap();
        assert_eq!(
            counts,
            format!(
                "{} outside, {} undecided, {} inside, {} without limit, {} not calculated",
                of(&["reject"]),
                of(&["undecided"]),
                of(&["accept", "refused"]),
                of(&["none"]),
                json["refused"].as_array().unwrap().len()
            ),
            "{name}"
        );
    }
}

/// Each number of a car is in exactly one part, under its words and not under its name in rule files.
#[test]
fn every_number_is_in_one_part_by_its_words() {
    for name in CARS {
        let car = format!("sample-cars/{name}.toml");
        let text = run(&["numbers", &car]);
        let json: serde_json::Value =
            serde_json::from_str(&run(&["numbers", &car, "--format", "json"])).unwrap();
        let (_, parts) = text.split_once("\nLINES AND SLEEVES\n").unwrap();
        let (parts, _) = parts.split_once("\nNOT CALCULATED").unwrap();
        let rows: Vec<&str> =
            parts.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   ")).collect();
        let parts = flat(parts);
        for quantity in registry() {
            let has = json["numbers"].as_array().unwrap().iter().any(|one| one["quantity"] == quantity.id);
            let start = &quantity.title[..quantity.title.len().min(60)];
            assert_eq!(has, parts.contains(start), "{name}: {}", quantity.id);
            assert!(!parts.contains(quantity.id), "{name}: {}", quantity.id);
        }
        let known: std::collections::BTreeSet<&str> =
            json["numbers"].as_array().unwrap().iter().filter_map(|one| one["quantity"].as_str()).collect();
        assert_eq!(rows.len(), known.len(), "{name}");
    }
}

/// Car 1107: a nozzle that is starved, hose in the line and weak bolts stand above everything else.
#[test]
fn what_is_outside_comes_first() {
    let text = run(&["numbers", "sample-cars/bittern.toml"]);
    let (before, _) = text.split_once("\nUNDECIDED\n").unwrap();
    let outside = flat(before);
    for said in [
        "Share against an equal split, driver-legs: 0.312 (0.235 to 0.401), at least 0.5",
        "engine-left, engine-right, driver-legs: 8 in",
        "bolts only, b-tail: 0.843, at least 1",
    ] {
        assert!(outside.contains(said), "{said}: {outside}");
    }
    let behind = run(&["numbers", "sample-cars/bittern.toml", "--behind"]);
    assert!(behind.contains("mount.bolt_margin") && behind.lines().count() > 300);
}
