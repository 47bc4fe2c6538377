//! Worked examples with printed answers for the brakes, the ways to the nozzles and the days left.

use chrono::NaiveDate;
use linewalk::numbers::{Readings, Situation, quantity, work};
use linewalk::physics::brakes::balance::front_share;
use linewalk::physics::brakes::pressure::{Valve, behind};
use linewalk::physics::brakes::stroke::{bore_volume, reservoir_left, stroke_used, wear_volume};
use linewalk::physics::brakes::wheel::{Caliper, Pistons, ground_force};
use linewalk::units::{Force, INCH, Length, PSI, Pressure, Torque, Volume};

use crate::near::{near, near_share};
use crate::numbers_rig::{LBF, car, close, inches, value};

fn inch(value: f64) -> Length {
    Length::from_inches(value)
}

/// T. D. Gillespie, Fundamentals of Vehicle Dynamics, the braking example of chapter 3 (from memory): brakes that make 20
/// and 14 lbf·in of torque for each psi, two on an axle, tyres of 12.11 in; 330 lb and 231 lb printed at 100 psi, and a
/// valve written 290/0.3 psi, which is 290 + 0.3 (p - 290) above 290.
#[test]
fn front_share_of_a_textbook_car() {
    let axle = |gain: f64, psi: f64| {
        let one = ground_force(Torque::from_si(gain * psi * LBF * INCH), inch(12.11)).unwrap();
        2.0 * one.si() / LBF
    };
    near(axle(20.0, 100.0), 330.0, 0.5, "front, printed to 1 lb");
    near(axle(14.0, 100.0), 231.0, 0.5, "rear, printed to 1 lb");
    let share = |front: f64, rear: f64| front_share(Force::from_si(front), Force::from_si(rear)).unwrap();
    near(share(axle(20.0, 100.0), axle(14.0, 100.0)), 330.0 / 561.0, 5e-4, "330 of 561 lb");
    let valve = [Valve::Proportioning { knee: Pressure::from_psi(290.0), slope: 0.3 }];
    let rear = behind(&valve, Pressure::from_psi(700.0)).unwrap().si() / PSI;
    near(rear, 413.0, 1e-9, "290 + 0.3 × 410");
    near(
        share(axle(20.0, 700.0), axle(14.0, rear)),
        14_000.0 / (14_000.0 + 5_782.0),
        1e-12,
        "gains × pressures",
    );
}

/// A question for aviation mechanics, printed answer B: a master cylinder of 1.5 in bore displaces 7.0686 cubic inches in
/// a piston stroke of 4 in.
#[test]
fn displacement_of_a_master_cylinder() {
    let swept = bore_volume(inch(1.5), inch(4.0)).unwrap();
    near(swept.si() / INCH.powi(3), 7.0686, 5e-5, "printed to four places");
    let printed = Volume::from_si(7.0686 * INCH.powi(3));
    near_share(stroke_used(printed, inch(1.5), inch(4.0)).unwrap(), 1.0, 1e-5, "all of the stroke");
    // The same piston in a caliper, 2 in off each pad: fixed it comes out 2 in, and two of them share the 7.0686;
    // sliding it comes out 4 in by itself. A reservoir that held just that is empty (49 CFR 571.105 S5.4.2).
    for (caliper, count) in [(Caliper::Fixed, 2), (Caliper::Floating, 1)] {
        let pistons = Pistons { caliper, count, bore: inch(1.5) };
        let worn = wear_volume(pistons, inch(2.5), inch(0.5)).unwrap();
        near_share(worn.si(), printed.si(), 1e-5, "printed to four places");
        near(reservoir_left(printed, &[worn]).unwrap().si() / INCH.powi(3), 0.0, 5e-5, "empty");
    }
}

