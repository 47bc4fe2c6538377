//! The pressure hold, and the end of a walk.

use crate::rules::{CLOSING, NOTICE};

use super::super::state::{EndPage, HoldPage, HoldStep, State};
use super::super::text::{clock, many, result_mark, result_word};
use super::super::theme::{Tone, of_outcome};
use super::{Body, Lines};

/// A pressure hold.
pub fn hold(page: &HoldPage, state: &State, mut lines: Lines) -> Body {
    let circuit = page.circuits.get(page.at).map_or("", String::as_str);
    let kind = if page.word == "hold_low" { "Low-pressure hold" } else { "Pressure hold" };
    lines.text(Tone::Strong, &format!("{kind}, circuit {circuit}"));
    lines.pair(
        "CAUTION",
        Tone::Stop,
        "Stay clear of the fittings while the circuit is under pressure. Fluid harms eyes and paint.",
    );
    lines.blank();
    for (what, value) in &page.readings {
        lines.pair("Kept", Tone::Plain, &format!("{what}: {value}"));
    }
    let next = match page.step {
        HoldStep::Ready => {
            "Let the temperature and the needle settle for a minute, then press Enter: temperature first, then pressure."
        }
        HoldStep::StartPressure => {
            "Enter: type the pressure at the start. The clock runs as soon as it is kept."
        }
        HoldStep::Running(_) => "Enter stops the clock. Esc leaves it running.",
        HoldStep::EndPressure => "Enter: type the pressure at the end.",
        HoldStep::EndTemperature => "Enter: type the temperature at the end.",
        HoldStep::Done => "Everything is kept. Enter goes back to the check.",
    };
    if let HoldStep::Running(since) = page.step {
        let gone = (state.now - since).num_seconds().max(0);
        lines.blank();
        let wanted = page.wanted.map_or_else(String::new, |wanted| format!(" of {} wanted", clock(wanted)));
        let tone =
            if page.wanted.is_some_and(|wanted| gone as f64 >= wanted) { Tone::Good } else { Tone::Strong };
        let enough = if tone == Tone::Good { " - long enough" } else { "" };
        lines.text(tone, &format!("CLOCK  {}{wanted}{enough}", clock(gone as f64)));
    }
    lines.blank();
    lines.text(Tone::Plain, next);
    Body::plain(lines.out)
}

/// What the walk came to.
pub fn end(page: &EndPage, state: &State, mut lines: Lines) -> Body {
    let summary = &page.summary;
    let number = state.walk.as_ref().map_or("", |walk| walk.start.car.number.as_str());
    let head = if page.ended {
        format!("Car {number}: the walk has ended.")
    } else {
        format!("Car {number}: the end of the walk.")
    };
    lines.text(Tone::Strong, &head);
    let signed: Vec<String> =
        summary.signatures.iter().filter_map(|(role, by)| Some(format!("{role} {}", by.as_ref()?))).collect();
    if page.ended {
        let by =
            if signed.is_empty() { String::new() } else { format!(", signed by {}", signed.join(" and ")) };
        let text = format!("Locked{by}: a later answer begins a new walk, taking one back asks why.");
        lines.pair("Record", Tone::Good, &text);
    } else {
        lines.pair("Sign", Tone::Strong, "Read this, then type the number of the car in front of you.");
    }
    lines.pair("State", Tone::Strong, &summary.state);
    let open = summary.open_words();
    let [stop, ..] = summary.open;
    let tone = if stop > 0 { Tone::Stop } else { Tone::Strong };
    lines.pair("Open", tone, &open);
    if stop > 0 {
        lines.pair(
            "",
            Tone::Stop,
            "The car does not run until every STOP item is mended, looked at again and accepted.",
        );
    }
    lines.pair("Checks", Tone::Plain, &summary.checks);
    for (outcome, count) in &summary.counts {
        let text = format!("{} {} {}", result_mark(*outcome), many(*count, "check"), result_word(*outcome));
        lines.pair("Answers", of_outcome(*outcome), &text);
    }
    lines.pair("Given", Tone::Plain, &summary.given);
    for (role, by) in &summary.signatures {
        let by = by.as_deref().unwrap_or("not signed yet");
        lines.pair("Signature", Tone::Plain, &format!("{role}: {by}"));
    }
    listed("Noted", &summary.noted, &mut lines);
    let drafts = if page.ended { Vec::new() } else { state.drafted() };
    listed("Draft", &drafts, &mut lines);
    listed("Not seen", &summary.not_seen, &mut lines);
    listed("Not done", &summary.not_reached, &mut lines);
    lines.blank();
    lines.text(Tone::Strong, NOTICE);
    lines.text(Tone::Dim, CLOSING);
    Body::scrolled(lines.out, page.scroll)
}

fn listed(label: &str, titles: &[String], lines: &mut Lines) {
    let (one, what) = match label {
        "Not seen" => ("check", "could not be seen, never counted as accepted"),
        "Noted" => ("note", "not judged"),
        "Draft" => ("check", "with a draft that is not in the record"),
        _ => ("check", "not reached"),
    };
    if !titles.is_empty() {
        lines.pair(label, Tone::Fix, &format!("{} {what}:", many(titles.len(), one)));
    }
    for title in titles {
        lines.pair("", Tone::Plain, title);
    }
}
