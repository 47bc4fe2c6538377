//! Showing a value: in US customary or metric units, with the figures that mean something.

use super::table::{self, Unit};
use super::{INCH, Kind};

/// The units values are shown in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Units {
    /// US customary: inches, pounds, psi, degrees Fahrenheit.
    #[default]
    Us,
    /// Metric: millimetres, kilograms, bar, degrees Celsius.
    Metric,
}

/// What is shown for a value that is not finite.
const NOT_A_NUMBER: &str = "not a number";

/// The unit a kind is shown in, and the one a bare number in an entry field takes. "" for a plain number.
pub fn default_unit(kind: Kind, units: Units) -> &'static str {
    let (us, metric) = match kind {
        Kind::Length => ("in", "mm"),
        Kind::Mass => ("lb", "kg"),
        Kind::Force => ("lbf", "N"),
        Kind::Torque => ("lbf.ft", "N.m"),
        Kind::Pressure => ("psi", "bar"),
        Kind::Temperature => ("F", "C"),
        Kind::TemperatureDifference => ("F diff", "C diff"),
        Kind::Volume => ("in3", "L"),
        Kind::Density => ("kg/m3", "kg/m3"),
        Kind::Viscosity => ("mPa.s", "mPa.s"),
        Kind::Angle => ("deg", "deg"),
        Kind::Ratio => ("", ""),
        Kind::Time => ("s", "s"),
        Kind::Span => ("days", "days"),
        Kind::Rate => ("Hz", "Hz"),
        Kind::Voltage => ("V", "V"),
        Kind::Current => ("A", "A"),
        Kind::Resistance => ("ohm", "ohm"),
        Kind::NozzleFactor => ("gpm/psi^0.5", "L/min/bar^0.5"),
        Kind::Flow => ("gpm", "L/min"),
        Kind::Speed => ("mph", "km/h"),
        Kind::SpecificHeat => ("Btu/lb/F", "J/kg/K"),
    };
    match units {
        Units::Us => us,
        Units::Metric => metric,
    }
}

/// The value with its unit, in [`default_unit`] or a unit of the same family that suits its size. Never more than
/// four significant figures, whole days apart; "not a number" where the value is not finite.
pub fn show(si: f64, kind: Kind, units: Units) -> String {
    let unit = suited_unit(si.abs(), kind, units);
    show_in(si, kind, unit).unwrap_or_else(|| significant(si, 4))
}

/// The value with `unit` behind it; nothing where `unit` is not a unit of `kind`.
pub fn show_in(si: f64, kind: Kind, unit: &str) -> Option<String> {
    let unit = table::find_for(unit, kind)?;
    if !si.is_finite() {
        return Some(NOT_A_NUMBER.to_owned());
    }
    let number = figures(unit.in_unit(si), unit);
    Some(match unit.name {
        "" => number,
        // "1 day", not "1 days".
        name if kind == Kind::Span && number == "1" => format!("1 {}", name.trim_end_matches('s')),
        name => format!("{number} {name}"),
    })
}

/// The length in inches as a mixed number when it is within 1e-9 in of a 64th: "1 3/8 in".
pub fn fraction_inches(si: f64) -> Option<String> {
    let inches = si / INCH;
    let sixty_fourths = (inches * 64.0).round();
    if !inches.is_finite() || inches.abs() > 1e6 || (inches - sixty_fourths / 64.0).abs() > 1e-9 {
        return None;
    }
    let count = sixty_fourths.abs() as u64;
    let (whole, mut top, mut bottom) = (count / 64, count % 64, 64);
    while top > 0 && top % 2 == 0 {
        top /= 2;
        bottom /= 2;
    }
    let sign = if sixty_fourths < 0.0 { "-" } else { "" };
    Some(match (whole, top) {
        (_, 0) => format!("{sign}{whole} in"),
        (0, _) => format!("{sign}{top}/{bottom} in"),
        _ => format!("{sign}{whole} {top}/{bottom} in"),
    })
}

/// The value rounded to `digits` significant figures (at least one, at most 15), without trailing zeros behind the
/// point; plain from 1e-4 up to 1e7, with an exponent outside that.
pub fn significant(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return NOT_A_NUMBER.to_owned();
    }
    if value == 0.0 {
        return "0".to_owned();
    }
    let digits = digits.clamp(1, 15);
    let scientific = format!("{value:.*e}", digits - 1);
    let Some((mantissa, exponent)) = scientific.split_once('e') else { return scientific };
    let exponent: i32 = exponent.parse().unwrap_or(0);
    if !(-4..7).contains(&exponent) {
        return format!("{}e{exponent}", without_trailing_zeros(mantissa));
    }
    let decimals = usize::try_from(digits as i32 - 1 - exponent).unwrap_or(0);
    // Reading the rounded text back keeps the zeros of a large number whole: 12 347 to three figures is 12300.
    let rounded: f64 = scientific.parse().unwrap_or(value);
    without_trailing_zeros(&format!("{rounded:.decimals$}")).to_owned()
}

fn without_trailing_zeros(text: &str) -> &str {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { text }
}

/// The value to a fixed number of decimals, without trailing zeros or a minus sign on zero.
fn decimals(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    match without_trailing_zeros(&text) {
        "-0" => "0".to_owned(),
        short => short.to_owned(),
    }
}

/// Three figures; four where the first is a 1, and from 1000 up, so that no step is over 0.5 %.
fn figures(value: f64, unit: &Unit) -> String {
    let size = value.abs();
    match unit.kind {
        Kind::Temperature if size < 1e6 => decimals(value, 1),
        Kind::Span if size < 1e7 => decimals(value, if (value - value.round()).abs() < 1e-6 { 0 } else { 1 }),
        // A thousandth of an inch is what a shop measures to; a hundredth of a millimetre likewise.
        Kind::Length if unit.name == "in" && (0.01..10.0).contains(&size) => decimals(value, 3),
        Kind::Length if unit.name == "mm" && (0.1..100.0).contains(&size) => decimals(value, 2),
        Kind::Length if size >= 10.0 => significant(value, 4),
        _ => {
            let leading_one = format!("{size:.2e}").starts_with('1');
            significant(value, if leading_one || size >= 1000.0 { 4 } else { 3 })
        }
    }
}

/// The unit that suits a size in SI.
fn suited_unit(size: f64, kind: Kind, units: Units) -> &'static str {
    match (kind, units) {
        (Kind::Length, Units::Metric) if size >= 10.0 => "m",
        (Kind::Volume, Units::Metric) if size < 1e-3 => "mL",
        (Kind::Mass, Units::Metric) if size < 0.1 && size > 0.0 => "g",
        // Strengths and moduli, which no gauge reads.
        (Kind::Pressure, Units::Us) if size >= 1e9 => "ksi",
        (Kind::Pressure, Units::Metric) if size >= 1e9 => "GPa",
        (Kind::Pressure, Units::Metric) if size >= 1e8 => "MPa",
        (Kind::Time, _) if size >= 7200.0 => "h",
        (Kind::Time, _) if size >= 600.0 => "min",
        _ => default_unit(kind, units),
    }
}
