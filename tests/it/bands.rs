//! Bands of numbers: Halton points against printed values, bands against closed forms, the largest sample car.

use std::sync::Arc;
use std::time::Instant;

use chrono::NaiveDate;
use linewalk::diagnostic::SourceFile;
use linewalk::model::read_car;
use linewalk::numbers::{
    Answer, Bound, Number, POINTS, Readings, Situation, quantity, split_readings, spread, to_json, to_text,
    with_bands, work, work_all,
};
use linewalk::physics::halton::{primes, radical_inverse};
use linewalk::source::Overrides;
use linewalk::units::Units;

use crate::numbers_rig::{RIG, close, inches};

fn on() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 11, 25).unwrap()
}

/// The numbers of a car file with their bands.
fn banded(text: &str, readings: &[(&str, &str)], only: Option<&str>, points: usize) -> Vec<Answer> {
    let (file, overrides) = (SourceFile::new("car.toml", text), Overrides::new());
    let read = read_car(&file, &overrides);
    assert!(read.diagnostics.is_empty(), "{}", read.diagnostics[0].render());
    let mut values = Readings::default();
    split_readings(readings.iter().copied()).unwrap().apply(&mut values);
    let situation = Situation::new(&read.car, values, on());
    let answers = only.map_or_else(|| work_all(&situation), |id| work(quantity(id).unwrap(), &situation));
    with_bands(&Arc::clone(&file), &overrides, &situation, answers, points)
}

fn of(answers: &[Answer], id: &str, of: &str) -> Number {
    let found = answers.iter().find(|answer| answer.quantity() == id && answer.of() == Some(of));
    found.and_then(Answer::number).unwrap_or_else(|| panic!("{id} of {of}: {found:?}")).clone()
}

/// The rig with some of its text replaced.
fn text(changes: &[(&str, &str)]) -> String {
    let mut text = RIG.to_owned();
    for (old, new) in changes {
        assert!(text.contains(old), "{old}");
        text = text.replace(old, new);
    }
    text
}

/// A number of the rig with the ends of its band.
fn ends(changes: &[(&str, &str)], readings: &[(&str, &str)], id: &str, thing: &str) -> (Number, f64, f64) {
    let number = of(&banded(&text(changes), readings, Some(id), POINTS), id, thing);
    let (low, high) = (number.low.unwrap(), number.high.unwrap());
    (number, low, high)
}

/// Within a share of the band of where a closed form has its ends.
fn near(got: (f64, f64), expected: (f64, f64), share: f64) {
    let band = expected.1 - expected.0;
    let miss = (got.0 - expected.0).abs().max((got.1 - expected.1).abs()) / band;
    println!("ends within {:.3} % of the band", 100.0 * miss);
    assert!(miss <= share, "{got:?} is not {expected:?}: {miss} of the band");
}

/// One input in even steps: 512 points of van der Corput's sequence are off by two of them at most.
const ONE_INPUT: f64 = 2.0 / 512.0;
/// Two inputs: a hundredth of the band.
const TWO_INPUTS: f64 = 0.01;

/// The ends of a band in closed form: where a distribution function is 0.025 and 0.975, by halving.
fn ends_of(from: f64, to: f64, below: impl Fn(f64) -> f64) -> (f64, f64) {
    let find = |share: f64| {
        let (mut low, mut high) = (from, to);
        for _ in 0..200 {
            let middle = f64::midpoint(low, high);
            if below(middle) < share { low = middle } else { high = middle }
        }
        low
    };
    (find(0.025), find(0.975))
}

#[test]
fn radical_inverses_as_printed() {
    // van der Corput's sequence and Halton's second coordinate, as any text on the subject prints them.
    let twos: Vec<f64> = (1..8).map(|i| radical_inverse(i, 2)).collect();
    assert_eq!(twos, [1.0 / 2.0, 1.0 / 4.0, 3.0 / 4.0, 1.0 / 8.0, 5.0 / 8.0, 3.0 / 8.0, 7.0 / 8.0]);
    let threes: Vec<f64> = (1..9).map(|i| radical_inverse(i, 3)).collect();
    let ninths = |n: f64| n / 9.0;
    assert_eq!(
        threes,
        [1.0 / 3.0, 2.0 / 3.0]
            .into_iter()
            .chain([1.0, 4.0, 7.0, 2.0, 5.0, 8.0].map(ninths))
            .collect::<Vec<_>>()
    );
    // 1234 in base 5 is 14414; mirrored 0.41441 = 4/5 + 1/25 + 4/125 + 4/625 + 1/3125.
    assert_eq!(radical_inverse(1234, 5), 2_746.0 / 3_125.0);
    assert_eq!(radical_inverse(0, 7), 0.0);
    assert_eq!(primes(12), [2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37]);
}

