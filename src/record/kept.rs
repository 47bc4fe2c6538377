//! A record: an entry with its place in a log.

use super::entry::{Entry, Moment};

/// An entry as it stands in a log: who wrote it, where in the chain, and when.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    /// The record's id.
    pub id: String,
    /// The log it stands in.
    pub writer: String,
    /// Its place there, from 1.
    pub seq: u64,
    /// When it was written.
    pub at: Moment,
    /// What it says.
    pub entry: Entry,
}

impl Kept {
    /// When it was seen: the time on the paper where there is one, else the time of entry.
    pub fn seen_at(&self) -> Moment {
        self.written_at().unwrap_or(self.at)
    }

    /// The time written on the paper, where there is one.
    pub fn written_at(&self) -> Option<Moment> {
        match &self.entry {
            Entry::Finding(finding) => finding.seen_at,
            Entry::Observation(observation) => observation.seen_at,
            Entry::Reading(reading) => reading.seen_at,
            _ => None,
        }
    }
}
