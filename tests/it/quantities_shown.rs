//! Quantities as they are shown, and properties of reading and showing.
//!
//! Expected texts are worked by hand from the exact definitions named in the module on reading quantities.

use linewalk::units::{
    KINDS, Kind, Units, default_unit, fraction_inches, parse, parse_accuracy, parse_bare, parse_signed, show,
    show_in, significant,
};
use proptest::prelude::*;

#[test]
fn values_show_with_sensible_figures() {
    let psi = 6_894.757_293_168;
    for (si, kind, us, metric) in [
        (0.004_762_5, Kind::Length, "0.188 in", "4.76 mm"),
        (0.0127, Kind::Length, "0.5 in", "12.7 mm"),
        (1.5e-6, Kind::Length, "5.91e-5 in", "0.0015 mm"),
        (2.489_2, Kind::Length, "98 in", "2489 mm"),
        (15.24, Kind::Length, "600 in", "15.24 m"),
        (1200.0 * psi, Kind::Pressure, "1200 psi", "82.7 bar"),
        (1.93e11, Kind::Pressure, "27990 ksi", "193 GPa"),
        (294.261_111, Kind::Temperature, "70 F", "21.1 C"),
        (10.0, Kind::TemperatureDifference, "18 F diff", "10 C diff"),
        (4.535_923_7, Kind::Mass, "10 lb", "4.54 kg"),
        (177.928_86, Kind::Force, "40 lbf", "177.9 N"),
        (std::f64::consts::FRAC_PI_3, Kind::Angle, "60 deg", "60 deg"),
        (0.444_44, Kind::Ratio, "0.444", "0.444"),
        (1.052_34, Kind::Ratio, "1.052", "1.052"),
        (0.412_3, Kind::Time, "0.412 s", "0.412 s"),
        (1800.0, Kind::Time, "30 min", "30 min"),
        (90.0, Kind::Span, "90 days", "90 days"),
        (1.0, Kind::Span, "1 day", "1 day"),
        (-12345.0, Kind::Span, "-12345 days", "-12345 days"),
        (2.366e-4, Kind::Volume, "14.44 in3", "237 mL"),
        (f64::NAN, Kind::Mass, "not a number", "not a number"),
        (f64::INFINITY, Kind::Ratio, "not a number", "not a number"),
    ] {
        assert_eq!(show(si, kind, Units::Us), us);
        assert_eq!(show(si, kind, Units::Metric), metric);
    }
    assert_eq!(show_in(0.0254, Kind::Length, "mm").as_deref(), Some("25.4 mm"));
    assert_eq!(show_in(0.46, Kind::Ratio, "%").as_deref(), Some("46 %"));
    assert_eq!(show_in(5.0, Kind::TemperatureDifference, "F").as_deref(), Some("9 F diff"));
    assert_eq!(show_in(98_675.0, Kind::Pressure, "bara").as_deref(), Some("2 bara"));
    assert_eq!(show_in(0.0254, Kind::Length, "psi"), None);
    assert_eq!(show_in(0.0254, Kind::Length, "nonsense"), None);
    for kind in KINDS.iter().copied() {
        assert!(show_in(1.0, kind, kind.si_unit()).is_some(), "{kind:?}: its SI unit can be shown");
    }
}

#[test]
fn fractions_and_significant_figures() {
    for (inches, want) in [
        (1.375, Some("1 3/8 in")),
        (0.1875, Some("3/16 in")),
        (2.0, Some("2 in")),
        (0.0, Some("0 in")),
        (-1.375, Some("-1 3/8 in")),
        (0.015_625, Some("1/64 in")),
        (0.035, None),
        (0.187_500_01, None),
        (f64::NAN, None),
        (f64::INFINITY, None),
    ] {
        assert_eq!(fraction_inches(inches * 0.0254).as_deref(), want, "{inches}");
    }
    for (value, digits, want) in [
        (1234.6, 3, "1230"),
        (0.000_123_456, 3, "0.000123"),
        (0.000_099_9, 2, "0.0001"),
        (9.996, 3, "10"),
        (1.5, 4, "1.5"),
        (-2.345_6, 3, "-2.35"),
        (9_999_999.0, 3, "1e7"),
        (1.234e-7, 3, "1.23e-7"),
        (0.0, 3, "0"),
        (-0.0, 3, "0"),
        (f64::NAN, 3, "not a number"),
    ] {
        assert_eq!(significant(value, digits), want);
    }
}

