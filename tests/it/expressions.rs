//! Limits that are worked out: `max('1200 psi', 1.25 * brake.pressure)`.

use std::sync::Arc;

use linewalk::diagnostic::SourceFile;
use linewalk::model::entry::Outcome;
use linewalk::model::{Car, read_car};
use linewalk::numbers::{Answer, Number, NumberValue, ReadingValue, Readings, Situation, quantity, work_all};
use linewalk::rules::{Expression, MeasureRow, Ruleset, Terms, Typed, judge_measure, judge_worked, load};
use linewalk::source::Overrides;
use linewalk::units::{Kind, PSI, Units, parse};

use crate::near::near;
use crate::shipped::{day, shipped};

fn car() -> Car {
    let text = "format = 1\n[car]\nid = \"car\"\nnumber = \"1\"\n[[brakes.line]]\nid = \"lf\"\ncircuit = \"front\"\n";
    Arc::unwrap_or_clone(read_car(&SourceFile::new("car.toml", text), &Overrides::new()).car)
}

/// `brake.pressure` of two circuits.
fn pressures(front: f64, rear: f64) -> Vec<Answer> {
    let number = |of: &str, psi: f64| {
        let given = Number::given(quantity("brake.pressure").unwrap(), NumberValue::Number(psi * PSI));
        Answer::Number(Box::new(Number { of: of.to_owned(), ..given }))
    };
    vec![number("front", front), number("rear", rear)]
}

fn range(text: &str, kind: Kind, numbers: &[Answer], of: Option<&str>) -> [f64; 2] {
    let (car, readings) = (car(), Readings::default());
    let terms = Terms { car: &car, numbers, readings: &readings };
    Expression::parse(text, kind).unwrap().range(&terms, of)
}

#[test]
fn worked_by_hand() {
    let known = pressures(1000.0, 800.0);
    let psi = |text: &str, of| range(text, Kind::Pressure, &known, of).map(|si| si / PSI);
    let high = "max('1200 psi', 1.25 * brake.pressure)";
    for (of, wanted) in [("front", 1250.0), ("rear", 1200.0), ("lf", 1250.0)] {
        for end in psi(high, Some(of)) {
            near(end, wanted, 1e-12, of);
        }
    }
    // For no one part it may be that of either circuit.
    let [low, most] = psi("1.25 * brake.pressure", None);
    near(low, 1000.0, 1e-12, "1.25 × 800");
    near(most, 1250.0, 1e-12, "1.25 × 1 000");
    for (text, wanted) in [
        ("brake.pressure - '100 psi'", 900.0),
        ("brake.pressure - '100 psi' - '50 psi'", 850.0),
        ("'100 psi' + 2 * (brake.pressure - '900 psi') / 4", 150.0),
        ("min('1500 psi', brake.pressure, '15 MPa')", 1000.0),
        ("brake.pressure / 8 * 2", 250.0),
    ] {
        near(psi(text, Some("front"))[0], wanted, 1e-12, text);
    }
    let share = range("brake.pressure / '2000 psi'", Kind::Ratio, &known, Some("front"));
    near(share[0], 0.5, 1e-12, "a pressure over a pressure is a plain number");
    // Two readings over a length: N over m2 once more.
    let bent = range("'100 lbf' / ('2 in' * '5 in')", Kind::Pressure, &known, None);
    near(bent[0] / PSI, 10.0, 1e-12, "100 lbf on 10 in2");
}

#[test]
fn what_does_not_go_together_is_told_at_its_place() {
    for (text, at, says) in [
        (
            "max('1200 psi', 1.25 * brake.presure)",
            "brake.presure",
            "brake.presure is no number, quantity or key",
        ),
        (
            "max('1200 psi', '3 in')",
            "max('1200 psi', '3 in')",
            "terms of different kinds cannot be added or compared",
        ),
        ("1.25 * 2", "1.25 * 2", "this works out to a share or plain number, and a pressure belongs here"),
        ("max('1200 psi', brake.pressure", "max('1200 psi', brake.pressure", "this bracket is not closed"),
        ("'1200 psy' * 2", "'1200 psy'", "\"1200 psy\" is no quantity"),
        ("1.25 * ", " ", "a term is missing here"),
        ("brake.pressure '2 psi'", "'2 psi'", "this belongs to no term: '2 psi'"),
    ] {
        let wrong = Expression::parse(text, Kind::Pressure).unwrap_err();
        assert_eq!(wrong.message, says, "{text}");
        assert_eq!(text.get(wrong.at.clone()).map(str::trim), Some(at.trim()), "{text}: {:?}", wrong.at);
    }
    let near = Expression::parse("1.25 * brake.presure", Kind::Pressure).unwrap_err();
    assert_eq!(near.help, "did you mean brake.pressure?");
}

