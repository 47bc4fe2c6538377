//! Text from files never becomes markup, a terminal command or a broken line.

use linewalk::mistake::is_harmful;
use linewalk::model::entry::Outcome;
use linewalk::report::{Kind, build, json, paper, text};
use unicode_width::UnicodeWidthStr;

use super::report_story::{Story, heron};

/// What a note must never do.
const NOTES: [&str; 6] = [
    "<script>alert(1)</script>",
    "\u{1b}[2J\u{9b}2Jgone",
    "=1+1",
    "\u{202e}esrever",
    "line one\r\nline two\ttab",
    "<b>&amp;\"'",
];

pub fn hostile() -> Story {
    let mut story = heron();
    let walk = story.kept[5].id.clone();
    let checks = ["rf-hose-cover-tab-twist", "lr-caliper-bleeder-and-line", "rf-bleeder-at-top"];
    for (check, notes) in checks.iter().zip(NOTES.chunks(2)) {
        story.answer("2026-11-25T12:00", &walk, check, Outcome::Reject, |f| {
            f.note = Some(notes.join(" "));
            f.of = Some(notes[0].to_owned());
            f.by = Some(notes[1].to_owned());
        });
    }
    story.car.name = Some(NOTES.join(" "));
    story.car.keeper = Some("\u{5d0}\u{5d1}\u{5d2} Kft".to_owned());
    story
}

#[test]
fn text_holds_no_control() {
    for (_, kind) in Kind::WORDS {
        let document = hostile().with(|input| build(input, *kind));
        for said in [text(&document), paper(&document), json(&document)] {
            let bad = said.chars().find(|c| is_harmful(*c) && *c != '\n' && *c != '\u{c}');
            assert_eq!(bad, None, "{kind:?}");
        }
    }
}

#[test]
fn json_keeps_a_note_to_the_letter() {
    let document = hostile().with(|input| build(input, Kind::Deficiency));
    let parsed: serde_json::Value = serde_json::from_str(&json(&document)).unwrap();
    let notes: Vec<&str> =
        parsed["findings"].as_array().unwrap().iter().filter_map(|f| f["note"].as_str()).collect();
    assert!(notes.contains(&"<script>alert(1)</script> \u{1b}[2J\u{9b}2Jgone"), "{notes:?}");
}

#[test]
fn long_notes_wrap_and_lose_nothing() {
    for filler in ["word ", "w", "\u{65e5}"] {
        let mut story = heron();
        let walk = story.kept[5].id.clone();
        let note = filler.repeat(2000 / filler.chars().count());
        story.answer("2026-11-25T12:00", &walk, "rf-hose-cover-tab-twist", Outcome::Reject, |f| {
            f.note = Some(note.clone())
        });
        let said = story.with(|input| text(&build(input, Kind::Deficiency)));
        assert!(
            said.lines().all(|line| line.width() <= 78),
            "{:?}",
            said.lines().max_by_key(|line| line.width())
        );
        let letter = filler.trim();
        assert!(said.matches(letter).count() >= note.matches(letter).count());
    }
}

#[test]
fn no_line_of_any_kind_is_too_wide() {
    for (_, kind) in Kind::WORDS {
        let said = hostile().with(|input| text(&build(input, *kind)));
        let widest = said.lines().max_by_key(|line| line.width()).unwrap_or_default();
        assert!(widest.width() <= 78, "{kind:?}: {widest}");
    }
}
