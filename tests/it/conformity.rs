//! Chances of conformity and the normal distribution behind them.

use linewalk::physics::Refusal;
use linewalk::physics::conformity::*;
use linewalk::physics::normal::{between, erfc, phi};
use proptest::prelude::*;

use crate::near::{near, near_share};

#[test]
fn erfc_and_phi_against_mpmath() {
    // mpmath 1.4.1 at 30 digits.
    let rows = [
        (-1.3, 1.934_007_944_940_652_4),
        (0.1, 0.887_537_083_981_715_),
        (0.5, 0.479_500_122_186_953_4),
        (1.0, 0.157_299_207_050_285_13),
        (2.0, 0.004_677_734_981_047_266),
        (2.4999, 0.000_407_169_900_333_450_9),
        (2.5, 0.000_406_952_017_444_958_9),
        (3.0, 2.209_049_699_858_544e-5),
        (4.0, 1.541_725_790_028_002e-8),
        (6.0, 2.151_973_671_249_891_3e-17),
        (10.0, 2.088_487_583_762_545e-45),
        (20.0, 5.395_865_611_607_901e-176),
    ];
    for (x, expected) in rows {
        near_share(erfc(x), expected, 1e-12, "mpmath erfc");
    }
    let rows = [
        (-8.0, 6.220_960_574_271_784e-16),
        (-4.0, 3.167_124_183_311_992e-5),
        (-2.326, 0.010_009_275_340_867_667),
        (-1.0, 0.158_655_253_931_457_05),
        (0.611, 0.729_400_209_842_068_5),
        (1.4, 0.919_243_340_766_229),
        (3.0902, 0.998_999_891_216_793),
    ];
    for (z, expected) in rows {
        near_share(phi(z), expected, 1e-12, "mpmath ncdf");
    }
    assert!(phi(f64::NEG_INFINITY) == 0.0 && phi(f64::INFINITY) == 1.0);
}

#[test]
fn printed_tables_of_the_normal_distribution() {
    // Abramowitz and Stegun Table 7.1 prints erf 0.5 and erf 1.0 to ten places (from memory).
    near(1.0 - erfc(0.5), 0.520_499_877_8, 6e-11, "Table 7.1");
    near(1.0 - erfc(1.0), 0.842_700_792_9, 6e-11, "Table 7.1");
    for (z, one_sided) in [(1.6449, 0.95), (2.3263, 0.99), (3.0902, 0.999)] {
        near(phi(z), one_sided, 6e-6, "one-sided factors of every table");
    }
}

#[test]
fn worked_examples_of_jcgm_106() {
    let normal = |mean, u: f64, low, high| chance_inside(mean, 2.0 * u, Shape::Normal, low, high).unwrap();
    // Clause 7.4, two limits; printed 0.66 (from memory), 0.66263 by tables.
    near(normal(13.6, 1.8, Some(12.5), Some(16.3)), 0.66, 0.005, "JCGM 106 7.4");
    near(normal(13.6, 1.8, Some(12.5), Some(16.3)), 0.662_63, 1e-5, "Φ(1.5) − Φ(−0.611)");
    // Clause 7.3, one limit; printed 0.92 and 0.99 (from memory).
    near(normal(-5.47, 0.05, None, Some(-5.40)), 0.92, 0.005, "JCGM 106 7.3");
    near(normal(-5.47, 0.05, None, Some(-5.40)), 0.919_243_34, 1e-8, "mpmath Φ(1.4)");
    near(normal(509.7, 8.6, Some(490.0), None), 0.99, 0.005, "JCGM 106 7.3");
    near(normal(509.7, 8.6, Some(490.0), None), 0.989_009_547, 1e-9, "mpmath Φ(19.7/8.6)");
    // Clause 8.3: 100 km/h is surely passed (99.9 %) from 107 km/h on, u = 2 % of the speed (from memory).
    let over = |speed: f64| normal(speed, 0.02 * speed, Some(100.0), None);
    assert!(over(107.0) >= 0.999 && over(106.0) < 0.999, "JCGM 106 8.3");
}

