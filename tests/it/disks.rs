//! Disks that are full, folders that are closed, gone or taken: what was kept stays kept, and the rest is said.
#![cfg(unix)]

use std::fs;
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use crate::memory_storage::MemoryStorage;
use linewalk::logbook::problem::{Fault, Problem};
use linewalk::logbook::reader::read_car;
use linewalk::logbook::verify::verify;
use linewalk::logbook::writer::LogWriter;
use linewalk::model::entry::{Entry, Moment, Outcome};
use linewalk::model::history::History;
use linewalk::shell::disk::DiskStorage;

use crate::logbook::{finding, moment};
use crate::pty::{Screen, records};

fn car(folder: &Path) -> PathBuf {
    folder.join("data/cars/minimal")
}

fn log(folder: &Path) -> PathBuf {
    let all = fs::read_dir(car(folder)).unwrap().map(|entry| entry.unwrap().path());
    all.into_iter().find(|path| path.extension().is_some_and(|ending| ending == "jsonl")).unwrap()
}

fn run(mut command: Command) -> (Option<i32>, String) {
    let Output { status, stdout, stderr } = command.output().unwrap();
    (status.code(), String::from_utf8_lossy(&[stdout, stderr].concat()).into_owned())
}

fn program(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_linewalk"));
    command.args(arguments).current_dir(env!("CARGO_MANIFEST_DIR")).stdin(Stdio::null());
    command.env("LINEWALK_DATA_DIR", folder.join("data")).env("XDG_CONFIG_HOME", folder.join("config"));
    command
}

fn verified(folder: &Path) {
    let verdict = verify(&DiskStorage::at(car(folder))).unwrap();
    // What was kept as its head could not be put in place stays to be confirmed.
    let past = |problem: &Problem| matches!(problem.fault, Fault::Unconfirmed { from, to, .. } if from == to);
    assert!(verdict.problems.iter().all(past), "{}", verdict.text());
}

/// Takes up the walk again and expects so many answers.
fn expect_answered(folder: &Path, count: usize) {
    let mut screen = Screen::open(folder);
    screen.wait_for(&format!("{count} answered"));
    screen.press("\r");
    screen.wait_for(&format!("{count} of "));
    screen.press("\u{3}");
    screen.ends();
    verified(folder);
}

/// A file system of 200 kB that fills up in the middle of a walk. Needs the right to mount; without it the same
/// is proved in memory only (`crash`).
#[test]
fn a_disk_that_fills_up() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("data");
    fs::create_dir(&data).unwrap();
    let mount = ["-t", "tmpfs", "-o", "size=200k", "none"];
    let mounted = Command::new("mount").args(mount).arg(&data).stderr(Stdio::null()).status();
    if !mounted.is_ok_and(|status| status.success()) {
        println!("not run: this user may not mount");
        return;
    }
    let mut screen = Screen::begun(folder.path());
    let filler = data.join("filler");
    let _ = fs::write(&filler, vec![1; 400_000]);
    // Its record still fits into the block that the log has already, its head does not.
    screen.press("a");
    screen.wait_for("NOTHING MORE is kept: cannot replace");
    // Nothing more is claimed, even when there is room again: the log has to be opened anew.
    fs::remove_file(&filler).unwrap();
    screen.press("a");
    screen.wait_for("NOT KEPT");
    screen.press("\u{3}");
    screen.ends();
    assert_eq!(records(folder.path()), 3, "the walk begun, and what was shown as kept");
    let mut screen = Screen::open(folder.path());
    screen.wait_for("was cut off while it kept 1 record");
    screen.press("\r");
    screen.wait_for("Confirmed");
    screen.press("\u{3}");
    screen.ends();
    expect_answered(folder.path(), 2);
    assert!(Command::new("umount").arg(&data).status().unwrap().success());
}

#[test]
fn the_folder_or_the_log_is_removed_while_it_is_open() {
    let folder = tempfile::tempdir().unwrap();
    let mut screen = Screen::begun(folder.path());
    fs::remove_dir_all(car(folder.path())).unwrap();
    screen.press("a");
    screen.wait_for("NOT KEPT");
    screen.press("\u{3}");
    screen.ends();

    // The log alone: a file that is gone can still be written to, and what is written is gone with it.
    let folder = tempfile::tempdir().unwrap();
    let mut screen = Screen::begun(folder.path());
    let log = log(folder.path());
    let copy = fs::read(&log).unwrap();
    fs::remove_file(&log).unwrap();
    screen.press("a");
    screen.wait_for("NOT KEPT");
    fs::write(&log, copy).unwrap();
    screen.press("\u{3}");
    screen.ends();
    expect_answered(folder.path(), 1);
}

/// Runs as somebody without rights: as nobody where the tests run as root.
fn without_rights(folder: &Path, arguments: &[&str]) -> Option<Command> {
    let root = fs::metadata(folder).unwrap().uid() == 0;
    let plain = program(folder, arguments);
    if !root {
        return Some(plain);
    }
    let rights = ["--reuid=65534", "--regid=65534", "--clear-groups"];
    let able =
        Command::new("setpriv").args(rights).arg(env!("CARGO_BIN_EXE_linewalk")).arg("--version").output();
    if !able.is_ok_and(|out| out.status.success()) {
        println!("not run: this user cannot become another");
        return None;
    }
    let mut command = Command::new("setpriv");
    command.args(rights).arg(plain.get_program()).args(plain.get_args()).stdin(Stdio::null());
    command.current_dir(plain.get_current_dir().unwrap());
    command.envs(plain.get_envs().filter_map(|(name, value)| Some((name, value?))));
    Some(command)
}

