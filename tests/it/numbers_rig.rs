//! An invented car that has one of everything, and ways to work it out.

use std::sync::Arc;

use chrono::NaiveDate;
use linewalk::diagnostic::SourceFile;
use linewalk::model::{Car, read_car};
use linewalk::numbers::{Answer, Number, Readings, Refused, Situation, quantity, split_readings, work};
use linewalk::source::Overrides;
use linewalk::units::{INCH, PSI};

/// A pound-force in newtons.
pub const LBF: f64 = 0.453_592_37 * 9.806_65;

/// One of everything. Faces stand square to their nozzles so that hits have closed forms.
pub const RIG: &str = r#"
format = 1
[car]
id = "rig"
number = "1"
engine_rpm = { low = 2500, high = 7800 }
without = ["booster"]
mass = "1540 lb"
front_share = "44 %"
wheelbase = "98 in"
cg_height = "15 in"
tyre_friction = 1.2
tyre_radius = { front = "11 in", rear = "13 in" }
[[frame.tube]]
id = "left"
[[frame.sleeve]]
id = "sleeve"
od = "5/8 in"
wall = "0.058 in"
carries = ["rear-run", "front-run"]
[brakes]
fluid = "DOT 4"
pedal_ratio = 6
pedal_force = "100 lbf"
pedal_force_hard = "200 lbf"
[[brakes.master]]
id = "tandem"
bore = "7/8 in"
stroke = "1.1 in"
reservoir = "8 floz"
ports = [{ id = "A", feeds = "rear", plumbed_to = "rear" }, { id = "B", feeds = "front", plumbed_to = "front" }]
[[brakes.line]]
id = "rear-run"
circuit = "rear"
tube = { od = "3/16 in", wall = "0.028 in", material = "316" }
length = "88 in"
bend_radius = "3/4 in"
support_gap = "11 in"
[[brakes.line]]
id = "front-run"
circuit = "front"
tube = { od = "3/16 in", wall = "0.028 in", material = "316", min_wall = "0.025 in" }
length = "70 in"
[[brakes.hose]]
id = "axle-hose"
circuit = "rear"
length = "13 in"
bore = "1/8 in"
inner_end = [16, 2, 9.5]
outer_end = { droop = [4, 0, 7.25], ride = [4, 0, 9], bump = [4, 0, 11.75] }
[[brakes.hose]]
id = "lf-hose"
circuit = "front"
length = "27 1/4 in"
bore = "1/8 in"
[[brakes.valve]]
id = "knee"
circuit = "rear"
kind = "proportioning"
knee = "600 psi"
slope = 0.4
[[brakes.wheel_brake]]
id = "LF"
circuit = "front"
caliper = "fixed"
pistons = 4
piston_bore = "1 3/8 in"
effective_radius = "4.4 in"
pad_friction = 0.42
pad_gap = "0.005 in"
pad_new = "0.50 in"
pad_min = "0.12 in"
[[brakes.wheel_brake]]
id = "RF"
circuit = "front"
caliper = "fixed"
pistons = 4
piston_bore = "1 3/8 in"
effective_radius = "4.4 in"
pad_friction = 0.42
pad_gap = "0.005 in"
pad_new = "0.50 in"
pad_min = "0.12 in"
[[brakes.wheel_brake]]
id = "LR"
circuit = "rear"
caliper = "fixed"
pistons = 2
piston_bore = "1 3/8 in"
effective_radius = "4.6 in"
pad_friction = 0.42
pad_gap = "0.005 in"
pad_new = "0.50 in"
pad_min = "0.12 in"
[[brakes.wheel_brake]]
id = "RR"
circuit = "rear"
caliper = "fixed"
pistons = 2
piston_bore = "1 3/8 in"
effective_radius = "4.6 in"
pad_friction = 0.42
pad_gap = "0.005 in"
pad_new = "0.50 in"
pad_min = "0.12 in"
[suppression]
temperature = "70 F"
[[suppression.bottle]]
id = "b1"
agent = "custom"
density = "1200 kg/m3"
agent_mass = "10 lb"
volume = "330 in3"
charge_pressure = "360 psi"
charge_temperature = "70 F"
gross_mass = "17.2 lb"
serviced = 2026-03-14
service_every = "2 years"
tested = "2023-05"
test_every = "5 years"
[suppression.bottle.mount]
bolts = 4
bolt = { size = "1/4-28", grade = "SAE 8" }
span = "9 in"
width = "4 in"
offset = "3 in"
[[suppression.tee]]
id = "t1"
[[suppression.line]]
id = "main"
from = "b1"
to = "t1"
tube = { od = "1/4 in", wall = "0.035 in", material = "316" }
construction = "hard"
path = [[0, 0, 0], [10, 0, 0], [10, 20, 0], [10, 20, 5]]
bend_radius = "3/4 in"
support_gap = "11 in"
[[suppression.line]]
id = "stub"
from = "t1"
to = "near"
tube = { od = "1/4 in", wall = "0.035 in", material = "316" }
construction = "flexible"
length = "8 in"
[[suppression.line]]
id = "run"
from = "t1"
to = "far"
leaves_by = "run"
tube = { od = "1/4 in", wall = "0.035 in", material = "316" }
construction = "hard"
length = "32 in"
[[suppression.nozzle]]
id = "near"
at = [50, 0, 20]
aim = [-1, 0, 0]
cone = "60 deg"
reach = "40 in"
protects = ["bay"]
[[suppression.nozzle]]
id = "far"
at = [50, 0, 20]
aim = [0, 0, 3]
[[suppression.hazard]]
id = "bay"
box = [[20, -15, 0], [40, 15, 40]]
face = "front"
[[suppression.keep_clear]]
id = "above"
box = [[49.9, -0.1, 25], [50.1, 0.1, 26]]
[[suppression.pull]]
id = "pull"
works = ["b1", "b1"]
bends = [{ angle = "90 deg", radius = "5 in" }, { angle = "45 deg", radius = "4 in" }]
friction = 0.15
valve_force = "12 lbf"
valve_travel = "0.75 in"
handle_travel = "2.5 in"
slack = "1/4 in"
length = "84 in"
min_bend_radius = "3 in"
[[electrics]]
id = "coil"
part = "line-lock"
amps = "4 A"
"#;

