//! Heat of stops and descents against a paper's example, quadrature, and what must hold of any.

use linewalk::physics::Refusal;
use linewalk::physics::brakes::heat::*;
use linewalk::units::{
    Length, Mass, STANDARD_GRAVITY, SpecificHeat, Speed, Temperature, TemperatureDifference, Time,
};
use proptest::prelude::*;

use crate::near::{drawn, near, near_share};

const POUND: f64 = 0.453_592_37;
/// Of the international table, J.
const BTU: f64 = 1_055.055_852_62;

fn speed(si: f64) -> Speed {
    Speed::from_si(si)
}

#[test]
fn the_papers_example() {
    // How hot do brakes get: 3 000 lb from 60 mph = 88 ft/s; printed 361 306 ft lbf, 469.7 Btu and 90.3 F. Its own energy is
    // 464.0 Btu and gives 89.2 F: the 469.7 is a misprint. Four rotors of 10 lb, 0.130 Btu/(lb F).
    let energy =
        stop_energy(Mass::from_si(3000.0 * POUND), speed(88.0 * 0.3048), speed(0.0), 0.0, None).unwrap();
    let foot_pounds = energy / (POUND * STANDARD_GRAVITY * 0.3048);
    near_share(foot_pounds, 361_306.0, 0.001, "printed, with g 32.174 in place of 32.15");
    near(energy / BTU, 464.0, 0.1, "the printed ft lbf over 778.17");
    let iron = SpecificHeat::from_si(0.130 * 4186.8);
    let rise = rotor_rise(energy, 0.25, Mass::from_si(10.0 * POUND), iron).unwrap();
    near(rise.si() * 1.8, 89.2, 0.1, "464.0 / (0.130 x 40)");
}

/// Midpoint sum of the brakes' power over the speed: E = ∫ m a v/(a + k v²/m) dv.
fn summed(mass: f64, from: f64, to: f64, drag: f64, braking: f64) -> f64 {
    let (steps, a) = (200_000, braking * STANDARD_GRAVITY);
    let width = (from - to) / f64::from(steps);
    let each = |step: i32| {
        let v = to + (f64::from(step) + 0.5) * width;
        mass * a * v / (a + drag * v * v / mass) * width
    };
    (0..steps).map(each).sum()
}

#[test]
fn a_stop_with_a_parachute_by_quadrature() {
    // A 2 200 lb car at 150 mph with a 10 ft cloth: worked at three brakings, and a crawl of drag.
    for (braking, drag) in [(0.2, 2.46), (0.5, 2.46), (1.1, 2.46), (0.6, 1e-6)] {
        let got = stop_energy(Mass::from_si(998.0), speed(67.056), speed(8.0), drag, Some(braking)).unwrap();
        near_share(got, summed(998.0, 67.056, 8.0, drag, braking), 1e-8, "midpoint sum");
    }
    // Drag equation by hand: 0.5 x 1.225 x 0.55 x pi/4 x 3.048^2.
    near_share(parachute_drag(Length::from_si(3.048), 0.55).unwrap(), 2.458_05, 1e-5, "by hand");
}

#[test]
fn a_series_and_a_descent_stepped_through() {
    let (start, cooling) = (Temperature::from_si(300.0), Time::from_si(240.0));
    let mut over = 0.0_f64;
    for stop in 1..=20_u32 {
        // Euler in a hundred thousand steps of the time between two stops.
        if stop > 1 {
            over *= (1.0 - 30.0 / 240.0 / 1e5_f64).powi(100_000);
        }
        over += 55.0;
        let rise = TemperatureDifference::from_si(55.0);
        let got = after_stops(start, rise, stop, Time::from_si(30.0), cooling).unwrap();
        near_share(got.si() - 300.0, over, 1e-5, "stepped");
    }
    // No time between: nothing is lost. For ever: the power over what the rotor sheds for each kelvin.
    let rise = TemperatureDifference::from_si(55.0);
    near(
        after_stops(start, rise, 4, Time::from_si(0.0), cooling).unwrap().si(),
        520.0,
        1e-9,
        "four times 55 K",
    );
    let long = after_dragging(
        start,
        9000.0,
        0.3,
        Mass::from_si(5.0),
        SpecificHeat::from_si(540.0),
        Time::from_si(1e6),
        cooling,
    );
    near_share(long.unwrap().si() - 300.0, 2700.0 * 240.0 / 2700.0, 1e-12, "steady state, by hand");
}

#[test]
fn what_cannot_be_is_refused_by_name() {
    let mass = Mass::from_si(1000.0);
    assert_eq!(stop_energy(mass, speed(20.0), speed(20.0), 0.0, None), Err(Refusal::NoStop));
    let slow = stop_energy(mass, speed(20.0), speed(0.0), 1.0, None);
    assert_eq!(slow, Err(Refusal::NotPositive("the slowing by the brakes")));
    let m = Length::from_si;
    assert_eq!(descent_power(mass, m(10.0), m(10.0), speed(9.0)), Err(Refusal::DescentTooSteep));
    let heat = SpecificHeat::from_si(0.0);
    assert_eq!(rotor_rise(1.0, 0.5, mass, heat), Err(Refusal::NotPositive("the specific heat")));
    let cold = Temperature::from_si(300.0);
    let none =
        after_stops(cold, TemperatureDifference::from_si(1.0), 0, Time::from_si(1.0), Time::from_si(1.0));
    assert_eq!(none, Err(Refusal::NotPositive("the number of stops")));
}

proptest! {
    #![proptest_config(drawn(200))]

    #[test]
    fn more_drag_more_time_and_less_speed_never_heat_more(
        m in 100.0_f64..3000.0, v in 10.0_f64..100.0, k in 0.0_f64..5.0, a in 0.1_f64..1.5, n in 1_u32..50, t in 1.0_f64..200.0,
    ) {
        let energy = |v: f64, k: f64| stop_energy(Mass::from_si(m), speed(v), speed(0.0), k, Some(a)).unwrap();
        prop_assert!(energy(v, k) <= energy(v, 0.5 * k) * (1.0 + 1e-12));
        prop_assert!(energy(0.9 * v, k) < energy(v, k));
        let rise = TemperatureDifference::from_si(40.0);
        let hot = |every| {
            let cools = Time::from_si(150.0);
            after_stops(Temperature::from_si(300.0), rise, n, Time::from_si(every), cools).unwrap().si()
        };
        prop_assert!(hot(t) <= hot(0.5 * t) + 1e-9);
        prop_assert!(hot(t) <= 300.0 + 40.0 / (1.0 - (-t / 150.0_f64).exp()) + 1e-9);
    }
}
