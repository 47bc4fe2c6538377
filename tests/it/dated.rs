//! Rules with a first and a last day, and changes by which less is asked: they come and go by themselves, say so, and close
//! nothing.
#![cfg(unix)]

use linewalk::diagnostic::{SourceFile, Weight};
use linewalk::rules::load;

use super::strangers::{Machine, words};

/// A bulletin over base: one limit tighter for a time, one check lowered with a reason.
fn bulletin(dates: &str) -> String {
    format!(
        "format = 1\n[ruleset]\nid = \"bulletin\"\ntitle = \"Bulletin 4\"\nedition = \"4\"\nreviewed = 2026-11-01\n\
         review_every = \"1 year\"\nextends = [\"base\"]\n{dates}\n\
         [[check]]\nid = \"lf-hose-at-steer-lock\"\nseverity = \"note\"\nreason = \"steering is locked this season\"\n"
    )
}

fn rules(text: &str) -> linewalk::rules::Loaded {
    load(&[SourceFile::new("bulletin.toml", text)], &|id, _| linewalk::rules::built_in(id))
}

fn severity_on(machine: &Machine, day: &str) -> String {
    let out = machine.run(&["--on", day, "rules", "list", "bulletin.toml"]);
    let text = words(&out);
    let line =
        text.lines().find(|line| line.contains("lf-hose-at-steer-lock")).unwrap_or_else(|| panic!("{text}"));
    line.to_lowercase()
}

/// The day before, the first day, the last day, the day after.
#[test]
fn a_bulletin_begins_and_runs_out_by_itself() {
    let machine = Machine::walked();
    machine.write("bulletin.toml", &bulletin("effective = 2027-03-01\nexpires = 2027-03-31"));
    for (day, lowered) in
        [("2027-02-28", false), ("2027-03-01", true), ("2027-03-31", true), ("2027-04-01", false)]
    {
        let line = severity_on(&machine, day);
        assert_eq!(line.contains("note"), lowered, "{day}: {line}");
        let report = words(&machine.run(&["--rules", "bulletin.toml", "--on", day, "report", "seven.toml"]));
        let flat = report.split_whitespace().collect::<Vec<_>>().join(" ");
        let said = match day {
            "2027-02-28" => "are in force from 2027-03-01",
            "2027-03-01" => "are in force up to and with 2027-03-31",
            "2027-03-31" => "are in force today for the last day",
            _ => "ran out on 2027-03-31",
        };
        assert!(flat.contains(said), "{day}: {flat}");
    }
}

/// A ruleset that extends nothing stays in force past its last day, and it is said.
#[test]
fn a_root_never_lapses() {
    let ground = include_str!("../bad/rules/ground.toml");
    let machine = Machine::walked();
    let old = ground.replacen("review_every", "expires = 2026-11-30\nreview_every", 1);
    machine.write("old.toml", &old);
    let before = words(&machine.run(&["--on", "2026-11-29", "rules", "list", "old.toml"]));
    let after = words(&machine.run(&["--on", "2027-01-05", "rules", "list", "old.toml"]));
    assert!(before.contains("hose-gap") && after.contains("hose-gap"), "{after}");
    let report = words(&machine.run(&["--rules", "old.toml", "--on", "2027-01-05", "report", "seven.toml"]));
    let flat = report.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("out of date since 2026-11-30, and stay in force"), "{flat}");
}

/// Each key by which some car is asked or stopped less needs a reason; with one it is printed.
#[test]
fn less_needs_a_reason() {
    let ground = SourceFile::new("ground.toml", include_str!("../bad/rules/ground.toml"));
    let change = |lines: &str| {
        let text = format!(
            "format = 1\n[ruleset]\nid = \"club\"\ntitle = \"Club\"\nedition = \"1\"\nreviewed = 2026-11-01\n\
             review_every = \"1 year\"\nextends = [\"ground\"]\n[[check]]\nid = \"hose-gap\"\n{lines}\n"
        );
        load(&[SourceFile::new("club.toml", text)], &|_, _| Some(std::sync::Arc::clone(&ground)))
    };
    let errors = |lines: &str| {
        let loaded = change(lines);
        loaded.diagnostics.iter().filter(|one| one.weight == Weight::Error).count()
    };
    for (lines, what) in [
        ("severity = \"note\"", "severity stop -> note"),
        ("measure = { min = \"1/4 in\" }", "least 1/2 in -> 1/4 in"),
        ("when = { fuel = [\"methanol\"] }", "asked only of cars with"),
        ("unless = { all = [\"booster\"] }", "booster"),
        ("profiles = [\"scales\"]", "no longer part of"),
        ("clear = [\"measure.min\"]", "least 1/2 in -> none"),
    ] {
        let loaded = change(lines);
        let said: Vec<&str> = loaded.diagnostics.iter().map(|one| one.message.as_str()).collect();
        let mine: Vec<&&str> = said.iter().filter(|message| message.contains("without a reason")).collect();
        let [message] = mine[..] else { panic!("{lines}: {said:?}") };
        assert!(message.contains(what), "{lines}: {message}");
        assert_eq!(errors(&format!("reason = \"the club decided so\"\n{lines}")), 0, "{lines}");
        let kept = change(&format!("reason = \"the club decided so\"\n{lines}")).rules;
        assert_eq!(kept.lessened[0].reason, "the club decided so");
    }
    // More needs none.
    for lines in ["measure = { min = \"3/4 in\" }", "severity = \"stop\""] {
        assert_eq!(errors(lines), 0, "{lines}: {:?}", change(lines).diagnostics);
    }
}

/// The reason stands on the report, and the file that gives none is refused with its place.
#[test]
fn a_reason_is_printed_on_the_report() {
    let machine = Machine::walked();
    machine.write("bulletin.toml", &bulletin(""));
    let report = words(&machine.run(&["--rules", "bulletin.toml", "report", "seven.toml", "--kind", "full"]));
    let flat = report.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        flat.contains("asks or stops less at lf-hose-at-steer-lock (steering is locked this season)"),
        "{flat}"
    );
    let without = bulletin("").replace("reason = \"steering is locked this season\"\n", "");
    assert!(rules(&without).diagnostics.iter().any(|one| one.message.contains("without a reason")));
}
