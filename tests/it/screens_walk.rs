//! Walks by keys alone: answers, taking back, resuming, pausing, a new car, signing, and how many keys it takes.

use chrono::TimeDelta;
use crossterm::event::KeyCode;
use linewalk::model::entry::{Entry, Outcome, Severity};
use linewalk::tui::{Options, Place};
use linewalk::units::Units;

use crate::screens::{Script, at_first_check, options};
use crate::screens_workspace::{TestWorkspace, WREN};

#[test]
fn a_car_is_found_by_number_in_two_keys() {
    let mut script = Script::new(TestWorkspace::small());
    script.text("42").press("<enter>");
    assert!(script.shows("CAR 42"));
}

#[test]
fn an_unknown_number_is_a_new_car() {
    let mut script = Script::new(TestWorkspace::small());
    script.text("9").press("<enter>");
    assert!(script.shows("There is no car 9. + makes it."), "{}", script.screen(80, 24));
    script.press("+ <enter> n <enter> <enter> <enter>");
    assert_eq!(script.app.state().place(), Place::Walk);
    let walk = script.app.state().walk.as_ref().unwrap();
    assert_eq!(walk.start.car.number, "9");
    assert!(walk.plan.position("bottle-serviced").is_none(), "without suppression its checks are left out");
}

#[test]
fn why_a_car_does_not_open_is_shown_whole() {
    let mut workspace = TestWorkspace::small();
    workspace.trouble =
        Some("error: no such unit\n  --> car.toml:3:8\n   | od = \"3 inch\"\nhelp: write in".to_owned());
    let mut script = Script::new(workspace);
    script.text("318").press("<enter> <enter>");
    assert!(script.shows("--> car.toml:3:8") && script.shows("help: write in"));
    script.press("<esc>");
    assert_eq!(script.app.state().place(), Place::Profile);
}

#[test]
fn a_mistake_of_a_car_file_is_told_before_a_way_round_is_asked_and_marked_under_its_place() {
    let long = "a lug welded on the upright beside the hose and a clip of stainless steel before it";
    let short = WREN.replace("\"42\"", "62 x");
    let wide = format!("{WREN}keeper = [\"{long}\", 62 x]\n");
    for (text, place) in [(&short, "car.toml:4:10"), (&wide, "car.toml:5:98")] {
        for (width, height) in [(60, 20), (80, 24), (120, 40)] {
            let named = Options { open: Some(("wren".to_owned(), None)), ..options() };
            let mut script = Script::with(TestWorkspace::new(TestWorkspace::small().rules, &[text]), named);
            assert_eq!(script.app.state().place(), Place::Help, "{}", script.screen(width, height));
            let screen = script.screen(width, height);
            let rows: Vec<&str> = screen.lines().collect();
            let at = rows.iter().position(|row| row.contains('^')).unwrap();
            assert_eq!(rows[at].find('^'), rows[at - 1].find("62 x"), "{screen}");
            assert!(screen.contains(place), "{screen}");
            script.press("<esc>");
            assert_eq!(script.app.state().place(), Place::Cars);
        }
    }
}

#[test]
fn a_half_typed_note_is_put_by_with_its_check_and_survives_the_program() {
    let mut script = at_first_check();
    script.press("a n").text("new struts").press("<esc>");
    assert!(script.shows("Put by as a draft") && script.shows("new struts (not in the record)"));
    script.press("<right>");
    assert!(!script.shows("new struts"), "it stays with its check");
    let mut script = script.again();
    script.text("318").press("<enter> <enter> <enter>");
    assert!(script.shows("new struts (not in the record)"), "{}", script.screen(80, 24));
    script.press("n");
    assert!(script.shows("[new struts"));
    script.text(", both").press("<enter>");
    assert!(script.shows("new struts, both (") && !script.shows("not in the record"));
    assert_eq!(script.notes(), [("hose-reaches".to_owned(), "new struts, both".to_owned())]);
}

