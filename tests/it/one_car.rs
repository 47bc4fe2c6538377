//! A car begun by its number and given a full file later is one car: one record, one file, wherever it is asked for.
#![cfg(unix)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::pty_sessions::program;

/// What a command printed, on both streams, and its status.
fn run(folder: &Path, arguments: &[&str]) -> (i32, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_linewalk"));
    command.args(arguments).current_dir(env!("CARGO_MANIFEST_DIR"));
    command.env("LINEWALK_DATA_DIR", folder.join("data")).env("XDG_CONFIG_HOME", folder.join("config"));
    let output = command.output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stderr) + &text(output.stdout))
}

fn done(folder: &Path, arguments: &[&str]) -> String {
    let (status, said) = run(folder, arguments);
    assert_ne!(status, 2, "{arguments:?}: {said}");
    said
}

/// A car of this id and number in the data folder, as begun by its number.
fn stub(folder: &Path, id: &str, number: &str) {
    let car = folder.join("data/cars").join(id);
    fs::create_dir_all(&car).unwrap();
    fs::write(car.join("car.toml"), format!("format = 1\n\n[car]\nid = \"{id}\"\nnumber = \"{number}\"\n"))
        .unwrap();
}

/// The heron's file with another number and id.
fn full(folder: &Path, id: &str, number: &str) -> PathBuf {
    let heron = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-cars/heron.toml");
    let text = fs::read_to_string(heron).unwrap();
    let lines = text.lines().map(|line| match line.split_once(" = ") {
        Some(("number", _)) => format!("number = \"{number}\""),
        Some(("id", "\"heron\"")) => format!("id = \"{id}\""),
        _ => line.to_owned(),
    });
    let path = folder.join("full.toml");
    fs::write(&path, lines.collect::<Vec<_>>().join("\n") + "\n").unwrap();
    path
}

/// A sheet with one answer to the check asked first.
fn sheet(folder: &Path, result: &str) -> String {
    let path = folder.join(format!("{result}.toml"));
    let text = format!(
        "format = 1\nprofile = \"scales-short\"\nby = \"R.N.\"\n[[answer]]\ncheck = \"pins-in-before-hands-in\"\nresult = \"{result}\"\n"
    );
    fs::write(&path, text).unwrap();
    path.display().to_string()
}

#[test]
fn list_start_numbers_report_and_log_speak_of_one_car_and_of_the_file_adopted() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let file = full(at, "heron", "318");
    let file = file.to_str().unwrap();

    // Car 318 is begun by its number, and one stop is found.
    let mut screen = program(at, &["--profile", "scales-short", "--by", "R.N."]);
    screen.wait_for("Number");
    screen.press("318+");
    screen.wait_for("Number of the new car");
    screen.press("\r");
    screen.wait_for("Car 318 is new");
    screen.press("\r");
    screen.wait_for("Enter walk");
    screen.press("\r");
    screen.wait_for("before anything else");
    screen.press("r");
    screen.wait_for("STOP 1");
    screen.press("\u{3}");
    screen.ends();

    // A full file of the same number: asked, and Enter is no answer.
    let mut screen = program(at, &["walk", file, "--profile", "scales-short"]);
    screen.wait_for("Is it the same car?");
    let shown = screen.parser.screen().contents();
    for said in ["318", "Heron", "keeper Northmere", "class ", "id car-318", "open STOP 1", "full.toml"] {
        assert!(shown.contains(said), "{said}: {shown}");
    }
    screen.press("\r");
    screen.wait_for("That key does nothing here");
    screen.press("y");
    screen.wait_for("Enter resume");
    let shown = screen.parser.screen().contents();
    assert!(shown.contains("heron/car.toml") && shown.contains("the record of car-318"), "{shown}");
    assert!(shown.contains("STOP 1"), "{shown}");
    screen.press("\u{3}");
    screen.ends();

    // It is asked once.
    let mut screen = program(at, &["walk", file, "--profile", "scales-short"]);
    screen.wait_for("Enter resume");
    screen.press("\u{3}");
    screen.ends();

    // The list has one car 318, by the name that only the file knows, with the stop found before.
    let mut screen = program(at, &["--profile", "scales-short"]);
    screen.wait_for("Heron");
    let list = screen.parser.screen().contents();
    assert_eq!(list.matches("318").count(), 1, "{list}");
    assert!(list.contains("STOP 1"), "{list}");
    screen.press("\u{3}");
    screen.ends();

    let used = at.join("data/cars/heron/car.toml");
    assert_eq!(fs::read_to_string(&used).unwrap(), fs::read_to_string(file).unwrap());
    let used = used.to_str().unwrap();
    speaks_of_one_car(at, used);
    // The record goes on: an answer given now closes what was found before.
    done(at, &["walk", "318", "--answers", &sheet(at, "accept")]);
    assert_eq!(run(at, &["report", "318"]).0, 0);
    // And two cars after all: the stop is open again where it was found.
    done(at, &["log", "join", "heron", "car-318", "--take-back", "--reason", "another car"]);
    assert_eq!((run(at, &["report", "heron"]).0, run(at, &["report", "car-318"]).0), (0, 1));
}

