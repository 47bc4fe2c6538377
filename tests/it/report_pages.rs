//! What stands on the pages of a PDF and where: nothing cut, nothing over each other, the same words as everywhere else.

use linewalk::model::entry::Outcome;
use linewalk::report::{
    Document, Kind, Placed, Sheet, build, html, ics, json, pdf, pdf_layout, pdf_pages, text,
};
use linewalk::rules::NOTICE;

use super::report_hostile::hostile;
use super::report_story::{Story, heron, sample};
use super::sheet::of_story;

const SHEETS: [Sheet; 2] = [Sheet::A4, Sheet::Letter];

/// Names and notes as people write them: marks over letters, letters that no embedded face has, both directions.
pub const WRITTEN: [&str; 7] = [
    "Zoe\u{308} Ko\u{30b}va\u{301}cs",
    "\u{65e5}\u{672c}\u{8a9e}\u{306e}\u{540d}\u{524d}",
    "hot \u{1f525}\u{1f468}\u{200d}\u{1f527} bottle",
    "\u{5e9}\u{5dc}\u{5d5}\u{5dd} 3/16 \u{5e2}\u{5d5}\u{5dc}\u{5dd} Kft",
    "\u{627}\u{644}\u{633}\u{644}\u{627}\u{645} 42 \u{639}\u{644}\u{64a}\u{643}\u{645}",
    "left \u{202e}thgir\u{202c} \u{2066}mid\u{2069}",
    "=1+1 +cmd|' /C calc'!A0 @SUM(1) -2 \u{1b}[2J",
];

fn document(story: &Story, kind: Kind) -> Document {
    story.with(|input| build(input, kind))
}

fn kinds() -> impl Iterator<Item = Kind> {
    Kind::WORDS.iter().map(|(_, kind)| *kind)
}

/// A hundred findings; some with notes of 2 000 characters, every one with a name that is hard to print.
pub fn crowded() -> Story {
    let mut story = heron();
    let walk = story.kept[5].id.clone();
    let checks: Vec<String> = story.rules.checks.iter().map(|check| check.id.clone()).take(100).collect();
    for (at, check) in checks.iter().enumerate() {
        let written = WRITTEN[at % WRITTEN.len()];
        let long = format!("{written} ").repeat(2000);
        let unbroken = "w".repeat(2000);
        let note: String = match at {
            0..7 => long.chars().take(2000).collect(),
            7 => unbroken,
            _ => written.to_owned(),
        };
        story.answer("2026-11-25T12:00", &walk, check, Outcome::Reject, |f| {
            f.note = Some(note);
            f.by = Some(written.to_owned());
            f.of = Some(format!("part-{at}-{written}"));
        });
    }
    story.car.name = Some(WRITTEN.join(" "));
    story
}

/// Nothing stands off its page; no two lines of running text share a spot.
fn laid_well(document: &Document, sheet: Sheet, what: &str) {
    for (at, page) in pdf_layout(document, sheet).unwrap().iter().enumerate() {
        let [wide, high] = page.size;
        for line in &page.lines {
            let [left, top, right, bottom] = line.area;
            let inside = left >= 0.0 && top >= 0.0 && right <= wide && bottom <= high;
            assert!(inside, "{what}, page {}: {line:?} stands off {wide} x {high}", at + 1);
        }
        let running: Vec<&Placed> = page.lines.iter().filter(|line| !line.on_drawing).collect();
        for (at_line, one) in running.iter().enumerate() {
            let clash = running.iter().skip(at_line + 1).find(|other| overlap(one.area, other.area));
            assert_eq!(clash, None, "{what}, page {}: {one:?}", at + 1);
        }
    }
}

fn overlap([a, b, c, d]: [f32; 4], [e, f, g, h]: [f32; 4]) -> bool {
    const HAIR: f32 = 0.05;
    a + HAIR < g && e + HAIR < c && b + HAIR < h && f + HAIR < d
}

