//! Whether two things are one car.

use crate::walk::SameCarPart;

use super::super::keymap::UiAction;
use super::super::state::{SameCarPage, State};
use super::super::text::{many, when};
use super::super::theme::Tone;
use super::{Body, Lines};

/// Both cars, with what tells them apart, and what each answer does.
pub fn same_car(page: &SameCarPage, state: &State, mut lines: Lines) -> Body {
    let question = &page.question;
    let (here, other) = (&question.here, &question.other);
    let title = if question.joins {
        format!("Another record of car {} is kept here. Is it the same car?", here.number)
    } else {
        format!("Car {} has another file in use. Does this one take its place?", other.number)
    };
    lines.text(Tone::Strong, &title);
    lines.blank();
    let (first, second) = if question.joins { ("This one", "The other") } else { ("This file", "In use") };
    part(first, here, &mut lines);
    part(second, other, &mut lines);
    for differs in &question.differs {
        lines.text(Tone::Fix, &format!("! {differs}."));
    }
    let (yes, no, back) = (state.key(UiAction::Yes), state.key(UiAction::No), state.key(UiAction::Back));
    let (one, two) = if question.joins {
        (
            "It is one car. Both records are read together, nothing is closed by that, and the fuller file is used.",
            "They are two cars. It is not asked again.",
        )
    } else {
        (
            "This file is brought in and used from now on. The old one is kept, and the record goes on.",
            "The file in use stays.",
        )
    };
    lines.pair(&yes, Tone::Strong, one);
    lines.pair(&no, Tone::Strong, two);
    lines.pair(&back, Tone::Plain, "Back to the list. It is asked next time.");
    Body::scrolled(lines.out, page.scroll)
}

fn part(title: &str, part: &SameCarPart, lines: &mut Lines) {
    let known = |word: &Option<String>| word.clone().unwrap_or_else(|| "not said".to_owned());
    let name = format!(
        "{}, {}; keeper {}; class {}",
        part.number,
        known(&part.name),
        known(&part.keeper),
        known(&part.class)
    );
    lines.pair(title, Tone::Plain, &name);
    lines.pair("", Tone::Plain, &part.file);
    let kept = part.last.map_or_else(
        || "nothing kept".to_owned(),
        |last| format!("{}, last {}", many(part.records, "record"), when(last)),
    );
    lines.pair("", Tone::Plain, &format!("{kept}; id {}", part.id));
    let stops = format!("open STOP {}: {}", part.stops.len(), part.stops.join("; "));
    if part.stops.is_empty() {
        lines.pair("", Tone::Plain, "open STOP 0");
    } else {
        lines.pair("", Tone::Stop, &stops);
    }
    lines.blank();
}
