//! A terminal that is small, gone, dumb or flooded, and text that would steer it.
#![cfg(unix)]

use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use crate::pty::{Screen, records, walk};

fn begun(folder: &std::path::Path) -> Screen {
    let mut screen = Screen::open(folder);
    screen.wait_for("Enter walk");
    screen.press("\r");
    screen.wait_for("before anything else");
    screen
}

#[test]
fn a_window_of_one_by_one_and_back() {
    let folder = tempfile::tempdir().unwrap();
    let mut screen = begun(folder.path());
    for (rows, cols) in [(1, 1), (2, 80), (24, 1), (1, 200), (24, 80)] {
        screen.resize(rows, cols);
        screen.takes_something();
        // Keys that move and answer nothing.
        screen.press("\u{1b}[B\u{1b}[B\u{1b}[A\u{1b}[A");
    }
    screen.wait_for("before anything else");
    screen.press("a");
    screen.wait_for("1 of ");
    screen.press("\u{3}");
    assert!(screen.ends().success());
    assert_eq!(records(folder.path()), 2);

    let mut screen = Screen::run(walk(folder.path()), 1, 1);
    screen.wait_until("anything", |shown| shown.alternate_screen());
    screen.press("\u{3}");
    assert!(screen.ends().success());
    screen.expect_given_back();
}

/// A key that comes while the window changes works at once, and not only when the next one comes.
#[test]
fn a_key_at_the_moment_of_a_resize() {
    let folder = tempfile::tempdir().unwrap();
    let mut screen = begun(folder.path());
    for round in 0..30 {
        screen.press("m");
        screen.wait_for("Enter what is behind");
        // Keeps the program drawing, so that the change and the key after it are there together.
        screen.press("\u{1b}[B\u{1b}[A");
        screen.resize(24, 80 + round % 2);
        screen.press("\u{1b}");
        screen.wait_for("before anything else");
    }
    screen.press("\u{3}");
    assert!(screen.ends().success());
}

/// A megabyte pasted: as one piece where the terminal marks it, and never as keys.
#[test]
fn a_megabyte_pasted() {
    let folder = tempfile::tempdir().unwrap();
    let mut screen = begun(folder.path());
    let started = Instant::now();
    let much = "reject ".repeat(150_000);
    screen.press(&format!("\u{1b}[200~{much}\u{1b}[201~"));
    screen.wait_for("What was pasted was not taken");
    assert_eq!(records(folder.path()), 0, "no letter of it worked as a key");
    screen.press("a");
    screen.wait_for("1 of ");
    // Into a line that asks for text: as much as a line holds.
    screen.press("n");
    screen.press(&format!("\u{1b}[200~first\r\nsecond\u{1b}[2J{much}\u{1b}[201~"));
    screen.wait_for("Only a part was taken");
    screen.press("\u{3}");
    assert!(screen.ends().success());
    assert!(started.elapsed() < Duration::from_secs(30), "{:?}", started.elapsed());
}

/// The same in a terminal that does not mark what is pasted: no hands type so fast, so it is no key either.
#[test]
fn a_megabyte_pasted_without_marks() {
    let folder = tempfile::tempdir().unwrap();
    let mut screen = begun(folder.path());
    screen.press(&"reject\rgo on ".repeat(80_000));
    screen.wait_for("What was pasted was not taken");
    assert_eq!(records(folder.path()), 0, "no letter of it worked as a key");
    screen.press("a");
    screen.wait_for("1 of ");
    screen.press("n");
    screen.wait_for("Enter keep");
    screen.press("a hose that touches the axle tube, seen at full droop\r");
    screen.wait_for("Note kept on");
    assert_eq!(records(folder.path()), 3);
    screen.press("a");
    screen.wait_for("2 of ");
    screen.press("\u{3}");
    assert!(screen.ends().success());
    assert_eq!(records(folder.path()), 4);
}

#[test]
fn input_closed_and_a_dumb_terminal() {
    let folder = tempfile::tempdir().unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_linewalk"));
    command.env("LINEWALK_DATA_DIR", folder.path()).env("XDG_CONFIG_HOME", folder.path());
    let out = command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::piped()).output().unwrap();
    assert_eq!(out.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&out.stderr).contains("needs a terminal"));

    let mut command = walk(folder.path());
    command.env("TERM", "dumb");
    let mut screen = Screen::run(command, 24, 80);
    assert_eq!(screen.ends().exit_code(), 2);
    assert!(screen.parser.screen().contents().contains("TERM=dumb"));
    screen.expect_given_back();
}
