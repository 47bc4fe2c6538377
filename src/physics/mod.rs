//! Pure functions: numbers in, numbers out. Never rules, files or text for people.

pub mod limits;
pub mod mount;
pub mod span;
pub mod spray;
