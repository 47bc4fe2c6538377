//! What a hand does is what the record holds: keys in a real pseudo-terminal, and the log they leave behind.
#![cfg(unix)]

use std::fs;
use std::path::Path;
use std::process::Command;

use linewalk::logbook::problem::Fault;
use linewalk::logbook::reader::read_car;
use linewalk::model::entry::{Entry, Finding, Outcome};
use linewalk::model::history::History;
use linewalk::shell::disk::DiskStorage;
use portable_pty::CommandBuilder;

use crate::pty::{Screen, at_home};

pub const RULES: &str = "tests/it/screens_rules.toml";

/// A count whose limit the car file has to tell.
const COUNTED: &str = r#"
[[check]]
id = "heads-counted"
station = "nose"
topic = "bottles"
title = "Pins in hand are as many as release heads"
accept = "As many as the heads."
reject = "Fewer."
why = "A pin left in a head keeps it shut."
remedy = "Pull it."
method = "count"
severity = "stop"
profiles = ["scales"]
source = [{ for = "one pin a head", document = "common practice, no source", basis = "common-practice" }]
count = { id = "pins", label = "Pins in hand", equals = "suppression.release_heads" }
"#;

/// The smallest car under small rules, in a home whose settings are as they come.
pub struct Home {
    folder: tempfile::TempDir,
    guarded: bool,
}

impl Home {
    /// With the repeat guard as it comes.
    fn guarded() -> Self {
        Self { folder: tempfile::tempdir().unwrap(), guarded: true }
    }

    /// Without it: a script presses one key twice as fast as the screen shows the first.
    pub fn new() -> Self {
        Self { guarded: false, ..Self::guarded() }
    }

    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// The program with these arguments, in a terminal of 80 by 24.
    fn program(&self, arguments: &[&str]) -> Screen {
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_linewalk"));
        command.args(arguments);
        at_home(&mut command, self.path());
        if self.guarded {
            let _ = fs::remove_file(self.path().join("config/linewalk/config.toml"));
        }
        Screen::run(command, 24, 80)
    }

    pub fn walk(&self, profile: &str, rules: &str) -> Screen {
        let car = "sample-cars/minimal.toml";
        let mut screen = self.program(&["walk", car, "--profile", profile, "--by", "R.N.", "--rules", rules]);
        screen.wait_for("Enter ");
        screen
    }

    /// At the first check of a walk.
    fn first_check(&self) -> Screen {
        let mut screen = self.walk("scales", RULES);
        screen.press("\r");
        screen.wait_for("before anything else");
        screen
    }

    /// At the left front corner, the first check accepted.
    pub fn at_the_corner(&self) -> Screen {
        let mut screen = self.first_check();
        screen.press("a");
        screen.wait_for("Left front hose reaches through all travel");
        screen
    }

    pub fn history(&self) -> History {
        let read = read_car(&DiskStorage::at(self.path().join("data/cars/minimal"))).unwrap();
        // The head follows soon after an answer was shown.
        let damage = read.problems.iter().find(|problem| problem.fault != Fault::BeingWritten);
        assert!(damage.is_none(), "{damage:?}");
        History::fold(read.kept)
    }

    /// Answers that stand.
    fn findings(&self) -> Vec<Finding> {
        self.history().findings().into_iter().map(|(_, finding)| finding.clone()).collect()
    }

    pub fn answers(&self) -> Vec<(String, Outcome)> {
        self.findings().into_iter().map(|finding| (finding.check, finding.result)).collect()
    }

    /// What a command prints.
    pub fn said(&self, arguments: &[&str]) -> String {
        let mut command = Command::new(env!("CARGO_BIN_EXE_linewalk"));
        command.args(arguments).current_dir(env!("CARGO_MANIFEST_DIR"));
        command.env("LINEWALK_DATA_DIR", self.path().join("data"));
        command.env("XDG_CONFIG_HOME", self.path().join("config"));
        String::from_utf8(command.output().unwrap().stdout).unwrap()
    }
}

