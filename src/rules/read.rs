//! A merged tree to a ruleset.

use crate::mistake::{Mistake, did_you_mean};
use crate::model::entry::{Outcome, Severity};
use crate::physics::conformity::Shape;
use crate::source::{FieldKind, Node, Reader, Table, Value, Word, text_or_number};

use crate::units::{KINDS, parse_accuracy};

use super::condition::Condition;
use super::limits::{ComputeRow, CountRow, DateRow, MeasureRow, Typed};
use super::ruleset::{
    Case, Check, Given, Instrument, Lap, Method, Order, Profile, Ruleset, Side, Source, SourceBasis, Station,
    Topic, Words,
};
use super::schema;

/// Reads a merged document; also run over nothing to describe the format.
pub fn read(r: &Reader<'_>) -> Ruleset {
    r.format_number();
    // The head of each file is read on its own; here it is only known to be there.
    r.table(
        "ruleset",
        "The file's own head: what it is, how old, and what it builds on.",
        super::layers::Head::read,
    );
    r.needs("ruleset");
    let mut rules = Ruleset {
        profiles: r.tables("profile", "Ways round the car.", profile),
        laps: r.tables("lap", "Lap orders; the first whose `when` is true is walked.", lap),
        instruments: r.tables("instrument", "Instruments and their accuracy.", instrument),
        stations: r.tables("station", "Stations of the lap.", station),
        ..Ruleset::default()
    };
    rules.checks =
        r.tables("check", "The checks, in the order of the lap.", check).into_iter().flatten().collect();
    if r.is_whole() {
        cross_check(&rules, r);
    }
    rules
}

const SEVERITIES: &[(&str, Severity)] = Severity::WORDS;

fn severities(r: &Reader<'_>) -> Vec<Severity> {
    let words = r.words("only", "Severities it walks: stop, fix, note; all if silent.");
    r.narrow("only", || schema::words(SEVERITIES));
    let Some(words) = words else {
        return vec![Severity::Stop, Severity::Fix, Severity::Note];
    };
    words.iter().filter_map(|word| known(r, word, "severity", SEVERITIES)).collect()
}

fn known<T: Copy>(r: &Reader<'_>, word: &Word, what: &str, words: &[(&str, T)]) -> Option<T> {
    let found = words.iter().find(|(name, _)| *name == word.text).map(|(_, value)| *value);
    if found.is_none() {
        let names: Vec<&str> = words.iter().map(|(name, _)| *name).collect();
        let help = did_you_mean(&word.text, names.iter().copied())
            .map_or_else(|| format!("one of: {}", names.join(", ")), |near| format!("did you mean {near}?"));
        r.report(Mistake::error(&word.at, format!("{} is no {what}", word.text), help));
    }
    found
}

fn texts(r: &Reader<'_>, key: &'static str, doc: &str) -> Vec<String> {
    r.words(key, doc).unwrap_or_default().into_iter().map(|word| word.text).collect()
}

fn profile(r: &Reader<'_>) -> Profile {
    let id = r.plain_id("id", "Name of the profile, for --profile.");
    Profile {
        title: r.text("title", "What it is called on screen.").unwrap_or_else(|| id.clone()),
        order: r
            .choice(
                "order",
                "Order of the walk: lap is station by station from anywhere, free is any order.",
                &[("lap", Order::Lap), ("free", Order::Free)],
            )
            .unwrap_or(Order::Lap),
        from: r.text("from", "Profile whose checks it walks."),
        only: severities(r),
        signatures: texts(r, "signatures", "Who signs: inspector, fitter, checker."),
        stages: texts(r, "stages", "Stages of a build, in order."),
        id,
    }
}

fn lap(r: &Reader<'_>) -> Lap {
    let id = r.plain_id("id", "Name of the lap order.");
    Lap {
        title: r.text("title", "What it is called on screen.").unwrap_or_else(|| id.clone()),
        stations: texts(r, "stations", "Station ids in the order they are walked."),
        when: r.table("when", "Cars it is for.", Condition::read).unwrap_or_default(),
        id,
    }
}

