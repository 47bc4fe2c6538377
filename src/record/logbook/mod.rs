//! The log of a car: one append-only file a writer, chained by hash, with a head beside it.
//!
//! Imports `model` and nothing above it: an old log must open for ever. Never touches the disk itself; every
//! byte goes through [`storage::Storage`].

pub mod about;
pub mod export;
mod format1;
pub mod hash;
pub mod head;
mod keys;
mod listing;
pub mod merge;
pub mod names;
pub mod problem;
pub mod reader;
pub mod record;
pub mod replicate;
mod scan;
pub mod storage;
pub mod verify;
pub mod writer;
