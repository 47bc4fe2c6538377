//! What the car file itself shows as wrong, and how sure a number has to be: an item like any other before anybody has
//! looked, which only a person's answer ends.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use linewalk::diagnostic::SourceFile;
use linewalk::model::entry::{Finding, Outcome, Severity};
use linewalk::model::history::{History, Standing, by_weight};
use linewalk::model::read_car;
use linewalk::numbers::{Answer, Input, Number, NumberValue, Quantity, quantity};
use linewalk::rules::{ComputeRow, OfFilter, RowWords, WordOrFlag, judge_compute};
use linewalk::source::Overrides;
use linewalk::tui::{draw, margin, number_lines};
use linewalk::units::{Kind, Units};
use linewalk::walk::{Action, Reply, Start, Walk, Wants, what_if};
use ratatui::Terminal;
use ratatui::backend::TestBackend;

use crate::bench::{Bench, CAR, noted, of, short_car, start};
use crate::screens::Script;
use crate::screens_workspace::TestWorkspace;
use crate::shipped::{repo_file, rules_of};

use Outcome::{Accept, NotFitted, NotSeen, NotYet, Reject, Undecided};

/// What the numbers of a walk reject and nobody has answered: check and item.
fn calculated(walk: &Walk) -> Vec<(String, String)> {
    walk.numbers();
    let open = walk.open();
    let calculated = open.iter().filter(|standing| standing.kept.seq == 0);
    calculated.map(|one| (one.finding.check.clone(), one.of.unwrap_or_default().to_owned())).collect()
}

fn counts(walk: &Walk, check: &str) -> usize {
    calculated(walk).iter().filter(|(known, _)| known == check).count()
}

/// The stops of one check, as the header counts them.
fn stops(walk: &Walk, check: &str) -> usize {
    walk.numbers();
    let open = walk.open();
    let of_check: Vec<&Standing<'_>> = open.iter().filter(|one| one.finding.check == check).collect();
    by_weight(of_check)[0]
}

#[test]
fn a_short_hose_is_open_before_anybody_looks() {
    let bench = Bench::short();
    assert!(calculated(&bench.walk).contains(&("hose-look".to_owned(), "right-hose".to_owned())));
    assert_eq!(calculated(&Bench::sound().walk), []);
}

/// Not seen, undecided, not yet: nobody has answered it. Only a reject, or an accept with its reason, takes its place.
#[test]
fn only_a_reject_or_an_accept_with_its_reason_takes_its_place() {
    for (result, left) in [(NotSeen, 1), (Undecided, 1), (NotYet, 1), (Reject, 0), (Accept, 0)] {
        let mut bench = Bench::short();
        let before = stops(&bench.walk, "hose-look");
        bench.reply(of("right-hose", noted(Reply::plain("hose-look", result)))).unwrap();
        assert_eq!(counts(&bench.walk, "hose-look"), left, "{result:?}");
        if left == 1 {
            assert_eq!(
                stops(&bench.walk, "hose-look"),
                before,
                "{result:?}: one stop, told twice, counts once"
            );
        }
    }
    let mut bench = Bench::short();
    let objection = bench.reply(of("right-hose", Reply::plain("hose-look", Accept))).unwrap_err();
    assert_eq!(objection.wants, Wants::Note);
}

#[test]
fn what_the_car_file_has_is_not_said_to_be_absent() {
    let mut bench = Bench::short();
    let reply = of("right-hose", noted(Reply::plain("hose-look", NotFitted)));
    let objection = bench.reply(reply).unwrap_err();
    assert_eq!(objection.wants, Wants::Nothing);
    assert!(objection.message.contains("mend the file"), "{objection}");
    assert_eq!(counts(&bench.walk, "hose-look"), 1);
    // Where its number is inside, a person may say so.
    Bench::sound().reply(of("right-hose", noted(Reply::plain("hose-look", NotFitted)))).unwrap();
}

#[test]
fn nothing_accepts_it_in_passing() {
    let mut bench = Bench::short();
    let station = bench.walk.start.rules.check("hose-look").unwrap().station.clone();
    let _ = bench.act(Action::AcceptStation(station));
    assert_eq!(counts(&bench.walk, "hose-look"), 1);
}

/// The same record under a car or rules that were changed since.
fn again(bench: &Bench, car: &str, change: impl FnOnce(&mut ComputeRow)) -> Walk {
    let mut start = start(car, "owner");
    let mut rules = (*start.rules).clone();
    let check = rules.checks.iter_mut().find(|check| check.id == "hose-look").unwrap();
    change(&mut check.compute[0]);
    start.rules = rules.into();
    Walk::new(start, History::fold(bench.records().iter().cloned())).unwrap()
}

