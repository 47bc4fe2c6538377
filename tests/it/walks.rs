//! Every sample car with the walk on paper that comes with it: both are read, and the walk is played as the program
//! plays it.

use linewalk::model::entry::{Finding, Outcome};
use linewalk::model::history::History;
use linewalk::units::Units;
use linewalk::walk::{Journal, MemoryJournal, Start, Walk, keep_paper, plan_paper, read_paper};

use crate::shipped::{car, day, repo_file, shipped};

const CARS: [&str; 5] = ["heron", "bittern", "plover", "curlew", "dunlin"];

/// The walk of a sample car after its answers file, as kept.
fn played(id: &str) -> Walk {
    let read = car(id);
    assert!(read.diagnostics.is_empty(), "{id}: {:?}", read.diagnostics);
    let file = repo_file(&format!("sample-cars/{id}-answers.toml"));
    let (paper, diagnostics) = read_paper(&file);
    assert!(diagnostics.is_empty(), "{id}: {diagnostics:?}");
    let start = Start {
        car_file: repo_file(&format!("sample-cars/{id}.toml")),
        car: read.car,
        rules: shipped("base").rules,
        rule_files: Vec::new(),
        profile: paper.profile.clone().unwrap().text,
        stage: None,
        station: None,
        lap: None,
        on: day("2026-11-25"),
        units: Units::Us,
        by: None,
    };
    let mut walk = Walk::new(start, History::default()).unwrap();
    let now = "2026-11-25T12:00:00Z".parse().unwrap();
    let mut keeper = MemoryJournal { clock: Some(now), ..MemoryJournal::default() };
    let plan = plan_paper(&walk, &paper, false, now, &mut || keeper.new_id()).unwrap_or_else(|diagnostics| {
        panic!("{}", diagnostics.iter().map(|diagnostic| diagnostic.render()).collect::<Vec<_>>().join("\n"))
    });
    keep_paper(&mut walk, &mut keeper, plan).unwrap();
    walk
}

fn findings(walk: &Walk) -> Vec<Finding> {
    let all = walk.history.findings().into_iter();
    all.map(|(_, finding)| finding.clone()).collect()
}

/// What a person left open: check, item and result.
fn open_by_person(walk: &Walk) -> Vec<(String, Option<String>, Outcome)> {
    let open = walk.history.open().into_iter().map(|standing| standing.finding.clone());
    let by_person = open.filter(|finding| !finding.is_computed());
    let mut open: Vec<_> =
        by_person.map(|finding| (finding.check.clone(), finding.of.clone(), finding.result)).collect();
    open.sort();
    open
}

/// Checks that only a number rejected, with the item.
fn rejected_by_number(walk: &Walk) -> Vec<(String, String)> {
    let found = findings(walk).into_iter().filter(|finding| finding.is_computed());
    found.map(|finding| (finding.check, finding.of.unwrap_or_default())).collect()
}

#[test]
fn every_sample_walk_is_kept_whole() {
    for id in CARS {
        let walk = played(id);
        let by_person = findings(&walk).iter().filter(|finding| !finding.is_computed()).count();
        let text = repo_file(&format!("sample-cars/{id}-answers.toml")).text.clone();
        assert_eq!(by_person, text.matches("[[answer]]").count(), "{id}");
        assert_eq!(walk.readings.iter().count(), text.matches("[[reading]]").count(), "{id}");
        for finding in findings(&walk) {
            let better = finding.result == Outcome::Accept && finding.verdict == Some(Outcome::Reject);
            assert!(!better || finding.note.is_some(), "{id}: {}", finding.check);
        }
    }
}

#[test]
fn only_the_owner_who_goes_on_tomorrow_leaves_the_walk_open() {
    for id in CARS {
        let walk = played(id);
        let open = walk.history.walks().iter().any(|seen| seen.ended.is_none());
        assert_eq!(open, id == "bittern", "{id}");
    }
}

