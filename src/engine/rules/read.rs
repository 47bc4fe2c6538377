//! A merged tree to a ruleset.

use crate::diagnostic::{Diagnostic, near_or};
use crate::model::entry::Severity;
use crate::model::vocabulary::folded;
use crate::physics::conformity::Shape;
use crate::source::{Node, Reader, Table, Value, Word};
use crate::units::{Kind, accuracies};

use super::condition::Condition;
use super::limits::{MeasureRow, Typed};
use super::read_check::check;
use super::ruleset::{Instrument, Lap, Order, Profile, Ruleset, Side, Station};
use super::schema;

/// Reads a merged document; also run over nothing to describe the format.
pub(super) fn read(r: &Reader<'_>) -> Ruleset {
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
    let checks = r.tables("check", "The checks, in the order of the lap.", check);
    rules.checks = checks.into_iter().flatten().collect();
    if r.is_whole() {
        cross_check(&rules, r);
    }
    rules
}

fn severities(r: &Reader<'_>) -> Vec<Severity> {
    let words = r.words("only", "Severities it walks: stop, fix, note; all if silent.");
    r.narrow("only", || schema::words(Severity::WORDS));
    let Some(words) = words else {
        return vec![Severity::Stop, Severity::Fix, Severity::Note];
    };
    words.iter().filter_map(|word| known(r, word, "severity", Severity::WORDS)).collect()
}

fn known<T: Copy>(r: &Reader<'_>, word: &Word, what: &str, words: &[(&str, T)]) -> Option<T> {
    let found = words.iter().find(|(name, _)| *name == word.text).map(|(_, value)| *value);
    if found.is_none() {
        let names: Vec<&str> = words.iter().map(|(name, _)| *name).collect();
        let help = near_or(&word.text, names.iter().copied(), || format!("one of: {}", names.join(", ")));
        r.report(Diagnostic::error(&word.at, format!("{} is no {what}", word.text), help));
    }
    found
}

/// A file over another says why, where its change asks or stops less.
const LESS: &str = "Why less is asked or stopped than in the extended rules: printed on every report.";

pub(super) fn profile(r: &Reader<'_>) -> Profile {
    r.text("reason", LESS);
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
        signatures: r.texts("signatures", "Who signs: inspector, fitter, checker."),
        stages: r.texts("stages", "Stages of a build, in order."),
        id,
    }
}

pub(super) fn lap(r: &Reader<'_>) -> Lap {
    r.text("reason", LESS);
    let id = r.plain_id("id", "Name of the lap order.");
    Lap {
        title: r.text("title", "What it is called on screen.").unwrap_or_else(|| id.clone()),
        stations: r.texts("stations", "Station ids in the order they are walked."),
        when: r.table("when", "Cars it is for.", Condition::read).unwrap_or_default(),
        id,
    }
}

