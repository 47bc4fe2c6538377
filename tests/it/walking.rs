//! The walk itself: what comes first, what pauses it, a whole station at once, taking back, and readings.

use linewalk::diagnostic::SourceFile;
use linewalk::model::entry::{Entry, Finding, Outcome, Photo};
use linewalk::model::history::History;
use linewalk::walk::{Action, Journal, Objection, Observed, Reply, Walk, Wants, Why, decide, keep_all};

use crate::bench::{Bench, CAR, noted, of, rows, short_car, start, typed};
use crate::shipped::day;

use Outcome::{Accept, NotSeen, NotYet, Reject, Repaired, Undecided};

fn message(result: Result<impl std::fmt::Debug, Objection>) -> String {
    result.unwrap_err().message
}

fn steps(walk: &Walk) -> Vec<&str> {
    walk.plan.steps.iter().map(|step| step.check.as_str()).collect()
}

#[test]
fn first_checks_come_before_everything_wherever_the_lap_starts() {
    let mut bench = Bench::fresh(CAR);
    bench.walk.begin_at("tail");
    assert_eq!(steps(&bench.walk)[..4], ["pins", "safe", "hose-number", "gauge"]);
    assert_eq!(message(bench.say("hose-number", Accept)), "first of all: Pins in");
    assert_eq!(message(bench.act(Action::AcceptStation("nose".to_owned()))), "first of all: Pins in");
    assert!(bench.records().is_empty(), "nothing was kept");
    bench.say("pins", Accept).unwrap();
    assert_eq!(message(bench.say("dust", Accept)), "first of all: Car made safe");
    bench.say("safe", Accept).unwrap();
    bench.say("dust", Accept).unwrap();
    assert!(
        matches!(bench.records()[0].entry, Entry::WalkStarted(_)),
        "the walk begins with its first answer"
    );
}

#[test]
fn a_rejected_first_check_pauses_the_walk_until_somebody_looks_again() {
    for bad in [Reject, NotSeen, NotYet, Undecided] {
        let mut bench = Bench::fresh(CAR);
        bench.say("pins", bad).unwrap();
        bench.say("safe", Accept).unwrap();
        assert!(bench.walk.paused().is_some(), "{bad:?}");
        let told = message(bench.say("dust", Accept));
        assert!(told.contains("make this safe first — ") && told.ends_with("Pins in"), "{told}");
        assert!(message(bench.act(Action::AcceptStation("nose".to_owned()))).contains("paused"));
        bench.say("pins", Repaired).unwrap();
        assert!(bench.walk.paused().is_some(), "said to be put right is not looked at");
        bench.say("pins", Accept).unwrap();
        assert!(bench.walk.paused().is_none());
        bench.say("dust", Accept).unwrap();
    }
}

#[test]
fn a_paused_walk_may_still_be_left_noted_and_ended() {
    let mut bench = Bench::fresh(CAR);
    bench.say("pins", Reject).unwrap();
    let words = Action::Remark { record: None, about: None, text: "owner sent for pins".to_owned() };
    bench.act(words).unwrap();
    bench.act(Action::End).unwrap();
    assert!(bench.is_open("pins"));
}

fn by_station(bench: &Bench) -> Vec<&str> {
    let kept = bench.records().iter().filter_map(|kept| match &kept.entry {
        Entry::Finding(finding) if finding.by_station => Some(finding.check.as_str()),
        _ => None,
    });
    kept.collect()
}

#[test]
fn a_station_is_accepted_in_one_go_without_its_values() {
    let mut bench = Bench::sound();
    bench.act(Action::AcceptStation("nose".to_owned())).unwrap();
    assert_eq!(by_station(&bench), ["hose-look", "pads", "dust"], "the measured gap is left to be measured");
    assert!(bench.standing("gap").is_none());
    // A stop that is measured is answered by itself, by eye too where the rule allows that.
    let again = message(bench.act(Action::AcceptStation("nose".to_owned())));
    assert_eq!(
        again,
        "nothing at this station is left to accept in one go: give what is left its own value or answer"
    );
}

