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
fn impossible_sets_are_refused() {
    assert!(enclosing_diameter(&[]).is_err());
    assert!(enclosing_diameter(&[Length::from_si(0.0)]).is_err());
    assert_eq!(enclosing_diameter(&[Length::from_si(1.0); 8]), Err(Refusal::UnlikeCircles));
    let unlike = [4.0, 4.0, 3.0, 2.0].map(Length::from_si);
    assert_eq!(enclosing_diameter(&unlike), Err(Refusal::UnlikeCircles));
}

proptest! {
    #[test]
    fn never_under_the_area_nor_the_two_largest(lines in prop::collection::vec(0.1..1.0_f64, 1..4)) {
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
