//! What stands in where a car file is silent: all of it listed, each with a spread and a source.

use std::collections::BTreeSet;

use linewalk::diagnostic::SourceFile;
use linewalk::model::read_car;
use linewalk::numbers::{DEFAULTS, Off, Readings, Situation, Taken, work_all};
use linewalk::source::Overrides;
use linewalk::units::Units;

use crate::numbers_rig::RIG;

#[test]
fn every_default_that_a_number_uses_is_listed() {
    let mut texts = vec![RIG.to_owned()];
    for folder in ["sample-cars", "tests/fixtures/cars", "tests/fixtures/brakes"] {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let car = path.extension().is_some_and(|kind| kind == "toml")
                && !path.to_string_lossy().contains("answers");
            texts.extend(car.then(|| std::fs::read_to_string(path).unwrap()));
        }
    }
    // Silent about everything that has a default.
    let keys = [
        "roughness",
        "cone",
        "reach",
        "friction",
        "slack",
        "stretch",
        "min_wall",
        "leaves_by",
        "cd",
        "load_factor",
    ];
    let bare = |line: &&str| !keys.iter().any(|key| line.starts_with(key));
    texts.push(RIG.lines().filter(bare).collect::<Vec<_>>().join("\n"));
    let mut used = BTreeSet::new();
    for text in texts {
        let read = read_car(&SourceFile::new("car.toml", text), &Overrides::new());
        let situation = Situation::new(&read.car, Readings::default(), chrono::NaiveDate::default());
        for number in work_all(&situation).iter().filter_map(|answer| answer.number()) {
            let inputs = number.inputs.iter().map(|input| (&input.path, input.assumed));
            let others = number.others.iter().map(|(path, assumed)| (path, *assumed));
            for (path, _) in inputs.chain(others).filter(|(_, assumed)| *assumed) {
                let known = DEFAULTS.iter().find(|default| {
                    let (table, key) = default.key.rsplit_once('.').unwrap();
                    let mut parts = path.split('.');
                    path.ends_with(&format!(".{key}"))
                        && table.split('.').all(|word| parts.any(|part| part == word))
                });
                used.insert(known.unwrap_or_else(|| panic!("{path} is a default that nobody lists")).key);
            }
        }
    }
    println!("{used:?}");
    assert!(used.len() > 15, "{used:?}");
}

#[test]
fn every_default_has_a_spread_and_a_source() {
    let mut keys = BTreeSet::new();
    for default in DEFAULTS {
        assert!(keys.insert(default.key), "{} twice", default.key);
        assert!(!default.source.to_string().is_empty());
        match (default.taken, default.off) {
            (Taken::Value(_, si), Off::Between(low, high)) => {
                assert!(low <= si && si <= high && low < high, "{default:?}")
            }
            (_, Off::By(half) | Off::ByAbove(half, _)) => assert!(half > 0.0),
            (_, Off::Exact(why)) => assert!(why.len() > 10),
            (Taken::Words(..), Off::Between(..)) => panic!("{default:?} has no value to lie between"),
        }
    }
}

/// The README has the same table; printed here to be copied where it differs.
#[test]
fn the_readme_lists_them_all() {
    let page = std::fs::read_to_string("README.md").unwrap();
    for default in DEFAULTS {
        let (taken, spread) = (default.shown(Units::Us), default.spread(Units::Us));
        let row = format!("| `{}` | {taken} | {spread} | {} |", default.key, default.source);
        println!("{row}");
    }
    for default in DEFAULTS {
        let (taken, spread) = (default.shown(Units::Us), default.spread(Units::Us));
        let row = format!("| `{}` | {taken} | {spread} | {} |", default.key, default.source);
        assert!(page.contains(&row), "the README lacks {row}");
    }
}
