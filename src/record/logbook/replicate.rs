//! Adds lines that another machine wrote to the copy of its log here. Each line is checked to follow the one
//! before it, byte for byte, before any of it is written.

use crate::logbook::hash::Hex;
use crate::logbook::head::{Head, HeadFile};
use crate::logbook::names;
use crate::logbook::problem::{Fault, Problem};
use crate::logbook::reader::{Folder, scan_writer};
use crate::logbook::record::{self, RecordError};
use crate::logbook::scan::{Scan, scan};
use crate::logbook::storage::{Doing, Storage, StorageError, Trouble};
use crate::logbook::writer::set_aside;

/// Why lines were not added.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FollowError {
    /// Another program is at this log now; try again later.
    #[error("another program is writing to this log")]
    Held,
    /// The storage failed.
    #[error(transparent)]
    Storage(StorageError),
    /// The copy here is damaged, or several copies disagree: nothing is added to hide it.
    #[error("{0}: nothing is added to it")]
    Damaged(Problem),
    /// The line at this place is no record of this writer; it was set aside in the file named.
    #[error("record {seq} is not taken: {reason}; its bytes are kept in {aside}")]
    Bad {
        /// The place.
        seq: u64,
        /// Why.
        reason: String,
        /// Where its bytes are.
        aside: String,
    },
    /// The line at this place is another one than the copy here has, or does not follow it.
    #[error("record {seq} does not follow the records here: two different logs bear this writer's name")]
    Fork {
        /// The place.
        seq: u64,
    },
}

impl From<StorageError> for FollowError {
    fn from(error: StorageError) -> Self {
        if error.trouble == Trouble::Held { Self::Held } else { Self::Storage(error) }
    }
}

/// What is known of a copy without reading it through: place and checksum of its last record, as its head
/// says. `None` for a log that is not there.
///
/// # Errors
/// When the storage fails.
pub fn position(storage: &dyn Storage, writer: &str) -> Result<Option<Head>, StorageError> {
    match HeadFile::read(storage.read(&names::head(writer))?.as_deref()) {
        HeadFile::Known(head) => Ok(Some(head)),
        HeadFile::Absent | HeadFile::Unreadable => Ok(None),
    }
}

/// Adds lines (without their ends) to the copy of a writer's log, the first of them being record `first`.
/// Lines that are here already are compared and passed over. Gives how many were added.
///
/// The lines up to a bad one are added; then the bad one is said. A crash in between leaves whole records and
/// an old head, which the next call mends once a line is seen to follow.
///
/// # Errors
/// [`FollowError`].
pub fn replicate(
    storage: &dyn Storage,
    writer: &str,
    first: u64,
    lines: &[Vec<u8>],
) -> Result<u64, FollowError> {
    let _lock = storage.lock(&names::lock(writer))?;
    if let Some(copies) = Folder::list(storage)?.asides.remove(writer) {
        let fault = Fault::Aside { copies };
        return Err(FollowError::Damaged(Problem { file: names::log(writer), line: None, fault }));
    }
    let found = sound(storage, writer)?;
    if first > found.past.unwrap_or(found.seq + 1) {
        // What no head vouches for is compared with what comes again before it is gone on from.
        // Asked for with an old idea of what is here; the next look is right.
        return Ok(0);
    }
    let known = usize::try_from(found.seq + 1 - first).unwrap_or(usize::MAX).min(lines.len());
    let (here, new) = lines.split_at(known);
    compare(storage, writer, first, here)?;
    let (bytes, last, bad) = chain(writer, &found, new);
    if let Some((0, FollowError::Fork { seq })) = bad {
        return Err(FollowError::Fork { seq });
    }
    mend(storage, writer, &found)?;
    if let Some(last) = last {
        let log = names::log(writer);
        storage.append(&log, &bytes)?;
        storage.sync(&log)?;
        storage.replace(&names::head(writer), &last.write())?;
    }
    match bad {
        None => Ok(last.map_or(0, |last| last.seq - found.seq)),
        Some((at, FollowError::Bad { seq, reason, .. })) => {
            let aside = format!("{writer}.refused-{seq}");
            storage.replace(&aside, new.get(at).map_or(&[], Vec::as_slice))?;
            Err(FollowError::Bad { seq, reason, aside })
        }
        Some((_, error)) => Err(error),
    }
}

/// The copy as far as it is sound. After a crash while several lines were added, anything may stand after the
/// record that the head names, and none of it was ever claimed: it counts as torn.
fn sound(storage: &dyn Storage, writer: &str) -> Result<Scan, FollowError> {
    let (found, _) = scan_writer(storage, writer, false)?;
    let Some(problem) = found.problems.iter().find(|problem| !of_a_crash(&problem.fault)) else {
        return Ok(found);
    };
    let log = names::log(writer);
    let head = HeadFile::read(storage.read(&names::head(writer))?.as_deref());
    let named = match &head {
        HeadFile::Known(head) => usize::try_from(head.seq).unwrap_or(usize::MAX),
        HeadFile::Absent => 0,
        HeadFile::Unreadable => return Err(FollowError::Damaged(problem.clone())),
    };
    let bytes = storage.read(&log)?.unwrap_or_default();
    let length = bytes.split_inclusive(|byte| *byte == b'\n').take(named).map(<[u8]>::len).sum();
    let whole = bytes.get(..length).unwrap_or_default();
    let kept = scan(writer, Some(Box::new(whole)), &head, &mut |_| {})
        .map_err(|error| StorageError::new(Doing::Read, &storage.path_of(&log), &error))?;
    if kept.problems.is_empty() && (kept.head_fits || kept.seq == 0) {
        return Ok(Scan { torn: Some(length as u64), ..kept });
    }
    Err(FollowError::Damaged(problem.clone()))
}

