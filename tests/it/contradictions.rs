//! Shipped rules that would tell two people two things of one car: rows that say the same and allow another value,
//! citations of one document that differ, limits that their own instrument cannot see.

use std::collections::BTreeMap;

use linewalk::rules::{Check, MeasureRow, Ruleset, Source, SourceBasis, Typed};
use linewalk::source::{Node, Value};
use linewalk::units::Kind;

use crate::shipped::shipped;

/// Stations that mirror one another.
const MIRRORED: [(&str, &str); 4] = [
    ("left-front", "right-front"),
    ("left-rear", "right-rear"),
    ("engine-left", "engine-right"),
    ("left-flank", "right-flank"),
];

/// What a row allows, in one line: two rows that say the same of the same thing have to agree in it.
struct Said<'r> {
    check: &'r Check,
    id: String,
    label: String,
    allows: String,
}

fn measured(row: &MeasureRow) -> String {
    let text = |limit: &Option<linewalk::rules::Limit>| limit.as_ref().map(|limit| limit.si.to_string());
    format!("{:?} {:?} {:?} {}", text(&row.min), text(&row.max), text(&row.equals), row.guarded)
}

fn said(rules: &Ruleset) -> Vec<Said<'_>> {
    let mut all = Vec::new();
    for check in &rules.checks {
        let mut say = |id: &str, label: &str, allows: String| {
            all.push(Said { check, id: id.to_owned(), label: label.to_owned(), allows });
        };
        match &check.typed {
            Typed::Measure(rows) => rows.iter().for_each(|row| say(&row.id, &row.label, measured(row))),
            Typed::Count(rows) => rows.iter().for_each(|row| {
                say(&row.id, &row.label, format!("{:?} {:?} {:?}", row.min, row.max, row.equals));
            }),
            Typed::Date(rows) => {
                rows.iter().for_each(|row| say(&row.id, &row.label, format!("{:?}", row.every)))
            }
            Typed::None => {}
        }
        for row in check.compute.iter().filter(|row| row.judges()) {
            let limits = format!("{:?} {:?} {:?}", row.min, row.max, row.equals);
            say(row.quantity.id, row.quantity.id, limits);
        }
    }
    all
}

fn mirrored(one: &str, other: &str) -> bool {
    MIRRORED.iter().any(|(left, right)| (one, other) == (*left, *right) || (other, one) == (*left, *right))
}

/// Every pair of rows that say the same and allow another value: of one label anywhere, of one id on mirrored sides.
fn contradictions(rules: &Ruleset) -> Vec<String> {
    let all = said(rules);
    let mut found = Vec::new();
    for (at, one) in all.iter().enumerate() {
        for other in all.iter().skip(at + 1) {
            let same_label =
                !one.label.is_empty() && one.label == other.label && one.check.id != other.check.id;
            let same_id = !one.id.is_empty() && one.id == other.id;
            // The left flank carries the brake lines and the right one those of the suppression.
            let same_topic = one.check.topic == other.check.topic;
            let sides = same_topic && mirrored(&one.check.station, &other.check.station);
            if (same_label || (sides && same_id)) && one.allows != other.allows {
                found.push(format!("{} and {}: {}", one.check.id, other.check.id, one.label));
            }
        }
    }
    found
}

#[test]
fn no_two_rows_say_the_same_and_allow_another_value() {
    for id in ["base", "straight-line", "oval", "land-speed", "hill-climb", "circuit", "off-road"] {
        assert_eq!(contradictions(&shipped(id).rules), Vec::<String>::new(), "{id}");
    }
}

#[test]
fn a_pair_that_differs_is_found() {
    let mut rules = (*shipped("base").rules).clone();
    let twist = rules.checks.iter_mut().find(|check| check.id == "lf-hose-not-twisted").unwrap();
    let Typed::Measure(rows) = &mut twist.typed else { panic!("twist is measured") };
    rows[0].max.as_mut().unwrap().si *= 2.0;
    assert_eq!(
        contradictions(&rules),
        ["lf-hose-not-twisted and rf-hose-cover-tab-twist: Twist from end to end"]
    );
}

#[test]
fn a_fall_that_is_allowed_can_be_seen_on_its_gauge() {
    for id in ["base", "straight-line"] {
        let rules = shipped(id).rules;
        let mut seen = 0;
        for check in &rules.checks {
            let Typed::Measure(rows) = &check.typed else { continue };
            let falls = rows.iter().filter(|row| row.kind == Kind::Pressure && row.label.starts_with("Fall"));
            for row in falls {
                let tool = row.instrument.as_deref().and_then(|tool| rules.instrument(tool)).unwrap();
                // Two readings of one gauge differ by twice what it repeats to.
                let blind = 2.0 * tool.repeat(Kind::Pressure).unwrap();
                assert!(row.max.as_ref().unwrap().si >= blind, "{}: {}", check.id, row.label);
                seen += 1;
            }
        }
        assert!(seen > 0, "{id}");
    }
}

