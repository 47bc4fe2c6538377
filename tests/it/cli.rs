//! The program as a process: what goes to which stream, and with which status.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use scratch::Scratch;
use serde_json::Value;

/// A folder of its own for each test, gone when it ends.
mod scratch {
    use std::fs;
    use std::path::{Path, PathBuf};
    use std::sync::atomic::{AtomicU32, Ordering};

    static NEXT: AtomicU32 = AtomicU32::new(0);

    pub struct Scratch(PathBuf);

    impl Scratch {
        pub fn new() -> Self {
            let name = format!("linewalk-{}-{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
            let path = std::env::temp_dir().join(name);
            fs::create_dir_all(&path).unwrap();
            Self(path)
        }

        pub fn path(&self) -> &Path {
            &self.0
        }
    }

    impl Drop for Scratch {
        fn drop(&mut self) {
            let _ = fs::remove_dir_all(&self.0);
        }
    }
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn sample(name: &str) -> String {
    root().join("sample-cars").join(name).display().to_string()
}

fn program(scratch: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_linewalk"));
    command
        .current_dir(root())
        .env("LINEWALK_DATA_DIR", scratch.join("data"))
        .env("XDG_CONFIG_HOME", scratch.join("config"))
        .env("HOME", scratch)
        .stdin(Stdio::null());
    command
}

fn run(scratch: &Scratch, args: &[&str]) -> Output {
    program(scratch.path()).args(args).output().unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

fn status(output: &Output) -> i32 {
    output.status.code().unwrap()
}

/// A car of four lines and an answers file of the owner's profile.
fn four_lines(scratch: &Scratch) -> String {
    let path = scratch.path().join("car.toml");
    fs::write(&path, "format = 1\n[car]\nid = \"plain\"\nnumber = \"7\"\n").unwrap();
    path.display().to_string()
}

fn answers(scratch: &Scratch, name: &str, body: &str) -> String {
    let path = scratch.path().join(name);
    fs::write(&path, format!("format = 1\nprofile = \"scales\"\nby = \"R.N.\"\n{body}")).unwrap();
    path.display().to_string()
}

#[test]
fn without_a_terminal_it_says_what_to_do_instead() {
    let scratch = Scratch::new();
    for args in [&[][..], &["walk", &sample("heron.toml")]] {
        let output = run(&scratch, args);
        assert_eq!(status(&output), 2);
        assert!(err(&output).contains("--answers"), "{}", err(&output));
        assert!(out(&output).is_empty());
    }
}

#[test]
fn a_car_that_is_not_there_is_named_with_the_one_that_may_be_meant() {
    let scratch = Scratch::new();
    let output = run(&scratch, &["walk", &sample("heron.toml"), "--answers", &sample("heron-answers.toml")]);
    assert!(status(&output) < 2, "{}", err(&output));
    let output = run(&scratch, &["report", "herron"]);
    assert_eq!(status(&output), 2);
    assert!(err(&output).contains("did you mean heron?"), "{}", err(&output));
    assert_ne!(status(&run(&scratch, &["report", "heron"])), 2);
}

#[test]
fn a_four_line_car_gets_every_number_refused_by_name() {
    let scratch = Scratch::new();
    let car = four_lines(&scratch);
    let output = run(&scratch, &["numbers", &car, "--format", "json"]);
    assert_eq!(status(&output), 0, "{}", err(&output));
    let json: Value = serde_json::from_str(&out(&output)).unwrap();
    assert_eq!(json["format"], 1);
    assert_eq!(json["car"], "plain");
    assert_eq!(json["numbers"].as_array().unwrap().len(), 0);
    let refused = json["refused"].as_array().unwrap();
    assert!(refused.len() > 40);
    for entry in refused {
        assert!(!entry["needs"].as_array().unwrap().is_empty(), "{entry}");
        assert!(!entry["reason"].as_str().unwrap().is_empty(), "{entry}");
    }
}

#[test]
fn an_open_stop_gives_status_one_until_a_fresh_look_accepts_it() {
    let scratch = Scratch::new();
    let car = four_lines(&scratch);
    let reject = answers(
        &scratch,
        "1.toml",
        "[[answer]]\ncheck = \"lf-hose-at-steer-lock\"\nresult = \"reject\"\nnote = \"tight\"\n",
    );
    assert_eq!(status(&run(&scratch, &["walk", &car, "--answers", &reject])), 1);
    let report = run(&scratch, &["report", &car]);
    assert_eq!(status(&report), 1);
    assert!(out(&report).contains("tight"), "{}", out(&report));
    let repaired =
        answers(&scratch, "2.toml", "[[answer]]\ncheck = \"lf-hose-at-steer-lock\"\nresult = \"repaired\"\n");
    assert_eq!(status(&run(&scratch, &["walk", &car, "--answers", &repaired])), 1);
    assert_eq!(status(&run(&scratch, &["report", &car])), 1);
    let accept =
        answers(&scratch, "3.toml", "[[answer]]\ncheck = \"lf-hose-at-steer-lock\"\nresult = \"accept\"\n");
    assert_eq!(status(&run(&scratch, &["walk", &car, "--answers", &accept])), 0);
    assert_eq!(status(&run(&scratch, &["report", &car])), 0);
    assert_eq!(status(&run(&scratch, &["report", &car, "--complete"])), 1);
    assert_eq!(status(&run(&scratch, &["log", "verify", &car])), 0);
}

#[test]
fn a_stage_that_nobody_knows_leaves_no_checks_out() {
    let scratch = Scratch::new();
    let car = four_lines(&scratch);
    let sheet = |profile: &str| {
        let path = scratch.path().join(profile);
        fs::write(&path, format!("format = 1\nprofile = \"{profile}\"\nstage = \"before-bodywork\"\n"))
            .unwrap();
        path.display().to_string()
    };
    for (profile, said, place) in [
        ("shop", ["profile shop has no stage before-bodywork", "stages are before-body, complete"], ":3:9"),
        ("scales", ["profile scales has no stages", "leave stage before-bodywork out"], ":3:9"),
        ("scale", ["there is no profile scale", "profiles are owner, scales, scales-short, shop"], ":2:11"),
    ] {
        let kept = run(&scratch, &["walk", &car, "--answers", &sheet(profile)]);
        assert_eq!(status(&kept), 2);
        assert!(said.iter().all(|said| err(&kept).contains(said)), "{}", err(&kept));
        assert!(err(&kept).contains(place), "{}", err(&kept));
    }
    let other = run(&scratch, &["walk", &car, "--answers", &sheet("shop"), "--stage", "complete"]);
    assert!(err(&other).contains("the sheet is for stage before-bodywork, not complete"), "{}", err(&other));
    let alone = run(&scratch, &["walk", &car, "--stage", "complete"]);
    assert!(err(&alone).contains("give --profile too"), "{}", err(&alone));
    assert!(!scratch.path().join("data/cars").exists(), "nothing was begun");
}

#[test]
fn another_cars_record_is_not_merged() {
    let (one, other) = (Scratch::new(), Scratch::new());
    let mine = four_lines(&one);
    let body = "[[answer]]\ncheck = \"ds-pedal-hold\"\nresult = \"accept\"\nvalue = \"by eye\"\n";
    let theirs = other.path().join("car.toml");
    fs::write(&theirs, "format = 1\n[car]\nid = \"wren\"\nnumber = \"8\"\n").unwrap();
    let theirs = theirs.display().to_string();
    run(&one, &["walk", &mine, "--answers", &answers(&one, "a.toml", body)]);
    run(&other, &["walk", &theirs, "--answers", &answers(&other, "a.toml", body)]);
    let folder = other.path().join("data/cars/wren").display().to_string();
    let merged = run(&one, &["log", "merge", &mine, &folder]);
    assert_eq!(status(&merged), 2);
    let empty = other.path().join("data").display().to_string();
    let nothing = run(&one, &["log", "merge", &mine, &empty]);
    assert_eq!(status(&nothing), 2);
    assert!(err(&nothing).contains("holds no log"), "{}{}", out(&nothing), err(&nothing));
    assert!(err(&merged).contains("holds walks of car 8, and plain is car 7"), "{}", err(&merged));
    // Two files with one id, as where one was copied, are told apart by their numbers.
    fs::write(&theirs, "format = 1\n[car]\nid = \"plain\"\nnumber = \"8\"\n").unwrap();
    let report = run(&one, &["report", &theirs]);
    assert!(out(&report).contains("was of car 7"), "{}", out(&report));
}

#[test]
fn what_an_option_says_is_not_passed_over() {
    let scratch = Scratch::new();
    let car = four_lines(&scratch);
    for (args, said) in [
        (["rules", "check", "--rules", "no-such.toml"].as_slice(), "no-such"),
        (&["rules", "check", "base", "--rules", "base"], "name the rule files once"),
        (&["rules", "list", "--station", "bogus"], "there is no station bogus: known are"),
        (&["rules", "list", "--severity", "STOP"], "known are stop, fix, note"),
        (&["rules", "list", "--topic", "bogus"], "there is no topic bogus"),
        (&["report", &car, "-o", "deficiency.pdf"], "add --format pdf"),
        (&["report", &car, "--on", "2026-11"], "write year-month-day"),
    ] {
        let outcome = run(&scratch, args);
        assert_eq!(status(&outcome), 2, "{args:?}");
        assert!(err(&outcome).contains(said), "{args:?}: {}", err(&outcome));
    }
    assert!(!root().join("deficiency.pdf").exists());
}

#[test]
fn a_date_to_come_is_no_date_to_count_from() {
    let scratch = Scratch::new();
    let (heron, on) = (sample("heron.toml"), "2020-01-01");
    let left = out(&run(&scratch, &["numbers", &heron, "--only", "bottle.service_left", "--on", on]));
    assert!(left.contains("is after 2020-01-01: check the date"), "{left}");
    let due = out(&run(&scratch, &["report", &heron, "--kind", "due", "--on", on]));
    assert!(
        due.split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
            .contains("the date is after the day of this report"),
        "{due}"
    );
}

#[test]
fn a_stop_kept_just_now_counts_whatever_day_dates_are_judged_on() {
    let scratch = Scratch::new();
    let car = four_lines(&scratch);
    let body =
        "[[answer]]\ncheck = \"ds-pedal-hold\"\nresult = \"reject\"\nvalue = \"by eye\"\nnote = \"sinks\"\n";
    let kept =
        run(&scratch, &["walk", &car, "--answers", &answers(&scratch, "a.toml", body), "--on", "2026-11-01"]);
    assert_eq!(status(&kept), 1, "{}{}", out(&kept), err(&kept));
    let report = run(&scratch, &["report", &car, "--on", "2026-11-01"]);
    assert!(out(&report).contains("4 records later than 2026-11-01 are left out"), "{}", out(&report));
}

#[cfg(target_os = "linux")]
#[test]
fn half_a_result_is_not_called_done() {
    let scratch = Scratch::new();
    let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let outcome = program(scratch.path())
        .args(["report", &four_lines(&scratch)])
        .stdout(full)
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
        .wait_with_output()
        .unwrap();
    assert_eq!(status(&outcome), 2);
    assert!(err(&outcome).contains("did not go out whole"), "{}", err(&outcome));
}

#[test]
fn one_bad_answer_keeps_nothing() {
    let scratch = Scratch::new();
    let car = four_lines(&scratch);
    let file = answers(
        &scratch,
        "bad.toml",
        "[[answer]]\ncheck = \"lf-hose-at-steer-lock\"\nresult = \"reject\"\n[[answer]]\ncheck = \"lf-hose-at-ster-lock\"\nresult = \"reject\"\n",
    );
    let output = run(&scratch, &["walk", &car, "--answers", &file]);
    assert_eq!(status(&output), 2);
    assert!(err(&output).contains("bad.toml:8:9"), "{}", err(&output));
    assert!(err(&output).contains("lf-hose-at-steer-lock"), "{}", err(&output));
    assert!(out(&run(&scratch, &["report", &car])).to_lowercase().contains("nothing has been checked"));
}

#[test]
fn any_changed_byte_of_the_log_is_found() {
    let scratch = Scratch::new();
    let car = four_lines(&scratch);
    let file =
        answers(&scratch, "1.toml", "[[answer]]\ncheck = \"lf-hose-at-steer-lock\"\nresult = \"reject\"\n");
    run(&scratch, &["walk", &car, "--answers", &file]);
    let folder = scratch.path().join("data/cars/plain");
    let log = fs::read_dir(&folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .find(|p| p.extension().is_some_and(|e| e == "jsonl"))
        .unwrap();
    let whole = fs::read(&log).unwrap();
    // The first byte, one in the middle and the last letter of the last line.
    for at in [0, whole.len() / 2, whole.len() - 4] {
        let mut changed = whole.clone();
        changed[at] ^= 1;
        fs::write(&log, &changed).unwrap();
        let output = run(&scratch, &["log", "verify", &car]);
        assert_eq!(status(&output), 1, "byte {at}: {}", out(&output));
    }
    fs::write(&log, &whole).unwrap();
    assert_eq!(status(&run(&scratch, &["log", "verify", &car])), 0);
}

#[test]
fn the_same_answers_file_is_refused_unless_said() {
    let scratch = Scratch::new();
    let car = four_lines(&scratch);
    let file =
        answers(&scratch, "1.toml", "[[answer]]\ncheck = \"lf-hose-at-steer-lock\"\nresult = \"accept\"\n");
    assert_eq!(status(&run(&scratch, &["walk", &car, "--answers", &file])), 0);
    let again = run(&scratch, &["walk", &car, "--answers", &file]);
    assert_eq!(status(&again), 2);
    assert!(err(&again).contains("--again"), "{}", err(&again));
    assert_eq!(status(&run(&scratch, &["walk", &car, "--answers", &file, "--again"])), 0);
}

#[test]
fn a_sheet_for_another_car_is_refused() {
    let scratch = Scratch::new();
    let car = four_lines(&scratch);
    let file = answers(
        &scratch,
        "1.toml",
        "car = \"heron\"\n[[answer]]\ncheck = \"lf-hose-at-steer-lock\"\nresult = \"accept\"\n",
    );
    let output = run(&scratch, &["walk", &car, "--answers", &file]);
    assert_eq!(status(&output), 2);
    assert!(err(&output).contains("heron"), "{}", err(&output));
}

#[test]
fn a_closed_pipe_is_no_failure() {
    let scratch = Scratch::new();
    for args in [&["rules", "list"][..], &["man"], &["schema", "rules"], &["licenses"]] {
        let mut child =
            program(scratch.path()).args(args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        drop(child.stdout.take());
        let output = child.wait_with_output().unwrap();
        assert!(!err(&output).contains("panicked"), "{args:?}: {}", err(&output));
        assert_eq!(status(&output), 0, "{args:?}: {}", err(&output));
    }
}

#[test]
fn shipped_rules_check_and_test_clean() {
    let scratch = Scratch::new();
    let files: Vec<String> = fs::read_dir(root().join("rulesets"))
        .unwrap()
        .map(|e| e.unwrap().path().display().to_string())
        .collect();
    for what in ["check", "test"] {
        let mut args = vec!["--on", "2026-11-25", "rules", what];
        args.extend(files.iter().map(String::as_str));
        let output = run(&scratch, &args);
        assert_eq!(status(&output), 0, "{}", out(&output));
    }
}

#[test]
fn the_licence_list_is_that_of_the_lock_file() {
    let lock: toml::Table = fs::read_to_string(root().join("Cargo.lock")).unwrap().parse().unwrap();
    let locked: Vec<String> = lock["package"]
        .as_array()
        .unwrap()
        .iter()
        .map(|package| {
            format!("{} {}", package["name"].as_str().unwrap(), package["version"].as_str().unwrap())
        })
        .collect();
    let list = fs::read_to_string(root().join("src/cli/licenses.txt")).unwrap();
    assert!(list.lines().count() > 50);
    for line in list.lines() {
        let (name, licence) = line.split_once(": ").unwrap();
        assert!(locked.iter().any(|known| known == name), "{name} is not in the lock file");
        assert!(!licence.trim().is_empty() && licence != "None", "{name} names no licence");
    }
}

/// What goes to the printer is the report in pages of 66 lines with a form feed after each, and standard output stays empty.
#[cfg(unix)]
#[test]
fn a_report_is_printed_through_the_system() {
    use std::os::unix::fs::PermissionsExt;
    let scratch = Scratch::new();
    let folder = scratch.path().join("bin");
    fs::create_dir_all(&folder).unwrap();
    let printer = folder.join("lp");
    let printed = scratch.path().join("printed");
    fs::write(&printer, format!("#!/bin/sh\nexec /bin/cat > '{}'\n", printed.display())).unwrap();
    fs::set_permissions(&printer, fs::Permissions::from_mode(0o755)).unwrap();
    let report = |format: &str| {
        let mut command = program(scratch.path());
        command.env("PATH", &folder).args(["report", &sample("minimal.toml"), "--print", "--format", format]);
        command.output().unwrap()
    };
    let output = report("text");
    assert!(output.status.success() && output.stdout.is_empty(), "{output:?}");
    let paper = fs::read_to_string(&printed).unwrap();
    let (pages, rest) = paper.rsplit_once('\u{c}').unwrap();
    assert_eq!(rest, "");
    let pages: Vec<&str> = pages.split('\u{c}').collect();
    assert!(pages.len() > 1);
    for (at, page) in pages.iter().enumerate() {
        assert!(page.ends_with(&format!("page {} of {}\n", at + 1, pages.len())), "{page}");
        assert!(page.lines().count() < 66, "a full page would push out an empty sheet");
        assert!(page.lines().all(|line| line.chars().count() <= 80));
    }
    assert!(report("pdf").status.success());
    assert!(fs::read(&printed).unwrap().starts_with(b"%PDF-"));
    assert_eq!(report("html").status.code(), Some(2));
    fs::write(&printer, "#!/bin/sh\nexit 3\n").unwrap();
    let output = report("text");
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("lp"), "{output:?}");
}
