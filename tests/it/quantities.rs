//! Quantities as people type them.
//!
//! Expected values come from exact definitions, written out here apart from the program's own table: inch 25.4 mm,
//! foot 304.8 mm, pound 0.453 592 37 kg, standard free fall 9.806 65 m/s2, US gallon 231 cubic inches, fluid ounce
//! one gallon over 128, standard atmosphere 101 325 Pa (as listed in NIST SP 811, appendix B; from memory).

use linewalk::units::{
    KINDS, Kind, Span, Units, accuracies, default_unit, parse, parse_accuracy, parse_bare, parse_signed,
};

/// A few units in the last place: the only freedom left to a conversion by an exact factor.
fn close(got: f64, want: f64) -> bool {
    (got - want).abs() <= 8.0 * f64::EPSILON * want.abs().max(f64::MIN_POSITIVE)
}

fn accepted(kind: Kind, rows: &[(&str, f64)]) {
    for (text, want) in rows {
        let got = parse(text, kind).unwrap_or_else(|refusal| panic!("{text:?}: {refusal}"));
        assert!(close(got.si, *want), "{text:?}: {} is not {want}", got.si);
        assert_eq!(got.half_width, None, "{text:?}");
    }
}

#[test]
fn lengths_are_read_the_way_a_fabricator_writes_them() {
    // All in millimetres by hand: 1/16 in is 1.5875 mm.
    for (text, millimetres) in [
        ("3/16 in", 4.7625),
        ("3/16\"", 4.7625),
        ("3/16in", 4.7625),
        (" 3⁄16 in ", 4.7625),
        ("1 1/4 in", 31.75),
        ("1-1/4 in", 31.75),
        ("1–1/4 in", 31.75),
        ("1 5/8 in", 41.275),
        ("1-5/8\"", 41.275),
        ("1⅝\"", 41.275),
        ("1 ⅝ in", 41.275),
        ("1-⅝ in", 41.275),
        ("⅜ in", 9.525),
        ("½ inch", 12.7),
        ("9/8 in", 28.575),
        ("0.035 in", 0.889),
        (".035\"", 0.889),
        ("5. in", 127.0),
        ("0.5 In", 12.7),
        ("2 inches", 50.8),
        ("3/4 in.", 19.05),
        ("3/16″", 4.7625),
        ("3/16''", 4.7625),
        // 51 1/2 in
        ("4 ft 3 1/2 in", 1308.1),
        ("4 ft. 3 1/2 in.", 1308.1),
        ("4' 3-1/2\"", 1308.1),
        ("4'3-1/2\"", 1308.1),
        ("4'-3 1/2\"", 1308.1),
        ("4′ 3½″", 1308.1),
        ("4’ 3½”", 1308.1),
        ("6 ft", 1828.8),
        ("22 mm", 22.0),
        ("1.2 m", 1200.0),
        ("4 cm", 40.0),
        ("1.5 um", 0.0015),
        ("1.5 µm", 0.0015),
        ("35 thou", 0.889),
        ("1e-3 m", 1.0),
        ("0 in", 0.0),
        ("+3 in", 76.2),
        ("-0 in", 0.0),
    ] {
        accepted(Kind::Length, &[(text, millimetres / 1000.0)]);
    }
}

#[test]
fn mechanical_units_follow_their_definitions() {
    let lb = 0.453_592_37;
    let lbf = lb * 9.806_65;
    accepted(
        Kind::Mass,
        &[
            ("10 lb 4 oz", 10.25 * lb),
            ("4.5 kg", 4.5),
            ("300 g", 0.3),
            ("8 oz", lb / 2.0),
            ("2 lbs", 2.0 * lb),
        ],
    );
    accepted(Kind::Force, &[("40 lbf", 40.0 * lbf), ("180 N", 180.0), ("2 kN", 2000.0), ("1 kgf", 9.806_65)]);
    accepted(
        Kind::Torque,
        &[
            ("15 lbf.ft", 15.0 * lbf * 0.3048),
            ("15 lbf-ft", 15.0 * lbf * 0.3048),
            ("15 lbf·ft", 15.0 * lbf * 0.3048),
            ("15 ft lbf", 15.0 * lbf * 0.3048),
            ("90 lbf.in", 90.0 * lbf * 0.0254),
            ("20 N.m", 20.0),
            ("20 N·m", 20.0),
            ("20 Nm", 20.0),
            ("20 N m", 20.0),
        ],
    );
    let psi = lbf / (0.0254 * 0.0254);
    // SP 811 prints (from memory) 6.894 757 E+03 Pa for the psi.
    assert!((psi - 6894.757).abs() < 5e-4);
    accepted(
        Kind::Pressure,
        &[
            ("1200 psi", 1200.0 * psi),
            ("1200 PSI", 1200.0 * psi),
            ("1200 Psi", 1200.0 * psi),
            ("1200 psig", 1200.0 * psi),
            ("85 bar", 8.5e6),
            ("2.5 MPa", 2.5e6),
            ("150 kPa", 1.5e5),
            ("193 GPa", 1.93e11),
            ("0 psia", -101_325.0),
            ("1.01325 bara", 0.0),
            ("2 bara", 98_675.0),
            ("-5 psi", -5.0 * psi),
            ("−5 psi", -5.0 * psi),
        ],
    );
    // 100 psia: a difference of two numbers of 1e5, so a few ulp of the larger.
    let got = parse("100 psia", Kind::Pressure).unwrap().si;
    assert!((got - (100.0 * psi - 101_325.0)).abs() < 1e-9);
}

