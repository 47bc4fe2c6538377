//! Brings the logs of other folders into a car folder.
//!
//! Each folder is taken as a set of copies for every writer: the log with its head, and copies set aside by
//! earlier merges. Merging is the union of the sets, less every copy that another one continues. If one copy
//! is left it is the log; if several are, none can be preferred and all are kept aside. A union is the same
//! in any order and when done twice, and so is merging.

use std::collections::{BTreeMap, BTreeSet};

use crate::logbook::hash::Hex;
use crate::logbook::head::{Head, HeadFile};
use crate::logbook::names::{self, FileName};
use crate::logbook::record;
use crate::logbook::scan::scan;
use crate::logbook::storage::{Doing, Storage, StorageError};
use crate::logbook::writer::{LogError, set_aside};

/// What merging did to one writer's log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Merged {
    /// Nothing: it held all the others had.
    Same,
    /// The log is new here, with so many lines.
    New(u64),
    /// A longer copy took its place: so many lines more.
    Longer(u64),
    /// So many copies disagree, and all are kept aside.
    Aside(usize),
}

/// What merging did, by writer.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct MergeReport {
    /// Each writer found in any of the folders.
    pub writers: BTreeMap<String, Merged>,
}

impl MergeReport {
    /// One sentence a writer.
    pub fn text(&self) -> String {
        let said = |(writer, merged): (&String, &Merged)| match merged {
            Merged::Same => format!("{writer}: nothing new.\n"),
            Merged::New(lines) => format!("{writer}: taken over, {lines} records.\n"),
            Merged::Longer(lines) => format!("{writer}: {lines} records added.\n"),
            Merged::Aside(copies) => format!(
                "{writer}: {copies} copies disagree. None is preferred: all are kept aside as {} and not read.\n",
                names::aside(writer, "…")
            ),
        };
        self.writers.iter().map(said).collect()
    }

    /// Whether every log could be merged.
    pub fn is_clean(&self) -> bool {
        !self.writers.values().any(|merged| matches!(merged, Merged::Aside(_)))
    }
}

/// Merges the logs of other folders into one. The others are only read.
///
/// # Errors
/// The storage fails, or a log to be changed is open in another program.
pub fn merge(into: &dyn Storage, from: &[&dyn Storage]) -> Result<MergeReport, LogError> {
    let mut others: BTreeMap<String, Copies> = BTreeMap::new();
    for folder in from {
        for (writer, copies) in read_folder(*folder)? {
            others.entry(writer).or_default().add(copies);
        }
    }
    let own = read_folder(into)?;
    let mut report = MergeReport::default();
    let writers: BTreeSet<&String> = own.keys().chain(others.keys()).collect();
    for writer in writers {
        let empty = Copies::default();
        let other = others.get(writer).unwrap_or(&empty);
        let merged = merge_writer(into, writer, own.get(writer).unwrap_or(&empty), other)?;
        report.writers.insert(writer.clone(), merged);
    }
    Ok(report)
}

/// One copy of a log, without an unfinished end.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Copy {
    log: Vec<u8>,
    head: Option<Vec<u8>>,
}

/// All there is of one writer.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Copies {
    copies: BTreeSet<Copy>,
    torn: BTreeSet<Vec<u8>>,
    /// Whether any of them stands as the log, and whether any stands aside.
    as_log: bool,
    as_aside: bool,
}

impl Copies {
    fn add(&mut self, other: Self) {
        self.copies.extend(other.copies);
        self.torn.extend(other.torn);
    }

    /// Whether they stand as merging leaves them; not so when it was stopped halfway.
    fn in_place(&self) -> bool {
        let several = self.copies.len() > 1;
        self.as_aside == several && !(self.as_log && several)
    }

    /// Drops every copy that another one continues.
    fn settle(mut self) -> Self {
        let all = self.copies.clone();
        self.copies.retain(|copy| !all.iter().any(|other| other != copy && copy.is_continued_by(other)));
        self
    }
}

impl Copy {
    /// Whether the other one has all of this one's lines, and this head says no more than the other does.
    /// This is a partial order, which makes merging independent of the order of merging.
    fn is_continued_by(&self, other: &Self) -> bool {
        if !other.log.starts_with(&self.log) {
            return false;
        }
        if self.head == other.head {
            return true;
        }
        let mine = self.covered(other);
        if other.log.len() > self.log.len() {
            return mine.is_some();
        }
        match (mine, other.covered(other)) {
            (Some(mine), Some(others)) => mine < others,
            (Some(_), None) => true,
            (None, _) => false,
        }
    }

    /// The record this head names, if the log of `whole` has that very record; 0 without a head.
    fn covered(&self, whole: &Self) -> Option<u64> {
        match HeadFile::read(self.head.as_deref()) {
            HeadFile::Absent => Some(0),
            HeadFile::Unreadable => None,
            HeadFile::Known(Head { seq, sum }) => {
                let index = usize::try_from(seq.checked_sub(1)?).ok()?;
                let line = whole.log.split(|byte| *byte == b'\n').nth(index)?;
                (record::sum_of(line) == Some(sum)).then_some(seq)
            }
        }
    }

    fn lines(&self) -> u64 {
        self.log.iter().map(|byte| u64::from(*byte == b'\n')).sum()
    }

    /// A name for the copy that says what is in it.
    fn tag(&self) -> String {
        let head = self.head.as_deref().unwrap_or_default();
        let (_, hash) = Hex::of_both(&self.log, &[b"\n\n", head].concat());
        hash.text().chars().take(16).collect()
    }
}

