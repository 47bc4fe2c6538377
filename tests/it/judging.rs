//! Which checks a car needs, which lap it walks, and what a value means against its limit.

use std::sync::Arc;

use linewalk::diagnostic::SourceFile;
use linewalk::model::entry::Outcome;
use linewalk::model::{Answer3, Car, Tag, read_car};
use linewalk::rules::{
    Applies, Check, Condition, DateRow, Judged, MeasureRow, Ruleset, Typed, applies, judge_count, judge_date,
    judge_measure, lap_for, load, worst,
};
use linewalk::source::Overrides;
use linewalk::units::{Kind, Span, Units, parse};

use crate::shipped::{day, shipped};

use Answer3::{No, Unknown, Yes};

fn car(facts: &str) -> Car {
    let text = format!("format = 1\n[car]\nid = \"car\"\nnumber = \"1\"\n{facts}");
    let read = read_car(&SourceFile::new("car.toml", text), &Overrides::new());
    assert!(read.diagnostics.is_empty(), "{:?}", read.diagnostics);
    Arc::unwrap_or_clone(read.car)
}

/// Rules with one check that has this `when` and `unless`.
fn asking(condition: &str) -> Ruleset {
    let ground = SourceFile::new("ground.toml", include_str!("../bad/rules/ground.toml"));
    let text = format!(
        "format = 1\n[ruleset]\nid = \"c\"\ntitle = \"c\"\nedition = \"1\"\nreviewed = 2026-11-01\n\
         review_every = \"1 year\"\nextends = [\"ground\"]\n[[check]]\nid = \"hose-gap\"\nreason = \"ours\"\n{condition}\n"
    );
    let loaded = load(&[SourceFile::new("c.toml", text)], &|_, _| Some(Arc::clone(&ground)));
    assert!(loaded.diagnostics.is_empty(), "{:?}", loaded.diagnostics);
    Arc::unwrap_or_clone(loaded.rules)
}

fn check(rules: &Ruleset) -> &Check {
    rules.check("hose-gap").unwrap()
}

#[test]
fn three_values_follow_kleene() {
    // S. C. Kleene, Introduction to Metamathematics, §64: the strong tables of "and", "or" and "not".
    let all = [Yes, No, Unknown];
    let and = [[Yes, No, Unknown], [No, No, No], [Unknown, No, Unknown]];
    let or = [[Yes, Yes, Yes], [Yes, No, Unknown], [Yes, Unknown, Unknown]];
    for (a, first) in all.into_iter().enumerate() {
        for (b, second) in all.into_iter().enumerate() {
            assert_eq!(first.and(second), and[a][b], "{first:?} and {second:?}");
            assert_eq!(first.or(second), or[a][b], "{first:?} or {second:?}");
        }
    }
    assert_eq!(all.map(Answer3::not), [No, Yes, Unknown]);
}

#[test]
fn a_check_is_left_out_only_where_that_is_certain() {
    let cases = [
        // condition, facts, asked for certain / perhaps / not
        ("when = { all = [\"line-lock\"] }", "equipment = [\"line-lock\"]", Yes),
        ("when = { all = [\"line-lock\"] }", "without = [\"line-lock\"]", No),
        ("when = { all = [\"line-lock\"] }", "", Unknown),
        ("when = { all = [\"line-lock\", \"firewall\"] }", "equipment = [\"line-lock\"]", Unknown),
        ("when = { all = [\"line-lock\", \"firewall\"] }", "without = [\"firewall\"]", No),
        ("when = { equipment = [\"line-lock\", \"firewall\"] }", "equipment = [\"firewall\"]", Yes),
        ("when = { equipment = [\"line-lock\", \"firewall\"] }", "without = [\"firewall\"]", Unknown),
        (
            "when = { equipment = [\"line-lock\", \"firewall\"] }",
            "without = [\"firewall\", \"line-lock\"]",
            No,
        ),
        ("unless = { equipment = [\"booster\"] }", "equipment = [\"booster\"]", No),
        ("unless = { equipment = [\"booster\"] }", "without = [\"booster\"]", Yes),
        ("unless = { equipment = [\"booster\"] }", "", Unknown),
        ("when = { fuel = [\"methanol\"] }", "fuel = [\"petrol\", \"methanol\"]", Yes),
        ("when = { fuel = [\"methanol\"] }", "fuel = [\"petrol\"]", No),
        ("when = { fuel = [\"methanol\"] }", "", Unknown),
        ("when = { engine = [\"front\"], driver = [\"left\"] }", "engine = \"front\"", Unknown),
        ("when = { engine = [\"front\"], driver = [\"left\"] }", "engine = \"rear\"", No),
        ("when = { discipline = [\"hill-climb\"] }", "discipline = \"off-road\"", No),
        (
            "when = { all = [\"firewall\"] }\nunless = { fuel = [\"diesel\"] }",
            "equipment = [\"firewall\"]",
            Unknown,
        ),
        ("when = { all = [\"firewall\"] }\nunless = { fuel = [\"diesel\"] }", "without = [\"firewall\"]", No),
        ("when = { all = [\"firewall\"] }\nunless = { fuel = [\"diesel\"] }", "fuel = [\"diesel\"]", No),
    ];
    for (condition, facts, wanted) in cases {
        let rules = asking(condition);
        let got = applies(check(&rules), &car(facts));
        let kind = match &got {
            Applies::Yes => Yes,
            Applies::Unknown => Unknown,
            Applies::No(_) => No,
        };
        assert_eq!(kind, wanted, "{condition} of a car with {facts}");
        assert_eq!(got.is_asked(), wanted != No);
    }
}