/// Numbers, report and log of car 318; its log by whatever it is called.
fn speaks_of_one_car(at: &Path, used: &str) {
    let numbers = done(at, &["numbers", "318", "--only", "brake.pressure"]);
    assert!(numbers.contains(used) && numbers.contains("brake.pressure  "), "{numbers}");
    let (status, report) = run(at, &["report", "318", "--format", "json"]);
    assert_eq!(status, 1);
    let report: serde_json::Value = serde_json::from_str(&report).unwrap();
    assert_eq!(report["file"], used);
    assert_eq!((&report["car"], &report["joined"][0]), (&"heron".into(), &"car-318".into()));
    let found = report["findings"].as_array().unwrap();
    assert!(found.iter().any(|one| one["check"] == "pins-in-before-hands-in" && one["state"] == "open"));
    for car in ["318", "heron", "car-318"] {
        let log = done(at, &["log", "show", car]);
        assert!(log.contains(used) && log.contains("pins-in-before-hands-in: reject"), "{log}");
        assert!(log.contains("joined: car-318 is the same car"), "{log}");
    }
    assert_eq!(run(at, &["log", "verify", "318"]).0, 0);
}

#[test]
fn a_script_is_told_of_adoption_and_keeps_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    stub(at, "car-318", "318");
    done(at, &["walk", "318", "--answers", &sheet(at, "reject")]);
    let file = full(at, "heron", "318");
    let file = file.to_str().unwrap();
    for arguments in [&["walk", file, "--answers", &sheet(at, "accept")][..], &["report", file]] {
        let (status, said) = run(at, arguments);
        assert_eq!(status, 2, "{said}");
        assert!(said.contains("linewalk car adopt"), "{said}");
    }
    assert!(!at.join("data/cars/heron").exists());
    // Numbers keep nothing; that another record is there is said.
    assert!(done(at, &["numbers", file]).contains("car-318, with 1 stop"));

    // Said to be two cars: both go on by themselves, and their number alone is not enough.
    done(at, &["car", "adopt", file, "--two-cars"]);
    assert_eq!((run(at, &["report", "heron"]).0, run(at, &["report", "car-318"]).0), (0, 1));
    let (status, said) = run(at, &["report", "318"]);
    assert_eq!(status, 2);
    assert!(said.contains("heron (") && said.contains("car-318 ("), "{said}");
    done(at, &["walk", file, "--answers", &sheet(at, "accept")]);
}

/// The file bears the id that the car got by its number: the four lines used to win without a word.
#[test]
fn a_full_file_with_the_id_of_the_stub_takes_its_place() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    stub(at, "car-318", "318");
    done(at, &["walk", "318", "--answers", &sheet(at, "reject")]);
    let before = fs::read_to_string(at.join("data/cars/car-318/car.toml")).unwrap();
    let file = full(at, "car-318", "318");
    let file = file.to_str().unwrap();
    let (status, said) = run(at, &["walk", file, "--answers", &sheet(at, "accept")]);
    assert!(status == 2 && said.contains("car adopt"), "{said}");

    let mut screen = program(at, &["walk", file, "--profile", "scales-short"]);
    screen.wait_for("another file in use");
    screen.press("y");
    screen.wait_for("Enter resume");
    screen.press("\u{3}");
    screen.ends();
    assert!(done(at, &["numbers", "318"]).contains("Pressure in the circuit"));
    assert_eq!(run(at, &["report", "318"]).0, 1);
    let editions: Vec<PathBuf> = fs::read_dir(at.join("data/cars/car-318/editions"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    assert_eq!(fs::read_to_string(&editions[0]).unwrap(), before);

    // The file it came from goes its own way: said, not followed.
    fs::write(file, fs::read_to_string(file).unwrap() + "# changed\n").unwrap();
    let said = done(at, &["report", "318"]);
    assert!(said.contains("another file of this car"), "{said}");
    done(at, &["car", "adopt", file]);
    assert!(!done(at, &["report", "318"]).contains("another file of this car"));
}

#[test]
fn a_car_is_meant_by_path_id_or_number_and_two_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    stub(at, "finch", "7A");
    stub(at, "car-8", "8");
    for car in ["finch", "7A", "7a", " 7A "] {
        assert!(done(at, &["numbers", car]).contains("cars/finch/car.toml"), "{car}");
    }
    let (status, said) = run(at, &["numbers", "007A"]);
    assert!(status == 2 && said.contains("no car 007A. Car 7A is known"), "{said}");
    stub(at, "wren", "8 ");
    let (status, said) = run(at, &["report", "8"]);
    assert_eq!(status, 2);
    assert!(said.contains("car-8 (") && said.contains("wren (") && said.contains("log join"), "{said}");
    // The id of one car and the number of another.
    stub(at, "7A", "99");
    let (status, said) = run(at, &["report", "7A"]);
    assert!(status == 2 && said.contains("finch (") && said.contains("7A (number 99"), "{said}");
}

