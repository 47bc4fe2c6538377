//! What a person at a terminal waits for: the first frame, a key's frame; and what a walk takes of memory.

use std::io::{Read, Write};
use std::path::Path;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

use crate::{HERE, PROGRAM, Row, middle_and_top};

/// A program in a pseudo-terminal of 120 by 40.
struct Session {
    started: Instant,
    child: Box<dyn Child + Send + Sync>,
    keys: Box<dyn Write + Send>,
    bytes: Receiver<(Instant, Vec<u8>)>,
    screen: vt100::Parser,
    _master: Box<dyn MasterPty + Send>,
}

impl Session {
    fn open(program: &str, words: &[&str], data: &Path) -> Self {
        let size = PtySize { rows: 40, cols: 120, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).unwrap();
        let mut command = CommandBuilder::new(program);
        command.args(words);
        command.cwd(HERE);
        command.env("LINEWALK_DATA_DIR", data);
        command.env("XDG_CONFIG_HOME", data);
        command.env("TERM", "xterm-256color");
        command.env("LESS", "");
        // One key after the other, as fast as the screen answers.
        std::fs::create_dir_all(data.join("linewalk")).unwrap();
        std::fs::write(data.join("linewalk/config.toml"), "repeat_guard = 0\n").unwrap();
        let mut reader = pair.master.try_clone_reader().unwrap();
        let keys = pair.master.take_writer().unwrap();
        let started = Instant::now();
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let (sender, bytes) = channel();
        std::thread::spawn(move || {
            let mut buffer = [0; 65_536];
            while let Ok(count @ 1..) = reader.read(&mut buffer) {
                if sender.send((Instant::now(), buffer[..count].to_vec())).is_err() {
                    break;
                }
            }
        });
        let size = |count: u16| count.try_into().unwrap();
        let screen = vt100::Parser::new(size(40), size(120), 0);
        Self { started, child, keys, bytes, screen, _master: pair.master }
    }

    /// Takes in what is written until the screen shows a text; when its last bytes came.
    fn until(&mut self, text: &str) -> Instant {
        let mut last = self.started;
        while !self.screen.screen().contents().contains(text) {
            let Ok((at, bytes)) = self.bytes.recv_timeout(Duration::from_secs(60)) else {
                panic!("the screen never showed {text}:\n{}", self.screen.screen().contents());
            };
            self.screen.process(&bytes);
            last = at;
        }
        last
    }

    fn press(&mut self, key: &[u8]) {
        self.keys.write_all(key).unwrap();
        self.keys.flush().unwrap();
    }

    /// From a key to the last byte that answers it: the end is where nothing comes for a while.
    fn answered(&mut self, key: &[u8]) -> Duration {
        let pressed = Instant::now();
        self.press(key);
        let (mut last, first) = self.bytes.recv_timeout(Duration::from_secs(20)).unwrap();
        self.screen.process(&first);
        loop {
            match self.bytes.recv_timeout(Duration::from_millis(25)) {
                Ok((at, more)) => {
                    self.screen.process(&more);
                    last = at;
                }
                Err(RecvTimeoutError::Timeout) => return last - pressed,
                Err(RecvTimeoutError::Disconnected) => panic!("it ended"),
            }
        }
    }

    /// The most memory it held so far, bytes.
    fn peak(&self) -> f64 {
        let status =
            std::fs::read_to_string(format!("/proc/{}/status", self.child.process_id().unwrap())).unwrap();
        let line = status.lines().find(|line| line.starts_with("VmHWM")).unwrap();
        1024.0 * line.split_whitespace().nth(1).unwrap().parse::<f64>().unwrap()
    }
}

