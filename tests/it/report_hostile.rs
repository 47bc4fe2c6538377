//! Text from files never becomes markup, a terminal command or a broken line.

use linewalk::diagnostic::needs_escape;
use linewalk::logbook::export::{csv, json as export_json};
use linewalk::model::entry::Outcome;
use linewalk::report::{Kind, Sheet, build, html, ics, json, paper, pdf_pages, text};
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
            let bad = said.chars().find(|c| needs_escape(*c) && *c != '\n' && *c != '\u{c}');
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

/// In the table for other programs no cell begins as a formula, and nothing commands a terminal.
#[test]
fn exports_are_inert() {
    let mut story = heron();
    let walk = story.kept[5].id.clone();
    let notes =
        ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(1)", "\t=1", "\u{1b}[2J\u{9b}2J", "\u{202e}esrever"];
    for note in notes {
        story.answer("2026-11-25T12:00", &walk, "rf-bleeder-at-top", Outcome::Reject, |f| {
            f.note = Some(note.to_owned());
            f.by = Some(note.to_owned());
        });
    }
    let table = csv(&story.kept);
    for cell in table.split(['\n', ',']).map(|cell| cell.trim_start_matches('"')) {
        assert!(!cell.starts_with(['=', '+', '@', '\t']), "{cell}");
        assert!(!cell.starts_with('-') || cell.trim_end_matches('"').parse::<f64>().is_ok(), "{cell}");
    }
    assert!(table.contains("'=1+1") && table.contains("\\u{1b}[2J"));
    let json = export_json(&story.kept, &[]);
    for said in [table, json.clone()] {
        let bad = said.chars().find(|c| needs_escape(*c) && !matches!(c, '\n' | '\r' | '\t'));
        assert_eq!(bad, None);
    }
    let parsed: serde_json::Value = serde_json::from_str(&json).unwrap();
    let kept = parsed["records"].as_array().unwrap();
    for note in notes {
        assert!(kept.iter().any(|record| record["note"] == note), "{note:?} is kept to the letter");
    }
}

/// A note of a formula stays the words it is in every format, and markup stays words.
#[test]
fn notes_are_words_in_every_format() {
    for (_, kind) in Kind::WORDS {
        let document = hostile().with(|input| build(input, *kind));
        let page = html(&document);
        for word in ["<script", "<b>", "\u{1b}", "\u{9b}", "\u{202e}"] {
            assert!(!page.contains(word), "{kind:?}: {word:?}");
        }
        let printed = pdf_pages(&document, Sheet::A4).unwrap().concat();
        assert_eq!(printed.chars().find(|c| needs_escape(*c) && *c != '\n'), None, "{kind:?}");
        let calendar = ics(&document);
        assert_eq!(
            calendar.chars().find(|c| needs_escape(*c) && !matches!(c, '\r' | '\n')),
            None,
            "{kind:?}"
        );
    }
}
