//! Attacks on a car's record by who can write its folder, or gives a folder of their own: each is named and closes nothing.
#![cfg(unix)]

use std::fs;
use std::os::unix::fs::symlink;
use std::path::PathBuf;
use std::process::Stdio;

use linewalk::logbook::reader::read_car;
use linewalk::logbook::writer::LogWriter;
use linewalk::model::entry::Entry;
use linewalk::shell::disk::DiskStorage;
use linewalk::shell::paths::Paths;
use linewalk::shell::workspace::{Choices, DiskWorkspace};
use linewalk::units::Units;

use super::logbook::moment;
use super::strangers::{ANSWERS, Machine, SEVEN, expect, words};

/// A folder as a stranger gives it.
fn stranger(machine: &Machine, records: i64) -> PathBuf {
    let folder = machine.path("theirs");
    let mut log = LogWriter::open(DiskStorage::create(&folder).unwrap(), "w-stranger").unwrap();
    for count in 0..records {
        let entry =
            Entry::Remark { record: None, check: None, of: None, about: None, text: "seen".into(), by: None };
        log.append(moment(count), format!("id-{count}"), entry).unwrap();
    }
    folder
}

#[test]
fn a_copy_of_the_own_log_from_elsewhere_changes_nothing_but_the_status() {
    let machine = Machine::walked();
    let report = machine.run(&["report", "seven"]);
    assert_eq!(report.status.code(), Some(0), "{}", words(&report));
    // The own log with a record more, and a head that fits.
    let theirs = machine.path("theirs");
    fs::create_dir_all(&theirs).unwrap();
    let own = machine.writer();
    for ending in ["jsonl", "head"] {
        let name = format!("{own}.{ending}");
        fs::copy(machine.path(format!("data/cars/seven/{name}")), theirs.join(&name)).unwrap();
    }
    let mut log = LogWriter::open(DiskStorage::at(&theirs), &own).unwrap();
    let forged =
        Entry::Remark { record: None, check: None, of: None, about: None, text: "forged".into(), by: None };
    log.append(moment(0), "forged".into(), forged).unwrap();
    drop(log);
    let shown = words(&machine.run(&["log", "show", "seven"]));
    expect(&machine.run(&["log", "merge", "seven", "theirs"]), 1, "own log stays as it is");
    let after = machine.run(&["log", "show", "seven"]);
    assert!(words(&after).contains(&shown) && !words(&after).contains("forged"), "{}", words(&after));
    expect(&machine.run(&["report", "seven"]), 1, "set aside");
    expect(&machine.run(&["log", "verify", "seven"]), 1, "set aside");
    // Not without being asked, and then recorded.
    expect(&machine.run(&["log", "merge", "seven", "theirs", "--restore"]), 2, "nothing was merged");
    let mut command = machine.command(&["log", "merge", "seven", "theirs", "--restore"]);
    let mut child = command.stdin(Stdio::piped()).spawn().unwrap();
    std::io::Write::write_all(&mut child.stdin.take().unwrap(), b"yes\n").unwrap();
    expect(&child.wait_with_output().unwrap(), 0, "1 record added");
    let after = words(&machine.run(&["log", "show", "seven"]));
    assert!(after.contains("forged") && after.contains("own log was taken over from theirs"), "{after}");
    expect(&machine.run(&["report", "seven"]), 0, "");
}

#[test]
fn merge_follows_no_link() {
    for name in ["w-stranger.jsonl", "w-stranger.head"] {
        let machine = Machine::walked();
        let theirs = stranger(&machine, 2);
        fs::rename(theirs.join(name), machine.path("elsewhere")).unwrap();
        symlink(machine.path("elsewhere"), theirs.join(name)).unwrap();
        expect(&machine.run(&["log", "merge", "seven", "theirs"]), 2, "symbolic link");
        assert!(!machine.path("data/cars/seven/w-stranger.jsonl").exists());
    }
}

/// A finding on car 7 as the log has it.
fn answer(check: &str, result: &str, closes: Option<&str>) -> Entry {
    serde_json::from_value(serde_json::json!({
        "kind": "finding", "walk": "w", "check": check, "title": check, "result": result, "judged_by": "person",
        "severity": "stop", "closes": closes, "rules": {"id": "base", "edition": "1", "sha256": "00"},
    }))
    .unwrap()
}

/// Writes a record behind the log with all hashes right, and leaves the head as it is.
fn forge(machine: &Machine, entry: Entry) {
    let own = machine.writer();
    let head = machine.path(format!("data/cars/seven/{own}.head"));
    let before = fs::read(&head).unwrap();
    let mut log = LogWriter::open(DiskStorage::at(machine.path("data/cars/seven")), &own).unwrap();
    log.append(moment(900_000_000), format!("forged-{}", log.last_seq()), entry).unwrap();
    drop(log);
    fs::write(&head, before).unwrap();
}

