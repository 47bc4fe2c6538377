//! Friction factors and fitting losses against a reference library, EPANET's figures and printed worked examples.

use linewalk::physics::friction::{Fitting, Law, Wall, complete_turbulence, darcy};
use serde::Deserialize;

#[derive(Deserialize)]
struct Fixture {
    rows: Vec<[f64; 3]>,
}

#[track_caller]
fn near(got: f64, expected: f64, share: f64) {
    crate::near::tell((got - expected).abs(), expected);
    assert!((got / expected - 1.0).abs() <= share, "{got} against {expected}");
}

/// Re 1e2 to 1e7, relative roughness 0 to 0.05: the fluids library, 1.3.1 (fixtures/friction/generate.py). Asked: 0.01 %.
#[test]
fn matches_the_reference_library() {
    let fixture: Fixture = serde_json::from_str(include_str!("../fixtures/friction/colebrook.json")).unwrap();
    let mut worst: f64 = 0.0;
    for [reynolds, rough, expected] in fixture.rows {
        worst = worst.max((darcy(reynolds, rough) / expected - 1.0).abs());
    }
    crate::near::tell(worst, 1.0);
    assert!(worst < 1e-11, "{worst}");
}

/// The equation itself holds to the last digits.
#[test]
fn colebrook_white_is_solved() {
    for rough in [0.0, 1e-5, 1e-3, 0.05] {
        for reynolds in [4100.0, 1e4, 1e5, 1e6, 1e8] {
            let root = 1.0 / darcy(reynolds, rough).sqrt();
            let again = -2.0 * (rough / 3.7 + 2.51 * root / reynolds).log10();
            near(again, root, 4e-15);
        }
    }
}

/// Printed worked examples: inputs and answers as the books have them, tolerance from the digits printed.
#[test]
fn printed_friction_factors() {
    // TP-410 example 7.1, smooth 50 mm, Re 100 600: 0.0179, read off a chart (a full solution gives 0.0180).
    near(darcy(100_600.0, 0.0), 0.0179, 0.015);
    // White, example 6.7: Re 128 000, roughness 0.26 mm on 200 mm: 0.0225, read off a chart.
    near(darcy(128_000.0, 0.0013), 0.0225, 0.015);
    // Lindeburg, example 17.2: Re 400 000, relative roughness 0.004: 0.0287, three digits.
    near(darcy(400_000.0, 0.004), 0.0287, 0.002);
    // An engineering text: 0.05 mm on 25.4 mm, Re 6000: 0.0375 by chart, 0.0378 by the equation.
    near(darcy(6000.0, 5e-5 / 0.0254), 0.0378, 0.002);
    // Munson, example 8.8: copper tube, 5e-6 ft on 0.0625 ft, Re 45 000: 0.0215, read off a chart.
    near(darcy(45_000.0, 5e-6 / 0.0625), 0.0215, 0.01);
    // Cengel and Cimbala, example 8-3: 7e-6 ft on 2 in, Re 126 400: 0.0174.
    near(darcy(126_400.0, 7e-6 / (2.0 / 12.0)), 0.0174, 0.003);
}

/// EPANET's own turbulent law and its cubic. At Re 3316 on a 6 mm bore of roughness 0.0015 mm an EPANET run gives
/// 0.036920; at Re 1e5, relative roughness 0.001, Swamee and Jain's formula gives 0.022342 (fluids 1.3.1).
#[test]
fn comparison_law_is_the_one_epanet_uses() {
    near(Wall::new(0.0015 / 6.0, Law::SwameeJain).factor(3316.0).value, 0.036_920, 3e-5);
    near(Wall::new(0.0015 / 6.0, Law::ColebrookWhite).factor(3316.0).value, 0.036_920, 3e-5);
    near(Wall::new(0.001, Law::SwameeJain).factor(1e5).value, 0.022_342, 3e-5);
}

/// The cubic joins 64/Re at 2000 and Swamee-Jain at 4000; Colebrook-White is reached before Re 4100, and on the way there
/// more flow always costs more pressure (f Re² rises).
#[test]
fn ranges_join() {
    for rough in [0.0, 1e-4, 1e-3, 1e-2, 0.05] {
        let (epanet, ours) = (Wall::new(rough, Law::SwameeJain), Wall::new(rough, Law::ColebrookWhite));
        near(ours.factor(2000.0).value, 0.032, 1e-12);
        near(epanet.factor(4000.0).value, epanet.factor(4000.001).value, 1e-6);
        near(epanet.factor(4000.0).slope, epanet.factor(4000.001).slope, 1e-4);
        near(ours.factor(4000.0).value, ours.factor(4000.001).value, 1e-6);
        near(ours.factor(4099.999).value, ours.factor(4100.0).value, 1e-6);
        let mut last = 0.0;
        for k in 0..3000 {
            let reynolds = 1500.0 + f64::from(k);
            let pressure = ours.factor(reynolds).value * reynolds * reynolds;
            assert!(pressure > last, "falls at Re {reynolds}");
            last = pressure;
        }
    }
}

/// The slope d ln f / d ln Re is that of the factor itself, by central differences.
#[test]
fn slopes_are_derivatives() {
    for law in [Law::ColebrookWhite, Law::SwameeJain] {
        for reynolds in [500.0, 2300.0, 3700.0, 5e3, 1e5, 1e7] {
            let wall = Wall::new(3e-4, law);
            let h: f64 = 1e-5;
            let (up, down) =
                (wall.factor(reynolds * h.exp()).value, wall.factor(reynolds * (-h).exp()).value);
            let slope = (up / down).ln() / (2.0 * h);
            assert!((slope - wall.factor(reynolds).slope).abs() < 1e-7);
        }
    }
}

/// Crane TP-410, page A-29, as quoted in public manuals: a standard elbow is 30 f_T, a bend of r/d 1.5 is 14 f_T. f_T is
/// Colebrook-White without end: the value at Re 1e12.
#[test]
fn fittings_are_multiples_of_complete_turbulence() {
    let rough = 0.0015 / 4.57;
    near(complete_turbulence(rough), darcy(1e12, rough), 1e-4);
    let multiples: Vec<f64> =
        Fitting::ALL.iter().map(|f| f.loss(rough) / complete_turbulence(rough)).collect();
    let table = [30.0, 16.0, 14.0, 2.0, 20.0, 60.0];
    for (got, expected) in multiples.iter().zip(table) {
        near(*got, expected, 1e-14);
    }
    assert_eq!(complete_turbulence(0.0), 0.0);
}
