//! The only place with files and the clock. Never the terminal.

pub mod disk;