#[test]
fn what_is_left_out_says_which_part_decided() {
    let rules = asking("when = { equipment = [\"line-lock\", \"firewall\"], fuel = [\"methanol\"] }");
    let reason = |facts| match applies(check(&rules), &car(facts)) {
        Applies::No(reason) => reason,
        other => panic!("{other:?}"),
    };
    assert_eq!(
        reason("equipment = [\"firewall\"]\nwithout = [\"line-lock\"]\nfuel = [\"petrol\"]"),
        "for cars with fuel methanol only",
        "a tag that it may lack is not the reason"
    );
    assert_eq!(
        reason("without = [\"line-lock\", \"firewall\"]"),
        "the car is without a line-lock or a firewall"
    );
    let rules = asking("unless = { equipment = [\"booster\"] }");
    match applies(check(&rules), &car("equipment = [\"booster\"]")) {
        Applies::No(reason) => assert_eq!(reason, "not asked of a car with a brake booster"),
        other => panic!("{other:?}"),
    }
}

#[test]
fn an_empty_condition_holds_for_every_car() {
    assert_eq!(Condition::default().holds(&car("")), Yes);
}

#[test]
fn the_rest_of_the_file_implies_tags() {
    let implied = [
        ("[[suppression.bottle]]\nid = \"b\"", Tag::Suppression),
        ("[[suppression.bottle]]\nid = \"a\"\n[[suppression.bottle]]\nid = \"b\"", Tag::SecondBottle),
        ("[[suppression.pull]]\nid = \"p\"", Tag::PullRelease),
        ("[[suppression.tee]]\nid = \"t\"", Tag::Tees),
        ("[[brakes.master]]\nid = \"m\"\nports = [{ id = \"A\" }, { id = \"B\" }]", Tag::TandemMaster),
        (
            "[[brakes.master]]\nid = \"m\"\nports = [{ id = \"A\" }]\n[[brakes.master]]\nid = \"n\"\nports = [{ id = \"B\" }]",
            Tag::BalanceBar,
        ),
        ("[[frame.tube]]\nid = \"t\"", Tag::FrameTubeLines),
        ("[[frame.sleeve]]\nid = \"s\"", Tag::FrameTubeLines),
        ("[[brakes.valve]]\nid = \"v\"\nkind = \"line-lock\"", Tag::LineLock),
        ("[[brakes.valve]]\nid = \"v\"\nkind = \"residual\"", Tag::ResidualValve),
        ("[[brakes.valve]]\nid = \"v\"\nkind = \"proportioning\"", Tag::ProportioningValve),
        ("[[electrics]]\nid = \"e\"\npart = \"pressure-sensor\"", Tag::PressureSensor),
        ("[[hand_held]]\nid = \"h\"", Tag::HandHeld),
    ];
    for (text, tag) in implied {
        assert_eq!(car(text).has(tag), Yes, "{text}");
        assert_eq!(car("").has(tag), Unknown, "{}", tag.word());
        assert_eq!(car(&format!("without = [\"{}\"]", tag.word())).has(tag), No);
    }
}