fn all_may(path: &Path, mode: u32) {
    fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
}

#[test]
fn folders_that_may_not_be_read_or_written() {
    let folder = tempfile::tempdir().unwrap();
    all_may(folder.path(), 0o755);
    for name in ["data", "config"] {
        fs::create_dir(folder.path().join(name)).unwrap();
    }
    let answers = folder.path().join("answers.toml");
    let text = "format = 1\nby = \"R.N.\"\nprofile = \"scales-short\"\n[[answer]]\n\
                check = \"pins-in-before-hands-in\"\nresult = \"accept\"\n";
    fs::write(&answers, text).unwrap();
    let walk = ["walk", "sample-cars/minimal.toml", "--again", "--answers", answers.to_str().unwrap()];
    all_may(&folder.path().join("config"), 0o777);
    // A data folder that may be read and not written.
    all_may(&folder.path().join("data"), 0o555);
    let Some(command) = without_rights(folder.path(), &walk) else { return };
    let (status, said) = run(command);
    assert_eq!(status, Some(2), "{said}");
    assert!(said.contains("Permission denied") && said.contains("data"), "{said}");
    // Reports and numbers need to write nothing.
    let report = without_rights(folder.path(), &["report", "sample-cars/minimal.toml"]).unwrap();
    assert!(run(report).0 < Some(2));
    // A settings folder that may not be written: no writer id can be made, nothing is kept under another's.
    all_may(&folder.path().join("data"), 0o777);
    let _ = fs::remove_dir_all(folder.path().join("config/linewalk"));
    all_may(&folder.path().join("config"), 0o555);
    let (status, said) = run(without_rights(folder.path(), &walk).unwrap());
    assert_eq!(status, Some(2), "{said}");
    assert!(said.contains("Permission denied") && said.contains("config"), "{said}");
    // A log that may not be read.
    all_may(&folder.path().join("config"), 0o777);
    let (status, said) = run(without_rights(folder.path(), &walk).unwrap());
    assert!(status < Some(2), "{said}");
    all_may(&log(folder.path()), 0o000);
    let (status, said) = run(without_rights(folder.path(), &["log", "verify", "minimal"]).unwrap());
    assert_eq!(status, Some(2), "{said}");
    assert!(said.contains("give yourself the right"), "{said}");
}

#[test]
fn a_data_folder_that_is_missing_or_a_file() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("data"), "a file").unwrap();
    let (status, said) = run(program(folder.path(), &["log", "verify", "minimal"]));
    assert_eq!(status, Some(2), "{said}");
    fs::remove_file(folder.path().join("data")).unwrap();
    // Missing: nothing has been kept, which is no error, and nothing is made by merely looking.
    let (status, said) = run(program(folder.path(), &["report", "sample-cars/minimal.toml"]));
    assert!(status < Some(2) && !folder.path().join("data").exists(), "{said}");
    // On the way to it stands a file.
    fs::write(folder.path().join("stop"), "a file").unwrap();
    let mut command = program(folder.path(), &["log", "merge", "minimal", "."]);
    command.env("LINEWALK_DATA_DIR", folder.path().join("stop/data"));
    assert_eq!(run(command).0, Some(2));
}

/// The second program on the same car is refused by name, and the first one goes on.
#[test]
fn two_programs_on_one_car() {
    let folder = tempfile::tempdir().unwrap();
    let mut first = Screen::begun(folder.path());
    let answers = folder.path().join("answers.toml");
    let text = "format = 1\nby = \"S.O.\"\nprofile = \"scales-short\"\n[[answer]]\n\
                check = \"pins-in-before-hands-in\"\nresult = \"accept\"\n";
    fs::write(&answers, text).unwrap();
    let walk = ["walk", "minimal", "--again", "--answers", answers.to_str().unwrap()];
    let (status, said) = run(program(folder.path(), &walk));
    assert_eq!(status, Some(2), "{said}");
    assert!(said.contains("R.N. has it since"), "{said}");
    first.press("a");
    first.wait_for("2 of ");
    first.press("\u{3}");
    first.ends();
    assert_eq!(records(folder.path()), 3);
    assert!(run(program(folder.path(), &walk)).0 < Some(2));
    verified(folder.path());
}

/// A clock that jumps back an hour, a day or to 1970: the last answer given is the one that stands.
#[test]
fn a_clock_that_jumps_back() {
    let back: Moment = "1970-01-01T00:00:00+00:00".parse().unwrap();
    for jumped in [moment(-3600), moment(-86_400), back] {
        let folder = MemoryStorage::new();
        let mut log = LogWriter::open(folder.clone(), "pit").unwrap();
        let say = |result| {
            let Entry::Finding(mut said) = finding(0.0095, "seen") else { panic!() };
            said.result = result;
            said.seen_at = None;
            Entry::Finding(said)
        };
        log.append(moment(0), "first".into(), say(Outcome::Accept)).unwrap();
        log.append(jumped, "second".into(), say(Outcome::Reject)).unwrap();
        drop(log);
        assert!(verify(&folder).unwrap().holds());
        // Another machine, whose clock is right, answered in between.
        let mut other = LogWriter::open(folder.clone(), "truck").unwrap();
        other.append(moment(-7), "other".into(), say(Outcome::NotSeen)).unwrap();
        let read = read_car(&folder).unwrap();
        let order: Vec<&str> = read.kept.iter().map(|kept| kept.id.as_str()).collect();
        assert_eq!(order, ["other", "first", "second"]);
        let history = History::fold(read.kept);
        assert_eq!(history.standings().last().unwrap().finding.result, Outcome::Reject);
        assert_eq!(history.all()[2].at, jumped, "the record keeps what the clock said");
    }
}