#[test]
fn heron_was_repaired_and_looked_at_again() {
    let walk = played("heron");
    assert_eq!(open_by_person(&walk), []);
    let chafe: Vec<_> =
        walk.history.findings().into_iter().filter(|(_, f)| f.check == "lk-chafe-and-vibe").collect();
    let results: Vec<_> = chafe.iter().map(|(_, finding)| finding.result).collect();
    assert_eq!(results, [Outcome::Reject, Outcome::Repaired, Outcome::Accept]);
    assert_eq!(chafe[2].1.closes.as_ref(), Some(&chafe[0].0.id), "the accept names what it closes");
    let hold = findings(&walk).into_iter().find(|finding| finding.check == "un-gauge-hold-high").unwrap();
    assert_eq!(
        (hold.result, hold.verdict),
        (Outcome::Accept, Some(Outcome::Accept)),
        "closed by its numbers"
    );
}

#[test]
fn bittern_is_open_at_the_tail() {
    let walk = played("bittern");
    let open = [
        ("el-nozzle-obstructed", None, Outcome::NotSeen),
        ("tl-hydro-stamp", Some("b-tail"), Outcome::Reject),
        ("tl-valve-relief-outlet", None, Outcome::Reject),
    ];
    let open = open.map(|(check, of, result)| (check.to_owned(), of.map(str::to_owned), result));
    assert_eq!(open_by_person(&walk), open);
    let by_number = rejected_by_number(&walk);
    for wanted in [("tl-bottle-bolts-structure", "b-tail"), ("rk-hard-line-only", "engine-left")] {
        assert!(
            by_number.contains(&(wanted.0.to_owned(), wanted.1.to_owned())),
            "{wanted:?} in {by_number:?}"
        );
    }
}

#[test]
fn plover_is_not_seen_on_one_side_and_set_right_at_the_valve() {
    let walk = played("plover");
    let open: Vec<_> = open_by_person(&walk).into_iter().map(|(check, _, result)| (check, result)).collect();
    let wanted = [
        ("el-line-lock-block", Outcome::Reject),
        ("er-nozzle-aim-hazards", Outcome::NotSeen),
        ("lk-sleeve-present", Outcome::Reject),
    ];
    assert_eq!(open, wanted.map(|(check, result)| (check.to_owned(), result)));
    let cable: Vec<_> =
        walk.history.findings().into_iter().filter(|(_, f)| f.check == "tl-cable-end-at-valve").collect();
    assert_eq!(cable[2].1.closes.as_ref(), Some(&cable[0].0.id));
}

#[test]
fn curlew_has_its_ports_swapped_by_the_number_alone() {
    let walk = played("curlew");
    assert!(
        rejected_by_number(&walk).contains(&("fw-master-port-assignment".to_owned(), "tandem".to_owned()))
    );
    let open: Vec<_> = open_by_person(&walk).into_iter().map(|(check, _, _)| check).collect();
    assert_eq!(open, ["fw-fluid-type-age-boil", "fw-pushrod-free-play"]);
}

#[test]
fn dunlin_accepts_one_thing_against_the_limit_and_says_why() {
    let walk = played("dunlin");
    let hose = findings(&walk).into_iter().find(|finding| finding.check == "rf-hose-droop-and-bump").unwrap();
    assert_eq!((hose.result, hose.verdict), (Outcome::Accept, Some(Outcome::Reject)));
    assert!(hose.note.unwrap().contains("limit strap"));
    let open: Vec<_> = open_by_person(&walk).into_iter().map(|(check, of, _)| (check, of)).collect();
    let weight = ("tl-bottle-weight-vs-tag".to_owned(), Some("b1".to_owned()));
    assert!(open.contains(&weight), "the one bottle is named: {open:?}");
    assert_eq!(open.len(), 3, "{open:?}");
}

#[test]
fn the_least_car_is_a_car() {
    let read = car("minimal");
    assert!(read.diagnostics.is_empty());
    assert_eq!((read.car.id.as_str(), read.car.number.as_str()), ("minimal", "7"));
}
