//! Who holds a car, who walks, and what is named on the command line without a car, in a real pseudo-terminal.
#![cfg(unix)]

use std::fs;
use std::path::Path;

use linewalk::logbook::verify::verify;
use linewalk::shell::disk::DiskStorage;
use portable_pty::CommandBuilder;

use crate::pty::{Screen, at_home, wait_for_head, walk};
use crate::soak::kill;

/// The program with these arguments, in a terminal of 80 by 24.
pub fn program(folder: &Path, arguments: &[&str]) -> Screen {
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_linewalk"));
    command.args(arguments);
    at_home(&mut command, folder);
    Screen::run(command, 24, 80)
}

#[test]
fn a_second_session_says_who_has_the_car_and_since_when() {
    let folder = tempfile::tempdir().unwrap();
    let mut first = Screen::begun(folder.path());

    let mut second = Screen::open(folder.path());
    second.wait_for("R.N. has it since");
    let screen = second.parser.screen().contents();
    assert!(screen.contains("open in another window"), "{screen}");
    assert!(!screen.contains(".lock"), "{screen}");
    second.press("\u{3}");
    second.ends();

    // A sheet of answers is told the same, on standard error.
    let sheet = folder.path().join("sheet.toml");
    fs::write(&sheet, "format = 1\nprofile = \"scales-short\"\n").unwrap();
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_linewalk"));
    command.args(["walk", "minimal", "--answers"]).arg(&sheet);
    command.env("LINEWALK_DATA_DIR", folder.path().join("data"));
    command.env("XDG_CONFIG_HOME", folder.path().join("config"));
    let output = command.output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(said.contains("R.N. has it since") && !said.contains(".lock"), "{said}");

    // Once the first has gone, nobody has it.
    first.press("\u{3}");
    first.ends();
    let mut third = Screen::open(folder.path());
    third.wait_for("Enter resume");
    third.press("\u{3}");
    third.ends();
    let left: Vec<_> = fs::read_dir(folder.path().join("data/cars/minimal")).unwrap().collect();
    assert!(left.iter().all(|entry| !entry.as_ref().unwrap().path().ends_with(".open")), "{left:?}");
}

#[test]
fn profile_by_and_rules_hold_for_every_car_of_the_list() {
    let folder = tempfile::tempdir().unwrap();
    let bare = ["--profile", "scales-short", "--by", "R.N.", "--rules", "rulesets/example-club.toml"];
    let mut screen = program(folder.path(), &bare);
    // No question of who this is: the profile answers it.
    screen.wait_for("R.N.");
    screen.wait_for("Number");
    screen.press("318+");
    screen.wait_for("Number of the new car:");
    screen.press("\r");
    screen.wait_for("Car 318 is new");
    screen.press("\r");
    // No question of which way round either.
    screen.wait_for("Enter walk");
    let shown = screen.parser.screen().contents();
    assert!(shown.contains("R.N."), "{shown}");
    assert!(shown.contains("technical sheet"), "{shown}");
    screen.press("\r");
    screen.wait_for("before anything else");
    screen.press("a");
    screen.wait_for("1 of ");
    screen.press("\u{3}");
    screen.ends();
    let car = folder.path().join("data/cars/car-318");
    let log = fs::read_dir(car).unwrap().map(|entry| entry.unwrap().path());
    let log = log.into_iter().find(|path| path.extension().is_some_and(|ending| ending == "jsonl")).unwrap();
    let log = fs::read_to_string(log).unwrap();
    for said in ["\"profile\":\"scales-short\"", "\"by\":\"R.N.\"", "\"id\":\"example-club\""] {
        assert!(log.contains(said), "{said}: {log}");
    }
}

#[test]
fn a_profile_or_rule_file_that_is_not_there_is_said_before_the_list() {
    let folder = tempfile::tempdir().unwrap();
    for (arguments, said) in [
        (["--profile", "nobody"], "there is no profile nobody"),
        (["--rules", "nowhere.toml"], "there is no rule file nowhere.toml"),
    ] {
        let mut screen = program(folder.path(), &arguments);
        assert_eq!(screen.ends().exit_code(), 2);
        let shown = screen.parser.screen().contents();
        assert!(shown.contains(said), "{shown}");
    }
}

