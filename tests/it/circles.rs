//! Lines packed in a round sleeve.

use linewalk::physics::Refusal;
use linewalk::physics::circles::enclosing_diameter;
use linewalk::units::Length;
use proptest::prelude::*;

use crate::near::near;

fn around(diameters: &[f64]) -> f64 {
    let lines: Vec<Length> = diameters.iter().map(|d| Length::from_si(*d)).collect();
    enclosing_diameter(&lines).unwrap().si()
}

#[test]
fn equal_circles_by_the_known_ratios() {
    // Graham (1968), Pirl (1969) (from memory); scipy 1.17.1 SLSQP from 80 starts agrees to 1e-6.
    let known = [1.0, 2.0, 2.154_700_5, 2.414_213_6, 2.701_301_6, 3.0, 3.0];
    for (count, ratio) in (1..).zip(known) {
        near(around(&vec![1.0; count]), ratio, 1e-7, "equal circles in a circle");
    }
}

#[test]
fn the_search_finds_the_known_ratios_too() {
    // One circle a millionth larger sends the equal cases through the search.
    for (count, ratio) in [(4, 2.414_213_6), (5, 2.701_301_6), (6, 3.0), (7, 3.0)] {
        let mut lines = vec![1.0; count];
        lines[0] += 1e-6;
        let found = around(&lines);
        near(found, ratio, 3e-6, "equal circles in a circle");
    }
}

#[test]
fn three_circles_against_a_constrained_minimum() {
    // scipy 1.17.1 SLSQP, smallest R with all distances and the container as constraints, 80 random starts.
    for (radii, r) in [
        ([3.0, 3.0, 4.0], 7.276_649),
        ([1.0, 1.0, 0.5], 2.0),
        ([1.0, 1.0, 0.7], 2.002_601),
        ([3.0, 2.0, 1.0], 5.0),
    ] {
        near(around(&radii.map(|x| 2.0 * x)), 2.0 * r, 3e-6, "SLSQP");
    }
}

#[test]
fn unequal_circles_against_a_constrained_minimum() {
    // scipy 1.17.1 SLSQP as above, 80 to 150 random starts. Printed to six places.
    let cases: [(&[f64], f64); 12] = [
        (&[3.0, 3.0, 4.0, 4.0], 8.424_429),
        (&[4.0, 4.0, 3.0, 2.0], 8.058_422),
        (&[5.0, 4.0, 3.0, 2.0], 9.001_398),
        (&[6.0, 3.0, 3.0, 3.0, 2.0], 9.518_193),
        (&[4.0, 4.0, 4.0, 3.0, 3.0], 9.727_057),
        (&[5.0, 4.0, 3.0, 3.0, 2.0, 2.0], 9.435_665),
        (&[6.0, 5.0, 4.0, 3.0, 2.0, 1.0], 11.057_040),
        (&[3.0, 3.0, 3.0, 4.0, 4.0, 4.0], 10.339_296),
        (&[8.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0], 12.810_837),
        (&[5.0, 5.0, 4.0, 4.0, 3.0, 3.0, 2.0], 11.780_488),
        (&[4.0, 3.0, 3.0, 1.0], 7.276_649), // worked for 3, 3, 4: the fourth fits in a gap
        (&[3.943, 3.45, 2.661, 2.647, 2.451, 1.614], 8.268_179), // the least lies in the middle of five
    ];
    for (radii, r) in cases {
        let found = around(&radii.iter().map(|x| 2.0 * x).collect::<Vec<_>>()) / 2.0;
        near(found, r, 1e-6, &format!("SLSQP {radii:?}, printed to six places"));
    }
}

#[test]
fn impossible_sets_are_refused() {
    assert!(enclosing_diameter(&[]).is_err());
    assert!(enclosing_diameter(&[Length::from_si(0.0)]).is_err());
    assert_eq!(enclosing_diameter(&[Length::from_si(1.0); 13]), Err(Refusal::TooManyCircles));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn never_under_the_area_nor_the_two_largest(lines in prop::collection::vec(0.1..1.0_f64, 1..6)) {
        let found = around(&lines);
        let area: f64 = lines.iter().map(|d| d * d).sum();
        let mut sorted = lines.clone();
        sorted.sort_by(|a, b| b.total_cmp(a));
        let two: f64 = sorted.iter().take(2).sum();
        prop_assert!(found >= area.sqrt() && found >= two - 1e-12);
        prop_assert!(found <= lines.iter().sum::<f64>() + 1e-12);
        // The order in which they are named does not matter.
        prop_assert_eq!(found, around(&sorted));
    }
}
