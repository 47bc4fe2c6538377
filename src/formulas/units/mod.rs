//! Quantities: their kinds, their types, how people type them and how they are shown.

mod kind;
mod number;
mod parse;
mod quantity;
mod refusal;
mod show;
mod span;
mod table;

pub use kind::{KINDS, Kind};
pub use parse::{Parsed, accuracies, parse, parse_accuracy, parse_bare, parse_signed, units_of};
pub use quantity::*;
pub use refusal::Refusal;
pub use show::{Units, default_unit, fraction_inches, show, show_in, significant};
pub use span::Span;
pub use table::unit_kind;
