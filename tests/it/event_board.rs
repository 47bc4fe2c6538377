//! What race control sees.

use linewalk::lanes::board::{Board, CarNow, Filter, Only, entries};
use linewalk::lanes::server::Lane;
use linewalk::model::entry::{Entry, Finding, Kept, Outcome, Severity};
use linewalk::model::history::History;

use crate::logbook::{finding, moment};

fn found(check: &str, result: Outcome, severity: Severity) -> Entry {
    let Entry::Finding(plain) = finding(0.0, "") else { panic!("no finding") };
    Entry::Finding(Box::new(Finding {
        check: check.into(),
        title: format!("Title of {check}"),
        of: None,
        verdict: None,
        seen_at: None,
        result,
        severity,
        ..*plain
    }))
}

/// A car with these entries, a minute apart, by one lane each.
fn car(id: &str, entries: Vec<(&str, Entry)>) -> CarNow {
    let kept = (1..).zip(entries).map(|(seq, (writer, entry))| Kept {
        id: format!("{id}-{seq}"),
        writer: writer.to_owned(),
        seq,
        at: moment(60 * i64::try_from(seq).unwrap()),
        entry,
    });
    CarNow::of(id, Some(id.trim_start_matches("car-")), &History::fold(kept))
}

fn board() -> Board {
    use Outcome::{Accept, Reject, Repaired};
    let cars = [
        car(
            "car-7",
            vec![("w-1", found("a", Reject, Severity::Stop)), ("w-2", found("a", Reject, Severity::Stop))],
        ),
        car(
            "car-8",
            vec![("w-2", found("b", Reject, Severity::Stop)), ("w-1", found("b", Repaired, Severity::Stop))],
        ),
        car(
            "car-9",
            vec![("w-1", found("c", Reject, Severity::Fix)), ("w-1", found("d", Accept, Severity::Stop))],
        ),
        car("car-10", Vec::new()),
    ];
    let lane = |writer: &str, login: &str| Lane {
        writer: writer.to_owned(),
        login: login.to_owned(),
        records: [40, 30],
        cars: [4, 3],
        last: Some(moment(600)),
    };
    let mut board = Board {
        cars: cars.into_iter().map(|car| (car.car.clone(), car)).collect(),
        lanes: vec![lane("w-1", "lane1"), lane("w-2", "lane2")],
        now: moment(60 * 75),
        ..Board::default()
    };
    board.expect(&entries("7\n10  # late\n\n55\n"));
    board
}

#[test]
fn stops_wait_the_longest_first_and_a_repair_waits_from_when_it_was_said() {
    let text = board().text(&Filter::default(), 80);
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines[0], "EVENT 5 cars | STOP 1 | AGAIN 1 | NOT SEEN 2 | joined 09:15:00");
    assert_eq!(lines[6], "08:01  1:14    7        lane1        STOP Title of a");
    assert_eq!(lines[7], "08:02  1:13    8        lane1        AGAIN Title of b");
    assert_eq!(lines[8], "NOT SEEN 10 55");
    assert!(text.lines().all(|line| line.chars().count() <= 80));
}

#[test]
fn filters_leave_what_was_asked_for() {
    let board = board();
    let text = |filter: &Filter| board.text(filter, 80);
    let stops = text(&Filter { only: Only::Stops, ..Filter::default() });
    assert!(
        stops.contains("STOP Title of a") && !stops.contains("AGAIN Title") && !stops.contains("NOT SEEN 10")
    );
    let again = text(&Filter { only: Only::Rechecks, ..Filter::default() });
    assert!(again.contains("AGAIN Title of b") && !again.contains("STOP Title"));
    let unseen = text(&Filter { only: Only::Unseen, car: Some("5".into()), ..Filter::default() });
    assert!(unseen.contains("NOT SEEN 55") && !unseen.contains("Title"));
    let lane = text(&Filter { lane: Some("lane2".into()), ..Filter::default() });
    assert!(lane.contains("nothing of that kind"));
}

#[test]
fn scripts_get_the_same_as_json() {
    let json = board().json(&Filter::default());
    assert_eq!(json["count"], serde_json::json!({"cars": 5, "stop": 1, "recheck": 1, "not_seen": 2}));
    assert_eq!(json["cars"][0]["stops"][0]["lane"], "lane1");
    assert_eq!(json["cars"][0]["stops"][0]["since"], "2026-11-25T08:01:00.250-05:00");
    assert_eq!(json["cars"][1]["rechecks"][0]["check"], "b");
    assert_eq!(json["not_seen"], serde_json::json!(["10", "55"]));
    assert_eq!(json["lanes"][1]["records_last_hour"], 30);
}

#[test]
fn nothing_from_the_server_moves_the_cursor() {
    let mut board = board();
    board.lanes[0].login = "\u{1b}[2Jlane\n".to_owned();
    board.trouble = Some("gone\r\n\u{202e}".to_owned());
    board.cars.get_mut("car-7").unwrap().stops[0].title = "\u{1b}]0;x\u{7}".repeat(40);
    let text = board.text(&Filter::default(), 80);
    assert!(text.chars().all(|c| c == '\n' || !linewalk::diagnostic::needs_escape(c)), "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
}
