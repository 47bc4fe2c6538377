//! Words from right to left: where the PDF puts them, and what HTML says of them.

use linewalk::model::entry::Outcome;
use linewalk::report::{Kind, Placed, Sheet, build, html, pdf_layout};

use super::report_story::{Story, heron};

/// Margin of a page, in points.
const MARGIN: f32 = 48.0;

/// A text and how it is seen from left to right, brackets turned. Expected by python-bidi 0.6, a program of others for
/// UAX #9, with the paragraph's direction by its first letter.
const SEEN: [(&str, &str); 6] = [
    (
        "\u{5e9}\u{5dc}\u{5d5}\u{5dd} 3/16 \u{5e2}\u{5d5}\u{5dc}\u{5dd} Kft",
        "Kft \u{5dd}\u{5dc}\u{5d5}\u{5e2} 3/16 \u{5dd}\u{5d5}\u{5dc}\u{5e9}",
    ),
    (
        "Kft \u{5e9}\u{5dc}\u{5d5}\u{5dd} 3/16 \u{5e2}\u{5d5}\u{5dc}\u{5dd}",
        "Kft \u{5dd}\u{5dc}\u{5d5}\u{5e2} 3/16 \u{5dd}\u{5d5}\u{5dc}\u{5e9}",
    ),
    (
        "\u{5e6}\u{5d9} (12 mm) \u{5de}\u{5d4}; 5 % \u{5d9}\u{5d5}",
        "\u{5d5}\u{5d9} % 5 ;\u{5d4}\u{5de} (mm 12) \u{5d9}\u{5e6}",
    ),
    (
        "seen \u{5d0}\u{5d1}\u{5d2} 12 mm \u{5d3}\u{5d4}\u{5d5}, then",
        "seen 12 \u{5d2}\u{5d1}\u{5d0} mm \u{5d5}\u{5d4}\u{5d3}, then",
    ),
    ("\u{5d0}\u{5d1}\u{5d2} (\u{5d3}\u{5d4}\u{5d5}) -2", "2- (\u{5d5}\u{5d4}\u{5d3}) \u{5d2}\u{5d1}\u{5d0}"),
    (
        "\u{627}\u{644}\u{633}\u{644}\u{627}\u{645} \u{664}\u{662} \u{639}\u{644}\u{64a}\u{643}\u{645} 3.5",
        "3.5 \u{645}\u{643}\u{64a}\u{644}\u{639} \u{664}\u{662} \u{645}\u{627}\u{644}\u{633}\u{644}\u{627}",
    ),
];

fn noted(note: &str) -> Story {
    let mut story = heron();
    let walk = story.kept[5].id.clone();
    story.answer("2026-11-25T12:00", &walk, "rf-bleeder-at-top", Outcome::Reject, |f| {
        f.note = Some(note.to_owned());
    });
    story
}

/// The text as it is seen: what runs from the right is read backwards, and its brackets turn.
fn seen(line: &Placed) -> String {
    let turned = |c| match c {
        '(' => ')',
        ')' => '(',
        other => other,
    };
    let seen = line.stretches.iter().map(|(_, right_to_left, text)| {
        if *right_to_left { text.chars().rev().map(turned).collect() } else { text.clone() }
    });
    seen.collect()
}

#[test]
fn words_from_the_right_stand_where_they_belong() {
    for (note, wanted) in SEEN {
        let document = noted(note).with(|input| build(input, Kind::Deficiency));
        let pages = pdf_layout(&document, Sheet::A4).unwrap();
        let (page, line) = pages
            .iter()
            .find_map(|page| Some((page, page.lines.iter().find(|line| line.text == note)?)))
            .unwrap_or_else(|| panic!("{note}"));
        assert_eq!(seen(line), wanted, "{note}");
        let ends: Vec<f32> = line.stretches.iter().map(|(from, _, _)| *from).collect();
        assert!(ends.is_sorted() && line.area[0] <= ends[0], "{ends:?}");
        // A paragraph from the right ends at the right margin, any other begins at the left of its column.
        let from_right = !note.starts_with(|c: char| c.is_ascii());
        let ends_right = (page.size[0] - MARGIN - line.area[2]).abs() < 0.1;
        assert_eq!(ends_right, from_right, "{note}: {:?}", line.area);
    }
}

/// A long note from the right fills its column line by line, each ending at the margin.
#[test]
fn every_line_of_a_note_from_the_right_ends_at_the_margin() {
    let note = "\u{5e9}\u{5dc}\u{5d5}\u{5dd} 12 \u{5e2}\u{5d5}\u{5dc}\u{5dd} ".repeat(60);
    let document = noted(&note).with(|input| build(input, Kind::Deficiency));
    let pages = pdf_layout(&document, Sheet::Letter).unwrap();
    let mut lines = 0;
    for page in &pages {
        for line in page.lines.iter().filter(|line| line.text.starts_with(['\u{5e9}', '\u{5e2}'])) {
            assert!((page.size[0] - MARGIN - line.area[2]).abs() < 0.1, "{line:?}");
            lines += 1;
        }
    }
    assert!(lines > 5, "{lines}");
}

#[test]
fn html_lets_every_note_have_its_own_direction() {
    for (note, _) in SEEN {
        let page = noted(note).with(|input| html(&build(input, Kind::Deficiency)));
        assert!(page.contains(&format!("<dd dir=\"auto\">{note}</dd>")), "{note}");
    }
    let mut story = heron();
    story.car.name = Some(SEEN[0].0.to_owned());
    let page = story.with(|input| html(&build(input, Kind::Delivery)));
    assert!(page.contains(&format!("<bdi>Car 62 {}</bdi></h1>", SEEN[0].0)));
}