/// Reads a car that has to be without mistakes.
pub fn car(text: &str) -> Car {
    let read = read_car(&SourceFile::new("rig.toml", text), &Overrides::new());
    assert!(read.diagnostics.is_empty(), "{}", read.diagnostics[0].render());
    Arc::unwrap_or_clone(read.car)
}

/// The rig with some of its text replaced.
pub fn rig(changes: &[(&str, &str)]) -> Car {
    let mut text = RIG.to_owned();
    for (old, new) in changes {
        assert!(text.contains(old), "{old}");
        text = text.replace(old, new);
    }
    car(&text)
}

/// The answers of one quantity on 25 November 2026.
pub fn answers(car: &Car, id: &str, readings: &[(&str, &str)]) -> Vec<Answer> {
    let mut values = Readings::default();
    split_readings(readings.iter().copied()).unwrap().apply(&mut values);
    let on = NaiveDate::from_ymd_opt(2026, 11, 25).unwrap();
    work(quantity(id).unwrap(), &Situation::new(car, values, on))
}

/// The number of one quantity of one thing.
pub fn number(car: &Car, id: &str, of: &str, readings: &[(&str, &str)]) -> Number {
    let answers = answers(car, id, readings);
    let found = answers
        .iter()
        .find(|answer| answer.of() == Some(of))
        .unwrap_or_else(|| panic!("{id} of {of}: {answers:?}"));
    found.number().unwrap_or_else(|| panic!("{found:?}")).clone()
}

/// Its value in SI.
pub fn value(car: &Car, id: &str, of: &str) -> f64 {
    number(car, id, of, &[]).si().unwrap()
}

/// The refusal of one quantity of one thing; of the whole where `of` is empty.
pub fn refused(car: &Car, id: &str, of: &str, readings: &[(&str, &str)]) -> Refused {
    let wanted = (!of.is_empty()).then_some(of);
    let answers = answers(car, id, readings);
    match answers.iter().find(|answer| answer.of() == wanted) {
        Some(Answer::Refused(refused)) => refused.clone(),
        other => panic!("{id} of {of}: {other:?}"),
    }
}

/// Agreement to a share of the expected value.
#[track_caller]
pub fn close(got: f64, expected: f64, share: f64) {
    crate::near::tell((got - expected).abs(), expected);
    assert!((got - expected).abs() <= share * expected.abs(), "{got} is not {expected}");
}

/// Inches to metres.
pub fn inches(value: f64) -> f64 {
    value * INCH
}

/// Pounds-force a square inch to pascals.
pub fn psi(value: f64) -> f64 {
    value * PSI
}
