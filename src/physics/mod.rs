//! Pure functions: numbers in, numbers out. Never rules, files or text for people.

pub mod discharge;
pub mod friction;
mod march;
pub mod network;
pub mod steady;
