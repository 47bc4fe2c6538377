//! Cars, their numbers and the rules they are held to: what knows nothing of terminals, files or clocks.

pub use linewalk_formulas::{cite, physics, units};

pub mod diagnostic;
pub mod model;
pub mod numbers;
pub mod rules;
pub mod source;
pub mod wrap;