proptest! {
    /// What is read back is within half a step of the last figure shown.
    #[test]
    fn what_is_shown_reads_back(index in 0..KINDS.len(), exponent in -4.0..4.0_f64, metric: bool) {
        let kind = KINDS[index];
        let units = if metric { Units::Metric } else { Units::Us };
        let si = match kind {
            Kind::Span => (10f64.powf(exponent.abs())).round(),
            Kind::Temperature => 10f64.powf(exponent.abs() / 2.0 + 1.0),
            _ => 10f64.powf(exponent),
        };
        let shown = show(si, kind, units);
        let back = parse(&shown, kind).unwrap().si;
        // Half of 0.1 F or C; half of 0.001 in, which is 5 % at 0.01 in; else half of 1 % (three figures).
        let step = match kind {
            Kind::Temperature => 0.05 + 1e-9,
            Kind::Length => (0.5e-3 * 0.0254_f64).min(0.05 * si).max(0.005 * si),
            _ => 0.005 * si,
        };
        prop_assert!((back - si).abs() <= step * (1.0 + 1e-9), "{si} {kind:?} as {shown} is {back}");
    }

    #[test]
    fn any_fraction_of_an_inch_reads_back_exactly(count in 0u32..64_000) {
        let text = fraction_inches(f64::from(count) / 64.0 * 0.0254).unwrap();
        let back = parse(&text, Kind::Length).unwrap().si / 0.0254 * 64.0;
        prop_assert!((back - f64::from(count)).abs() < 1e-7, "{text}");
    }

    #[test]
    fn nothing_typed_makes_it_panic(text in any::<String>(), index in 0..KINDS.len()) {
        never_panics(&text, KINDS[index])?;
    }

    /// Text made of the pieces that quantities are made of, which goes deeper than random characters.
    #[test]
    fn nothing_nearly_right_makes_it_panic(
        pieces in prop::collection::vec(prop::sample::select(vec![
            "1", "0", "3/16", " ", "in", "ft", "'", "\"", "½", "/", "⁄", ".", ",", "-", "+/-", "±", "%", "F", "diff",
            "°", "psi", "bara", "^", "0.5", "e", "e9", "lb", "oz", "of", "\u{a0}", "Ω", "−", "''", "years", "9999999999999",
        ]), 0..10),
        index in 0..KINDS.len(),
    ) {
        never_panics(&pieces.concat(), KINDS[index])?;
    }

    #[test]
    fn any_number_can_be_shown(bits in any::<u64>(), index in 0..KINDS.len(), digits in 0usize..40) {
        let value = f64::from_bits(bits);
        let kind = KINDS[index];
        prop_assert!(!show(value, kind, Units::Us).is_empty());
        prop_assert!(!show(value, kind, Units::Metric).is_empty());
        prop_assert!(!significant(value, digits).is_empty());
        let _ = fraction_inches(value);
    }
}

fn never_panics(text: &str, kind: Kind) -> Result<(), TestCaseError> {
    let results = [
        parse(text, kind).map(|parsed| parsed.si),
        parse_signed(text, kind).map(|parsed| parsed.si),
        parse_bare(text, kind, default_unit(kind, Units::Us)).map(|(parsed, _)| parsed.si),
        parse_accuracy(text, kind),
    ];
    for result in results {
        match result {
            Ok(si) => prop_assert!(si.is_finite()),
            Err(refusal) => {
                prop_assert!(text.get(refusal.at.clone()).is_some(), "{text:?}: {refusal:?}");
                prop_assert!(!refusal.message.is_empty() && !refusal.help.is_empty());
            }
        }
    }
    Ok(())
}