#[test]
fn nothing_is_cut_and_nothing_overlaps() {
    for (name, story) in [
        ("heron", heron()),
        ("hostile", hostile()),
        ("crowded", crowded()),
        ("empty", Story::empty(sample("minimal"))),
    ] {
        for kind in kinds() {
            let document = document(&story, kind);
            let sheets = if name == "crowded" { &SHEETS[..1] } else { &SHEETS[..] };
            for sheet in sheets {
                laid_well(&document, *sheet, &format!("{name} {kind:?} {sheet:?}"));
            }
        }
    }
    for (name, story) in [("hostile", hostile()), ("empty", Story::empty(sample("minimal")))] {
        laid_well(&of_story(&story, "shop").1, Sheet::Letter, name);
    }
}

/// Without any space: where a line breaks is the renderer's own affair.
fn solid(text: &str) -> String {
    text.split_whitespace().collect()
}

/// Text of an HTML page, entities read, tags and spaces gone.
fn page_solid(html: &str) -> String {
    let mut out = String::new();
    let mut inside = false;
    for c in html.split("</style>").last().unwrap().chars() {
        match c {
            '<' => inside = true,
            '>' => inside = false,
            c if !inside => out.push(c),
            _ => {}
        }
    }
    let entities = [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#39;", "'"), ("&amp;", "&")];
    solid(&entities.iter().fold(out, |text, (entity, sign)| text.replace(entity, sign)))
}

/// Where each of these stands in a text, one behind the other.
fn in_order(said: &str, wanted: &[String], what: &str) {
    let mut at = 0;
    for text in wanted {
        let found = said[at..].find(text.as_str()).unwrap_or_else(|| panic!("{what}: not in order: {text}"));
        at += found + text.len();
    }
}

/// Headings and every text of every finding, in one order in text, HTML and PDF; in JSON check, part, note and value.
#[test]
fn every_word_of_every_finding_is_in_every_format_in_one_order() {
    for story in [heron(), hostile()] {
        for kind in kinds() {
            let document = document(&story, kind);
            let wanted: Vec<String> = document
                .items()
                .flat_map(|item| {
                    let number = item.number.map(|number| number.to_string()).unwrap_or_default();
                    [number, solid(&item.heading)]
                        .into_iter()
                        .chain(item.lines.iter().map(|pair| solid(&pair.text)))
                })
                .collect();
            let printed = body_of(&document);
            in_order(&printed, &wanted, &format!("PDF {kind:?}"));
            in_order(&page_solid(&html(&document)), &wanted, &format!("HTML {kind:?}"));
            let plain: Vec<String> = match kind {
                Kind::Slip => wanted.into_iter().filter(|text| text.is_ascii()).collect(),
                _ => wanted,
            };
            in_order(&solid(&text(&document)), &plain, &format!("text {kind:?}"));
            let facts: serde_json::Value = serde_json::from_str(&json(&document)).unwrap();
            for item in document.items() {
                let found = facts["findings"].as_array().unwrap().iter().any(|finding| {
                    finding["check"] == item.check.as_str()
                        && (finding["listed"] == item.heading.as_str()
                            || !item.heading.is_ascii()
                            || kind == Kind::Slip)
                });
                let left = ["not_seen", "not_reached"].iter().any(|list| {
                    facts[list].as_array().unwrap().iter().any(|one| one["check"] == item.check.as_str())
                });
                assert!(found || left, "JSON {kind:?}: {} {:?}", item.check, item.of);
            }
        }
    }
}

/// What is printed without the feet of the pages: each has two parts, drawn last.
fn body_of(document: &Document) -> String {
    let pages = pdf_layout(document, Sheet::A4).unwrap();
    let body = pages.iter().flat_map(|page| &page.lines[..page.lines.len() - 2]);
    body.map(|line| solid(&line.text)).collect()
}

/// A heading stands on the page of what it heads.
#[test]
fn no_heading_stands_alone_at_the_foot_of_a_page() {
    for story in [heron(), crowded()] {
        for kind in kinds() {
            let document = document(&story, kind);
            let titles: Vec<&str> = document.sections.iter().map(|section| section.title.as_str()).collect();
            for page in pdf_layout(&document, Sheet::A4).unwrap() {
                let body = &page.lines[..page.lines.len() - 2];
                let last = body.last().map_or("", |line| line.text.as_str());
                assert!(!titles.contains(&last), "{kind:?}: {last}");
            }
        }
    }
}

/// Every letter of a note is there: as it is where the face has it, spelled in plain letters where not. The readings are
/// those of the Unihan database (kMandarin) and the short name of the sign in the Unicode data.
#[test]
fn letters_without_a_glyph_are_spelled() {
    let story = crowded();
    let printed = solid(&pdf_pages(&document(&story, Kind::Deficiency), Sheet::A4).unwrap().concat());
    for (sign, spelled) in [("\u{65e5}", "Ri"), ("\u{1f525}", "fire")] {
        assert!(printed.contains(spelled), "{spelled}");
        assert!(!printed.contains(sign), "{sign} has no glyph and would print as a box");
    }
    for word in
        ["Ko\u{30b}va\u{301}cs", "\u{5e9}\u{5dc}\u{5d5}\u{5dd}", "\u{639}\u{644}\u{64a}\u{643}\u{645}"]
    {
        assert!(printed.contains(word), "{word}");
    }
    assert!(printed.contains("\\u{202e}thgir") && printed.contains("\\u{1b}[2J"));
    assert!(printed.matches('w').count() >= 2000);
    let slip = text(&document(&story, Kind::Slip));
    assert!(slip.is_ascii() && slip.lines().all(|line| line.len() <= 42));
    assert!(solid(&slip).contains("RiBen") && slip.contains("KOVACS"), "{slip}");
}

#[test]
fn the_notice_stands_at_the_top_and_the_bottom_of_every_format() {
    let notice = solid(NOTICE);
    let story = heron();
    let sheet = of_story(&story, "scales").1;
    for document in kinds().map(|kind| document(&story, kind)).chain([sheet]) {
        let word = document.word;
        for said in [
            solid(&text(&document)),
            page_solid(&html(&document)),
            solid(&pdf_pages(&document, Sheet::Letter).unwrap().concat()),
        ] {
            let places: Vec<usize> = said.match_indices(&notice).map(|(at, _)| at).collect();
            if word == "slip" {
                assert!(!places.is_empty(), "a slip says it once");
                continue;
            }
            assert!(places.len() >= 2, "{word}: {places:?}");
            assert!(places[0] < 400 && said.len() - places[places.len() - 1] < 1000, "{word}: {places:?}");
        }
    }
    let calendar =
        ics(&document(&story, Kind::Due)).replace("\r\n ", "").replace("\\,", ",").replace("\\;", ";");
    assert!(calendar.contains("BEGIN:VEVENT"));
    assert_eq!(calendar.matches(NOTICE).count(), calendar.matches("BEGIN:VEVENT").count());
    for kind in kinds() {
        let facts: serde_json::Value = serde_json::from_str(&json(&document(&story, kind))).unwrap();
        assert!(facts["notice"].to_string().contains(NOTICE), "{kind:?}");
    }
}

#[test]
fn no_car_is_ever_said_to_have_passed() {
    for name in ["bittern", "curlew", "dunlin", "heron", "minimal", "plover"] {
        let mut story = Story::empty(sample(name));
        let walk = story.walk("2026-11-25T10:00", "scales", "R. Noor");
        let checks: Vec<String> = story.rules.checks.iter().map(|check| check.id.clone()).collect();
        for check in &checks {
            story.answer("2026-11-25T10:01", &walk, check, Outcome::Accept, |_| {});
        }
        for kind in kinds() {
            let document = document(&story, kind);
            for said in [
                text(&document),
                html(&document),
                pdf_pages(&document, Sheet::A4).unwrap().concat(),
                json(&document),
                ics(&document),
            ] {
                let said = said.to_lowercase();
                for word in ["passed", "safe to run", "fit to run", "certified"] {
                    assert!(!said.contains(word), "{name} {kind:?}: {word}");
                }
            }
        }
    }
}

/// The same record and day give the same bytes whatever the clock says; another day gives others.
#[test]
fn the_clock_is_not_in_the_bytes() {
    let mut story = heron();
    let before = pdf(&document(&story, Kind::Deficiency), Sheet::A4).unwrap();
    story.now += chrono::Duration::days(3);
    assert_eq!(pdf(&document(&story, Kind::Deficiency), Sheet::A4).unwrap(), before);
    story.on = story.on.succ_opt().unwrap();
    assert_ne!(pdf(&document(&story, Kind::Deficiency), Sheet::A4).unwrap(), before);
}