#[test]
fn a_look_is_answered_by_one_key_and_the_next_check_comes() {
    let mut script = at_first_check();
    script.press("a r <enter>");
    let found = script.findings();
    assert_eq!((found[0].check.as_str(), found[0].result), ("pins-in", Outcome::Accept));
    assert_eq!((found[1].check.as_str(), found[1].result), ("hose-reaches", Outcome::Reject));
    assert_eq!(script.check(), "hose-tab");
}

#[test]
fn other_answers_have_a_key_each() {
    for (key, result) in [("s", Outcome::NotSeen), ("f", Outcome::NotFitted), ("t", Outcome::NotYet)] {
        let mut script = at_first_check();
        script.press("a").press(key);
        assert_eq!(script.findings()[1].result, result);
    }
}

#[test]
fn repaired_is_a_claim_until_it_is_accepted() {
    let mut script = at_first_check();
    script.press("a r <enter> <left> d");
    let walk = script.app.state().walk.as_ref().unwrap();
    assert_eq!(walk.history.open().len(), 1);
    script.press("<left> a");
    assert!(script.app.state().walk.as_ref().unwrap().history.open().is_empty());
}

#[test]
fn a_rejected_first_check_pauses_the_walk() {
    let mut script = at_first_check();
    script.press("r <enter>");
    assert_eq!(script.check(), "pins-in");
    assert!(script.shows("PAUSED"));
    script.press("<right> a");
    assert_eq!(script.findings().len(), 1, "nothing else is answered");
    script.press("<left> a <enter>");
    assert!(!script.shows("PAUSED"));
    assert_eq!(script.check(), "hose-reaches");
}

#[test]
fn a_whole_station_is_accepted_and_its_measured_check_comes_next() {
    let mut script = at_first_check();
    script.press("a g <enter>");
    let by_station = script.findings().iter().filter(|finding| finding.by_station).count();
    assert_eq!(by_station, 3);
    assert_eq!(script.check(), "hose-clear");
    script.press("w");
    assert_eq!(script.findings().len(), 1, "the one key is taken back by one key");
    assert_eq!(script.check(), "hose-reaches");
    // Once more: what is left and no stop may be judged by eye, and the record says that it was.
    script.press("g <enter> g");
    assert!(script.shows("Hose keeps clear of the tyre (by eye)"), "{}", script.screen(80, 24));
    script.press("<enter>");
    let last = script.findings().pop().unwrap();
    assert_eq!((last.check.as_str(), last.by_eye, last.by_station), ("hose-clear", true, true));
}

#[test]
fn a_station_accepted_from_its_middle_misses_nothing() {
    let mut script = at_first_check();
    script.press("a j").text("tyre").press("<enter> g");
    assert_eq!(script.check(), "hose-clear");
}

#[test]
fn the_last_key_is_taken_back_first_the_note_and_then_the_answer() {
    let mut script = at_first_check();
    script.press("a r").text("worn").press("<enter> w");
    assert!(script.shows("Taken back: the note on"));
    assert_eq!((script.findings().len(), script.notes().len()), (2, 0));
    script.press("w");
    assert_eq!(script.findings().len(), 1);
    assert_eq!(script.check(), "hose-reaches");
    let walk = script.app.state().walk.as_ref().unwrap();
    assert!(walk.history.all().len() > 3, "nothing is erased");
}

#[test]
fn a_note_stays_when_its_answer_is_taken_back() {
    let mut script = at_first_check();
    script.press("a r").text("worn").press("<enter> a w w");
    assert_eq!(script.findings().len(), 1);
    assert_eq!(script.notes(), [("hose-reaches".to_owned(), "worn".to_owned())]);
}

#[test]
fn a_note_and_a_photo_follow_a_reject() {
    let mut script = at_first_check();
    script.press("a r").text("polished patch").press("<enter> c").text("patch.jpg").press("<enter>");
    let walk = script.app.state().walk.as_ref().unwrap();
    let last = walk.history.findings().pop().unwrap().0.id.clone();
    let noted = walk.history.observations();
    assert_eq!(noted.len(), 2);
    for (_, observation) in &noted {
        assert_eq!((observation.check.as_str(), observation.record.as_ref()), ("hose-reaches", Some(&last)));
    }
    assert_eq!(noted[0].1.note.as_deref(), Some("polished patch"));
    assert_eq!(noted[1].1.photos.len(), 1);
    assert_eq!(script.check(), "hose-tab");
    script.press("o");
    assert!(script.shows("polished patch (") && script.shows("photo patch.jpg"));
}

