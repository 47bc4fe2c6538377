//! Every integration test, in one binary.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, missing_docs)]

mod brake_balance;
mod brakes;
mod cable;
mod circles;
mod conformity;
mod crash;
mod discharge;
mod discharge_properties;
mod electrics;
mod friction;
mod gas;
mod hold;
mod hose;
mod limits;
mod logbook;
mod merge;
mod mount;
mod near;
mod network;
mod numbers;
mod numbers_brakes;
mod numbers_output;
mod numbers_parts;
mod numbers_rig;
mod path;
mod quantities;
mod quantities_shown;
mod span;
mod spray;
mod tamper;
mod tube_stress;
