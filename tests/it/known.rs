//! How values are known: what a file says of it, one draw for one assumption, and that a car of assumptions is neither accepted
//! nor rejected by number, while what was measured to be outside stays a reject.

use std::fs;
use std::sync::Arc;

use linewalk::diagnostic::{SourceFile, Weight, any_error};
use linewalk::model::entry::Outcome;
use linewalk::model::known::{Origin, Way};
use linewalk::model::{Car, read_car};
use linewalk::numbers::{Answer, Number, Readings, Situation};
use linewalk::rules::{Held, Ruleset, Terms, judge};
use linewalk::source::{Override, Overrides};
use linewalk::units::Units;

use crate::shipped::{day, shipped};

const CARS: [&str; 5] = ["heron", "bittern", "plover", "curlew", "dunlin"];

fn sample(name: &str) -> String {
    fs::read_to_string(format!("sample-cars/{name}.toml")).unwrap()
}

/// A sample car with what it says of how its values are known.
fn with_known(name: &str, known: &[(&str, &str)]) -> String {
    let entries = known.iter().map(|(path, origin)| format!("\"{path}\" = \"{origin}\"\n"));
    format!("{}\n[known]\n{}", sample(name), entries.collect::<String>())
}

fn numbers(text: &str, overrides: &Overrides) -> (Arc<Car>, Vec<Answer>) {
    let file = SourceFile::new("car.toml", text);
    let read = read_car(&file, overrides);
    assert!(!any_error(&read.diagnostics), "{:?}", read.diagnostics);
    let situation = Situation::new(&read.car, Readings::default(), day("2026-11-25"));
    let answers = shipped("base").rules.numbers_of(&file, overrides, &situation).to_vec();
    (Arc::clone(&read.car), answers)
}

fn number<'a>(answers: &'a [Answer], quantity: &str, of: &str) -> &'a Number {
    let found = answers.iter().filter_map(Answer::number);
    found.clone().find(|number| number.quantity == quantity && number.of == of).unwrap_or_else(|| {
        let all: Vec<String> = found.filter(|n| n.quantity == quantity).map(|n| n.of.clone()).collect();
        panic!("{quantity} of {of}: {all:?}")
    })
}

/// What every limit makes of one of a car's numbers.
fn judge_all<'r>(rules: &'r Ruleset, car: &Car, numbers: &[Answer], answer: &Answer) -> Vec<Held<'r>> {
    judge(rules.checks.iter(), &Terms { car, numbers, readings: &Readings::default() }, answer, Units::Us)
}

/// What the limits of rules make of every number: check, item, verdict, and whether it only looks wrong.
fn verdicts(rules: &Ruleset, text: &str, overrides: &Overrides) -> Vec<(String, String, Outcome, bool)> {
    let (car, answers) = numbers(text, overrides);
    let mut all = Vec::new();
    for answer in &answers {
        let held: Vec<Held<'_>> = judge_all(rules, &car, &answers, answer);
        all.extend(held.iter().filter(|held| held.judged.is_some()).map(|held| {
            let of = answer.of().unwrap_or_default().to_owned();
            (format!("{} {}", held.check.id, answer.quantity()), of, held.outcome(), held.looks_wrong())
        }));
    }
    all
}

const ALL_LAYOUT: [(&str, &str); 4] = [
    ("car", "layout front-two-rear"),
    ("frame", "layout front-two-rear"),
    ("brakes", "layout front-two-rear"),
    ("suppression", "layout front-two-rear"),
];

#[test]
fn an_origin_reads_as_it_is_written() {
    for (text, way) in [
        ("tape, 2026-11-30, R.N.", Way::Measured("tape".to_owned())),
        ("label, 2026-11-30, R.N.", Way::Label),
        ("layout front-two-rear", Way::Layout("front-two-rear".to_owned())),
        ("trade medium", Way::Trade("medium".to_owned())),
        ("seen, 2026-11-30, R.N.", Way::Seen),
        ("guess", Way::Guess),
        ("planned", Way::Planned),
        ("counted, sure", Way::Counted),
    ] {
        let origin = Origin::read(text).unwrap();
        assert_eq!((origin.way.clone(), origin.text()), (way, text.to_owned()));
    }
    for (text, said) in [
        ("lable", "did you mean label?"),
        ("", "not said"),
        ("by eye?", "takes no name"),
        ("label x", "takes no name"),
    ] {
        let (message, help) = Origin::read(text).unwrap_err();
        assert!(format!("{message}; {help}").contains(said), "{text}: {message}; {help}");
    }
}

