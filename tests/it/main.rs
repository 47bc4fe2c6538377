//! Every integration test, in one binary.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, missing_docs)]
// Measured errors and times are printed with `--nocapture`, for the table in DEVELOPERS.md.
#![allow(clippy::print_stdout)]

mod agents;
mod bands;
mod bench;
mod brake_balance;
mod brake_sweep;
mod brakes;
mod brakes_cars;
mod cable;
mod circles;
mod cli;
mod codes;
mod conformity;
mod crash;
mod defaults;
mod discharge;
mod discharge_properties;
mod disks;
mod drawing;
mod electrics;
mod event_address;
mod event_board;
mod event_engine;
mod event_left_out;
#[cfg(feature = "event")]
mod event_rig;
#[cfg(feature = "event")]
mod event_rights;
mod event_screen;
#[cfg(feature = "event")]
mod event_server;
mod files;
mod flood;
mod friction;
mod fuzzed;
mod gas;
mod heads;
mod hold;
mod hose;
mod judging;
mod largest;
mod layers;
mod limits;
mod logbook;
mod measured;
#[path = "../support/memory_server.rs"]
mod memory_server;
#[path = "../support/memory_storage.rs"]
mod memory_storage;
mod merge;
mod mistakes;
mod mount;
mod near;
mod network;
mod numbers;
mod numbers_brakes;
mod numbers_discharge;
mod numbers_output;
mod numbers_parts;
mod numbers_rig;
mod paper;
mod path;
mod pty;
mod pty_ends;
mod pty_hostile;
mod pty_sessions;
mod published;
mod quantile;
mod quantities;
mod quantities_shown;
mod readme;
mod readme_pictures;
mod report;
mod report_direction;
mod report_formats;
mod report_hostile;
mod report_numbers;
mod report_pages;
mod report_story;
mod rules;
mod schemas;
mod screens;
mod screens_again;
mod screens_budget;
mod screens_garage;
mod screens_keys;
mod screens_layout;
mod screens_modes;
mod screens_pictures;
mod screens_rules_page;
mod screens_walk;
mod sheet;
mod shipped;
mod soak;
mod span;
mod spray;
mod strangers;
mod tamper;
mod tidy;
mod tube_stress;
mod two_clocks;
mod verdicts;
mod walking;
mod walks;