#[test]
fn the_lap_is_the_first_true_else_the_first_not_false_else_the_first() {
    let base = shipped("base").rules;
    let lap = |facts: &str| lap_for(&base, &car(facts)).unwrap().id.clone();
    assert_eq!(lap("engine = \"front\"\ndriver = \"left\""), "front-engine");
    assert_eq!(lap("engine = \"rear\"\ndriver = \"centre\""), "mid-rear-engine");
    assert_eq!(lap("engine = \"front\"\ndriver = \"right\""), "front-engine-driver-right");
    assert_eq!(lap(""), "front-engine", "a car that says nothing takes the first that may fit");
    assert_eq!(lap("engine = \"mid\""), "mid-rear-engine", "the first is certainly wrong, this one may fit");
    assert_eq!(lap("driver = \"right\""), "front-engine-driver-right");
    assert_eq!(lap("equipment = [\"body-lifts-off\"]"), "body-lifts-off", "true goes before perhaps");
    let none = "without = [\"body-lifts-off\"]\nengine = \"front\"\ndriver = \"left\"";
    let mut rules = Arc::unwrap_or_clone(Arc::clone(&base));
    rules.laps.retain(|lap| !lap.id.starts_with("front-engine"));
    assert_eq!(lap_for(&rules, &car(none)).unwrap().id, rules.laps[0].id, "all are false: the first");
}

fn span(text: &str) -> Span {
    parse(text, Kind::Span).unwrap().span.unwrap()
}

fn dated(every: Option<&str>, car_span: Option<&str>, date: &str, on: &str) -> Judged {
    let row = DateRow {
        words: linewalk::rules::RowWords::default(),
        id: String::new(),
        label: String::new(),
        field: "hand_held.serviced".to_owned(),
        every: every.map(span),
        warn: Some(span("30 days")),
    };
    judge_date(&row, day(date), car_span.map(span), day(on))
}

#[test]
fn months_are_added_and_the_day_is_clamped_to_the_months_end() {
    let cases = [
        ("1 month", "2026-01-31", "2026-02-28"),
        ("1 month", "2024-01-31", "2024-02-29"),
        ("6 months", "2026-08-31", "2027-02-28"),
        ("2 years", "2024-02-29", "2026-02-28"),
        ("4 years", "2024-02-29", "2028-02-29"),
        ("90 days", "2026-01-01", "2026-04-01"),
    ];
    for (every, date, due) in cases {
        let judged = dated(Some(every), None, date, due);
        assert_eq!(judged.outcome, Outcome::Accept, "{every} from {date}: 0 days is in date");
        assert!(judged.says.starts_with("due today"), "{}", judged.says);
        let after = day(due).succ_opt().unwrap().to_string();
        let judged = dated(Some(every), None, date, &after);
        assert_eq!(judged.outcome, Outcome::Reject, "{every} from {date}, a day late");
        assert!(judged.says.contains(&format!("ran out {due}, 1 day ago")), "{}", judged.says);
    }
}

#[test]
fn the_shorter_span_counts_and_it_is_said_whose() {
    let judged = dated(Some("2 years"), Some("1 year"), "2026-01-10", "2027-01-11");
    assert_eq!(judged.outcome, Outcome::Reject);
    assert!(judged.says.contains("the car file's span"), "{}", judged.says);
    let judged = dated(Some("1 year"), Some("2 years"), "2026-01-10", "2026-12-20");
    assert_eq!(judged.outcome, Outcome::Accept);
    assert!(judged.says.contains("the rule's span") && judged.short_of_aim, "{}", judged.says);
    assert!(!dated(Some("1 year"), None, "2026-01-10", "2026-11-01").short_of_aim, "70 days are no warning");
}

#[test]
fn a_date_to_come_is_rejected_and_one_without_a_span_refused() {
    assert_eq!(dated(Some("1 year"), None, "2026-11-26", "2026-11-25").outcome, Outcome::Reject);
    assert_eq!(dated(None, None, "2026-01-01", "2026-11-25").outcome, Outcome::Refused);
}

/// The base rules with a guarded least gap of 1/2 in.
fn guarded() -> (Arc<Ruleset>, MeasureRow) {
    let base = shipped("base").rules;
    let rules = asking("measure = { decision = \"guarded\", aim_min = \"3/4 in\" }");
    match &check(&rules).typed {
        Typed::Measure(rows) => (base, rows[0].clone()),
        other => panic!("{other:?}"),
    }
}

