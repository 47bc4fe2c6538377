//! The log: what is written, what is refused, what reads back.

use std::fs;
use std::path::Path;

use crate::memory_storage::MemoryStorage;
use linewalk::logbook::export;
use linewalk::logbook::problem::Fault;
use linewalk::logbook::reader::{read_car, read_writer};
use linewalk::logbook::record::{self, RecordError};
use linewalk::logbook::storage::{Storage, Trouble};
use linewalk::logbook::verify::verify;
use linewalk::logbook::writer::{LogError, LogWriter};
use linewalk::model::entry::{
    Entry, Finding, JudgedBy, Kept, Moment, Outcome, Reading, RowTyped, RulesMark, Severity,
};
use linewalk::model::history::History;
use linewalk::shell::disk::DiskStorage;
use proptest::prelude::*;
use sha2::{Digest, Sha256};

/// A moment so many seconds into a morning.
pub fn moment(seconds: i64) -> Moment {
    let start: Moment = "2026-11-25T08:00:00.250-05:00".parse().unwrap();
    start + chrono::TimeDelta::seconds(seconds)
}

/// A short entry.
pub fn signed(by: &str) -> Entry {
    Entry::Signed { walk: "w1".into(), role: "fitter".into(), by: by.into() }
}

/// A folder with one log of so many short records.
pub fn short_log(writer: &str, records: i64) -> MemoryStorage {
    let storage = MemoryStorage::new();
    let mut log = LogWriter::open(storage.clone(), writer).unwrap();
    for count in 0..records {
        log.append(moment(count), format!("{writer}-{count}"), signed("R.N.")).unwrap();
    }
    storage
}

/// A finding with every kind of value in it.
pub fn finding(si: f64, note: &str) -> Entry {
    Entry::Finding(Box::new(Finding {
        walk: "w1".into(),
        check: "hose-bow".into(),
        of: Some("axle-hose".into()),
        code: Some("RR07".into()),
        title: "The hose clears the axle".into(),
        result: Outcome::Reject,
        verdict: Some(Outcome::Accept),
        judged_by: JudgedBy::Person,
        by_eye: false,
        by_station: false,
        limit_unknown: false,
        limit: None,
        row: None,
        rows: vec![RowTyped {
            text: "3/8 in".into(),
            si: Some(si),
            unit: Some("m".into()),
            ..RowTyped::default()
        }],
        value: None,
        si: Some(si),
        unit: Some("m".into()),
        low: None,
        high: None,
        chance: None,
        instrument: None,
        severity: Severity::Stop,
        note: Some(note.into()),
        photos: Vec::new(),
        by: Some("R.N.".into()),
        seen_at: Some(moment(-3600)),
        closes: None,
        sheet: None,
        rules: RulesMark { id: "club".into(), edition: "2026-03".into(), sha256: "00".into() },
    }))
}

fn reading(si: Option<f64>) -> Entry {
    let key = "brakes.fluid_hottest".into();
    Entry::Reading(Reading {
        key,
        value: "x".into(),
        si,
        instrument: None,
        by: None,
        seen_at: None,
        sheet: None,
    })
}

fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// A log made by another program after the description of the format alone, its hashes by another library
/// (Python's hashlib and json). It is kept for ever: whatever becomes of the program must read it.
#[test]
fn the_first_format_reads_for_ever() {
    let folder = Path::new("tests/logs/v1-heron");
    let storage = DiskStorage::at(folder);
    let verdict = verify(&storage).unwrap();
    assert!(verdict.holds() && verdict.notes.is_empty(), "{}", verdict.text());
    let car = read_car(&storage).unwrap();
    assert_eq!(car.kept.len(), 8);
    let Entry::Finding(reject) = &car.kept[2].entry else { panic!("third is a finding") };
    assert_eq!(reject.result, Outcome::Reject);
    assert_eq!(reject.verdict, Some(Outcome::Accept));
    assert_eq!(reject.si, Some(0.009525));
    assert_eq!(reject.photos[0].file, "hose-1.jpg");
    let Entry::Remark { text, .. } = &car.kept[4].entry else { panic!("fifth is a remark") };
    assert_eq!(text, "Says: \"new hose fitted last week\"\nnot by us");
    assert!(matches!(&car.kept[7].entry, Entry::WalkEnded { .. }));

    assert_eq!((reject.judged_by, reject.by_eye, reject.code.as_deref()), (JudgedBy::Person, false, None));
    assert_eq!(typed(reject), [("", "3/8 in", Some(0.009525), Some("tape"))]);
}

