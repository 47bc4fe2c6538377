//! Merging the logs of several folders.

use std::collections::BTreeMap;

use crate::memory_storage::MemoryStorage;
use linewalk::logbook::merge::{MergeReport, Merged, Terms};
use linewalk::logbook::problem::Fault;
use linewalk::logbook::reader::read_car;
use linewalk::logbook::storage::{Storage, StorageError, Trouble};
use linewalk::logbook::verify::verify;
use linewalk::logbook::writer::{LogError, LogWriter};
use proptest::prelude::*;

use crate::logbook::{moment, short_log, signed};

/// Merges as a machine that wrote none of the logs.
fn merge(into: &MemoryStorage, from: &[&dyn Storage]) -> Result<MergeReport, LogError> {
    linewalk::logbook::merge::merge(into, from, Terms { own: &|_| false, restore: false })
}

/// Merges as the machine that is called pit.
fn merge_at_pit(into: &MemoryStorage, from: &MemoryStorage, restore: bool) -> Result<MergeReport, LogError> {
    linewalk::logbook::merge::merge(into, &[from], Terms { own: &|writer| writer == "pit", restore })
}

/// A copy of a folder that nobody has open.
fn copy(folder: &MemoryStorage) -> MemoryStorage {
    folder.files().into_iter().fold(MemoryStorage::new(), |copy, (name, bytes)| copy.with(&name, &bytes))
}

/// The files that count, torn ends by what is in them.
fn content(folder: &MemoryStorage) -> BTreeMap<String, Vec<Vec<u8>>> {
    let mut all: BTreeMap<String, Vec<Vec<u8>>> = BTreeMap::new();
    for (name, bytes) in folder.files() {
        let name = name.split("torn-").next().unwrap().to_owned();
        all.entry(name).or_default().push(bytes);
    }
    all.values_mut().for_each(|contents| contents.sort());
    all
}

fn merged(into: &MemoryStorage, from: &[&MemoryStorage]) -> MemoryStorage {
    let into = copy(into);
    let from: Vec<&dyn Storage> = from.iter().map(|folder| *folder as &dyn Storage).collect();
    merge(&into, &from).unwrap();
    into
}

/// Another log of the same writer, with the same first records and then others.
fn forked(same: i64, other: i64) -> MemoryStorage {
    let storage = short_log("pit", same);
    let mut log = LogWriter::open(storage.clone(), "pit").unwrap();
    for count in 0..other {
        log.append(moment(500 + count), format!("other-{count}"), signed("S.O.")).unwrap();
    }
    storage
}

#[test]
fn two_laptops_make_one_car() {
    let own = short_log("pit", 3);
    let report = merge(&own, &[&short_log("truck", 2), &short_log("pit", 5)]).unwrap();
    assert_eq!(report.writers["pit"], Merged::Longer(2));
    assert_eq!(report.writers["truck"], Merged::New(2));
    assert!(report.is_clean());
    assert_eq!(report.text(), "pit: 2 records added.\ntruck: taken over, 2 records.\n");
    assert_eq!(read_car(&own).unwrap().kept.len(), 7);
    assert!(verify(&own).unwrap().holds());
    let again = merge(&own, &[&short_log("truck", 1), &short_log("pit", 5)]).unwrap();
    assert_eq!(again.writers.values().collect::<Vec<_>>(), [&Merged::Same, &Merged::Same]);
}

#[test]
fn copies_that_disagree_are_kept_aside_and_nothing_is_lost() {
    let (own, other) = (short_log("pit", 4), forked(2, 2));
    let (log, head) = (own.files()["pit.jsonl"].clone(), own.files()["pit.head"].clone());
    let report = merge(&own, &[&other]).unwrap();
    assert_eq!(report.writers["pit"], Merged::Aside(2));
    assert!(!report.is_clean() && report.text().contains("2 copies disagree"));
    let files = own.files();
    assert!(!files.contains_key("pit.jsonl") && !files.contains_key("pit.head"));
    for bytes in [&log, &head, &other.files()["pit.jsonl"], &other.files()["pit.head"]] {
        assert!(files.values().any(|kept| kept == bytes));
    }
    assert!(matches!(&verify(&own).unwrap().problems[0].fault, Fault::Aside { copies } if copies.len() == 2));
    assert!(
        matches!(LogWriter::open(own.clone(), "pit"), Err(LogError::Damaged(_))),
        "said, not gone on with"
    );
    assert!(matches!(read_car(&own).unwrap().problems[0].fault, Fault::Aside { .. }));
}

