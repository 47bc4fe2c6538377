//! The head file follows the answer on the screen: it stands soon after it, and however a walk is left.
#![cfg(unix)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use linewalk::logbook::verify::{Verdict, verify};
use linewalk::shell::disk::DiskStorage;
use linewalk::shell::paths::Paths;
use linewalk::shell::workspace::{Choices, DiskWorkspace};
use linewalk::tui::{App, draw};
use linewalk::units::Units;
use ratatui::Terminal;
use ratatui::backend::TestBackend;

use crate::pty::{Screen, records, wait_for_head};

/// The log holds so many records, and its head names the last.
fn expect_current(folder: &Path, count: usize) {
    let verdict = verify(&DiskStorage::at(folder.join("data/cars/minimal"))).unwrap();
    assert!(verdict.holds() && verdict.notes.is_empty(), "{}", verdict.text());
    assert_eq!(records(folder), count);
}

#[test]
fn it_stands_soon_after_the_answer_without_another_key() {
    let folder = tempfile::tempdir().unwrap();
    let mut screen = Screen::begun(folder.path());
    screen.press("a");
    screen.wait_for("2 of ");
    wait_for_head(folder.path());
    screen.child.kill().unwrap();
    screen.child.wait().unwrap();
    expect_current(folder.path(), 3);
}

/// Keys with what answers each, the last keys, and the records there are then.
type Way = (&'static [(&'static str, &'static str)], &'static str, usize);

/// By Ctrl-C, by the key to leave, over the list of cars, and by all keys at once, before any of it was drawn.
#[test]
fn however_a_walk_is_left() {
    let ways: [Way; 5] = [
        (&[], "\u{3}", 2),
        (&[("q", "once more to leave")], "q", 2),
        (&[("\u{1b}", "linewalk | cars"), ("\u{1b}", "once more to leave")], "\u{1b}", 2),
        (&[], "a\u{3}", 3),
        (&[], "aqq", 3),
    ];
    for (first, last, count) in ways {
        let folder = tempfile::tempdir().unwrap();
        let mut screen = Screen::begun(folder.path());
        for (key, answer) in first {
            screen.press(key);
            screen.wait_for(answer);
        }
        screen.press(last);
        assert!(screen.ends().success(), "{first:?} {last:?}");
        expect_current(folder.path(), count);
    }
}

#[test]
fn after_answers_from_paper() {
    let folder = tempfile::tempdir().unwrap();
    let answers = folder.path().join("answers.toml");
    let text = "format = 1\nby = \"S.O.\"\nprofile = \"scales-short\"\n[[answer]]\n\
                check = \"pins-in-before-hands-in\"\nresult = \"accept\"\n";
    fs::write(&answers, text).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_linewalk"));
    command.args(["walk", "sample-cars/minimal.toml", "--answers"]).arg(&answers);
    command.current_dir(env!("CARGO_MANIFEST_DIR")).stdin(Stdio::null());
    command.env("LINEWALK_DATA_DIR", folder.path().join("data"));
    command.env("XDG_CONFIG_HOME", folder.path().join("config"));
    assert!(command.output().unwrap().status.code() < Some(2));
    let count = records(folder.path());
    assert!(count >= 2);
    expect_current(folder.path(), count);
}

/// The app over real folders, without its loop.
struct Rig {
    app: App<DiskWorkspace>,
    car: PathBuf,
    _home: tempfile::TempDir,
}

impl Rig {
    /// A walk with its first answer kept and settled.
    fn begun() -> Self {
        let home = tempfile::tempdir().unwrap();
        let paths = Paths { data: home.path().join("data"), config: home.path().join("config") };
        let car = paths.car("car-7");
        fs::create_dir_all(&car).unwrap();
        fs::write(car.join("car.toml"), "format = 1\n[car]\nid = \"car-7\"\nnumber = \"7\"\n").unwrap();
        let choices = Choices { rules: Vec::new(), on: None, units: Units::Us, by: Some("R.N.".into()) };
        let workspace = DiskWorkspace::new(paths, choices, Vec::new());
        let mut rig = Self { app: App::new(workspace, crate::screens::options()), car, _home: home };
        rig.open();
        rig.answer();
        assert!(!rig.app.settle_kept(), "{}", rig.shown());
        rig
    }

    fn press(&mut self, code: KeyCode) {
        self.app.press(KeyEvent::new(code, KeyModifiers::NONE));
    }

    /// From the list of cars into the walk.
    fn open(&mut self) {
        self.press(KeyCode::Down);
        for _ in 0..3 {
            self.press(KeyCode::Enter);
        }
        assert!(self.shown().contains(" of "), "{}", self.shown());
    }

    fn answer(&mut self) {
        self.press(KeyCode::Char('a'));
    }

    fn shown(&self) -> String {
        let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
        terminal.draw(|frame| draw(self.app.state(), self.app.theme(), frame)).unwrap();
        terminal.backend().to_string()
    }

    fn head(&self) -> PathBuf {
        let files = fs::read_dir(&self.car).unwrap().map(|entry| entry.unwrap().path());
        files.into_iter().find(|path| path.extension().is_some_and(|ending| ending == "head")).unwrap()
    }

    fn verdict(&self) -> Verdict {
        verify(&DiskStorage::at(&self.car)).unwrap()
    }
}

/// The answer is kept and shown; what became of its head is told; nothing more is kept until the car is opened again.
#[test]
fn one_that_fails_is_told() {
    let mut rig = Rig::begun();
    let (head, aside) = (rig.head(), rig.car.join("aside"));
    fs::rename(&head, &aside).unwrap();
    fs::create_dir(&head).unwrap();
    rig.answer();
    assert!(!rig.shown().contains("KEPT"), "{}", rig.shown());
    assert!(rig.app.settle_kept());
    assert!(rig.shown().contains("NOTHING MORE is kept: cannot replace"), "{}", rig.shown());
    assert!(!rig.app.settle_kept(), "told once");
    rig.answer();
    assert!(rig.shown().contains("NOT KEPT: nothing more is kept in this log"), "{}", rig.shown());

    fs::remove_dir(&head).unwrap();
    fs::rename(&aside, &head).unwrap();
    assert_eq!(rig.verdict().notes.len(), 1, "one behind: {}", rig.verdict().text());
    rig.press(KeyCode::Esc);
    rig.press(KeyCode::Down);
    rig.press(KeyCode::Enter);
    rig.press(KeyCode::Enter);
    assert!(rig.shown().contains("was cut off while it kept 1 record"), "{}", rig.shown());
    rig.press(KeyCode::Esc);
    rig.press(KeyCode::Enter);
    assert_eq!(rig.verdict().notes.len(), 1, "no opening moves it");
    rig.answer();
    assert!(!rig.app.settle_kept() && !rig.shown().contains("KEPT"), "{}", rig.shown());
    let verdict = rig.verdict();
    assert!(verdict.holds() && verdict.notes.is_empty(), "{}", verdict.text());
    assert_eq!(
        verdict.writers[0].1, 5,
        "the walk begun, three answers, and one that says that the second is not confirmed"
    );
}

/// Another car, or the same one again, opened before the last answer was settled: its head is settled first.
#[test]
fn a_car_that_is_opened_finds_it_in_place() {
    let mut rig = Rig::begun();
    rig.answer();
    assert_eq!(rig.verdict().notes.len(), 1);
    rig.press(KeyCode::Esc);
    rig.open();
    assert!(!rig.shown().contains("one record behind"), "{}", rig.shown());
    assert_eq!(rig.verdict().notes, []);
}