/// Leaves at once, and waits until the program is gone.
pub fn leave(mut screen: Screen) {
    screen.press("\u{3}");
    screen.ends();
}

fn shown(screen: &Screen) -> String {
    screen.parser.screen().contents()
}

/// From the corner: both stops rejected, and the list of open items open.
fn two_stops_open(screen: &mut Screen) {
    screen.press("r");
    screen.wait_for("(Enter: none)");
    screen.press("\r");
    screen.wait_for("Hose tab is welded on");
    screen.press("j");
    screen.wait_for("a few letters find a check");
    screen.press("service\r");
    screen.wait_for("Read the sticker");
    screen.press("r");
    screen.wait_for("(Enter: none)");
    screen.press("\r");
    screen.wait_for("Clamps of the tail line");
    screen.press("o");
    screen.wait_for("Open items, the worst first");
}

#[test]
fn a_remark_is_on_the_item_chosen_after_the_list_was_sorted_anew() {
    let home = Home::new();
    let mut screen = home.at_the_corner();
    two_stops_open(&mut screen);
    // The hose is chosen; said to be repaired, it becomes the newest and goes below the bottle.
    screen.press("d");
    screen.wait_for("said to be repaired: open until someone looks again and accepts");
    screen.press("n");
    screen.wait_for("remark on Left front hose");
    screen.press("hose is new\r");
    screen.wait_for("Kept: the owner's remark on Left front hose reaches through all travel");
    leave(screen);
    let history = home.history();
    let remark = history.all().iter().find_map(|kept| match &kept.entry {
        Entry::Remark { record, check, .. } => Some((record.clone().unwrap(), check.clone())),
        _ => None,
    });
    let (record, check) = remark.unwrap();
    let Entry::Finding(about) = &history.get(&record).unwrap().entry else { panic!("no answer") };
    assert_eq!((about.check.as_str(), check.as_deref()), ("hose-reaches", Some("hose-reaches")));
    let log = home.said(&["log", "show", "minimal"]);
    assert!(log.contains("hose-reaches (repaired): hose is new"), "{log}");
}

#[test]
fn after_an_item_left_the_list_no_other_one_is_chosen() {
    let home = Home::new();
    let mut screen = home.at_the_corner();
    two_stops_open(&mut screen);
    screen.press("a");
    screen.wait_for("Replace that");
    screen.press("\r");
    screen.wait_for("it is closed");
    screen.press("n");
    screen.wait_for("That key does nothing here");
    screen.press("\u{1b}[B");
    screen.wait_for("Where");
    screen.press("n");
    screen.wait_for("remark on Service date");
    leave(screen);
}

#[test]
fn a_bounced_key_answers_once() {
    let home = Home::guarded();
    let mut screen = home.first_check();
    screen.press("aa");
    screen.wait_for("was not taken");
    leave(screen);
    assert_eq!(home.answers(), [("pins-in".to_owned(), Outcome::Accept)]);
}

#[test]
fn what_a_held_key_accepted_is_taken_back_and_asked_anew() {
    let home = Home::guarded();
    let mut screen = home.first_check();
    screen.press("aaaaaa");
    screen.wait_for("was held down");
    screen.wait_for("before anything else");
    leave(screen);
    assert_eq!(home.answers(), [], "nothing stands");
    let taken_back = home.history().all().iter().any(
        |kept| matches!(&kept.entry, Entry::Withdrawn { note, .. } if note.as_deref() == Some("held key")),
    );
    assert!(taken_back);
}

#[test]
fn an_answer_to_a_check_that_was_not_shown_yet_is_dropped_and_said() {
    let home = Home::guarded();
    let mut screen = home.first_check();
    screen.press("asf");
    screen.wait_for("Too fast: nothing after");
    leave(screen);
    assert_eq!(home.answers(), [("pins-in".to_owned(), Outcome::Accept)]);
}

