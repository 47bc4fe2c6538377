//! One check of a rule file.

use crate::diagnostic::Diagnostic;
use crate::model::entry::{Outcome, Severity};
use crate::source::{FieldKind, Reader, text_or_number};

use super::check::{Case, Check, Given, Method, Source, SourceBasis, Topic, Words};
use super::condition::Condition;
use super::dated::Dates;
use super::limits::{ComputeRow, CountRow, DateRow, MeasureRow, RowWords, Typed};
use super::schema;

fn source(r: &Reader<'_>) -> Option<Source> {
    const BASES: &[(&str, SourceBasis)] = &[
        ("published", SourceBasis::Published),
        ("from-memory", SourceBasis::FromMemory),
        ("common-practice", SourceBasis::CommonPractice),
    ];
    let source = (
        r.text("for", "What it supports: the limit, an interval."),
        r.text("document", "Title or number of the document."),
        r.text_or_number("edition", "Its edition or year.").map(|word| word.text),
        r.text("clause", "The place in it."),
        r.text_or_number("page", "Page of the document that it stands on.").map(|word| word.text),
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
        edition: source.2,
        clause: source.3.unwrap_or_default(),
        page: source.4,
        basis: source.5?,
        seen: source.6.map(str::to_owned),
    })
}

fn words(r: &Reader<'_>) -> Words {
    Words {
        look: r.text("look", "What to look at; silent for a pure number."),
        accept: r.need_text("accept", "What it looks like when it is right."),
        reject: r.need_text("reject", "What it looks like when it is not."),
        why: r.need_text("why", "Why it matters."),
        remedy: r.need_text("remedy", "What to do about it."),
        parts: r.texts("parts", "Parts that the remedy takes."),
        caution: r.text("caution", "What can hurt while checking, 98 columns at most."),
        caution_more: r.text("caution_more", "The rest of the caution."),
        rulebooks_differ: r.text("rulebooks_differ", "Where rulebooks differ."),
    }
}

/// Reads a check.
pub(super) fn check(r: &Reader<'_>) -> Option<Check> {
    let id = r.plain_id("id", "Name of the check.");
    let station = r.need_text("station", "Station it belongs to.");
    // These three change a check of an extended file; the merge has acted on them already.
    r.flag("off", "Drops the check; needs a reason.");
    r.text(
        "reason",
        "Why it is dropped, or asked or stopped less than in the extended rules: printed on every report.",
    );
    Dates::read(r);
    r.words("clear", "Keys taken out before the new ones go in: measure.max.");
    r.belong_below(&["given", "expect"], "write [[check.case]] on a line above it");
    r.agree(schema::agrees);
    r.agree_whole(schema::agrees_whole);
    let severity = r.need_choice(
        "severity",
        "Weight of a reject: stop does not run, fix is before the next event, note is advice.",
        Severity::WORDS,
    );
    let method = r.need_choice("method", "How it is done, mainly.", Method::WORDS);
    let compute = r.table_or_tables("compute", "A number beside it, or alone.", ComputeRow::read);
    let check = Check {
        id,
        code: r.text("code", "Its code, two letters of its station and two digits: TL12. Other files than the shipped use 60 to 99."),
        station,
        first: r.flag("first", "Asked before any station.").unwrap_or(false),
        severity: severity.unwrap_or(Severity::Note),
        profiles: r.texts("profiles", "Profiles that walk it."),
        seconds: r.count("seconds", "Seconds it takes in a queue."),
        stage: r.texts("stage", "Stages of a build that open it."),
        when: r.table("when", "Cars it is for.", Condition::read),
        unless: r.table("unless", "Cars it is not for, even where when holds.", Condition::read),
        topic: r.need_choice("topic", "What it is about.", Topic::WORDS).unwrap_or(Topic::Paperwork),
        title: r.need_text("title", "A short title: the state that is wanted, 58 columns at most."),
        subject: r.text("subject", "What is looked at: the part, as a noun, 28 columns at most."),
        fault: r.text("fault", "What is wrong where it is rejected, 44 columns at most."),
        brief: r.text("brief", "The same for a slip, 30 columns at most."),
        first_step: r.text("do", "The first thing to do about it, 42 columns at most."),
        causes: r.tables("causes", "Its usual ways to fail, two to six, which a digit picks.", RowWords::read),
        place: r.at.clone(),
        words: words(r),
        no_eye: r.flag("no_eye", "May not be accepted by eye without a value.").unwrap_or(false),
        method: method.unwrap_or(Method::Look),
        sources: r.tables("source", "Where it comes from.", source).into_iter().flatten().collect(),
        typed: typed(r),
        compute: compute.into_iter().flatten().collect(),
        cases: r.tables("case", "Its own tests, run by rules test.", case),
        table: r.whole(),
    };
    consistent(r, &check, method);
    // One that lacks a word is kept all the same, so that the rest of it is looked at in the same run.
    (!check.id.is_empty()).then_some(check)
}