fn citations(rules: &Ruleset) -> impl Iterator<Item = (&Check, &Source)> {
    rules.checks.iter().flat_map(|check| check.sources.iter().map(move |source| (check, source)))
}

const SHIPPED: [&str; 7] =
    ["base", "straight-line", "oval", "land-speed", "hill-climb", "circuit", "off-road"];

#[test]
fn one_place_of_a_document_is_cited_alike_everywhere() {
    for id in SHIPPED {
        let rules = shipped(id).rules;
        let mut known: BTreeMap<(&str, &str), (SourceBasis, Option<&str>, &str)> = BTreeMap::new();
        for (check, source) in citations(&rules) {
            if source.basis == SourceBasis::CommonPractice {
                continue;
            }
            let (basis, seen) = (source.basis, source.seen.as_deref());
            let place = (source.document.as_str(), source.clause.as_str());
            let (first, how, by) = known.entry(place).or_insert((basis, seen, &check.id));
            assert_eq!((*first, *how), (basis, seen), "{by} and {}: {source}", check.id);
        }
    }
}

#[test]
fn no_body_is_named_and_a_regulation_says_article_and_year() {
    for id in SHIPPED {
        let rules = shipped(id).rules;
        for (check, source) in citations(&rules).filter(|(_, source)| source.document.contains("racing")) {
            assert_eq!(source.document, "a published circuit-racing technical regulation", "{}", check.id);
            assert!(source.clause.starts_with("art. "), "{}: {source}", check.id);
            let dated = source.clause.contains("year") || source.clause.contains(", 20");
            assert!(dated, "{}: {source} says neither its year nor that it is not known", check.id);
        }
    }
}

/// Numbers of a text, commas inside them left out: "1,200 psi or 1 1/2 in" has 1200, 1 and 1/2.
fn numbers(text: &str) -> Vec<String> {
    let plain = text.replace(',', "");
    let words = plain.split(|c: char| !(c.is_ascii_digit() || matches!(c, '/' | '.')));
    let words = words
        .map(|word| word.trim_matches(['.', '/']))
        .filter(|word| word.starts_with(|c: char| c.is_ascii_digit()));
    words.map(str::to_owned).collect()
}

/// Every value of a node, as written.
fn written(node: &Node, text: &mut String) {
    match &node.value {
        Value::Array(items) => items.iter().for_each(|item| written(item, text)),
        Value::Table(table) => table.entries.iter().for_each(|(_, inner)| written(inner, text)),
        _ => {
            text.push_str(node.at.file.text.get(node.at.range.clone()).unwrap_or(""));
            text.push(' ');
        }
    }
}

#[test]
fn mirrored_checks_cite_alike() {
    let rules = shipped("base").rules;
    let mut seen = 0;
    for (left, right) in MIRRORED {
        for one in rules.checks.iter().filter(|check| check.station == left) {
            let suffix = one.id.split_once('-').unwrap().1;
            let same =
                |check: &&Check| check.station == right && check.id.split_once('-').unwrap().1 == suffix;
            let Some(other) = rules.checks.iter().find(same) else { continue };
            let cited = |check: &Check| {
                let mut places: Vec<String> = check
                    .sources
                    .iter()
                    .filter(|source| source.basis != SourceBasis::CommonPractice)
                    .map(ToString::to_string)
                    .collect();
                places.sort();
                places
            };
            assert_eq!(cited(one), cited(other), "{} and {}", one.id, other.id);
            seen += 1;
        }
    }
    assert!(seen >= 5, "{seen}");
}

#[test]
fn a_citation_of_habit_has_no_number_that_its_check_does_not_have() {
    let rules = shipped("base").rules;
    let mut strangers = Vec::new();
    for (check, source) in citations(&rules).filter(|(_, source)| source.basis == SourceBasis::CommonPractice)
    {
        let mut text = String::new();
        for (key, node) in &check.table.entries {
            if key.text != "source" && key.text != "case" {
                written(node, &mut text);
            }
        }
        // What a number is worked at is said in its formula.
        check.compute.iter().for_each(|row| text.push_str(row.quantity.formula));
        let known = numbers(&text);
        let strange: Vec<String> =
            numbers(&source.supports).into_iter().filter(|number| !known.contains(number)).collect();
        if !strange.is_empty() {
            strangers.push(format!("{}: {strange:?} of \"{}\"", check.id, source.supports));
        }
    }
    assert!(strangers.is_empty(), "{}", strangers.join("\n"));
}
