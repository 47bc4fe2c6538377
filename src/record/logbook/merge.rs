//! Brings the logs of other folders into a car folder.
//!
//! Each folder is taken as a set of copies for every writer: the log with its head, and copies set aside by
//! earlier merges. Merging is the union of the sets, less every copy that another one continues. If one copy
//! is left it is the log; if several are, none can be preferred and all are kept aside. A union is the same
//! in any order and when done twice, and so is merging.

use std::collections::{BTreeMap, BTreeSet};

use crate::escape::many;
use crate::logbook::hash::Hex;
use crate::logbook::head::{Head, HeadFile, LONGEST_HEAD};
use crate::logbook::listing::{Listing, bounded, one_beginning};
use crate::logbook::names::{self, FileName};
use crate::logbook::record;
use crate::logbook::scan::scan;
use crate::logbook::storage::{Doing, Storage, StorageError};
use crate::logbook::writer::{LogError, set_aside};

/// Whose logs they are, and what may be done with this machine's own.
#[derive(Clone, Copy)]
pub struct Terms<'a> {
    /// Whether a writer is this machine.
    pub own: &'a dyn Fn(&str) -> bool,
    /// Whether the own log may be taken over from the other folders, as from a backup. Otherwise it stays as it is and is
    /// read, whatever lies elsewhere under its name.
    pub restore: bool,
}

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
    /// The own log stays as it is and is read; so many other copies are kept aside.
    OwnStays(usize),
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
            Merged::New(lines) => format!("{writer}: taken over, {}.\n", many(*lines, "record")),
            Merged::Longer(lines) => format!("{writer}: {} added.\n", many(*lines, "record")),
            Merged::Aside(copies) => format!(
                "{writer}: {copies} copies disagree. None is preferred: all are kept aside as {} and not read.\n",
                names::aside(writer, "…")
            ),
            Merged::OwnStays(copies) => format!(
                "{writer}: this machine's own log stays as it is. Another copy says something else: {} kept aside as {} and \
                 not read. If it is your own backup, merge it again with --restore.\n",
                if *copies == 1 { "it is".to_owned() } else { format!("{copies} copies are") },
                names::aside(writer, "…")
            ),
        };
        self.writers.iter().map(said).collect()
    }

    /// Whether every log could be merged.
    pub fn is_clean(&self) -> bool {
        !self.writers.values().any(|merged| matches!(merged, Merged::Aside(_) | Merged::OwnStays(_)))
    }
}

/// Merges the logs of other folders into one. The others are only read. Everything is looked at before anything is written.
///
/// # Errors
/// [`LogError::Refused`] where a folder is no set of logs of this car, and nothing was written; the storage fails, or a log
/// to be changed is open in another program.
pub fn merge(into: &dyn Storage, from: &[&dyn Storage], terms: Terms<'_>) -> Result<MergeReport, LogError> {
    let own = Listing::of(into)?;
    let others = from.iter().map(|folder| Listing::of(*folder)).collect::<Result<Vec<_>, _>>()?;
    bounded(&others)?;
    let all = || std::iter::once(&own).chain(&others);
    let writers: BTreeSet<&String> = all().flat_map(|listing| listing.files.keys()).collect();
    for writer in &writers {
        one_beginning(writer, &own, &others)?;
    }
    let mut report = MergeReport::default();
    let mut new = Vec::new();
    for writer in writers {
        let mut other = Copies::default();
        for listing in &others {
            other.add(copies_of(listing, writer)?);
        }
        if let Some(copy) = other.only().filter(|_| own.names(writer).is_empty() && !(terms.own)(writer)) {
            report.writers.insert(writer.clone(), Merged::New(copy.lines()));
            new.push((writer.as_str(), copy));
            if new.len() == TOGETHER
                || new.iter().map(|(_, copy)| copy.log.len()).sum::<usize>() > TOGETHER_BYTES
            {
                put_new(into, &std::mem::take(&mut new))?;
            }
            continue;
        }
        report.writers.insert(writer.clone(), merge_writer(&own, writer, &other, terms)?);
    }
    put_new(into, &new)?;
    Ok(report)
}