#[test]
fn another_value_or_another_limit_ends_the_acceptance() {
    let mut bench = Bench::short();
    bench.reply(of("right-hose", noted(Reply::plain("hose-look", Accept)))).unwrap();
    let same = again(&bench, &short_car(), |_| {});
    assert_eq!(counts(&same, "hose-look"), 0, "nothing changed");
    let shorter = short_car().replace("length = \"12.2 in\"", "length = \"12.1 in\"");
    assert_eq!(counts(&again(&bench, &shorter, |_| {}), "hose-look"), 1, "a shorter hose");
    let tighter = |row: &mut ComputeRow| row.min.as_mut().unwrap().si += 0.01;
    assert_eq!(counts(&again(&bench, &short_car(), tighter), "hose-look"), 1, "a tighter limit");
}

/// A reject that only a number made, and a walk kept at its end, goes with the number; one that a person made stays, and so
/// does one whose limit was changed or whose number is not worked out any more.
#[test]
fn a_kept_reject_by_number_goes_when_the_file_is_mended() {
    let mut bench = Bench::short();
    bench.act(Action::End).unwrap();
    assert_eq!(stops(&bench.walk, "hose-look"), 1, "kept, and counted once");
    assert_eq!(stops(&again(&bench, &short_car(), |_| {}), "hose-look"), 1, "nothing changed");
    let mended = again(&bench, CAR, |_| {});
    assert_eq!(stops(&mended, "hose-look"), 0, "the hose has its length now");
    let looser = |row: &mut ComputeRow| row.min.as_mut().unwrap().si -= 0.5;
    assert_eq!(stops(&again(&bench, &short_car(), looser), "hose-look"), 1, "a looser limit closes nothing");
    let unknown = short_car().replace("length = \"12.2 in\"", "");
    assert_eq!(
        stops(&again(&bench, &unknown, |_| {}), "hose-look"),
        1,
        "nothing is known of the hose any more"
    );

    let mut seen = Bench::short();
    seen.say("hose-look", Reject).unwrap();
    assert_eq!(stops(&again(&seen, CAR, |_| {}), "hose-look"), 1, "a person said it");
}

/// A check that a rule file took away is still open, and a person can still answer it.
#[test]
fn an_item_whose_check_is_gone_can_be_answered() {
    let mut bench = Bench::sound();
    bench.say("gap-look", Reject).unwrap_or_else(|_| bench.say("hose-look", Reject).unwrap());
    let id = bench.walk.history.open()[0].finding.check.clone();
    let mut start = start(CAR, "owner");
    let mut rules = (*start.rules).clone();
    rules.checks.retain(|check| check.id != id);
    start.rules = rules.into();
    bench.walk = Walk::new(start, History::fold(bench.records().iter().cloned())).unwrap();
    assert_eq!(bench.walk.why_not_asked(&id).as_deref(), Some("these rules do not have it"));
    let valued = Reply { by_eye: true, ..Reply::plain(&id, Accept) };
    assert_eq!(bench.reply(valued).unwrap_err().wants, Wants::Nothing, "there is no value to judge");
    let finding: Finding = bench.say(&id, Accept).unwrap();
    assert!(finding.closes.is_some() && finding.verdict.is_none());
    assert!(!bench.is_open(&id));
    assert_eq!(bench.say(&id, Accept).unwrap_err().wants, Wants::Nothing, "nothing of it is open any more");
}

static WORD: &str = "brake.locks_first";

fn word(known: &'static Quantity, value: NumberValue, samples: &[f64]) -> Number {
    let mut number = Number::given(known, value);
    number.samples = samples.into();
    number
}

