//! Limits of worked-out numbers that are worked out themselves: value and limit in the same draws.

use std::sync::Arc;

use linewalk::diagnostic::SourceFile;
use linewalk::model::entry::Outcome;
use linewalk::model::read_car;
use linewalk::numbers::{Answer, Readings, Situation, split_readings};
use linewalk::rules::{Held, Ruleset, Terms, judge, run_cases};
use linewalk::source::Overrides;
use linewalk::units::Units;

use crate::near::near;
use crate::numbers_rig::{RIG, inches};
use crate::shipped::{day, rules_of};

/// Rules of one check with these rows.
fn rules(rows: &str) -> Ruleset {
    let loaded = rules_of(&[SourceFile::new("club.toml", with(rows))]);
    let errors: Vec<String> = loaded.diagnostics.iter().map(|one| one.message.clone()).collect();
    assert!(errors.is_empty(), "{errors:#?}");
    Arc::unwrap_or_clone(loaded.rules)
}

fn with(rows: &str) -> String {
    let ground = include_str!("../bad/rules/ground.toml");
    format!(
        "{ground}\n[[check]]\nid = \"club-pull\"\ncode = \"TL61\"\nstation = \"tail\"\ntopic = \"brake-lines\"\nseverity = \"stop\"\n\
         title = \"Pull works the valve\"\naccept = \"It does.\"\nreject = \"It does not.\"\nwhy = \"It has to.\"\n\
         method = \"compute\"\nremedy = \"Mend it.\"\n\
         source = [{{ for = \"limit\", basis = \"common-practice\" }}]\n{rows}\n"
    )
}

struct Judged {
    outcome: Outcome,
    chance: Option<f64>,
    remedy: Option<String>,
    limit: String,
    low: f64,
    high: f64,
}

/// What the one limit makes of one number of the rig with some of its text replaced.
fn judged(row: &str, changes: &[(&str, &str)], readings: &[(&str, &str)], of: &str) -> Judged {
    let mut text = RIG.to_owned();
    for (old, new) in changes {
        assert!(text.contains(old), "{old}");
        text = text.replace(old, new);
    }
    let (rules, file) = (rules(row), SourceFile::new("car.toml", text));
    let read = read_car(&file, &Overrides::new());
    let mut values = Readings::default();
    split_readings(readings.iter().copied()).unwrap().apply(&mut values);
    let situation = Situation::new(&read.car, values, day("2026-11-25"));
    let numbers = rules.numbers_of(&file, &Overrides::new(), &situation);
    let terms = Terms { car: &read.car, numbers: &numbers, readings: &situation.readings };
    let check = rules.check("club-pull").unwrap();
    let known = check.compute[0].quantity.id;
    let mine = |answer: &&Answer| answer.quantity() == known && answer.of() == Some(of);
    let answer = numbers.iter().find(mine).unwrap();
    let held: Vec<Held<'_>> = judge([check], &terms, answer, Units::Us);
    let one = held[0].judged.clone().unwrap();
    let number = answer.number().unwrap();
    Judged {
        outcome: one.outcome,
        chance: one.chance,
        remedy: one.remedy,
        limit: held[0].row.limit(Units::Us, Some((&terms, of))).unwrap(),
        low: number.low.unwrap_or(f64::NAN),
        high: number.high.unwrap_or(f64::NAN),
    }
}

/// Handle 2.5 +/- 0.5 in, valve 0.75 in, slack 1/4 in, no stretch: 1.5 in left, +/- 0.5 in with the handle.
const LOOSE: [(&str, &str); 2] = [
    ("handle_travel = \"2.5 in\"", "stretch = \"0 %\"\nhandle_travel = \"2.5 in +/- 0.5 in\""),
    ("slack = \"1/4 in\"", "slack = \"1/4 in +/- 0 in\""),
];

fn least(expression: &str) -> String {
    format!("compute = {{ quantity = \"pull.travel_left\", of = \"*\", min = \"{expression}\" }}")
}