fn instrument(r: &Reader<'_>) -> Instrument {
    const SHAPES: &[(&str, Shape)] =
        &[("rectangular", Shape::Rectangular), ("triangular", Shape::Triangular), ("normal", Shape::Normal)];
    let id = r.plain_id("id", "Name of the instrument.");
    let accuracy = r.need_text("accuracy", "Half-width of its error: 1/16 in, or 2.5 % of 1500 psi.");
    if !accuracy.is_empty() && KINDS.iter().all(|kind| parse_accuracy(&accuracy, *kind).is_err()) {
        let help = "write a half-width such as \"1/16 in\", \"2 F\" or \"2.5 % of 1500 psi\"";
        let message = format!("\"{accuracy}\" is no accuracy");
        r.report(Mistake::error(&r.place("accuracy"), message, help));
    }
    r.narrow("accuracy", || serde_json::json!({"pattern": crate::units::accuracy_pattern()}));
    Instrument {
        title: r.text("title", "What it is called on screen.").unwrap_or_else(|| id.clone()),
        accuracy,
        shape: r
            .choice(
                "shape",
                "Shape of the error: rectangular, triangular, or normal (accuracy is then k = 2).",
                SHAPES,
            )
            .unwrap_or(Shape::Rectangular),
        id,
    }
}

fn station(r: &Reader<'_>) -> Station {
    const SIDES: &[(&str, Side)] = &[("left", Side::Left), ("right", Side::Right), ("middle", Side::Middle)];
    let id = r.plain_id("id", "Name of the station.");
    let at = r.table("at", "Where it is on the plan.", |r| {
        (
            r.number("along", "0 at the rear axle, 1 at the front axle."),
            r.choice("side", "Side of the car: left, right, middle.", SIDES),
        )
    });
    let (along, side) = at.unwrap_or_default();
    Station {
        title: r.text("title", "What it is called on screen.").unwrap_or_else(|| id.clone()),
        along: along.unwrap_or(0.5),
        side: side.unwrap_or(Side::Middle),
        caution: r.text("caution", "What can hurt here."),
        stand: r.text("stand", "Where to stand."),
        hold: r.text("hold", "What to have in the hand."),
        id,
    }
}

fn source(r: &Reader<'_>) -> Option<Source> {
    const BASES: &[(&str, SourceBasis)] = &[
        ("published", SourceBasis::Published),
        ("from-memory", SourceBasis::FromMemory),
        ("common-practice", SourceBasis::CommonPractice),
    ];
    let source = (
        r.text("for", "What it supports: the limit, an interval."),
        r.text("document", "Title or number of the document."),
        r.text("clause", "The place in it."),
        r.need_choice("basis", "How far it was seen: published, from-memory or common-practice.", BASES),
        r.choice(
            "seen",
            "What was read where it is published: original or reprint.",
            &[("original", "original"), ("reprint", "reprint")],
        ),
    );
    Some(Source {
        supports: source.0.unwrap_or_default(),
        document: source.1.unwrap_or_default(),
        clause: source.2.unwrap_or_default(),
        basis: source.3?,
        seen: source.4.map(str::to_owned),
    })
}

fn words(r: &Reader<'_>) -> Words {
    Words {
        look: r.text("look", "What to look at; silent for a pure number."),
        accept: r.need_text("accept", "What it looks like when it is right."),
        reject: r.need_text("reject", "What it looks like when it is not."),
        why: r.need_text("why", "Why it matters."),
        remedy: r.need_text("remedy", "What to do about it."),
        parts: texts(r, "parts", "Parts that the remedy takes."),
        caution: r.text("caution", "What can hurt while checking."),
        rulebooks_differ: r.text("rulebooks_differ", "Where rulebooks differ."),
    }
}

fn check(r: &Reader<'_>) -> Option<Check> {
    let id = r.plain_id("id", "Name of the check.");
    // These three change a check of an extended file; the merge has acted on them already.
    r.flag("off", "Drops the check; needs a reason.");
    r.text("reason", "Why the check is dropped: printed on every report.");
    r.words("clear", "Keys taken out before the new ones go in: measure.max.");
    r.narrow("clear", schema::cleared);
    r.agree(schema::agrees);
    r.agree_whole(schema::agrees_whole);
    let station = r.need_text("station", "Station it belongs to.");
    let topic = r.need_choice("topic", "What it is about.", Topic::WORDS);
    let title = r.need_text("title", "A short title, 58 columns at most.");
    let words = words(r);
    let first = r.flag("first", "Asked before any station.").unwrap_or(false);
    let no_eye = r.flag("no_eye", "May not be accepted by eye without a value.").unwrap_or(false);
    let method = r.need_choice("method", "How it is done, mainly.", Method::WORDS);
    let severity = r.need_choice(
        "severity",
        "Weight of a reject: stop does not run, fix is before the next event, note is advice.",
        SEVERITIES,
    );
    let typed = typed(r);
    let compute = r.table_or_tables("compute", "A number beside it, or alone.", ComputeRow::read);
    let check = Check {
        id,
        station,
        topic: topic.unwrap_or(Topic::Paperwork),
        title,
        words,
        first,
        no_eye,
        method: method.unwrap_or(Method::Look),
        severity: severity.unwrap_or(Severity::Note),
        profiles: texts(r, "profiles", "Profiles that walk it."),
        seconds: r.count("seconds", "Seconds it takes in a queue."),
        stage: texts(r, "stage", "Stages of a build that open it."),
        when: r.table("when", "Cars it is for.", Condition::read),
        unless: r.table("unless", "Cars it is not for, even where when holds.", Condition::read),
        sources: r.tables("source", "Where it comes from.", source).into_iter().flatten().collect(),
        typed,
        compute: compute.into_iter().flatten().collect(),
        cases: r.tables("case", "Its own tests, run by rules test.", case),
        place: r.at.clone(),
        table: r.whole(),
    };
    consistent(r, &check);
    // One that lacks a word is kept all the same, so that the rest of it is looked at in the same run.
    (!check.id.is_empty()).then_some(check)
}