#[test]
fn a_car_is_renamed_put_away_and_brought_back_without_losing_its_record() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    stub(at, "car-318", "318");
    stub(at, "car-62", "62");
    done(at, &["walk", "318", "--answers", &sheet(at, "reject")]);
    let (status, said) = run(at, &["car", "rename", "318", "--number", "62"]);
    assert!(status == 2 && said.contains("car-62 has the number 62 already"), "{said}");
    done(at, &["car", "rename", "318", "--number", "31\"8", "--name", "Plover"]);
    let text = fs::read_to_string(at.join("data/cars/car-318/car.toml")).unwrap();
    assert!(text.ends_with("name = \"Plover\"\n"), "{text}");
    let (status, report) = run(at, &["report", "31\"8"]);
    assert!(status == 1 && report.contains("Plover") && !report.contains("two cars"), "{report}");
    assert!(done(at, &["log", "show", "car-318"]).contains("318 before"));
    done(at, &["car", "rename", "car-318", "--number", "318"]);

    let away = done(at, &["car", "put-away", "318", "--reason", "sold"]);
    assert!(away.contains("bring-back"), "{away}");
    let mut screen = program(at, &["--profile", "scales-short"]);
    screen.wait_for("1 car put away");
    assert!(!screen.parser.screen().contents().contains("Plover"));
    // Its number finds it: no second car of the number is begun.
    screen.press("318");
    screen.wait_for("Plover");
    assert!(!screen.parser.screen().contents().contains("Begin a new car"));
    screen.press("\u{3}");
    screen.ends();
    assert_eq!(run(at, &["report", "318"]).0, 1);
    assert!(done(at, &["car", "bring-back", "318"]).contains("sold"));
    let mut screen = program(at, &["--profile", "scales-short"]);
    screen.wait_for("Plover");
    screen.press("\u{3}");
    screen.ends();
}

/// Another lane begins the number while this one stands at its list, or at the questions about a new car.
#[test]
fn a_number_begun_in_another_lane_meanwhile_opens_that_record() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    for asked_already in [false, true] {
        let number = if asked_already { "501" } else { "500" };
        let mut screen = program(at, &["--profile", "scales-short"]);
        screen.wait_for("Number");
        screen.press(number);
        screen.press("+");
        screen.wait_for("Number of the new car");
        if asked_already {
            screen.press("\r");
            screen.wait_for("is new");
        }
        stub(at, "from-lane-2", number);
        done(at, &["walk", number, "--answers", &sheet(at, "reject")]);
        screen.press("\r");
        screen.wait_for("begun in another lane meanwhile");
        screen.wait_for("STOP 1");
        screen.press("\u{3}");
        screen.ends();
        assert_eq!(fs::read_dir(at.join("data/cars")).unwrap().count(), 1);
        fs::remove_dir_all(at.join("data/cars/from-lane-2")).unwrap();
    }
}

/// What was said when the car was begun is not lost without a word where the full file says the opposite or nothing.
#[test]
fn adoption_says_what_the_new_file_leaves_unsaid() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    stub(at, "car-318", "318");
    let begun = at.join("data/cars/car-318/car.toml");
    let text = fs::read_to_string(&begun).unwrap();
    fs::write(&begun, text + "equipment = [\"line-lock\"]\nwithout = [\"suppression\"]\n").unwrap();
    let file = full(at, "heron", "318");
    let said = done(at, &["car", "adopt", file.to_str().unwrap()]);
    assert!(said.contains("line-lock, and this file") || said.contains("line lock, and this file"), "{said}");
    // The heron has bottles and nozzles.
    assert!(said.contains("and this file says the opposite"), "{said}");
}

