//! Two folders of one car: a join closes nothing, only an answer given after it does, and taking it back restores both.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use chrono::TimeDelta;
use linewalk::logbook::writer::LogWriter;
use linewalk::model::entry::{Entry, Finding, Kept, Outcome};
use linewalk::model::history::{History, JoinedFolder};
use linewalk::shell::disk::DiskStorage;
use linewalk::shell::identity;
use linewalk::shell::paths::Paths;
use proptest::prelude::*;

use crate::logbook::{finding, moment};

/// An answer: which check, what was said, by which machine, minutes after ten by its clock.
type Said = (u8, u8, u8, i64);

fn entry(check: u8, result: u8) -> Entry {
    let results = [Outcome::Accept, Outcome::Reject, Outcome::NotSeen, Outcome::Repaired];
    let Entry::Finding(plain) = finding(0.0, "seen") else { panic!("no finding") };
    let result = results[usize::from(result) % results.len()];
    Entry::Finding(Box::new(Finding {
        check: format!("check-{check}"),
        result,
        closes: None,
        seen_at: None,
        verdict: None,
        ..*plain
    }))
}

/// The record of a folder, as its log has it.
fn record(folder: &str, said: &[Said]) -> Vec<Kept> {
    let mut seq = [0u64; 2];
    let mut all: Vec<Kept> = said
        .iter()
        .map(|(check, result, writer, minutes)| {
            let writer = usize::from(*writer) % 2;
            seq[writer] += 1;
            Kept {
                id: format!("{folder}-{writer}-{}", seq[writer]),
                writer: ["own", "lane"][writer].to_owned(),
                seq: seq[writer],
                at: moment(0) + TimeDelta::minutes(*minutes),
                entry: entry(*check, *result),
            }
        })
        .collect();
    // As the reader gives them: by time, each writer's in its own order.
    let mut latest = [None; 2];
    all.sort_by_key(|kept| {
        let at = &mut latest[usize::from(kept.writer == "lane")];
        *at = (*at).max(Some(kept.at));
        *at
    });
    all
}

fn join() -> JoinedFolder {
    JoinedFolder { car: "car-318".to_owned(), under: 0, writer: "own".to_owned(), seq: 1000 }
}

/// Which records stand, and whether each is open.
fn standing(history: &History) -> BTreeSet<(String, bool)> {
    history.standings().iter().map(|standing| (standing.kept.id.clone(), standing.is_open())).collect()
}

fn said() -> impl Strategy<Value = Vec<Said>> {
    prop::collection::vec((0u8..4, 0u8..4, 0u8..2, 0i64..300), 0..12)
}

proptest! {
    /// Before anything new is said, both folders stand as they do by themselves, side by side.
    #[test]
    fn a_join_closes_nothing(own in said(), other in said()) {
        let (own, other) = (record("heron", &own), record("car-318", &other));
        let mut apart = standing(&History::fold(own.clone()));
        apart.extend(standing(&History::fold(other.clone())));
        let joined = History::fold_joined(own, vec![(join(), other)]);
        prop_assert_eq!(standing(&joined), apart);
    }

    /// An answer of the same machine after the join takes the place of its own earlier ones in both folders, and of
    /// nothing on other checks.
    #[test]
    fn only_an_answer_after_the_join_supersedes(own in said(), other in said(), check in 0u8..4) {
        let mine = |said: Vec<Said>| -> Vec<Said> { said.into_iter().map(|(c, r, _, at)| (c, r, 0, at)).collect() };
        let (own, other) = (record("heron", &mine(own)), record("car-318", &mine(other)));
        let before = History::fold_joined(own.clone(), vec![(join(), other.clone())]);
        let named = format!("check-{check}");
        let mut wanted: BTreeSet<String> = before
            .standings()
            .iter()
            .filter(|standing| standing.finding.check != named)
            .map(|standing| standing.kept.id.clone())
            .collect();
        wanted.insert("after".to_owned());
        // Its clock has been put back meanwhile: it came after all the same.
        let after = Kept {
            id: "after".to_owned(),
            writer: "own".to_owned(),
            seq: 1001,
            at: moment(0) - TimeDelta::hours(1),
            entry: entry(check, 0),
        };
        let mut all = own;
        all.push(after);
        let history = History::fold_joined(all, vec![(join(), other)]);
        let stands: BTreeSet<String> = history.standings().iter().map(|one| one.kept.id.clone()).collect();
        prop_assert_eq!(stands, wanted);
        prop_assert!(history.open().iter().all(|standing| standing.finding.check != named));
    }
}