#[test]
fn temperatures_and_differences_are_two_kinds() {
    accepted(
        Kind::Temperature,
        &[
            ("32 F", 273.15),
            ("212 °F", 373.15),
            ("212 degF", 373.15),
            ("212 deg F", 373.15),
            ("212°F", 373.15),
            ("-40 F", 233.15),
            ("-40 °C", 233.15),
            ("21 C", 294.15),
            ("294 K", 294.0),
            ("-459.67 F", 0.0),
            // (70 + 459.67) / 1.8
            ("70 F", 294.261_111_111_111_1),
        ],
    );
    accepted(
        Kind::TemperatureDifference,
        &[
            ("50 F diff", 50.0 / 1.8),
            ("50 °F diff", 50.0 / 1.8),
            ("50 degF diff", 50.0 / 1.8),
            ("28 K diff", 28.0),
            ("1 C diff", 1.0),
            ("-9 F diff", -5.0),
        ],
    );
    let got = parse("70 F +/- 2 F", Kind::Temperature).unwrap();
    assert!(close(got.half_width.unwrap(), 2.0 / 1.8));
    let got = parse("70 F ± 2 F diff", Kind::Temperature).unwrap();
    assert!(close(got.half_width.unwrap(), 2.0 / 1.8));
    let got = parse("50 F diff +/- 1 K", Kind::TemperatureDifference).unwrap();
    assert_eq!(got.half_width, Some(1.0));
}

#[test]
fn fluids_angles_and_the_rest() {
    let in3 = 0.0254_f64.powi(3);
    let gallon = 231.0 * in3;
    // SP 811 prints (from memory) 3.785 412 E-03 m3 for the gallon and 2.957 353 E-05 m3 for the US fluid ounce.
    assert!((gallon - 3.785_412e-3).abs() < 5e-10 && (gallon / 128.0 - 2.957_353e-5).abs() < 5e-12);
    accepted(
        Kind::Volume,
        &[
            ("335 in3", 335.0 * in3),
            ("335 in^3", 335.0 * in3),
            ("335 in³", 335.0 * in3),
            ("6.2 L", 6.2e-3),
            ("120 mL", 1.2e-4),
            ("120 cc", 1.2e-4),
            ("0.5 gal", gallon / 2.0),
            ("0.5 gal(US)", gallon / 2.0),
            ("0.5 US gal", gallon / 2.0),
            ("8 floz", gallon / 16.0),
            ("8 fl oz", gallon / 16.0),
            ("8 fl. oz.", gallon / 16.0),
        ],
    );
    accepted(Kind::Density, &[("1616 kg/m3", 1616.0), ("1.616 g/mL", 1616.0), ("1616 kg/m³", 1616.0)]);
    accepted(Kind::Viscosity, &[("0.66 mPa.s", 6.6e-4), ("0.66 mPa·s", 6.6e-4), ("0.66 cP", 6.6e-4)]);
    let pi = std::f64::consts::PI;
    accepted(
        Kind::Angle,
        &[("60 deg", pi / 3.0), ("60°", pi / 3.0), ("1.05 rad", 1.05), ("-90 deg", -pi / 2.0)],
    );
    accepted(Kind::Ratio, &[("46 %", 0.46), ("46%", 0.46), ("0.46", 0.46), ("3/4", 0.75), ("1.05", 1.05)]);
    accepted(Kind::Time, &[("0.4 s", 0.4), ("5 min", 300.0), ("2 h", 7200.0), ("1 h 30 min", 5400.0)]);
    accepted(Kind::Rate, &[("7800 rpm", 130.0), ("28 Hz", 28.0), ("7800 RPM", 130.0)]);
    accepted(Kind::Voltage, &[("12.6 V", 12.6), ("200 mV", 0.2), ("-1 V", -1.0)]);
    accepted(Kind::Current, &[("4 A", 4.0)]);
    accepted(Kind::Resistance, &[("0.2 ohm", 0.2), ("0.2 Ω", 0.2)]);
    accepted(
        Kind::Flow,
        &[("2 gpm", 2.0 * gallon / 60.0), ("8 L/min", 8e-3 / 60.0), ("8 L / min", 8e-3 / 60.0)],
    );
    // A mile is 5 280 ft; the table's Btu is 2 326 J/kg for each lb, by 1.8 for the degree: 4 186.8 J.
    accepted(Kind::Speed, &[("60 mph", 26.8224), ("88 ft/s", 26.8224), ("36 km/h", 10.0), ("10 m/s", 10.0)]);
    accepted(
        Kind::SpecificHeat,
        &[
            ("0.13 Btu/lb/F", 544.284),
            ("1 Btu/(lb F)", 4186.8),
            ("544 J/kg/K", 544.0),
            ("0.5 kJ/kg/K", 500.0),
        ],
    );
    let psi: f64 = 0.453_592_37 * 9.806_65 / (0.0254 * 0.0254);
    accepted(
        Kind::NozzleFactor,
        &[
            ("0.55 gpm/psi^0.5", 0.55 * gallon / 60.0 / psi.sqrt()),
            ("0.55 gpm/√psi", 0.55 * gallon / 60.0 / psi.sqrt()),
            ("8 L/min/bar^0.5", 8e-3 / 60.0 / 1e5_f64.sqrt()),
        ],
    );
}

