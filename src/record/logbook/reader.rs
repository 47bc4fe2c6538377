//! Reads the logs of a car: every record that can be read, and everything that is wrong with the rest.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use crate::doubt::Past;
use crate::entry::Kept;
use crate::logbook::head::{HeadFile, LONGEST_HEAD};
use crate::logbook::names::{self, FileName};
use crate::logbook::problem::{Fault, Problem};
use crate::logbook::scan::{Scan, scan};
use crate::logbook::storage::{Doing, Storage, StorageError};

/// How often a log is read again because its writer was at work meanwhile.
const TRIES: usize = 3;

/// What was read: the records, and what is wrong or worth saying.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reading {
    /// The records that can be read. Those of one writer stand as in its log; those of a car in the order of
    /// time, each writer's as they stand in its log.
    pub kept: Vec<Kept>,
    /// Problems and notes ([`Fault::is_note`] tells them apart).
    pub problems: Vec<Problem>,
    /// Records that no head vouches for, by writer.
    pub past: Vec<Past>,
}

/// Reads the log of one writer.
///
/// # Errors
/// Only when the storage fails: whatever the files hold is a [`Problem`], never an error.
pub fn read_writer(storage: &dyn Storage, writer: &str) -> Result<Reading, StorageError> {
    let (found, kept) = scan_as_reader(storage, writer, true)?;
    let past = past(writer, &found).into_iter().collect();
    let mut reading = Reading { kept, problems: found.problems, past };
    drop_repeated(&mut reading);
    Ok(reading)
}

/// Reads a log of a writer that stands under other names, as a copy set aside does.
///
/// # Errors
/// Only when the storage fails.
pub fn read_files(
    storage: &dyn Storage,
    writer: &str,
    log: &str,
    head: &str,
) -> Result<Reading, StorageError> {
    let head = storage.read_at_most(head, LONGEST_HEAD)?;
    let mut kept = Vec::new();
    let found =
        scan(writer, storage.open(log)?, &HeadFile::read(head.as_deref()), &mut |record| kept.push(record))
            .map_err(|error| StorageError::new(Doing::Read, &storage.path_of(log), &error))?;
    let past = past(writer, &found).into_iter().collect();
    let mut reading = Reading { kept, problems: found.problems, past };
    drop_repeated(&mut reading);
    Ok(reading)
}

/// Puts the records of several writers in one order: by time, but each writer's as they stand in its log,
/// whatever its clock did.
fn in_order(logs: Vec<Vec<Kept>>) -> Vec<Kept> {
    let mut all = Vec::new();
    for log in logs {
        let mut latest = None;
        for kept in log {
            latest = latest.max(Some(kept.at));
            all.push((latest, kept));
        }
    }
    all.sort_by(|(at, a), (other, b)| (at, &a.writer, a.seq).cmp(&(other, &b.writer, b.seq)));
    all.into_iter().map(|(_, kept)| kept).collect()
}

/// Reads the logs of all writers of a car folder as one.
///
/// # Errors
/// Only when the storage fails.
pub fn read_car(storage: &dyn Storage) -> Result<Reading, StorageError> {
    let folder = Folder::list(storage)?;
    let mut all = Reading::default();
    let mut logs = Vec::new();
    for writer in &folder.writers {
        let (found, kept) = scan_as_reader(storage, writer, true)?;
        logs.push(kept);
        all.past.extend(past(writer, &found));
        all.problems.extend(found.problems);
    }
    all.problems.extend(folder.problems());
    all.kept = in_order(logs);
    drop_repeated(&mut all);
    Ok(all)
}

/// Drops records that stand twice; only a line in the wrong place or in the wrong file can bring them.
fn drop_repeated(reading: &mut Reading) {
    let may_repeat = |problem: &Problem| matches!(problem.fault, Fault::OutOfPlace { .. } | Fault::Writer(_));
    if reading.problems.iter().any(may_repeat) {
        let mut seen = HashSet::new();
        reading.kept.retain(|kept| seen.insert(kept.id.clone()));
    }
}

/// The records of a log that no head vouches for.
pub(super) fn past(writer: &str, found: &Scan) -> Option<Past> {
    let sum = found.sum.map_or_else(String::new, |sum| sum.to_string());
    found.past.map(|from| Past { writer: writer.to_owned(), from, to: found.seq, sum })
}

/// Reads a log as a reader does who is not its writer: while that one is at work, one record past the head is only being
/// written.
pub(super) fn scan_as_reader(
    storage: &dyn Storage,
    writer: &str,
    keep: bool,
) -> Result<(Scan, Vec<Kept>), StorageError> {
    let (mut found, kept) = scan_writer(storage, writer, keep)?;
    let one = |problem: &Problem| matches!(problem.fault, Fault::Unconfirmed { from, to, head: true } if from == to);
    if let Some(last) = found.problems.last_mut().filter(|problem| one(problem))
        && storage.is_locked(&names::lock(writer))
    {
        last.fault = Fault::BeingWritten;
        found.past = None;
    }
    Ok((found, kept))
}

/// Reads head and log so that they belong together even while the writer is at work.
pub(super) fn scan_writer(
    storage: &dyn Storage,
    writer: &str,
    keep: bool,
) -> Result<(Scan, Vec<Kept>), StorageError> {
    let (log, head) = (names::log(writer), names::head(writer));
    let mut before = storage.read_at_most(&head, LONGEST_HEAD)?;
    let mut tries = 0;
    loop {
        let mut kept = Vec::new();
        let found = scan(writer, storage.open(&log)?, &HeadFile::read(before.as_deref()), &mut |record| {
            if keep {
                kept.push(record);
            }
        })
        .map_err(|error| StorageError::new(Doing::Read, &storage.path_of(&log), &error))?;
        let after = storage.read_at_most(&head, LONGEST_HEAD)?;
        tries += 1;
        if after == before || tries == TRIES {
            return Ok((found, kept));
        }
        before = after;
    }
}

/// The files of a car folder, as far as they belong to the log.
#[derive(Debug, Default)]
pub(super) struct Folder {
    /// Everybody with a log or a head.
    pub writers: BTreeSet<String>,
    /// Copies kept aside: writer, then file names.
    pub asides: BTreeMap<String, Vec<String>>,
    /// What a replacement that was cut short left behind: hidden, unfinished, read by nobody.
    pub leftovers: Vec<String>,
    torn: Vec<String>,
    stray: Vec<String>,
}

impl Folder {
    pub(super) fn list(storage: &dyn Storage) -> Result<Self, StorageError> {
        let mut folder = Self::default();
        for name in storage.list()? {
            match FileName::read(&name) {
                FileName::Log(writer) | FileName::Head(writer) => {
                    folder.writers.insert(writer);
                }
                FileName::Aside(writer, _) => folder.asides.entry(writer).or_default().push(name),
                FileName::Torn(_) => folder.torn.push(name),
                FileName::Stray => folder.stray.push(name),
                FileName::Leftover => folder.leftovers.push(name),
                FileName::AsideHead(..) | FileName::Other => {}
            }
        }
        Ok(folder)
    }

    /// What is wrong with the folder, beside the logs themselves.
    pub(super) fn problems(&self) -> Vec<Problem> {
        let whole = |file: &str, fault| Problem { file: file.to_owned(), line: None, fault };
        let asides = self
            .asides
            .iter()
            .map(|(writer, copies)| whole(&names::log(writer), Fault::Aside { copies: copies.clone() }));
        let stray = self.stray.iter().map(|name| whole(name, Fault::Stray));
        let torn = self.torn.iter().map(|name| whole(name, Fault::TornKept));
        asides.chain(stray).chain(torn).collect()
    }
}