#[test]
fn a_shortened_log_still_shows_that_records_are_missing() {
    // The log lost its end; its head did not. A copy from before those records must not hide that.
    let whole = short_log("pit", 5).files();
    let cut = short_log("pit", 2).with("pit.head", &whole["pit.head"]);
    let older = short_log("pit", 3);
    let folder = merged(&older, &[&cut]);
    assert!(!verify(&folder).unwrap().holds());
    // A copy that has them all explains it.
    let folder = merged(&folder, &[&short_log("pit", 6)]);
    assert!(verify(&folder).unwrap().holds());
    assert_eq!(read_car(&folder).unwrap().kept.len(), 6);
    assert_eq!(content(&folder).keys().collect::<Vec<_>>(), ["pit.head", "pit.jsonl"]);
}

#[test]
fn a_torn_copy_is_no_disagreement() {
    let files = short_log("pit", 2).files();
    let torn = [files["pit.jsonl"].as_slice(), b"{\"format\""].concat();
    let torn = copy(&short_log("pit", 2)).with("pit.jsonl", &torn);
    let folder = merged(&torn, &[&short_log("pit", 4)]);
    assert!(verify(&folder).unwrap().holds());
    assert_eq!(read_car(&folder).unwrap().kept.len(), 4);
    assert_eq!(folder.files()["pit.torn-1"], b"{\"format\"");
    assert_eq!(content(&folder), content(&merged(&short_log("pit", 4), &[&torn])));
}

#[test]
fn a_log_in_use_is_left_alone() {
    let own = short_log("pit", 2);
    let _log = LogWriter::open(own.clone(), "pit").unwrap();
    let before = own.files();
    let Err(LogError::Storage(error)) = merge(&own, &[&short_log("pit", 3)]) else { panic!("in use") };
    assert_eq!(error.trouble, Trouble::Held);
    assert_eq!(own.files(), before);
    assert!(
        merge(&own, &[&short_log("pit", 1), &short_log("truck", 1)]).is_ok(),
        "nothing to change for pit"
    );
}

/// Merging stopped by a failing disk at any step can be done again, and ends as if it had not been stopped.
#[test]
fn a_merge_that_was_stopped_is_done_again() {
    for (own, other) in [(short_log("pit", 2), short_log("pit", 4)), (short_log("pit", 3), forked(1, 3))] {
        let done = merged(&own, &[&other]);
        let whole = copy(&own);
        merge(&whole, &[&other]).unwrap();
        let (writes, syncs) = whole.counts();
        for nth in 1..=writes + syncs {
            let stopped = copy(&own);
            if nth <= writes {
                stopped.fail_write(nth, 0)
            } else {
                stopped.fail_sync(nth - writes)
            };
            assert!(merge(&stopped, &[&other]).is_err());
            for reached in [true, false] {
                let image = stopped.crash(&mut || reached);
                assert!(content(&merged(&image, &[&other])) == content(&done), "step {nth}");
            }
            assert!(content(&merged(&stopped, &[&other])) == content(&done), "step {nth}");
        }
    }
}

