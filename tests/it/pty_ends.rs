//! However the program ends or stops, the terminal is as it was: Ctrl-C, signals, a panic, a window that is gone.
#![cfg(unix)]

use std::io::Read;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use linewalk::model::Tag;
use linewalk::model::entry::{Kept, Moment, Photo};
use linewalk::tui::{Options, Theme};
use linewalk::walk::{CarLine, Decided, Journal, Offered, Walk, Workspace};
use portable_pty::{Child, CommandBuilder, PtySize, native_pty_system};

use crate::pty::{Screen, at_home, records, walk};

fn send(signal: &str, pid: u32) {
    let sent = Command::new("kill").args([format!("-{signal}"), pid.to_string()]).status().unwrap();
    assert!(sent.success());
}

#[test]
fn a_signal_that_ends_it() {
    for (signal, number) in [("TERM", 15), ("HUP", 1), ("INT", 2), ("QUIT", 3)] {
        let folder = tempfile::tempdir().unwrap();
        let mut screen = Screen::begun(folder.path());
        assert!(screen.parser.screen().alternate_screen() && !screen.gives_lines());
        send(signal, screen.child.process_id().unwrap());
        let status = screen.ends();
        assert!(!status.success(), "{signal} ends it as that signal does: {status:?} ({number})");
        screen.expect_given_back();
        assert_eq!(records(folder.path()), 2, "{signal}");
    }
}

#[test]
fn control_c_in_the_middle_of_a_note() {
    let folder = tempfile::tempdir().unwrap();
    let mut screen = Screen::begun(folder.path());
    screen.press("n");
    screen.press("half a note");
    screen.press("\u{3}");
    assert!(screen.ends().success());
    screen.expect_given_back();
    assert_eq!(records(folder.path()), 2);
}

/// Stopped from the keyboard under a shell: the shell has its terminal, and `fg` brings the walk back.
#[test]
fn control_z_and_fg() {
    let folder = tempfile::tempdir().unwrap();
    let mut shell = CommandBuilder::new("bash");
    shell.args(["--norc", "--noprofile", "-i"]);
    at_home(&mut shell, folder.path());
    shell.env("PS1", "ready> ");
    shell.env("BIN", env!("CARGO_BIN_EXE_linewalk"));
    let mut screen = Screen::run(shell, 24, 80);
    screen.wait_for("ready>");
    screen.press("\"$BIN\" walk sample-cars/minimal.toml --profile scales-short --by R.N.\n");
    screen.wait_for("Enter walk");
    screen.press("\r");
    screen.wait_for("before anything else");
    screen.press("a");
    screen.wait_for("1 of ");
    for _ in 0..2 {
        screen.press("\u{1a}");
        screen.wait_until("the shell", |shown| {
            !shown.alternate_screen() && !shown.hide_cursor() && shown.contents().contains("Stopped")
        });
        screen.press("echo the shell hears; clear\n");
        screen.wait_until("an empty screen", |shown| !shown.contents().contains("hears"));
        screen.press("fg\n");
        screen.wait_until("the walk", |shown| shown.alternate_screen() && shown.contents().contains("1 of "));
    }
    screen.press("a");
    screen.wait_for("2 of ");
    screen.press("\u{3}");
    screen.wait_until("the shell", |shown| !shown.alternate_screen());
    screen.press("exit\n");
    screen.ends();
    assert_eq!(records(folder.path()), 3);
}

/// The first program of a window has no shell to go back to: it says so and stays.
#[test]
fn control_z_without_a_shell() {
    let folder = tempfile::tempdir().unwrap();
    let mut screen = Screen::begun(folder.path());
    screen.press("\u{1a}");
    screen.wait_for("no shell to go back to");
    screen.press("a");
    screen.wait_for("2 of ");
    // Stopped and let go on from outside: drawn anew, and it hears.
    let pid = screen.child.process_id().unwrap();
    send("STOP", pid);
    screen.parser.process(b"\x1b[2Jsomething else drew here");
    send("CONT", pid);
    screen.wait_until("the walk alone", |shown| {
        shown.contents().contains("2 of ") && !shown.contents().contains("something else")
    });
    screen.press("\u{3}");
    assert!(screen.ends().success());
    screen.expect_given_back();
}

