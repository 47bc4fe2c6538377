//! Every integration test, in one binary.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, missing_docs)]

mod discharge;
mod discharge_properties;
mod friction;
mod network;
