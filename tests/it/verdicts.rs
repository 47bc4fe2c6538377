//! The safety of verdicts: each rule of what may close a check has a test that fails when the rule is broken.

use linewalk::model::entry::{Entry, Outcome, Severity};
use linewalk::walk::{Action, Objection, Reply, Walk, Wants};

use crate::bench::{Bench, CAR, noted, of, rows, short_car, start, typed};

use Outcome::{Accept, NotFitted, NotSeen, NotYet, Refused, Reject, Repaired, Undecided};

fn wants(result: Result<impl std::fmt::Debug, Objection>) -> Wants {
    result.unwrap_err().wants
}

#[test]
fn a_number_never_closes_a_check_that_has_a_look() {
    let mut bench = Bench::sound();
    let silent = Reply { check: "hose-look".to_owned(), ..Reply::default() };
    assert_eq!(wants(bench.reply(silent)), Wants::Result, "1.17 is inside the limit, and nobody looked");
    assert_eq!(wants(bench.reply(typed("gap", None, "1 in"))), Wants::Result, "nor does a typed one");
    assert_eq!(bench.standing("hose-look"), None);
    let finding = bench.say("hose-look", Accept).unwrap();
    assert_eq!((finding.result, finding.verdict), (Accept, Some(Accept)));
}

#[test]
fn a_number_may_turn_a_check_with_a_look_to_reject() {
    let mut bench = Bench::short();
    let silent = Reply { check: "hose-look".to_owned(), ..Reply::default() };
    let finding = bench.reply(silent).unwrap();
    assert_eq!((finding.result, finding.verdict, finding.is_computed()), (Reject, Some(Reject), true));
    assert_eq!(finding.of.as_deref(), Some("right-hose"), "the finding names the item");
    assert_eq!(bench.reply(typed("gap", None, "1/4 in")).unwrap().result, Reject);
}

#[test]
fn only_a_check_without_a_look_is_closed_by_its_number() {
    let mut bench = Bench::sound();
    let finding = bench.reply(Reply { check: "hose-number".to_owned(), ..Reply::default() }).unwrap();
    assert_eq!((finding.result, finding.is_computed()), (Accept, true));
    assert!((finding.si.unwrap() - 14.0 / 12.0).abs() < 1e-12, "free length ÷ chord");
}

#[test]
fn a_number_that_lacks_an_input_closes_nothing() {
    // One of the two hoses has no length: the worst of refused and accept is refused.
    let car = CAR.replacen("length = \"14 in\"\n", "", 1);
    let mut bench = Bench::on(&car);
    let silent = Reply { check: "hose-number".to_owned(), ..Reply::default() };
    let objection = bench.reply(silent).unwrap_err();
    assert!(objection.message.contains("brakes.hose.left-hose.length"), "{objection}");
    assert_eq!(wants(bench.say("hose-number", Accept)), Wants::Note, "a person says why");
    let finding = bench.reply(noted(Reply::plain("hose-number", Accept))).unwrap();
    assert_eq!((finding.result, finding.verdict), (Accept, Some(Refused)));
    // Beside a look the person answers, and the number says nothing.
    assert_eq!(bench.say("hose-look", Accept).unwrap().verdict, None);
}

#[test]
fn a_bottle_without_a_date_is_not_passed_over() {
    let mut bench = Bench::on(&CAR.replace("serviced = 2026-02-10\n", ""));
    let silent = Reply { check: "bottle-date".to_owned(), ..Reply::default() };
    assert!(bench.reply(silent).unwrap_err().message.contains("suppression.bottle.b2.serviced is not given"));
    let mut bench = Bench::sound();
    let silent = Reply { check: "bottle-date".to_owned(), ..Reply::default() };
    assert_eq!(bench.reply(silent).unwrap().result, Accept, "with both it is closed by what the file says");
}

