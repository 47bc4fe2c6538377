//! Walks in a real pseudo-terminal: left, taken up again, and killed. Waits for text on the screen, never for time.
#![cfg(unix)]

use std::io::{Read, Write};
use std::path::Path;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

use linewalk::logbook::verify::verify;
use linewalk::shell::disk::DiskStorage;
use portable_pty::{Child, CommandBuilder, ExitStatus, MasterPty, PtySize, native_pty_system};

/// A program in a terminal of 80 by 24, and what the terminal shows.
pub struct Screen {
    pub child: Box<dyn Child + Send + Sync>,
    keys: Box<dyn Write + Send>,
    bytes: Receiver<Vec<u8>>,
    pub parser: vt100::Parser,
    master: Option<Box<dyn MasterPty + Send>>,
}

/// A walk of the smallest car, as a command for a terminal; data and settings go into the folder.
pub fn walk(folder: &Path) -> CommandBuilder {
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_linewalk"));
    command.args(["walk", "sample-cars/minimal.toml", "--profile", "scales-short", "--by", "R.N."]);
    at_home(&mut command, folder);
    command
}

/// Data and settings in the folder, the terminal an ordinary one.
pub fn at_home(command: &mut CommandBuilder, folder: &Path) {
    command.cwd(env!("CARGO_MANIFEST_DIR"));
    command.env("LINEWALK_DATA_DIR", folder.join("data"));
    command.env("XDG_CONFIG_HOME", folder.join("config"));
    command.env("TERM", "xterm-256color");
    // Scripts press faster than hands: only what tests the guard itself lets it be.
    let settings = folder.join("config/linewalk/config.toml");
    if !settings.exists() && std::fs::create_dir_all(folder.join("config/linewalk")).is_ok() {
        std::fs::write(settings, "repeat_guard = 0\n").unwrap();
    }
}

impl Screen {
    pub fn open(folder: &Path) -> Self {
        Self::run(walk(folder), 24, 80)
    }

    /// A walk with one answer kept, and nothing left to be done for it.
    pub fn begun(folder: &Path) -> Self {
        let mut screen = Self::open(folder);
        screen.wait_for("Enter walk");
        screen.press("\r");
        screen.wait_for("before anything else");
        screen.press("a");
        screen.wait_for("1 of ");
        wait_for_head(folder);
        screen
    }

    /// Opened after the program was killed. Where that was between a record and its head, it asks, and this says yes.
    pub fn open_after_kill(folder: &Path) -> Self {
        let mut screen = Self::open(folder);
        let asks = |screen: &vt100::Screen| screen.contents().contains("was cut off while it kept");
        screen.wait_until("the start, or a question", |screen| {
            asks(screen) || screen.contents().contains("Enter resume")
        });
        if asks(screen.parser.screen()) {
            screen.press("\r");
        }
        screen
    }

    pub fn run(command: CommandBuilder, rows: u16, cols: u16) -> Self {
        let pair =
            native_pty_system().openpty(PtySize { rows, cols, pixel_width: 0, pixel_height: 0 }).unwrap();
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
        let parser = vt100::Parser::new(size(rows), size(cols), 0);
        Self { child, keys, bytes, parser, master: Some(pair.master) }
    }

    /// Takes in what the program writes until the screen shows a text.
    pub fn wait_for(&mut self, text: &str) {
        self.wait_until(text, |screen| screen.contents().contains(text));
    }

    /// Takes in what the program writes until the screen is as wanted.
    pub fn wait_until(&mut self, what: &str, wanted: impl Fn(&vt100::Screen) -> bool) {
        if !self.shows_within(Duration::from_secs(60), wanted) {
            let state = self.state_of_program();
            panic!("the screen never showed {what}; {state}:\n{}", self.parser.screen().contents());
        }
    }

    /// Takes in what the program writes until the screen is as wanted, or the time is over. Time is counted in pieces:
    /// a machine that stands still for a minute, and the program with it, takes one of them and not all.
    fn shows_within(&mut self, time: Duration, wanted: impl Fn(&vt100::Screen) -> bool) -> bool {
        const PIECE: Duration = Duration::from_millis(100);
        let mut left = time;
        while !wanted(self.parser.screen()) {
            if left.is_zero() {
                return false;
            }
            let began = Instant::now();
            match self.bytes.recv_timeout(PIECE) {
                Ok(bytes) => self.parser.process(&bytes),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return false,
            }
            left = left.saturating_sub(began.elapsed().min(PIECE));
        }
        true
    }

