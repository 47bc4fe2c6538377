//! What the numbers are worked from: the car, the readings of the day, and the day.

use std::collections::BTreeMap;
use std::rc::Rc;

use chrono::NaiveDate;

use crate::model::Car;
use crate::physics::discharge::Settings;

use super::discharge::Runs;
use super::inputs::Inputs;
use super::readings::Readings;
use super::registry::Quantity;

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
    /// Values that stand in for inputs, while bands are sampled.
    swaps: Option<Rc<Swaps>>,
}

/// Values in SI that stand in for inputs, by key path.
pub(super) type Swaps = BTreeMap<String, f64>;

impl<'a> Situation<'a> {
    /// A car with its readings on a day.
    pub fn new(car: &'a Car, readings: Readings, on: NaiveDate) -> Self {
        Self::with(car, readings, on, Settings::CLOSE)
    }

    /// As [`Self::new`], with the discharge run as closely as asked, or with its curves kept.
    pub fn with(car: &'a Car, readings: Readings, on: NaiveDate, settings: Settings) -> Self {
        Self { car, readings, on, discharge: Runs::new(settings), swaps: None }
    }

    /// One sampled case: some inputs replaced, the discharge run quickly, nothing written down but the values.
    pub(super) fn sampled(car: &'a Car, readings: Readings, on: NaiveDate, swaps: Swaps) -> Self {
        Self { swaps: Some(Rc::new(swaps)), ..Self::with(car, readings, on, Settings::QUICK) }
    }

    /// A new asking about this car on this day.
    pub(super) fn inputs<'q>(&self, quantity: &'q Quantity, of: &str) -> Inputs<'q> {
        Inputs::with(quantity, of, &self.car.known, self.swaps.clone())
    }
}