#[test]
fn default_half_widths() {
    // A line's length: straight legs x 1/16 in either way, 95 % of it inside. Three legs, and a typed length as one.
    let (main, low, high) = ends(&[], &[], "line.length", "main");
    let (middle, half) = (main.si().unwrap(), inches(0.95 * 3.0 / 16.0));
    near((low, high), (middle - half, middle + half), ONE_INPUT);
    let (_, low, high) = ends(&[], &[], "line.length", "rear-run");
    near((low, high), (inches(88.0 - 0.95 / 16.0), inches(88.0 + 0.95 / 16.0)), ONE_INPUT);
    // Stated: as stated.
    let stated = [("length = \"88 in\"", "length = \"88 in +/- 1/2 in\"")];
    let (_, low, high) = ends(&stated, &[], "line.length", "rear-run");
    near((low, high), (inches(88.0 - 0.475), inches(88.0 + 0.475)), ONE_INPUT);
    // Wall 10 %: 5/8 in less two walls of 0.058 in less two lines leaves 0.134 in, and moves by twice the wall.
    let (_, low, high) = ends(&[], &[], "sleeve.clearance", "sleeve");
    near((low, high), (inches(0.134 - 0.95 * 0.0116), inches(0.134 + 0.95 * 0.0116)), ONE_INPUT);
    // Pull friction 0.10 to 0.25, given or not: e^(friction x 135 deg) rises with it.
    let force = |friction: f64| 24.0 * crate::numbers_rig::LBF * (friction * 135_f64.to_radians()).exp();
    for changes in [&[][..], &[("friction = 0.15", "")]] {
        let (number, low, high) = ends(changes, &[], "pull.handle_force", "pull");
        near((low, high), (force(0.103_75), force(0.246_25)), ONE_INPUT);
        assert_eq!(number.drivers.len(), 1);
        assert_eq!(number.drivers[0].0, "suppression.pull.pull.friction");
    }
    let stated = [("friction = 0.15", "friction = \"0.15 +/- 0.02\"")];
    let (_, low, high) = ends(&stated, &[], "pull.handle_force", "pull");
    near((low, high), (force(0.131), force(0.169)), ONE_INPUT);
}

#[test]
fn a_discharge_coefficient_is_known_to_a_twentieth() {
    let car = std::fs::read_to_string("tests/fixtures/cars/salt.toml").unwrap();
    let file = SourceFile::new("salt.toml", car);
    let read = read_car(&file, &Overrides::new());
    let situation = Situation::new(&read.car, Readings::default(), on());
    let answers = work(quantity("discharge.arrival").unwrap(), &situation);
    let inputs = &answers[0].number().unwrap().inputs;
    let of = |path: &str| spread(inputs.iter().find(|input| input.path == path).unwrap());
    let [low, high] = of("suppression.nozzle.n1.cd").unwrap();
    close(low, 0.65 * 0.95, 1e-12);
    close(high, 0.65 * 1.05, 1e-12);
    assert_eq!(of("suppression.nozzle.n2.factor"), None);
    assert_eq!(of("suppression.line.main.tube.od"), None);
    let [low, high] = of("suppression.line.left.length").unwrap();
    close(high - low, inches(2.0 * 2.0 / 16.0), 1e-9);
}

