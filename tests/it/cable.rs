//! Pull cables against published rope exercises.

use std::f64::consts::{PI, TAU};

use linewalk::physics::cable::*;
use linewalk::units::{Angle, Force, Length};
use proptest::prelude::*;

use crate::near::{near, near_share};

fn rad(angle: f64) -> Angle {
    Angle::from_si(angle)
}

#[test]
fn published_rope_exercises() {
    // C1: 100 kg held over three quarters of a turn at μ 0.2, printed 382.26 N (g 9.81).
    near(100.0 * 9.81 / capstan_factor(0.2, rad(1.5 * PI)).unwrap(), 382.26, 0.005, "C1");
    near(capstan_factor(0.3, rad(TAU)).unwrap(), 6.6, 0.05, "C2");
    // C29: two turns, 80 lbf hold 5 000; printed μ 0.329, then 2.67 turns for 20 000.
    near_share(capstan_factor(0.329, rad(2.0 * TAU)).unwrap(), 5000.0 / 80.0, 0.0005 * 2.0 * TAU, "C29");
    near_share(capstan_factor(0.329, rad(2.67 * TAU)).unwrap(), 250.0, 0.005 * TAU * 0.329 + 0.002, "C29");
    // C30: 150 N, two turns, 7 500 N: μ 0.311; three turns then hold 52.7 kN.
    near_share(150.0 * capstan_factor(0.311, rad(3.0 * TAU)).unwrap(), 52_700.0, 0.001, "C30");
    // Lined housing at μ 0.06: the factors printed beside the bench test.
    for (degrees, factor) in [(90.0, 1.10), (180.0, 1.21), (270.0, 1.33), (360.0, 1.46), (540.0, 1.76)] {
        let bend = rad(f64::to_radians(degrees));
        near(capstan_factor(0.06, bend).unwrap(), factor, 0.005, "C3");
    }
}

#[test]
fn handle_force_by_small_steps() {
    // dT/dθ = μ T, stepped by the classical Runge–Kutta rule: no exponential in it.
    let (mu, bend, steps) = (0.15, 2.4, 1000);
    let h = bend / f64::from(steps);
    let stepped = (0..steps).fold(53.4, |t, _| {
        let k1 = mu * t;
        let k2 = mu * (t + h / 2.0 * k1);
        let k3 = mu * (t + h / 2.0 * k2);
        let k4 = mu * (t + h * k3);
        t + h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)
    });
    let force = |bottles| handle_force(mu, rad(bend), Force::from_si(53.4), bottles).unwrap().si();
    near_share(force(1), stepped, 1e-10, "stepped equation");
    near_share(force(2), 2.0 * stepped, 1e-10, "two valves");
    assert!(handle_force(mu, rad(bend), Force::from_si(53.4), 0).is_err());
    assert!(handle_force(-0.1, rad(bend), Force::from_si(53.4), 1).is_err());
    assert!(total_bend(&[rad(1.0), rad(-1.0)]).is_err());
}

#[test]
fn travels_and_bends() {
    let inch = Length::from_inches;
    let pull =
        Travel { handle: inch(2.5), valve: inch(0.75), slack: inch(0.25), length: inch(84.0), stretch: 0.01 };
    near(travel_left(pull).unwrap().si(), inch(0.66).si(), 1e-12, "2.5 − 0.75 − 0.25 − 0.84");
    near(travel_ratio(pull).unwrap(), 1.66, 1e-12, "(2.5 − 0.84)/1.0");
    near(bend_margin(&[inch(5.0), inch(4.0)], inch(3.0)).unwrap(), 4.0 / 3.0, 1e-12, "definition");
    assert!(bend_margin(&[], inch(3.0)).is_err());
    assert!(travel_left(Travel { stretch: 1.5, ..pull }).is_err());
    assert!(travel_ratio(Travel { valve: inch(0.0), ..pull }).is_err());
}

proptest! {
    #[test]
    fn bends_multiply(mu in 0.0..0.4_f64, a in 0.0..6.0_f64, b in 0.0..6.0_f64) {
        let sum = total_bend(&[rad(a), rad(b)]).unwrap();
        let whole = capstan_factor(mu, sum).unwrap();
        let parts = capstan_factor(mu, rad(a)).unwrap() * capstan_factor(mu, rad(b)).unwrap();
        prop_assert!((whole / parts - 1.0).abs() < 1e-12);
        prop_assert!(whole >= 1.0);
    }

    #[test]
    fn ratio_passes_one_where_travel_is_left(handle in 0.5..5.0_f64, valve in 0.1..2.0_f64, slack in 0.0..1.0_f64,
                                              length in 1.0..150.0_f64) {
        let m = Length::from_si;
        let pull = Travel { handle: m(handle), valve: m(valve), slack: m(slack), length: m(length), stretch: 0.01 };
        let (left, ratio) = (travel_left(pull).unwrap().si(), travel_ratio(pull).unwrap());
        prop_assume!(left.abs() > 1e-9);
        prop_assert_eq!(left > 0.0, ratio > 1.0);
    }
}
