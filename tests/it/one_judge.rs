//! One function judges a number: walk, screen, what-if, command line and reports say the same of it.

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

use linewalk::diagnostic::SourceFile;
use linewalk::model::Car;
use linewalk::model::entry::{Outcome, Severity};
use linewalk::model::history::History;
use linewalk::numbers::{Answer, Bound, Number, Readings, Situation};
use linewalk::report::{Input, Kind, build};
use linewalk::rules::{Check, ComputeRow, Limit, OfFilter, Ruleset, load};
use linewalk::source::Overrides;
use linewalk::tui::{margin, number_lines};
use linewalk::units::Units;
use linewalk::walk::{Start, Walk};
use proptest::prelude::*;

use crate::near::drawn;
use crate::shipped::{car, day, repo_file};

const CARS: [&str; 5] = ["heron", "bittern", "plover", "curlew", "dunlin"];
const ON: &str = "2026-11-25";

/// Every number of each sample car, each with its band where it has one.
static NUMBERS: LazyLock<Vec<Vec<Answer>>> = LazyLock::new(|| {
    let all = CARS.iter().map(|id| {
        let car = car(id).car;
        let file = repo_file(&format!("sample-cars/{id}.toml"));
        let situation = Situation::new(&car, Readings::default(), day(ON));
        Ruleset::default().numbers_of(&file, &Overrides::new(), &situation).to_vec()
    });
    all.collect()
});

fn ground() -> Ruleset {
    let file = SourceFile::new("ground.toml", include_str!("../bad/rules/ground.toml"));
    Arc::unwrap_or_clone(load(&[file], &|_, _| None).rules)
}

/// One limit as drawn: on which number, over which parts, where it stands, and whether it is asked at all.
#[derive(Clone, Debug)]
struct Drawn {
    number: usize,
    of: u8,
    min: Option<f64>,
    max: Option<f64>,
    stop: bool,
    asked: bool,
}

fn drawn_limit() -> impl Strategy<Value = Drawn> {
    let end = || proptest::option::of(0.2..2.0_f64);
    (any::<usize>(), 0..3_u8, end(), end(), any::<bool>(), proptest::bool::weighted(0.8))
        .prop_map(|(number, of, min, max, stop, asked)| Drawn { number, of, min, max, stop, asked })
}

/// A limit on one of the numbers, as a check of its own.
fn check(rules: &Ruleset, at: usize, drawn: &Drawn, numbers: &[&Number], car: &Car) -> Check {
    let number = numbers[drawn.number % numbers.len()];
    let si = number.si().unwrap();
    let hose = car.brakes.hoses.iter().find(|hose| hose.id == number.of);
    let limit = |share: f64| Limit { si: si * share, text: String::new() };
    let mut check = rules.check("line-support").unwrap().clone();
    check.id = format!("drawn-{at}");
    check.severity = if drawn.stop { Severity::Stop } else { Severity::Fix };
    check.profiles = vec![if drawn.asked { "owner" } else { "nobody" }.to_owned()];
    let row = check.compute[0].clone();
    check.compute = vec![ComputeRow {
        quantity: linewalk::numbers::quantity(number.quantity).unwrap(),
        of: match (drawn.of, hose.and_then(|hose| hose.corner)) {
            (0, _) => OfFilter::All,
            (1, Some(corner)) => OfFilter::Corner(corner),
            _ => OfFilter::Id(number.of.clone()),
        },
        min: drawn.min.map(limit),
        max: drawn.max.map(limit),
        aim_min: None,
        aim_max: None,
        equals: None,
        ..row
    }];
    check
}

/// What a limit makes of a number, by hand: its range against both ends. One that is only an end of the true value says
/// nothing of the other side.
fn by_hand(row: &ComputeRow, number: &Number) -> Outcome {
    let si = number.si().unwrap();
    let low = if number.bound == Bound::AtMost { f64::NEG_INFINITY } else { number.low.unwrap_or(si) };
    let high = if number.bound == Bound::AtLeast { f64::INFINITY } else { number.high.unwrap_or(si) };
    let grace = |limit: f64| 1e-9 * limit.abs().max(1e-6);
    let min = row.min.as_ref().map_or(f64::NEG_INFINITY, |limit| limit.si - grace(limit.si));
    let max = row.max.as_ref().map_or(f64::INFINITY, |limit| limit.si + grace(limit.si));
    if low >= min && high <= max {
        Outcome::Accept
    } else if high < min || low > max {
        Outcome::Reject
    } else if number.bound == Bound::Value {
        Outcome::Undecided
    } else {
        Outcome::Refused
    }
}

/// Whether a row goes over a part, by hand.
fn goes_over(row: &ComputeRow, car: &Car, of: &str) -> bool {
    match &row.of {
        OfFilter::All => true,
        OfFilter::Id(id) => id == of,
        OfFilter::Corner(corner) => {
            car.brakes.hoses.iter().any(|hose| hose.id == of && hose.corner == Some(*corner))
        }
    }
}