#[test]
fn a_note_before_the_answer_is_a_record_at_once_and_no_answer() {
    let mut script = at_first_check();
    script.press("a n").text("new struts").press("<enter> <right> <left>");
    assert!(script.shows("new struts ("), "{}", script.screen(80, 24));
    assert_eq!(script.findings().len(), 1);
    assert_eq!(script.notes(), [("hose-reaches".to_owned(), "new struts".to_owned())]);
    script.press("x");
    assert!(script.shows("1 note not judged"), "{}", script.screen(80, 24));
    script.press("<esc> o");
    assert!(script.shows("1 note, not judged"));
    script.press("<esc> a");
    let walk = script.app.state().walk.as_ref().unwrap();
    assert!(walk.history.not_judged().is_empty(), "answered, it is judged");
}

#[test]
fn a_photo_that_is_not_there_is_said_and_the_line_stays() {
    let mut script = at_first_check();
    script.press("a r <enter> c").text("missing.jpg").press("<enter>");
    assert!(script.shows("there is no file missing.jpg"));
    assert_eq!(script.app.state().place(), Place::Words);
}

#[test]
fn lowering_asks_why_and_raising_does_not() {
    let mut script = at_first_check();
    script.press("a r <enter> l");
    assert!(script.shows("to lower stop to fix, write why"));
    script.text("spare hose in the truck").press("<enter>");
    let last = script.findings().pop().unwrap();
    assert_eq!((last.severity, last.note.as_deref()), (Severity::Fix, Some("spare hose in the truck")));
    script.press("u");
    assert_eq!(script.findings().pop().unwrap().severity, Severity::Stop);
}

#[test]
fn a_value_outside_rejects_and_one_inside_waits_for_the_person() {
    let mut script = at_first_check();
    script.press("a g <enter>").text("1/4").press("<enter>");
    let last = script.findings().pop().unwrap();
    assert_eq!((last.result, last.value_words().as_deref()), (Outcome::Reject, Some("1/4 in")));
    assert_eq!(last.instrument.as_deref(), Some("tape"));
    let mut script = at_first_check();
    script.press("a g <enter>").text("1").press("<enter>");
    assert_eq!(script.app.state().place(), Place::Decide);
    assert_eq!(script.findings().len(), 4);
    script.press("a");
    let last = script.findings().pop().unwrap();
    assert_eq!((last.result, last.verdict), (Outcome::Accept, Some(Outcome::Accept)));
}

#[test]
fn a_bare_number_takes_the_unit_of_the_person_which_stands_beside_it() {
    for (text, value, result) in [("25", "25 mm", Outcome::Accept), ("10", "10 mm", Outcome::Reject)] {
        let mut workspace = TestWorkspace::small();
        workspace.units = Units::Metric;
        let mut script = Script::new(workspace);
        script.text("318").press("<enter> <enter> <enter> a g <enter>").text(text);
        assert!(script.shows(&format!("] mm  read as {value}")), "{}", script.screen(80, 24));
        script.press("<enter>");
        if result == Outcome::Accept {
            script.press("a");
        }
        let last = script.findings().pop().unwrap();
        assert_eq!((last.result, last.value_words().as_deref()), (result, Some(value)));
    }
}

#[test]
fn a_draft_is_named_by_the_key_that_quits() {
    let mut script = at_first_check();
    script.press("a n").text("new struts").press("<esc> q");
    assert!(script.shows("Drafts stay with 1 check"), "{}", script.screen(80, 24));
}

