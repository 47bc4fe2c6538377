//! Adds records to the log of one writer, so that a record is on disk before it is said to be kept.
//!
//! The head follows a step behind: it may be put in place after somebody was told, but before the next record. A crash
//! in between leaves a record past the head, and so does somebody who puts one in: opening moves no head, and the next record
//! is one that says so.

use crate::doubt::Past;
use crate::entry::{Entry, Kept, Moment};
use crate::escape::shown;
use crate::logbook::hash::Hex;
use crate::logbook::head::Head;
use crate::logbook::names;
use crate::logbook::problem::{Fault, Problem};
use crate::logbook::reader::{Folder, past, scan_writer};
use crate::logbook::record::{self, RecordError};
use crate::logbook::scan::Scan;
use crate::logbook::storage::{Lock, Storage, StorageError};

/// Why a log could not be opened, added to or merged.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LogError {
    /// The storage failed.
    #[error(transparent)]
    Storage(#[from] StorageError),
    /// The entry cannot be written as a record; nothing was written and the log goes on.
    #[error("this cannot be kept as a record: {0}")]
    Record(#[from] RecordError),
    /// The end of the log or its head is not as it was left, so that going on would hide it. Writing goes on
    /// under a new writer id.
    #[error(
        "{0}. Nothing is added to this log, so that the damage stays visible; take a new writer id to go on, and run `log verify` on the car"
    )]
    Damaged(Problem),
    /// An earlier write failed; holds its words. Open the log again.
    #[error("nothing more is kept in this log since a write failed ({0}); open the car again to recover")]
    Poisoned(String),
    /// This may not name a writer.
    #[error("`{0}` may not name a writer: use 1 to 64 letters, digits, `-` and `_`")]
    WriterId(String),
    /// What was to be merged is no set of logs of this car, and nothing was written; says what and why.
    #[error("{0}")]
    Refused(String),
}

/// The open log of one writer. Holds its lock until dropped; dropping it settles the head, as a last resort.
#[derive(Debug)]
pub struct LogWriter<S: Storage> {
    storage: S,
    writer: String,
    seq: u64,
    prev: Hex,
    /// The head of the last record, where it is not in its file yet.
    waiting: Option<Head>,
    notices: Vec<String>,
    /// Records past the head, where it is not said yet in a record that they are not confirmed.
    past: Option<Past>,
    poisoned: Option<String>,
    _lock: Lock,
}

impl<S: Storage> LogWriter<S> {
    /// Opens the log of a writer, new or not, and recovers it from a crash: an unfinished end is set aside
    /// in a file of its own and said in [`LogWriter::notices`], the head is brought up to the last record.
    ///
    /// # Errors
    /// The lock is held elsewhere, the storage fails, or the end of the log is damaged in a way no crash
    /// explains ([`LogError::Damaged`]).
    pub fn open(storage: S, writer: &str) -> Result<Self, LogError> {
        if !names::is_writer_id(writer) {
            return Err(LogError::WriterId(writer.to_owned()));
        }
        let lock = storage.lock(&names::lock(writer))?;
        let mut folder = Folder::list(&storage)?;
        let mine = format!(".{writer}.");
        for name in folder.leftovers.iter().filter(|name| name.starts_with(&mine)) {
            storage.remove(name)?;
        }
        let (found, _) = scan_writer(&storage, writer, false)?;
        // Beside a log of its own, copies of it that were set aside are only copies.
        if let Some(copies) = folder.asides.remove(writer).filter(|_| found.seq == 0) {
            let fault = Fault::Aside { copies };
            return Err(LogError::Damaged(Problem { file: names::log(writer), line: None, fault }));
        }
        if let Some(problem) = refusal(&found) {
            return Err(LogError::Damaged(problem.clone()));
        }
        let notices = recover(&storage, writer, &found)?;
        let past = past(writer, &found);
        let Scan { seq, hash, .. } = found;
        let writer = writer.to_owned();
        Ok(Self {
            storage,
            writer,
            seq,
            prev: hash,
            waiting: None,
            notices,
            past,
            poisoned: None,
            _lock: lock,
        })
    }

    /// What was found and done on opening, to be shown.
    pub fn notices(&self) -> &[String] {
        &self.notices
    }

    /// Records past the head that no record says so of yet. To a reader they look like what is just being written, as this
    /// log is locked.
    pub fn past(&self) -> Option<&Past> {
        self.past.as_ref()
    }

    /// The writer's id.
    pub fn writer(&self) -> &str {
        &self.writer
    }

    /// The place of the last record kept; 0 when there is none.
    pub fn last_seq(&self) -> u64 {
        self.seq
    }

    /// Whether nothing more is kept, since a write failed.
    pub fn is_poisoned(&self) -> bool {
        self.poisoned.is_some()
    }

    /// Keeps an entry: when this returns, it is on disk. The time is kept to the millisecond. The head of the entry before
    /// is settled first, that of this one waits for [`LogWriter::settle`]: it is never more than one record behind.
    ///
    /// # Errors
    /// [`LogError::Record`] when the entry cannot be written: the log is as before. Any failure of the disk
    /// is given once and then every further call is refused: what the disk has of this record is unknown
    /// until the log is opened again. Where the head before failed, nothing of this record was written.
    pub fn append(&mut self, now: Moment, new_id: String, entry: Entry) -> Result<Kept, LogError> {
        if let Some(reason) = &self.poisoned {
            return Err(LogError::Poisoned(reason.clone()));
        }
        if let Some(past) = self.past.take() {
            // Before anything new: what stands past the head is not made good by what comes after it.
            let Past { from, to, sum, .. } = past.clone();
            let marked = self.write(now, id_beside(&new_id), Entry::Unconfirmed { from, to, last: sum });
            if let Err(error) = marked {
                self.past = Some(past);
                return Err(error);
            }
        }
        self.write(now, new_id, entry)
    }