/// Logs of writers that are new here, put in place together: many wait for the disk no longer than a few.
const TOGETHER: usize = 200;
const TOGETHER_BYTES: usize = 64 << 20;

fn put_new(into: &dyn Storage, new: &[(&str, Copy)]) -> Result<(), LogError> {
    if new.is_empty() {
        return Ok(());
    }
    let locks =
        new.iter().map(|(writer, _)| into.lock(&names::lock(writer))).collect::<Result<Vec<_>, _>>()?;
    let mut files = Vec::new();
    for (writer, copy) in new {
        if into.size(&names::log(writer))?.is_some() {
            return Err(LogError::Refused(format!(
                "the log of {writer} was begun here meanwhile: merge again"
            )));
        }
        if !copy.log.is_empty() {
            files.push((names::log(writer), copy.log.clone()));
        }
        files.extend(copy.head.clone().map(|head| (names::head(writer), head)));
    }
    into.replace_all(&files)?;
    drop(locks);
    Ok(())
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
    /// The one that stands as the log.
    standing: Option<Copy>,
}

impl Copies {
    fn add(&mut self, other: Self) {
        self.copies.extend(other.copies);
        self.torn.extend(other.torn);
    }

    /// The one copy that there is, where nothing else stands beside it.
    fn only(&self) -> Option<Copy> {
        let mut settled = self.clone().settle().copies.into_iter();
        let only = settled.next()?;
        (settled.next().is_none() && self.torn.is_empty()).then_some(only)
    }

    /// Whether they stand as merging leaves them; not so when it was stopped halfway.
    fn in_place(&self) -> bool {
        let several = self.copies.len() > 1;
        self.as_aside == several && !(self.as_log && several)
    }

