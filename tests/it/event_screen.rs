//! What a lane shows of the event: a mark that moves by itself, and who else has a car open.

use std::cell::RefCell;
use std::fs;
use std::rc::Rc;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use linewalk::lanes::engine::Folders;
use linewalk::logbook::writer::LogWriter;
use linewalk::model::entry::{Entry, Finding, Outcome, RulesMark, Severity, WalkStarted};
use linewalk::shell::clock;
use linewalk::shell::folders::DiskFolders;
use linewalk::shell::paths::Paths;
use linewalk::shell::workspace::{Choices, DiskWorkspace, Replicator};
use linewalk::tui::{App, draw};
use linewalk::units::Units;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use tempfile::TempDir;

use crate::logbook::finding;

/// A stand-in for the lane's thread.
#[derive(Clone, Debug, Default)]
struct Carried {
    cars: Rc<RefCell<Vec<(String, u64)>>>,
    mark: Rc<RefCell<String>>,
}

impl Replicator for Carried {
    fn kept(&self, car: &str, records: u64) {
        self.cars.borrow_mut().push((car.to_owned(), records));
    }

    fn mark(&self) -> String {
        self.mark.borrow().clone()
    }

    fn finish(&self) {}

    fn name_of(&self, writer: &str) -> Option<String> {
        (writer == "w-other").then(|| "lane2".to_owned())
    }
}

struct Rig {
    _home: TempDir,
    folders: DiskFolders,
    carried: Carried,
    app: App<DiskWorkspace>,
}

/// A lane whose folder holds one car, with a stop that another lane found `ago` minutes before.
fn rig(ago: i64) -> Rig {
    let home = tempfile::tempdir().unwrap();
    let paths = Paths { data: home.path().join("data"), config: home.path().join("config") };
    fs::create_dir_all(paths.car("car-7")).unwrap();
    fs::write(paths.car("car-7").join("car.toml"), "format = 1\n[car]\nid = \"car-7\"\nnumber = \"7\"\n")
        .unwrap();
    let folders = DiskFolders::new(paths.clone());
    let mut log = LogWriter::open(folders.open("car-7").unwrap(), "w-other").unwrap();
    let then = clock::now() - chrono::TimeDelta::minutes(ago);
    let started = WalkStarted {
        profile: "scales".into(),
        rules: RulesMark { id: "base".into(), ..RulesMark::default() },
        by: Some("S.O.".into()),
        car: None,
        number: Some("7".into()),
        ..serde_json::from_str(r#"{"profile":"scales","rules":{"id":"base","edition":"","sha256":""}}"#)
            .unwrap()
    };
    log.append(then, "walk-1".into(), Entry::WalkStarted(started)).unwrap();
    let Entry::Finding(plain) = finding(0.0, "chafed") else { panic!("no finding") };
    let stop = Finding {
        walk: "walk-1".into(),
        check: "lf-hose-at-steer-lock".into(),
        of: None,
        title: "Left front hose keeps its curve".into(),
        result: Outcome::Reject,
        verdict: None,
        severity: Severity::Stop,
        ..*plain
    };
    log.append(then, "stop-1".into(), Entry::Finding(Box::new(stop))).unwrap();
    drop(log);
    let choices = Choices { rules: Vec::new(), on: None, units: Units::Us, by: Some("R.N.".into()) };
    let mut workspace = DiskWorkspace::new(paths, choices, Vec::new());
    let carried = Carried::default();
    *carried.mark.borrow_mut() = "event".to_owned();
    workspace.replicator = Some(Box::new(carried.clone()));
    let app = App::new(workspace, crate::screens::options());
    Rig { _home: home, folders, carried, app }
}

impl Rig {
    fn press(&mut self, code: KeyCode) {
        self.app.press(KeyEvent::new(code, KeyModifiers::NONE));
    }

    fn screen(&self) -> String {
        let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
        terminal.draw(|frame| draw(self.app.state(), self.app.theme(), frame)).unwrap();
        let lines = terminal.backend().to_string();
        lines.split_whitespace().collect::<Vec<_>>().join(" ").replace("\" \"", " ")
    }
}

#[test]
fn the_mark_stands_on_every_screen_and_moves_by_itself() {
    let mut rig = rig(5);
    assert!(rig.screen().contains("[event]") && rig.app.is_ticking());
    *rig.carried.mark.borrow_mut() = "event AWAY +3".to_owned();
    rig.app.tick();
    assert!(rig.screen().contains("[event AWAY +3]"), "{}", rig.screen());
    *rig.carried.mark.borrow_mut() = "\u{1b}[2J".to_owned();
    rig.app.tick();
    assert!(!rig.screen().contains('\u{1b}'));
    rig.press(KeyCode::Down);
    rig.press(KeyCode::Enter);
    assert!(rig.screen().contains("which way round"), "{}", rig.screen());
}

#[test]
fn a_car_open_in_another_lane_is_named_before_it_is_opened_and_its_stop_stands_at_the_top() {
    let mut rig = rig(5);
    assert!(rig.screen().contains("STOPPED STOP 1 FIX 0"), "{}", rig.screen());
    rig.press(KeyCode::Down);
    rig.press(KeyCode::Enter);
    let said = rig.screen();
    assert!(said.contains("This car is open in another lane (lane2 by S.O.: scales since"), "{said}");
    // Nothing was written by looking: the car is not open yet.
    assert_eq!(fs::read_dir(rig.folders.open("car-7").unwrap().folder()).unwrap().count(), 4);
    rig.press(KeyCode::Enter);
    let start = rig.screen();
    assert!(start.contains("STOP Left front hose pulls or rubs at lock"), "{start}");
    assert!(rig.carried.cars.borrow().is_empty());
}

#[test]
fn a_walk_left_open_yesterday_is_nobodys_now() {
    let mut rig = rig(13 * 60);
    rig.press(KeyCode::Down);
    rig.press(KeyCode::Enter);
    assert!(!rig.screen().contains("another lane"), "{}", rig.screen());
}

#[test]
fn what_is_kept_is_told_as_soon_as_its_head_stands() {
    let mut rig = rig(13 * 60);
    rig.press(KeyCode::Down);
    rig.press(KeyCode::Enter);
    rig.press(KeyCode::Enter);
    rig.press(KeyCode::Enter);
    rig.press(KeyCode::Char('s'));
    rig.press(KeyCode::Char('s'));
    // Who carries reads from the head how far the log goes, and would find the record before.
    assert!(rig.carried.cars.borrow().is_empty(), "{}", rig.screen());
    *rig.carried.mark.borrow_mut() = "event AWAY +2".to_owned();
    assert!(rig.app.settle_kept(), "the mark moved");
    assert_eq!(*rig.carried.cars.borrow(), [("car-7".to_owned(), 2)], "both answers");
    assert!(rig.screen().contains("[event AWAY +2]"), "{}", rig.screen());
    assert!(!rig.app.settle_kept() && rig.carried.cars.borrow().len() == 1, "told once");
}