pub(super) fn instrument(r: &Reader<'_>) -> Instrument {
    const SHAPES: &[(&str, Shape)] =
        &[("rectangular", Shape::Rectangular), ("triangular", Shape::Triangular), ("normal", Shape::Normal)];
    r.text("reason", LESS);
    let id = r.plain_id("id", "Name of the instrument.");
    let accuracy = r.need_text("accuracy", "Half-width of its error: 1/16 in, or 2.5 % of 1500 psi.");
    let widths = accuracies(&accuracy);
    if !accuracy.is_empty() && widths.is_empty() {
        let help = "write a half-width such as \"1/16 in\", \"2 F\" or \"2.5 % of 1500 psi\"";
        let message = format!("\"{accuracy}\" is no accuracy");
        r.report(Diagnostic::error(&r.place("accuracy"), message, help));
    }
    let repeat =
        r.text("repeat", "How far two of its readings within one test differ; half a graduation if silent.");
    let graduation = r.text("graduation", "The least step of its scale.");
    let half = |(kind, step): (Kind, f64)| (kind, step / 2.0);
    let repeats = match (&repeat, &graduation) {
        (Some(text), _) => steps(r, "repeat", text),
        (None, Some(text)) => steps(r, "graduation", text).into_iter().map(half).collect(),
        (None, None) => Vec::new(),
    };
    Instrument {
        title: r.text("title", "What it is called on screen.").unwrap_or_else(|| id.clone()),
        accuracy,
        widths,
        repeats,
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

/// A step of a scale, by each kind that it may be of.
fn steps(r: &Reader<'_>, key: &'static str, text: &str) -> Vec<(Kind, f64)> {
    let steps = accuracies(text);
    if steps.is_empty() {
        let help = "write it with its unit: \"2 psi\" or \"1/32 in\"";
        r.report(Diagnostic::error(&r.place(key), format!("\"{text}\" is no step of a scale"), help));
    }
    steps
}

fn station(r: &Reader<'_>) -> Station {
    const SIDES: &[(&str, Side)] = &[("left", Side::Left), ("right", Side::Right), ("middle", Side::Middle)];
    r.text("reason", LESS);
    let id = r.plain_id("id", "Name of the station.");
    let at = r.table("at", "Where it is on the plan.", |r| {
        (
            r.number("along", "0 at the rear axle, 1 at the front axle."),
            r.choice("side", "Side of the car: left, right, middle.", SIDES),
        )
    });
    let (along, side) = at.unwrap_or_default();
    Station {
        code: r.text("code", "Two letters that the codes of its checks begin with: TL."),
        place: r.place("code"),
        title: r.text("title", "What it is called on screen.").unwrap_or_else(|| id.clone()),
        along: along.unwrap_or(0.5),
        side: side.unwrap_or(Side::Middle),
        caution: r.text("caution", "What can hurt here."),
        stand: r.text("stand", "Where to stand."),
        hold: r.text("hold", "What to have in the hand."),
        id,
    }
}

/// What the parts of a ruleset must agree on with each other.
fn cross_check(rules: &Ruleset, r: &Reader<'_>) {
    let stations: Vec<&str> = rules.stations.iter().map(|station| station.id.as_str()).collect();
    let profiles: Vec<&str> = rules.profiles.iter().map(|profile| profile.id.as_str()).collect();
    let instruments: Vec<&str> = rules.instruments.iter().map(|instrument| instrument.id.as_str()).collect();
    let stages: Vec<&str> =
        rules.profiles.iter().flat_map(|profile| &profile.stages).map(String::as_str).collect();
    for check in &rules.checks {
        refer(r, check.table.get("station"), &check.station, "station", &stations);
        for profile in &check.profiles {
            refer(r, item(&check.table, "profiles", profile), profile, "profile", &profiles);
        }
        for stage in &check.stage {
            refer(r, item(&check.table, "stage", stage), stage, "stage", &stages);
        }
        if let Typed::Measure(rows) = &check.typed {
            for (row, named) in rows.iter().filter_map(|row| Some((row, row.instrument.as_deref()?))) {
                let node = check.table.get("measure").and_then(|node| text_in(node, "instrument", named));
                refer(r, node, named, "instrument", &instruments);
                if row.guarded {
                    fits(r, node, rules, row, named);
                }
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
    // Instruments compare without capitals; ids are in small letters by themselves.
    let same = |known: &&str| *known == name || (what == "instrument" && folded(known) == folded(name));
    if known.iter().any(same) || name.is_empty() {
        return;
    }
    let at = node.map_or_else(|| r.at.clone(), |node| node.at.clone());
    let help = near_or(name, known.iter().copied(), || format!("{what}s here: {}", known.join(", ")));
    r.report(Diagnostic::error(&at, format!("there is no {what} {name}"), help));
}

/// An instrument has to measure what its row asks for, else its accuracy would not be counted.
fn fits(r: &Reader<'_>, node: Option<&Node>, rules: &Ruleset, row: &MeasureRow, named: &str) {
    let measures = |tool: &Instrument| tool.half_width(row.kind).is_some();
    let Some(tool) = rules.instrument(named).filter(|tool| !tool.accuracy.is_empty() && !measures(tool))
    else {
        return;
    };
    let fit: Vec<&str> =
        rules.instruments.iter().filter(|tool| measures(tool)).map(|tool| tool.id.as_str()).collect();
    let help = if fit.is_empty() {
        "add an instrument whose accuracy is in a unit of that kind".to_owned()
    } else {
        format!("these measure it: {}", fit.join(", "))
    };
    let at = node.map_or_else(|| r.at.clone(), |node| node.at.clone());
    r.report(Diagnostic::error(&at, format!("a {} does not measure {}", tool.id, row.kind.name()), help));
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
