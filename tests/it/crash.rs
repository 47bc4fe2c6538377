//! Crashes and failing disks: whatever was said to be kept is there afterwards.

use crate::memory_storage::MemoryStorage;
use linewalk::logbook::problem::Fault;
use linewalk::logbook::reader::read_writer;
use linewalk::logbook::storage::Doing;
use linewalk::logbook::verify::verify;
use linewalk::logbook::writer::{LogError, LogWriter};
use linewalk::model::entry::{Entry, Kept};

use crate::logbook::{moment, short_log, signed};

/// Heads as they were after each record of a log.
fn heads(records: i64) -> Vec<Option<Vec<u8>>> {
    let storage = MemoryStorage::new();
    let mut log = LogWriter::open(storage.clone(), "pit").unwrap();
    let mut heads = vec![storage.files().get("pit.head").cloned()];
    for count in 0..records {
        log.append(moment(count), format!("pit-{count}"), signed("R.N.")).unwrap();
        log.settle().unwrap();
        heads.push(storage.files().get("pit.head").cloned());
    }
    heads
}

fn folder(log: &[u8], head: Option<&Vec<u8>>) -> MemoryStorage {
    let folder = MemoryStorage::new().with("pit.jsonl", log);
    match head {
        Some(head) => folder.with("pit.head", head),
        None => folder,
    }
}

/// Opens a folder as it is, and expects whole records, the torn end aside, and a log that goes on.
fn reopen(image: &MemoryStorage, whole: usize, tail: &[u8], past: bool) {
    let mut log = LogWriter::open(image.clone(), "pit").unwrap();
    assert_eq!(log.last_seq(), whole as u64);
    assert_eq!(log.notices().len(), usize::from(!tail.is_empty()) + usize::from(past));
    assert_eq!(image.files().get("pit.torn-1").map_or(&[][..], Vec::as_slice), tail);
    log.append(moment(1000), "after".into(), signed("S.O.")).unwrap();
    assert!(verify(image).unwrap().holds());
}

/// A log of 200 records cut at every byte, with the head of the last whole record and with the one before.
/// Without optimisation only some bytes of the middle are cut, to keep the test short.
#[test]
fn cut_at_every_byte() {
    let heads = heads(200);
    let files = short_log("pit", 200).files();
    let log = &files["pit.jsonl"];
    let mut starts = vec![0];
    starts.extend(log.iter().enumerate().filter(|(_, byte)| **byte == b'\n').map(|(at, _)| at + 1));
    let all = read_writer(&folder(log, heads[200].as_ref()), "pit").unwrap().kept;
    let mut cuts = 0;
    for cut in 0..=log.len() {
        let whole = starts.partition_point(|start| *start <= cut) - 1;
        let tail = &log[starts[whole]..cut];
        let middle = (8..199).contains(&whole);
        if cfg!(debug_assertions) && middle && !tail.is_empty() && cut % 211 != 0 {
            continue;
        }
        cuts += 1;
        let image = folder(&log[..cut], heads[whole].as_ref());
        let found = read_writer(&image, "pit").unwrap();
        assert_eq!(found.kept, all[..whole], "cut at {cut}");
        let torn = (!tail.is_empty()).then_some(Fault::Torn { bytes: tail.len() as u64 });
        assert_eq!(
            found.problems.into_iter().map(|problem| problem.fault).collect::<Vec<_>>(),
            Vec::from_iter(torn)
        );
        let far = if whole < 8 { 40 } else { 3 };
        if tail.len() < far && !(cfg!(debug_assertions) && middle) {
            reopen(&image, whole, tail, false);
            if whole > 0 {
                reopen(&folder(&log[..cut], heads[whole - 1].as_ref()), whole, tail, true);
            }
        }
    }
    println!("{cuts} cuts of a log of {} bytes", log.len());
}

/// Writes ten records or as many as the disk allows; gives those that were said to be kept.
fn session(storage: &MemoryStorage) -> Vec<Kept> {
    let mut kept = Vec::new();
    let Ok(mut log) = LogWriter::open(storage.clone(), "pit") else { return kept };
    for count in 0..10 {
        let id = format!("pit-{count}");
        let outcome = log.append(moment(count), id, signed("R.N.")).and_then(|record| {
            // Said to be kept, whatever becomes of its head.
            kept.push(record);
            // Every other head is left to the next record, as several entries of one key leave it; the last to the end.
            if count % 2 == 0 { log.settle() } else { Ok(()) }
        });
        if let Err(error) = outcome {
            assert!(matches!(error, LogError::Storage(_)));
            let again = log.append(moment(count), "again".into(), signed("R.N."));
            assert!(matches!(again, Err(LogError::Poisoned(_))), "nothing more is claimed");
            break;
        }
    }
    kept
}