fn typed(r: &Reader<'_>) -> Typed {
    let measure = r.table_or_tables("measure", "A value to be measured.", MeasureRow::read);
    let count = r.table_or_tables("count", "A value to be counted.", CountRow::read);
    let date = r.table_or_tables("date", "A date to be confirmed.", DateRow::read);
    if [measure.is_empty(), count.is_empty(), date.is_empty()].iter().filter(|empty| !**empty).count() > 1 {
        let help = "a check has one of measure, count and date: make two checks";
        r.report(Diagnostic::error(&r.at, "a check cannot be measured, counted and dated at once", help));
    }
    match (measure.is_empty(), count.is_empty(), date.is_empty()) {
        (false, _, _) => Typed::Measure(measure),
        (_, false, _) => Typed::Count(count),
        (_, _, false) => Typed::Date(date),
        _ => Typed::None,
    }
}

/// What one check must agree on with itself. A method that could not be read agrees with anything.
fn consistent(r: &Reader<'_>, check: &Check, method: Option<Method>) {
    if let Some(method) = method {
        against_method(r, check, method);
    }
    let ids: Vec<&str> = match &check.typed {
        Typed::Measure(rows) => rows.iter().map(|row| row.id.as_str()).collect(),
        Typed::Count(rows) => rows.iter().map(|row| row.id.as_str()).collect(),
        Typed::Date(rows) => rows.iter().map(|row| row.id.as_str()).collect(),
        Typed::None => Vec::new(),
    };
    let key = ["measure", "count", "date"].into_iter().find(|key| r.has(key)).unwrap_or("measure");
    if ids.len() > 1 && r.is_whole() && !r.is_wrong_at(key) {
        let unnamed = ids.iter().any(|id| id.is_empty());
        let twice = ids.iter().enumerate().any(|(at, id)| ids.iter().take(at).any(|earlier| earlier == id));
        if unnamed || twice {
            let help = "give each of several rows an id of its own and a label";
            let id = check.table.text("id").unwrap_or_default();
            let message = format!("the rows of {id} cannot be told apart");
            r.report(Diagnostic::error(&r.place(key), message, help));
        }
    }
}

/// One method that is not the one meant may be at odds with several keys, and is one mistake.
fn against_method(r: &Reader<'_>, check: &Check, method: Method) {
    let (typed, needs): (bool, &'static str) = match (method, &check.typed) {
        (Method::Measure, Typed::Measure(_))
        | (Method::Count, Typed::Count(_))
        | (Method::Date, Typed::Date(_)) => (true, ""),
        (Method::Measure | Method::Count | Method::Date, _) => (false, method.word()),
        (Method::Compute, _) if check.compute.is_empty() => (false, "compute"),
        _ => (true, ""),
    };
    let by_value = matches!(method, Method::Measure | Method::Count | Method::Date);
    if !typed && !r.has(needs) {
        let help = format!("add {needs} = {{ … }}, or change method");
        r.lacks_at(&r.place("method"), needs, format!("method {needs} has no limits to go by"), help);
    } else if method.by_answer() && !r.has("look") {
        let help = "say in look = \"…\" what the person looks at, feels or asks";
        r.lacks_at(&r.place("method"), "look", "a check that a person answers has no look", help);
    } else if check.no_eye && !by_value {
        let help = "take no_eye out, or change method";
        r.report(Diagnostic::error(&r.place("no_eye"), "no_eye is for measure, count and date", help));
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