#[test]
fn who_walks_is_remembered_and_shown_at_the_next_start() {
    let folder = tempfile::tempdir().unwrap();
    let config = folder.path().join("config/linewalk");
    fs::create_dir_all(&config).unwrap();
    fs::write(config.join("config.toml"), "theme = \"light\"\nby = \"old\"\n[shop]\nname = \"by = x\"\n")
        .unwrap();
    let mut command = walk(folder.path());
    command.get_argv_mut().truncate(5);
    let mut screen = Screen::run(command, 24, 80);
    screen.wait_for("old");
    screen.press("b");
    screen.wait_for("Who walks?");
    screen.press("\u{7f}\u{7f}\u{7f}R.N.\r");
    screen.wait_for("R.N. walks");
    screen.press("\u{3}");
    screen.ends();
    let settings = fs::read_to_string(config.join("config.toml")).unwrap();
    assert_eq!(settings, "by = \"R.N.\"\ntheme = \"light\"\n[shop]\nname = \"by = x\"\n");

    let mut screen = program(folder.path(), &["--profile", "scales-short"]);
    screen.wait_for("R.N.");
    screen.press("7\r");
    screen.wait_for("Enter walk");
    let shown = screen.parser.screen().contents();
    assert!(shown.lines().any(|line| line.contains("By") && line.contains("R.N.")), "{shown}");
    screen.press("\u{3}");
    screen.ends();
}

/// Cut off between a record and its head: the person is asked whose the answer is, and the screen counts what is counted.
#[test]
fn an_answer_cut_off_before_its_head_is_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    let mut screen = Screen::begun(folder.path());
    let car = folder.path().join("data/cars/minimal");
    let entries = fs::read_dir(&car).unwrap().map(|entry| entry.unwrap().path());
    let head =
        entries.into_iter().find(|path| path.extension().is_some_and(|ending| ending == "head")).unwrap();
    let before = fs::read(&head).unwrap();
    screen.press("a");
    screen.wait_for("2 of ");
    wait_for_head(folder.path());
    kill(&mut screen);
    fs::write(&head, &before).unwrap();

    // Left as it is, it is asked again.
    let mut screen = Screen::open(folder.path());
    screen.wait_for("was cut off while it kept 1 record");
    screen.wait_for("NS02");
    screen.press("\u{1b}");
    screen.wait_for("asked again");
    screen.press("\r");
    screen.wait_for("1 of ");
    kill(&mut screen);

    let mut screen = Screen::open(folder.path());
    screen.wait_for("was cut off while it kept 1 record");
    screen.press("\r");
    screen.wait_for("Confirmed: it counts.");
    screen.press("\r");
    screen.wait_for("2 of ");
    screen.press("\u{3}");
    screen.ends();
    let verdict = verify(&DiskStorage::at(&car)).unwrap();
    assert!(verdict.text().contains("verifies"), "{}", verdict.text());
}

/// The sample is played with in a folder of its own: no real car, no report and no list knows of it.
#[test]
fn play_is_kept_apart_from_real_cars() {
    let folder = tempfile::tempdir().unwrap();
    let mut screen = program(folder.path(), &[]);
    screen.wait_for("1  Walk my car");
    screen.press("4");
    screen.wait_for("PLAY | CAR 62");
    screen.press("3");
    screen.wait_for("PLAY | CAR 62 Heron (sample)");
    screen.press("\r");
    screen.wait_for("before anything else");
    screen.press("a");
    screen.wait_for("1 of ");
    assert!(!folder.path().join("data/cars").exists(), "no real car was made");
    assert!(folder.path().join("data/play/cars/heron").is_dir());
    // Back to the list, and out of play.
    screen.press("\u{1b}");
    screen.wait_for("PLAY | linewalk | cars");
    screen.press("\u{1b}");
    screen.wait_for("Play is over");
    screen.wait_for("No car is known yet");
    screen.press("\u{3}");
    screen.ends();
}