#[test]
fn calendar_spans_are_whole_days_or_months() {
    for (text, span, days) in [
        ("90 days", Span::Days(90), 90.0),
        ("1 day", Span::Days(1), 1.0),
        ("2 weeks", Span::Days(14), 14.0),
        ("6 months", Span::Months(6), 6.0 * 30.4375),
        ("2 years", Span::Months(24), 730.5),
        ("1/2 year", Span::Months(6), 6.0 * 30.4375),
        ("1 year 6 months", Span::Months(18), 18.0 * 30.4375),
    ] {
        let got = parse(text, Kind::Span).unwrap();
        assert_eq!(got.span, Some(span), "{text}");
        assert!(close(got.si, days), "{text}");
    }
    for text in
        ["0.3 months", "1.5 days", "2 years +/- 1 day", "1 year 6 days", "3 min", "-2 years", "1e9 years"]
    {
        assert!(parse(text, Kind::Span).is_err(), "{text}");
    }
}

#[test]
fn half_widths_are_absolute_or_a_share_of_the_value() {
    for (text, kind, want) in [
        ("14 in +/- 1/8 in", Kind::Length, 0.0254 / 8.0),
        ("14 in ± 1/8\"", Kind::Length, 0.0254 / 8.0),
        ("14\"±1 mm", Kind::Length, 0.001),
        ("85 bar +/- 2.5 %", Kind::Pressure, 85e5 * 0.025),
        // A share of the absolute pressure written, and a half-width in psia is no shift of the zero.
        ("2 bara +/- 10 %", Kind::Pressure, 2e4),
        ("2 bar +/- 0.1 bara", Kind::Pressure, 1e4),
        // In % the half-width is in points of the same %; behind a plain number % is a share of it.
        ("46 % +/- 2 %", Kind::Ratio, 0.02),
        ("0.42 +/- 5 %", Kind::Ratio, 0.021),
        ("0.42 +/- 0.05", Kind::Ratio, 0.05),
    ] {
        let got = parse(text, kind).unwrap_or_else(|refusal| panic!("{text}: {refusal}"));
        assert!(close(got.half_width.unwrap(), want), "{text}: {got:?}");
    }
    for (text, kind) in [("1/16 in", Kind::Length), ("+/- 1/16 in", Kind::Length)] {
        assert!(close(parse_accuracy(text, kind).unwrap(), 0.0254 / 16.0));
    }
    assert!(close(parse_accuracy("2.5 % of 100 bar", Kind::Pressure).unwrap(), 2.5e5));
    assert!(close(parse_accuracy("1.8 F", Kind::Temperature).unwrap(), 1.0));
    assert!(close(parse_accuracy("1 %", Kind::Ratio).unwrap(), 0.01));
    for text in ["2.5 %", "2.5 % of", "2.5 % of 3 in", "-1 psi", "1 psi or so", ""] {
        assert!(parse_accuracy(text, Kind::Pressure).is_err(), "{text}");
    }
}

