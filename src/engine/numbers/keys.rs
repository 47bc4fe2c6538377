//! Which typed keys are readings of the day and which stand in for values of the car file.

use std::sync::Arc;

use chrono::NaiveDate;

use crate::diagnostic::{Diagnostic, Place, SourceFile, did_you_mean};
use crate::model::Car;
use crate::source::{Override, Overrides, parse_date};
use crate::units::{Kind, parse};

use super::circuits::circuits;
use super::readings::{ReadingValue, Readings, reading_kind};

/// One reading as typed.
#[derive(Clone, Debug)]
pub struct SetReading {
    /// Its key.
    pub key: String,
    /// Its value.
    pub value: ReadingValue,
    /// Where it was typed.
    pub at: Place,
}

/// Typed keys, sorted into readings and what stands in for the car file.
#[derive(Clone, Debug, Default)]
pub struct Sets {
    /// Readings of the day.
    pub readings: Vec<SetReading>,
    /// Values that stand in for the car file's; whether such a key exists shows when the file is read.
    pub overrides: Overrides,
}

impl Sets {
    /// Puts every reading over those already there.
    pub fn apply(&self, readings: &mut Readings) {
        for reading in &self.readings {
            readings.set(reading.key.clone(), reading.value.clone());
        }
    }

    fn take(&mut self, key: &str, text: &str, at: Place) -> Result<(), Diagnostic> {
        match reading_kind(key) {
            Some(kind) => {
                let value = reading(text, kind, &at)?;
                self.readings.push(SetReading { key: key.to_owned(), value, at });
            }
            None => {
                self.overrides.insert(key.to_owned(), Override::Typed(text.to_owned(), at));
            }
        }
        Ok(())
    }
}

/// Sorts `--set KEY=VALUE` arguments; a later one of the same key wins.
///
/// # Errors
/// Every argument without a key or `=`, and every reading that cannot be read as its kind.
pub fn split_sets<T: AsRef<str>>(sets: &[T]) -> Result<Sets, Vec<Diagnostic>> {
    let pair = |set: &T| {
        let text = set.as_ref();
        let file = SourceFile::new("--set", text);
        let Some((key, value)) = text.split_once('=').filter(|(key, _)| !key.trim().is_empty()) else {
            let at = Place { file, range: 0..text.len() };
            let help = "write a key and its value: suppression.line.main.tube.od=\"1/4 in\"";
            return Err(Diagnostic::error(&at, "this sets nothing", help));
        };
        let (start, trimmed) = (key.len() + 1, value.trim());
        let lead = value.len() - value.trim_start().len();
        let range = start + lead..start + lead + trimmed.len();
        Ok((key.trim().to_owned(), trimmed.to_owned(), Place { file, range }))
    };
    sort(sets.iter().map(pair))
}

/// Sorts readings of the log by key and text: those whose key is a path of the car file stand in for its value.
///
/// # Errors
/// Every reading that cannot be read as its kind.
pub fn split_readings<'r>(
    readings: impl IntoIterator<Item = (&'r str, &'r str)>,
) -> Result<Sets, Vec<Diagnostic>> {
    let pair = |(key, text): (&str, &str)| {
        let file = SourceFile::new(format!("reading {key}"), text);
        let range = 0..file.text.len();
        Ok((key.to_owned(), text.to_owned(), Place { file: Arc::clone(&file), range }))
    };
    sort(readings.into_iter().map(pair))
}

fn sort(
    pairs: impl Iterator<Item = Result<(String, String, Place), Diagnostic>>,
) -> Result<Sets, Vec<Diagnostic>> {
    let (mut sets, mut diagnostics) = (Sets::default(), Vec::new());
    for pair in pairs {
        let taken = pair.and_then(|(key, text, at)| sets.take(&key, &text, at));
        diagnostics.extend(taken.err());
    }
    if diagnostics.is_empty() { Ok(sets) } else { Err(diagnostics) }
}

/// A reading from its text; a date counts in days since 1970.
fn reading(text: &str, kind: Kind, at: &Place) -> Result<ReadingValue, Diagnostic> {
    let value = |si, half_width| ReadingValue {
        kind,
        si,
        half_width,
        repeat: None,
        text: text.to_owned(),
        instrument: None,
    };
    if kind == Kind::Span {
        let day = parse_date(text).ok_or_else(|| {
            Diagnostic::error(
                at,
                "here should stand a date",
                "write it as 2026-03-14, or 2026-03 for the first of the month",
            )
        })?;
        let days = day.signed_duration_since(NaiveDate::default()).num_days();
        return Ok(value(days as f64, None));
    }
    let parsed = parse(text, kind)
        .map_err(|refusal| Diagnostic::error(&at.inside(refusal.at), refusal.message, refusal.help))?;
    Ok(value(parsed.si, parsed.half_width))
}

/// Every reading key that a car has something for, with its kind.
pub fn reading_keys(car: &Car) -> Vec<(String, Kind)> {
    let mut keys: Vec<String> = Vec::new();
    for bottle in &car.suppression.bottles {
        let names = ["gauge", "shell_temperature", "weighed"];
        keys.extend(names.map(|name| format!("suppression.bottle.{}.{name}", bottle.id)));
    }
    for circuit in circuits(car) {
        for test in ["hold", "hold_low"] {
            let names = ["start_pressure", "end_pressure", "start_temperature", "end_temperature", "time"];
            keys.extend(names.map(|name| format!("brakes.circuit.{circuit}.{test}.{name}")));
        }
    }
    keys.extend(car.brakes.masters.iter().map(|master| format!("brakes.master.{}.rod_travel", master.id)));
    keys.extend(["fluid_hottest", "fluid_flushed", "fluid_water"].map(|name| format!("brakes.{name}")));
    keys.extend(
        car.brakes.wheel_brakes.iter().map(|brake| format!("brakes.wheel_brake.{}.pad_left", brake.id)),
    );
    for part in &car.electrics {
        keys.extend(
            ["supply_volts", "ground_drop", "amps"].map(|name| format!("electrics.{}.{name}", part.id)),
        );
    }
    keys.into_iter().filter_map(|key| reading_kind(&key).map(|kind| (key, kind))).collect()
}

/// Readings of things that the car does not have.
pub fn strays(car: &Car, sets: &Sets) -> Vec<Diagnostic> {
    let known = reading_keys(car);
    let stray = |reading: &&SetReading| known.iter().all(|(key, _)| *key != reading.key);
    let diagnostic = |reading: &SetReading| {
        let near = did_you_mean(&reading.key, known.iter().map(|(key, _)| key.as_str()));
        let help = near.map_or_else(
            || "the car file has nothing that it could be of".to_owned(),
            |key| format!("did you mean {key}?"),
        );
        Diagnostic::error(&reading.at, format!("there is no reading {}", reading.key), help)
    };
    sets.readings.iter().filter(stray).map(diagnostic).collect()
}