#[test]
fn a_hold_that_was_too_short_is_named_and_its_readings_stand_in_the_fields() {
    let mut script = Script::new(TestWorkspace::small());
    script.text("318").press("<enter> 2 <enter> a j").text("both circuits").press("<enter> h <enter>");
    script.text("70").press("<enter>").text("-5").press("<enter>");
    assert!(script.shows("cannot be less than zero"), "{}", script.screen(80, 24));
    script.code(KeyCode::Backspace);
    script.code(KeyCode::Backspace);
    script.text("1210").press("<enter> <enter>");
    script.text("1200").press("<enter>").text("70").press("<enter>");
    assert!(script.shows("this is no whole hold"), "{}", script.screen(80, 24));
    script.press("<esc> v");
    assert!(script.shows("[1210 psi"), "{}", script.screen(80, 24));
}

#[test]
fn a_better_instrument_decides() {
    let mut script = at_first_check();
    script.press("a g <enter>").text("0.53");
    assert!(script.shows("cannot tell"));
    script.press("<tab>");
    assert!(script.shows("inside"));
    script.press("<enter> a");
    assert_eq!(script.findings().pop().unwrap().instrument.as_deref(), Some("vernier"));
}

#[test]
fn accepting_against_the_number_asks_why_and_keeps_the_value() {
    let mut script = at_first_check();
    script.press("a g <enter>").text("0.51").press("<enter>");
    let last = script.findings().pop().unwrap();
    assert_eq!(last.result, Outcome::Undecided);
    script.press("<left>").text("1").press("<enter> a");
    assert_eq!(script.findings().pop().unwrap().result, Outcome::Accept);
}

#[test]
fn what_is_typed_is_not_lost_by_leaving_the_line() {
    let mut script = at_first_check();
    script.press("a g <enter>").text("3/4").press("<esc>");
    assert!(script.shows("3/4 (not in the record)"));
    script.press("v <enter> a");
    assert_eq!(script.findings().pop().unwrap().value_words().as_deref(), Some("3/4 in"));
}

#[test]
fn by_eye_has_its_own_key_and_a_rule_may_forbid_it() {
    let mut script = at_first_check();
    script.press("a g <enter> e");
    assert!(script.findings().pop().unwrap().by_eye);
    script.press("a e");
    assert_eq!(script.check(), "clamps", "counted, and not by eye");
    script.press("a");
    assert!(script.shows("may not be accepted by eye"));
}

#[test]
fn the_file_is_confirmed_by_the_accept_key() {
    let mut script = at_first_check();
    script.press("a g <enter> e");
    assert!(script.shows("2026-02-20") && script.shows("Same on the car?"));
    script.press("a");
    let last = script.findings().pop().unwrap();
    assert_eq!((last.check.as_str(), last.result), ("bottle-serviced", Outcome::Accept));
    assert_eq!(last.value_words().as_deref(), Some("2026-02-20"));
}

#[test]
fn several_values_are_asked_in_turn() {
    let mut script = at_first_check();
    script.press("a g <enter> e a").text("4").press("<enter>").text("1").press("<enter>");
    let last = script.findings().pop().unwrap();
    assert_eq!((last.check.as_str(), last.result), ("clamps", Outcome::Reject));
    assert_eq!(last.value_words().as_deref(), Some("clamps = 4; loose = 1"));
}

#[test]
fn inputs_of_a_number_are_kept_as_readings() {
    let mut script = at_first_check();
    script.press("a i <enter>").text("14 1/2").press("<enter>");
    let kept = &script.app.workspace().kept["finch"];
    let reading = kept.iter().find_map(|kept| match &kept.entry {
        Entry::Reading(reading) => Some(reading.clone()),
        _ => None,
    });
    let reading = reading.unwrap();
    assert_eq!((reading.key.as_str(), reading.value.as_str()), ("brakes.hose.lf-hose.length", "14 1/2 in"));
}

#[test]
fn a_walk_resumes_at_the_same_check_after_the_program_was_stopped() {
    let mut script = at_first_check();
    script.press("a r <enter>");
    let stood = script.check();
    let mut script = script.again();
    script.text("318").press("<enter> <enter>");
    assert!(script.shows("Resume"));
    script.press("<enter>");
    assert_eq!(script.check(), stood);
}

