//! What to measure next: the list is ordered by what it settles, says how close is close enough, and a handful of
//! measurements settles most of what a car of assumptions leaves open.

use std::fs;
use std::sync::Arc;

use linewalk::diagnostic::{SourceFile, any_error};
use linewalk::model::edit::{Edit, edited};
use linewalk::model::entry::Severity;
use linewalk::model::known::{Origin, Way};
use linewalk::model::read_car;
use linewalk::numbers::{Readings, Situation};
use linewalk::rules::{Check, Ruleset};
use linewalk::source::Overrides;
use linewalk::units::Units;
use linewalk::walk::{Basis, NextList, measure_next};

use crate::shipped::{day, shipped};

fn list(rules: &Ruleset, file: &Arc<SourceFile>, most: usize) -> NextList {
    let read = read_car(file, &Overrides::new());
    assert!(!any_error(&read.diagnostics), "{:?}", read.diagnostics);
    let situation = Situation::new(&read.car, Readings::default(), day("2026-11-25"));
    let (overrides, checks) = (Overrides::new(), rules.checks.iter().collect::<Vec<&Check>>());
    let answers = rules.numbers_of(file, &overrides, &situation);
    let basis = Basis {
        file,
        overrides: &overrides,
        situation: &situation,
        answers: &answers,
        checks: &checks,
        units: Units::Us,
    };
    measure_next(&basis, most)
}

fn file(text: &str) -> Arc<SourceFile> {
    SourceFile::new("car.toml", text)
}

/// The heron as a layout would have it: what verdicts hang on is wide, and only assumed.
fn rough_heron() -> Arc<SourceFile> {
    let text = fs::read_to_string("sample-cars/heron.toml").unwrap();
    let layout = Origin { way: Way::Layout("front-two-rear".to_owned()), ..Origin::default() };
    let set = |(key, value): (&str, &str)| Edit::Set {
        key: key.to_owned(),
        value: value.to_owned(),
        how: Some(layout.clone()),
    };
    let edits: Vec<Edit> = [
        ("brakes.hose.length", "13 5/8 in +/- 1 in"),
        ("brakes.wheel_brake.pad_gap", "0.005 in +/- 0.003 in"),
        ("brakes.wheel_brake.pad_friction", "0.42 +/- 0.08"),
        ("brakes.master.stroke", "1.1 in +/- 0.2 in"),
        ("brakes.pedal_ratio", "6 +/- 1"),
        ("suppression.pull.valve_force", "12 lbf +/- 8 lbf"),
        ("suppression.nozzle.orifice", "0.090 in +/- 0.012 in"),
        ("suppression.line.support_gap", "9 in +/- 3 in"),
        ("car.mass", "1540 lb +/- 230 lb"),
    ]
    .map(set)
    .into();
    file(&edited(&file(&text), &edits).unwrap())
}

#[test]
fn rows_are_few_ordered_and_say_tool_place_and_how_close() {
    let rules = shipped("base").rules;
    let list = list(&rules, &rough_heron(), 10);
    assert!(!list.rows.is_empty() && list.rows.len() <= 10);
    for row in &list.rows {
        println!(
            "{:7.3} {:?} {:?} enough {:?} {}",
            row.score, row.keys, row.half_width, row.enough, row.measured.place
        );
        assert!(row.score > 0.0 && !row.settles.is_empty() && !row.measured.tool.is_empty(), "{row:?}");
        assert!(row.settles.windows(2).all(|two| two[0].severity <= two[1].severity));
    }
    // Rows of one place stand together, and the place of the best row comes first.
    let places: Vec<&str> = list.rows.iter().map(|row| row.measured.place.as_str()).collect();
    let mut met: Vec<&str> = Vec::new();
    for (at, place) in places.iter().enumerate() {
        assert!(!met.contains(place) || places[at - 1] == *place, "{places:?}");
        met.push(place);
    }
    let best = list.rows.iter().map(|row| row.score).fold(0.0, f64::max);
    let first = list.rows.iter().take_while(|row| row.measured.place == places[0]);
    assert!(first.map(|row| row.score).fold(0.0, f64::max) >= best);
    // One assumption at four wheels is one row.
    let gaps = list.rows.iter().filter(|row| row.keys.iter().any(|key| key.ends_with("pad_gap")));
    assert!(gaps.clone().count() <= 1 && gaps.clone().all(|row| row.keys.len() == 4));
    assert!(list.rows.iter().any(|row| row.settles.iter().any(|one| one.severity == Severity::Stop)));
}

/// Measured as the list says, one row after the other: after ten no more than a fifth of what was open is open.
#[test]
fn ten_measurements_settle_most() {
    let rules = shipped("base").rules;
    let mut text = rough_heron();
    let tape = Origin { way: Way::Measured("tape".to_owned()), ..Origin::default() };
    let start = list(&rules, &text, 10);
    // What the car leaves open without any of these assumptions is no matter of the list.
    let rest = list(&rules, &file(&fs::read_to_string("sample-cars/heron.toml").unwrap()), 10).undecided;
    let mut left = vec![start.undecided];
    for _ in 0..10 {
        let now = list(&rules, &text, 10);
        let mut assumed: Vec<_> = now
            .rows
            .iter()
            .filter(|row| {
                row.si.is_some()
                    && row.keys.iter().all(|key| {
                        read_car(&text, &Overrides::new())
                            .car
                            .known
                            .of(key)
                            .is_some_and(|origin| origin.way.is_assumed())
                    })
            })
            .collect();
        assumed.sort_by(|one, other| other.score.total_cmp(&one.score));
        let Some(row) = assumed.first() else { break };
        let edits: Vec<Edit> = row
            .keys
            .iter()
            .map(|key| {
                let value = linewalk::model::values::values(&text)
                    .into_iter()
                    .find(|one| one.key == *key)
                    .unwrap()
                    .text;
                let value = value.split(" +/-").next().unwrap().to_owned();
                Edit::Set { key: key.clone(), value, how: Some(tape.clone()) }
            })
            .collect();
        text = file(&edited(&text, &edits).unwrap());
        left.push(list(&rules, &text, 10).undecided);
    }
    println!("undecided after each measurement: {left:?}; {rest} without assumptions");
    let (first, last) = (left[0] as f64 - rest as f64, *left.last().unwrap() as f64 - rest as f64);
    assert!(first >= 4.0 && last <= 0.2 * first, "{left:?}, {rest}");
}

/// Close enough: the largest step by halves that keeps the number on its side, by arithmetic beside the program.
#[test]
fn how_close_is_close_enough_is_where_no_verdict_hangs_on_it() {
    let rules = shipped("base").rules;
    let list = list(&rules, &rough_heron(), 20);
    let row = list.rows.iter().find(|row| row.keys == ["suppression.pull.cockpit-pull.valve_force"]);
    let Some(row) = row else {
        panic!("{:?}", list.rows.iter().map(|row| row.keys.clone()).collect::<Vec<_>>())
    };
    // The pull at the handle goes with the valve's force: two bottles, e^(0.15 x 135 degrees) each. 50 lbf at most.
    let factor = 2.0 * (0.15_f64 * 135.0_f64.to_radians()).exp();
    let at_limit = 50.0 / factor;
    println!("{factor} lbf a lbf, at the limit {at_limit} lbf");
    let newton = 4.448_221_615_260_5;
    let enough = row.enough.unwrap() / newton;
    // Steps of 8 lbf by halves.
    assert!(12.0 + enough <= at_limit + 1e-9, "{enough}");
    assert!(12.0 + 2.0 * enough > at_limit || 2.0 * enough >= 8.0, "{enough}");
}
