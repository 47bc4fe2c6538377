//! A long record: read, checked and folded in.

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

use linewalk::logbook::hash::Hex;
use linewalk::logbook::head::Head;
use linewalk::logbook::{names, reader, record};
use linewalk::model::entry::{Entry, Kept, Moment};
use linewalk::shell::disk::DiskStorage;

use crate::Row;

const WRITER: &str = "bench";

/// Findings as a walk writes them, every fourth with a value and a note.
fn write(folder: &Path, records: u64) {
    let mut log = std::io::BufWriter::new(fs::File::create(folder.join(names::log(WRITER))).unwrap());
    let at = Moment::parse_from_rfc3339("2026-11-25T08:00:00.123-05:00").unwrap();
    let mut last = (Hex::ZEROS, Hex::ZEROS);
    for seq in 1..=records {
        let mut finding = serde_json::json!({
            "walk": "0192f0c1-7a00-7000-8000-000000000001", "check": "lf-hose-at-steer-lock", "by": "R.N.",
            "title": "Left front hose keeps its curve at both locks", "result": "accept", "severity": "stop",
            "rules": { "id": "base", "edition": "2026.1", "sha256": Hex::of(b"rules").text() },
        });
        if seq % 4 == 0 {
            finding["value"] = "5/8 in".into();
            finding["si"] = 0.015_875.into();
            finding["instrument"] = "rule".into();
            finding["note"] = "close to the rim at full left lock".into();
        }
        let entry = Entry::Finding(Box::new(serde_json::from_value(finding).unwrap()));
        let id = format!("0192f0c1-7a00-7000-8000-{seq:012x}");
        let written = record::write(Kept { id, writer: WRITER.to_owned(), seq, at, entry }, last.0).unwrap();
        log.write_all(&written.bytes).unwrap();
        last = (written.hash, written.record.sum);
    }
    log.into_inner().unwrap();
    fs::write(folder.join(names::head(WRITER)), Head { seq: records, sum: last.1 }.write()).unwrap();
}

fn read(folder: &Path, records: u64) -> f64 {
    let start = Instant::now();
    let reading = reader::read_car(&DiskStorage::at(folder)).unwrap();
    let time = start.elapsed().as_secs_f64();
    assert!(reading.kept.len() as u64 == records && reading.problems.is_empty());
    time
}

fn best(runs: usize, time: impl FnMut(usize) -> f64) -> f64 {
    (0..runs).map(time).fold(f64::INFINITY, f64::min)
}

pub fn load() -> Vec<Row> {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), 1_000_000);
    let sum = || {
        let start = Instant::now();
        let files = [names::log(WRITER), names::head(WRITER)];
        Command::new("sha256sum").args(files).current_dir(folder.path()).output().unwrap();
        start.elapsed().as_secs_f64()
    };
    vec![Row {
        what: "load and verify 1,000,000 records".to_owned(),
        yardstick: "`sha256sum` of the same files".to_owned(),
        ours: best(3, |_| read(folder.path(), 1_000_000)),
        theirs: best(3, |_| sum()),
        reach: "≤ 3",
    }]
}

pub fn growth() -> Vec<(usize, f64)> {
    let point = |records: u64| {
        let folder = tempfile::tempdir().unwrap();
        write(folder.path(), records);
        (records as usize, best(3, |_| read(folder.path(), records)))
    };
    [100, 1_000, 10_000, 100_000, 1_000_000].map(point).into()
}
