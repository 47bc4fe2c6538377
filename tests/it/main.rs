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
mod limits;
mod mount;
mod near;
mod path;
mod quantities;
mod quantities_shown;
mod span;
mod spray;
mod tube_stress;