/// An accuracy is one of whatever it can be read as, kind by kind.
#[test]
fn an_accuracy_is_read_for_every_kind_it_fits() {
    let both = |kind: &Kind| [Units::Us, Units::Metric].map(|units| default_unit(*kind, units));
    let units =
        KINDS.iter().flat_map(both).chain(["lb", "kg/m3", "inch", "\"", "°F", "F diff", "gal/min", "ohm"]);
    let texts = units
        .flat_map(|unit| [format!("1/16 {unit}"), format!("2.5 % of 30 {unit}"), format!("+/- 0.5{unit}")]);
    let odd = ["0.5 %", "0.02", "1 C diff", "2 F", "", "psi", "1 %  ", "5 psi 3", "1 week", "2 m3", "1 in."];
    for text in texts.chain(odd.map(str::to_owned)) {
        let read = |kind: &Kind| Some((*kind, parse_accuracy(&text, *kind).ok()?));
        assert_eq!(accuracies(&text), KINDS.iter().filter_map(read).collect::<Vec<_>>(), "{text}");
    }
}

/// Each row: the text with the refused part between « and », the kind, and a piece of the remedy.
fn refused(rows: &[(&str, Kind, &str)]) {
    for (marked, kind, help) in rows {
        let text = marked.replace(['«', '»'], "");
        let start = marked.find('«').unwrap();
        let end = marked.find('»').unwrap() - '«'.len_utf8();
        let refusal = match parse(&text, *kind) {
            Ok(parsed) => panic!("{text:?} was read as {parsed:?}"),
            Err(refusal) => refusal,
        };
        assert_eq!(refusal.at, start..end, "{text:?}: {refusal}");
        assert!(refusal.help.contains(help), "{text:?}: {refusal}");
        assert!(!refusal.message.is_empty());
    }
}

#[test]
fn a_wrong_unit_is_pointed_at_with_a_remedy() {
    use Kind::*;
    refused(&[
        ("10 «lb»", Force, "write lbf"),
        ("10 «lbs»", Force, "write lbf"),
        ("40 «lbf»", Mass, "write lb for a mass"),
        ("15 «lb-ft»", Torque, "write lbf.ft"),
        ("15 «in-lb»", Torque, "write lbf.in"),
        ("8 «oz»", Volume, "write floz"),
        ("60 «lb»", Pressure, "write psi"),
        ("70 «F diff»", Temperature, "write F alone"),
        ("50 «F»", TemperatureDifference, "write \"F diff\""),
        ("70 «deg»", Temperature, "F or C"),
        ("5 «m»", Time, "write min"),
        ("3/16 «psi»", Length, "3/16 in"),
        ("3/16 «inn»", Length, "did you mean \"in\"?"),
        ("22 «mn»", Length, "did you mean \"mm\"?"),
        ("2 «mpa»", Pressure, "did you mean \"MPa\"?"),
        ("2 «mPa»", Pressure, "did you mean \"MPa\"?"),
        ("1200 «pis»", Pressure, "did you mean \"psi\"?"),
        ("20 «mm²»", Length, "did you mean \"mm\"?"),
        ("3 «furlongs»", Length, "3/16 in"),
        ("3 «M»", Length, "did you mean \"m\"?"),
        ("«14»", Length, "a length such as"),
        ("4 ft «3»", Length, "a length such as"),
        ("14 in +/- «1/8»", Length, "a length such as"),
    ]);
}

