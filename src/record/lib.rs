//! What is written down about a car: entries, the history they fold into, and the log that keeps them.
//!
//! Nothing here knows cars, numbers or rules: a log opens for ever, whatever they become.

#![warn(missing_docs)]

pub mod doubt;
pub mod entry;
pub mod escape;
mod finding;
pub mod given;
pub mod history;
mod kept;
pub mod letters;
pub mod logbook;
mod outcome;
mod standing;