impl Drop for Session {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

const WALK: [&str; 6] = ["walk", "sample-cars/heron.toml", "--profile", "scales", "--by", "R.N."];

/// A folder in memory, where a sync costs nothing, or on the disk.
fn folder(memory: bool) -> tempfile::TempDir {
    if memory { tempfile::tempdir_in("/dev/shm").unwrap() } else { tempfile::tempdir_in(HERE).unwrap() }
}

/// A walk under way at its first check after the bottles.
fn walk(data: &Path) -> Session {
    let mut session = Session::open(PROGRAM, &WALK, data);
    session.until("Enter walk");
    session.answered(b"\r");
    session
}

pub fn frame() -> Vec<Row> {
    let data = folder(true);
    // As many bytes as the program has to read: the car and the rules in force.
    let mut text = std::fs::read_to_string(format!("{HERE}/sample-cars/heron.toml")).unwrap();
    text += &std::fs::read_to_string(format!("{HERE}/rulesets/base/ruleset.toml")).unwrap();
    let last = "the last line on the first screen";
    let text: String =
        text.lines().take(38).map(|line| format!("{line}\n")).collect::<String>() + last + "\n" + &text;
    let file = data.path().join("same-size.txt");
    std::fs::write(&file, text).unwrap();
    let (mut ours, mut theirs) = (Vec::new(), Vec::new());
    for _ in 0..21 {
        let mut less = Session::open("less", &[file.to_str().unwrap()], data.path());
        theirs.push(less.until(last) - less.started);
        let mut walk = Session::open(PROGRAM, &WALK, data.path());
        ours.push(walk.until("Enter walk") - walk.started);
    }
    vec![Row {
        what: "first full frame, heron and base rules, 120x40 (median)".to_owned(),
        yardstick: "`less` showing a file of the same size".to_owned(),
        ours: middle_and_top(ours)[0],
        theirs: middle_and_top(theirs)[0],
        reach: "≤ 2",
    }]
}

/// Every key of a walk that answers or moves, the storage in memory or on disk; after each key once its yardstick, in the
/// same folder: a disk that is busy for a moment, every few seconds, is then seen by both.
fn keys(memory: bool, sessions: usize, mut yardstick: impl FnMut(&Path) -> Duration) -> [Vec<Duration>; 2] {
    let mut times = [const { Vec::new() }; 2];
    for _ in 0..sessions {
        let data = folder(memory);
        let mut session = walk(data.path());
        // Safe first, both checks of it; then to and fro over the checks, and answers that need no value.
        session.answered(b"a");
        session.answered(b"a");
        for turn in 0..50 {
            let key: &[u8] = match (memory, turn % 3) {
                (true, 0) => b"\x1b[C",
                (true, 1) => b"\x1b[D",
                _ => b"s",
            };
            times[0].push(session.answered(key));
            times[1].push(yardstick(data.path()));
        }
    }
    times
}

fn append_and_sync(folder: &Path) -> Duration {
    let mut file = std::fs::File::options().create(true).append(true).open(folder.join("one")).unwrap();
    let start = Instant::now();
    file.write_all(&[b'x'; 500]).unwrap();
    file.sync_data().unwrap();
    start.elapsed()
}

pub fn key() -> Vec<Row> {
    let mut cat = Session::open("cat", &[], Path::new("/tmp"));
    std::thread::sleep(Duration::from_millis(100));
    let [in_memory, echo] = keys(true, 3, |_| cat.answered(b"x")).map(|times| middle_and_top(times)[1]);
    let [on_disk, sync] = keys(false, 12, append_and_sync).map(|times| middle_and_top(times)[1]);
    vec![
        Row::new(
            "key to frame, 120x40, 99 in 100, storage in memory",
            in_memory,
            "terminal echo of `cat`",
            echo,
            "≤ 3 ms more",
        ),
        Row::new(
            "key that is kept to frame, 99 in 100, on disk",
            on_disk,
            "one append and sync of 500 bytes",
            sync,
            "≤ 3 ms more",
        ),
    ]
}

pub fn memory() -> Vec<Row> {
    let data = folder(true);
    let mut session = walk(data.path());
    for key in [b"a".as_slice(), b"a", b"s", b"\x1b[C", b"\t", b"?", b"?", b"\x1b[D"] {
        session.answered(key);
    }
    vec![Row {
        what: "memory in a walk, peak".to_owned(),
        yardstick: "–".to_owned(),
        ours: session.peak(),
        theirs: f64::NAN,
        reach: "≤ 25 MB",
    }]
}
