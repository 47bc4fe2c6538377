//! What the numbers are worked from: the car, the readings of the day, and the day.

use chrono::NaiveDate;

use crate::model::Car;

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
}

impl<'a> Situation<'a> {
    /// A car with its readings on a day.
    pub fn new(car: &'a Car, readings: Readings, on: NaiveDate) -> Self {
        Self { car, readings, on }
    }
}