/// Of a hundred cases: 98 alike decide, 97 do not, and 2 of the wanted word reject.
#[test]
fn a_word_decides_by_the_share_of_its_cases() {
    let locks = quantity(WORD).unwrap();
    let row = row(locks, WordOrFlag::Word("front".to_owned()));
    let cases = |alike: usize| -> Vec<f64> { (0..100).map(|at| f64::from(u8::from(at < alike))).collect() };
    let judged = |said: &str, alike| {
        judge_compute(&row, &word(locks, NumberValue::Word(said.to_owned()), &cases(alike)), Units::Us)
    };
    for (said, alike, wanted) in [
        ("front", 100, Accept),
        ("front", 98, Accept),
        ("front", 97, Undecided),
        ("front", 3, Undecided),
        ("rear", 98, Reject),
        ("rear", 97, Undecided),
    ] {
        assert_eq!(judged(said, alike).outcome, wanted, "{said} in {alike} of 100");
    }
    assert_eq!(judged("front", 70).chance, Some(0.7));
    assert_eq!(judged("rear", 70).chance, None, "the rest need not be the front");
    // Uncertain inputs that nothing was sampled of decide nothing; exact ones do.
    let mut number = word(locks, NumberValue::Word("front".to_owned()), &[]);
    assert_eq!(judge_compute(&row, &number, Units::Us).outcome, Accept);
    number.inputs.push(uncertain());
    assert_eq!(judge_compute(&row, &number, Units::Us).outcome, Undecided);
}

fn row(quantity: &'static Quantity, equals: WordOrFlag) -> ComputeRow {
    ComputeRow {
        words: RowWords::default(),
        id: String::new(),
        label: String::new(),
        quantity,
        of: OfFilter::All,
        min: None,
        max: None,
        aim_min: None,
        aim_max: None,
        equals: Some(equals),
        asks: Vec::new(),
        worked: Vec::new(),
    }
}

/// An input as a car file gives it with its spread.
fn uncertain() -> Input {
    let text = CAR.replacen("length = \"14 in\"", "length = \"14 in +/- 1 in\"", 1);
    let file = SourceFile::new("car.toml", text);
    let car = read_car(&file, &Overrides::new()).car;
    let situation =
        linewalk::numbers::Situation::new(&car, Default::default(), "2026-11-25".parse().unwrap());
    let answers = linewalk::numbers::work(quantity("hose.length_ratio").unwrap(), &situation);
    let inputs = answers.iter().filter_map(|one| one.number()).flat_map(|number| number.inputs.clone());
    inputs.into_iter().find(|input| input.kind == Kind::Length && input.half_width.is_some()).unwrap()
}

#[test]
fn a_hose_that_may_be_long_enough_is_undecided_and_no_open_item() {
    let text = short_car().replace("length = \"12.2 in\"", "length = \"12.2 in +/- 4 in\"");
    let bench = Bench::on(&text);
    assert_eq!(counts(&bench.walk, "hose-look"), 0);
    let hose = bench.walk.start.rules.check("hose-look").unwrap();
    let rows = bench.walk.evaluator().assess(hose, &Default::default(), None).rows;
    let right = rows.iter().find(|row| row.of.as_deref() == Some("right-hose")).unwrap();
    assert_eq!(right.judged.outcome, Undecided);
    assert!(right.judged.chance.is_some_and(|chance| chance > 0.0 && chance < 1.0));
    assert_eq!(hose.severity, Severity::Stop);
}

fn program(folder: &Path, args: &[&str]) -> Output {
    let root = env!("CARGO_MANIFEST_DIR");
    Command::new(env!("CARGO_BIN_EXE_linewalk"))
        .current_dir(root)
        .env("LINEWALK_DATA_DIR", folder.join("data"))
        .env("XDG_CONFIG_HOME", folder.join("config"))
        .env("HOME", folder)
        .args(args)
        .output()
        .unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// Curlew's file has the lines on each other's ports, and nobody has walked it.
#[test]
fn crossed_ports_stop_a_car_that_nobody_has_walked() {
    let folder = tempfile::tempdir().unwrap();
    let report = |kind: &str| {
        let car = "sample-cars/curlew.toml";
        program(folder.path(), &["report", car, "--profile", "owner", "--kind", kind])
    };
    for kind in ["deficiency", "fix-first", "slip"] {
        let output = report(kind);
        let said = said(&output);
        assert_eq!(output.status.code(), Some(1), "{kind}: {said}");
        let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains("STOP FT04") && flat.contains("nobody has looked yet"), "{kind}: {said}");
    }
    let file = repo_file("sample-cars/curlew.toml");
    let mut script = Script::new(TestWorkspace::shipped(&file.text));
    script.text("27").press("<enter> <enter>");
    script.wait_for_numbers();
    script.app.resize(80, 24);
    assert!(script.screen(80, 24).contains("STOP 1"), "{}", script.screen(80, 24));
}

