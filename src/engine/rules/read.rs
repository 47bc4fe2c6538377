//! A merged tree to a ruleset.

use crate::diagnostic::{Diagnostic, near_or};
use crate::model::entry::Severity;
use crate::physics::conformity::Shape;
use crate::source::{Reader, Word};
use crate::units::{Kind, accuracies};

use super::condition::Condition;
use super::read_check::check;
use super::refer::cross_check;
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