#[test]
fn a_default_is_one_unknown_wherever_it_stands() {
    // Rollback 0.005 to 0.015 in at twelve pistons of pi/4 x 1.375^2 in2, all together, over a bore of 7/8 in and a stroke
    // of 1.1 in; drawn one by one for each wheel it would be half as much. The lines' sizes move it by under a tenth of this.
    let exact = [
        ("pedal_force_hard", "bulk_modulus = \"1.4 GPa\"\npedal_force_hard"),
        ("length = \"13 in\"\nbore", "growth = 1.0\nlength = \"13 in\"\nbore"),
        ("length = \"27 1/4 in\"", "growth = 1.0\nlength = \"27 1/4 in\""),
    ];
    let (stroke, low, high) = ends(&exact, &[], "brake.stroke_used", "tandem");
    let moved = 0.95 * 0.005 * 12.0 * 1.375 * 1.375 / (0.875 * 0.875 * 1.1);
    let value = stroke.si().unwrap();
    near((low, high), (value - moved, value + moved), TWO_INPUTS);
    assert!(
        stroke.drivers[0].0 == "brakes.wheel_brake.rollback" && stroke.drivers[0].1 > 0.99,
        "{:?}",
        stroke.drivers
    );
    let table = to_text(&[Answer::Number(Box::new(stroke))], Units::Us, |_| None);
    assert!(table.contains("of what is not known: measure brakes.master.rod_travel instead"), "{table}");
    // A stated one is each wheel's own.
    let stated = text(&exact).replace("pad_gap =", "rollback = \"0.010 in +/- 0.005 in\"\npad_gap =");
    let stated = of(&banded(&stated, &[], Some("brake.stroke_used"), POINTS), "brake.stroke_used", "tandem");
    let width = stated.high.unwrap() - stated.low.unwrap();
    assert!(width < 0.7 * (high - low) && width > 0.4 * (high - low), "{width}");
}

#[test]
fn a_rod_measured_under_pressure_takes_the_place_of_the_sum() {
    // 0.70 in of 1.1 in, known to 1/64 in, whatever the pads and hoses are said to be.
    let read = [("brakes.master.tandem.rod_travel", "0.70 in +/- 1/64 in")];
    let (stroke, low, high) = ends(&[], &read, "brake.stroke_used", "tandem");
    close(stroke.si().unwrap(), 0.70 / 1.1, 1e-12);
    near((low, high), ((0.70 - 0.95 / 64.0) / 1.1, (0.70 + 0.95 / 64.0) / 1.1), ONE_INPUT);
    assert_eq!((stroke.bound, stroke.assumed.len()), (Bound::Value, 0), "{:?}", stroke.assumed);
    let sum = of(&banded(RIG, &[], Some("brake.stroke_used"), 8), "brake.stroke_used", "tandem");
    assert_eq!(sum.bound, Bound::AtLeast);
}

#[test]
fn a_reading_is_known_as_well_as_its_instrument() {
    let read = [("electrics.coil.ground_drop", "0.2 V +/- 0.02 V")];
    let (_, low, high) = ends(&[], &read, "electrics.ground_drop", "coil");
    near((low, high), (0.181, 0.219), ONE_INPUT);
}

#[test]
fn a_sum_of_two_inputs() {
    // Handle travel +/- a less valve travel +/- b: the tail of the trapezium is (x + a + b)^2 / 8ab, and 2.5 % lie in it.
    let (a, b) = (0.1_f64, 0.05_f64);
    let half = a + b - (8.0 * a * b * 0.025).sqrt();
    let car = text(&[
        ("handle_travel = \"2.5 in\"", "stretch = \"0 %\"\nhandle_travel = \"2.5 in +/- 0.1 in\""),
        ("valve_travel = \"0.75 in\"", "valve_travel = \"0.75 in +/- 0.05 in\""),
    ]);
    for points in [POINTS, 4096] {
        let number = of(&banded(&car, &[], Some("pull.travel_left"), points), "pull.travel_left", "pull");
        let inch = |end: Option<f64>| end.unwrap() / inches(1.0);
        near((inch(number.low), inch(number.high)), (1.5 - half, 1.5 + half), TWO_INPUTS);
        // Variance goes with the square: 0.1^2 to 0.05^2.
        let [(first, most), (second, rest)] = number.drivers.as_slice() else {
            panic!("{:?}", number.drivers)
        };
        assert_eq!(first, "suppression.pull.pull.handle_travel");
        assert_eq!(second, "suppression.pull.pull.valve_travel");
        assert!((most - 0.8).abs() < 0.01 && (rest - 0.2).abs() < 0.01, "{:?}", number.drivers);
        let table = to_text(&[Answer::Number(Box::new(number))], Units::Us, |_| None);
        assert!(table.contains("handle_travel is 80 % of what is not known: measure this first"), "{table}");
    }
}