#[test]
fn one_unknown_that_moves_value_and_limit_does_not_stand_between_them() {
    // What is left is the handle less 1 in; over half of the handle by half of it less 1 in: 0.25 in, +/- 0.25 in at the
    // very ends and 0.2375 in over the middle 95 %, so that it is inside, though what is left may be 1.02 to 1.98 in and
    // the limit 1.01 to 1.49 in.
    let half = judged(&least("0.5 * suppression.pull.handle_travel"), &LOOSE, &[], "pull");
    assert_eq!(half.outcome, Outcome::Accept, "{}", half.limit);
    assert!(half.low < inches(1.49) && half.high > inches(1.01), "the ranges overlap");
    // 0.625 of the handle: 0.375 (handle) - 1 in, -0.0625 in with the handle as given and 0.125 in at its longest. Inside in
    // the share of cases where the handle is over 2.6667 in: a third.
    let more = judged(&least("0.625 * suppression.pull.handle_travel"), &LOOSE, &[], "pull");
    assert_eq!(more.outcome, Outcome::Undecided);
    near(more.chance.unwrap(), 1.0 / 3.0, 1.0 / 256.0, "an even variable over 2 to 3 in, above 2.6667 in");
    // 0.75 of the handle: at its longest 0.25 in short.
    let most = judged(&least("0.75 * suppression.pull.handle_travel"), &LOOSE, &[], "pull");
    assert_eq!(most.outcome, Outcome::Reject);
    assert_eq!(most.limit, "at least 1.875 in, 0.75 times the handle travel");
}

#[test]
fn another_number_as_a_limit_is_drawn_with_its_own_inputs() {
    // Force at the handle against what the driver may: friction moves only the value, so both ends count in full.
    let row =
        "compute = { quantity = \"pull.travel_left\", of = \"*\", max = \"pull.travel_left + '1 in'\" }";
    let loaded = rules_of(&[SourceFile::new("club.toml", with(row))]);
    let said = &loaded.diagnostics[0];
    assert_eq!(said.message, "pull.travel_left is held to a limit that is worked out of itself");
    // Torque of a wheel against a pressure times a volume: Pa m3 is N m. Torque goes with the pressure of its circuit, and
    // the pedal force moves both alike: the ratio of the two is sure, though each may be 20 % off.
    let torque = |share: f64| {
        format!(
            "compute = {{ quantity = \"brake.torque\", of = \"LF\", max = \"brake.pressure * '{share} in3'\" }}"
        )
    };
    let soft = [("pedal_force = ", "pedal_force = \"100 lbf +/- 20 lbf\" #")];
    let exact = judged(&torque(1.0), &soft, &[], "LF");
    // Six pistons' worth by hand is not needed: the pressure cancels, and the limit that equals the torque is found by it.
    let ratio = ratio_of(&soft);
    assert_eq!(exact.outcome, Outcome::Reject);
    assert_eq!(judged(&torque(ratio * 1.001), &soft, &[], "LF").outcome, Outcome::Accept);
    assert_eq!(judged(&torque(ratio * 0.999), &soft, &[], "LF").outcome, Outcome::Reject);
}

/// Torque over pressure in in3, by the two numbers as given.
fn ratio_of(changes: &[(&str, &str)]) -> f64 {
    let mut text = RIG.to_owned();
    changes.iter().for_each(|(old, new)| text = text.replace(old, new));
    let file = SourceFile::new("car.toml", text);
    let read = read_car(&file, &Overrides::new());
    let situation = Situation::new(&read.car, Readings::default(), day("2026-11-25"));
    let value = |id: &str, of: &str| {
        let answers = linewalk::numbers::work(linewalk::numbers::quantity(id).unwrap(), &situation);
        answers.iter().find(|one| one.of() == Some(of)).unwrap().number().unwrap().si().unwrap()
    };
    value("brake.torque", "LF") / value("brake.pressure", "front") / inches(1.0).powi(3)
}