fn measured(text: &str, instrument: Option<&str>) -> Judged {
    let (base, row) = guarded();
    let parsed = parse(text, Kind::Length).unwrap();
    judge_measure(&base, &row, parsed.si, parsed.half_width, instrument, Units::Us)
}

#[test]
fn a_guarded_verdict_counts_the_instruments_accuracy() {
    // Rectangular, half-width a: the chance that the true value is over the limit L is (x + a − L) ÷ 2a.
    let tape = measured("0.487 in", Some("tape"));
    assert_eq!(tape.outcome, Outcome::Undecided);
    assert!((tape.chance.unwrap() - (0.487 + 0.0625 - 0.5) / 0.125).abs() < 1e-9, "{:?}", tape.chance);
    assert_eq!((tape.chance.unwrap() * 100.0).round(), 40.0);
    let remedy = tape.remedy.unwrap();
    assert!(remedy.starts_with("use a vernier: tape measure cannot tell 0.013 in here"), "{remedy}");
    for fine in ["caliper", "micrometer", "vernier"] {
        let judged = measured("0.487 in", Some(fine));
        assert_eq!((judged.outcome, judged.chance), (Outcome::Reject, Some(0.0)), "{fine}");
    }
    assert_eq!(measured("0.487 in", Some("rule")).outcome, Outcome::Undecided, "29 %");
}

#[test]
fn ninety_five_per_cent_accept_and_five_reject() {
    // With the tape 1 in 20 of the width ±1/16 in is 0.00625 in inside either end.
    assert_eq!(measured("0.5563 in", Some("tape")).outcome, Outcome::Accept);
    assert_eq!(measured("0.5561 in", Some("tape")).outcome, Outcome::Undecided);
    assert_eq!(measured("0.4439 in", Some("tape")).outcome, Outcome::Undecided);
    assert_eq!(measured("0.4437 in", Some("tape")).outcome, Outcome::Reject);
    assert_eq!(
        measured("0.487 in +/- 0.005 in", Some("tape")).outcome,
        Outcome::Reject,
        "what is stated beats the tool's"
    );
}

#[test]
fn an_instrument_that_cannot_measure_the_kind_gives_way_to_the_usual_one() {
    assert_eq!(
        measured("0.487 in", Some("multimeter")).outcome,
        Outcome::Undecided,
        "as with the row's tape"
    );
    assert_eq!(measured("0.487 in", None).outcome, Outcome::Undecided);
}

#[test]
fn between_limit_and_aim_is_accepted_and_noted() {
    let judged = measured("0.625 in", Some("vernier"));
    assert!(judged.outcome == Outcome::Accept && judged.short_of_aim);
    assert!(!measured("0.8 in", Some("vernier")).short_of_aim);
}

#[test]
fn a_simple_limit_includes_itself_in_any_unit() {
    let rules = asking("");
    let Typed::Measure(rows) = &check(&rules).typed else { panic!() };
    for (text, wanted) in [
        ("1/2 in", Outcome::Accept),
        ("12.7 mm", Outcome::Accept),
        ("0.5 in", Outcome::Accept),
        ("0.04166666666667 ft", Outcome::Accept),
        ("12.699 mm", Outcome::Reject),
        ("0.4999 in", Outcome::Reject),
    ] {
        let si = parse(text, Kind::Length).unwrap().si;
        assert_eq!(judge_measure(&rules, &rows[0], si, None, None, Units::Us).outcome, wanted, "{text}");
    }
}

#[test]
fn counts_and_the_worst_of_several() {
    let outcome = |count, min, max, equals| judge_count(count, min, max, equals).outcome;
    assert_eq!(outcome(2, Some(2), Some(4), None), Outcome::Accept);
    assert_eq!(outcome(5, Some(2), Some(4), None), Outcome::Reject);
    assert_eq!(outcome(1, Some(1), None, Some(2)), Outcome::Reject, "equals beats min");
    use Outcome::{Accept, Refused, Reject, Undecided};
    assert_eq!(worst([Accept, Refused, Undecided, Reject]), Some(Reject));
    assert_eq!(worst([Accept, Refused, Undecided]), Some(Undecided));
    assert_eq!(worst([Refused, Accept]), Some(Refused));
    assert_eq!(worst([Accept, Accept]), Some(Accept));
    assert_eq!(worst([]), None);
}
