//! `linewalk help` and the manual answer: topics, commands, keys of the car file, numbers.

use std::process::Command;

use linewalk::model::guide::{GUIDES, guide_to};
use linewalk::model::keys::{all_keys, field_of};
use linewalk::numbers::DEFAULTS;
use linewalk::source::FieldKind;

fn asked(words: &[&str]) -> (Option<i32>, String) {
    let out = Command::new(env!("CARGO_BIN_EXE_linewalk")).args(words).output().unwrap();
    let text = [out.stdout, out.stderr].concat();
    (out.status.code(), String::from_utf8(text).unwrap())
}

/// Every value that a person measures or looks up has words on where to find it, and none is about a key that is gone.
#[test]
fn every_quantity_of_the_format_says_where_it_is_found() {
    for guide in GUIDES {
        assert!(field_of(guide.key).is_some(), "{} is no key", guide.key);
        assert!(guide.found.ends_with('.'), "{}", guide.key);
    }
    // What is only for an agent that no table knows, or goes by what the conduit was bent to.
    let self_evident = [
        "suppression.bottle.density",
        "suppression.bottle.viscosity",
        "suppression.bottle.vapour_pressure",
        "suppression.bottle.temperature",
        "suppression.bottle.mount.load_factor",
        "suppression.pull.bends.angle",
        "suppression.pull.bends.radius",
    ];
    for path in all_keys() {
        let field = field_of(&path).unwrap();
        let value = matches!(field.kind, FieldKind::Quantity(_) | FieldKind::Number | FieldKind::Rpm);
        let told = guide_to(&path).is_some() || self_evident.contains(&path.as_str());
        assert!(!value || told || path == "format" || path == "car.firing", "{path} has no guide");
    }
}

#[test]
fn ten_keys_that_an_owner_would_not_know() {
    for (key, wanted) in [
        ("suppression.nozzle.cd", "data sheet"),
        ("suppression.nozzle.n1.orifice", "drill"),
        ("suppression.bottle.outlet_k", "Left out:"),
        ("suppression.bottle.volume", "Stamped"),
        ("suppression.gas_exponent", "leave it out"),
        ("suppression.pull.slack", "Left out:"),
        ("brakes.valve.knee", "gauges"),
        ("brakes.wheel_brake.LF.effective_radius", "middle of the pad"),
        ("brakes.pedal_ratio", "pivot"),
        ("car.cg_height", "raised"),
    ] {
        let (status, text) = asked(&["help", key]);
        assert_eq!(status, Some(0), "{text}");
        assert!(text.contains("Where:") && text.contains(wanted), "{key}: {text}");
    }
    // Every default is shown where its key is asked for.
    for default in DEFAULTS {
        assert!(asked(&["help", default.key]).1.contains("Left out:"), "{}", default.key);
    }
}

#[test]
fn topics_commands_and_numbers_are_found_and_slips_are_mended() {
    let (status, all) = asked(&["help"]);
    assert_eq!(status, Some(0));
    for topic in ["axes", "units", "instruments", "keys", "files", "rules", "discharge", "brakes"] {
        assert!(all.contains(&format!("  {topic} ")), "{topic}");
        let (status, text) = asked(&["help", topic]);
        assert!(status == Some(0) && text.lines().count() > 4, "{topic}: {text}");
        assert!(text.lines().all(|line| line.chars().count() <= 120), "{topic}");
    }
    assert!(asked(&["help", "log", "verify"]).1.contains("linewalk log verify"));
    assert!(asked(&["help", "brake.pressure"]).1.contains("Formula:"));
    let (status, slip) = asked(&["help", "suppresion.nozzle.cd"]);
    assert!(status == Some(2) && slip.contains("did you mean suppression.nozzle.cd?"), "{slip}");
    let (_, hostile) = asked(&["help", "\u{1b}[2J"]);
    assert!(!hostile.contains('\u{1b}'));
}

/// The manual has each command with an example, and the same topics.
#[test]
fn the_manual_has_an_example_for_each_command() {
    let (_, page) = asked(&["man"]);
    let commands: Vec<&str> = page.lines().filter_map(|line| line.strip_prefix(".SS linewalk ")).collect();
    let top: Vec<&&str> = commands.iter().filter(|name| !name.contains(' ')).collect();
    assert!(top.len() > 12, "{top:?}");
    for name in top {
        assert!(page.contains(&format!(".EX\nlinewalk {name}")), "{name} has no example");
    }
    for topic in ["AXES", "UNITS", "INSTRUMENTS", "KEYS", "FILES", "RULES", "DISCHARGE", "BRAKES"] {
        assert!(page.contains(&format!(".SH {topic}\n")), "{topic}");
    }
}

#[test]
fn the_version_tells_what_it_reads_and_writes() {
    let (status, short) = asked(&["--version"]);
    assert!(
        status == Some(0) && short.starts_with(&format!("linewalk {}", env!("CARGO_PKG_VERSION"))),
        "{short}"
    );
    assert!(short.contains("base 20"));
    let (_, long) = asked(&["--version", "--verbose"]);
    for part in ["rules built in: base", "logs: written in format 2", "features: ", "build: "] {
        assert!(long.contains(part), "{part}: {long}");
    }
}