/// Nothing is said of a number before it is known, and no key that needs none waits for any.
#[test]
fn keys_go_on_while_numbers_are_worked() {
    let file = repo_file("sample-cars/bittern.toml");
    let mut script = Script::new(TestWorkspace::shipped(&file.text));
    script.app.resize(120, 40);
    let frame = |script: &Script| {
        let mut terminal = Terminal::new(TestBackend::new(120, 40)).unwrap();
        terminal.draw(|frame| draw(script.app.state(), script.app.theme(), frame)).unwrap();
        terminal.backend().to_string()
    };
    let waits = |script: &Script| script.app.state().walk.as_ref().unwrap().is_being_worked();
    script.text("1107").press("<enter> <enter> <enter> a");
    assert!(waits(&script), "an answer by look needs no number");
    assert!(frame(&script).contains("numbers being worked"));
    let plan = script.app.state().walk.as_ref().unwrap().plan.clone();
    let rules = script.app.state().walk.as_ref().unwrap().start.rules.clone();
    let needs = |id: &str| rules.check(id).unwrap().compute.iter().any(|row| row.judges());
    let steps = plan.steps.iter().skip(script.app.state().walk.as_ref().unwrap().at);
    let first = steps.take_while(|step| !needs(&step.check)).count();
    (0..first).for_each(|_| {
        script.press("<right>");
    });
    assert!(needs(&script.check()) && waits(&script));
    assert!(frame(&script).contains("being worked out"), "{}", frame(&script));
    script.wait_for_numbers();
    assert!(!waits(&script) && !frame(&script).contains("being worked"));
    let sheet = &script.app.state().sheet;
    assert!(!sheet.assessment.being_worked && !sheet.assessment.rows.is_empty());
}

/// An answer to a check with a number waits for it: what is kept is what the number says.
#[test]
fn an_answer_waits_for_the_number_it_is_held_to() {
    let file = repo_file("sample-cars/curlew.toml");
    let mut script = Script::new(TestWorkspace::shipped(&file.text));
    script.text("27").press("<enter> <enter> <enter> a a");
    let at = script.app.state().walk.as_ref().unwrap().plan.position("fw-master-port-assignment");
    let at = at.expect("the check of the ports is in the plan");
    let here = script.app.state().walk.as_ref().unwrap().at;
    (here..at).for_each(|_| {
        script.press("<right>");
    });
    assert!(script.app.state().walk.as_ref().unwrap().is_being_worked());
    script.press("a");
    assert!(script.shows("write why"), "an accept over a reject by number asks for the reason");
    assert!(script.findings().iter().all(|finding| finding.check != "fw-master-port-assignment"));
}

/// A club limits one hose. Every reader holds that hose to it, and no other.
#[test]
fn a_club_limit_on_one_hose_is_the_same_everywhere() {
    let folder = tempfile::tempdir().unwrap();
    let club = folder.path().join("club.toml");
    fs::write(&club, CLUB).unwrap();
    let (club, car) = (club.to_str().unwrap(), "sample-cars/heron.toml");
    let verdicts = |args: &[&str]| -> BTreeMap<String, String> {
        let output = program(folder.path(), args);
        let value: serde_json::Value = serde_json::from_str(&said(&output)).unwrap();
        let numbers = value["numbers"].as_array().unwrap().iter();
        let hoses = numbers.filter(|one| one["quantity"] == "hose.length_ratio");
        let pair = |one: &serde_json::Value| {
            let text = |key: &str| one[key].as_str().unwrap_or("none").to_owned();
            (text("of"), text("verdict"))
        };
        hoses.map(pair).collect()
    };
    let common = ["--rules", club, "--profile", "owner", "--format", "json"];
    let numbers = verdicts(&[&["numbers", car], &common[..]].concat());
    let report = verdicts(&[&["report", car, "--kind", "full"], &common[..]].concat());
    // By hand: 1.051 to 1.06 is under the club's 1.2 and over 1.05; 1.046 to 1.056 is on both sides of 1.05.
    let wanted = [("axle-hose", "undecided"), ("lf-hose", "reject"), ("rf-hose", "accept")];
    let wanted: BTreeMap<String, String> =
        wanted.iter().map(|(of, verdict)| ((*of).to_owned(), (*verdict).to_owned())).collect();
    assert_eq!(numbers, wanted, "numbers");
    assert_eq!(report, wanted, "report");

    let rules = rules_of(&[SourceFile::new("club.toml", CLUB)]).rules;
    let start = Start {
        car_file: repo_file(car),
        car: read_car(&repo_file(car), &Overrides::new()).car,
        rules,
        ..start(CAR, "owner")
    };
    let walk = Walk::new(start, History::default()).unwrap();
    let lines = number_lines(&walk);
    let tried = what_if(&walk, &[]).unwrap();
    let asked = walk.asked(&tried.car);
    for (at, answer) in walk.numbers().iter().enumerate() {
        let Some(wanted) = wanted.get(answer.of().unwrap_or_default()) else { continue };
        if answer.quantity() != "hose.length_ratio" {
            continue;
        }
        let screen = lines[at].margin.as_ref().map(|(outcome, _)| outcome.word());
        assert_eq!(screen, Some(wanted.as_str()), "the screen of {:?}", answer.of());
        let same = |one: &&Answer| one.quantity() == answer.quantity() && one.of() == answer.of();
        let tried_answer = tried.answers.iter().find(same).unwrap();
        let tried = margin(&walk, &asked, &tried.terms(), tried_answer).map(|(outcome, _)| outcome.word());
        assert_eq!(tried, Some(wanted.as_str()), "what if of {:?}", answer.of());
    }
}

