//! Which conditions and limits of a file have no case that tries them.

use crate::model::{Answer3, Car};

use super::check::{Case, Check};
use super::condition::Condition;
use super::limits::Typed;
use super::ruleset::Ruleset;

/// What the checks of the last file lack cases for, each in one line. Of inherited checks only those that it changes count.
pub fn without_case(rules: &Ruleset) -> Vec<String> {
    let Some(last) = rules.layers.last() else { return Vec::new() };
    let first = rules.layers.len() == 1;
    let touched = |check: &&Check| {
        first || rules.changes_of(&last.id).any(|change| change.array == "check" && change.id == check.id)
    };
    rules.checks.iter().filter(touched).flat_map(lacking).collect()
}

fn lacking(check: &Check) -> Vec<String> {
    let mut found = Vec::new();
    let name = check.code.as_deref().unwrap_or(&check.id);
    let mut want = |what: &str, needed: &[&str], cases: &dyn Fn(&Case) -> bool| {
        let has = |expect: &str| check.cases.iter().any(|case| case.expect == expect && cases(case));
        let none: Vec<&str> = needed.iter().copied().filter(|expect| !has(expect)).collect();
        if !none.is_empty() {
            found.push(format!(
                "{name}, {what}: no case that expects {}",
                none.join(", and none that expects ")
            ));
        }
    };
    for (id, label) in rows(check) {
        let names = |case: &Case| {
            let given = &case.given;
            let by_name = given.values.keys().any(|key| *key == id);
            by_name || given.value.is_some() || !given.readings.is_empty()
        };
        want(&label, &["accept", "reject"], &names);
    }
    for (key, condition) in [("when", &check.when), ("unless", &check.unless)] {
        if condition.is_some() {
            want(key, &["asked", "left-out"], &|_| true);
        }
    }
    let when = check.when.iter().map(|condition| ("when", condition, ["asked", "left-out"]));
    let unless = check.unless.iter().map(|condition| ("unless", condition, ["left-out", "asked"]));
    for (key, condition, [met, unmet]) in when.chain(unless) {
        // Where one of the two is missing altogether it was said above.
        if [met, unmet].iter().all(|expect| check.cases.iter().any(|case| case.expect == *expect)) {
            let words = untried(check, condition, met, unmet).into_iter();
            found.extend(words.map(|what| format!("{name}, {key}: {what}")));
        }
    }
    found
}

/// Words of a condition that no case tells apart from the rest: each has to decide a case by itself.
fn untried(check: &Check, condition: &Condition, met: &str, unmet: &str) -> Vec<String> {
    let tried = |expect: &str, part: &Condition, answer: Answer3| {
        let cases = check.cases.iter().filter(|case| case.expect == expect);
        cases.map(car_of).any(|car| part.holds(&car) == answer)
    };
    let lacking = |expect: &str, part: &Condition, answer: Answer3| {
        (!tried(expect, part, answer)).then(|| {
            let act = if expect == "asked" { "asks it of" } else { "leaves it out for" };
            let with = if answer == Answer3::Yes { "with" } else { "without" };
            format!("no case {act} a car {with} {}", part.phrase())
        })
    };
    let (all, lists) = condition.taken_apart();
    let mut found: Vec<String> = all.iter().filter_map(|word| lacking(unmet, word, Answer3::No)).collect();
    for list in lists {
        found.extend(list.words.iter().filter_map(|word| lacking(met, word, Answer3::Yes)));
        found.extend(lacking(unmet, &list.whole, Answer3::No));
    }
    found
}

fn car_of(case: &Case) -> Car {
    Car { facts: case.given.car.clone().unwrap_or_default(), ..Car::default() }
}

/// Every row that decides: the name a case gives its value by, and its words.
fn rows(check: &Check) -> Vec<(String, String)> {
    let named = |id: &str, label: &str, what: &str| {
        let label = if label.is_empty() { what } else { label };
        (id.to_owned(), label.to_owned())
    };
    let mut found: Vec<(String, String)> = match &check.typed {
        Typed::None => Vec::new(),
        Typed::Measure(rows) => {
            let judging = rows.iter().filter(|row| row.judges());
            judging.map(|row| named(&row.id, &row.label, "the measured value")).collect()
        }
        Typed::Count(rows) => rows.iter().map(|row| named(&row.id, &row.label, "the count")).collect(),
        Typed::Date(rows) => rows.iter().map(|row| named(&row.id, &row.label, "the date")).collect(),
    };
    let computed = check.compute.iter().filter(|row| row.judges());
    found.extend(computed.map(|row| named(&row.id, &row.label, "the number")));
    found
}
