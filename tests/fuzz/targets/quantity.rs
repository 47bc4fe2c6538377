//! Fuzz target: see `drive::quantity`.
#![no_main]
#![allow(dead_code)]

#[path = "../drive.rs"]
mod drive;
#[allow(dead_code, reason = "the tests use more of it")]
#[path = "../../support/memory_storage.rs"]
mod memory_storage;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| drive::quantity(bytes));
