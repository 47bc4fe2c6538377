//! Pure functions: numbers in, numbers out. Never rules, files or text for people.

pub mod agents;
pub mod brakes;
pub mod cable;
pub mod circles;
pub mod conformity;
pub mod discharge;
pub mod electrics;
pub mod elliptic;
pub mod flare_nut;
pub mod flooding;
pub mod friction;
pub mod gas;
pub mod halton;
pub mod hold;
pub mod hose;
mod integration;
pub mod limits;
pub mod metals;
pub mod mount;
pub mod network;
pub mod normal;
pub mod path;
pub mod quantile;
pub mod refusal;
pub mod span;
pub mod spray;
pub mod steady;
pub mod tube_stress;

pub use refusal::Refusal;