/// The keeper, the name and the mass that somebody typed when the car was begun by its number.
#[test]
fn adoption_names_the_values_that_the_new_file_has_not() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    stub(at, "car-318", "318");
    let begun = at.join("data/cars/car-318/car.toml");
    let text = fs::read_to_string(&begun).unwrap();
    let typed = "name = \"Red car\"\ncg_height = \"17 in\"\ncylinders = 8\nmass = \"1500 lb\"\n";
    fs::write(&begun, text + typed).unwrap();
    let file = full(at, "heron", "318");
    let said = done(at, &["car", "adopt", file.to_str().unwrap()]);
    assert!(said.contains("said name Red car, and this file says Heron: see which is right"), "{said}");
    assert!(said.contains("said mass 1500 lb, and this file says 1540 lb: see which is right"), "{said}");
    assert!(said.contains("said cylinders 8, and this file does not say it"), "{said}");
    assert!(
        !said.contains("said id") && !said.contains("said number"),
        "what was asked about is not named again: {said}"
    );
}

/// A mistake in a car's file hides neither the car nor that another one has its number.
#[test]
fn a_car_whose_file_has_a_mistake_is_still_that_car() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    stub(at, "car-318", "318");
    let begun = at.join("data/cars/car-318/car.toml");
    let sound = fs::read_to_string(&begun).unwrap();
    fs::write(&begun, sound.clone() + "mass = \"heavy\"\n").unwrap();
    let (status, said) = run(at, &["report", "318"]);
    assert!(status == 2 && said.contains("car.toml:6:9") && said.contains("heavy"), "{said}");
    let file = full(at, "heron", "318");
    let (status, said) = run(at, &["report", file.to_str().unwrap()]);
    assert!(status == 2 && said.contains("kept under car-318"), "{said}");
    let said = done(at, &["car", "adopt", file.to_str().unwrap()]);
    assert!(said.contains("the file of car-318 has mistakes, and nothing was compared with it"), "{said}");
    // Where not even its number can be read, the car is named.
    stub(at, "car-319", "319");
    fs::write(at.join("data/cars/car-319/car.toml"), "[car\n").unwrap();
    let (status, said) = run(at, &["report", "319"]);
    assert!(status == 2 && said.contains("number of car-319 is not known"), "{said}");
}

/// A sheet walked in a queue names its car by the number on the door: the car is made once, and never guessed at later.
#[test]
fn an_answers_file_makes_the_car_of_its_number() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let file = |name: &str, date: &str, check: &str, more: &str| {
        let path = at.join(name);
        let text = format!(
            "format = 1\nnumber = 412\ndate = {date}\nprofile = \"scales-short\"\nby = \"R.N.\"\n{more}\
             [[answer]]\ncheck = \"{check}\"\nresult = \"accept\"\nat = \"10:15\"\n"
        );
        fs::write(&path, text).unwrap();
        path.display().to_string()
    };
    let cars = || fs::read_dir(at.join("data/cars")).map_or(0, Iterator::count);
    // A mistake in it: nothing is kept, and no car is left behind.
    let (status, said) = run(at, &["walk", "--answers", &file("a.toml", "2026-11-20", "XX01", "")]);
    assert!(status == 2 && said.contains("nothing of this file was kept"), "{said}");
    assert_eq!(cars(), 0);
    let said = done(at, &["walk", "--answers", &file("b.toml", "2026-11-20", "NS01", "")]);
    assert!(said.contains("kept for car 412 (car-412)"), "{said}");
    // The same day goes on with that car; another day asks which car is meant.
    let said = done(at, &["walk", "--answers", &file("c.toml", "2026-11-20", "NS02", "")]);
    assert!(said.contains("kept for car 412 (car-412)") && cars() == 1, "{said}");
    let (status, said) = run(at, &["walk", "--answers", &file("d.toml", "2026-11-19", "LF01", "")]);
    assert!(status == 2 && said.contains("was not walked on 2026-11-19"), "{said}");
    assert!(said.contains("d.toml:2:10") && said.contains("car = \"car-412\""), "{said}");
    // Named on the line, the numbers have to agree.
    stub(at, "car-9", "9");
    let (status, said) = run(at, &["walk", "9", "--answers", &file("e.toml", "2026-11-20", "LF01", "")]);
    assert!(status == 2 && said.contains("this sheet is for car 412, and the car named is 9"), "{said}");
}
