//! The gas charge at another temperature and in another volume.

use linewalk::physics::gas::{at_temperature, at_volume};
use linewalk::units::{AMBIENT, PSI, Pressure, Temperature, Volume};
use proptest::prelude::*;

use crate::near::{near, near_share};

fn c(celsius: f64) -> Temperature {
    Temperature::from_celsius(celsius)
}

fn kpa(p: f64, from: f64, to: f64) -> f64 {
    at_temperature(Pressure::from_si(p * 1e3), c(from), c(to)).unwrap().si() / 1e3
}

#[test]
fn published_exercises_at_constant_volume() {
    // G2 and G3 print 761.66 and 225.17, worked with 0 °C as 273 K; G3 takes 100 kPa for the atmosphere.
    let kelvin = |p: f64, from, to| {
        let (from, to) = (Temperature::from_si(from), Temperature::from_si(to));
        at_temperature(Pressure::from_si(p), from, to).unwrap()
    };
    near(kelvin(658e3, 293.0, 333.0).si() / 1e3, 761.66, 0.005, "G2");
    near(kelvin(300e3 - AMBIENT, 298.0, 323.0).absolute() / 1e3 - 100.0, 225.17, 0.005, "G3");
    near(kpa(658.0, 20.0, 60.0), 761.61, 0.005, "G2 with 273.15 K");
    near(kpa(30.0 * PSI / 1e3, 10.0, 40.0), 239.4, 0.3, "G4");
    // G5 takes 14 psi for the atmosphere.
    let g5 = at_temperature(Pressure::from_si(46.0 * PSI - AMBIENT), c(20.0), c(40.0)).unwrap();
    near(g5.absolute() / PSI - 14.0, 35.13, 0.015, "G5");
    let letter = |p, t| {
        at_temperature(
            Pressure::from_psi(p),
            Temperature::from_fahrenheit(70.0),
            Temperature::from_fahrenheit(t),
        )
        .unwrap()
        .si()
            / PSI
    };
    near(letter(200.0, 130.0), 225.0, 1.5, "federal letter 17-0087");
    near(letter(195.0, 130.0), 218.8, 0.05, "worked apart");
    near(letter(240.0, 32.0), 221.7, 0.05, "worked apart");
    near(letter(360.0, 120.0), 395.4, 0.05, "worked apart");
}

#[test]
fn published_exercises_with_a_volume_change() {
    // G1: 167 kPa gauge, 13 to 48 °C, volume +7 %, printed 180; G6: 164, 0 to 21.8 °C, 1.62 to 1.68, printed 175.
    for (p, from, to, v1, v2, printed) in
        [(167.0, 13.0, 48.0, 1.0, 1.07, 180.0), (164.0, 0.0, 21.8, 1.62, 1.68, 175.0)]
    {
        let hot = at_temperature(Pressure::from_si(p * 1e3), c(from), c(to)).unwrap();
        let grown = at_volume(hot, Volume::from_si(v1), Volume::from_si(v2), 1.0).unwrap();
        near(grown.si() / 1e3, printed, 0.5, "G1, G6: printed to 1 kPa");
    }
}

#[test]
fn within_the_stated_reach_of_real_nitrogen() {
    // CoolProp 8.0.0, nitrogen, constant density: absolute bar at 20 °C, at the second temperature.
    for (bar, to, real, share) in
        [(20.0, 60.0, 22.859, 0.006), (40.0, 60.0, 45.974, 0.012), (40.0, 0.0, 37.005, 0.012)]
    {
        let p = at_temperature(Pressure::from_si(bar * 1e5 - AMBIENT), c(20.0), c(to)).unwrap();
        near_share(p.absolute() / 1e5, real, share, "CoolProp 8.0.0");
    }
    let ideal = at_temperature(Pressure::from_si(40e5 - AMBIENT), c(20.0), c(60.0)).unwrap();
    near(ideal.absolute() / 1e5, 45.458, 0.0005, "C10");
}

#[test]
fn polytropic_change_against_its_energy_balance() {
    // Independent route: without heat, internal energy falls by the work done, p V/(γ − 1) + ∫p dV constant;
    // the work is summed here by Simpson's rule on the pressures the function gives.
    let (gamma, v1, v2) = (1.4, 1.0e-3, 2.6e-3);
    let p = |v: f64| {
        at_volume(Pressure::from_si(25e5), Volume::from_si(v1), Volume::from_si(v), gamma).unwrap().absolute()
    };
    let pieces = 2000;
    let h = (v2 - v1) / f64::from(pieces);
    let work: f64 = (0..=pieces)
        .map(|i| {
            let weight = if i == 0 || i == pieces {
                1.0
            } else if i % 2 == 1 {
                4.0
            } else {
                2.0
            };
            weight * p(v1 + f64::from(i) * h) * h / 3.0
        })
        .sum();
    near_share((p(v1) * v1 - p(v2) * v2) / (gamma - 1.0), work, 1e-9, "first law");
    // Air standard, compression 8 from 95 kPa and 22 °C, k 1.391: 665.2 K by thermodynamics texts (from memory).
    let hot = at_volume(Pressure::from_si(95e3 - AMBIENT), Volume::from_si(8.0), Volume::from_si(1.0), 1.391);
    near(hot.unwrap().absolute() / 95e3 / 8.0 * 295.0, 665.2, 0.1, "air-standard compression");
}

#[test]
fn nonsense_is_refused() {
    let p = Pressure::from_si(1e6);
    assert!(at_temperature(p, c(-273.15), c(20.0)).is_err());
    assert!(at_temperature(Pressure::from_si(-2e5), c(20.0), c(20.0)).is_err());
    assert!(at_volume(p, Volume::from_si(0.0), Volume::from_si(1.0), 1.2).is_err());
    assert!(at_volume(p, Volume::from_si(1.0), Volume::from_si(1.0), f64::NAN).is_err());
}

proptest! {
    #[test]
    fn there_and_back(p in 1e5..5e6_f64, t1 in 240.0..350.0_f64, t2 in 240.0..350.0_f64, n in 1.0..1.4_f64) {
        let (one, two) = (Temperature::from_si(t1), Temperature::from_si(t2));
        let back = at_temperature(at_temperature(Pressure::from_si(p), one, two).unwrap(), two, one).unwrap();
        prop_assert!((back.si() / p - 1.0).abs() < 1e-12);
        let (v1, v2) = (Volume::from_si(t1), Volume::from_si(t2));
        let back = at_volume(at_volume(Pressure::from_si(p), v1, v2, n).unwrap(), v2, v1, n).unwrap();
        prop_assert!((back.si() / p - 1.0).abs() < 1e-11);
    }
}