fn typed(r: &Reader<'_>) -> Typed {
    let measure = r.table_or_tables("measure", "A value to be measured.", MeasureRow::read);
    let count = r.table_or_tables("count", "A value to be counted.", CountRow::read);
    let date = r.table_or_tables("date", "A date to be confirmed.", DateRow::read);
    if [measure.is_empty(), count.is_empty(), date.is_empty()].iter().filter(|empty| !**empty).count() > 1 {
        let help = "a check has one of measure, count and date: make two checks";
        r.report(Mistake::error(&r.at, "a check cannot be measured, counted and dated at once", help));
    }
    match (measure.is_empty(), count.is_empty(), date.is_empty()) {
        (false, _, _) => Typed::Measure(measure),
        (_, false, _) => Typed::Count(count),
        (_, _, false) => Typed::Date(date),
        _ => Typed::None,
    }
}

/// What one check must agree on with itself.
fn consistent(r: &Reader<'_>, check: &Check) {
    let (typed, needs) = match (check.method, &check.typed) {
        (Method::Measure, Typed::Measure(_))
        | (Method::Count, Typed::Count(_))
        | (Method::Date, Typed::Date(_)) => (true, ""),
        (Method::Measure | Method::Count | Method::Date, _) => (false, check.method.word()),
        (Method::Compute, _) if check.compute.is_empty() => (false, "compute"),
        _ => (true, ""),
    };
    if !typed && !r.has(needs) {
        let help = format!("add {needs} = {{ … }}, or change method");
        r.report(Mistake::error(&r.place("method"), format!("method {needs} has no limits to go by"), help));
    }
    if check.method.by_answer() && check.words.look.is_none() && r.has("method") {
        let help = "say in look = \"…\" what the person looks at, feels or asks";
        r.report(Mistake::error(&r.place("method"), "a check that a person answers has no look", help));
    }
    if check.no_eye && !matches!(check.method, Method::Measure | Method::Count | Method::Date) {
        let help = "take no_eye out, or change method";
        r.report(Mistake::error(&r.place("no_eye"), "no_eye is for measure, count and date", help));
    }
    let ids: Vec<&str> = match &check.typed {
        Typed::Measure(rows) => rows.iter().map(|row| row.id.as_str()).collect(),
        Typed::Count(rows) => rows.iter().map(|row| row.id.as_str()).collect(),
        Typed::Date(rows) => rows.iter().map(|row| row.id.as_str()).collect(),
        Typed::None => Vec::new(),
    };
    if ids.len() > 1 {
        let unnamed = ids.iter().any(|id| id.is_empty());
        let twice = ids.iter().enumerate().any(|(at, id)| ids.iter().take(at).any(|earlier| earlier == id));
        if unnamed || twice {
            let help = "give each of several rows an id of its own and a label";
            let key = ["measure", "count", "date"].into_iter().find(|key| r.has(key)).unwrap_or("measure");
            let message = format!("the rows of {} cannot be told apart", check.id);
            r.report(Mistake::error(&r.place(key), message, help));
        }
    }
}

fn case(r: &Reader<'_>) -> Case {
    const EXPECTED: &[(&str, &str)] = &[
        ("accept", "accept"),
        ("reject", "reject"),
        ("undecided", "undecided"),
        ("refused", "refused"),
        ("asked", "asked"),
        ("left-out", "left-out"),
    ];
    Case {
        place: r.at.clone(),
        given: r.table("given", "What the case gives: a value, readings, a car.", given).unwrap_or_default(),
        expect: r
            .need_choice(
                "expect",
                "What has to come out: accept, reject, undecided, refused, asked or left-out.",
                EXPECTED,
            )
            .unwrap_or_default()
            .to_owned(),
    }
}