#[test]
fn no_eye_wants_its_values_all_of_them() {
    let mut bench = Bench::sound();
    assert_eq!(wants(bench.say("gauge", Accept)), Wants::Value);
    let by_eye = Reply { by_eye: true, ..Reply::plain("gauge", Accept) };
    assert_eq!(wants(bench.reply(by_eye)), Wants::Value);
    assert_eq!(wants(bench.reply(rows("gauge", Some(Accept), &[("first", "120 psi")]))), Wants::Value);
    let both = [("first", "120 psi"), ("later", "118 psi")];
    let finding = bench.reply(rows("gauge", Some(Accept), &both)).unwrap();
    let rows: Vec<_> = finding.rows.iter().map(|row| (row.id.as_str(), row.text.as_str())).collect();
    assert_eq!((rows, finding.value), (vec![("first", "120 psi"), ("later", "118 psi")], None));
    assert_eq!(bench.say("gauge", NotSeen).unwrap().result, NotSeen, "it may always be not seen");
    assert_eq!(bench.say("gauge", Reject).unwrap().result, Reject, "or rejected at a glance");
}

#[test]
fn by_eye_is_said_and_kept_as_such() {
    let mut bench = Bench::sound();
    assert_eq!(wants(bench.say("gap", Accept)), Wants::Value, "an accept of a measured check is no slip");
    let finding = bench.reply(Reply { by_eye: true, ..Reply::plain("gap", Accept) }).unwrap();
    assert_eq!((finding.by_eye, finding.value, finding.si, finding.verdict), (true, None, None, None));
    let both = Reply { by_eye: true, ..typed("gap", Some(Accept), "1 in") };
    assert_eq!(wants(bench.reply(both)), Wants::Value, "by eye or by value");
}

#[test]
fn look_feel_and_ask_never_need_a_value() {
    let mut bench = Bench::sound();
    assert_eq!(bench.say("pads", Accept).unwrap().verdict, None);
    assert_eq!(bench.say("boots", Accept).unwrap().result, Accept);
    let mut bench = Bench::sound();
    let finding = bench.reply(typed("pads", Some(Accept), "4")).unwrap();
    assert_eq!(finding.verdict, Some(Accept), "but one that is offered is judged");
    assert_eq!(wants(bench.reply(typed("pads", Some(Accept), "3"))), Wants::Note);
}

#[test]
fn the_persons_result_and_the_programs_verdict_are_both_kept() {
    let mut bench = Bench::short();
    assert_eq!(wants(bench.say("hose-look", Accept)), Wants::Note, "better than the verdict");
    let finding = bench.reply(noted(Reply::plain("hose-look", Accept))).unwrap();
    assert_eq!(
        (finding.result, finding.verdict, finding.by.as_deref()),
        (Accept, Some(Reject), Some("A.B."))
    );
    let mut bench = Bench::sound();
    let finding = bench.reply(typed("gap", Some(Reject), "1 in")).unwrap();
    assert_eq!(
        (finding.result, finding.verdict),
        (Reject, Some(Accept)),
        "worse than the verdict needs none"
    );
    let finding = bench.say("hose-look", Reject).unwrap();
    assert_eq!(
        (finding.verdict, finding.value),
        (Some(Accept), None),
        "a good number is no part of what was found"
    );
}

#[test]
fn undecided_is_between() {
    let mut bench = Bench::sound();
    let finding = bench.reply(typed("gap", None, "0.487 in")).unwrap();
    assert_eq!((finding.result, finding.verdict), (Undecided, Some(Undecided)));
    assert!((finding.chance.unwrap() - 0.396).abs() < 1e-9);
    assert!(bench.is_open("gap"));
    assert_eq!(wants(bench.reply(typed("gap", Some(Accept), "0.487 in"))), Wants::Note);
    assert_eq!(
        wants(bench.reply(typed("gap", Some(Undecided), "0.3 in"))),
        Wants::Note,
        "better than reject"
    );
}

#[test]
fn what_objects_is_kept_whatever_the_person_says() {
    let mut bench = Bench::short();
    for result in [NotSeen, NotYet] {
        let finding = bench.say("hose-look", result).unwrap();
        assert_eq!((finding.result, finding.verdict), (result, Some(Reject)));
    }
    assert_eq!(
        wants(bench.say("hose-number", NotFitted)),
        Wants::Note,
        "the file has hoses, and one is short"
    );
    let mut bench = Bench::sound();
    let finding = bench.reply(typed("gap", Some(NotSeen), "1 in")).unwrap();
    assert_eq!(finding.value_words().as_deref(), Some("1 in"), "what was typed is not lost");
}

