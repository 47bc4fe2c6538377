//! Elliptic integrals and hose shapes.

use linewalk::physics::Refusal;
use linewalk::physics::elliptic::complete;
use linewalk::physics::hose::*;
use linewalk::units::Length;
use proptest::prelude::*;

use crate::near::{near, near_share};

fn m(metres: f64) -> Length {
    Length::from_si(metres)
}

#[test]
fn elliptic_integrals_against_the_printed_table() {
    // Abramowitz and Stegun, Table 17.1 (from memory), by parameter m = k².
    let table = [(0.25, 1.685_750_354_8, 1.467_462_209_3), (0.5, 1.854_074_677_3, 1.350_643_881_0)];
    for (parameter, k, e) in table {
        let both = complete(f64::sqrt(parameter)).unwrap();
        near(both.k, k, 6e-11, "Abramowitz and Stegun, Table 17.1");
        near(both.e, e, 6e-11, "Abramowitz and Stegun, Table 17.1");
    }
}

#[test]
fn elliptic_integrals_against_mpmath() {
    // mpmath 1.4.1 at 30 digits; scipy 1.17.1 agrees with it to 1e-11.
    let rows = [
        (0.05, 1.571_779_457_483_294_5, 1.569_814_118_416_388),
        (0.2, 1.586_867_847_454_166_2, 1.554_968_546_242_529_3),
        (0.241_629, 1.594_508_828_585_170_2, 1.547_611_459_534_449_2),
        (0.5, 1.685_750_354_812_596, 1.467_462_209_339_427_2),
        (0.7, 1.845_693_998_374_723_5, 1.355_661_135_571_955_5),
        (0.9, 2.280_549_138_422_770_3, 1.171_697_052_781_614_1),
        (0.99, 3.356_600_523_361_192_4, 1.028_475_809_028_804),
        (0.9999, 5.645_148_216_829_693, 1.000_514_500_083_781_2),
    ];
    for (modulus, k, e) in rows {
        let both = complete(modulus).unwrap();
        near_share(both.k, k, 1e-13, "mpmath");
        near_share(both.e, e, 1e-13, "mpmath");
    }
    let straight = complete(0.0).unwrap();
    assert_eq!((straight.k, straight.e), (std::f64::consts::FRAC_PI_2, std::f64::consts::FRAC_PI_2));
    assert_eq!(complete(1.0), Err(Refusal::Modulus));
    assert_eq!(complete(-0.1), Err(Refusal::Modulus));
    assert_eq!(complete(f64::NAN), Err(Refusal::Modulus));
}

#[test]
fn elastica_against_its_differential_equation() {
    // θ″ = −P sin θ with θ′ = 0 at both ends, shot with scipy 1.17.1 solve_ivp (DOP853, rtol 3e-14) and fsolve:
    // length, chord, least radius, bow. No elliptic integral is in that route.
    let rows = [
        (12.75, 12.0, 8.273_217_618_865, 1.932_111_066_038),
        (10.5, 10.0, 7.588_965_022_120, 1.436_808_738_402),
        (12.6, 12.0, 9.106_758_026_544, 1.724_170_486_083),
        (14.0, 11.0, 4.610_151_687_917, 3.839_587_445_688),
        (1.0, 0.3, 0.160_025_237_106, 0.399_730_530_535),
        (1.0, 0.99, 1.588_558_723_898, 0.063_462_721_765),
    ];
    for (length, chord, radius, bow) in rows {
        let shape = elastica(m(length), m(chord)).unwrap();
        near_share(shape.least_radius.si(), radius, 1e-10, "solve_ivp");
        near_share(shape.bow.si(), bow, 1e-10, "solve_ivp");
        assert_eq!(bend_radius(m(length), m(chord)).unwrap(), shape.least_radius);
    }
}

#[test]
fn slack_ratio_and_bow() {
    near(slack(m(14.0), m(12.5)).unwrap().si(), 1.5, 1e-12, "definition");
    near(length_ratio(m(10.5), m(10.0)).unwrap(), 1.05, 1e-12, "definition");
    near(bow(m(12.75), m(12.0)).unwrap().si(), 1.8371, 5e-5, "shallow arc, worked apart");
    // The other way: a parabola of that bow over that chord, its length summed in 100 000 pieces.
    let (chord, height) = (12.0_f64, bow(m(12.06), m(12.0)).unwrap().si());
    let y = |x: f64| 4.0 * height * x * (chord - x) / (chord * chord);
    let step = chord / 1e5;
    let length: f64 = (0..100_000)
        .map(|i| {
            let x = f64::from(i) * step;
            step.hypot(y(x + step) - y(x))
        })
        .sum();
    // Next term of the parabola's length, −32/5 C (b/C)⁴, is what the shallow form leaves out.
    let next = 6.4 * chord * (height / chord).powi(4);
    near(length, 12.06 - next, 3e-6, "length of the parabola, 0.5 % slack");
}

#[test]
fn out_of_reach_and_too_slack_are_refused() {
    assert_eq!(bow(m(10.0), m(10.1)), Err(Refusal::OutOfReach));
    assert_eq!(bend_radius(m(10.0), m(10.1)), Err(Refusal::OutOfReach));
    assert_eq!(bow(m(13.1), m(10.0)), Err(Refusal::TooSlack));
    assert!(bow(m(13.0), m(10.0)).is_ok());
    assert!(slack(m(10.0), m(10.1)).unwrap().si() < 0.0);
    assert!(bend_radius(m(1.0), m(1.0)).unwrap().si().is_infinite());
    assert!(bend_radius(m(1.0), m(0.0)).is_err());
}

proptest! {
    #[test]
    fn legendre_relation(k in 0.01..0.9999_f64) {
        // E K′ + E′ K − K K′ = π/2, Abramowitz and Stegun 17.3.13.
        let (one, other) = (complete(k).unwrap(), complete((1.0 - k * k).sqrt()).unwrap());
        let sum = one.e * other.k + other.e * one.k - one.k * other.k;
        prop_assert!((sum - std::f64::consts::FRAC_PI_2).abs() < 1e-12, "{sum}");
    }

    #[test]
    fn more_slack_bends_tighter(length in 0.1..2.0_f64, a in 0.05..0.999_f64, b in 0.05..0.999_f64) {
        prop_assume!((a - b).abs() > 1e-6);
        let radius = |part: f64| bend_radius(m(length), m(length * part)).unwrap().si();
        // Rising chord, rising least radius; and the same shape at any size.
        prop_assert_eq!(a < b, radius(a) < radius(b));
        let shape = elastica(m(1.0), m(a)).unwrap().least_radius.si();
        prop_assert!((radius(a) / length / shape - 1.0).abs() < 1e-9);
    }

    #[test]
    fn small_slack_is_a_half_sine(part in 1e-8..1e-4_f64) {
        // Limit of the elastica: bow² = 4 L (L − C)/π², R = L²/(π² bow).
        let shape = elastica(m(1.0), m(1.0 - part)).unwrap();
        let bow = 2.0 * part.sqrt() / std::f64::consts::PI;
        prop_assert!((shape.bow.si() / bow - 1.0).abs() < 2e-4 + 1e-7);
        let radius = 1.0 / (std::f64::consts::PI.powi(2) * bow);
        prop_assert!((shape.least_radius.si() / radius - 1.0).abs() < 2e-4 + 1e-7);
    }
}