#[test]
fn a_missing_term_decides_only_where_every_value_of_it_would() {
    let silent = [
        ("handle_travel = \"2.5 in\"", "stretch = \"0 %\"\nhandle_travel = \"2.5 in\""),
        ("min_bend_radius = \"3 in\"", ""),
    ];
    let both = |fixed: &str| least(&format!("max('{fixed}', 0.1 * suppression.pull.min_bend_radius)"));
    let short = judged(&both("2 in"), &silent, &[], "pull");
    assert_eq!(short.outcome, Outcome::Reject, "under 2 in whatever the other term is");
    let open = judged(&both("1 in"), &silent, &[], "pull");
    assert_eq!(open.outcome, Outcome::Undecided);
    assert_eq!(open.remedy.unwrap(), "give suppression.pull.min_bend_radius, which the limit is worked from");
    assert!(open.limit.ends_with("which cannot be worked out"), "{}", open.limit);
    let known = judged(&both("1 in"), &silent[..1], &[], "pull");
    assert_eq!(known.outcome, Outcome::Accept, "0.1 times 3 in is less than 1 in");
}

#[test]
fn a_reading_as_a_limit_is_known_as_well_as_its_instrument() {
    // 1.5 in left; the reading of a rod, 1.4 in, stands for any length here.
    let changes =
        [("handle_travel = \"2.5 in\"", "stretch = \"0 %\"\nhandle_travel = \"2.5 in +/- 0 in\""), LOOSE[1]];
    let row = least("brakes.master.tandem.rod_travel");
    let rod = |text: &'static str| {
        judged(&row, &changes, &[("brakes.master.tandem.rod_travel", text)], "pull").outcome
    };
    assert_eq!(rod("1.4 in +/- 0.05 in"), Outcome::Accept);
    assert_eq!(rod("1.4 in +/- 0.2 in"), Outcome::Undecided);
    assert_eq!(rod("1.7 in +/- 0.05 in"), Outcome::Reject);
}

#[test]
fn what_is_wrong_in_a_limit_is_told_at_its_place() {
    for (row, says, under) in [
        (
            least("1.25 * brake.pressure"),
            "this works out to a pressure, and a length belongs here",
            "1.25 * brake.pressure",
        ),
        (
            least("suppression.pull.handle_travell / 2"),
            "suppression.pull.handle_travell is no number, quantity or key",
            "suppression.pull.handle_travell",
        ),
    ] {
        let text = with(&row);
        let loaded = rules_of(&[SourceFile::new("club.toml", text.as_str())]);
        let [one] = loaded.diagnostics.as_slice() else { panic!("{:#?}", loaded.diagnostics) };
        assert_eq!(one.message, says);
        assert_eq!(&text[one.at.range.clone()], under);
    }
}

#[test]
fn cases_give_the_terms_of_a_limit() {
    let case = |value: &str, expect: &str| {
        format!(
            "[[check.case]]\ngiven = {{ values = {{ \"hose.slack\" = \"{value}\", \"hose.bow\" = \"1 in\" }} }}\nexpect = \"{expect}\"\n"
        )
    };
    let row =
        "compute = { quantity = \"hose.slack\", of = \"*\", min = \"max('1/2 in', 1.5 * hose.bow)\" }\n";
    let cases = [case("1.6 in", "undecided"), case("1.4 in", "reject")].concat();
    let outcomes = run_cases(&rules(&format!("{row}{cases}")));
    let got: Vec<String> = outcomes
        .iter()
        .filter(|one| one.check == "club-pull")
        .map(|one| one.got.clone().unwrap_or_else(|why| why))
        .collect();
    assert_eq!(got.len(), 2);
    assert_eq!(got[1], "reject");
    assert_ne!(got[0], "reject", "1.6 in is over 1.5 times 1 in: {}", got[0]);
}
