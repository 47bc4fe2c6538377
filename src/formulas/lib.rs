//! Quantities, and the formulas from one to the next: what knows nothing of cars.

pub mod cite;
pub mod physics;
pub mod units;