/// Shows nothing and panics at the first key.
struct Faulty(std::cell::Cell<u32>);

impl Journal for Faulty {
    fn new_id(&mut self) -> String {
        String::new()
    }
    fn keep(&mut self, _: Decided) -> Result<Kept, String> {
        Err("nothing is kept".into())
    }
    fn photo(&mut self, _: &str) -> Result<Photo, String> {
        Err("nothing is kept".into())
    }
}

impl Workspace for Faulty {
    fn now(&self) -> Moment {
        self.0.set(self.0.get() + 1);
        assert!(self.0.get() < 2, "a fault on purpose");
        Moment::default()
    }
    fn cars(&mut self) -> Result<Vec<CarLine>, String> {
        Ok(Vec::new())
    }
    fn readable(&self, _: &str) -> Result<(), String> {
        Err("none".into())
    }
    fn open(&mut self, _: &str, _: &str, _: Option<&str>) -> Result<(Walk, Vec<String>), String> {
        Err("none".into())
    }
    fn create(&mut self, _: &str, _: &[Tag], _: &[Tag]) -> Result<String, String> {
        Err("none".into())
    }
    fn save_report(&mut self, _: &str, _: &[u8]) -> Result<String, String> {
        Err("none".into())
    }
    fn offered(&self) -> Offered {
        Offered::default()
    }
    fn by(&self) -> Option<String> {
        None
    }
    fn set_by(&mut self, _: &str) -> Result<(), String> {
        Ok(())
    }
}

/// Run by the next test in a terminal of its own.
#[test]
#[ignore = "panics on purpose"]
fn a_fault_on_purpose() {
    let options = Options { theme: Theme::Mono, ..Options::new(|_, _| String::new()) };
    let _ = linewalk::tui::run(Faulty(Default::default()), options);
}

#[test]
fn a_panic() {
    let mut command = CommandBuilder::new(std::env::current_exe().unwrap());
    command.args(["pty_ends::a_fault_on_purpose", "--exact", "--ignored", "--nocapture"]);
    at_home(&mut command, Path::new("/nonexistent"));
    command.env("RUST_BACKTRACE", "0");
    let mut screen = Screen::run(command, 24, 80);
    screen.wait_until("the app", |shown| shown.alternate_screen() && !shown.contents().trim().is_empty());
    screen.press("?");
    assert!(!screen.ends().success());
    screen.expect_given_back();
    assert!(screen.parser.screen().contents().contains("a fault on purpose"), "the message can be read");
}

/// The window is closed, with SIGHUP for the program and without: it ends by itself and does not ask for ever.
#[test]
fn the_window_is_closed() {
    for script in ["exec \"$@\"", "trap '' HUP; \"$@\"; true"] {
        let folder = tempfile::tempdir().unwrap();
        let inner = walk(folder.path());
        let mut command = CommandBuilder::new("bash");
        command.args(["-c", script, "bash"]);
        command.args(inner.get_argv());
        at_home(&mut command, folder.path());
        let size = PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).unwrap();
        let mut child: Box<dyn Child + Send + Sync> = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let mut reader = pair.master.try_clone_reader().unwrap();
        let (mut shown, mut buffer) = (vt100::Parser::default(), [0; 4096]);
        while !shown.screen().contents().contains("Enter walk") {
            let count = reader.read(&mut buffer).unwrap();
            assert!(count > 0, "it ended too soon: {}", shown.screen().contents());
            shown.process(&buffer[..count]);
        }
        drop((reader, pair.master));
        let until = Instant::now() + Duration::from_secs(20);
        while child.try_wait().unwrap().is_none() {
            assert!(Instant::now() < until, "it went on without its window ({script})");
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}