/// An accept in the car's own folder that knew nothing of the join leaves the other folder's reject open.
#[test]
fn an_accept_from_before_the_join_closes_nothing_of_the_other_folder() {
    let own = record("heron", &[(1, 0, 0, 60)]);
    let other = record("car-318", &[(1, 1, 0, 10)]);
    let history = History::fold_joined(own, vec![(join(), other)]);
    assert_eq!(history.open().len(), 1);
    // In one folder the same two answers leave nothing open.
    assert_eq!(History::fold(record("one", &[(1, 1, 0, 10), (1, 0, 0, 60)])).open().len(), 0);
}

fn keep(paths: &Paths, car: &str, writer: &str, minutes: i64, entries: Vec<Entry>) -> Vec<Kept> {
    let mut log = LogWriter::open(DiskStorage::create(paths.car(car)).unwrap(), writer).unwrap();
    let id = || uuid::Uuid::now_v7().to_string();
    let at = moment(0) + TimeDelta::minutes(minutes);
    entries.into_iter().map(|entry| log.append(at, id(), entry).unwrap()).collect()
}

fn paths(folder: &Path) -> Paths {
    let paths = Paths { data: folder.join("data"), config: folder.join("config") };
    fs::create_dir_all(&paths.config).unwrap();
    fs::write(paths.config.join("writer"), "own").unwrap();
    paths
}

fn stands(paths: &Paths, car: &str) -> BTreeSet<(String, bool)> {
    standing(&identity::record(paths, car).unwrap().history)
}

/// On disk: nothing is moved, and a join taken back leaves both as they were, whatever was said meanwhile.
#[test]
fn a_join_taken_back_restores_both_exactly() {
    proptest!(ProptestConfig::with_cases(12), |(own in said(), other in said(), later in said())| {
        let folder = tempfile::tempdir().unwrap();
        let paths = paths(folder.path());
        for (car, said) in [("heron", &own), ("car-318", &other)] {
            fs::create_dir_all(paths.car(car)).unwrap();
            for (check, result, _, minutes) in said {
                keep(&paths, car, "own", *minutes, vec![entry(*check, *result)]);
            }
        }
        let before = (stands(&paths, "heron"), stands(&paths, "car-318"));
        let join = keep(&paths, "heron", "own", 400, vec![Entry::Joined { car: "car-318".to_owned(), by: None }]);
        identity::note_where(&paths, "car-318", "heron").unwrap();
        prop_assert_eq!(identity::goes_on_under(&paths, "car-318"), "heron");
        let mut both = before.0.clone();
        both.extend(before.1.clone());
        prop_assert_eq!(stands(&paths, "heron"), both);

        // What is said while they are joined is taken back as well, to compare with before.
        for (check, result, _, minutes) in &later {
            let kept = keep(&paths, "heron", "own", 400 + minutes, vec![entry(*check, *result)]);
            let (record, note, by) = (kept[0].id.clone(), None, None);
            keep(&paths, "heron", "own", 400 + minutes, vec![Entry::Withdrawn { record, note, by }]);
        }
        let (record, note) = (join[0].id.clone(), Some("two cars".to_owned()));
        keep(&paths, "heron", "own", 800, vec![Entry::Withdrawn { record, note, by: None }]);
        prop_assert_eq!(identity::goes_on_under(&paths, "car-318"), "car-318");
        prop_assert_eq!((stands(&paths, "heron"), stands(&paths, "car-318")), before);
    });
}

/// What another machine's log says of two folders is shown and does nothing until somebody here says so too; nor does its
/// withdrawal end a join that was made here.
#[test]
fn a_join_of_another_machine_is_a_proposal() {
    let folder = tempfile::tempdir().unwrap();
    let paths = paths(folder.path());
    let stop = keep(&paths, "car-318", "lane", 10, vec![entry(1, 1)]);
    keep(&paths, "heron", "lane", 20, vec![Entry::Joined { car: "car-318".to_owned(), by: None }]);
    identity::note_where(&paths, "car-318", "heron").unwrap();
    let record = identity::record(&paths, "heron").unwrap();
    assert!(record.history.open().is_empty());
    assert!(record.trouble[0].contains("log join heron car-318"), "{:?}", record.trouble);
    assert_eq!(identity::goes_on_under(&paths, "car-318"), "car-318");

    let join = keep(&paths, "heron", "own", 30, vec![Entry::Joined { car: "car-318".to_owned(), by: None }]);
    assert_eq!(stands(&paths, "heron"), BTreeSet::from([(stop[0].id.clone(), true)]));
    let (record, note, by) = (join[0].id.clone(), None, None);
    keep(&paths, "heron", "lane", 40, vec![Entry::Withdrawn { record, note, by }]);
    assert_eq!(stands(&paths, "heron").len(), 1);
}