const CLUB: &str = r#"format = 1
[ruleset]
id = "club"
title = "A club's limit on one hose"
edition = "1"
reviewed = 2026-11-01
review_every = "1 year"
extends = ["base"]
[[check]]
id = "club-lf-hose"
code = "LF60"
station = "left-front"
topic = "brake-lines"
title = "Left front hose a fifth longer than its reach"
accept = "It is."
reject = "It is not."
why = "The club says so."
remedy = "Fit a longer hose."
method = "compute"
severity = "stop"
profiles = ["owner", "scales"]
source = [{ for = "1.2", document = "invented club sheet", clause = "1", basis = "common-practice" }]
compute = { quantity = "hose.length_ratio", of = "lf-hose", min = 1.2 }
[[check.case]]
given = { value = "1.3" }
expect = "accept"
[[check.case]]
given = { value = "1.1" }
expect = "reject"
"#;

/// What failed says what is wrong, what to do and what it takes: the limit where one rejects, the check where a look does.
#[test]
fn the_limit_that_failed_says_what_is_wrong() {
    let mut bench = Bench::short();
    let mut rules = (*bench.walk.start.rules).clone();
    let check = rules.checks.iter_mut().find(|check| check.id == "hose-look").unwrap();
    check.fault = Some("Hose rubs".to_owned());
    check.compute[0].words = RowWords {
        fault: Some("Hose too short".to_owned()),
        brief: Some("too short".to_owned()),
        remedy: Some("Fit a longer hose.".to_owned()),
        parts: Some(vec!["longer hose".to_owned()]),
    };
    let check = check.clone();
    let told = |finding: &linewalk::model::entry::Finding| {
        let notes: Vec<&str> = finding.note.as_deref().into_iter().collect();
        let words = (
            check.fault_of(finding),
            check.remedy_of(finding, &notes),
            check.parts_of(finding, &notes).to_vec(),
        );
        (words.0.to_owned(), words.1.to_owned(), words.2)
    };
    let by_number =
        ("Hose too short".to_owned(), "Fit a longer hose.".to_owned(), vec!["longer hose".to_owned()]);
    bench.walk.start.rules = rules.into();
    // Before anybody looks, after a person rejected what the number rejects, and not where the number is fine.
    bench.walk.numbers();
    assert_eq!(told(bench.walk.open()[0].finding), by_number);
    let reply = |of_item: &str| of(of_item, Reply::plain("hose-look", Reject));
    let kept = bench.reply(reply("right-hose")).unwrap();
    assert_eq!(told(&kept), by_number);
    let seen = bench.reply(reply("left-hose")).unwrap();
    assert_eq!(seen.row, None);
    assert_eq!(told(&seen), ("Hose rubs".to_owned(), check.words.remedy.clone(), check.words.parts.clone()));
    assert_eq!([check.brief_of(&kept), check.brief_of(&seen)], ["too short", "Hose rubs"]);
    // A way to fail that was picked has a remedy of its own; words of a person's own have not.
    let way = linewalk::rules::RowWords {
        fault: Some("Hose chafed by the rim".to_owned()),
        remedy: Some("Turn the end fitting.".to_owned()),
        ..RowWords::default()
    };
    let with_ways = linewalk::rules::Check { causes: vec![way], ..check.clone() };
    assert_eq!(with_ways.remedy_of(&seen, &["Hose chafed by the rim"]), "Turn the end fitting.");
    assert!(with_ways.parts_of(&seen, &["Hose chafed by the rim"]).is_empty());
    assert_eq!(with_ways.remedy_of(&seen, &["chafed"]), check.words.remedy);
}
