//! Pedal force swept from 50 to 250 lbf on every car there is: what should rise with pressure never falls.

use std::collections::BTreeMap;

use linewalk::diagnostic::SourceFile;
use linewalk::model::{Car, read_car};
use linewalk::numbers::{Answer, Readings, Situation, quantity, split_sets, work};
use linewalk::units::Units;

/// What rises with the pedal, or stays where something else is the limit.
const RISING: [&str; 6] = [
    "brake.pressure",
    "brake.clamp",
    "brake.torque",
    "brake.stroke_used",
    "brake.stroke_used_one_failed",
    "brake.decel_one_failed",
];

/// What falls with it.
const FALLING: [&str; 3] = ["brake.tube_margin", "brake.bend_tube_margin", "brake.burst_margin"];

const CARS: [&str; 8] = [
    "sample-cars/heron.toml",
    "sample-cars/bittern.toml",
    "sample-cars/curlew.toml",
    "sample-cars/dunlin.toml",
    "sample-cars/plover.toml",
    "tests/fixtures/brakes/knot.toml",
    "tests/fixtures/brakes/sanderling.toml",
    "tests/fixtures/brakes/whimbrel.toml",
];

fn at_pedal(path: &str, lbf: f64) -> std::sync::Arc<Car> {
    let sets = ["pedal_force", "pedal_force_hard"].map(|key| format!("brakes.{key}={lbf} lbf"));
    let sets = split_sets(&sets).unwrap();
    let file = SourceFile::new(path, std::fs::read_to_string(path).unwrap());
    read_car(&file, &sets.overrides).car
}

/// Every number of these quantities by name and what it is of: its value, and as shown.
fn values(car: &Car, ids: &[&str]) -> BTreeMap<String, (f64, String)> {
    let s = Situation::new(car, Readings::default(), chrono::NaiveDate::default());
    let answers = ids.iter().flat_map(|id| work(quantity(id).unwrap(), &s)).collect::<Vec<Answer>>();
    let numbers = answers.iter().filter_map(Answer::number);
    numbers.map(|n| (format!("{} {}", n.quantity, n.of), (n.si().unwrap(), n.shown(Units::Us)))).collect()
}

#[test]
fn no_brake_number_falls_as_the_pedal_is_pressed_harder() {
    let mut compared = 0;
    for path in CARS {
        let all = |lbf: u32| {
            let car = at_pedal(path, f64::from(lbf));
            [values(&car, &RISING), values(&car, &FALLING)]
        };
        let [mut rising, mut falling] = all(50);
        for lbf in 51..=250 {
            let [up, down] = all(lbf);
            // A number past its tables is refused, and does not come back further on.
            for (name, (now, _)) in &up {
                let before = rising.get(name).unwrap_or_else(|| panic!("{path} {name} at {lbf} lbf")).0;
                assert!(
                    *now >= before * (1.0 - 1e-12),
                    "{path} {name}: {before} falls to {now} at {lbf} lbf"
                );
                compared += 1;
            }
            for (name, (now, _)) in &down {
                let before = falling.get(name).unwrap_or_else(|| panic!("{path} {name} at {lbf} lbf")).0;
                assert!(
                    *now <= before * (1.0 + 1e-12),
                    "{path} {name}: {before} rises to {now} at {lbf} lbf"
                );
            }
            (rising, falling) = (up, down);
        }
    }
    assert!(compared > 10_000, "{compared}");
}

/// Printed with `--nocapture`.
#[test]
fn the_sweep_as_a_table() {
    let ids = ["brake.pressure", "brake.stroke_used", "brake.stroke_used_one_failed"];
    let first = values(&at_pedal(CARS[0], 50.0), &ids);
    println!("lbf  {}", first.keys().cloned().collect::<Vec<_>>().join("  "));
    let mut before = first.clone();
    for lbf in (50..=250).step_by(10) {
        let row = values(&at_pedal(CARS[0], f64::from(lbf)), &ids);
        let shown: Vec<&str> = row.values().map(|(_, shown)| shown.as_str()).collect();
        println!("{lbf:3}  {}", shown.join("  "));
        for (name, (value, _)) in &row {
            assert!(lbf == 50 || *value > before[name].0, "{name} at {lbf} lbf");
        }
        before = row;
    }
}
