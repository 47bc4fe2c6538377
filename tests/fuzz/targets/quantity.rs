//! Fuzz target: see `drive::quantity`.
#![no_main]
#![allow(dead_code)]

#[path = "../drive.rs"]
mod drive;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| drive::quantity(bytes));