#[test]
fn what_could_not_be_kept_is_not_shown_as_kept() {
    let mut script = at_first_check();
    script.app.workspace().failing.set(true);
    script.press("a");
    assert!(script.shows("NOT KEPT: the disk is full"));
    assert!(script.findings().is_empty());
    assert_eq!(script.check(), "pins-in");
}

#[test]
fn open_items_are_asked_first_next_time_and_closed_by_looking_again() {
    let mut script = at_first_check();
    script.press("a g <enter> r <enter> x <enter>").text("318").press("<enter> <enter> <enter>");
    script.text("318").press("<enter> <enter>");
    assert!(script.shows("Open from before, asked first: 1"));
    script.press("<enter> a");
    assert_eq!(script.check(), "hose-clear");
    script.press("o a");
    assert!(script.shows("type the value"), "measured once, it is measured again or judged by eye");
    script.press("e");
    assert!(script.shows("Nothing is open."));
}

#[test]
fn the_owners_remark_stands_beside_the_item() {
    let mut script = at_first_check();
    script.press("a r <enter> o n").text("hose is new").press("<enter>");
    assert!(script.shows("hose is new"));
    let remark = script.app.workspace().kept["finch"]
        .iter()
        .any(|kept| matches!(&kept.entry, Entry::Remark { about: Some(about), .. } if about == "owner"));
    assert!(remark);
}

#[test]
fn signing_asks_the_number_back_and_ends_the_walk() {
    let mut script = at_first_check();
    script.press("a x <enter>").text("42").press("<enter>");
    assert!(script.shows("this walk is of car 318, not 42"));
    script.press("<esc> <enter>").text("318").press("<enter> <enter>");
    let kept = &script.app.workspace().kept["finch"];
    assert!(kept.iter().any(|kept| matches!(&kept.entry, Entry::Signed { by, .. } if by == "T.W.")));
    assert!(matches!(kept.last().unwrap().entry, Entry::WalkEnded { .. }));
    script.press("<enter>");
    assert_eq!(script.app.state().place(), Place::Cars);
}

#[test]
fn a_hold_keeps_five_readings_and_survives_a_stop() {
    let mut script = Script::new(TestWorkspace::small());
    script.text("318").press("<enter> 2 <enter> a j").text("both circuits").press("<enter> h <enter>");
    script.text("70").press("<enter>").text("1210").press("<enter>");
    let clock = script.app.workspace().clock.clone();
    clock.set(clock.get() + TimeDelta::seconds(300));
    let mut script = script.again();
    script.text("318").press("<enter> <enter> <enter> j").text("both circuits").press("<enter> h");
    assert!(script.app.is_ticking(), "the clock runs since the start pressure was kept");
    script.press("<enter>").text("1200").press("<enter>").text("70.5").press("<enter>");
    let readings: Vec<(String, String)> = script.app.workspace().kept["finch"]
        .iter()
        .filter_map(|kept| match &kept.entry {
            Entry::Reading(reading) => Some((reading.key.clone(), reading.value.clone())),
            _ => None,
        })
        .collect();
    let expected = [
        ("start_temperature", "70 F"),
        ("start_pressure", "1210 psi"),
        ("time", "300 s"),
        ("end_pressure", "1200 psi"),
        ("end_temperature", "70.5 F"),
    ];
    for ((key, value), (last, wanted)) in readings.iter().zip(expected) {
        assert_eq!(
            (key.as_str(), value.as_str()),
            (format!("brakes.circuit.front.hold.{last}").as_str(), wanted)
        );
    }
    assert_eq!(readings.len(), expected.len());
}

#[test]
fn a_check_is_found_by_its_code() {
    let car =
        std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/sample-cars/heron.toml")).unwrap();
    let mut script = Script::new(TestWorkspace::shipped(&car));
    script.text("62").press("<enter> <enter> <enter> a a j").text("LF02");
    assert!(script.shows("LF02 "), "{}", script.screen(80, 24));
    script.press("<enter>");
    let walk = script.app.state().walk.as_ref().unwrap();
    assert_eq!(walk.check().unwrap().code.as_deref(), Some("LF02"));
}
