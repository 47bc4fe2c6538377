//! What lies in the folders that are to be merged, looked at before any of it is taken in.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

use crate::escape::shown;
use crate::logbook::hash::Hex;
use crate::logbook::names::{self, FileName};
use crate::logbook::record;
use crate::logbook::storage::{LARGEST, Storage, StorageError};
use crate::logbook::writer::LogError;

/// Files in one folder at most: an event of hundreds of lanes has a few for each.
const MOST_FILES: usize = 20_000;

/// Bytes of all the logs that one merge takes in, at most.
const MOST_BYTES: u64 = 4 << 30;

/// Copies of one writer's log at most: each is compared with every other.
const MOST_COPIES: usize = 64;

/// The files of a folder that belong to logs, by writer.
pub(super) struct Listing<'a> {
    pub storage: &'a dyn Storage,
    pub files: BTreeMap<String, Vec<String>>,
}

impl<'a> Listing<'a> {
    pub fn of(storage: &'a dyn Storage) -> Result<Self, LogError> {
        let names = storage.list()?;
        let mut files: BTreeMap<String, Vec<String>> = BTreeMap::new();
        if names.len() > MOST_FILES {
            return Err(LogError::Refused(format!(
                "{} holds more than {MOST_FILES} files: nothing was merged",
                shown(&storage.path_of(""))
            )));
        }
        for name in names {
            match FileName::read(&name) {
                FileName::Log(writer)
                | FileName::Head(writer)
                | FileName::Torn(writer)
                | FileName::Aside(writer, _)
                | FileName::AsideHead(writer, _) => files.entry(writer).or_default().push(name),
                FileName::Leftover | FileName::Stray | FileName::Other => {}
            }
        }
        Ok(Self { storage, files })
    }

    pub fn names(&self, writer: &str) -> &[String] {
        self.files.get(writer).map_or(&[], Vec::as_slice)
    }

    /// The same as they are now; what another merge set aside meanwhile is found by the next.
    pub fn names_now(&self, writer: &str) -> Result<Vec<String>, StorageError> {
        let mut names: BTreeSet<String> = self.names(writer).iter().cloned().collect();
        names.extend([names::log(writer), names::head(writer)]);
        let mut there = Vec::new();
        for name in names {
            if self.storage.size(&name)?.is_some() {
                there.push(name);
            }
        }
        Ok(there)
    }

    /// Names of the logs of a writer, the one that stands as its log first.
    pub fn logs(&self, writer: &str) -> impl Iterator<Item = &String> {
        let is_log = |name: &&String| matches!(FileName::read(name), FileName::Log(_) | FileName::Aside(..));
        self.names(writer).iter().filter(is_log)
    }
}

/// Refuses more than could be taken in within bounded time and memory.
pub(super) fn bounded(others: &[Listing<'_>]) -> Result<(), LogError> {
    let mut bytes: u64 = 0;
    for listing in others {
        for writer in listing.files.keys() {
            if listing.logs(writer).count() > MOST_COPIES {
                return Err(LogError::Refused(format!(
                    "{} holds more than {MOST_COPIES} copies of the log of {writer}: nothing was merged",
                    shown(&listing.storage.path_of(""))
                )));
            }
        }
        for name in listing.files.values().flatten() {
            let size = listing.storage.size(name)?.unwrap_or_default();
            bytes = bytes.saturating_add(size);
            if size > LARGEST || bytes > MOST_BYTES {
                return Err(LogError::Refused(format!(
                    "{} is too large to be one of our logs, or the folders hold more than {} GB: nothing was merged",
                    shown(&listing.storage.path_of(name)),
                    MOST_BYTES >> 30
                )));
            }
        }
    }
    Ok(())
}

/// Every log begins with a record that is one, and all copies of one writer with the same: two logs under one name that share
/// nothing are not copies of one, and neither may take the other's place.
pub(super) fn one_beginning(writer: &str, own: &Listing<'_>, others: &[Listing<'_>]) -> Result<(), LogError> {
    let mut known: Option<(PathBuf, Vec<u8>)> = None;
    let mut own_names = own.logs(writer).map(|name| (own, name, false)).collect::<Vec<_>>();
    let of_others =
        others.iter().flat_map(|listing| listing.logs(writer).map(move |name| (listing, name, true)));
    own_names.extend(of_others);
    for (listing, name, is_other) in own_names {
        let path = listing.storage.path_of(name);
        let Some(first) = first_line(listing.storage, name)? else { continue };
        if is_other && !begins(writer, &first) {
            return Err(LogError::Refused(format!(
                "{} does not begin with the first record of {writer}, so it is no log of ours: nothing was merged",
                shown(&path)
            )));
        }
        match &known {
            None => known = Some((path, first)),
            Some((other, line)) if is_other && *line != first => {
                return Err(LogError::Refused(format!(
                    "{} and {} are both called the log of {writer} and share no beginning: two machines have one writer id, or \
                     one of the two is forged. Nothing was merged; keep the other folder as it is and find out which is right",
                    shown(other),
                    shown(&path)
                )));
            }
            Some(_) => {}
        }
    }
    Ok(())
}

/// The first line of a log, without its end; `None` where there is no whole line.
fn first_line(storage: &dyn Storage, name: &str) -> Result<Option<Vec<u8>>, StorageError> {
    let mut bytes = storage.read_at_most(name, record::MAX_LINE as u64 + 1)?.unwrap_or_default();
    match bytes.iter().position(|byte| *byte == b'\n') {
        Some(end) => {
            bytes.truncate(end);
            Ok(Some(bytes))
        }
        // Far longer than any record: it is looked at as it is.
        None if bytes.len() > record::MAX_LINE => Ok(Some(bytes)),
        None => Ok(None),
    }
}

fn begins(writer: &str, line: &[u8]) -> bool {
    record::read(line)
        .record
        .is_ok_and(|first| first.kept.seq == 1 && first.prev == Hex::ZEROS && first.kept.writer == writer)
}