#[test]
fn a_wrong_number_is_pointed_at_with_a_remedy() {
    use Kind::*;
    refused(&[
        ("«1,200» psi", Pressure, "write 1200 without the comma, or 1.200 with a point"),
        ("«1,5» mm", Length, "write 1.5 with a point"),
        ("«1,200,000» Pa", Pressure, "write 1200000 without"),
        ("«3,» in", Length, "3/16 in"),
        ("«1 200» psi", Pressure, "as one number"),
        ("3/«0» in", Length, "a fraction such as 3/16"),
        ("1 3/«0» in", Length, "a fraction such as 3/16"),
        ("3«/» in", Length, "3/16"),
        ("«1.5/8» in", Length, "1 3/16"),
        ("«3/1.5» in", Length, "one decimal point"),
        ("«1/2/3» in", Length, "3/16"),
        ("«1.2.3» in", Length, "one decimal point"),
        ("1 «9/8» in", Length, "proper fraction"),
        ("1«-»5 in", Length, "a mixed number is written"),
        ("«NaN» in", Length, "3/16 in"),
        ("«inf» psi", Pressure, "1200 psi"),
        ("-«inf» psi", Pressure, "1200 psi"),
        ("«1e999» in", Length, "below 1e300"),
        ("«1e300 psi»", Pressure, "below 1e300"),
        ("«about» 3 in", Length, "3/16 in"),
        ("3 in «or so»", Length, "3/16 in"),
        ("3\" «or so»", Length, "3/16 in"),
        ("3 in «4 mm»", Length, "3/16 in"),
        ("3 in ± 1 mm «± 2 mm»", Length, "3/16 in"),
        ("4 ft «14 in»", Length, "less than 12 in"),
        ("«4.5» ft 3 in", Length, "whole ft"),
        ("«»", Length, "3/16 in"),
        ("  «»", Length, "3/16 in"),
        ("«+/-» 2 in", Length, "3/16 in"),
        ("3 in +/-«»", Length, "3/16 in"),
        ("3 in +/- «-1» in", Length, "3/16 in"),
        ("«-3 in»", Length, "without the minus"),
        ("«-1 kg»", Mass, "without the minus"),
        ("«-5 %»", Ratio, "without the minus"),
        ("«-460 F»", Temperature, "-459.67 F or above"),
        ("«-1 K»", Temperature, "-459.67 F or above"),
        ("«-15 psi»", Pressure, "-14.69 psi or above"),
        ("«-1 psia»", Pressure, "-14.69 psi or above"),
        ("70 F +/- 2 «%»", Temperature, "70 F +/- 2 F"),
        ("0.5 «deg»", Ratio, "46 %"),
        ("2 years +/- «1 day»", Span, "leave out"),
        ("«３» in", Length, "3/16 in"),
    ]);
}

#[test]
fn a_limit_on_a_difference_may_be_negative() {
    assert!(close(parse_signed("-5 %", Kind::Ratio).unwrap().si, -0.05));
    assert!(close(parse_signed("-1/4 in", Kind::Length).unwrap().si, -0.00635));
    assert!(parse_signed("-1 K", Kind::Temperature).is_err());
    assert!(parse_signed("-2 years", Kind::Span).is_err());
}

#[test]
fn a_bare_number_takes_the_shown_unit_and_is_echoed() {
    for (text, kind, unit, want, echo) in [
        ("3/8", Kind::Length, "in", 0.009_525, Some("3/8 in")),
        (" 3/8 ", Kind::Length, "in", 0.009_525, Some("3/8 in")),
        ("1 3/8", Kind::Length, "in", 0.034_925, Some("1 3/8 in")),
        ("3/8 in", Kind::Length, "mm", 0.009_525, None),
        ("22", Kind::Length, "mm", 0.022, Some("22 mm")),
        ("32", Kind::Temperature, "F", 273.15, Some("32 F")),
        ("-40", Kind::Temperature, "C", 233.15, Some("-40 C")),
        ("9", Kind::TemperatureDifference, "F diff", 5.0, Some("9 F diff")),
        ("46", Kind::Ratio, "%", 0.46, Some("46 %")),
        ("0.46", Kind::Ratio, "", 0.46, None),
        ("2", Kind::Span, "years", 730.5, Some("2 years")),
    ] {
        let (parsed, said) =
            parse_bare(text, kind, unit).unwrap_or_else(|refusal| panic!("{text}: {refusal}"));
        assert!(close(parsed.si, want), "{text}: {}", parsed.si);
        assert_eq!(said.as_deref(), echo, "{text}");
        if let Some(said) = said {
            assert_eq!(parse(&said, kind).unwrap(), parsed, "the echo says the same");
        }
    }
    let (parsed, echo) = parse_bare("14 +/- 1/8", Kind::Length, "in").unwrap();
    assert!(close(parsed.half_width.unwrap(), 0.003_175));
    assert_eq!(echo.as_deref(), Some("14 in +/- 1/8 in"));
    let (_, echo) = parse_bare("1200 +/- 2.5 %", Kind::Pressure, "psi").unwrap();
    assert_eq!(echo.as_deref(), Some("1200 psi +/- 2.5 %"));
    // With a unit of its own in front, a bare half-width could be in either.
    assert!(parse_bare("14 mm +/- 1", Kind::Length, "in").is_err());
    assert!(parse_bare("4 ft 3", Kind::Length, "in").is_err());
    assert!(parse_bare("14", Kind::Length, "psi").is_err());
}