/// International Fuel Gas Code, appendix A.6.3, tubing by branch lengths: 50 ft by A and C, 30 ft by A and each of B, D and
/// E, printed. (Lengths of the sections in its figure, 20, 10, 30, 10 and 10 ft, from memory.)
#[test]
fn ways_through_a_manifold() {
    let line = |id: &str, from: &str, to: &str, feet: u32| {
        format!(
            "[[suppression.line]]\nid = \"{id}\"\nfrom = \"{from}\"\nto = \"{to}\"\nconstruction = \"flexible\"\nlength = \"{feet} ft\"\n"
        )
    };
    let mut text = "format = 1\n[car]\nid = \"tubing\"\nnumber = \"1\"\n[[suppression.bottle]]\nid = \"meter\"\n[[suppression.tee]]\nid = \"manifold\"\n".to_owned();
    text += &line("A", "meter", "manifold", 20);
    for (id, feet) in [("B", 10), ("C", 30), ("D", 10), ("E", 10)] {
        text += &format!("[[suppression.nozzle]]\nid = \"end-{id}\"\n");
        text += &line(id, "manifold", &format!("end-{id}"), feet);
    }
    let tubing = car(&text);
    for (id, feet) in [("B", 30.0), ("C", 50.0), ("D", 30.0), ("E", 30.0)] {
        let of = format!("end-{id}");
        close(value(&tubing, "nozzle.flexible_length", &of), inches(12.0 * feet), 1e-12);
        assert_eq!(value(&tubing, "nozzle.branch_turns", &of), 1.0);
    }
}

/// tests/fixtures/ways/ways.json, made by the script beside it with a graph library.
#[test]
fn ways_by_a_graph_library() {
    let rows: serde_json::Value = serde_json::from_str(include_str!("../fixtures/ways/ways.json")).unwrap();
    let mut counted = 0;
    for row in rows.as_array().unwrap() {
        let text = std::fs::read_to_string(row["car"].as_str().unwrap()).unwrap();
        let (read, nozzle) = (car(&text), row["nozzle"].as_str().unwrap());
        assert_eq!(
            value(&read, "nozzle.branch_turns", nozzle),
            row["branch_turns"].as_f64().unwrap(),
            "{row}"
        );
        if let Some(flexible) = row["flexible_inches"].as_f64() {
            let got = value(&read, "nozzle.flexible_length", nozzle);
            near(got, inches(flexible), 1e-12, &row.to_string());
            counted += 1;
        }
    }
    assert!(counted > 15, "{counted}");
}

/// Days left of a bottle on a day.
fn days(serviced: &str, every: &str, on: [u32; 3]) -> f64 {
    let text = format!(
        "format = 1\n[car]\nid = \"dates\"\nnumber = \"1\"\n[[suppression.bottle]]\nid = \"b\"\nserviced = {serviced}\nservice_every = \"{every}\"\ntested = {serviced}\ntest_every = \"{every}\"\n"
    );
    let on = NaiveDate::from_ymd_opt(on[0].cast_signed(), on[1], on[2]).unwrap();
    let bottle = car(&text);
    let situation = Situation::new(&bottle, Readings::default(), on);
    let of = |id: &str| work(quantity(id).unwrap(), &situation)[0].number().unwrap().si().unwrap();
    assert_eq!(of("bottle.service_left"), of("bottle.test_left"));
    of("bottle.service_left")
}

/// The Python Library Reference, datetime, examples of `date`: 202 days from 5 December 2007 to 24 June 2008. The dateutil
/// documentation, relativedelta examples: what months and years added to a date give.
#[test]
fn days_left_as_printed() {
    assert_eq!(days("2007-06-24", "1 year", [2007, 12, 5]), 202.0);
    for (serviced, every, due) in [
        ("2003-01-27", "1 month", [2003, 2, 27]),
        ("2003-01-31", "1 month", [2003, 2, 28]),
        ("2003-01-31", "2 months", [2003, 3, 31]),
        ("2000-02-28", "1 year", [2001, 2, 28]),
        ("2000-02-29", "1 year", [2001, 2, 28]),
        ("1999-02-28", "1 year", [2000, 2, 28]),
        ("1999-03-01", "1 year", [2000, 3, 1]),
    ] {
        assert_eq!(days(serviced, every, due), 0.0, "{serviced} and {every}");
    }
}