/// All that was kept is there, then at most the one record that was under way; and the log goes on.
fn expect_kept(image: &MemoryStorage, kept: &[Kept], case: &str) {
    let mut log = LogWriter::open(image.clone(), "pit").unwrap_or_else(|error| panic!("{case}: {error}"));
    let found = read_writer(image, "pit").unwrap();
    assert!(found.problems.iter().all(|problem| problem.fault.is_note()), "{case}: {:?}", found.problems);
    assert!(found.kept.starts_with(kept), "{case}");
    assert!(found.kept.len() <= kept.len() + 1, "{case}");
    log.append(moment(1000), "after".into(), signed("S.O.")).unwrap();
    drop(log);
    assert!(verify(image).unwrap().holds(), "{case}");
}

/// Numbers that look random and are the same each time (xorshift).
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> bool {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 & 64 != 0
    }
}

/// Crash images of a folder: nothing of what is unsafe reached the disk, each prefix of it, and many subsets.
fn images(storage: &MemoryStorage) -> Vec<MemoryStorage> {
    let mut pieces = 0;
    let _ = storage.crash(&mut || {
        pieces += 1;
        true
    });
    let prefix = |most: usize| {
        let mut left = most;
        storage.crash(&mut || {
            let reached = left > 0;
            left = left.saturating_sub(1);
            reached
        })
    };
    let mut images: Vec<_> = (0..=pieces).map(prefix).collect();
    let mut dice = Dice(0x9e37_79b9_7f4a_7c15);
    let subsets = if pieces == 0 { 0 } else { 24 };
    images.extend((0..subsets).map(|_| storage.crash(&mut || dice.next())));
    images
}

/// Lets the `nth` write (some of it through) or sync of a session fail, for every `nth`.
fn each_failure(start: &MemoryStorage, run: &mut dyn FnMut(&MemoryStorage, &str)) {
    let fresh = || start.crash(&mut || true);
    let whole = fresh();
    let _ = session(&whole);
    let (writes, syncs) = whole.counts();
    assert!(writes >= 20 && syncs >= 20, "the session does real work: {writes} writes, {syncs} syncs");
    for nth in 1..=writes {
        for through in [0, 1, 100, 285] {
            let storage = fresh();
            storage.fail_write(nth, through);
            run(&storage, &format!("write {nth} fails after {through} bytes"));
        }
    }
    for nth in 1..=syncs {
        let storage = fresh();
        storage.fail_sync(nth);
        run(&storage, &format!("sync {nth} fails"));
    }
}

#[test]
fn every_write_and_every_sync_fails_in_turn() {
    each_failure(&MemoryStorage::new(), &mut |storage, case| {
        let kept = session(storage);
        for (number, image) in images(storage).iter().enumerate() {
            expect_kept(image, &kept, &format!("{case}, image {number}"));
        }
        expect_kept(storage, &kept, &format!("{case}, no crash"));
        // What the last opening did is safe in its turn.
        for image in images(storage) {
            assert!(verify(&image).unwrap().holds());
            assert_eq!(image.files()["pit.jsonl"], storage.files()["pit.jsonl"], "{case}");
        }
    });
}

/// The crash comes after a record was said to be kept and before its head is in place.
#[test]
fn a_crash_between_the_answer_and_its_head() {
    let heads = heads(4);
    for records in 1..=4 {
        let storage = MemoryStorage::new();
        let mut log = LogWriter::open(storage.clone(), "pit").unwrap();
        let kept: Vec<Kept> = (0..records)
            .map(|count| log.append(moment(count), format!("pit-{count}"), signed("R.N.")).unwrap())
            .collect();
        for image in images(&storage) {
            let before = verify(&image).unwrap();
            let last = kept.len() as u64;
            let past = Fault::Unconfirmed { from: last, to: last, head: true };
            assert_eq!(before.problems.len(), 1, "{}", before.text());
            assert_eq!(before.problems[0].fault, past);
            let mut opened = LogWriter::open(image.clone(), "pit").unwrap();
            assert!(opened.notices().len() == 1 && opened.last_seq() == last);
            assert_eq!(image.files().get("pit.head"), heads[kept.len() - 1].as_ref(), "no opening moves it");
            assert_eq!(read_writer(&image, "pit").unwrap().kept, kept);
            // The next record says first that it is not confirmed.
            opened.append(moment(9), "next".to_owned(), signed("R.N.")).unwrap();
            drop(opened);
            let read = read_writer(&image, "pit").unwrap().kept;
            let Entry::Unconfirmed { from, to, .. } = &read[kept.len()].entry else { panic!("{read:?}") };
            assert_eq!((*from, *to, read.len()), (last, last, kept.len() + 2));
        }
    }
}

