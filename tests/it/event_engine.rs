//! One lane's side of the event against a server that is cut, full, forged or put back from a backup.

use std::cell::RefCell;
use std::collections::BTreeMap;

use crate::memory_server::{Fate, MemoryGate, MemoryServer, Mishap};
use crate::memory_storage::MemoryStorage;
use linewalk::lanes::engine::{Engine, Folders, Me, Next};
use linewalk::lanes::server::Place;
use linewalk::logbook::record;
use linewalk::logbook::storage::StorageError;
use linewalk::logbook::verify::verify;
use linewalk::logbook::writer::LogWriter;
use linewalk::model::entry::Moment;
use proptest::prelude::*;

use crate::logbook::{moment, signed};

/// Car folders in memory. Clones are the same folders.
#[derive(Clone, Default)]
struct Cars(std::rc::Rc<RefCell<BTreeMap<String, MemoryStorage>>>);

impl Cars {
    fn folder(&self, car: &str) -> MemoryStorage {
        self.0.borrow_mut().entry(car.to_owned()).or_default().clone()
    }

    /// Keeps records about a car, as the walk does.
    fn keep(&self, writer: &str, car: &str, count: i64, at: i64) {
        let mut log = LogWriter::open(self.folder(car), writer).unwrap();
        for _ in 0..count {
            let seq = log.last_seq() + 1;
            log.append(moment(at), format!("{writer}-{car}-{seq}"), signed("R.N.")).unwrap();
        }
    }

    /// Every log, line by line.
    fn logs(&self) -> BTreeMap<Place, Vec<Vec<u8>>> {
        let mut logs = BTreeMap::new();
        for (car, folder) in self.0.borrow().iter() {
            for (name, bytes) in folder.files() {
                if let Some(writer) = name.strip_suffix(".jsonl") {
                    let lines: Vec<Vec<u8>> = bytes
                        .split_inclusive(|byte| *byte == b'\n')
                        .map(|line| line.strip_suffix(b"\n").unwrap().to_vec())
                        .collect();
                    logs.insert(Place { writer: writer.to_owned(), car: car.clone() }, lines);
                }
            }
        }
        logs
    }

    fn hold(&self) -> bool {
        self.0.borrow().values().all(|folder| verify(folder).unwrap().holds())
    }
}

impl Folders for Cars {
    type Car = MemoryStorage;

    fn cars(&self) -> Result<Vec<String>, String> {
        Ok(self.0.borrow().keys().cloned().collect())
    }

    fn open(&self, car: &str) -> Result<MemoryStorage, StorageError> {
        Ok(self.folder(car))
    }

    fn file(&self, car: &str) -> Option<String> {
        let text = self.folder(car).files().remove("car.toml")?;
        Some(String::from_utf8(text).unwrap())
    }

    fn has_file(&self, car: &str) -> bool {
        self.file(car).is_some()
    }

    fn put_file(&self, car: &str, text: &str) -> Result<(), String> {
        let folder = self.folder(car).with("car.toml", text.as_bytes());
        self.0.borrow_mut().insert(car.to_owned(), folder);
        Ok(())
    }
}

type Lane = Engine<MemoryGate, Cars>;

fn well() -> Fate {
    Box::new(|_| Mishap::None)
}

fn me(writer: &str) -> Me {
    Me { writer: Some(writer.to_owned()), machine: format!("machine of {writer}") }
}

fn lane(server: &MemoryServer, cars: &Cars, writer: &str, fate: Fate) -> Lane {
    Engine::new(server.gate(writer, fate), cars.clone(), me(writer))
}

/// Rounds until nothing is left to do.
fn settle(lane: &mut Lane) {
    for _ in 0..200 {
        if !matches!(lane.round(&[], true, Moment::default()), Next::Again) {
            return;
        }
    }
    panic!("it never comes to rest");
}

#[test]
fn records_reach_the_server_and_the_other_lane_as_they_are() {
    let (server, one, two) = (MemoryServer::default(), Cars::default(), Cars::default());
    one.keep("w-1", "heron", 3, 0);
    two.keep("w-2", "heron", 2, 5);
    two.keep("w-2", "teal", 1, 9);
    let (mut first, mut second) = (lane(&server, &one, "w-1", well()), lane(&server, &two, "w-2", well()));
    settle(&mut first);
    settle(&mut second);
    settle(&mut first);
    assert_eq!(one.logs(), two.logs());
    assert_eq!(one.logs(), server.logs());
    assert!(one.hold() && two.hold());
    assert_eq!((first.status().sent, first.status().unsent), (3, 0));
    assert_eq!(first.status().came, BTreeMap::from([("heron".to_owned(), 2), ("teal".to_owned(), 1)]));
}