#[test]
fn a_forged_record_closes_nothing_and_the_next_honest_one_does_not_make_it_good() {
    let machine = Machine::walked();
    let reject = "[[answer]]\ncheck = \"pins-in-before-hands-in\"\nresult = \"reject\"\n";
    let head = ANSWERS.split("[[answer]]").next().unwrap();
    machine.write("reject.toml", &format!("{head}{reject}"));
    expect(&machine.run(&["walk", "seven", "--answers", "reject.toml"]), 1, "kept");
    let kept = read_car(&DiskStorage::at(machine.path("data/cars/seven"))).unwrap().kept;
    let open = kept.iter().rfind(|kept| matches!(kept.entry, Entry::Finding(_))).unwrap().id.clone();
    forge(&machine, answer("pins-in-before-hands-in", "accept", Some(&open)));
    expect(&machine.run(&["log", "verify", "seven"]), 1, "UNCONFIRMED");
    expect(&machine.run(&["report", "seven"]), 1, "past the head");
    // An honest record goes on behind it, and the head with it.
    machine
        .write("note.toml", &format!("{head}[[answer]]\ncheck = \"car-made-safe\"\nresult = \"accept\"\n"));
    machine.run(&["walk", "seven", "--answers", "note.toml"]);
    expect(&machine.run(&["log", "show", "seven"]), 0, "stood past the head: not confirmed");
    expect(&machine.run(&["log", "verify", "seven"]), 1, "UNCONFIRMED");
    let report = words(&machine.run(&["report", "seven"]));
    assert!(report.contains("1 stop"), "the forged accept closes nothing: {report}");
    // A person says that it was theirs, and only then it counts.
    expect(&machine.run(&["log", "confirm", "seven", "--by", "R.N."]), 0, "1 record confirmed");
    expect(&machine.run(&["log", "verify", "seven"]), 0, "verifies");
    let after = words(&machine.run(&["report", "seven"]));
    assert_ne!(after, report);
}

/// A check that nobody answered stays so: an accept that no head vouches for would have it asked no more.
#[test]
fn a_forged_accept_of_what_nobody_answered_is_no_answer() {
    let machine = Machine::walked();
    let before = words(&machine.run(&["report", "seven", "--kind", "full", "--format", "json"]));
    assert!(before.contains("\"not_reached\""), "{before}");
    let told = |words: &str| -> usize {
        let json: serde_json::Value = serde_json::from_str(words).unwrap();
        json["not_reached"].as_array().unwrap().len()
    };
    let json: serde_json::Value = serde_json::from_str(&before).unwrap();
    let unasked = json["not_reached"][0]["check"].as_str().unwrap_or_default().to_owned();
    forge(&machine, answer(&unasked, "accept", None));
    let after = words(&machine.run(&["report", "seven", "--kind", "full", "--format", "json"]));
    assert_eq!(told(&after), told(&before), "{unasked} is still not reached");
}

/// The session that holds the log open reads it as everybody does: what its own lock covers is not just being written.
#[test]
fn a_walk_on_screen_counts_what_the_report_counts() {
    let machine = Machine::walked();
    let paths = Paths { data: machine.path("data"), config: machine.path("config/linewalk") };
    let choices = Choices { rules: Vec::new(), on: None, units: Units::Us, by: Some("R.N.".into()) };
    let answered = || {
        let mut workspace = DiskWorkspace::new(paths.clone(), choices.clone(), Vec::new());
        let (before, _) = workspace.history("seven").unwrap();
        let (walk, notes) = workspace.open_walk("seven", "scales-short", None).unwrap();
        assert_eq!(walk.history.standings().len(), before.standings().len());
        assert!(!notes.iter().any(|note| note.contains("being written")), "{notes:?}");
        before.standings().len()
    };
    let before = answered();
    forge(&machine, answer("rr-hose-at-full-droop", "accept", None));
    assert_eq!(answered(), before, "an accept that no head vouches for is no answer, on the screen either");
}

#[test]
fn a_forged_reject_counts_until_it_is_taken_back() {
    let machine = Machine::walked();
    forge(&machine, answer("pins-in-before-hands-in", "reject", None));
    expect(&machine.run(&["report", "seven"]), 1, "1 stop");
    expect(&machine.run(&["log", "confirm", "seven", "--withdraw"]), 0, "1 record taken back");
    expect(&machine.run(&["report", "seven"]), 0, "");
    expect(&machine.run(&["log", "verify", "seven"]), 0, "verifies");
}