#[test]
fn the_longest_path_holds_and_a_look_at_a_part_measures_nothing() {
    let known = [
        ("suppression", "layout x"),
        ("suppression.line.main", "seen, 2026-11-30, R.N."),
        ("suppression.line.main.support_gap", "tape, 2026-11-30"),
    ];
    let text = with_known("heron", &known);
    let car = read_car(&SourceFile::new("car.toml", text), &Overrides::new()).car;
    let way = |path: &str| car.known.of(path).map(|origin| origin.way.word());
    let word = |path: &str| car.known.of_word(path).map(|origin| origin.way.word());
    assert_eq!(way("suppression.line.main.support_gap").as_deref(), Some("tape"));
    assert_eq!(way("suppression.line.main.tube.od").as_deref(), Some("layout x"));
    assert_eq!(word("suppression.line.main.tube.material").as_deref(), Some("seen"));
    assert_eq!(word("suppression.line.mainx.to").as_deref(), Some("layout x"));
    assert_eq!(way("brakes.pedal_ratio"), None);
}

#[test]
fn what_cannot_be_read_there_is_a_guess_and_locks_nothing() {
    let known = [
        ("brakes.pedal_ratio", "lable"),
        ("brakes.pedal_ration", "tape"),
        ("suppression.line.main", "guess"),
    ];
    let read = read_car(&SourceFile::new("car.toml", with_known("heron", &known)), &Overrides::new());
    assert!(!any_error(&read.diagnostics));
    let said: Vec<String> =
        read.diagnostics.iter().map(|one| format!("{} ({})", one.message, one.help)).collect();
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(read.diagnostics.iter().all(|one| one.weight == Weight::Warning));
    assert!(said[0].contains("did you mean label?") && said[0].contains("counts as a guess"), "{said:?}");
    assert!(said[1].contains("brakes.pedal_ration names nothing"), "{said:?}");
    assert!(read.car.known.of("brakes.pedal_ratio").unwrap().way.is_assumed());
}

#[test]
fn a_file_that_says_nothing_of_it_means_what_it_meant() {
    for name in CARS {
        let plain = sample(name);
        let said = with_known(
            name,
            &[("car", "typed"), ("brakes", "typed"), ("suppression", "tape, 2026-11-30"), ("frame", "label")],
        );
        let (_, one) = numbers(&plain, &Overrides::new());
        let (_, other) = numbers(&said, &Overrides::new());
        for (one, other) in one.iter().zip(&other) {
            let values = |answer: &Answer| {
                answer.number().map(|n| (n.value.clone(), n.low, n.high, n.assumed.clone()))
            };
            assert_eq!(values(one), values(other), "{name}: {} {:?}", one.quantity(), one.of());
        }
    }
}

#[test]
fn a_car_of_assumptions_is_neither_accepted_nor_rejected_by_number() {
    let rules = shipped("base").rules;
    for name in CARS {
        let (mut judged, mut decided) = (0, Vec::new());
        for one in verdicts(&rules, &with_known(name, &ALL_LAYOUT), &Overrides::new()) {
            judged += 1;
            if matches!(one.2, Outcome::Accept | Outcome::Reject) {
                decided.push(one);
            }
        }
        println!("{name}: {judged} verdicts over assumptions, {} decided", decided.len());
        assert!(judged > 10, "{name}: {judged}");
        assert_eq!(decided, [], "{name}");
    }
}

/// Every reject of the sample cars, when only what it does not rest on is assumed.
#[test]
fn a_measured_stop_is_never_hidden() {
    let rules = shipped("base").rules;
    let mut kept = 0;
    for name in CARS {
        let (car, answers) = numbers(&sample(name), &Overrides::new());
        for answer in &answers {
            let Some(number) = answer.number() else { continue };
            let rejects = judge_all(&rules, &car, &answers, answer)
                .iter()
                .any(|held| held.outcome() == Outcome::Reject);
            if !rejects {
                continue;
            }
            // All else is assumed; what this number rests on is measured.
            let mut known: Vec<(String, String)> =
                ALL_LAYOUT.map(|(path, way)| (path.to_owned(), way.to_owned())).into();
            let own = number.inputs.iter().map(|input| input.path.clone());
            for path in own.chain(number.others.iter().map(|(path, _)| path.clone())) {
                known.push((path.clone(), "tape, 2026-11-30, R.N.".to_owned()));
                if let Some(id) =
                    path.strip_prefix("suppression.line.").and_then(|rest| rest.split('.').next())
                {
                    for end in ["from", "to", "path"] {
                        known.push((format!("suppression.line.{id}.{end}"), "seen".to_owned()));
                    }
                }
            }
            known.sort();
            known.dedup();
            let known: Vec<(&str, &str)> =
                known.iter().map(|(path, way)| (path.as_str(), way.as_str())).collect();
            let text = with_known(name, &known);
            let (car, answers) = numbers(&text, &Overrides::new());
            let same = answers
                .iter()
                .find(|one| one.quantity() == answer.quantity() && one.of() == answer.of())
                .unwrap();
            let held = judge_all(&rules, &car, &answers, same);
            assert!(
                held.iter().any(|held| held.outcome() == Outcome::Reject),
                "{name}: {} {:?}: {:?}",
                same.quantity(),
                same.of(),
                held.first().map(|held| held.judged.clone())
            );
            kept += 1;
        }
    }
    println!("{kept} rejects of 5 cars stay rejects where only what they do not rest on is assumed");
    assert!(kept >= 5, "{kept}");
}

