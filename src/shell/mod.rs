//! The only place with files, clock and environment. Never the terminal.

pub mod clock;
pub mod config;
pub mod disk;
pub mod garage;
pub mod load;
pub mod paths;