#[test]
fn a_tape_and_a_half_inch_clearance() {
    let p = chance_inside(0.487, 1.0 / 16.0, Shape::Rectangular, Some(0.5), None).unwrap();
    near(p, 0.396, 1e-12, "C34, rectangular law");
    assert_eq!(decide(p), Decision::Undecided);
    let sure = |value| decide(chance_inside(value, 1.0 / 16.0, Shape::Rectangular, Some(0.5), None).unwrap());
    assert_eq!((sure(0.3), sure(0.57)), (Decision::Reject, Decision::Accept));
}

#[test]
fn rectangle_and_triangle_have_simple_areas() {
    let p = |shape, value, low, high| chance_inside(value, 2.0, shape, low, high).unwrap();
    near(p(Shape::Rectangular, 10.0, Some(9.0), Some(11.0)), 0.5, 1e-15, "area");
    near(p(Shape::Triangular, 10.0, Some(9.0), Some(11.0)), 0.75, 1e-15, "area");
    near(p(Shape::Triangular, 10.0, None, Some(11.0)), 0.875, 1e-15, "area");
    near(p(Shape::Triangular, 10.0, Some(11.0), None), 0.125, 1e-15, "area");
    // A gauge that is 95 % sure is sure enough, whatever its last binary digit.
    let edge = chance_inside(0.95, 1.0, Shape::Rectangular, Some(0.05), None).unwrap();
    near(edge, 0.95, 1e-12, "area");
    assert_eq!((decide(edge), decide(1.0 - edge)), (Decision::Accept, Decision::Reject));
}

#[test]
fn a_perfect_instrument_includes_the_limits() {
    for shape in [Shape::Rectangular, Shape::Triangular, Shape::Normal] {
        assert_eq!(chance_inside(1.0, 0.0, shape, Some(1.0), Some(2.0)), Ok(1.0));
        assert_eq!(chance_inside(0.999, 0.0, shape, Some(1.0), None), Ok(0.0));
    }
    let bad = |value, a, low, high| chance_inside(value, a, Shape::Normal, low, high);
    assert_eq!(bad(1.0, 1.0, None, None), Err(Refusal::NoLimits));
    assert_eq!(bad(1.0, 1.0, Some(2.0), Some(1.0)), Err(Refusal::NoLimits));
    assert_eq!(bad(1.0, 1.0, Some(f64::NAN), None), Err(Refusal::NoLimits));
    assert!(bad(1.0, -1.0, Some(1.0), None).is_err() && bad(f64::NAN, 1.0, Some(1.0), None).is_err());
}

/// A random shape.
fn shapes() -> impl Strategy<Value = Shape> {
    prop_oneof![Just(Shape::Rectangular), Just(Shape::Triangular), Just(Shape::Normal)]
}

proptest! {
    #[test]
    fn inside_below_and_above_make_one(x in -9.0..9.0_f64, a in 0.01..5.0_f64, lo in -9.0..9.0_f64,
                                       width in 0.0..9.0_f64, shape in shapes()) {
        let p = |low, high| chance_inside(x, a, shape, low, high).unwrap();
        let hi = lo + width;
        let sum = p(None, Some(lo)) + p(Some(lo), Some(hi)) + p(Some(hi), None);
        prop_assert!((sum - 1.0).abs() < 1e-12, "{sum}");
    }

    #[test]
    fn further_inside_is_likelier(x in -9.0..9.0_f64, more in 0.0..3.0_f64, a in 0.01..5.0_f64, shape in shapes()) {
        let p = |value| chance_inside(value, a, shape, Some(0.0), None).unwrap();
        prop_assert!(p(x + more) >= p(x) - 1e-15);
    }

    #[test]
    fn tails_keep_their_digits(z in 0.0..20.0_f64) {
        // Mills' ratio: φ(z)(1/z − 1/z³) < Φ(−z) < φ(z)/z.
        let density = (-z * z / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt();
        let tail = between(z, f64::INFINITY);
        prop_assert!(tail <= density / z * (1.0 + 1e-12));
        prop_assert!(z < 1.0 || tail >= density * (1.0 / z - 1.0 / z.powi(3)) * (1.0 - 1e-12));
    }
}
