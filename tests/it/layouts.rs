//! Starting layouts: a car begun from one reads without a mistake at any dimensions, on either side, and is neither accepted nor
//! rejected by number.

use linewalk::diagnostic::SourceFile;
use linewalk::model::entry::Outcome;
use linewalk::model::known::Origin;
use linewalk::model::read_car;
use linewalk::model::values::values;
use linewalk::model::warp::{Marks, Warp};
use linewalk::numbers::{Answer, Readings, Situation};
use linewalk::rules::{Terms, judge};
use linewalk::source::Overrides;
use linewalk::units::Units;
use linewalk::walk::{Asked, LAYOUTS, Layout, new_car};
use proptest::prelude::*;

use crate::shipped::{day, shipped};

fn asked(answers: &[(&str, &str)]) -> Asked {
    let answers = answers.iter().map(|(key, value)| ((*key).to_owned(), (*value).to_owned())).collect();
    Asked { answers, how: Origin::read("tape, 2026-11-30, R.N.").unwrap() }
}

fn begun(layout: &Layout, answers: &[(&str, &str)]) -> String {
    new_car(layout, "car-62", "62", &asked(answers)).unwrap_or_else(|why| panic!("{}: {why}", layout.id))
}

fn mistakes(text: &str) -> Vec<String> {
    let read = read_car(&SourceFile::new("car.toml", text), &Overrides::new());
    read.diagnostics.iter().map(|one| one.render()).collect()
}

#[test]
fn every_layout_reads_without_a_mistake_and_fills_nothing_that_nobody_may_assume() {
    for layout in LAYOUTS {
        for driver in ["left", "right"] {
            let text = begun(layout, &[("driver", driver)]);
            assert_eq!(mistakes(&text), Vec::<String>::new(), "{} {driver}", layout.id);
            for never in
                ["agent =", "serial", "serviced", "tested", "grade", "without", "keeper", "hand_held"]
            {
                assert!(!text.contains(never), "{}: {never}", layout.id);
            }
            assert!(!text.contains("invented") && !text.contains("Faults"), "{}", layout.id);
        }
    }
}

#[test]
fn a_bare_layout_neither_passes_nor_stops_a_car() {
    let rules = shipped("base").rules;
    for layout in LAYOUTS {
        let file = SourceFile::new("car.toml", begun(layout, &[]));
        let car = read_car(&file, &Overrides::new()).car;
        let situation = Situation::new(&car, Readings::default(), day("2026-11-25"));
        let answers = rules.numbers_of(&file, &Overrides::new(), &situation);
        let terms = Terms { car: &car, numbers: &answers, readings: &Readings::default() };
        let mut worked_out = 0;
        for answer in answers.iter() {
            worked_out += usize::from(answer.number().is_some());
            for held in judge(rules.checks.iter(), &terms, answer, Units::Us) {
                let decided = matches!(held.outcome(), Outcome::Accept | Outcome::Reject);
                assert!(!held.looks_wrong(), "{}: {} {:?}", layout.id, answer.quantity(), answer.of());
                assert!(!decided, "{}: {} {:?} {:?}", layout.id, answer.quantity(), answer.of(), held.judged);
            }
        }
        println!("{}: {worked_out} rough numbers of {}", layout.id, answers.len());
        assert!(
            worked_out > 40 && answers.iter().any(|answer| matches!(answer, Answer::Refused(_))),
            "{}",
            layout.id
        );
    }
}

#[test]
fn what_was_asked_stands_in_the_file_as_it_was_known() {
    let heron = &LAYOUTS[0];
    let text = begun(
        heron,
        &[
            ("wheelbase", "104 in"),
            ("agent", "FK-5-1-12"),
            ("fuel", "methanol"),
            ("driver", "right"),
            ("hubs", "12 in, 13 in"),
        ],
    );
    for line in [
        "wheelbase = \"104 in\"\n",
        "\"car.wheelbase\" = \"tape, 2026-11-30, R.N.\"\n",
        "agent = \"FK-5-1-12\"\n",
        "fuel = [\"methanol\"]\n",
        "driver = \"right\"\n",
        "\nsuppression = \"layout front-two-rear\"\n",
        "\"car.driver\" = \"typed, 2026-11-30, R.N.\"\n",
        "id = \"car-62\"\n",
    ] {
        assert!(text.contains(line), "{line}: {text}");
    }
    for (answers, said) in [
        (&[("wheelbass", "98 in")][..], "did you mean wheelbase?"),
        (&[("wheelbase", "98")], "has no unit"),
        (&[("track", "50 in, 51 in, 52 in")], "track takes 2"),
        (&[("engine", "30 in")], "do not stand in this order"),
        (&[("frame-width", "60 in")], "wider than the track"),
        (&[("driver", "above")], "left, right or center"),
    ] {
        let why = new_car(heron, "car-62", "62", &asked(answers)).unwrap_err();
        assert!(why.contains(said), "{said}: {why}");
    }
}

