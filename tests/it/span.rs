//! Span frequencies against printed frequency numbers and worked values.

use linewalk::physics::span::{FilledTube, SpanError, span_frequency};
use linewalk::units::{Density, Length, Pressure};

fn tube(od: f64, wall: f64, fluid: f64) -> FilledTube {
    FilledTube {
        od: Length::from_inches(od),
        wall: Length::from_inches(wall),
        modulus: Pressure::from_si(193e9),
        density: Density::from_si(8000.0),
        fluid: Density::from_si(fluid),
    }
}

fn inches(value: f64) -> Length {
    Length::from_inches(value)
}

#[test]
fn frequency_numbers_as_textbooks_print_them() {
    // First mode (beta L)2: 9.87 pinned, 22.4 clamped (vibration textbooks); computed 9.869 604 and 22.373 285.
    let case = tube(0.25, 0.035, 1000.0);
    let got = span_frequency(&case, Length::from_si(1.0)).unwrap();
    let base = (case.stiffness() / case.mass_per_metre()).sqrt() / (2.0 * std::f64::consts::PI);
    crate::near::tell((got.pinned.si() / base - 9.869_604).abs(), 9.869_604);
    assert!((got.pinned.si() / base - 9.869_604).abs() < 1e-6);
    assert!((got.clamped.si() / base - 22.373_285).abs() < 1e-6);
    // The clamped number solves cos(x) cosh(x) = 1, the pinned one sin(x) = 0.
    let x = (got.clamped.si() / base).sqrt();
    assert!((x.cos() * x.cosh() - 1.0).abs() < 1e-11);
    assert!((got.pinned.si() / base).sqrt().sin().abs() < 1e-12);
}

/// The clamped number once more without its equation: the least Rayleigh quotient of a clamped beam over two polynomial
/// shapes, ((1-s2)2 and s2 (1-s2)2 on [-1, 1]), is an upper bound within 0.001 % of the true one.
#[test]
fn rayleigh_ritz_bounds_the_clamped_number() {
    let steps = 4000;
    let (mut stiff, mut mass) = ([0.0_f64; 3], [0.0_f64; 3]);
    for i in 0..steps {
        let s = -1.0 + 2.0 * (f64::from(i) + 0.5) / f64::from(steps);
        let (s2, w) = (s * s, 2.0 / f64::from(steps));
        let shape = [(1.0 - s2).powi(2), s2 * (1.0 - s2).powi(2)];
        let curve = [12.0 * s2 - 4.0, 30.0 * s2 * s2 - 24.0 * s2 + 2.0];
        for (slot, (a, b)) in [(0, 0), (0, 1), (1, 1)].into_iter().enumerate() {
            stiff[slot] += curve[a] * curve[b] * w;
            mass[slot] += shape[a] * shape[b] * w;
        }
    }
    let (a, b) = (
        mass[0] * mass[2] - mass[1] * mass[1],
        stiff[0] * mass[2] + stiff[2] * mass[0] - 2.0 * stiff[1] * mass[1],
    );
    let c = stiff[0] * stiff[2] - stiff[1] * stiff[1];
    let least = (b - (b * b - 4.0 * a * c).sqrt()) / (2.0 * a);
    let bound = least.sqrt() * 4.0; // on a length of 2
    let case = tube(0.25, 0.035, 1000.0);
    let base = (case.stiffness() / case.mass_per_metre()).sqrt() / (2.0 * std::f64::consts::PI);
    let number = span_frequency(&case, Length::from_si(1.0)).unwrap().clamped.si() / base;
    crate::near::tell((number - bound).abs(), bound);
    assert!(number <= bound * (1.0 + 1e-6) && number > bound * (1.0 - 5e-5), "{number} against {bound}");
}

#[test]
fn worked_spans() {
    // 1/4 x 0.035 in, 16 in, water: 85.791 and 194.478 Hz; 3/16 x 0.028 in, 14 in, 1060 kg/m3: 83.534 and 189.363 Hz
    // (separate arithmetic with the numbers pi2 and 22.373285).
    let quarter = tube(0.25, 0.035, 1000.0);
    assert!((quarter.stiffness() - 11.2641).abs() < 5e-5);
    assert!((quarter.mass_per_metre() - 0.138_432).abs() < 5e-7);
    let got = span_frequency(&quarter, inches(16.0)).unwrap();
    assert!((got.pinned.si() - 85.791).abs() < 1e-3 && (got.clamped.si() - 194.478).abs() < 1e-3);
    let small = tube(0.1875, 0.028, 1060.0);
    let got = span_frequency(&small, inches(14.0)).unwrap();
    assert!((got.pinned.si() - 83.534).abs() < 1e-3 && (got.clamped.si() - 189.363).abs() < 1e-3);
    // 12 in: 114 and 258 Hz; 24 in: 28 Hz.
    let got = span_frequency(&small, inches(12.0)).unwrap();
    assert_eq!((got.pinned.si().round(), got.clamped.si().round()), (114.0, 258.0));
    assert_eq!(span_frequency(&small, inches(24.0)).unwrap().pinned.si().round(), 28.0);
}

#[test]
fn refusals() {
    let good = tube(0.25, 0.035, 1000.0);
    let name = |tube: FilledTube, span: f64| span_frequency(&tube, inches(span)).unwrap_err();
    assert_eq!(name(good, 0.0), SpanError::OutOfRange("span"));
    assert_eq!(name(good, f64::NAN), SpanError::OutOfRange("span"));
    assert_eq!(name(tube(0.0, 0.035, 1.0), 9.0), SpanError::OutOfRange("outside diameter"));
    assert_eq!(name(tube(0.25, -1.0, 1.0), 9.0), SpanError::OutOfRange("wall"));
    assert_eq!(name(tube(0.25, 0.035, -1.0), 9.0), SpanError::OutOfRange("density of the fluid"));
    assert_eq!(name(tube(0.25, 0.125, 1.0), 9.0), SpanError::NoBore);
    assert!(span_frequency(&tube(0.25, 0.035, 0.0), inches(9.0)).is_ok());
    assert_eq!(SpanError::OutOfRange("span").to_string(), "the span must be above zero");
}
