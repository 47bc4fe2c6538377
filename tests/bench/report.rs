//! A deficiency report as PDF.

use std::hint::black_box;

use chrono::NaiveDate;
use linewalk::diagnostic::SourceFile;
use linewalk::model::entry::{Entry, Kept, Moment, Outcome};
use linewalk::model::history::History;
use linewalk::model::read_car;
use linewalk::numbers::Readings;
use linewalk::report::{Input, Kind, Sheet, build, pdf};
use linewalk::rules::{built_in, load};
use linewalk::source::Overrides;
use linewalk::units::Units;

use crate::{HERE, Row, least};

/// Rejects with a note each, over the checks of the base rules and their items.
fn printed(findings: usize, mut with: impl FnMut(&mut dyn FnMut() -> Vec<u8>)) {
    let text = std::fs::read_to_string(format!("{HERE}/sample-cars/heron.toml")).unwrap();
    let car = read_car(&SourceFile::new("heron.toml", text), &Overrides::new()).car;
    let rules = load(&[built_in("base").unwrap()], &|id, _| built_in(id)).rules;
    let mark = serde_json::json!({ "id": "base", "edition": "2026.1", "sha256": "0".repeat(64) });
    let now = Moment::parse_from_rfc3339("2026-11-25T10:00:00-05:00").unwrap();
    let kept = |seq: u64, entry| Kept {
        id: format!("0192f0c1-7a00-7000-8000-{seq:012x}"),
        writer: "w1".to_owned(),
        seq,
        at: now,
        entry,
    };
    let started = serde_json::json!({ "profile": "scales", "rules": mark, "by": "R.N." });
    let mut all = vec![kept(1, Entry::WalkStarted(serde_json::from_value(started).unwrap()))];
    for (at, check) in rules.checks.iter().cycle().take(findings).enumerate() {
        let finding = serde_json::json!({
            "walk": all[0].id, "check": check.id, "title": check.title, "result": Outcome::Reject, "by": "R.N.",
            "of": format!("item-{}", at / rules.checks.len()), "severity": check.severity, "rules": mark,
            "note": format!("found {at} thirty-seconds from the edge, touches when the wheel is turned"),
        });
        let finding = serde_json::from_value(finding).unwrap();
        all.push(kept(all.len() as u64 + 1, Entry::Finding(Box::new(finding))));
    }
    let history = History::fold(all);
    let input = Input {
        car: &car,
        rules: &rules,
        profile: rules.profile("scales"),
        history: &history,
        numbers: &[],
        readings: &Readings::default(),
        curves: &[],
        on: NaiveDate::from_ymd_opt(2026, 11, 25).unwrap(),
        now,
        units: Units::Us,
        complete: false,
        unsettled: false,
        made_by: "linewalk 1.0.0".to_owned(),
        shop: None,
        trouble: Vec::new(),
    };
    with(&mut || {
        let document = build(&input, Kind::Deficiency);
        assert!(document.facts.findings.len() >= findings);
        pdf(&document, Sheet::Letter).unwrap()
    });
}

pub fn deficiency() -> Vec<Row> {
    let mut rows = Vec::new();
    printed(100, |print| {
        let bytes = print();
        let folder = tempfile::tempdir().unwrap();
        rows.push(Row {
            what: format!("deficiency report as PDF, 100 findings, {} kB", bytes.len() / 1000),
            yardstick: "writing the same bytes".to_owned(),
            ours: least(20, 1, || {
                black_box(print());
            }),
            theirs: least(20, 1, || std::fs::write(folder.path().join("same"), &bytes).unwrap()),
            reach: "≤ 30 ms",
        });
    });
    rows
}

pub fn growth() -> Vec<(usize, f64)> {
    let point = |findings: usize| {
        let mut time = 0.0;
        printed(findings, |print| {
            time = least(5, 1, || {
                black_box(print());
            });
        });
        (findings, time)
    };
    [1, 10, 100, 1_000].map(point).into()
}
