//! The numbers of a car, worked out on a thread of their own while the person goes on.

use std::sync::Arc;

use chrono::NaiveDate;

use crate::diagnostic::SourceFile;
use crate::model::Car;
use crate::numbers::{Answer, Readings, Situation};
use crate::rules::Ruleset;
use crate::source::Overrides;

/// Numbers that are still to be worked out, with all they hang on.
#[derive(Clone, Debug)]
pub struct Ahead {
    /// The car file.
    pub file: Arc<SourceFile>,
    /// The car, with measured values in place of the file's.
    pub car: Arc<Car>,
    /// The rules in force.
    pub rules: Arc<Ruleset>,
    /// Those measured values.
    pub overrides: Overrides,
    /// Readings of the day.
    pub readings: Readings,
    /// The day that dates count to.
    pub on: NaiveDate,
}

impl Ahead {
    /// The numbers, once they were worked out.
    pub fn known(&self) -> Option<Arc<Vec<Answer>>> {
        self.rules.numbers_known(&self.file, &self.overrides, &self.situation())
    }

    /// Works them out; whoever asks for them next finds them, or waits for these.
    pub fn work(&self) {
        self.rules.numbers_of(&self.file, &self.overrides, &self.situation());
    }

    fn situation(&self) -> Situation<'_> {
        Situation::new(&self.car, self.readings.clone(), self.on)
    }
}