/// Chance that the product of two numbers, evenly spread over 1 +/- u and 1 +/- v, is at most z.
fn product(u: f64, v: f64, z: f64) -> f64 {
    let (x1, x2, y1, y2) = (1.0 - u, 1.0 + u, 1.0 - v, 1.0 + v);
    let whole = (z / x2).clamp(y1, y2);
    let end = (z / x1).clamp(y1, y2);
    let part = z * (end / whole).ln() - x1 * (end - whole);
    ((whole - y1) + part / (x2 - x1)) / (y2 - y1)
}

#[test]
fn a_product_of_two_inputs() {
    let car = text(&[
        ("pad_friction = 0.42", "pad_friction = \"0.42 +/- 0.06\""),
        ("effective_radius = \"4.4 in\"", "effective_radius = \"4.4 in +/- 0.3 in\""),
    ]);
    let (u, v) = (0.06 / 0.42, 0.3 / 4.4);
    for points in [POINTS, 4096] {
        let number = of(&banded(&car, &[], Some("brake.torque"), points), "brake.torque", "LF");
        let value = number.si().unwrap();
        let share = |end: Option<f64>| end.unwrap() / value;
        let expected = ends_of((1.0 - u) * (1.0 - v), (1.0 + u) * (1.0 + v), |z| product(u, v, z));
        near((share(number.low), share(number.high)), expected, TWO_INPUTS);
        // What an input does alone, over the whole variance (1 + u^2/3)(1 + v^2/3) - 1.
        let whole = (1.0 + u * u / 3.0) * (1.0 + v * v / 3.0) - 1.0;
        assert!((number.drivers[0].1 - u * u / 3.0 / whole).abs() < 0.01, "{:?}", number.drivers);
        assert!((number.drivers[1].1 - v * v / 3.0 / whole).abs() < 0.01, "{:?}", number.drivers);
    }
}

#[test]
fn numbers_without_a_band_and_with_their_own() {
    let all = banded(RIG, &[], None, 32);
    for (id, thing) in
        [("brake.pressure", "rear"), ("bottle.service_left", "b1"), ("pull.total_bend", "pull")]
    {
        let number = of(&all, id, thing);
        assert_eq!((number.low, number.high, number.convergence), (None, None, None), "{id}");
        assert!(number.drivers.is_empty());
    }
    let own = of(&all, "line.span_frequency", "rear-run");
    close(own.low.unwrap(), own.si().unwrap(), 1e-15);
    assert_eq!((own.convergence, own.drivers.len()), (None, 0));
    let json: serde_json::Value = serde_json::from_str(&to_json("rig", &all, Units::Us, |_| None)).unwrap();
    let row = |id: &str| {
        json["numbers"].as_array().unwrap().iter().find(|row| row["quantity"] == id).unwrap().clone()
    };
    assert!(row("line.span_frequency").get("convergence").is_none());
    assert!(row("brake.pressure")["low"].is_null() && row("brake.pressure").get("convergence").is_none());
    assert!(row("line.length")["convergence"].as_f64().unwrap() < 0.1);
}

#[test]
fn cases_that_cannot_be_worked_are_left_out_and_counted() {
    // 12.43 in +/- 1/16 in over a chord of 12.371 843 in: (12.371 843 - 12.3675) / 0.125 = 3.47 % are too short.
    let changes = [("length = \"13 in\"", "length = \"12.43 in\"")];
    let bend =
        of(&banded(&text(&changes), &[], Some("hose.bend_radius"), POINTS), "hose.bend_radius", "axle-hose");
    // Which way its fittings point is not known, so that only the end it is sure of is given.
    assert!(bend.low.is_none() && bend.high > bend.si(), "{bend:?}");
    let note = bend.notes.iter().find(|note| note.contains("of the sampled cases")).unwrap();
    let percent: f64 = note.split_once(" %").unwrap().0.parse().unwrap();
    // To one point of 512.
    assert!((percent - 3.47).abs() < 100.0 / 512.0, "{note}");
    let (slack, ..) = ends(&changes, &[], "hose.slack", "axle-hose");
    assert!(!slack.notes.iter().any(|note| note.contains("sampled")), "{:?}", slack.notes);
}

