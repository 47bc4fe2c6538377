//! Why a text was refused, and what to write instead.

use std::ops::Range;

use super::Kind;

/// Why a text was not taken as a quantity.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{message}; {help}")]
pub struct Refusal {
    /// The bytes of the text that are wrong: inside the text and on character boundaries. Empty where
    /// something is missing.
    pub at: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// What would be accepted.
    pub help: String,
}

impl Refusal {
    pub(super) fn new(at: Range<usize>, message: impl Into<String>, help: impl Into<String>) -> Self {
        Self { at, message: message.into(), help: help.into() }
    }

    /// A piece of the text in quotes: short, and without control characters that could upset a terminal.
    pub(super) fn quote(text: &str) -> String {
        let mut out: String = text.chars().take(24).map(|c| if c.is_control() { '?' } else { c }).collect();
        if text.chars().count() > 24 {
            out.push('…');
        }
        format!("\"{out}\"")
    }
}

/// The particular remedy for a unit of another kind, where there is a likely slip.
pub(super) fn remedy(wanted: Kind, unit: &str) -> Option<&'static str> {
    Some(match (wanted, unit) {
        (Kind::Force, "lb") => "write lbf for a force in pounds",
        (Kind::Force, "kg" | "g") => "write N, or kgf for the weight of a kilogram",
        (Kind::Mass, "lbf") => "write lb for a mass in pounds",
        (Kind::Mass, "N" | "kN" | "kgf") => "write kg or lb for a mass",
        (Kind::Mass, "floz") => "write oz for a mass in ounces",
        (Kind::Volume, "oz") => "write floz for fluid ounces",
        (Kind::Volume, "in") => "write in3 for cubic inches",
        (Kind::Pressure, "lb" | "lbf") => "write psi for pounds-force on a square inch",
        (Kind::Torque, "lb" | "lbf") => "write lbf.ft or lbf.in",
        (Kind::Torque, "N") => "write N.m",
        (Kind::TemperatureDifference, "F") => "write \"F diff\" for a difference in degrees Fahrenheit",
        (Kind::TemperatureDifference, "C") => "write \"C diff\" for a difference in degrees Celsius",
        (Kind::TemperatureDifference, "K") => "write \"K diff\" for a difference in kelvins",
        (Kind::Temperature, "F diff") => "write F alone for a temperature",
        (Kind::Temperature, "C diff") => "write C alone for a temperature",
        (Kind::Temperature, "K diff") => "write K alone for a temperature",
        (Kind::Temperature, "deg") => "write F or C for a temperature",
        (Kind::Time, "m") => "write min for minutes",
        (Kind::Time, "days" | "weeks") => "write h for hours",
        (Kind::Span, "m" | "min") => "write months for months",
        (Kind::Span, "h" | "s" | "ms") => "write whole days",
        (Kind::Length, "min" | "in3") => "write in for inches",
        _ => return None,
    })
}