#[test]
fn the_own_log_stays_and_is_read_whatever_lies_elsewhere_under_its_name() {
    for other in [forked(2, 5), forked(4, 3)] {
        let own = short_log("pit", 4);
        let before = own.files();
        let report = merge_at_pit(&own, &other, false).unwrap();
        assert_eq!(report.writers["pit"], Merged::OwnStays(1));
        assert!(!report.is_clean());
        let after = own.files();
        for name in ["pit.jsonl", "pit.head"] {
            assert_eq!(after[name], before[name], "{name}");
        }
        assert_eq!(read_car(&own).unwrap().kept.len(), 4);
        for name in ["pit.jsonl", "pit.head"] {
            assert!(after.values().any(|bytes| *bytes == other.files()[name]), "nothing is lost: {name}");
        }
        assert!(!verify(&own).unwrap().holds(), "until it is settled");
        // Its writer goes on, and the same again changes nothing.
        let mut log = LogWriter::open(own.clone(), "pit").unwrap();
        log.append(moment(900), "on".to_owned(), signed("R.N.")).unwrap();
        log.settle().unwrap();
        let before = own.files();
        merge_at_pit(&own, &other, false).unwrap();
        assert_eq!(own.files().len(), before.len());
    }
    // An older copy of it is a part of it.
    let own = short_log("pit", 4);
    assert_eq!(merge_at_pit(&own, &short_log("pit", 2), false).unwrap().writers["pit"], Merged::Same);
    // A folder that lost it takes it back only where that was asked for.
    let lost = MemoryStorage::new();
    assert_eq!(merge_at_pit(&lost, &own, false).unwrap().writers["pit"], Merged::OwnStays(1));
    assert!(read_car(&lost).unwrap().kept.is_empty());
    assert!(matches!(LogWriter::open(lost.clone(), "pit"), Err(LogError::Damaged(_))), "no second beginning");
}

#[test]
fn the_own_log_is_restored_from_a_backup() {
    let backup = short_log("pit", 5);
    let lost = MemoryStorage::new();
    merge_at_pit(&lost, &backup, false).unwrap();
    assert_eq!(merge_at_pit(&lost, &backup, true).unwrap().writers["pit"], Merged::New(5));
    assert!(verify(&lost).unwrap().holds());
    let older = short_log("pit", 2);
    assert_eq!(merge_at_pit(&older, &backup, true).unwrap().writers["pit"], Merged::Longer(3));
    assert_eq!(read_car(&older).unwrap().kept.len(), 5);
    // What went on after the backup is not taken over by it.
    let own = short_log("pit", 4);
    assert_eq!(merge_at_pit(&own, &forked(3, 4), true).unwrap().writers["pit"], Merged::OwnStays(1));
    assert_eq!(read_car(&own).unwrap().kept.len(), 4);
}

/// Nothing is moved, and the reason is said.
fn refused(own: &MemoryStorage, other: &MemoryStorage, reason: &str) {
    let before = own.files();
    for merged in [
        merge(own, &[&short_log("truck", 2), other]),
        merge_at_pit(own, other, false),
        merge_at_pit(own, other, true),
    ] {
        let Err(LogError::Refused(told)) = merged else { panic!("{reason}: {merged:?}") };
        assert!(told.contains(reason), "{told}");
    }
    assert_eq!(own.files(), before, "{reason}");
}

#[test]
fn logs_of_one_writer_that_share_no_beginning_are_not_merged() {
    refused(&short_log("pit", 4), &forked(0, 3), "share no beginning");
}

#[test]
fn a_log_begins_with_a_record_that_is_one() {
    let files = short_log("pit", 3).files();
    let log = &files["pit.jsonl"];
    let second = log.iter().position(|byte| *byte == b'\n').unwrap() + 1;
    let whole =
        |bytes: &[u8]| MemoryStorage::new().with("pit.jsonl", bytes).with("pit.head", &files["pit.head"]);
    for bytes in [&log[second..], b"what\n".as_slice(), b"\n"] {
        refused(&short_log("pit", 2), &whole(bytes), "does not begin with the first record");
        refused(&MemoryStorage::new(), &whole(bytes), "does not begin with the first record");
    }
    // Somebody else's log under this name.
    let other = MemoryStorage::new().with("pit.jsonl", &short_log("truck", 2).files()["truck.jsonl"]);
    refused(&MemoryStorage::new(), &other, "does not begin with the first record");
}

/// How often the storage is asked for something, counted over both folders.
struct Counted<'a>(&'a MemoryStorage, &'a std::cell::Cell<u64>);

impl Counted<'_> {
    fn one(&self) -> &MemoryStorage {
        self.1.set(self.1.get() + 1);
        self.0
    }
}