#[test]
fn a_car_begun_in_one_lane_can_be_opened_in_the_other() {
    let (server, one, two) = (MemoryServer::default(), Cars::default(), Cars::default());
    one.keep("w-1", "heron", 1, 0);
    one.put_file("heron", "its file").unwrap();
    settle(&mut lane(&server, &one, "w-1", well()));
    settle(&mut lane(&server, &two, "w-2", well()));
    assert_eq!(two.file("heron").as_deref(), Some("its file"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Six lanes, cut before and after whatever they ask, in any order, with clocks hours apart: in the end all
    /// have the same records, none twice, none missing, and every chain holds.
    #[test]
    fn nothing_is_lost_or_doubled_whatever_is_cut(
        steps in prop::collection::vec((0_usize..6, 0_usize..4, 0_i64..4), 1..80),
        cuts in prop::collection::vec(0_u8..8, 1..200),
    ) {
        let server = MemoryServer::default();
        let cuts = std::rc::Rc::new(RefCell::new(cuts.into_iter().cycle().take(400)));
        let folders: Vec<Cars> = (0..6).map(|_| Cars::default()).collect();
        let mut lanes: Vec<Lane> = Vec::new();
        for (at, cars) in folders.iter().enumerate() {
            let cuts = std::rc::Rc::clone(&cuts);
            let fate: Fate = Box::new(move |_| match cuts.borrow_mut().next() {
                Some(0) => Mishap::Before,
                Some(1) => Mishap::After,
                Some(2) => Mishap::Full,
                _ => Mishap::None,
            });
            lanes.push(lane(&server, cars, &format!("w-{at}"), fate));
        }
        for (at, car, count) in steps {
            let apart = 3600 * i64::try_from(at).unwrap();
            folders[at].keep(&format!("w-{at}"), &format!("car{car}"), count, apart);
            lanes[at].round(&[format!("car{car}")], false, Moment::default());
        }
        // The cuts come to an end, and every lane to rest.
        for _ in 0..2 {
            for lane in &mut lanes {
                for _ in 0..120 {
                    let next = lane.round(&[], true, Moment::default());
                    if lane.status().joined && lane.status().unsent == 0 && !matches!(next, Next::Again) {
                        break;
                    }
                }
            }
        }
        lanes.iter_mut().for_each(settle);
        let logs = server.logs();
        for (cars, lane) in folders.iter().zip(&lanes) {
            prop_assert!(lane.status().stuck.is_empty());
            prop_assert_eq!(&cars.logs(), &logs);
            prop_assert!(cars.hold());
        }
    }
}

#[test]
fn a_line_that_does_not_hold_is_set_aside_and_never_merged() {
    let (server, one, two) = (MemoryServer::default(), Cars::default(), Cars::default());
    one.keep("w-1", "heron", 4, 0);
    settle(&mut lane(&server, &one, "w-1", well()));
    let place = Place { writer: "w-1".to_owned(), car: "heron".to_owned() };
    let forged = String::from_utf8(server.logs()[&place][2].clone()).unwrap().replace("R.N.", "S.O.");
    server.forge(&place, 2, forged.clone().into_bytes());
    let mut second = lane(&server, &two, "w-2", well());
    settle(&mut second);
    assert_eq!(two.logs()[&place].len(), 2);
    assert!(two.hold());
    let said = &second.status().stuck[&place];
    assert!(said.contains("record 3 is not taken") && said.contains("changed"), "{said}");
    assert_eq!(two.folder("heron").files()["w-1.refused-3"], forged.into_bytes());
}

#[test]
fn a_log_written_again_from_the_start_is_a_fork() {
    let (server, one, two) = (MemoryServer::default(), Cars::default(), Cars::default());
    one.keep("w-1", "heron", 2, 0);
    settle(&mut lane(&server, &one, "w-1", well()));
    let mut second = lane(&server, &two, "w-2", well());
    settle(&mut second);
    // The same writer with other records in the same places.
    let other = Cars::default();
    other.keep("w-1", "heron", 2, 77);
    let mut clone = lane(&server, &other, "w-1", well());
    settle(&mut clone);
    let place = Place { writer: "w-1".to_owned(), car: "heron".to_owned() };
    assert!(clone.status().stuck[&place].contains("another record in that place"));
    other.keep("w-1", "heron", 1, 78);
    settle(&mut clone);
    assert_eq!(server.logs(), one.logs());
    assert_eq!(two.logs(), one.logs());
}

#[test]
fn the_second_machine_with_one_writer_id_is_refused_by_name() {
    let (server, one, two) = (MemoryServer::default(), Cars::default(), Cars::default());
    settle(&mut lane(&server, &one, "w-1", well()));
    two.keep("w-1", "heron", 1, 0);
    let mut clone =
        Engine::new(server.gate("w-1", well()), two, Me { machine: "truck".to_owned(), ..me("w-1") });
    assert!(matches!(clone.round(&[], true, Moment::default()), Next::Pause(_)));
    let said = clone.status().trouble.clone().unwrap();
    assert!(said.contains("belongs to w-1 on machine of w-1") && said.contains("Delete"), "{said}");
    assert!(server.logs().is_empty());
}

#[test]
fn a_full_server_still_gives_what_it_has_and_takes_the_rest_later() {
    let (server, one, two) = (MemoryServer::default(), Cars::default(), Cars::default());
    two.keep("w-2", "teal", 2, 0);
    settle(&mut lane(&server, &two, "w-2", well()));
    one.keep("w-1", "heron", 3, 0);
    let full = std::rc::Rc::new(RefCell::new(true));
    let still = std::rc::Rc::clone(&full);
    let fate: Fate =
        Box::new(move |call| if call == "put" && *still.borrow() { Mishap::Full } else { Mishap::None });
    let mut first = lane(&server, &one, "w-1", fate);
    settle(&mut first);
    assert_eq!((first.status().unsent, first.status().joined), (3, true));
    assert!(first.status().trouble.as_ref().unwrap().contains("cannot take records now"));
    assert_eq!(one.logs().len(), 2);
    *full.borrow_mut() = false;
    settle(&mut first);
    assert_eq!((first.status().unsent, &first.status().trouble), (0, &None));
    assert_eq!(server.logs(), one.logs());
}

#[test]
fn what_waits_is_counted_before_the_server_was_ever_reached() {
    let (server, one) = (MemoryServer::default(), Cars::default());
    one.keep("w-1", "heron", 3, 0);
    settle(&mut lane(&server, &one, "w-1", well()));
    // The next run of the program begins away: what went out before is not counted as waiting.
    let away = std::rc::Rc::new(RefCell::new(true));
    let still = std::rc::Rc::clone(&away);
    let fate: Fate = Box::new(move |_| if *still.borrow() { Mishap::Before } else { Mishap::None });
    let mut first = lane(&server, &one, "w-1", fate);
    first.round(&[], true, Moment::default());
    assert_eq!((first.status().unsent, first.status().counted), (0, false));
    one.keep("w-1", "heron", 2, 5);
    one.keep("w-1", "teal", 1, 5);
    first.round(&["heron".to_owned(), "teal".to_owned()], false, Moment::default());
    assert_eq!(first.status().unsent, 3);
    *away.borrow_mut() = false;
    settle(&mut first);
    assert_eq!((first.status().unsent, first.status().counted, first.status().sent), (0, true, 3));
}

#[test]
fn a_server_put_back_from_a_backup_gets_the_rest_again() {
    let (server, one) = (MemoryServer::default(), Cars::default());
    one.keep("w-1", "heron", 5, 0);
    settle(&mut lane(&server, &one, "w-1", well()));
    server.forget(3);
    settle(&mut lane(&server, &one, "w-1", well()));
    assert_eq!(server.logs(), one.logs());
}

#[test]
fn names_that_are_no_names_never_become_files() {
    let (server, one, two) = (MemoryServer::default(), Cars::default(), Cars::default());
    one.keep("w-1", "heron", 1, 0);
    let line = one.logs().into_values().next().unwrap().remove(0);
    for (writer, car) in
        [("../w", "heron"), ("w-1", "../../etc"), ("w-1", ""), ("w/1", "heron"), ("w-1", "a b")]
    {
        server.plant(&Place { writer: writer.to_owned(), car: car.to_owned() }, line.clone());
    }
    settle(&mut lane(&server, &two, "w-2", well()));
    assert!(two.logs().is_empty());
}

#[test]
fn a_crash_while_taking_lines_is_mended_by_the_next_round() {
    let (server, one) = (MemoryServer::default(), Cars::default());
    one.keep("w-1", "heron", 6, 0);
    settle(&mut lane(&server, &one, "w-1", well()));
    for seed in 0..64_u64 {
        for nth in 1..4 {
            let two = Cars::default();
            two.folder("heron").fail_write(nth, 700);
            let mut second = lane(&server, &two, "w-2", well());
            for _ in 0..3 {
                second.round(&[], true, Moment::default());
                let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
                let crashed = two.folder("heron").crash(&mut || {
                    state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                    state >> 63 == 1
                });
                two.0.borrow_mut().insert("heron".to_owned(), crashed);
                second = lane(&server, &two, "w-2", well());
            }
            settle(&mut second);
            assert_eq!(two.logs(), one.logs(), "{seed} {nth} {:?}", second.status());
            assert!(two.hold());
        }
    }
}

#[test]
fn every_line_says_its_own_sum_where_the_tip_looks_for_it() {
    let one = Cars::default();
    one.keep("w-1", "heron", 1, 0);
    let line = one.logs().into_values().next().unwrap().remove(0);
    let sum = record::sum_of(&line).unwrap();
    // As the tables cut it: sixty-four digits, sixty-six from the end.
    assert_eq!(&line[line.len() - 66..line.len() - 2], sum.text().as_bytes());
}
