//! Brakes and hoses of whole cars against sums made apart, by a script that reads the TOML by itself.

use std::collections::BTreeMap;

use linewalk::numbers::{Answer, NumberValue, registry};

use crate::numbers_rig::{answers, car, close, number};

/// tests/fixtures/brakes/numbers.json, made by the script beside it: quantity, of, value in SI, a word or a flag.
type Rows = Vec<(String, String, serde_json::Value)>;

fn fixture() -> BTreeMap<String, Rows> {
    serde_json::from_str(include_str!("../fixtures/brakes/numbers.json")).unwrap()
}

/// Numbers that rest on readings of the day, or on what these cars do not have.
const NOT_HERE: [&str; 3] = ["brake.hold_drop", "brake.hold_drop_low", "brake.fluid_margin"];

#[test]
fn whole_cars_against_sums_made_apart() {
    let cars = fixture();
    assert!(cars.len() >= 3, "{}", cars.len());
    for (name, rows) in cars {
        let read = car(&std::fs::read_to_string(format!("tests/fixtures/brakes/{name}.toml")).unwrap());
        let mut worst = 0.0_f64;
        for (id, of, expected) in &rows {
            match (number(&read, id, of, &[]).value, expected) {
                (NumberValue::Number(got), serde_json::Value::Number(expected)) => {
                    let expected = expected.as_f64().unwrap();
                    worst = worst.max((got / expected - 1.0).abs());
                    close(got, expected, 1e-9);
                }
                (NumberValue::Flag(got), expected) => assert_eq!(Some(got), expected.as_bool(), "{id} {of}"),
                (NumberValue::Word(got), expected) => {
                    assert_eq!(Some(got.as_str()), expected.as_str(), "{id} {of}")
                }
                (got, expected) => panic!("{name} {id} {of}: {got:?}, not {expected}"),
            }
        }
        println!("{name}: {} numbers, {worst:.1e} at most", rows.len());
        // And nothing that the program works out is left unchecked.
        let family =
            |id: &&str| (id.starts_with("brake.") || id.starts_with("hose.")) && !NOT_HERE.contains(id);
        for id in registry().map(|quantity| quantity.id).filter(family) {
            for answer in answers(&read, id, &[]) {
                let found = match answer {
                    Answer::Number(found) => found,
                    // A hose too slack for its formula has no row there either.
                    Answer::Refused(none) if none.of.as_ref().is_none_or(|of| *of == name) => {
                        assert!(!rows.iter().any(|(row, ..)| row == id), "{name} {id}: {}", none.reason);
                        continue;
                    }
                    Answer::Refused(none) => {
                        let of = none.of.unwrap_or_default();
                        assert!(
                            none.needs.is_empty()
                                && !rows.iter().any(|(row, its, _)| row == id && *its == of)
                        );
                        continue;
                    }
                };
                assert!(
                    rows.iter().any(|(row, of, _)| row == id && *of == found.of),
                    "{name} {id} {}",
                    found.of
                );
            }
        }
    }
}

/// What each of the three is for.
#[test]
fn what_the_cars_are_made_to_show() {
    let read =
        |name: &str| car(&std::fs::read_to_string(format!("tests/fixtures/brakes/{name}.toml")).unwrap());
    let word = |name: &str, id: &str| number(&read(name), id, name, &[]).value;
    assert_eq!(word("whimbrel", "brake.locks_first"), NumberValue::Word("rear".to_owned()));
    let swapped = number(&read("knot"), "brake.port_match", "cross", &[]);
    assert_eq!((swapped.value, swapped.notes.len()), (NumberValue::Flag(false), 2));
    // A line-lock and a residual valve take nothing from the pressure; the line-lock is said to be taken as open.
    let boosted = number(&read("sanderling"), "brake.front_share", "sanderling", &[]);
    assert!(boosted.assumed.iter().any(|words| words.contains("line-lock is open")), "{:?}", boosted.assumed);
}