#[test]
fn lowering_a_severity_needs_a_note() {
    let mut bench = Bench::sound();
    let lighter = Reply { severity: Some(Severity::Fix), ..Reply::plain("hose-look", Reject) };
    assert_eq!(wants(bench.reply(lighter.clone())), Wants::Note);
    assert_eq!(bench.reply(noted(lighter)).unwrap().severity, Severity::Fix);
    let heavier = Reply { severity: Some(Severity::Stop), ..Reply::plain("dust", Reject) };
    assert_eq!(bench.reply(heavier).unwrap().severity, Severity::Stop, "raising needs none");
    let record = bench.last_id();
    let weigh = |note| Action::Weigh { record: record.clone(), severity: Severity::Note, note };
    assert_eq!(wants(bench.act(weigh(None))), Wants::Note);
    assert_eq!(wants(bench.act(weigh(Some("  ".to_owned())))), Wants::Note);
    bench.act(weigh(Some("only dust".to_owned()))).unwrap();
    let standing = bench.walk.history.standing_of("dust").unwrap();
    assert_eq!((standing.finding.severity, standing.finding.result), (Severity::Note, Reject));
}

#[test]
fn a_claim_of_repair_keeps_the_severity_it_had() {
    let mut bench = Bench::sound();
    let lighter = Reply { severity: Some(Severity::Note), ..Reply::plain("hose-look", Reject) };
    bench.reply(noted(lighter)).unwrap();
    assert_eq!(
        bench.say("hose-look", Repaired).unwrap().severity,
        Severity::Note,
        "the note was written once"
    );
}

#[test]
fn only_what_stands_open_can_be_weighed() {
    let mut bench = Bench::sound();
    bench.say("dust", Reject).unwrap();
    let record = bench.last_id();
    bench.say("dust", Accept).unwrap();
    let weigh = Action::Weigh { record, severity: Severity::Stop, note: None };
    assert_eq!(wants(bench.act(weigh)), Wants::Nothing, "an old answer does not come back by being weighed");
    assert_eq!(bench.standing("dust"), Some(Accept));
}

#[test]
fn not_seen_and_not_yet_are_open() {
    let mut bench = Bench::sound();
    for (check, result) in [("dust", NotSeen), ("boots", NotYet)] {
        bench.say(check, result).unwrap();
        assert!(bench.is_open(check), "{check}");
    }
    bench.say("pads", NotFitted).unwrap();
    assert!(!bench.is_open("pads"));
    assert_eq!(wants(bench.say("pads", Refused)), Wants::Result, "refused is the program's word");
}

#[test]
fn repaired_needs_an_open_finding_and_stays_open_until_a_fresh_accept() {
    let mut bench = Bench::sound();
    assert_eq!(wants(bench.say("dust", Repaired)), Wants::Result);
    bench.say("dust", Reject).unwrap();
    let reject = bench.last_id();
    bench.say("dust", Repaired).unwrap();
    assert!(bench.is_open("dust"));
    let open = bench.walk.history.standing_of("dust").unwrap();
    assert_eq!(open.before.map(|kept| kept.id.as_str()), Some(reject.as_str()));
    assert_eq!(wants(bench.say("dust", NotFitted)), Wants::Result, "a claim is closed by looking again");
    let finding = bench.say("dust", Accept).unwrap();
    assert_eq!(finding.closes.as_deref(), Some(reject.as_str()), "it closes by reference");
    assert!(!bench.is_open("dust"));
    assert_eq!(wants(bench.say("dust", Repaired)), Wants::Result, "nothing is open any more");
}

#[test]
fn a_reject_is_not_waved_away_as_not_fitted() {
    let mut bench = Bench::sound();
    bench.say("dust", Reject).unwrap();
    let reject = bench.last_id();
    assert_eq!(wants(bench.say("dust", NotFitted)), Wants::Note);
    let finding = bench.reply(noted(Reply::plain("dust", NotFitted))).unwrap();
    assert_eq!(finding.closes.as_deref(), Some(reject.as_str()));
}