/// What was typed: row, text, SI, instrument.
fn typed(finding: &Finding) -> Vec<(&str, &str, Option<f64>, Option<&str>)> {
    let rows = finding.rows.iter();
    rows.map(|row| (row.id.as_str(), row.text.as_str(), row.si, row.instrument.as_deref())).collect()
}

/// Format 1 wrote words for what are fields today. Each is read once, where the line is read, and means what it meant.
#[test]
fn words_of_the_first_format_become_fields() {
    let finding = |rest: &str| {
        let members = format!(
            r#""kind":"finding","walk":"w1","check":"gap","title":"Gap","result":"reject",{rest}"severity":"stop","rules":{{"id":"club","edition":"1","sha256":"00"}}"#
        );
        match record::read(line_of(1, &members).as_bytes()).record.unwrap().kept.entry {
            Entry::Finding(finding) => *finding,
            other => panic!("{other:?}"),
        }
    };
    let number = finding(r#""value":"no","by":"computed","#);
    assert_eq!((number.judged_by, number.by.as_deref()), (JudgedBy::Program, None));
    assert_eq!((number.value.as_deref(), number.rows.len()), (Some("no"), 0));
    let by_eye = finding(r#""value":"by eye","by":"R.N.","#);
    assert_eq!((by_eye.by_eye, by_eye.value.as_deref(), by_eye.rows.len()), (true, None, 0));
    let two = finding(r#""value":"first = 120 psi; later = 118 psi","by":"R.N.","#);
    assert_eq!(typed(&two), [("first", "120 psi", None, None), ("later", "118 psi", None, None)]);
    assert_eq!(
        (two.value.as_deref(), two.value_words().as_deref()),
        (None, Some("first = 120 psi; later = 118 psi"))
    );
    let both = finding(r#""value":"1/4 in; Bow: 0.2 in at rear","si":0.00508,"by":"R.N.","#);
    assert_eq!(typed(&both), [("", "1/4 in", None, None)]);
    assert_eq!(both.value.as_deref(), Some("Bow: 0.2 in at rear"));
    let banded = finding(r#""value":"0.2 in","si":0.00508,"low":0.005,"high":0.0052,"by":"R.N.","#);
    assert_eq!((banded.rows.len(), banded.value.as_deref()), (0, Some("0.2 in")));
}

/// The same words typed by a person today are words: a name, a note, a value that is refused.
#[test]
fn words_that_a_person_types_carry_no_meaning() {
    let Entry::Finding(plain) = finding(0.01, "by eye") else { panic!("no finding") };
    let named = Finding { by: Some("computed".into()), value: Some("by eye".into()), ..*plain };
    let mut log = LogWriter::open(MemoryStorage::new(), "pit").unwrap();
    let kept = log.append(moment(0), "a".into(), Entry::Finding(Box::new(named))).unwrap();
    let Entry::Finding(read) = kept.entry else { panic!("no finding") };
    assert!(!read.is_computed() && !read.by_eye);
    assert_eq!(read.by.as_deref(), Some("computed"));
}

/// A log of format 2 made by another program after the description of the format alone (Python's hashlib and json).
#[test]
fn the_second_format_reads_for_ever() {
    let folder = Path::new("tests/logs/v2-heron");
    let storage = DiskStorage::at(folder);
    let verdict = verify(&storage).unwrap();
    assert!(verdict.holds() && verdict.notes.is_empty(), "{}", verdict.text());
    let car = read_car(&storage).unwrap();
    let history = History::fold(car.kept.clone());
    let findings = history.findings();
    let [(_, measured), (_, worked), (_, by_eye)] = findings.as_slice() else { panic!("{findings:?}") };
    assert!(worked.is_computed() && !measured.is_computed() && by_eye.by_eye);
    assert_eq!(measured.code.as_deref(), Some("RR07-b"));
    assert_eq!(
        typed(measured),
        [("first", "120 psi", Some(827_370.88), Some("gauge")), ("later", "118 psi", Some(813_581.36), None)]
    );
    let notes = history.not_judged();
    let [(kept, note)] = notes.as_slice() else { panic!("{notes:?}") };
    assert_eq!((note.check.as_str(), note.note.as_deref()), ("pull-knob-label", Some("label is loose")));
    assert!(history.is_after_signing(kept, &note.walk) && note.photos.len() == 1);

    // The same records written by this program give the same bytes.
    let copy = MemoryStorage::new();
    let mut log = LogWriter::open(copy.clone(), "bench-laptop").unwrap();
    for kept in car.kept {
        log.append(kept.at, kept.id, kept.entry).unwrap();
    }
    log.settle().unwrap();
    for name in ["bench-laptop.jsonl", "bench-laptop.head"] {
        let written = String::from_utf8(copy.files()[name].clone()).unwrap();
        assert_eq!(written, fs::read_to_string(folder.join(name)).unwrap(), "{name}");
    }
}

#[test]
fn lines_and_head_are_as_described() {
    let files = short_log("pit", 2).files();
    let text = String::from_utf8(files["pit.jsonl"].clone()).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    let mut prev = "0".repeat(64);
    for (place, line) in lines.iter().enumerate() {
        let body = format!(
            "{{\"format\":2,\"id\":\"pit-{place}\",\"writer\":\"pit\",\"seq\":{},\"prev\":\"{prev}\",\
             \"at\":\"2026-11-25T08:00:0{place}.250-05:00\",\"kind\":\"signed\",\"walk\":\"w1\",\
             \"role\":\"fitter\",\"by\":\"R.N.\"",
            place + 1
        );
        assert_eq!(*line, format!("{body},\"sum\":\"{}\"}}", sha256(body.as_bytes())));
        prev = sha256(line.as_bytes());
    }
    let sum = &lines[1][lines[1].len() - 66..lines[1].len() - 2];
    assert_eq!(files["pit.head"], format!("{{\"seq\":2,\"sum\":\"{sum}\"}}").into_bytes());
}

#[test]
fn what_cannot_be_kept_is_refused_and_the_log_goes_on() {
    let storage = MemoryStorage::new();
    let mut log = LogWriter::open(storage.clone(), "pit").unwrap();
    let refused = |outcome: Result<Kept, LogError>| match outcome {
        Err(LogError::Record(error)) => error,
        other => panic!("{other:?}"),
    };
    let long = "x".repeat(record::MAX_LINE);
    assert_eq!(refused(log.append(moment(0), "a".into(), reading(Some(f64::NAN)))), RecordError::Null);
    assert_eq!(refused(log.append(moment(0), "a".into(), reading(Some(f64::INFINITY)))), RecordError::Null);
    assert_eq!(refused(log.append(moment(0), "a".into(), signed(&long))), RecordError::TooLong);
    assert_eq!(refused(log.append(moment(0), "a\"".into(), signed(""))), RecordError::Id("a\"".into()));
    assert!(!storage.files().contains_key("pit.jsonl"));
    assert_eq!(log.append(moment(0), "a".into(), reading(None)).unwrap().seq, 1);
    assert!(matches!(LogWriter::open(storage, "../pit"), Err(LogError::WriterId(_))));
}

/// A line with a fitting checksum around any members.
fn line_of(format: u64, members: &str) -> String {
    let zeros = "0".repeat(64);
    let body = format!(
        "{{\"format\":{format},\"id\":\"a\",\"writer\":\"pit\",\"seq\":1,\"prev\":\"{zeros}\",\
         \"at\":\"2026-11-25T08:00:00.000Z\",{members}"
    );
    format!("{body},\"sum\":\"{}\"}}", sha256(body.as_bytes()))
}

#[test]
fn lines_with_fitting_checksums_are_still_checked() {
    let fault = |line: &str| record::read(line.as_bytes()).record.unwrap_err();
    let good = r#""kind":"reading","key":"k","value":"1 m","si":1.0"#;
    assert!(record::read(line_of(1, good).as_bytes()).record.is_ok());
    assert!(record::read(line_of(2, good).as_bytes()).record.is_ok());
    assert_eq!(fault(&line_of(3, good)), RecordError::Newer(3));
    assert!(RecordError::Newer(3).to_string().contains("written by a newer program"));
    assert_eq!(fault(&line_of(0, good)), RecordError::Shape("format"));
    let cases = [
        (r#""kind":"reading","key":"k","value":"1","value":"2""#, RecordError::Key("value".into())),
        (r#""kind":"reading","kind":"reading","key":"k","value":"1""#, RecordError::Key("kind".into())),
        (r#""kind":"reading","key":"k","value":"1","seq":9"#, RecordError::Key("seq".into())),
        (r#""kind":"reading","key":"k","value":"1","si":null"#, RecordError::Null),
        (r#""kind":"reading","key":"k", "value":"1""#, RecordError::Shape("compact payload")),
    ];
    for (members, error) in cases {
        assert_eq!(fault(&line_of(1, members)), error, "{members}");
    }
    for members in [
        r#""kind":"reading","key":"k","value":"1","si":NaN"#,
        r#""kind":"reading","key":"k","value":"1","si":1e999"#,
        r#""kind":"reading","key":"k""#,
        r#""kind":"guess","key":"k""#,
    ] {
        assert!(matches!(fault(&line_of(1, members)), RecordError::Payload(_)), "{members}");
    }
}

#[test]
fn two_programs_cannot_write_one_log() {
    let storage = short_log("pit", 1);
    let first = LogWriter::open(storage.clone(), "pit").unwrap();
    let Err(LogError::Storage(error)) = LogWriter::open(storage.clone(), "pit") else { panic!("locked") };
    assert_eq!(error.trouble, Trouble::Held);
    assert!(error.to_string().contains("another program has this log open"), "{error}");
    assert!(LogWriter::open(storage.clone(), "truck").is_ok());
    drop(first);
    assert!(LogWriter::open(storage, "pit").is_ok());
}

#[test]
fn a_car_is_read_in_the_order_of_time() {
    let storage = MemoryStorage::new();
    let mut pit = LogWriter::open(storage.clone(), "pit").unwrap();
    let mut truck = LogWriter::open(storage.clone(), "truck").unwrap();
    pit.append(moment(10), "p1".into(), signed("a")).unwrap();
    truck.append(moment(5), "t1".into(), signed("b")).unwrap();
    // The same moment by a clock of another offset, and a later one whose text would sort first.
    let west: Moment = moment(10).with_timezone(&chrono::FixedOffset::west_opt(8 * 3600).unwrap());
    truck.append(west, "t2".into(), signed("b")).unwrap();
    pit.append(moment(20), "p2".into(), signed("a")).unwrap();
    drop((pit, truck));
    let car = read_car(&storage).unwrap();
    assert_eq!(car.kept.iter().map(|kept| kept.id.as_str()).collect::<Vec<_>>(), ["t1", "p1", "t2", "p2"]);
    assert!(car.problems.is_empty());
    assert_eq!(car.kept[2].at.to_rfc3339(), west.to_rfc3339());
}

#[test]
fn on_a_real_disk() {
    let folder = tempfile::tempdir().unwrap();
    let storage = || DiskStorage::create(folder.path().join("heron")).unwrap();
    let mut log = LogWriter::open(storage(), "pit").unwrap();
    for count in 0..5 {
        log.append(moment(count), format!("a{count}"), finding(0.1, "ä\n\"")).unwrap();
    }
    let Err(LogError::Storage(held)) = LogWriter::open(storage(), "pit") else { panic!("locked") };
    assert_eq!(held.trouble, Trouble::Held);
    assert!(held.to_string().contains("pit.lock") && held.to_string().contains("close the other program"));
    drop(log);
    let path = folder.path().join("heron/pit.jsonl");
    let whole = fs::read(&path).unwrap();
    fs::write(&path, [whole.as_slice(), b"{\"format\":1,\"id\":\"a5"].concat()).unwrap();
    let mut log = LogWriter::open(storage(), "pit").unwrap();
    assert_eq!(log.notices().len(), 1);
    assert!(log.notices()[0].contains("pit.torn-1"), "{:?}", log.notices());
    assert_eq!(fs::read(folder.path().join("heron/pit.torn-1")).unwrap(), b"{\"format\":1,\"id\":\"a5");
    assert_eq!(fs::read(&path).unwrap(), whole);
    assert_eq!(log.append(moment(9), "a5".into(), signed("R.N.")).unwrap().seq, 6);
    assert_eq!(read_car(&storage()).unwrap().kept.len(), 6);
    assert!(verify(&storage()).unwrap().holds());
    let left: Vec<String> = storage().list().unwrap();
    assert_eq!(left, ["pit.head", "pit.jsonl", "pit.lock", "pit.torn-1"]);
    assert!(storage().create("pit.head", b"").is_err());
    storage().remove("not-there").unwrap();
    let error = verify(&DiskStorage::at(folder.path().join("gone"))).unwrap_err().to_string();
    assert!(error.contains("gone") && error.contains("check that the folder is there"), "{error}");
}

#[test]
fn a_table_and_json_for_other_programs() {
    let storage = MemoryStorage::new();
    let mut log = LogWriter::open(storage.clone(), "pit").unwrap();
    log.append(moment(0), "a".into(), finding(-0.5, "=HYPERLINK(\"x\"), see")).unwrap();
    log.append(moment(1), "b".into(), reading(None)).unwrap();
    drop(log);
    let car = read_car(&storage).unwrap();
    let table = export::csv(&car.kept);
    let lines: Vec<&str> = table.split("\r\n").collect();
    assert_eq!(lines.len(), 4);
    assert_eq!(lines[0], export::COLUMNS.join(","));
    assert_eq!(
        lines[1],
        "2026-11-25T08:00:00.250-05:00,pit,1,a,finding,w1,hose-bow,axle-hose,The hose clears the axle,reject,\
         accept,,,3/8 in,-0.5,m,,,,,stop,\"'=HYPERLINK(\"\"x\"\"), see\",,R.N.,2026-11-25T07:00:00.250-05:00,\
         ,,,,,,,,,,,,,club,2026-03,00,,,,RR07,person,,3/8 in,,,,"
    );
    let json: serde_json::Value = serde_json::from_str(&export::json(&car.kept, &car.problems)).unwrap();
    assert_eq!(json["format"], 1);
    assert_eq!(json["records"][0]["result"], "reject");
    assert_eq!(json["records"][0]["rules"]["edition"], "2026-03");
    assert_eq!(json["records"][1]["seq"], 2);
    assert_eq!(json["problems"], serde_json::json!([]));
}

#[test]
fn a_writer_at_work_is_no_damage_to_a_reader() {
    let storage = short_log("pit", 3);
    let found = read_writer(&storage, "pit").unwrap();
    assert_eq!((found.kept.len(), found.problems.len()), (3, 0));
    let files = storage.files();
    let torn = [files["pit.jsonl"].as_slice(), b"{\"form"].concat();
    let found = read_writer(&storage.with("pit.jsonl", &torn), "pit").unwrap();
    assert_eq!(found.kept.len(), 3);
    assert_eq!(found.problems[0].fault, Fault::Torn { bytes: 6 });
    assert_eq!(found.problems[0].line, Some(4));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Numbers at full precision and any text come back as they were given, and verify.
    #[test]
    fn whatever_is_kept_reads_back(values in prop::collection::vec(
        (any::<f64>().prop_filter("finite", |value| value.is_finite()), ".*"), 1..6)
    ) {
        let storage = MemoryStorage::new();
        let mut log = LogWriter::open(storage.clone(), "pit").unwrap();
        let mut given = Vec::new();
        for (place, (si, note)) in values.iter().enumerate() {
            given.push(log.append(moment(0), format!("a{place}"), finding(*si, note)).unwrap());
            prop_assert_eq!(&given[place].entry, &finding(*si, note));
        }
        prop_assert_eq!(read_writer(&storage, "pit").unwrap().kept, given);
        prop_assert!(verify(&storage).unwrap().holds());
    }
}
