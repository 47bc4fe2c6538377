//! Changed logs: everything is found, and found where it is.

use crate::memory_storage::MemoryStorage;
use linewalk::logbook::problem::{Fault, Problem};
use linewalk::logbook::reader::{read_car, read_writer};
use linewalk::logbook::record::{self, RecordError};
use linewalk::logbook::verify::verify;
use linewalk::logbook::writer::{LogError, LogWriter};
use sha2::{Digest, Sha256};

use crate::logbook::{finding, moment, short_log, signed};

struct Log {
    lines: Vec<Vec<u8>>,
    head: Vec<u8>,
}

impl Log {
    fn new(records: i64) -> Self {
        Self::of(&short_log("pit", records))
    }

    fn of(storage: &MemoryStorage) -> Self {
        let files = storage.files();
        let lines = files["pit.jsonl"].split_inclusive(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect();
        Self { lines, head: files["pit.head"].clone() }
    }

    fn folder(&self) -> MemoryStorage {
        MemoryStorage::new().with("pit.jsonl", &self.lines.concat()).with("pit.head", &self.head)
    }

    fn problems(&self) -> Vec<(Option<u64>, Fault)> {
        let verdict = verify(&self.folder()).unwrap();
        assert!(!verdict.holds());
        verdict.problems.into_iter().map(|Problem { line, fault, .. }| (line, fault)).collect()
    }
}

#[test]
fn swapped_repeated_removed_and_inserted_lines() {
    let mut swapped = Log::new(6);
    swapped.lines.swap(2, 3);
    assert_eq!(
        swapped.problems(),
        [
            (Some(3), Fault::Gap { from: 3, to: 3 }),
            (Some(4), Fault::OutOfPlace { seq: 3, expected: 5 }),
            (Some(5), Fault::Chain),
        ]
    );

    let mut repeated = Log::new(6);
    repeated.lines.insert(3, repeated.lines[2].clone());
    assert_eq!(repeated.problems(), [(Some(4), Fault::OutOfPlace { seq: 3, expected: 4 })]);
    assert_eq!(read_writer(&repeated.folder(), "pit").unwrap().kept.len(), 6, "read once");

    let mut removed = Log::new(6);
    removed.lines.drain(1..3);
    assert_eq!(removed.problems(), [(Some(2), Fault::Gap { from: 2, to: 3 })]);

    // A good line of another log of the same writer, of the right place.
    let storage = MemoryStorage::new();
    let mut other = LogWriter::open(storage.clone(), "pit").unwrap();
    for count in 0..6 {
        other.append(moment(count), format!("other-{count}"), signed("R.N.")).unwrap();
    }
    drop(other);
    let other = Log::of(&storage);
    let mut inserted = Log::new(6);
    inserted.lines.insert(2, other.lines[2].clone());
    assert_eq!(
        inserted.problems(),
        [(Some(3), Fault::Chain), (Some(4), Fault::OutOfPlace { seq: 3, expected: 4 })]
    );
    let mut exchanged = Log::new(6);
    exchanged.lines[2] = other.lines[2].clone();
    assert_eq!(exchanged.problems(), [(Some(3), Fault::Chain), (Some(4), Fault::Chain)]);
    let mut garbage = Log::new(6);
    garbage.lines.insert(2, b"{}\n".to_vec());
    assert_eq!(garbage.problems()[0], (Some(3), Fault::Bad(RecordError::Shape("format"))));
}

/// Every pair of lines swapped, every line doubled at every place, every stretch removed, a line of another log
/// put in at every place, of a log that was signed and ended: always found, and never later than in the line after.
#[test]
fn every_line_moved_doubled_removed_or_put_in() {
    let storage = short_log("pit", 8);
    let whole = Log::of(&storage);
    let strange = short_log("truck", 9).files()["truck.jsonl"].clone();
    let strange: Vec<Vec<u8>> = strange.split_inclusive(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect();
    let mut cases: Vec<(usize, Vec<Vec<u8>>)> = Vec::new();
    for a in 0..8 {
        for b in a + 1..8 {
            let mut lines = whole.lines.clone();
            lines.swap(a, b);
            cases.push((a, lines));
            let mut lines = whole.lines.clone();
            lines.drain(a..b);
            cases.push((a, lines));
        }
        for (to, other) in strange.iter().enumerate().take(9) {
            let mut lines = whole.lines.clone();
            lines.insert(to, whole.lines[a].clone());
            cases.push((to, lines));
            let mut lines = whole.lines.clone();
            lines.insert(to, other.clone());
            cases.push((to, lines));
        }
    }
    for (at, lines) in cases {
        let changed = Log { lines, head: whole.head.clone() };
        let kept = read_writer(&changed.folder(), "pit").unwrap().kept;
        let first = changed.problems()[0].0;
        // A line doubled in its own place stands after itself.
        let near = first.is_none_or(|line| (at as u64 + 1..=at as u64 + 2).contains(&line));
        assert!(near, "changed at line {}, found at {first:?}", at + 1);
        let ids: std::collections::BTreeSet<&str> = kept.iter().map(|kept| kept.id.as_str()).collect();
        let there = changed.lines.iter().filter(|line| whole.lines.contains(line)).count();
        assert!(ids.len() + 1 >= there.min(8), "what is intact is still read");
    }
}

/// Log and head removed together leave nothing to find, and the verdict says that it could not see that.
#[test]
fn a_log_removed_with_its_head_is_not_found() {
    let verdict = verify(&MemoryStorage::new()).unwrap();
    assert!(verdict.holds() && verdict.text().contains("or both removed"), "{}", verdict.text());
}

/// A line changed by somebody who knows how to make its checksum fit again.
#[test]
fn a_line_rewritten_with_its_checksum_is_found_by_the_next_and_the_last_by_the_head() {
    for place in 0..4 {
        let mut log = Log::new(4);
        let text = String::from_utf8(log.lines[place].clone()).unwrap();
        let (body, _) = text.split_once(",\"sum\"").unwrap();
        let body = body.replace("R.N.", "S.O.");
        let sum: String = Sha256::digest(body.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect();
        log.lines[place] = format!("{body},\"sum\":\"{sum}\"}}\n").into_bytes();
        let line = &log.lines[place];
        assert!(record::read(&line[..line.len() - 1]).record.is_ok());
        let expected = match place {
            3 => (None, Fault::HeadDiffers { seq: 4 }),
            _ => (Some(place as u64 + 2), Fault::Chain),
        };
        assert_eq!(log.problems(), [expected]);
    }
}

#[test]
fn a_missing_end_and_a_changed_head() {
    for left in 0..5_u64 {
        let mut short = Log::new(5);
        short.lines.truncate(left as usize);
        assert_eq!(short.problems(), [(None, Fault::RecordsMissing { from: left + 1, to: 5 })]);
        assert!(matches!(LogWriter::open(short.folder(), "pit"), Err(LogError::Damaged(_))));
    }
    let head_alone = MemoryStorage::new().with("pit.head", &Log::new(5).head);
    assert_eq!(verify(&head_alone).unwrap().problems[0].fault, Fault::RecordsMissing { from: 1, to: 5 });

    let no_head = MemoryStorage::new().with("pit.jsonl", &Log::new(5).lines.concat());
    assert_eq!(
        verify(&no_head).unwrap().problems[0].fault,
        Fault::Unconfirmed { from: 1, to: 5, head: false }
    );
    let mut old = Log::new(5);
    old.head = Log::new(3).head;
    assert_eq!(old.problems(), [(None, Fault::Unconfirmed { from: 4, to: 5, head: true })]);
    // One behind is what a crash leaves, and what a forged record leaves: a person has to say which.
    old.head = Log::new(4).head;
    let folder = old.folder();
    assert_eq!(verify(&folder).unwrap().problems[0].fault, Fault::Unconfirmed { from: 5, to: 5, head: true });
    let log = LogWriter::open(folder.clone(), "pit").unwrap();
    assert_eq!(log.last_seq(), 5);
    let verdict = verify(&folder).unwrap();
    assert!(verdict.holds(), "its writer is at work");
    assert_eq!(verdict.notes[0].fault, Fault::BeingWritten);
}

#[test]
fn a_log_under_another_name() {
    let log = Log::new(3);
    let folder = log.folder().with("truck.jsonl", &log.lines.concat()).with("truck.head", &log.head);
    let verdict = verify(&folder).unwrap();
    assert_eq!(verdict.problems.len(), 1);
    assert_eq!(verdict.problems[0].fault, Fault::Writer("pit".into()));
    assert_eq!((verdict.problems[0].file.as_str(), verdict.problems[0].line), ("truck.jsonl", Some(1)));
    assert_eq!(read_car(&folder).unwrap().kept.len(), 3, "no record is read twice");
    let stray = log.folder().with("pit 2.jsonl", b"");
    assert_eq!(verify(&stray).unwrap().problems[0].fault, Fault::Stray);
}

#[test]
fn a_bad_line_before_the_end_is_reported_and_never_mended() {
    let mut log = Log::new(5);
    log.lines[1][40] ^= 1;
    assert_eq!(log.problems(), [(Some(2), Fault::Bad(RecordError::Sum))]);
    let folder = log.folder();
    let mut writer = LogWriter::open(folder.clone(), "pit").unwrap();
    assert!(writer.notices().is_empty());
    writer.append(moment(9), "more".into(), signed("R.N.")).unwrap();
    drop(writer);
    assert!(folder.files()["pit.jsonl"].starts_with(&log.lines.concat()));
    let found = read_writer(&folder, "pit").unwrap();
    assert_eq!(found.kept.iter().map(|kept| kept.seq).collect::<Vec<_>>(), [1, 3, 4, 5, 6]);
    assert_eq!(found.problems.len(), 1);

    let mut long = Log::new(3);
    long.lines.insert(1, [vec![b'x'; 3 * record::MAX_LINE], b"\n".to_vec()].concat());
    assert_eq!(long.problems()[0], (Some(2), Fault::Bad(RecordError::TooLong)));
    assert_eq!(read_writer(&long.folder(), "pit").unwrap().kept.len(), 3);
}

#[test]
fn the_last_line_changed_is_damage_and_not_a_torn_end() {
    let mut log = Log::new(4);
    log.lines[3][40] ^= 1;
    assert_eq!(log.problems(), [(Some(4), Fault::Bad(RecordError::Sum))]);
    let Err(LogError::Damaged(problem)) = LogWriter::open(log.folder(), "pit") else { panic!("refused") };
    assert_eq!(problem.line, Some(4));
    let mut newer = Log::new(4);
    newer.lines[3][10] = b'3';
    newer.head = Log::new(3).head;
    assert_eq!(newer.problems()[0], (Some(4), Fault::Bad(RecordError::Newer(3))));
    assert!(matches!(LogWriter::open(newer.folder(), "pit"), Err(LogError::Damaged(_))));
}

/// Every bit of a log and of its head, flipped one at a time: always found, in the line it is in (an end of
/// line joins two lines, and the first of them is named).
#[test]
fn every_flipped_bit_is_found_where_it_is() {
    let storage = MemoryStorage::new();
    let mut writer = LogWriter::open(storage.clone(), "pit").unwrap();
    writer.append(moment(0), "a".into(), signed("R.N.")).unwrap();
    writer.append(moment(1), "b".into(), finding(0.009525, "über")).unwrap();
    writer.append(moment(2), "c".into(), signed("R.N.")).unwrap();
    drop(writer);
    let log = Log::of(&storage);
    let whole = log.lines.concat();
    let (mut line, mut flips) = (1, 0);
    for at in 0..whole.len() {
        for bit in 0..8 {
            let mut bytes = whole.clone();
            bytes[at] ^= 1 << bit;
            let folder = MemoryStorage::new().with("pit.jsonl", &bytes).with("pit.head", &log.head);
            let verdict = verify(&folder).unwrap();
            assert!(!verdict.holds(), "byte {at} bit {bit}");
            assert_eq!(verdict.problems[0].line, Some(line), "byte {at} bit {bit}: {}", verdict.text());
            flips += 1;
        }
        line += u64::from(whole[at] == b'\n');
    }
    for at in 0..log.head.len() {
        for bit in 0..8 {
            let mut head = log.head.clone();
            head[at] ^= 1 << bit;
            let folder = MemoryStorage::new().with("pit.jsonl", &whole).with("pit.head", &head);
            let verdict = verify(&folder).unwrap();
            assert!(!verdict.holds(), "head byte {at} bit {bit}");
            flips += 1;
        }
    }
    assert_eq!(flips, 8 * (whole.len() + log.head.len()));
}

#[test]
fn the_verdict_says_what_it_cannot_see() {
    let good = verify(&short_log("pit", 2)).unwrap();
    assert!(good.text().starts_with("read   pit: 2 records\nThe log verifies: 2 records in 1 log"));
    assert!(good.text().contains("unless the log and its head were both rewritten"));
    let mut log = Log::new(2);
    log.lines[0][40] ^= 1;
    let bad = verify(&log.folder()).unwrap();
    assert!(bad.text().contains("WRONG  pit.jsonl line 1: "), "{}", bad.text());
    assert!(bad.text().contains("DOES NOT verify: 1 problem; 1 record in 1 log"), "{}", bad.text());
    assert!(bad.text().contains("unless the log and its head were both rewritten"));
}
