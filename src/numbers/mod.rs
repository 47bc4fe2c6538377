//! Every quantity the program works out: one registry, and a family of functions behind it.
//! Never rules, never files.

mod answer;
mod ask;
mod readings;
mod registry;
mod situation;

/// The families, in lap order.
const FAMILIES: &[&[Quantity]] = &[];

pub use answer::{Answer, Input, Number, NumberValue, Refused};
pub use ask::Ask;
pub use readings::{ReadingValue, Readings, reading_kind};
pub use registry::{Quantity, Shown, quantity, registry, work, work_all};
pub use situation::Situation;
