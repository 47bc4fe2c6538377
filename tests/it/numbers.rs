//! The registry, and whole cars.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use linewalk::diagnostic::SourceFile;
use linewalk::model::read_car;
use linewalk::numbers::{Answer, Readings, Situation, registry, work_all};
use linewalk::source::Overrides;

use crate::numbers_rig::{RIG, answers, car};

#[test]
fn the_registry_is_whole() {
    let ids: Vec<&str> = registry().map(|quantity| quantity.id).collect();
    assert_eq!(ids.iter().collect::<BTreeSet<_>>().len(), ids.len(), "ids are unique");
    for quantity in registry() {
        for text in [quantity.title, quantity.of, quantity.table, quantity.formula] {
            assert!(!text.is_empty(), "{}", quantity.id);
        }
        assert!(!quantity.source.document.is_empty(), "{}", quantity.id);
        assert!(!quantity.title.ends_with('.'), "{}", quantity.id);
    }
    // The quantities of one family stand together.
    let mut families: Vec<&str> =
        ids.iter().filter_map(|id| id.split_once('.')).map(|(family, _)| family).collect();
    families.dedup();
    assert_eq!(families.iter().collect::<BTreeSet<_>>().len(), families.len(), "{families:?}");
}

fn on() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 11, 25).unwrap()
}

#[test]
fn the_least_car_is_refused_everything_by_name() {
    let car = car("format = 1\n[car]\nid = \"least\"\nnumber = \"7\"\n");
    let answers = work_all(&Situation::new(&car, Readings::default(), on()));
    assert_eq!(answers.len(), registry().count());
    for answer in answers {
        let Answer::Refused(refused) = answer else { panic!("{answer:?}") };
        assert!(!refused.needs.is_empty(), "{refused:?}");
        let expected = (refused.quantity == "brake.ideal_front_share").then_some("least");
        assert_eq!(refused.of.as_deref(), expected, "{}", refused.quantity);
    }
}

#[test]
fn every_sample_car_is_worked_through() {
    for name in ["bittern", "curlew", "dunlin", "heron", "minimal", "plover"] {
        let text = std::fs::read_to_string(format!("sample-cars/{name}.toml")).unwrap();
        let read = read_car(&SourceFile::new(name, text), &Overrides::new());
        let answers = work_all(&Situation::new(&read.car, Readings::default(), on()));
        for answer in &answers {
            match answer {
                Answer::Number(number) => {
                    assert!(!number.of.is_empty() && !number.source.is_empty());
                    assert!(number.si().is_none_or(f64::is_finite), "{number:?}");
                }
                Answer::Refused(refused) => assert!(!refused.reason.is_empty()),
            }
        }
    }
}

#[test]
fn files_cut_short_anywhere_never_stop_the_work() {
    // Every table header in turn ends the file: parts are missing in every way the order allows.
    for (cut, _) in RIG.match_indices("\n[") {
        let text = RIG.get(..cut).unwrap();
        let read = read_car(&SourceFile::new("cut.toml", text), &Overrides::new());
        work_all(&Situation::new(&read.car, Readings::default(), on()));
    }
    // Every line in turn is left out.
    let lines: Vec<&str> = RIG.lines().collect();
    for left_out in 0..lines.len() {
        let kept: Vec<&str> =
            lines.iter().enumerate().filter(|(n, _)| *n != left_out).map(|(_, line)| *line).collect();
        let read = read_car(&SourceFile::new("gap.toml", kept.join("\n")), &Overrides::new());
        for answer in work_all(&Situation::new(&read.car, Readings::default(), on())) {
            if let Answer::Refused(refused) = answer {
                assert!(!refused.reason.is_empty());
            }
        }
    }
}

#[test]
fn a_number_on_defaults_alone_is_rough() {
    let rig = crate::numbers_rig::rig(&[]);
    let of = |id: &str, of: &str| {
        let answers = answers(&rig, id, &[]);
        answers.iter().find(|a| a.of() == Some(of)).unwrap().number().unwrap().rough()
    };
    assert!(!of("brake.stroke_used", "tandem"));
    // One word is all that goes in, and it is a default.
    assert!(of("nozzle.branch_turns", "near"));
    // Cone and reach are defaults; place, aim and box are the car's own.
    assert!(!of("nozzle.hits", "far -> above"));
}

#[test]
fn every_quantity_stands_in_the_table_of_proof() {
    let page = std::fs::read_to_string("tests/proof.md").unwrap();
    let rows: Vec<Vec<&str>> = page
        .lines()
        .filter(|line| line.starts_with('|'))
        .map(|line| line.trim_matches('|').split(" | ").map(str::trim).collect())
        .collect();
    for row in &rows {
        assert_eq!(row.len(), if row[0].starts_with("--") { 1 } else { 5 }, "{row:?}");
        assert!(row.iter().all(|cell| !cell.is_empty()), "{row:?}");
        for file in row.get(4).into_iter().filter(|cell| **cell != "test").flat_map(|cell| cell.split(", ")) {
            assert!(std::path::Path::new(&format!("tests/it/{file}.rs")).exists(), "{file}");
        }
    }
    for quantity in registry() {
        let named = format!("`{}`", quantity.id);
        assert!(rows.iter().any(|row| row[0].contains(&named)), "{named} has no proof");
    }
}
