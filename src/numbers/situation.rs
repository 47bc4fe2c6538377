//! What the numbers are worked from: the car, the readings of the day, and the day.

use chrono::NaiveDate;

use crate::model::Car;
use crate::physics::discharge::Settings;

use super::discharge::Runs;
use super::readings::Readings;

/// A car on a day.
#[derive(Debug)]
pub struct Situation<'a> {
    /// The car.
    pub car: &'a Car,
    /// The newest readings.
    pub readings: Readings,
    /// The day that due dates count to.
    pub on: NaiveDate,
    /// The discharge of every network, run on first use.
    pub(super) discharge: Runs<'a>,
}

impl<'a> Situation<'a> {
    /// A car with its readings on a day.
    pub fn new(car: &'a Car, readings: Readings, on: NaiveDate) -> Self {
        Self::with(car, readings, on, Settings::CLOSE)
    }

    /// As [`Self::new`], with the discharge run as closely as asked, or with its curves kept.
    pub fn with(car: &'a Car, readings: Readings, on: NaiveDate, settings: Settings) -> Self {
        Self { car, readings, on, discharge: Runs::new(settings) }
    }
}
