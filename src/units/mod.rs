//! Quantities: their kinds, their types, how people type them and how they are shown.

mod kind;
mod quantity;
mod span;

pub use kind::Kind;
pub use quantity::*;
pub use span::Span;