#[test]
fn a_station_leaves_alone_what_a_number_rejects_what_is_answered_and_what_is_open() {
    let mut bench = Bench::short();
    bench.say("dust", Reject).unwrap();
    bench.act(Action::AcceptStation("nose".to_owned())).unwrap();
    assert_eq!(by_station(&bench), ["pads"], "hose-look is rejected by its number, dust is answered");
    assert!(bench.standing("hose-look").is_none());
    // Open from the walk before: to be looked at by itself.
    bench.act(Action::End).unwrap();
    bench.walk = Walk::new(start(CAR, "owner"), bench.walk.history.clone()).unwrap();
    bench.say("pins", Accept).unwrap();
    bench.say("safe", Accept).unwrap();
    bench.act(Action::AcceptStation("nose".to_owned())).unwrap();
    assert!(bench.is_open("dust") && bench.is_open("hose-look"), "by a person, and by its number at the end");
    assert_eq!(by_station(&bench), ["pads", "pads"]);
}

#[test]
fn what_was_open_last_time_is_asked_before_the_lap() {
    let mut bench = Bench::sound();
    bench.say("boots", Reject).unwrap();
    bench.say("dust", Reject).unwrap();
    bench.say("dust", Accept).unwrap();
    bench.act(Action::End).unwrap();
    let next = Walk::new(start(CAR, "owner"), bench.walk.history.clone()).unwrap();
    assert_eq!(steps(&next)[..4], ["pins", "safe", "boots", "hose-look"]);
    assert_eq!(next.plan.steps[2].why, Why::OpenLastTime);
    assert!(next.answered().is_empty(), "a new walk");
    let last = next.last_time("boots").unwrap().finding;
    assert_eq!(last.result, Reject);
}

#[test]
fn an_open_walk_goes_on_where_it_stopped() {
    let mut bench = Bench::sound();
    bench.say("hose-look", Accept).unwrap();
    let id = bench.walk.id.clone();
    let again = Walk::new(start(CAR, "owner"), bench.walk.history.clone()).unwrap();
    assert_eq!(again.id, id);
    assert_eq!(again.current().unwrap().check, "gap");
    let other = Walk::new(start(CAR, "scales"), bench.walk.history.clone()).unwrap();
    assert_eq!(other.id, None, "another profile is another walk");
    assert_eq!(steps(&other), ["pins", "safe", "hose-look", "gap"]);
}

#[test]
fn taking_back_undoes_and_keeps() {
    let mut bench = Bench::sound();
    bench.say("dust", Reject).unwrap();
    let reject = bench.last_id();
    bench.say("dust", Accept).unwrap();
    let accept = bench.last_id();
    let back = |record: &str| Action::Withdraw { record: record.to_owned(), note: None };
    bench.act(back(&accept)).unwrap();
    assert!(bench.is_open("dust"), "without the accept the reject stands again");
    bench.act(back(&reject)).unwrap();
    assert_eq!(bench.standing("dust"), None);
    assert_eq!(bench.walk.history.all().len(), bench.records().len(), "every record is still there");
    for gone in [&reject, &"no-such".to_owned(), &bench.records()[0].id.clone()] {
        assert_eq!(message(bench.act(back(gone))), "there is nothing here to take back");
    }
    assert!(bench.walk.left().iter().any(|step| step.check == "dust"), "it is asked again");
}

#[test]
fn what_was_taken_back_later_is_gone_on_earlier_days_too() {
    let mut bench = Bench::sound();
    let read = Action::Read {
        key: "suppression.bottle.b1.gauge".to_owned(),
        value: "200 psi".to_owned(),
        instrument: None,
    };
    bench.act(read).unwrap();
    let record = bench.last_id();
    bench.keeper.clock = Some("2026-11-27T10:00:00Z".parse().unwrap());
    bench.act(Action::Withdraw { record, note: None }).unwrap();
    assert!(bench.walk.history.until(day("2026-11-25")).readings().is_empty());
    assert!(
        bench
            .walk
            .history
            .until(day("2026-11-24"))
            .all()
            .iter()
            .all(|kept| { matches!(kept.entry, Entry::Withdrawn { .. }) })
    );
}