/// What a crash while adding can leave.
fn of_a_crash(fault: &Fault) -> bool {
    matches!(fault, Fault::Torn { .. } | Fault::Unconfirmed { .. } | Fault::BeingWritten)
}

/// Lines that are here already must be the same.
fn compare(storage: &dyn Storage, writer: &str, first: u64, given: &[Vec<u8>]) -> Result<(), FollowError> {
    if given.is_empty() {
        return Ok(());
    }
    let bytes = storage.read(&names::log(writer))?.unwrap_or_default();
    let skip = usize::try_from(first.saturating_sub(1)).unwrap_or(usize::MAX);
    let mut here = bytes.split(|byte| *byte == b'\n').skip(skip);
    for (seq, line) in (first..).zip(given) {
        if here.next() != Some(line.as_slice()) {
            return Err(FollowError::Fork { seq });
        }
    }
    Ok(())
}

/// The bytes of as many lines as follow each other, the head they give, and the first that does not follow.
fn chain(
    writer: &str,
    found: &Scan,
    lines: &[Vec<u8>],
) -> (Vec<u8>, Option<Head>, Option<(usize, FollowError)>) {
    let (mut bytes, mut head, mut prev, mut seq) = (Vec::new(), None, found.hash, found.seq);
    for (at, line) in lines.iter().enumerate() {
        seq += 1;
        match check(writer, seq, prev, line) {
            Ok((hash, sum)) => {
                bytes.extend_from_slice(line);
                bytes.push(b'\n');
                head = Some(Head { seq, sum });
                prev = hash;
            }
            Err(error) => return (bytes, head, Some((at, error))),
        }
    }
    (bytes, head, None)
}

/// Whether a line is the record `seq` of a writer and follows the line with hash `prev`; its hash and checksum.
///
/// # Errors
/// [`FollowError::Bad`] with no file named, or [`FollowError::Fork`].
pub fn check(writer: &str, seq: u64, prev: Hex, line: &[u8]) -> Result<(Hex, Hex), FollowError> {
    let bad = |reason: String| FollowError::Bad { seq, reason, aside: String::new() };
    if line.contains(&b'\n') {
        return Err(bad(RecordError::Shape("line").to_string()));
    }
    let read = record::read(line);
    let record = read.record.map_err(|error| bad(error.to_string()))?;
    if record.kept.writer != writer {
        return Err(bad("it names another writer".to_owned()));
    }
    if record.kept.seq != seq {
        return Err(bad("it names another place in the log".to_owned()));
    }
    if record.prev != prev {
        return Err(FollowError::Fork { seq });
    }
    Ok((read.hash, record.sum))
}

/// Takes an unfinished end away, as opening a log of one's own does, and brings an old head up.
fn mend(storage: &dyn Storage, writer: &str, found: &Scan) -> Result<(), StorageError> {
    if found.torn.is_none() && found.head_fits {
        return Ok(());
    }
    let log = names::log(writer);
    let mut bytes = storage.read(&log)?.unwrap_or_default();
    if let Some(start) = found.torn.and_then(|start| usize::try_from(start).ok()) {
        let tail = bytes.split_off(start.min(bytes.len()));
        set_aside(storage, writer, &tail)?;
    }
    // Written anew even when nothing was torn: after a failed sync the system may take bytes for safe that
    // never reached the disk.
    storage.replace(&log, &bytes)?;
    match found.sum {
        Some(sum) => storage.replace(&names::head(writer), &Head { seq: found.seq, sum }.write()),
        None => Ok(()),
    }
}

/// Up to `most` lines of a log from record `first` to record `last`, each checked to be what was kept there.
///
/// # Errors
/// The first line that is not, as [`FollowError`]; the lines before it can be had by asking for fewer.
pub fn lines(
    storage: &dyn Storage,
    writer: &str,
    first: u64,
    last: u64,
    most: usize,
) -> Result<Vec<Vec<u8>>, FollowError> {
    let bytes = storage.read(&names::log(writer))?.unwrap_or_default();
    let index = |seq: u64| usize::try_from(seq).unwrap_or(usize::MAX);
    let mut all = bytes.split_inclusive(|byte| *byte == b'\n').skip(index(first.saturating_sub(2)));
    let mut prev = Hex::ZEROS;
    if first > 1 {
        prev = all.next().map_or(Hex::ZEROS, |line| Hex::of(line.strip_suffix(b"\n").unwrap_or(line)));
    }
    let mut taken = Vec::new();
    let mut size = 0;
    for (seq, line) in (first..=last).zip(all).take(most) {
        // Without its end of line it was never kept.
        let Some(line) = line.strip_suffix(b"\n") else { break };
        match check(writer, seq, prev, line) {
            Ok((hash, _)) => prev = hash,
            Err(error) if taken.is_empty() => return Err(error),
            Err(_) => break,
        }
        size += line.len();
        taken.push(line.to_vec());
        if size > 1 << 20 {
            break;
        }
    }
    Ok(taken)
}
