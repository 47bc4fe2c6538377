//! Two machines with one car and clocks apart: what one found is closed only by who knew of it, and whoever closed
//! something came after it. No source: common practice of logs without a common clock.

use chrono::TimeDelta;
use linewalk::model::entry::{Entry, Finding, Kept, Outcome};
use linewalk::model::history::History;

use crate::logbook::{finding, moment};

/// An answer to one check, `minutes` after ten by its machine's clock.
fn answer(id: &str, minutes: i64, result: Outcome, closes: Option<&str>) -> Kept {
    let Entry::Finding(plain) = finding(0.0, "seen") else { panic!("no finding") };
    let closes = closes.map(str::to_owned);
    let entry = Entry::Finding(Box::new(Finding { result, closes, seen_at: None, verdict: None, ..*plain }));
    // The name of a record is that of its machine and a number.
    let (writer, seq) = id.split_once('-').unwrap();
    let at = moment(0) + TimeDelta::minutes(minutes);
    Kept { id: id.to_owned(), writer: writer.to_owned(), seq: seq.parse().unwrap(), at, entry }
}

/// What stands after the records, in the order a folder gives them: by the clocks. The same whichever comes in first.
fn stands(mut records: Vec<Kept>) -> (String, bool) {
    let standing = |records: Vec<Kept>| {
        let history = History::fold(records);
        let standings = history.standings();
        assert_eq!(standings.len(), 1);
        assert_eq!(history.open().len(), usize::from(standings[0].is_open()));
        (standings[0].kept.id.clone(), standings[0].is_open())
    };
    let as_came = standing(records.clone());
    records.sort_by_key(|kept| kept.at);
    assert_eq!(standing(records), as_came);
    as_came
}

const ACCEPT: Outcome = Outcome::Accept;
const REJECT: Outcome = Outcome::Reject;

/// Lane `b` is 40 minutes ahead and accepted first; `a` saw that, looked again and rejects.
#[test]
fn a_reject_is_not_hidden_by_a_clock_that_is_ahead() {
    let records = vec![answer("b-1", 40, ACCEPT, None), answer("a-1", 2, REJECT, None)];
    assert_eq!(stands(records), ("a-1".into(), true));
}

/// Both were offline and neither knew of the other: somebody has to look once more.
#[test]
fn an_accept_that_knew_of_no_reject_does_not_close_it() {
    let records = vec![answer("a-1", 1, REJECT, None), answer("b-1", 20, ACCEPT, None)];
    assert_eq!(stands(records), ("a-1".into(), true));
    let not_fitted = answer("b-1", 20, Outcome::NotFitted, None);
    assert_eq!(stands(vec![answer("a-1", 1, REJECT, None), not_fitted]), ("a-1".into(), true));
    // It names another item's.
    let other = answer("b-1", 20, ACCEPT, Some("c-9"));
    assert_eq!(stands(vec![answer("a-1", 1, REJECT, None), other]), ("a-1".into(), true));
}

/// Lane `b` is ahead and rejects; `a` sees that and closes it at once, by its own clock 38 minutes before.
#[test]
fn who_closes_an_item_came_after_it() {
    let mut records = vec![answer("b-1", 40, REJECT, None), answer("a-1", 2, ACCEPT, Some("b-1"))];
    assert_eq!(stands(records.clone()), ("a-1".into(), false));
    // What `a` says next is later still, whatever the clocks say.
    records.push(answer("a-2", 3, REJECT, None));
    assert_eq!(stands(records.clone()), ("a-2".into(), true));
    // And `b` closes that one: it knew of it.
    records.push(answer("b-2", 45, ACCEPT, Some("a-2")));
    assert_eq!(stands(records), ("b-2".into(), false));
}

/// With clocks alike, and on one machine, all is as ever.
#[test]
fn one_machine_and_clocks_alike() {
    let alone = vec![answer("a-1", 1, REJECT, None), answer("a-2", 2, ACCEPT, None)];
    assert_eq!(stands(alone), ("a-2".into(), false));
    let claimed = vec![
        answer("a-1", 1, REJECT, None),
        answer("b-1", 2, Outcome::Repaired, None),
        answer("c-1", 3, ACCEPT, Some("a-1")),
    ];
    assert_eq!(stands(claimed), ("c-1".into(), false));
}

/// An answer for the whole check closes what it knew of, item by item.
#[test]
fn an_answer_for_the_whole_check() {
    let whole = |id: &str, minutes, closes| {
        let mut kept = answer(id, minutes, ACCEPT, closes);
        let Entry::Finding(finding) = &mut kept.entry else { panic!("no finding") };
        finding.of = None;
        kept
    };
    let open = |closes| {
        let records = [answer("a-1", 1, REJECT, None), whole("b-1", 20, closes)];
        History::fold(records).open().len()
    };
    assert_eq!((open(None), open(Some("a-1"))), (1, 0));
}