fn worst_by_hand(checks: &[Check], car: &Car, number: &Number) -> Option<Outcome> {
    let asked = checks.iter().filter(|check| check.profiles == ["owner"]);
    let rows = asked.flat_map(|check| check.compute.iter()).filter(|row| {
        row.quantity.id == number.quantity
            && goes_over(row, car, &number.of)
            && (row.min.is_some() || row.max.is_some())
    });
    let severe = |outcome: &Outcome| match outcome {
        Outcome::Reject => 0,
        Outcome::Undecided => 1,
        Outcome::Refused => 2,
        _ => 3,
    };
    rows.map(|row| by_hand(row, number)).min_by_key(severe)
}

fn walk_of(id: &str, rules: Ruleset, numbers: Vec<Answer>) -> Walk {
    let start = Start {
        car_file: repo_file(&format!("sample-cars/{id}.toml")),
        car: car(id).car,
        rules: Arc::new(rules),
        rule_files: Vec::new(),
        profile: "owner".to_owned(),
        stage: None,
        station: None,
        lap: None,
        on: day(ON),
        units: Units::Us,
        by: None,
    };
    let mut walk = Walk::new(start, History::default()).unwrap();
    walk.numbers = Arc::new(numbers).into();
    walk
}

/// What the checks of a walk say of one number, the worst of them.
fn of_walk(walk: &Walk, checks: &[Check], number: &Number) -> Option<Outcome> {
    let steps = walk.plan.steps.iter().filter_map(|step| walk.start.rules.check(&step.check));
    let of_number = steps.filter(|check| {
        checks.iter().any(|known| known.id == check.id) && check.compute[0].quantity.id == number.quantity
    });
    let rows = of_number.flat_map(|check| walk.evaluator().assess(check, &BTreeMap::new(), None).rows);
    let mine = rows.filter(|row| row.judges && row.of.as_deref() == Some(&number.of));
    linewalk::rules::worst(mine.map(|row| row.judged.outcome).collect::<Vec<_>>())
}

/// What a report's JSON says of each number, by name and part.
fn of_report(walk: &Walk) -> BTreeMap<(String, String), Option<Outcome>> {
    let input = Input {
        car: &walk.start.car,
        rules: &walk.start.rules,
        profile: walk.profile(),
        history: &walk.history,
        numbers: walk.numbers(),
        readings: &walk.readings,
        curves: &[],
        on: walk.start.on,
        now: "2026-11-25T12:00:00Z".parse().unwrap(),
        units: Units::Us,
        complete: false,
        unsettled: false,
        made_by: "linewalk 1.0.0".to_owned(),
        shop: None,
        trouble: Vec::new(),
    };
    let numbers = build(&input, Kind::Full).facts.numbers;
    numbers.into_iter().map(|one| ((one.quantity, one.of.unwrap_or_default()), one.verdict)).collect()
}

proptest! {
    #![proptest_config(drawn(48))]

    #[test]
    fn walk_screen_what_if_and_report_judge_alike(
        at in 0..CARS.len(),
        limits in proptest::collection::vec(drawn_limit(), 1..12),
    ) {
        let answers = NUMBERS[at].clone();
        let numbers: Vec<&Number> =
            answers.iter().filter_map(Answer::number).filter(|n| n.range().is_some() && n.hold.is_none()).collect();
        let mut rules = ground();
        let known = car(CARS[at]).car;
        let checks: Vec<Check> =
            limits.iter().enumerate().map(|(at, one)| check(&rules, at, one, &numbers, &known)).collect();
        rules.checks.extend(checks.iter().cloned());
        let walk = walk_of(CARS[at], rules, answers.clone());
        let lines = number_lines(&walk);
        let report = of_report(&walk);
        let asked = walk.asked(&walk.start.car);
        for (place, answer) in answers.iter().enumerate() {
            let Some(number) = answer.number().filter(|n| n.range().is_some() && n.hold.is_none()) else {
                continue;
            };
            let mut checks = checks.clone();
            checks.push(walk.start.rules.check("line-support").unwrap().clone());
            checks.retain(|check| check.id != "line-support" || check.compute[0].judges());
            let wanted = worst_by_hand(&checks, &known, number);
            let name = format!("{} of {}", number.quantity, number.of);
            prop_assert_eq!(of_walk(&walk, &checks, number), wanted, "walk: {}", name);
            let screen = lines[place].margin.as_ref().map(|(outcome, _)| *outcome);
            prop_assert_eq!(screen, wanted, "screen: {}", name);
            let tried = margin(&walk, &asked, &walk.terms(), answer).map(|(outcome, _)| outcome);
            prop_assert_eq!(tried, wanted, "what if: {}", name);
            let key = (number.quantity.to_owned(), number.of.clone());
            prop_assert_eq!(report[&key], wanted, "report: {}", name);
        }
    }
}