impl Storage for Counted<'_> {
    fn path_of(&self, name: &str) -> std::path::PathBuf {
        self.0.path_of(name)
    }
    fn list(&self) -> Result<Vec<String>, StorageError> {
        // Listing takes as long as there are files.
        let names = self.one().list()?;
        self.1.set(self.1.get() + names.len() as u64);
        Ok(names)
    }
    fn open(&self, name: &str) -> Result<Option<Box<dyn std::io::Read>>, StorageError> {
        self.one().open(name)
    }
    fn append(&self, name: &str, bytes: &[u8]) -> Result<(), StorageError> {
        self.one().append(name, bytes)
    }
    fn sync(&self, name: &str) -> Result<(), StorageError> {
        self.one().sync(name)
    }
    fn replace(&self, name: &str, bytes: &[u8]) -> Result<(), StorageError> {
        self.one().replace(name, bytes)
    }
    fn create(&self, name: &str, bytes: &[u8]) -> Result<(), StorageError> {
        self.one().create(name, bytes)
    }
    fn remove(&self, name: &str) -> Result<(), StorageError> {
        self.one().remove(name)
    }
    fn lock(&self, name: &str) -> Result<linewalk::logbook::storage::Lock, StorageError> {
        self.one().lock(name)
    }
    fn size(&self, name: &str) -> Result<Option<u64>, StorageError> {
        self.one().size(name)
    }
    fn is_locked(&self, name: &str) -> bool {
        self.one().is_locked(name)
    }
}

#[test]
fn ten_times_the_writers_take_no_more_than_ten_times_the_work() {
    let work = |writers: usize| {
        let from = (0..writers).fold(MemoryStorage::new(), |all, count| {
            let files = short_log(&format!("w-{count}"), 1).files();
            files.into_iter().fold(all, |all, (name, bytes)| all.with(&name, &bytes))
        });
        let (into, count) = (MemoryStorage::new(), std::cell::Cell::new(0));
        let (into, from) = (Counted(&into, &count), Counted(&from, &count));
        let terms = Terms { own: &|_| false, restore: false };
        let report = linewalk::logbook::merge::merge(&into, &[&from], terms).unwrap();
        assert_eq!(report.writers.len(), writers);
        count.get()
    };
    let (few, many) = (work(80), work(800));
    assert!(many < 10 * few, "{few} and {many}");
}

/// A folder with a copy of `pit`, whole or cut, forked or not, with any of several heads, and perhaps `truck`.
fn any_folder() -> impl Strategy<Value = MemoryStorage> {
    (1..3_i64, 0..3_i64, 0..7_usize, 0..4_usize, 0..2_i64).prop_map(|(same, other, head, cut, truck)| {
        let files = forked(same, other).files();
        let log = files.get("pit.jsonl").cloned().unwrap_or_default();
        let mut folder = MemoryStorage::new();
        let end = if cut == 3 { log.len().saturating_sub(40) } else { log.len() };
        if end > 0 || cut == 2 {
            folder = folder.with("pit.jsonl", &log[..end]);
        }
        let heads = [forked(1, 0), forked(2, 0), forked(2, 1), forked(4, 0)];
        let head = match head {
            0..=3 => heads[head].files().get("pit.head").cloned(),
            4 => Some(b"garbage".to_vec()),
            5 => None,
            _ => files.get("pit.head").cloned(),
        };
        if let Some(head) = head {
            folder = folder.with("pit.head", &head);
        }
        short_log("truck", truck)
            .files()
            .into_iter()
            .fold(folder, |all, (name, bytes)| all.with(&name, &bytes))
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn any_order_any_grouping_and_twice_give_the_same(a in any_folder(), b in any_folder(), c in any_folder()) {
        let empty = MemoryStorage::new();
        let (a, b, c) = (merged(&empty, &[&a]), merged(&empty, &[&b]), merged(&empty, &[&c]));
        let ab = merged(&a, &[&b]);
        prop_assert!(content(&ab) == content(&merged(&b, &[&a])), "order");
        prop_assert!(content(&ab) == content(&merged(&ab, &[&b])), "twice");
        prop_assert!(content(&ab) == content(&merged(&ab, &[&a])), "twice");
        prop_assert!(content(&ab) == content(&merged(&ab, &[&ab])), "itself");
        let all = content(&merged(&ab, &[&c]));
        prop_assert!(all == content(&merged(&a, &[&merged(&b, &[&c])])), "grouping");
        prop_assert_eq!(&all, &content(&merged(&c, &[&a, &b])), "at once");
    }
}