/// Bittern's tall bracket: offset and bolts are what its load comes from.
#[test]
fn a_reject_by_assumed_values_says_where_to_measure_and_a_measurement_makes_it_a_reject_again() {
    let rules = shipped("base").rules;
    let all = |known: &[(&str, &str)], overrides: &Overrides| {
        let text =
            with_known("bittern", known).replace("offset = \"7 1/2 in\"", "offset = \"7 1/2 in +/- 1 in\"");
        let found = verdicts(&rules, &text, overrides);
        let own = found.into_iter().filter(|(check, of, ..)| of == "b-tail" && check.contains("mount"));
        own.map(|(check, _, outcome, wrong)| (check, outcome, wrong)).collect::<Vec<_>>()
    };
    let measured = all(&[], &Overrides::new());
    let rejected: Vec<&str> =
        measured.iter().filter(|one| one.1 == Outcome::Reject).map(|one| one.0.as_str()).collect();
    assert!(!rejected.is_empty(), "{measured:?}");
    let known = [("suppression.bottle.b-tail.mount.offset", "guess")];
    let guessed = all(&known, &Overrides::new());
    for (check, outcome, wrong) in guessed.iter().filter(|one| rejected.contains(&one.0.as_str())) {
        assert_eq!((*outcome, *wrong), (Outcome::Undecided, true), "{check}");
    }
    // Measured since: what stands in for the file's value is no guess.
    let file = SourceFile::new("reading", "7.5 in");
    let at = linewalk::diagnostic::Place { file, range: 0..0 };
    let reading = Override::Typed("7.5 in +/- 1/16 in".to_owned(), at);
    let overrides = Overrides::from([("suppression.bottle.b-tail.mount.offset".to_owned(), reading)]);
    let again = all(&known, &overrides);
    for (check, outcome, wrong) in again.iter().filter(|one| rejected.contains(&one.0.as_str())) {
        assert_eq!((*outcome, *wrong), (Outcome::Reject, false), "{check}");
    }
}

#[test]
fn an_assumption_too_small_to_matter_leaves_a_reject() {
    let rules = shipped("base").rules;
    let text = |spread: &str| {
        with_known("bittern", &[("suppression.bottle.b-tail.mount.offset", "guess")])
            .replace("offset = \"7 1/2 in\"", &format!("offset = \"7 1/2 in +/- {spread}\""))
            .replace("gross_mass = \"24.5 lb\"", "gross_mass = \"24.5 lb +/- 1 lb\"")
    };
    let rejects = |spread: &str| {
        let found = verdicts(&rules, &text(spread), &Overrides::new());
        found
            .iter()
            .filter(|one| one.1 == "b-tail" && one.2 == Outcome::Reject && one.0.contains("mount"))
            .count()
    };
    let shares: Vec<f64> = ["1 in", "0.01 in"]
        .iter()
        .flat_map(|spread| {
            let (_, answers) = numbers(&text(spread), &Overrides::new());
            let own: Vec<f64> = answers
                .iter()
                .filter_map(Answer::number)
                .filter(|number| number.of == "b-tail" && number.quantity.starts_with("mount"))
                .filter_map(|number| number.guessed.as_ref().map(|(share, _)| *share))
                .collect();
            own
        })
        .collect();
    println!("shares of the assumed offset: {shares:?}");
    assert_eq!(rejects("1 in"), 0);
    assert!(rejects("0.01 in") > 0);
}