/// Points of a car and of the same car on the other side, by arithmetic beside the program.
#[test]
fn the_other_side_is_the_mirror_image() {
    for layout in LAYOUTS.iter().filter(|layout| layout.id != "rear-two-systems") {
        let [left, right] = ["left", "right"].map(|side| begun(layout, &[("driver", side)]));
        let read = |text: &str| read_car(&SourceFile::new("car.toml", text), &Overrides::new()).car;
        let (left, right) = (read(&left), read(&right));
        assert_eq!(left.suppression.nozzles.len(), right.suppression.nozzles.len());
        for (one, other) in left.suppression.nozzles.iter().zip(&right.suppression.nozzles) {
            let ([x, y, z], [a, b, c]) = (one.at.unwrap(), other.at.unwrap());
            assert!((x - a).abs() < 1e-12 && (y + b).abs() < 1e-12 && (z - c).abs() < 1e-12, "{}", one.id);
        }
        let corners = |car: &linewalk::model::Car| -> Vec<String> {
            car.brakes.wheel_brakes.iter().map(|brake| brake.id.clone()).collect()
        };
        let (mut one, mut other) = (corners(&left), corners(&right));
        assert_ne!(one, other, "{}", layout.id);
        for pair in [&mut one, &mut other] {
            pair.sort();
        }
        assert_eq!(one, other);
    }
}

#[test]
fn a_point_goes_with_its_marks() {
    let marks = |wheelbase: f64, firewall: f64, half: f64| Marks {
        wheelbase,
        firewall,
        engine: 0.5 * (wheelbase + firewall),
        frame_width: 0.6,
        frame_height: 0.2,
        track: [2.0 * half, 2.0 * half],
        hubs: [0.3, 0.3],
    };
    let warp = Warp::new(marks(2.5, 1.0, 0.65), marks(3.0, 1.2, 0.75)).unwrap();
    let near = |one: [f64; 3], other: [f64; 3]| one.iter().zip(other).all(|(a, b)| (a - b).abs() < 1e-12);
    // Halfway to the firewall; at the hub in the middle of the tire; 10 cm ahead of the front axle; behind the rear axle.
    assert!(near(warp.point([0.5, 0.3, 0.2]), [0.6, 0.3, 0.2]));
    assert!(near(warp.point([2.5, -0.65, 0.3]), [3.0, -0.75, 0.3]));
    assert!(near(warp.point([2.6, 0.0, 0.5]), [3.1, 0.0, 0.5]));
    assert!(near(warp.point([-0.2, 0.475, 0.1]), [-0.2, 0.525, 0.1]));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Any dimensions of a real car: the file reads without a mistake, and its remarks, lists and parts are those of the layout.
    #[test]
    fn any_dimensions_give_a_car_without_a_mistake(
        at in 0..LAYOUTS.len(), long in 0.75..1.3_f64, wide in 0.8..1.3_f64, front in 0.8..1.3_f64, right in any::<bool>(),
    ) {
        let layout = &LAYOUTS[at];
        let text = begun(layout, &[]);
        let car = read_car(&SourceFile::new("car.toml", text.clone()), &Overrides::new()).car;
        let wheelbase = car.chassis.wheelbase.unwrap().si() / 0.0254 * long;
        let track = 50.0 * wide;
        let answers = [
            ("wheelbase", format!("{} in", (wheelbase.max(105.0) * 8.0).round() / 8.0)),
            ("track", format!("{} in, {} in", (track.max(46.0) * front.max(1.0) * 8.0).round() / 8.0, (track.max(46.0) * 8.0).round() / 8.0)),
            ("driver", if right { "right" } else { "left" }.to_owned()),
        ];
        let answers: Vec<(&str, &str)> = answers.iter().map(|(key, value)| (*key, value.as_str())).collect();
        let Ok(moved) = new_car(layout, "car-62", "62", &asked(&answers)) else { return Ok(()) };
        prop_assert_eq!(mistakes(&moved), Vec::<String>::new(), "{} {:?}", layout.id, answers);
        let count = |text: &str| values(&SourceFile::new("car.toml", text)).iter().filter(|one| !one.key.starts_with("known.")).count();
        prop_assert_eq!(count(&moved), count(&text));
    }
}
