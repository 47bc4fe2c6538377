//! What can be wrong with a log, and where.

use std::fmt;

use crate::logbook::record::RecordError;
use crate::mistake::plain;

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// The file.
    pub file: String,
    /// The line, from 1, where there is one.
    pub line: Option<u64>,
    /// What.
    pub fault: Fault,
}

impl fmt::Display for Problem {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        // A file of a strange name may lie in the folder.
        let file = plain(&self.file);
        match self.line {
            Some(line) => write!(out, "{file} line {line}: {}", self.fault),
            None => write!(out, "{file}: {}", self.fault),
        }
    }
}

/// What is wrong, or worth saying.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fault {
    /// The line is no record.
    Bad(RecordError),
    /// The end of the log was never finished.
    Torn {
        /// How many bytes.
        bytes: u64,
    },
    /// The line does not follow the one before it.
    Chain,
    /// Records are missing before the line.
    Gap {
        /// The first one missing.
        from: u64,
        /// The last one missing.
        to: u64,
    },
    /// The line is repeated, or out of its place.
    OutOfPlace {
        /// The place it gives for itself.
        seq: u64,
        /// The place it stands in.
        expected: u64,
    },
    /// The record names another writer than the file.
    Writer(String),
    /// The head names records that the log does not have.
    RecordsMissing {
        /// The first one missing.
        from: u64,
        /// The last one missing.
        to: u64,
    },
    /// The head and the record it names do not agree.
    HeadDiffers {
        /// The record.
        seq: u64,
    },
    /// The head names an older record than a crash can explain.
    HeadOld {
        /// The record it names.
        head: u64,
        /// The last record of the log.
        last: u64,
    },
    /// There are records and no head.
    HeadAbsent,
    /// The head file is no head.
    HeadUnreadable,
    /// Several copies of this log disagree and were kept aside.
    Aside {
        /// The copies.
        copies: Vec<String>,
    },
    /// A file named like a log that cannot be one.
    Stray,
    /// The rest of the log is not read.
    NotReadOn {
        /// How much of it was.
        bytes: u64,
    },
    /// More problems than are named.
    Unnamed {
        /// How many.
        count: u64,
    },
    /// Only said: the head is one record behind, as after a crash.
    HeadBehind,
    /// Only said: a torn end was set aside in this file.
    TornKept,
}

impl Fault {
    /// Whether it is said for completeness only: the log is whole all the same.
    pub fn is_note(&self) -> bool {
        matches!(self, Self::HeadBehind | Self::TornKept)
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bad(error) => write!(out, "this line cannot be trusted and is left out: {error}"),
            Self::Torn { bytes } => write!(
                out,
                "the last {bytes} bytes are an unfinished record, left out: torn by a crash, or just being written"
            ),
            Self::Chain => write!(
                out,
                "this record does not follow the line before it: one of the two was put in, changed or moved"
            ),
            Self::Gap { from, to } if from == to => write!(out, "record {from} is missing before this line"),
            Self::Gap { from, to } => write!(out, "records {from} to {to} are missing before this line"),
            Self::OutOfPlace { seq, expected } => {
                write!(out, "this is record {seq} where record {expected} should be: repeated or moved")
            }
            Self::Writer(writer) => {
                write!(
                    out,
                    "from here on records were written by `{writer}`, which this file is not named after"
                )
            }
            Self::RecordsMissing { from, to } if from == to => {
                write!(out, "records missing: the head names record {to}, which is not there")
            }
            Self::RecordsMissing { from, to } => {
                write!(out, "records missing: the head names record {to}, and {from} to {to} are not there")
            }
            Self::HeadDiffers { seq } => {
                write!(out, "the head does not fit record {seq}: the head or the end of the log was changed")
            }
            Self::HeadOld { head, last } => write!(
                out,
                "the head names record {head} and the log ends with record {last}: the head was changed or put back"
            ),
            Self::HeadAbsent => {
                write!(out, "the head is missing, so records missing at the end would not show")
            }
            Self::HeadUnreadable => write!(out, "this is no head: it was changed"),
            Self::Aside { copies } => write!(
                out,
                "copies of this log disagree and none is read: {}; keep the right one under this name and its \
                 head beside it, and move the others away",
                copies.join(", ")
            ),
            Self::Stray => write!(out, "its name is not that of a log, so it is not read"),
            Self::NotReadOn { bytes } => write!(
                out,
                "the rest is not read, after {bytes} bytes: no log of ours is as large or looks like this"
            ),
            Self::Unnamed { count } => write!(out, "{count} more problems between these are not named"),
            Self::HeadBehind => write!(out, "the head is one record behind, as after a crash"),
            Self::TornKept => write!(out, "an unfinished record that was set aside when the log was opened"),
        }
    }
}
