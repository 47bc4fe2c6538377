//! The one word for the state of a car, and the counts beside it: the same wherever a car is shown.

use linewalk::model::entry::{Outcome, Severity};
use linewalk::rules::CarState;
use linewalk::walk::{Action, Reply};

use crate::bench::{Bench, CAR, noted, rows, short_car, typed};
use crate::screens::Script;
use crate::screens_workspace::TestWorkspace;

use Outcome::{Accept, NotSeen, NotYet, Reject, Repaired};

/// The word, and all of it.
fn state(bench: &Bench) -> (CarState, String) {
    bench.walk.numbers();
    let (state, words, tally) = bench.walk.car_state();
    let parts = tally.by_person + tally.by_number + tally.not_seen + tally.not_reached;
    assert_eq!(tally.asked, parts, "every check asked is one of these: {tally:?}");
    (state, words)
}

/// Answers everything but what is named, and ends the walk.
fn walk(bench: &mut Bench, but: &[&str]) {
    let all: [(&str, Reply); 8] = [
        ("hose-look", Reply::plain("hose-look", Accept)),
        ("gap", typed("gap", Some(Accept), "1 in")),
        ("pads", Reply::plain("pads", Accept)),
        ("dust", Reply::plain("dust", Accept)),
        ("hose-number", Reply::plain("hose-number", Accept)),
        ("gauge", rows("gauge", Some(Accept), &[("first", "120 psi"), ("later", "119 psi")])),
        ("bottle-date", noted(Reply { by_eye: true, ..Reply::plain("bottle-date", Accept) })),
        ("boots", Reply::plain("boots", Accept)),
    ];
    for (check, reply) in all {
        if !but.contains(&check) {
            bench.reply(reply).unwrap();
        }
    }
}

fn end(bench: &mut Bench) {
    let roles = bench.walk.profile().unwrap().signatures.clone();
    for role in roles {
        bench.act(Action::Sign { role, by: "T.W.".to_owned() }).unwrap();
    }
    bench.act(Action::End).unwrap();
}

#[test]
fn the_first_word_that_fits() {
    let fresh = Bench::fresh(CAR);
    assert_eq!(state(&fresh).0, CarState::NotDone, "nothing was ever kept");

    let short = Bench::fresh(&short_car());
    assert_eq!(state(&short).0, CarState::Stopped, "its number rejects a stop, before anybody looked");

    let mut bench = Bench::sound();
    walk(&mut bench, &[]);
    assert_eq!(state(&bench).0, CarState::NotDone, "not ended and signed");
    end(&mut bench);
    assert_eq!(state(&bench), (CarState::NoOpenItem, "NO OPEN ITEM".to_owned()));

    let mut bench = Bench::sound();
    walk(&mut bench, &["gap"]);
    end(&mut bench);
    assert_eq!(state(&bench), (CarState::NotDone, "NOT DONE: 1 stop check not reached".to_owned()));
}

#[test]
fn a_stop_is_stopped_and_one_that_was_not_seen_is_looked_at_again() {
    for (result, expected) in
        [(Reject, CarState::Stopped), (NotYet, CarState::Stopped), (NotSeen, CarState::LookAgain)]
    {
        let mut bench = Bench::sound();
        walk(&mut bench, &["gap"]);
        bench.say("gap", result).unwrap();
        end(&mut bench);
        assert_eq!(state(&bench).0, expected, "{result:?}");
    }
}

#[test]
fn a_fix_said_to_be_mended_is_looked_at_again_and_a_stop_stays_stopped() {
    let mut bench = Bench::sound();
    walk(&mut bench, &["pads"]);
    bench.say("pads", Reject).unwrap();
    bench.say("pads", Repaired).unwrap();
    end(&mut bench);
    assert_eq!(state(&bench).0, CarState::LookAgain);

    let mut bench = Bench::sound();
    walk(&mut bench, &["gap"]);
    bench.say("gap", Reject).unwrap();
    bench.say("gap", Repaired).unwrap();
    end(&mut bench);
    assert_eq!(state(&bench).0, CarState::Stopped);
}

#[test]
fn an_open_fix_leaves_no_open_stop() {
    let mut bench = Bench::sound();
    walk(&mut bench, &["pads"]);
    bench.say("pads", Reject).unwrap();
    end(&mut bench);
    assert_eq!(state(&bench).0, CarState::NoOpenStop);
    assert_eq!(bench.walk.start.rules.check("pads").unwrap().severity, Severity::Fix);
}

#[test]
fn a_copy_set_aside_keeps_look_again() {
    let mut bench = Bench::sound();
    walk(&mut bench, &[]);
    end(&mut bench);
    bench.walk.unsettled = true;
    let expected = "LOOK AGAIN: a copy of the record is not settled";
    assert_eq!(state(&bench), (CarState::LookAgain, expected.to_owned()));
}

/// Words that would name a car fit never stand for its state.
#[test]
fn no_word_says_that_a_car_is_fit() {
    let all = [
        CarState::Stopped,
        CarState::NotDone,
        CarState::LookAgain,
        CarState::NoOpenStop,
        CarState::NoOpenItem,
    ];
    for word in all.map(CarState::word) {
        for never in ["PASS", "SAFE", "OK", "APPROVED", "CERTIFIED", "NOT HERE"] {
            // LOOK has the letters of OK; the word by itself is meant.
            assert!(!word.split(' ').any(|one| one == never), "{word}");
        }
    }
}

#[test]
fn start_page_header_and_end_page_say_it() {
    let mut script = Script::new(TestWorkspace::small());
    script.text("318").press("<enter> <enter>");
    assert!(script.shows("NOT DONE: "), "{}", script.screen(120, 60));
    script.press("<enter> a r <enter>");
    let wide = script.screen(120, 40);
    assert!(wide.lines().next().unwrap().contains("STOPPED | STOP"), "{wide}");
    script.press("x");
    assert!(script.shows("STOPPED: "), "{}", script.screen(120, 60));
    assert!(script.shows("checks asked: "));
}