#[test]
fn a_reading_names_a_part_the_car_has_in_its_own_unit() {
    let mut bench = Bench::sound();
    let mut read = |key: &str, value: &str, instrument: Option<&str>| {
        bench.act(Action::Read {
            key: key.to_owned(),
            value: value.to_owned(),
            instrument: instrument.map(str::to_owned),
        })
    };
    read("suppression.bottle.b1.gauge", "200 psi", Some("tape")).unwrap();
    read("brakes.fluid_flushed", "2026-10-13", None).unwrap();
    assert!(
        message(read("suppression.bottle.b3.gauge", "200 psi", None))
            .starts_with("the car file has no bottle b3")
    );
    assert!(message(read("suppression.bottle.b1.gauge", "200 in", None)).contains("pressure"));
    assert!(message(read("suppression.bottle.b1.gage", "200 psi", None)).starts_with("there is no reading"));
    assert!(message(read("brakes.fluid_flushed", "13.10.2026", None)).contains("is not a date"));
    assert!(
        message(read("suppression.bottle.b2.gauge", "1 psi", Some("gauge")))
            .starts_with("there is no instrument")
    );
    assert_eq!(bench.walk.readings.iter().count(), 2);
}

#[test]
fn a_measured_value_stands_in_for_the_car_files() {
    let mut bench = Bench::short();
    let read = Action::Read {
        key: "brakes.hose.right-hose.length".to_owned(),
        value: "14 1/2 in".to_owned(),
        instrument: Some("tape".to_owned()),
    };
    bench.act(read).unwrap();
    let finding = bench.reply(Reply { check: "hose-number".to_owned(), ..Reply::default() }).unwrap();
    assert_eq!(finding.result, Accept, "the newly measured hose is long enough");
}

#[test]
fn of_a_wrong_answer_nothing_is_kept() {
    let mut bench = Bench::sound();
    let count = bench.records().len();
    for reply in [
        Reply::plain("no-such-check", Accept),
        typed("gap", Some(Accept), "1 psi"),
        typed("dust", Some(Accept), "1 in"),
        typed("gauge", Some(Accept), "120 psi"),
        rows("gauge", Some(Accept), &[("first", "120 psi"), ("latter", "118 psi")]),
        typed("pads", Some(Accept), "four"),
        typed("bottle-date", None, "2026-13-01"),
        of("no-such-part", Reply::plain("dust", Accept)),
        Reply { check: "dust".to_owned(), ..Reply::default() },
    ] {
        assert!(bench.reply(reply.clone()).is_err(), "{reply:?}");
    }
    assert_eq!(bench.records().len(), count);
}

#[test]
fn what_could_not_be_kept_is_not_shown_as_kept() {
    let mut bench = Bench::sound();
    bench.keeper.failing = true;
    let action = Action::Answer(Box::new(Reply::plain("dust", Accept)));
    let entries = decide(&bench.walk, &action, &mut || bench.keeper.new_id()).unwrap();
    assert!(keep_all(&mut bench.walk, &mut bench.keeper, entries).is_err());
    assert_eq!(bench.standing("dust"), None);
}

#[test]
fn state_is_a_fold_over_the_record() {
    let mut bench = Bench::short();
    bench.say("dust", Reject).unwrap();
    bench.reply(noted(Reply::plain("hose-look", Accept))).unwrap();
    bench.say("dust", Repaired).unwrap();
    bench.act(Action::AcceptStation("tail".to_owned())).unwrap();
    let folded = Walk::new(start(&short_car(), "owner"), History::fold(bench.records().to_vec())).unwrap();
    assert_eq!(folded.history.all(), bench.walk.history.all());
    assert_eq!(folded.answered(), bench.walk.answered());
    assert_eq!((folded.id.clone(), steps(&folded)), (bench.walk.id.clone(), steps(&bench.walk)));
    let findings = |walk: &Walk| -> Vec<Finding> {
        walk.history.open().iter().map(|standing| standing.finding.clone()).collect()
    };
    assert_eq!(findings(&folded), findings(&bench.walk));
}