/// A head that cannot be put in place is told once, and nothing more is claimed; what was kept is there.
#[test]
fn a_head_that_fails() {
    let sign =
        |log: &mut LogWriter<MemoryStorage>, id: &str| log.append(moment(0), id.into(), signed("R.N."));
    for settled in [true, false] {
        let storage = MemoryStorage::new();
        let mut log = LogWriter::open(storage.clone(), "pit").unwrap();
        sign(&mut log, "a").unwrap();
        log.settle().unwrap();
        // The first head, then a record and its head are a write each.
        storage.fail_write(5, 0);
        sign(&mut log, "b").unwrap();
        let whole = storage.files();
        let told = if settled { log.settle() } else { sign(&mut log, "c").map(drop) };
        let Err(LogError::Storage(error)) = told else { panic!("it is told") };
        assert_eq!(error.doing, Doing::Replace);
        assert!(log.is_poisoned() && matches!(sign(&mut log, "d"), Err(LogError::Poisoned(_))));
        assert_eq!(log.settle(), Ok(()), "told once");
        drop(log);
        assert_eq!(storage.files(), whole, "the next record was not begun");
        let mut log = LogWriter::open(storage.clone(), "pit").unwrap();
        assert_eq!((log.last_seq(), log.notices().len()), (2, 1));
        assert_eq!(sign(&mut log, "e").unwrap().seq, 4, "after the one that says that b is not confirmed");
        drop(log);
        assert_eq!(verify(&storage).unwrap().notes, []);
    }
}

/// Several entries of one key: each head is put in place before the next record, the last at once or on leaving.
#[test]
fn a_head_is_never_more_than_one_record_behind() {
    let heads = heads(5);
    for settled in [true, false] {
        let storage = MemoryStorage::new();
        let mut log = LogWriter::open(storage.clone(), "pit").unwrap();
        for count in 0..5_u8 {
            log.append(moment(count.into()), format!("pit-{count}"), signed("R.N.")).unwrap();
            assert_eq!(storage.files().get("pit.head"), heads[usize::from(count)].as_ref());
        }
        if settled {
            log.settle().unwrap();
            assert_eq!(storage.files().get("pit.head"), heads[5].as_ref());
        }
        drop(log);
        assert_eq!(storage.files().get("pit.head"), heads[5].as_ref());
    }
}

/// The disk also fails while a crash is recovered from.
#[test]
fn recovery_is_as_safe_as_writing() {
    let files = short_log("pit", 3).files();
    let torn = [files["pit.jsonl"].as_slice(), b"{\"format\":1,\"id\":\"pi"].concat();
    let start = folder(&torn, files.get("pit.head"));
    let before = read_writer(&start, "pit").unwrap().kept;
    each_failure(&start, &mut |storage, case| {
        let kept = [before.clone(), session(storage)].concat();
        let mut all = images(storage);
        all.push(storage.clone());
        for (number, image) in all.iter().enumerate() {
            expect_kept(image, &kept, &format!("{case}, image {number}"));
            let tail = b"{\"format\":1,\"id\":\"pi";
            let files = image.files();
            assert!(
                files.iter().any(|(name, bytes)| name.starts_with("pit.torn-") && bytes == tail),
                "{case}, image {number}: the torn end is still there"
            );
        }
    });
}

/// The disk may have the end of a record, with its end of line, and not its middle.
#[test]
fn a_disk_that_keeps_the_end_and_not_the_middle() {
    let files = short_log("pit", 3).files();
    let heads = heads(3);
    let log = &files["pit.jsonl"];
    let start = log[..log.len() - 1].iter().rposition(|byte| *byte == b'\n').unwrap() + 1;
    let mut holed = log.clone();
    holed[start + 20..start + 60].fill(0);
    let image = folder(&holed, heads[2].as_ref());
    let found = read_writer(&image, "pit").unwrap();
    assert_eq!(found.kept.len(), 2);
    assert_eq!(found.problems[0].fault, Fault::Torn { bytes: (log.len() - start) as u64 });
    reopen(&image, 2, &holed[start..], false);
    // With the head on that record it had been kept, and its loss is damage.
    let image = folder(&holed, heads[3].as_ref());
    assert!(matches!(LogWriter::open(image, "pit"), Err(LogError::Damaged(_))));
}
