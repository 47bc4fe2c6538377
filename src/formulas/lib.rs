//! Quantities, and the formulas from one to the next: what knows nothing of cars.

#![warn(missing_docs)]

pub mod cite;
pub mod physics;
pub mod units;
