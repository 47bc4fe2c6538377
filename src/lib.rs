//! The module map, in reading order. `tests/it/tidy.rs` holds who may import whom.
//!
//! - [`units`]: quantities as types, as typed and as shown. Never anything of ours.
//! - [`cite`]: where a value comes from. Never free text for a source.
//! - [`physics`]: numbers in, numbers out. Never cars, rules or text for people.
//! - [`diagnostic`]: an error in somebody's file, with its place and a remedy. Never files themselves.
//! - [`source`]: text to a tree that knows its places, and a reader that reports every mistake. Never meaning.
//! - [`model`]: the car, and what is written down about it. Never files.
//! - [`wrap`]: text in lines of a width.
//! - [`numbers`]: every quantity by name, with inputs, assumptions and refusals. Never rules, never files.
//! - [`rules`]: rule files to checks, and values to verdicts. Never files: it gets text, not paths.
//! - [`drawing`]: the car and its discharge as strokes and marks. Never terminal colours, never files.
//! - [`walk`]: the walk as a state machine. Never terminal, clock or disk.
//! - [`report`]: findings to one document, a document to bytes. Never disk or clock.
//! - [`logbook`]: records on disk and their chain. Never rules or walk: an old log must open for ever.
//! - [`lanes`]: records to the event's server and from it, behind traits. Never files, never the network.
//! - [`tui`]: keys and screens. Never logbook or shell.
//! - [`shell`]: files, clock, folders. Never the terminal.
//! - [`cli`]: one file a command. Never arithmetic.

pub use linewalk_engine::{cite, diagnostic, model, numbers, physics, rules, source, units, wrap};
pub use linewalk_lanes as lanes;
pub use linewalk_record::logbook;
pub use linewalk_report as report;
pub use linewalk_report::drawing;

pub mod cli;
pub mod shell;
pub mod tui;
pub mod walk;
