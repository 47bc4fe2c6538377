//! The program as a file and as a command.

use std::fmt::Write;
use std::hint::black_box;
use std::process::{Command, Stdio};
use std::time::Instant;

use linewalk::diagnostic::{SourceFile, any_error};
use linewalk::rules::{CaseOutcome, load, run_cases};

use crate::{HERE, PROGRAM, Row, least};

fn run(program: &str, words: &[String]) {
    let status = Command::new(program).args(words).current_dir(HERE).stdout(Stdio::null()).status();
    assert!(status.unwrap().success(), "{program}");
}

pub fn rules() -> Vec<Row> {
    let shipped = std::fs::read_dir(format!("{HERE}/rulesets")).unwrap().map(|file| file.unwrap().path());
    let mut files: Vec<String> = shipped.map(|path| path.to_str().unwrap().to_owned()).collect();
    files.retain(|name| name.ends_with(".toml"));
    let words = [vec!["rules".to_owned(), "check".to_owned()], files.clone()].concat();
    vec![Row {
        what: format!("`rules check` of the {} shipped files", files.len()),
        yardstick: "`cat` of them".to_owned(),
        ours: least(30, 1, || run(PROGRAM, &words)),
        theirs: least(30, 1, || run("cat", &files)),
        reach: "≤ 20 ms",
    }]
}

/// Rules of so many checks, each with a limit and a case.
fn ruleset(checks: usize) -> String {
    let base = std::fs::read_to_string(format!("{HERE}/tests/fixtures/walk/rules.toml")).unwrap();
    let mut text = base.split("[[check]]").next().unwrap().to_owned();
    for check in 0..checks {
        write!(
            text,
            "[[check]]\nid = \"c{check}\"\nstation = \"nose\"\ntopic = \"brake-lines\"\ntitle = \"Gap {check}\"\n\
             look = \"Hold a rule to it.\"\naccept = \"Half an inch or more.\"\nreject = \"Less.\"\n\
             why = \"It rubs.\"\nremedy = \"Move it.\"\nmethod = \"measure\"\nseverity = \"fix\"\n\
             profiles = [\"owner\"]\nmeasure = {{ unit = \"in\", min = \"1/2 in\", instrument = \"tape\" }}\n\
             [[check.case]]\ngiven = {{ value = \"1 in\", instrument = \"tape\", result = \"accept\" }}\nexpect = \"accept\"\n\n"
        )
        .unwrap();
    }
    text
}

pub fn growth() -> Vec<(usize, f64)> {
    let point = |checks: usize| {
        let text = ruleset(checks);
        let time = least(5, 1, || {
            let loaded = load(&[SourceFile::new("rules.toml", text.as_str())], &|_, _| None);
            assert!(!any_error(&loaded.diagnostics), "{:?}", loaded.diagnostics);
            assert_eq!(loaded.rules.checks.len(), checks);
            assert!(black_box(run_cases(&loaded.rules)).iter().all(CaseOutcome::passed));
        });
        (checks, time)
    };
    // No more than 2 000 are read of any list.
    [10, 100, 1_000, 2_000].map(point).into()
}

pub fn size() -> Vec<Row> {
    vec![Row {
        what: "the program as a file".to_owned(),
        yardstick: "–".to_owned(),
        ours: std::fs::metadata(PROGRAM).unwrap().len() as f64,
        theirs: f64::NAN,
        reach: "≤ 10 MB",
    }]
}

/// From nothing but the downloaded sources, on two cores.
pub fn build() -> Vec<Row> {
    let folder = tempfile::tempdir().unwrap();
    let start = Instant::now();
    let status = Command::new("taskset")
        .args(["-c", "0,1", "cargo", "build", "--release", "--locked", "-j", "2"])
        .current_dir(HERE)
        .env("CARGO_TARGET_DIR", folder.path())
        .env_remove("CARGO_INCREMENTAL")
        .status();
    assert!(status.unwrap().success());
    vec![Row {
        what: "cold `cargo build --release`, two cores".to_owned(),
        yardstick: "–".to_owned(),
        ours: start.elapsed().as_secs_f64(),
        theirs: f64::NAN,
        reach: "≤ 150 s",
    }]
}
