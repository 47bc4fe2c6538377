//! Rule files as they come from other programs, other hands and other years.

use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use linewalk::diagnostic::{SourceFile, Weight};
use linewalk::rules::load;
use linewalk::shell::paths::Paths;
use linewalk::shell::workspace::{Choices, DiskWorkspace};
use linewalk::source::Overrides;
use linewalk::units::Units;

use crate::strangers::{Machine, SEVEN, words};

const HEAD: &str = "edition = \"1\"\nreviewed = 2026-11-01\nreview_every = \"10 years\"\n";

fn club(id: &str, rest: &str) -> String {
    format!(
        "format = 1\n[ruleset]\nid = \"{id}\"\ntitle = \"Café rules\"\n{HEAD}extends = [\"base\"]\n{rest}"
    )
}

/// What the program says of a file, in one line.
fn checked(machine: &Machine, file: &str) -> String {
    words(&machine.run(&["rules", "check", file])).split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn another_encoding_is_named_with_its_place_and_remedy() {
    let machine = Machine::new();
    let text = club("odd", "");
    let utf_16 = |to_bytes: fn(u16) -> [u8; 2]| text.encode_utf16().flat_map(to_bytes).collect::<Vec<u8>>();
    let marked = [vec![0xFF, 0xFE], utf_16(u16::to_le_bytes)].concat();
    for bytes in [marked, utf_16(u16::to_le_bytes), utf_16(u16::to_be_bytes)] {
        fs::write(machine.path("odd.toml"), bytes).unwrap();
        let told = checked(&machine, "odd.toml");
        assert_eq!(told, "odd.toml is saved as UTF-16: save it as plain text with the encoding UTF-8");
    }
    // Latin-1 has é as the one byte E9 (ISO 8859-1).
    let latin: Vec<u8> = text.chars().map(|letter| u8::try_from(u32::from(letter)).unwrap()).collect();
    fs::write(machine.path("odd.toml"), latin).unwrap();
    let told = checked(&machine, "odd.toml");
    assert!(told.starts_with("odd.toml:4:13: the letter here is not in UTF-8"), "{told}");
    assert!(told.ends_with("save the file as plain text with the encoding UTF-8"), "{told}");
    fs::write(machine.path("odd.toml"), format!("\u{feff}{text}")).unwrap();
    assert!(checked(&machine, "odd.toml").contains("0 errors"), "a mark before UTF-8 does no harm");
}

#[test]
fn two_layers_that_no_value_meets_are_both_named() {
    let ground = include_str!("../bad/rules/ground.toml");
    let lookup = |id: &str| {
        let limit = |id: &str, key: &str| {
            let text = club(
                id,
                &format!("[[check]]\nid = \"hose-gap\"\nreason = \"ours\"\nmeasure = {{ {key} }}\n"),
            );
            SourceFile::new(format!("{id}.toml"), text.replace("\"base\"", "\"ground\""))
        };
        Some(match id {
            "hill" => limit("hill", "min = \"2 in\""),
            "sea" => limit("sea", "max = \"1 in\""),
            _ => SourceFile::new("ground.toml", ground),
        })
    };
    let text = club("both", "").replace("\"base\"", "\"hill\", \"sea\"");
    let found = load(&[SourceFile::new("both.toml", text)], &|id, _| lookup(id)).diagnostics;
    let errors: Vec<_> = found.iter().filter(|one| one.weight == Weight::Error).collect();
    let [one] = errors[..] else { panic!("{found:?}") };
    assert_eq!((one.at.shown().as_str(), one.message.as_str()), ("sea.toml:12:19", "max is below min"));
    assert_eq!(
        one.help,
        "no value is at least 2 in and at most 1 in: mend it, or the min at hill.toml:12:19"
    );
}

#[test]
fn what_ran_out_is_said_where_it_stands() {
    let machine = Machine::new();
    let change = "[[check]]\nid = \"lf-hose-at-steer-lock\"\nseverity = \"fix\"\nreason = \"ours\"\nexpires = 2026-10-10\n";
    machine.write("one.toml", &club("one", change));
    let told = words(&machine.run(&["--on", "2026-11-25", "rules", "check", "one.toml"]));
    assert!(told.contains("what is written here of lf-hose-at-steer-lock ran out on 2026-10-10"), "{told}");
    machine.write("all.toml", &club("all", change).replace("extends", "expires = 2026-11-20\nextends"));
    let told = words(&machine.run(&["--on", "2026-11-25", "rules", "check", "all.toml"]));
    assert!(told.contains("Rules all 1 ran out on 2026-11-20: their changes are off"), "{told}");
    assert!(told.contains("write a later expires") && told.contains(" 1 doubtful"), "{told}");
}

/// A hundred times as many checks as a club has, each of them wrong. The bound is generous: it is for what grows with the
/// square of the checks.
#[test]
fn ten_thousand_checks_are_read_in_a_few_seconds() {
    let machine = Machine::new();
    machine.write("many/ruleset.toml", &club("many", ""));
    let check = |part: usize, at: usize| {
        format!(
            "[[check]]\nid = \"c{part}-{at}\"\nstation = \"tial{at}\"\ntopic = \"brake-lines\"\ntitle = \"Thing is there\"\n\
             subject = \"Thing\"\nfault = \"Thing is missing\"\nbrief = \"Thing missing\"\ndo = \"Fit it\"\nlook = \"Look.\"\n\
             accept = \"There.\"\nreject = \"Missing.\"\nwhy = \"It holds.\"\nremedy = \"Fit it.\"\nmethod = \"look\"\n\
             sevrity = \"fix\"\nprofiles = [\"owner\"]\nsource = [{{ document = \"Club\", basis = \"common-practice\" }}]\n\n"
        )
    };
    for part in 0..10 {
        let checks: String = (0..1000).map(|at| check(part, at)).collect();
        machine.write(&format!("many/{part}.toml"), &checks);
    }
    let begun = Instant::now();
    let told = words(&machine.run(&["rules", "check", "many"]));
    let took = begun.elapsed();
    println!("10,000 wrong checks told in {:.1} s", took.as_secs_f64());
    assert!(told.contains("did you mean severity?") && told.lines().count() < 500, "{told}");
    assert!(took < Duration::from_secs(60), "{took:?}");
}

fn trouble(workspace: &DiskWorkspace, car: &Path) -> Vec<String> {
    workspace.car(&car.to_string_lossy(), &Overrides::new()).unwrap().trouble
}

/// While the program runs a file is saved half written, taken away, and mended.
#[test]
fn the_last_good_rules_stay_in_force_and_it_is_said() {
    let machine = Machine::new();
    let car = machine.write("seven.toml", SEVEN);
    let good =
        club("own", "[[check]]\nid = \"lf-hose-at-steer-lock\"\nseverity = \"fix\"\nreason = \"ours\"\n");
    let file = machine.write("own.toml", &good);
    let paths = Paths { data: machine.path("data"), config: machine.path("config/linewalk") };
    let choices =
        Choices { rules: vec![file.to_string_lossy().into_owned()], on: None, units: Units::Us, by: None };
    let workspace = DiskWorkspace::new(paths, choices, Vec::new());
    assert!(trouble(&workspace, &car).is_empty());
    let rules = || workspace.car(&car.to_string_lossy(), &Overrides::new()).unwrap().rules.rules;
    let before = rules();
    fs::write(&file, good.replace("severity = \"fix\"", "severity = \"fxi\"\nsevrity = 1")).unwrap();
    let told = trouble(&workspace, &car);
    let [note] = &told[..] else { panic!("{told:?}") };
    assert!(note.contains("own.toml:11:12: ") && note.contains("those read before stay in force"), "{note}");
    assert!(Arc::ptr_eq(&before, &rules()));
    fs::remove_file(&file).unwrap();
    assert!(
        trouble(&workspace, &car)[0].contains("there is no rule file"),
        "{:?}",
        trouble(&workspace, &car)
    );
    fs::write(&file, good.replace("\"fix\"", "\"note\"")).unwrap();
    assert!(trouble(&workspace, &car).is_empty() && !Arc::ptr_eq(&before, &rules()));
}