#[test]
fn verify_names_what_does_not_hold() {
    let own = |machine: &Machine, ending: &str| {
        machine.path(format!("data/cars/seven/{}.{ending}", machine.writer()))
    };
    // Cut to its first record, and the head gone.
    let machine = Machine::walked();
    let log = fs::read_to_string(own(&machine, "jsonl")).unwrap();
    fs::write(own(&machine, "jsonl"), format!("{}\n", log.lines().next().unwrap())).unwrap();
    fs::remove_file(own(&machine, "head")).unwrap();
    expect(&machine.run(&["log", "verify", "seven"]), 1, "without a head, which is missing");
    // The last record written again under the same head.
    let machine = Machine::walked();
    let lines: Vec<String> =
        fs::read_to_string(own(&machine, "jsonl")).unwrap().lines().map(str::to_owned).collect();
    fs::write(own(&machine, "jsonl"), lines[..lines.len() - 1].join("\n") + "\n").unwrap();
    let (seq, head) = (lines.len() as u64, fs::read(own(&machine, "head")).unwrap());
    fs::remove_file(own(&machine, "head")).unwrap();
    let mut log =
        LogWriter::open(DiskStorage::at(machine.path("data/cars/seven")), &machine.writer()).unwrap();
    log.append(moment(0), "forged".into(), answer("lf-hose-at-steer-lock", "accept", None)).unwrap();
    drop(log);
    let all = fs::read_to_string(own(&machine, "jsonl")).unwrap();
    let cut: Vec<&str> = all.lines().take(usize::try_from(seq).unwrap()).collect();
    fs::write(own(&machine, "jsonl"), cut.join("\n") + "\n").unwrap();
    fs::write(own(&machine, "head"), head).unwrap();
    expect(&machine.run(&["log", "verify", "seven"]), 1, "the head does not fit record");
    // The log of another car.
    let machine = Machine::walked();
    machine.write("data/cars/eight/car.toml", "format = 1\n[car]\nid = \"eight\"\nnumber = \"8\"\n");
    for ending in ["jsonl", "head"] {
        let name = format!("{}.{ending}", machine.writer());
        fs::copy(
            machine.path(format!("data/cars/seven/{name}")),
            machine.path(format!("data/cars/eight/{name}")),
        )
        .unwrap();
    }
    expect(&machine.run(&["log", "verify", "eight"]), 1, "this walk was on car seven");
    expect(&machine.run(&["log", "verify", "seven"]), 0, "verifies");
}

#[test]
fn verify_looks_at_each_photo() {
    let machine = Machine::new();
    machine.write("seven.toml", SEVEN);
    machine.write("p.jpg", "a picture");
    machine.write("answers.toml", &format!("{ANSWERS}photo = \"p.jpg\"\n"));
    machine.run(&["walk", "seven.toml", "--answers", "answers.toml"]);
    expect(&machine.run(&["log", "verify", "seven"]), 0, "verifies");
    let photo = fs::read_dir(machine.path("data/cars/seven/photos")).unwrap().next().unwrap().unwrap().path();
    fs::write(&photo, "another picture").unwrap();
    expect(&machine.run(&["log", "verify", "seven"]), 1, "is another one than was kept");
    fs::remove_file(&photo).unwrap();
    expect(&machine.run(&["log", "verify", "seven"]), 1, "is not there");
    symlink("/etc/hostname", &photo).unwrap();
    expect(&machine.run(&["log", "verify", "seven"]), 1, "is another one than was kept");
}

#[test]
fn the_head_stands_before_the_first_record() {
    let folder = tempfile::tempdir().unwrap();
    let log = LogWriter::open(DiskStorage::at(folder.path()), "pit").unwrap();
    let head = fs::read_to_string(folder.path().join("pit.head")).unwrap();
    assert_eq!(head, format!("{{\"seq\":0,\"sum\":\"{}\"}}", "0".repeat(64)));
    drop(log);
}

#[test]
fn a_copy_set_aside_is_settled_by_a_person_and_its_stops_are_carried_in() {
    let machine = Machine::walked();
    let theirs = machine.path("theirs");
    fs::create_dir_all(&theirs).unwrap();
    let own = machine.writer();
    for ending in ["jsonl", "head"] {
        let name = format!("{own}.{ending}");
        fs::copy(machine.path(format!("data/cars/seven/{name}")), theirs.join(&name)).unwrap();
    }
    let mut log = LogWriter::open(DiskStorage::at(&theirs), &own).unwrap();
    log.append(moment(0), "their-stop".into(), answer("pins-in-before-hands-in", "reject", None)).unwrap();
    drop(log);
    expect(&machine.run(&["log", "merge", "seven", "theirs"]), 1, "kept aside");
    let names = fs::read_dir(machine.path("data/cars/seven")).unwrap().map(|entry| entry.unwrap().path());
    let copy = names.into_iter().find(|path| {
        let name = path.file_name().unwrap().to_str().unwrap();
        name.contains(".aside-") && !name.ends_with("-head")
    });
    let copy = copy.unwrap();
    let copy = copy.to_str().unwrap();
    expect(&machine.run(&["log", "settle", "seven.toml", "--reason", "no"]), 2, "is no copy set aside");
    expect(&machine.run(&["log", "settle", copy, "--reason", " "]), 2, "say why");
    expect(
        &machine.run(&["log", "settle", copy, "--reason", "old laptop", "--by", "R.N."]),
        1,
        "1 stop carried in",
    );
    expect(&machine.run(&["report", "seven"]), 1, "old laptop");
    expect(&machine.run(&["report", "seven"]), 1, "Carried in from the copy");
    // Answered, it is over; the reason stays on the report.
    expect(&machine.run(&["walk", "seven", "--answers", "answers.toml", "--again"]), 0, "kept");
    expect(&machine.run(&["report", "seven"]), 0, "old laptop");
    // Another content under its name was settled by nobody.
    fs::write(copy, "what\n").unwrap();
    expect(&machine.run(&["report", "seven"]), 1, "set aside");
}
