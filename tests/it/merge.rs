//! Merging the logs of several folders.

use std::collections::BTreeMap;

use crate::memory_storage::MemoryStorage;
use linewalk::logbook::merge::{Merged, merge};
use linewalk::logbook::problem::Fault;
use linewalk::logbook::reader::read_car;
use linewalk::logbook::storage::{Storage, Trouble};
use linewalk::logbook::verify::verify;
use linewalk::logbook::writer::{LogError, LogWriter};
use proptest::prelude::*;

use crate::logbook::{moment, short_log, signed};

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

/// A folder with a copy of `pit`, whole or cut, forked or not, with any of several heads, and perhaps `truck`.
fn any_folder() -> impl Strategy<Value = MemoryStorage> {
    (0..3_i64, 0..3_i64, 0..7_usize, 0..4_usize, 0..2_i64).prop_map(|(same, other, head, cut, truck)| {
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