#[test]
fn an_item_is_closed_by_an_accept_of_the_same_item() {
    let mut bench = Bench::sound();
    bench.reply(of("left-hose", Reply::plain("hose-look", Reject))).unwrap();
    let left = bench.last_id();
    bench.reply(of("right-hose", Reply::plain("hose-look", Reject))).unwrap();
    bench.reply(of("right-hose", Reply::plain("hose-look", Accept))).unwrap();
    let open: Vec<_> =
        bench.walk.history.open().iter().map(|standing| standing.of.map(str::to_owned)).collect();
    assert_eq!(open, [Some("left-hose".to_owned())]);
    bench.reply(of("left-hose", Reply::plain("hose-look", Repaired))).unwrap();
    let finding = bench.reply(of("left-hose", Reply::plain("hose-look", Accept))).unwrap();
    assert_eq!(finding.closes.as_deref(), Some(left.as_str()));
    assert!(!bench.is_open("hose-look"));
    let unknown = bench.reply(of("lefthose", Reply::plain("hose-look", Reject))).unwrap_err();
    assert!(unknown.message.ends_with("did you mean left-hose?"), "{unknown}");
}

#[test]
fn an_answer_without_an_item_holds_for_all_of_them() {
    let mut bench = Bench::sound();
    for hose in ["left-hose", "right-hose"] {
        bench.reply(of(hose, Reply::plain("hose-look", Reject))).unwrap();
    }
    bench.say("hose-look", Repaired).unwrap();
    let open = bench.walk.history.open();
    assert_eq!(open.len(), 2, "both items are claimed repaired, and there is no third one");
    assert!(open.iter().all(|standing| standing.finding.result == Repaired));
    drop(open);
    bench.say("hose-look", Accept).unwrap();
    assert!(!bench.is_open("hose-look"));
}

#[test]
fn one_open_item_is_meant_where_none_is_named() {
    let mut bench = Bench::sound();
    bench.reply(of("left-hose", Reply::plain("hose-look", Reject))).unwrap();
    assert_eq!(bench.say("hose-look", Repaired).unwrap().of.as_deref(), Some("left-hose"));
}

#[test]
fn a_persons_reject_is_not_pinned_on_the_item_a_number_names() {
    let mut bench = Bench::short();
    let finding = bench.say("hose-look", Reject).unwrap();
    assert_eq!(
        (finding.of, finding.verdict),
        (None, Some(Reject)),
        "there are two hoses, and nobody said which"
    );
}

#[test]
fn computed_rejects_at_the_end_never_supersede_a_persons_result() {
    let mut bench = Bench::short();
    bench.reply(noted(Reply::plain("hose-look", Accept))).unwrap();
    bench.act(Action::End).unwrap();
    assert_eq!(bench.standing("hose-look"), Some(Accept), "the person's accept stands");
    assert_eq!(bench.standing("hose-number"), Some(Reject), "the check that nobody answered does not pass");
    assert!(bench.walk.history.standing_of("hose-number").unwrap().finding.is_computed());
    let ended = matches!(bench.records().last().unwrap().entry, Entry::WalkEnded { .. });
    assert!(ended, "rejects by number come before the end");
}

#[test]
fn computed_rejects_leave_open_findings_and_old_insistence_alone() {
    let mut bench = Bench::short();
    bench.reply(of("right-hose", Reply::plain("hose-number", NotSeen))).unwrap();
    bench.reply(noted(Reply::plain("hose-look", Accept))).unwrap();
    bench.act(Action::End).unwrap();
    let count = bench.records().len();
    // The next walk, with nothing but the first checks answered.
    let history = bench.walk.history.clone();
    bench.walk = Walk::new(start(&short_car(), "owner"), history).unwrap();
    bench.say("pins", Accept).unwrap();
    bench.act(Action::End).unwrap();
    let new: Vec<_> = bench.records()[count..]
        .iter()
        .filter_map(|kept| match &kept.entry {
            Entry::Finding(finding) => Some(finding.check.as_str()),
            _ => None,
        })
        .collect();
    assert_eq!(new, ["pins"], "one is open, the other was accepted against its number");
}

#[test]
fn numbers_inside_their_limits_close_nothing_at_the_end() {
    let mut bench = Bench::sound();
    bench.act(Action::End).unwrap();
    assert_eq!(bench.standing("hose-number"), None, "not reached is not accepted");
    assert_eq!(bench.standing("bottle-date"), None);
}