    /// What the system says of the program: running, asleep, waiting for a disk; and how long it ran and waited for a
    /// processor. Tells a program that hangs from one that was given no time.
    fn state_of_program(&self) -> String {
        let folder = format!("/proc/{}", self.child.process_id().unwrap_or_default());
        let file = |name: &str| std::fs::read_to_string(format!("{folder}/{name}")).unwrap_or_default();
        let status = file("status");
        let state = status.lines().find(|line| line.starts_with("State:")).unwrap_or("no state").to_owned();
        format!("{state}, ns run and waited: {}", file("schedstat").trim())
    }

    /// Takes in the next thing the program writes.
    pub fn takes_something(&mut self) {
        let bytes = self.bytes.recv_timeout(Duration::from_secs(60)).unwrap();
        self.parser.process(&bytes);
    }

    /// Whether the screen is as wanted within a second or two.
    pub fn shows_soon(&mut self, wanted: impl Fn(&vt100::Screen) -> bool) -> bool {
        self.shows_within(Duration::from_secs(2), wanted)
    }

    pub fn press(&mut self, keys: &str) {
        self.keys.write_all(keys.as_bytes()).unwrap();
        self.keys.flush().unwrap();
    }

    /// The window becomes larger or smaller.
    pub fn resize(&mut self, rows: u16, cols: u16) {
        // Nobody is told of a window that stays as it is, so nothing is drawn anew.
        let (high, wide) = self.parser.screen().size();
        if (high.get(), wide.get()) == (rows, cols) {
            return;
        }
        let size = PtySize { rows, cols, pixel_width: 0, pixel_height: 0 };
        self.master.as_ref().unwrap().resize(size).unwrap();
        let size = |n: u16| n.try_into().unwrap();
        self.parser = vt100::Parser::new(size(rows), size(cols), 0);
    }

    /// Whether the terminal gives lines with an echo, as a shell wants it, and not single keys.
    pub fn gives_lines(&self) -> bool {
        let line = self.master.as_ref().unwrap().get_termios().unwrap();
        let flags = format!("{:?}", line.local_flags);
        flags.contains("ICANON") && flags.contains("ECHO")
    }

    /// Takes in all that is left once the program has ended, and gives its status.
    pub fn ends(&mut self) -> ExitStatus {
        let status = self.child.wait().unwrap();
        while let Ok(bytes) = self.bytes.recv_timeout(Duration::from_millis(500)) {
            self.parser.process(&bytes);
        }
        status
    }

    /// The terminal is as it was before the program.
    pub fn expect_given_back(&self) {
        assert!(!self.parser.screen().alternate_screen(), "the alternate screen was not left");
        assert!(!self.parser.screen().hide_cursor(), "the cursor was left hidden");
        assert!(!self.parser.screen().bracketed_paste(), "bracketed paste was left on");
        assert!(self.gives_lines(), "the terminal was left giving single keys");
    }
}

/// Waits until the head names the last record, which it does soon after an answer is shown.
pub fn wait_for_head(folder: &Path) {
    let until = Instant::now() + Duration::from_secs(60);
    loop {
        let verdict = verify(&DiskStorage::at(folder.join("data/cars/minimal"))).unwrap();
        if verdict.notes.is_empty() {
            return;
        }
        assert!(Instant::now() < until, "{}", verdict.text());
        std::thread::sleep(Duration::from_millis(5));
    }
}

pub fn records(folder: &Path) -> usize {
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
    assert!(screen.ends().success());
    screen.expect_given_back();
    assert_eq!(records(folder.path()), 3);

    // Taken up again, one more answer, then killed as soon as the screen shows it as kept.
    let mut screen = Screen::open(folder.path());
    screen.wait_for("2 answered");
    screen.press("\r");
    screen.wait_for("a accept  r reject");
    screen.press("r");
    screen.wait_for("3 of ");
    screen.child.kill().unwrap();
    screen.child.wait().unwrap();
    assert_eq!(records(folder.path()), 4);

    // Nothing shown as kept is missing.
    let mut screen = Screen::open_after_kill(folder.path());
    screen.wait_for("3 answered");
    screen.press("\u{3}");
    screen.child.wait().unwrap();
}