fn high_hold(rules: &Ruleset) -> &MeasureRow {
    match &rules.check("un-gauge-hold-high").unwrap().typed {
        Typed::Measure(rows) => rows.iter().find(|row| row.id == "pressure").unwrap(),
        other => panic!("{other:?}"),
    }
}

fn judged(psi: f64, numbers: &[Answer], of: Option<&str>) -> (Outcome, Option<String>) {
    let (rules, car, readings) = (shipped("base").rules, car(), Readings::default());
    let terms = Terms { car: &car, numbers, readings: &readings };
    let judged = judge_worked(high_hold(&rules), (&terms, of), |row| {
        judge_measure(&rules, row, psi * PSI, None, None, Units::Us)
    });
    (judged.outcome, judged.remedy)
}

#[test]
fn the_high_hold_starts_from_the_working_pressure_of_its_circuit() {
    let known = pressures(1200.0, 700.0);
    assert_eq!(judged(1200.0, &known, Some("front")).0, Outcome::Reject, "1.25 × 1 200 is 1 500");
    assert_eq!(judged(1500.0, &known, Some("front")).0, Outcome::Accept);
    assert_eq!(judged(1200.0, &known, Some("rear")).0, Outcome::Accept, "1.25 × 700 is 875");
    assert_eq!(judged(1100.0, &known, Some("rear")).0, Outcome::Reject);
}

#[test]
fn a_missing_term_decides_only_where_every_value_of_it_would() {
    assert_eq!(judged(700.0, &[], None).0, Outcome::Reject, "under 1 200 whatever the pressure is");
    let (outcome, remedy) = judged(1300.0, &[], None);
    assert_eq!(outcome, Outcome::Undecided);
    assert_eq!(remedy.unwrap(), "give brake.pressure, which the limit is worked from");
    let silent = work_all(&Situation::new(&shipped_car(), Readings::default(), day("2026-11-25")));
    let (outcome, remedy) = judged(1300.0, &silent, None);
    assert_eq!(outcome, Outcome::Undecided);
    assert!(remedy.unwrap().contains("brakes."), "the keys that are lacking are named");
}

/// A car whose pressures lack the force at the pedal.
fn shipped_car() -> Car {
    let text = include_str!("../../sample-cars/heron.toml");
    let without: Vec<&str> = text.lines().filter(|line| !line.starts_with("pedal_force")).collect();
    let read = read_car(&SourceFile::new("car.toml", without.join("\n")), &Overrides::new());
    Arc::unwrap_or_clone(read.car)
}

#[test]
fn a_limit_is_said_in_words() {
    let said = |text: &str| Expression::parse(text, Kind::Pressure).unwrap().words();
    assert_eq!(
        said("max('1200 psi', 1.25 * brake.pressure)"),
        "the greater of 1200 psi and 1.25 times the pressure in the circuit at the pedal force given"
    );
    assert_eq!(
        said("2 * ('100 psi' + brakes.circuit.hold.end_pressure)"),
        "2 times (100 psi plus the end pressure)"
    );
}

#[test]
fn a_reading_is_a_term_by_its_key() {
    let mut readings = Readings::default();
    let si = parse("1500 psi", Kind::Pressure).unwrap().si;
    let value = ReadingValue {
        kind: Kind::Pressure,
        si,
        half_width: None,
        repeat: None,
        text: "1500 psi".to_owned(),
        instrument: None,
    };
    readings.set("brakes.circuit.front.hold.start_pressure", value);
    let car = car();
    let terms = Terms { car: &car, numbers: &[], readings: &readings };
    let limit = Expression::parse("0.9 * brakes.circuit.hold.start_pressure", Kind::Pressure).unwrap();
    near(limit.range(&terms, Some("front"))[0] / PSI, 1350.0, 1e-12, "nine tenths of the reading");
    assert_eq!(limit.range(&terms, Some("rear")), [f64::NEG_INFINITY, f64::INFINITY], "the rear has none");
}

#[test]
fn rules_check_names_the_place_in_the_file() {
    let ground = SourceFile::new("ground.toml", include_str!("../bad/rules/ground.toml"));
    let text = "format = 1\n[ruleset]\nid = \"c\"\ntitle = \"c\"\nedition = \"1\"\nreviewed = 2026-11-01\n\
                review_every = \"1 year\"\nextends = [\"ground\"]\n[[check]]\nid = \"hose-gap\"\n\
                measure = { min = \"1.25 * brake.pressure\" }\n";
    let loaded = load(&[SourceFile::new("c.toml", text)], &|_, _| Some(Arc::clone(&ground)));
    let wrong = loaded.diagnostics.first().unwrap();
    assert_eq!(wrong.at.shown(), "c.toml:11:20");
    assert_eq!(wrong.message, "this works out to a pressure, and a length belongs here");
}