#[test]
fn the_same_answer_every_time() {
    let salt = std::fs::read_to_string("tests/fixtures/cars/salt.toml").unwrap();
    let once = banded(&salt, &[], None, 24);
    assert_eq!(once, banded(&salt, &[], None, 24));
    // By itself or among others, a number has the same band.
    let alone = banded(&salt, &[], Some("line.length"), 24);
    assert_eq!(of(&alone, "line.length", "main"), of(&once, "line.length", "main"));
}

fn heron() -> String {
    std::fs::read_to_string("sample-cars/heron.toml").unwrap()
}

#[test]
fn bands_of_a_discharge_hold_their_values() {
    let answers = banded(&heron(), &[], None, 48);
    let mut sampled = 0;
    for number in answers.iter().filter_map(Answer::number) {
        let Some(convergence) = number.convergence else { continue };
        let value = number.si().unwrap();
        let (low, high) = (number.low.unwrap_or(f64::NEG_INFINITY), number.high.unwrap_or(f64::INFINITY));
        assert!(low.is_finite() && high.is_finite() || number.unknown.is_some(), "{number:?}");
        let slack = 1e-9 * value.abs();
        assert!(low <= value + slack && value <= high + slack, "{number:?}");
        assert!(convergence.is_finite() && convergence >= 0.0);
        let sum: f64 = number.drivers.iter().map(|(_, share)| share).sum();
        assert!(sum <= 1.0 + 1e-9, "{number:?}");
        assert!(number.drivers.is_sorted_by(|one, other| one.1 >= other.1), "{number:?}");
        sampled += 1;
    }
    assert!(
        answers.iter().filter(|a| a.quantity().starts_with("discharge.")).all(|a| a
            .number()
            .unwrap()
            .low
            .is_some())
    );
    assert!(sampled > 60, "{sampled}");
    // Agent that is delivered hangs on its own nozzle's hole first of all.
    let delivered = of(&answers, "discharge.delivered", "driver-legs");
    assert_eq!(delivered.drivers[0].0, "suppression.nozzle.driver-legs.cd");
}

/// The largest move of any end between two samplings, as a share of the band, and of what.
fn largest_move(few: &[Answer], many: &[Answer]) -> (f64, String) {
    let mut largest = (0.0, String::new());
    for (one, other) in few.iter().zip(many).filter_map(|(a, b)| Some((a.number()?, b.number()?))) {
        let (Some(_), Some(low), Some(high)) = (one.convergence, one.low, one.high) else { continue };
        let miss = (other.low.unwrap() - low).abs().max((other.high.unwrap() - high).abs()) / (high - low);
        if miss > largest.0 {
            largest = (miss, format!("{} of {}", one.quantity, one.of));
        }
    }
    largest
}

#[test]
fn closed_forms_hardly_move_with_more_points() {
    let hoses = |points| banded(&heron(), &[], Some("brake.stroke_used"), points);
    let (most, what) = largest_move(&hoses(POINTS), &hoses(4096));
    println!("4,096 points move {what} by {:.2} % of its band", 100.0 * most);
    assert!(most < 0.05, "{what}: {most}");
}

/// The largest sample car, for the clock: 512 points, and how far 4,096 move them.
#[test]
#[ignore = "a minute or more without optimising: cargo test --release -- --ignored --nocapture largest"]
fn the_largest_sample_car() {
    let start = Instant::now();
    let few = banded(&heron(), &[], None, POINTS);
    println!("512 points of every number in {:.2} s", start.elapsed().as_secs_f64());
    let (most, what) = largest_move(&few, &banded(&heron(), &[], None, 4096));
    println!("4,096 points move {what} by {:.2} % of its band, the most of all", 100.0 * most);
    assert!(most < 0.1, "{what}: {most}");
}