#[test]
fn the_guard_is_a_setting_and_its_range_is_said() {
    let home = Home::new();
    let settings = home.path().join("config/linewalk/config.toml");
    fs::create_dir_all(settings.parent().unwrap()).unwrap();
    fs::write(&settings, "repeat_guard = 1001\n").unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_linewalk"));
    command.args(["report", "minimal"]).env("XDG_CONFIG_HOME", home.path().join("config"));
    command.env("LINEWALK_DATA_DIR", home.path().join("data"));
    let output = command.output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(said.contains("config.toml:1:16") && said.contains("from 0 to 1000"), "{said}");
}

#[test]
fn a_station_is_accepted_by_another_key_after_its_checks_were_shown() {
    let home = Home::guarded();
    let mut screen = home.at_the_corner();
    screen.press("ggggg\r");
    screen.wait_for("accept these 3 checks?");
    let list = shown(&screen);
    for line in ["# STOP    Left front hose", "= FIX     Hose tab", "- NOTE    Bleed screw"] {
        assert!(list.contains(line), "{line}\n{list}");
    }
    assert_eq!(
        home.answers().len(),
        1,
        "nothing is accepted by the key that asks, nor before the list was shown"
    );
    screen.press("\r");
    screen.wait_for("3 checks accepted at this station");
    leave(screen);
    assert_eq!(home.findings().iter().filter(|finding| finding.by_station).count(), 3);
}

#[test]
fn a_stop_with_a_value_is_never_accepted_with_its_station() {
    let home = Home::new();
    let mut screen = home.at_the_corner();
    screen.press("j");
    screen.wait_for("a few letters find a check");
    screen.press("service\r");
    screen.wait_for("Read the sticker");
    screen.press("g");
    screen.wait_for("nothing at this station is left to accept in one go");
    leave(screen);
    assert_eq!(home.answers().len(), 1);
}

#[test]
fn a_reason_typed_at_once_after_a_reject_is_its_note() {
    let home = Home::guarded();
    let mut screen = home.first_check();
    screen.press("rfront-left\r");
    screen.wait_for("front-left");
    screen.wait_for("PAUSED");
    assert_eq!(home.answers(), [("pins-in".to_owned(), Outcome::Reject)]);
    // Another answer in its place is asked about, and Esc leaves the reject.
    screen.press("f");
    screen.wait_for("This was REJECTED in this walk");
    screen.press("\u{1b}");
    screen.wait_for("Nothing was kept");
    leave(screen);
    assert_eq!(home.answers(), [("pins-in".to_owned(), Outcome::Reject)]);
    let slip = home.said(&["report", "minimal", "--kind", "slip", "--rules", RULES]);
    assert!(slip.contains("front-left"), "{slip}");
}

#[test]
fn a_note_made_of_answer_keys_is_asked_about() {
    let home = Home::new();
    let mut screen = home.first_check();
    screen.press("r");
    screen.wait_for("(Enter: none)");
    screen.press("aaa\r");
    screen.wait_for("is made of keys that answer");
    screen.press("\u{1b}");
    screen.wait_for("[aaa");
    leave(screen);
}

#[test]
fn enter_opens_the_exact_number_or_a_row_chosen_and_nothing_else() {
    let home = Home::new();
    for (id, number, name) in [("car-310", "310", "Heron"), ("car-42", "42", "Finch")] {
        let car = home.path().join("data/cars").join(id);
        fs::create_dir_all(&car).unwrap();
        let text = format!("format = 1\n[car]\nid = \"{id}\"\nnumber = \"{number}\"\nname = \"{name}\"\n");
        fs::write(car.join("car.toml"), text).unwrap();
    }
    let mut screen = home.program(&["--profile", "scales", "--rules", RULES]);
    screen.wait_for("310");
    screen.press("31");
    screen.wait_for("No car 31.");
    screen.press("\r");
    screen.wait_for("There is no car 31");
    // The number that is there.
    screen.press("0\r");
    screen.wait_for("CAR 310");
    screen.press("\u{1b}");
    screen.wait_for("type a number or a name");
    // A name finds it, and Down chooses it.
    screen.press("fin");
    screen.wait_until("only Finch", |screen| {
        let shown = screen.contents();
        shown.contains("Finch") && !shown.contains("Heron")
    });
    screen.press("\u{1b}[B\r");
    screen.wait_for("CAR 42");
    screen.press("\u{1b}");
    screen.wait_for("type a number or a name");
    // A new car has a key of its own, which asks the number.
    screen.press("31+");
    screen.wait_for("Number of the new car:");
    screen.press("\r");
    screen.wait_for("Car 31 is new");
    leave(screen);
}