fn read_folder(storage: &dyn Storage) -> Result<BTreeMap<String, Copies>, StorageError> {
    let mut all: BTreeMap<String, Copies> = BTreeMap::new();
    for name in storage.list()? {
        let (writer, head) = match FileName::read(&name) {
            FileName::Torn(writer) => {
                let tail = storage.read(&name)?.unwrap_or_default();
                all.entry(writer).or_default().torn.insert(tail);
                continue;
            }
            // A log and its head are one copy, even when only one of them is there.
            FileName::Log(writer) | FileName::Head(writer) => {
                let head = storage.read(&names::head(&writer))?;
                (writer, head)
            }
            FileName::Aside(writer, tag) => {
                let head = storage.read(&names::aside_head(&writer, &tag))?;
                (writer, head)
            }
            FileName::AsideHead(..) | FileName::Leftover | FileName::Stray | FileName::Other => continue,
        };
        let aside = matches!(FileName::read(&name), FileName::Aside(..));
        let log_name = if name.ends_with(".head") { names::log(&writer) } else { name };
        let log = storage.read(&log_name)?.unwrap_or_default();
        let (copy, torn) = finished(storage, &writer, log, head)?;
        let entry = all.entry(writer).or_default();
        entry.copies.insert(copy);
        if aside {
            entry.as_aside = true
        } else {
            entry.as_log = true
        }
        entry.torn.extend(torn);
    }
    Ok(all)
}

/// Takes an unfinished end off a copy.
fn finished(
    storage: &dyn Storage,
    writer: &str,
    mut log: Vec<u8>,
    head: Option<Vec<u8>>,
) -> Result<(Copy, Option<Vec<u8>>), StorageError> {
    let found =
        scan(writer, Some(Box::new(log.as_slice())), &HeadFile::read(head.as_deref()), &mut |_| {})
            .map_err(|error| StorageError::new(Doing::Read, &storage.path_of(&names::log(writer)), &error))?;
    let start = found.torn.and_then(|start| usize::try_from(start).ok());
    let torn = start.map(|start| log.split_off(start.min(log.len())));
    Ok((Copy { log, head }, torn))
}

fn merge_writer(into: &dyn Storage, writer: &str, own: &Copies, other: &Copies) -> Result<Merged, LogError> {
    let union = |own: &Copies| {
        let mut union = own.clone();
        union.add(other.clone());
        union.settle()
    };
    if own.in_place() && union(own) == *own {
        return Ok(if own.copies.len() > 1 { Merged::Aside(own.copies.len()) } else { Merged::Same });
    }
    let _lock = into.lock(&names::lock(writer))?;
    // Its writer may have been at work before the lock was ours.
    let own = read_folder(into)?.remove(writer).unwrap_or_default();
    let merged = union(&own);
    for torn in &merged.torn {
        set_aside(into, writer, torn)?;
    }
    let mut copies = merged.copies.iter();
    match (copies.next(), copies.len()) {
        (None, _) => Ok(Merged::Same),
        (Some(copy), 0) => {
            put_log(into, writer, copy)?;
            remove_asides(into, writer, &BTreeSet::new())?;
            let before = own.copies.iter().map(Copy::lines).max();
            Ok(match before {
                None => Merged::New(copy.lines()),
                Some(before) if before == copy.lines() => Merged::Same,
                Some(before) => Merged::Longer(copy.lines().saturating_sub(before)),
            })
        }
        _ => {
            put_asides(into, writer, &merged.copies)?;
            Ok(Merged::Aside(merged.copies.len()))
        }
    }
}

fn put_log(into: &dyn Storage, writer: &str, copy: &Copy) -> Result<(), StorageError> {
    let log = names::log(writer);
    // An empty log beside a head is a head alone.
    if into.read(&log)?.unwrap_or_default() != copy.log {
        into.replace(&log, &copy.log)?;
    }
    put_or_remove(into, &names::head(writer), copy.head.as_deref())
}

fn put_asides(into: &dyn Storage, writer: &str, copies: &BTreeSet<Copy>) -> Result<(), StorageError> {
    let mut wanted = BTreeSet::new();
    for copy in copies {
        let tag = copy.tag();
        // The head first: a copy is only seen once its log is there.
        put_or_remove(into, &names::aside_head(writer, &tag), copy.head.as_deref())?;
        let name = names::aside(writer, &tag);
        if into.read(&name)?.as_deref() != Some(&copy.log) {
            into.replace(&name, &copy.log)?;
        }
        wanted.insert(tag);
    }
    remove_asides(into, writer, &wanted)?;
    into.remove(&names::log(writer))?;
    into.remove(&names::head(writer))
}

fn put_or_remove(into: &dyn Storage, name: &str, bytes: Option<&[u8]>) -> Result<(), StorageError> {
    match bytes {
        Some(bytes) if into.read(name)?.as_deref() != Some(bytes) => into.replace(name, bytes),
        Some(_) => Ok(()),
        None => into.remove(name),
    }
}

/// Removes the copies aside that another one now continues.
fn remove_asides(into: &dyn Storage, writer: &str, wanted: &BTreeSet<String>) -> Result<(), StorageError> {
    for name in into.list()? {
        if let FileName::Aside(of, tag) | FileName::AsideHead(of, tag) = FileName::read(&name)
            && of == writer
            && !wanted.contains(&tag)
        {
            into.remove(&name)?;
        }
    }
    Ok(())
}