#[test]
fn an_assumed_word_count_or_joint_decides_nothing_until_it_is_seen() {
    let rules = shipped("base").rules;
    let heron = |known: &[(&str, &str)]| verdicts(&rules, &with_known("heron", known), &Overrides::new());
    let decided = |all: &[(String, String, Outcome, bool)], of: &str| {
        let own = all.iter().filter(|one| one.1 == of && one.0.contains("tube_margin"));
        own.filter(|one| matches!(one.2, Outcome::Accept | Outcome::Reject)).count()
    };
    let (plain, assumed) = (heron(&[]), heron(&[("brakes.line.rear-run.tube.material", "layout x")]));
    let seen = heron(&[
        ("brakes.line.rear-run.tube", "layout x"),
        ("brakes.line.rear-run.tube.od", "typed"),
        ("brakes.line.rear-run.tube.wall", "typed"),
        ("brakes.line.rear-run.tube.material", "seen, 2026-11-30, R.N."),
    ]);
    assert!(decided(&plain, "rear-run") > 0);
    assert_eq!(decided(&assumed, "rear-run"), 0);
    assert_eq!(decided(&seen, "rear-run"), decided(&plain, "rear-run"));
    // A joint: which tee the line goes to.
    let (_, answers) =
        numbers(&with_known("heron", &[("suppression.line.main.to", "layout x")]), &Overrides::new());
    let share = number(&answers, "discharge.fair_ratio", "engine-left");
    assert_eq!(share.unseen, ["suppression.line.main.to"]);
    let hose = number(&answers, "nozzle.flexible_length", "engine-left");
    assert_eq!(hose.unseen, ["suppression.line.main.to"]);
    // A count: the pistons of a caliper.
    let (_, answers) =
        numbers(&with_known("heron", &[("brakes.wheel_brake.LF.pistons", "guess")]), &Overrides::new());
    let stroke = answers
        .iter()
        .filter_map(Answer::number)
        .find(|number| number.quantity == "brake.front_share")
        .unwrap();
    assert!(stroke.unseen.contains(&"brakes.wheel_brake.LF.pistons".to_owned()), "{:?}", stroke.unseen);
}

/// Four pads of one friction leave the share of the front axle exactly where it is; drawn apart they would not.
#[test]
fn one_assumption_is_one_draw_for_like_parts() {
    let text = |known: &[(&str, &str)]| {
        with_known("heron", known).replace("pad_friction = 0.42", "pad_friction = \"0.42 +/- 0.08\"")
    };
    let pads = ["LF", "RF", "LR", "RR"].map(|id| format!("brakes.wheel_brake.{id}.pad_friction"));
    let (_, typed) = numbers(&text(&[]), &Overrides::new());
    let known: Vec<(&str, &str)> = pads.iter().map(|pad| (pad.as_str(), "trade medium")).collect();
    let (_, shared) = numbers(&text(&known), &Overrides::new());
    let width = |answers: &[Answer], quantity: &str| {
        let number = answers
            .iter()
            .filter_map(Answer::number)
            .find(|one| one.quantity == quantity && one.of != "rear")
            .unwrap();
        (number.si().unwrap(), number.low.unwrap(), number.high.unwrap())
    };
    let (value, low, high) = width(&typed, "brake.front_share");
    println!("front share, pads drawn apart: {value} {low} {high}");
    assert!(high - low > 0.03);
    let (value, low, high) = width(&shared, "brake.front_share");
    println!("front share, one draw: {value} {low} {high}");
    assert!((high - low).abs() < 1e-9 * value);
    // The deceleration by one axle at one pedal force goes with the friction: the middle 95 % of 0.34 to 0.50 is 0.344 to 0.496.
    let (value, low, high) = width(&shared, "brake.decel_one_failed");
    println!("deceleration, one draw: {value} {low} {high}");
    let by_hand = [0.344 / 0.42, 0.496 / 0.42].map(|share| share * value);
    assert!((low / by_hand[0] - 1.0).abs() < 0.01 && (high / by_hand[1] - 1.0).abs() < 0.01, "{by_hand:?}");
}

/// Ends within 2 in of their places: the square root of two more or less in every reach, by hand.
#[test]
fn points_within_so_much_make_lengths_uncertain() {
    let text = sample("heron")
        .replace("id = \"lf-hose\"\n", "id = \"lf-hose\"\nwithin = \"1/2 in\"\n")
        .replace("id = \"main\"\nfrom", "id = \"main\"\nwithin = \"3 in\"\nfrom");
    let (_, plain) = numbers(&sample("heron"), &Overrides::new());
    let (_, loose) = numbers(&text, &Overrides::new());
    let inch = 0.0254;
    // Three legs: 3 in x sqrt(2 x 3), of which the middle 95 %.
    let half = 3.0 * 6.0_f64.sqrt() * inch * 0.95;
    let main = number(&loose, "line.length", "main");
    let (value, low, high) = (main.si().unwrap(), main.low.unwrap(), main.high.unwrap());
    assert!(((high - low) / 2.0 / half - 1.0).abs() < 0.01, "{low} {value} {high}, {half}");
    let width = |answers: &[Answer]| {
        let slack = number(answers, "hose.slack", "lf-hose");
        slack.high.unwrap() - slack.low.unwrap()
    };
    println!("hose slack: band {} m, within 1/2 in {} m", width(&plain), width(&loose));
    assert!(width(&loose) > 0.9 * 2.0 * 0.95 * 0.5 * 2.0_f64.sqrt() * inch);
}