#[test]
fn a_walk_needs_a_profile_of_its_rules() {
    assert!(Walk::new(start(CAR, "nobody"), History::default()).is_none());
    let mut bench = Bench::fresh(CAR);
    assert!(message(bench.act(Action::End)).starts_with("there is nothing to end"));
    let sign = Action::Sign { role: "owner".to_owned(), by: "A.B.".to_owned() };
    assert!(message(bench.act(sign.clone())).starts_with("there is nothing to sign"));
    bench.say("pins", Accept).unwrap();
    bench.act(sign).unwrap();
    let walks = bench.walk.history.walks();
    assert_eq!(walks[0].signed.len(), 1);
}

#[test]
fn a_changed_car_file_does_not_lose_the_open_walk() {
    let bench = Bench::sound();
    let mut changed = start(CAR, "owner");
    changed.car_file = SourceFile::new("car.toml", CAR.replace("14 in", "15 in"));
    changed.car = linewalk::model::read_car(&changed.car_file, &Default::default()).car;
    let walk = Walk::new(changed, bench.walk.history.clone()).unwrap();
    assert_eq!(walk.id, bench.walk.id);
}

/// A note or a photo is kept the moment it is given. It is no answer: the check stays as it was.
#[test]
fn a_note_without_an_answer_is_kept_and_answers_nothing() {
    let mut bench = Bench::sound();
    let left = bench.walk.left().len();
    let noted =
        |words: &str| Observed { check: "dust".into(), note: Some(words.into()), ..Observed::default() };
    bench.act(Action::Observe(Box::new(noted(" wet round the bleeder ")))).unwrap();
    let kept = bench.walk.history.not_judged();
    let [(_, note)] = kept.as_slice() else { panic!("{kept:?}") };
    assert_eq!((note.note.as_deref(), note.record.as_deref()), (Some("wet round the bleeder"), None));
    assert_eq!(bench.walk.left().len(), left, "the check is still asked");
    assert!(bench.walk.history.open().is_empty() && bench.standing("dust").is_none());

    // Beside an answer it names the answer, and stays when that is taken back.
    bench.say("dust", Accept).unwrap();
    let answer = bench.keeper.kept.last().unwrap().id.clone();
    let photo = Photo { file: "dust.jpg".into(), sha256: "0".repeat(64) };
    let pictured = Observed { check: "dust".into(), photos: vec![photo], ..Observed::default() };
    let Entry::Observation(beside) = bench.act(Action::Observe(Box::new(pictured))).unwrap() else {
        panic!()
    };
    assert_eq!(beside.record.as_ref(), Some(&answer));
    assert!(bench.walk.history.not_judged().is_empty(), "the check is answered now");
    bench.act(Action::Withdraw { record: answer, note: None }).unwrap();
    assert_eq!(bench.walk.history.not_judged().len(), 2);
    let last =
        bench.keeper.kept.iter().find(|kept| matches!(kept.entry, Entry::Observation(_))).unwrap().id.clone();
    bench.act(Action::Withdraw { record: last, note: None }).unwrap();
    assert_eq!(bench.walk.history.not_judged().len(), 1);
    let empty = bench.act(Action::Observe(Box::new(noted("  "))));
    assert_eq!(empty.unwrap_err().wants, Wants::Note);
}

/// Every entry carries the id that it is kept under before it is kept: what refers to another names it from the start.
#[test]
fn entries_are_decided_with_their_ids() {
    let bench = Bench::fresh(crate::bench::CAR);
    let mut given = 0;
    let mut ids = || {
        given += 1;
        format!("id-{given}")
    };
    let action = Action::Answer(Box::new(Reply::plain("pins", Accept)));
    let decided = decide(&bench.walk, &action, &mut ids).unwrap();
    let [begun, answer] = decided.as_slice() else { panic!("{decided:?}") };
    let Entry::Finding(finding) = &answer.entry else { panic!("{answer:?}") };
    assert!(matches!(begun.entry, Entry::WalkStarted(_)));
    assert_eq!((finding.walk.as_str(), begun.id.as_str(), answer.id.as_str()), ("id-1", "id-1", "id-2"));
}
