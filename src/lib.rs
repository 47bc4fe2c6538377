//! The module map, in reading order.

pub mod cite;
pub mod physics;
pub mod units;
pub mod logbook;
pub mod shell;