    fn write(&mut self, now: Moment, new_id: String, entry: Entry) -> Result<Kept, LogError> {
        let kept = Kept { id: new_id, writer: self.writer.clone(), seq: self.seq + 1, at: now, entry };
        let written = record::write(kept, self.prev)?;
        self.settle()?;
        let log = names::log(&self.writer);
        self.or_poison(self.storage.append(&log, &written.bytes).and_then(|()| self.storage.sync(&log)))?;
        self.seq = written.record.kept.seq;
        self.prev = written.hash;
        self.waiting = Some(Head { seq: self.seq, sum: written.record.sum });
        Ok(written.record.kept)
    }

    /// Puts the head of the last record in place, where it waits.
    ///
    /// # Errors
    /// Any failure of the disk, given once: every record is on disk all the same, but nothing more is kept.
    pub fn settle(&mut self) -> Result<(), LogError> {
        let Some(head) = self.waiting.take() else { return Ok(()) };
        self.or_poison(self.storage.replace(&names::head(&self.writer), &head.write()))
    }

    fn or_poison(&mut self, outcome: Result<(), StorageError>) -> Result<(), LogError> {
        if let Err(error) = &outcome {
            self.poisoned = Some(error.to_string());
        }
        Ok(outcome?)
    }
}

impl<S: Storage> Drop for LogWriter<S> {
    fn drop(&mut self) {
        // Nobody is left to tell. A record past the head is what a crash leaves, too.
        let _ = self.settle();
    }
}

/// The problem, if any, that going on would hide: anything about the head or the very end that a crash
/// cannot explain. Damage further up stays visible whatever is added.
fn refusal(found: &Scan) -> Option<&Problem> {
    let end = found.problems.last()?;
    let at_end = match end.fault {
        Fault::RecordsMissing { .. }
        | Fault::HeadDiffers { .. }
        | Fault::HeadUnreadable
        | Fault::NotReadOn { .. } => true,
        _ => found.seq > 0 && found.sum.is_none(),
    };
    at_end.then_some(end)
}

/// Sets an unfinished end aside and brings the head up to date.
fn recover(storage: &dyn Storage, writer: &str, found: &Scan) -> Result<Vec<String>, StorageError> {
    let mut notices = Vec::new();
    if found.torn.is_none() && found.head_fits {
        return Ok(notices);
    }
    let log = names::log(writer);
    let mut bytes = storage.read(&log)?.unwrap_or_default();
    if let Some(start) = found.torn.and_then(|start| usize::try_from(start).ok()) {
        let tail = bytes.split_off(start.min(bytes.len()));
        let file = set_aside(storage, writer, &tail)?;
        notices.push(format!(
            "{}: an unfinished record at the end ({} bytes) was set aside in {file}; the {} records before it are whole",
            shown(&storage.path_of(&log)),
            tail.len(),
            found.records
        ));
    }
    // Written anew even when nothing was torn: after a failed sync the system may take bytes for safe that
    // never reached the disk, and a second sync would not write them.
    if !(bytes.is_empty() && found.torn.is_none()) {
        storage.replace(&log, &bytes)?;
    }
    // The head stands before the first record, and no opening moves it: what is past it stays to be confirmed.
    if found.seq == 0 {
        storage.replace(&names::head(writer), &Head::EMPTY.write())?;
    }
    if let Some(from) = found.past {
        notices.push(format!(
            "{}: {} past the head, as after a crash; what they would close does not count until you answer it again, or \
             confirm them",
            shown(&storage.path_of(&log)),
            if from == found.seq { format!("record {from} is") } else { format!("records {from} to {} are", found.seq) },
        ));
    }
    Ok(notices)
}

/// An id for the record that comes before another, made of that one's: an RFC 9562 id of the form that is free to choose.
fn id_beside(id: &str) -> String {
    let hash = Hex::of(format!("unconfirmed before {id}").as_bytes());
    let digits: Vec<char> = hash.text().chars().collect();
    let part = |range: std::ops::Range<usize>| {
        digits.get(range).map_or_else(String::new, |part| part.iter().collect())
    };
    let (a, b, c, d, e): (String, String, String, String, String) =
        (part(0..8), part(8..12), part(13..16), part(17..20), part(20..32));
    format!("{a}-{b}-8{c}-8{d}-{e}")
}

/// Keeps a torn tail in a file of its own, unless one holds the same bytes already; gives its name.
pub(super) fn set_aside(storage: &dyn Storage, writer: &str, tail: &[u8]) -> Result<String, StorageError> {
    let mut count = 1;
    loop {
        let name = names::torn(writer, count);
        match storage.read_at_most(&name, tail.len() as u64 + 1)? {
            None => {
                storage.create(&name, tail)?;
                return Ok(name);
            }
            Some(same) if same == tail => return Ok(name),
            Some(_) => count += 1,
        }
    }
}