#[test]
fn a_value_without_a_known_limit_is_decided_by_the_person_and_marked() {
    let home = Home::new();
    let rules = home.path().join("rules.toml");
    let small = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(RULES)).unwrap();
    fs::write(&rules, format!("{small}{COUNTED}")).unwrap();
    let rules = rules.to_str().unwrap();
    let mut screen = home.walk("scales", rules);
    screen.press("\r");
    screen.wait_for("before anything else");
    screen.press("a");
    screen.wait_for("Pins in hand are as many");
    screen.press("2");
    screen.wait_for("no limit known: you decide");
    assert!(!shown(&screen).contains("inside"), "{}", shown(&screen));
    screen.press("\r");
    screen.wait_for("No limit known, you decide");
    assert!(!shown(&screen).contains("nside its limit"), "{}", shown(&screen));
    screen.press("a");
    screen.wait_for("2 of ");
    leave(screen);
    let last = home.findings().pop().unwrap();
    assert_eq!((last.result, last.verdict, last.limit_unknown), (Outcome::Accept, None, true));
    let full = home.said(&["report", "minimal", "--kind", "full", "--rules", rules]);
    let full = full.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(full.contains("no limit known: decided by the person"), "{full}");
}

/// A whole walk at the scales with the hose rejected and one station accepted by one key, signed.
fn walked_at_the_scales(home: &Home) {
    let mut screen = home.at_the_corner();
    screen.press("r");
    screen.wait_for("(Enter: none)");
    screen.press("\r");
    screen.wait_for("Hose tab is welded on");
    screen.press("g");
    screen.wait_for("accept these 2 checks?");
    screen.press("\r");
    screen.wait_for("Hose keeps clear");
    screen.press("e");
    screen.wait_for("Service date on the bottle");
    screen.press("s");
    screen.wait_for("Clamps of the tail line");
    screen.press("3\r0\r");
    screen.wait_for("there is something to look at");
    screen.press("a");
    screen.wait_for("the end of the walk");
    let end = shown(&screen);
    assert!(end.contains("4 one by one, 2 by whole station, 1 by eye; median"), "{end}");
    screen.press("7\r");
    screen.wait_for("Signed as inspector");
    screen.press("\r");
    screen.wait_for("the walk has ended");
    leave(screen);
}

#[test]
fn every_report_says_how_the_answers_were_given() {
    let home = Home::new();
    walked_at_the_scales(&home);
    for kind in ["deficiency", "full", "slip", "delivery", "due", "fix-first"] {
        let text = home.said(&["report", "minimal", "--kind", kind, "--rules", RULES]);
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains("4 one by one, 2 by whole station, 1 by eye; median"), "{kind}\n{text}");
    }
}

#[test]
fn a_recheck_takes_the_way_round_of_the_walk_it_rechecks() {
    let home = Home::new();
    walked_at_the_scales(&home);
    let mut screen = home.walk("shop", RULES);
    screen.press("r");
    screen.wait_for("as in the walk before (At");
    screen.press("\r");
    screen.wait_for("before anything else");
    screen.press("a");
    screen.wait_for("Left front hose reaches");
    screen.press("a");
    // What could not be seen of a stop is asked again, too.
    screen.wait_for("Read the sticker");
    screen.press("e");
    screen.wait_for("the end of the walk");
    screen.press("7\r");
    screen.wait_for("Signed as inspector");
    screen.press("\r");
    screen.wait_for("the walk has ended");
    leave(screen);
    let slip = home.said(&["report", "minimal", "--kind", "slip", "--rules", RULES]);
    assert!(!slip.contains("not reached"), "{slip}");
    assert!(slip.contains("recheck: 2 one by one, 1 by eye"), "{slip}");
}