    /// Whether the log here is lost, or is the beginning of another copy: it may be taken over from a backup.
    fn gives_way_to(&self, other: &Self) -> bool {
        let mut all = self.copies.iter().chain(&other.copies);
        self.standing.as_ref().is_none_or(|standing| {
            other.copies.iter().any(|longer| standing != longer && standing.is_continued_by(longer))
                && all.all(|copy| copy.log.starts_with(&standing.log) || standing.log.starts_with(&copy.log))
        })
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

    /// One more than the record this head names, if the log of `whole` has that very record; 0 without a head.
    fn covered(&self, whole: &Self) -> Option<u64> {
        match HeadFile::read(self.head.as_deref()) {
            HeadFile::Absent => Some(0),
            HeadFile::Unreadable => None,
            HeadFile::Known(head) if head == Head::EMPTY => Some(1),
            HeadFile::Known(Head { seq, sum }) => {
                let index = usize::try_from(seq.checked_sub(1)?).ok()?;
                let line = whole.log.split(|byte| *byte == b'\n').nth(index)?;
                (record::sum_of(line) == Some(sum)).then_some(seq.saturating_add(1))
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

fn copies_of(listing: &Listing<'_>, writer: &str) -> Result<Copies, StorageError> {
    read_copies(listing.storage, writer, listing.names(writer))
}

fn read_copies(storage: &dyn Storage, writer: &str, files: &[String]) -> Result<Copies, StorageError> {
    let mut all = Copies::default();
    for name in files {
        let (log_name, head_name) = match FileName::read(name) {
            FileName::Torn(_) => {
                all.torn.insert(storage.read(name)?.unwrap_or_default());
                continue;
            }
            // A log and its head are one copy, even when only one of them is there.
            FileName::Log(_) => (name.clone(), names::head(writer)),
            FileName::Head(_) if files.contains(&names::log(writer)) => continue,
            FileName::Head(_) => (names::log(writer), name.clone()),
            FileName::Aside(_, tag) => (name.clone(), names::aside_head(writer, &tag)),
            FileName::AsideHead(..) | FileName::Leftover | FileName::Stray | FileName::Other => continue,
        };
        let head = storage.read_at_most(&head_name, LONGEST_HEAD)?;
        let log = storage.read(&log_name)?.unwrap_or_default();
        let (copy, torn) = finished(storage, writer, log, head)?;
        all.torn.extend(torn);
        if matches!(FileName::read(name), FileName::Aside(..)) {
            all.as_aside = true;
        } else {
            all.as_log = true;
            all.standing = Some(copy.clone());
        }
        all.copies.insert(copy);
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

fn merge_writer(
    into: &Listing<'_>,
    writer: &str,
    other: &Copies,
    terms: Terms<'_>,
) -> Result<Merged, LogError> {
    let before = copies_of(into, writer)?;
    if (terms.own)(writer) && !(terms.restore && before.gives_way_to(other)) {
        return own_stays(into, writer, before, other);
    }
    let union = |own: &Copies| {
        let mut union = own.clone();
        union.add(other.clone());
        union.settle()
    };
    if before.in_place() && union(&before) == before {
        return Ok(if before.copies.len() > 1 { Merged::Aside(before.copies.len()) } else { Merged::Same });
    }
    let _lock = into.storage.lock(&names::lock(writer))?;
    // Its writer may have been at work before the lock was ours.
    let files = into.names_now(writer)?;
    let into = into.storage;
    let own = read_copies(into, writer, &files)?;
    let merged = union(&own);
    for torn in &merged.torn {
        set_aside(into, writer, torn)?;
    }
    let mut copies = merged.copies.iter();
    match (copies.next(), copies.len()) {
        (None, _) => Ok(Merged::Same),
        (Some(copy), 0) => {
            put_log(into, writer, copy)?;
            remove_asides(into, &files, &BTreeSet::new())?;
            let before = own.standing.as_ref().map(Copy::lines);
            Ok(match before {
                None => Merged::New(copy.lines()),
                Some(before) if before == copy.lines() => Merged::Same,
                Some(before) => Merged::Longer(copy.lines().saturating_sub(before)),
            })
        }
        _ => {
            put_asides(into, writer, &files, &merged.copies)?;
            into.remove(&names::log(writer))?;
            into.remove(&names::head(writer))?;
            Ok(Merged::Aside(merged.copies.len()))
        }
    }
}

/// The own log is neither moved nor added to; whatever else bears its name is kept aside, unless it is a part of the log.
fn own_stays(into: &Listing<'_>, writer: &str, own: Copies, other: &Copies) -> Result<Merged, LogError> {
    let standing = own.standing.clone();
    let mut aside = own;
    aside.add(other.clone());
    let mut aside = aside.settle().copies;
    aside.retain(|copy| {
        standing.as_ref().is_none_or(|standing| copy != standing && !copy.is_continued_by(standing))
    });
    put_asides(into.storage, writer, into.names(writer), &aside)?;
    Ok(if aside.is_empty() { Merged::Same } else { Merged::OwnStays(aside.len()) })
}

fn put_log(into: &dyn Storage, writer: &str, copy: &Copy) -> Result<(), StorageError> {
    let log = names::log(writer);
    // An empty log beside a head is a head alone.
    if into.read(&log)?.unwrap_or_default() != copy.log {
        into.replace(&log, &copy.log)?;
    }
    put_or_remove(into, &names::head(writer), copy.head.as_deref())
}

fn put_asides(
    into: &dyn Storage,
    writer: &str,
    files: &[String],
    copies: &BTreeSet<Copy>,
) -> Result<(), StorageError> {
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
    remove_asides(into, files, &wanted)
}

fn put_or_remove(into: &dyn Storage, name: &str, bytes: Option<&[u8]>) -> Result<(), StorageError> {
    match bytes {
        Some(bytes) if into.read(name)?.as_deref() != Some(bytes) => into.replace(name, bytes),
        Some(_) => Ok(()),
        None => into.remove(name),
    }
}

/// Removes the copies aside that another one now continues.
fn remove_asides(
    into: &dyn Storage,
    files: &[String],
    wanted: &BTreeSet<String>,
) -> Result<(), StorageError> {
    for name in files {
        if let FileName::Aside(_, tag) | FileName::AsideHead(_, tag) = FileName::read(name)
            && !wanted.contains(&tag)
        {
            into.remove(name)?;
        }
    }
    Ok(())
}
