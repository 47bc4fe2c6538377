//! Every integration test, in one binary.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, missing_docs)]

mod brake_balance;
mod brakes;
mod cable;
mod circles;
mod conformity;
mod electrics;
mod gas;
mod hold;
mod hose;
mod near;
mod path;
mod tube_stress;
