//! Readings of the day: which keys there are, and the newest value of each.

use std::collections::BTreeMap;

use crate::units::Kind;

/// One reading in SI.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingValue {
    /// Its kind.
    pub kind: Kind,
    /// Its value in SI; days since 1970 for a date.
    pub si: f64,
    /// Stated or instrument half-width in SI.
    pub half_width: Option<f64>,
    /// How far two readings of its instrument differ by themselves, in SI.
    pub repeat: Option<f64>,
    /// As typed.
    pub text: String,
    /// Instrument used.
    pub instrument: Option<String>,
}

/// The newest reading of each key.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Readings {
    values: BTreeMap<String, ReadingValue>,
}

impl Readings {
    /// The newest reading of a key.
    pub fn get(&self, key: &str) -> Option<&ReadingValue> {
        self.values.get(key)
    }

    /// Puts a newer reading in.
    pub fn set(&mut self, key: impl Into<String>, value: ReadingValue) {
        self.values.insert(key.into(), value);
    }

    /// Every reading by key.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &ReadingValue)> {
        self.values.iter().map(|(key, value)| (key.as_str(), value))
    }
}

/// What kind a reading key takes, `None` where there is no such key. A date counts as a span.
pub fn reading_kind(key: &str) -> Option<Kind> {
    let parts: Vec<&str> = key.split('.').collect();
    match parts.as_slice() {
        ["suppression", "bottle", _, "gauge"] => Some(Kind::Pressure),
        ["suppression", "bottle", _, "shell_temperature"] => Some(Kind::Temperature),
        ["suppression", "bottle", _, "weighed"] => Some(Kind::Mass),
        ["brakes", "circuit", _, "hold" | "hold_low", "start_pressure" | "end_pressure"] => {
            Some(Kind::Pressure)
        }
        ["brakes", "circuit", _, "hold" | "hold_low", "start_temperature" | "end_temperature"] => {
            Some(Kind::Temperature)
        }
        ["brakes", "circuit", _, "hold" | "hold_low", "time"] => Some(Kind::Time),
        ["brakes", "master", _, "rod_travel"] => Some(Kind::Length),
        ["brakes", "fluid_hottest"] => Some(Kind::Temperature),
        ["brakes", "fluid_flushed"] => Some(Kind::Span),
        ["brakes", "fluid_water"] => Some(Kind::Ratio),
        ["brakes", "wheel_brake", _, "pad_left"] => Some(Kind::Length),
        ["electrics", _, "supply_volts" | "ground_drop"] => Some(Kind::Voltage),
        ["electrics", _, "amps"] => Some(Kind::Current),
        _ => None,
    }
}
