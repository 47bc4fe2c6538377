//! What can be wrong with a log, and where.

use std::fmt;

use crate::escape::{escape_control, many};
use crate::logbook::record::RecordError;

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
        let file = escape_control(&self.file);
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
    /// Records past the head: the program was cut off before their head stood, or somebody put them in.
    Unconfirmed {
        /// The first of them.
        from: u64,
        /// The last of them.
        to: u64,
        /// Whether there is a head at all.
        head: bool,
    },
    /// The head file is no head.
    HeadUnreadable,
    /// Several copies of this log disagree and were kept aside.
    Aside {
        /// The copies.
        copies: Vec<String>,
    },
    /// A copy set aside that a person settled; where it could not be read whole, it is never quite settled.
    Settled {
        /// Records that could be read in it.
        records: u64,
        /// Whether all of it could be.
        whole: bool,
        /// Why it is not needed.
        reason: String,
        /// Who.
        by: Option<String>,
    },
    /// The walk was on another car.
    OtherCar {
        /// The id of that car.
        said: String,
        /// The id of the car that this folder is of.
        here: String,
    },
    /// A photo is another one than was kept.
    PhotoDiffers {
        /// Its file.
        file: String,
    },
    /// A photo that this machine kept is not there.
    PhotoMissing {
        /// Its file.
        file: String,
    },
    /// Only said: a photo stays on the machine that took it.
    PhotoElsewhere {
        /// Its file.
        file: String,
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
    /// Only said: its writer is at work, and the last record's head does not stand yet.
    BeingWritten,
    /// Only said: a torn end was set aside in this file.
    TornKept,
}

impl Fault {
    /// Whether it is said for completeness only: the log is whole all the same.
    pub fn is_note(&self) -> bool {
        matches!(
            self,
            Self::BeingWritten
                | Self::TornKept
                | Self::PhotoElsewhere { .. }
                | Self::Settled { whole: true, .. }
        )
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
            Self::Stray => write!(out, "its name is not that of a log, so it is not read"),
            Self::NotReadOn { bytes } => write!(
                out,
                "the rest is not read, after {bytes} bytes: no log of ours is as large or looks like this"
            ),
            Self::Unnamed { count } => write!(out, "{count} more problems between these are not named"),
            Self::BeingWritten => write!(out, "its last record is being written now by another program"),
            Self::TornKept => write!(out, "an unfinished record that was set aside when the log was opened"),
            Self::RecordsMissing { .. }
            | Self::HeadDiffers { .. }
            | Self::Unconfirmed { .. }
            | Self::HeadUnreadable => self.of_head(out),
            Self::Aside { .. }
            | Self::Settled { .. }
            | Self::OtherCar { .. }
            | Self::PhotoDiffers { .. }
            | Self::PhotoMissing { .. }
            | Self::PhotoElsewhere { .. } => self.of_car(out),
        }
    }
}

impl Fault {
    /// What is between a log and its head.
    fn of_head(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::RecordsMissing { from, to } if from == to => {
                write!(out, "records missing: the head names record {to}, which is not there")
            }
            Self::RecordsMissing { from, to } => {
                write!(out, "records missing: the head names record {to}, and {from} to {to} are not there")
            }
            Self::HeadDiffers { seq } => {
                write!(out, "the head does not fit record {seq}: the head or the end of the log was changed")
            }
            Self::Unconfirmed { from, to, head } => {
                let which = if from == to {
                    format!("record {to} is")
                } else {
                    format!("records {from} to {to} are")
                };
                let past = if *head { "past the head" } else { "without a head, which is missing" };
                write!(
                    out,
                    "{which} {past}: the program was cut off, or somebody put them in; what they find counts, and what they \
                     would close does not, until a person confirms it"
                )
            }
            Self::HeadUnreadable => write!(out, "this is no head: it was changed"),
            _ => Ok(()),
        }
    }

    /// What a person may do about it, as a command: the car's id and the folder of its logs stand in it as they are.
    pub fn remedy(&self, car: &str, folder: &str) -> Option<String> {
        match self {
            Self::Unconfirmed { .. } => Some(format!(
                "`linewalk log confirm {car}` says that they are yours, and with --withdraw they are taken back"
            )),
            Self::Aside { copies } => {
                let first = copies.first()?;
                let file = format!("{folder}/{first}");
                let quoted = if file.contains(char::is_whitespace) { format!("'{file}'") } else { file };
                Some(format!("look at it, then `linewalk log settle {quoted} --reason \"…\"` closes it"))
            }
            _ => None,
        }
    }

    /// What a look at the whole car shows.
    fn of_car(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Aside { copies } => {
                write!(out, "copies that disagree were set aside and are not read: {}", copies.join(", "))
            }
            Self::Settled { records, whole, reason, by } => write!(
                out,
                "a copy with {} that was set aside is settled{}: {}{}",
                many(*records, "record"),
                by.as_ref().map_or_else(String::new, |by| format!(" by {}", escape_control(by))),
                escape_control(reason),
                if *whole {
                    ""
                } else {
                    "; it could not be read whole, so what stood open in it is not known"
                }
            ),
            Self::OtherCar { said, here } => write!(
                out,
                "this walk was on car {}, and the folder is that of {}: the log was copied here from another car",
                escape_control(said),
                escape_control(here)
            ),
            Self::PhotoDiffers { file } => write!(
                out,
                "the photo {} is another one than was kept with this record: it was changed or replaced",
                escape_control(file)
            ),
            Self::PhotoMissing { file } => {
                write!(out, "the photo {} that was kept with this record is not there", escape_control(file))
            }
            Self::PhotoElsewhere { file } => {
                write!(out, "the photo {} stays on the machine that took it", escape_control(file))
            }
            _ => Ok(()),
        }
    }
}
