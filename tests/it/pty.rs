//! Walks in a real pseudo-terminal: left, taken up again, and killed. Waits for text on the screen, never for time.
#![cfg(unix)]

use std::io::{Read, Write};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, PtySize, native_pty_system};

/// The program in a terminal of 80 by 24, and what the terminal shows.
struct Screen {
    child: Box<dyn Child + Send + Sync>,
    keys: Box<dyn Write + Send>,
    bytes: Receiver<Vec<u8>>,
    parser: vt100::Parser,
    _master: Box<dyn portable_pty::MasterPty + Send>,
}

impl Screen {
    fn open(folder: &std::path::Path) -> Self {
        let pair = native_pty_system()
            .openpty(PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 })
            .unwrap();
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_linewalk"));
        command.args(["walk", "sample-cars/minimal.toml", "--profile", "scales-short", "--by", "R.N."]);
        command.cwd(env!("CARGO_MANIFEST_DIR"));
        command.env("LINEWALK_DATA_DIR", folder.join("data"));
        command.env("XDG_CONFIG_HOME", folder.join("config"));
        command.env("TERM", "xterm-256color");
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let mut reader = pair.master.try_clone_reader().unwrap();
        let keys = pair.master.take_writer().unwrap();
        let (sender, bytes) = channel();
        std::thread::spawn(move || {
            let mut buffer = [0; 4096];
            while let Ok(count @ 1..) = reader.read(&mut buffer) {
                if sender.send(buffer[..count].to_vec()).is_err() {
                    break;
                }
            }
        });
        let size = |n: u16| n.try_into().unwrap();
        let parser = vt100::Parser::new(size(24), size(80), 0);
        Self { child, keys, bytes, parser, _master: pair.master }
    }

    /// Takes in what the program writes until the screen shows a text.
    fn wait_for(&mut self, text: &str) {
        let until = Instant::now() + Duration::from_secs(60);
        while !self.parser.screen().contents().contains(text) {
            match self.bytes.recv_timeout(until.saturating_duration_since(Instant::now())) {
                Ok(bytes) => self.parser.process(&bytes),
                Err(_) => panic!("the screen never showed {text}:\n{}", self.parser.screen().contents()),
            }
        }
    }

    fn press(&mut self, keys: &str) {
        self.keys.write_all(keys.as_bytes()).unwrap();
        self.keys.flush().unwrap();
    }
}

fn records(folder: &std::path::Path) -> usize {
    let car = folder.join("data/cars/minimal");
    let logs = std::fs::read_dir(car).into_iter().flatten().map(|entry| entry.unwrap().path());
    let logs = logs.filter(|path| path.extension().is_some_and(|ending| ending == "jsonl"));
    logs.map(|log| std::fs::read_to_string(log).unwrap().lines().count()).sum()
}

#[test]
fn a_walk_is_left_taken_up_and_killed_without_losing_an_answer() {
    let folder = tempfile::tempdir().unwrap();

    // Two answers, then out by Ctrl-C: the terminal is left as it was.
    let mut screen = Screen::open(folder.path());
    screen.wait_for("Enter walk");
    screen.press("\r");
    screen.wait_for("before anything else");
    screen.press("a");
    screen.wait_for("1 of ");
    screen.press("a");
    screen.wait_for("2 of ");
    screen.press("\u{3}");
    assert!(screen.child.wait().unwrap().success());
    while let Ok(bytes) = screen.bytes.recv_timeout(Duration::from_secs(5)) {
        screen.parser.process(&bytes);
    }
    assert!(!screen.parser.screen().alternate_screen(), "the alternate screen was not left");
    assert_eq!(records(folder.path()), 3);

    // Taken up again, one more answer, then killed as soon as the screen shows it as kept.
    let mut screen = Screen::open(folder.path());
    screen.wait_for("2 answered");
    screen.press("\r");
    screen.wait_for("2 of ");
    screen.press("r");
    screen.wait_for("3 of ");
    screen.child.kill().unwrap();
    screen.child.wait().unwrap();
    assert_eq!(records(folder.path()), 4);

    // Nothing shown as kept is missing.
    let mut screen = Screen::open(folder.path());
    screen.wait_for("3 answered");
    screen.press("\u{3}");
    screen.child.wait().unwrap();
}