fn given(r: &Reader<'_>) -> Given {
    let map = |key, doc| {
        let pairs = r.map(key, doc, FieldKind::TextOrNumber, text_or_number).unwrap_or_default();
        pairs.into_iter().map(|(word, text)| (word.text, text)).collect()
    };
    Given {
        value: r.text_or_number("value", "The typed value.").map(|word| word.text),
        values: map("values", "Values by row id, quantity or key."),
        readings: map("readings", "Readings of the day by key."),
        instrument: r.text("instrument", "Instrument that the value was taken with."),
        result: r.choice("result", "What the person says.", Outcome::WORDS),
        on: r.date("on", "Day that dates count to.").map(|dated| dated.day),
        car: r.table(
            "car",
            "What the car has and has not, its fuel, engine and driver.",
            crate::model::car::Facts::read,
        ),
    }
}

/// What the parts of a ruleset must agree on with each other.
fn cross_check(rules: &Ruleset, r: &Reader<'_>) {
    let stations: Vec<&str> = rules.stations.iter().map(|station| station.id.as_str()).collect();
    let profiles: Vec<&str> = rules.profiles.iter().map(|profile| profile.id.as_str()).collect();
    let instruments: Vec<&str> = rules.instruments.iter().map(|instrument| instrument.id.as_str()).collect();
    for check in &rules.checks {
        refer(r, check.table.get("station"), &check.station, "station", &stations);
        for profile in &check.profiles {
            refer(r, item(&check.table, "profiles", profile), profile, "profile", &profiles);
        }
        if let Typed::Measure(rows) = &check.typed {
            for named in rows.iter().filter_map(|row| row.instrument.as_deref()) {
                let node = check.table.get("measure").and_then(|node| text_in(node, "instrument", named));
                refer(r, node, named, "instrument", &instruments);
            }
        }
        for named in check.cases.iter().filter_map(|case| case.given.instrument.as_deref()) {
            let node = check.table.get("case").and_then(|node| text_in(node, "instrument", named));
            refer(r, node, named, "instrument", &instruments);
        }
    }
    let root = r.whole();
    for lap in &rules.laps {
        let table = named(&root, "lap", &lap.id);
        for station in &lap.stations {
            refer(r, table.and_then(|table| item(table, "stations", station)), station, "station", &stations);
        }
    }
    for profile in &rules.profiles {
        let node = named(&root, "profile", &profile.id).and_then(|table| table.get("from"));
        profile.from.iter().for_each(|from| refer(r, node, from, "profile", &profiles));
    }
}

/// The table of an array that bears an id.
fn named<'t>(root: &'t Table, array: &str, id: &str) -> Option<&'t Table> {
    let Value::Array(items) = &root.get(array)?.value else { return None };
    items.iter().filter_map(|node| node.value.as_table()).find(|table| table.text("id") == Some(id))
}

/// The node of a key that holds this text, in a table, an array of them or a table within.
fn text_in<'t>(node: &'t Node, key: &str, wanted: &str) -> Option<&'t Node> {
    match &node.value {
        Value::Array(items) => items.iter().find_map(|item| text_in(item, key, wanted)),
        Value::Table(table) if table.text(key) == Some(wanted) => table.get(key),
        Value::Table(table) => table.entries.iter().find_map(|(_, inner)| text_in(inner, key, wanted)),
        _ => None,
    }
}

fn refer(r: &Reader<'_>, node: Option<&Node>, name: &str, what: &str, known: &[&str]) {
    if known.contains(&name) || name.is_empty() {
        return;
    }
    let at = node.map_or_else(|| r.at.clone(), |node| node.at.clone());
    let help = did_you_mean(name, known.iter().copied()).map_or_else(
        || format!("{what}s here: {}", known.join(", ")),
        |near| format!("did you mean {near}?"),
    );
    r.report(Mistake::error(&at, format!("there is no {what} {name}"), help));
}

/// The node of one text in an array of texts.
fn item<'t>(table: &'t Table, key: &str, wanted: &str) -> Option<&'t Node> {
    match &table.get(key)?.value {
        Value::Array(items) => {
            items.iter().find(|node| matches!(&node.value, Value::Text(text) if text == wanted))
        }
        _ => None,
    }
}
