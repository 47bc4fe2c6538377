//! HTML, PDF and calendar files: the same findings, inert, well formed, the same bytes each time.

use std::fs::File;
use std::io::Read;

use flate2::read::GzDecoder;
use linewalk::model::entry::Outcome;
use linewalk::report::{Document, Kind, Sheet, build, html, ics, json, pdf, pdf_pages, text};

use sha2::{Digest, Sha256};

use super::report_hostile::hostile;
use super::report_story::{Story, heron, sample};

fn document(story: &Story, kind: Kind) -> Document {
    story.with(|input| build(input, kind))
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Text of an HTML page without its tags, entities read.
fn page_text(html: &str) -> String {
    let mut out = String::new();
    let mut inside = false;
    for c in html.split("</style>").last().unwrap().chars() {
        match c {
            '<' => inside = true,
            '>' => {
                inside = false;
                out.push(' ');
            }
            c if !inside => out.push(c),
            _ => {}
        }
    }
    flat(&out.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&"))
}

#[test]
fn every_format_lists_the_same_findings() {
    for kind in [Kind::Deficiency, Kind::Full, Kind::Delivery, Kind::FixFirst, Kind::Slip] {
        let document = document(&heron(), kind);
        let texts = [
            flat(&text(&document)),
            page_text(&html(&document)),
            flat(&pdf_pages(&document, Sheet::A4).unwrap().join("\n")),
        ];
        let facts = json(&document);
        assert!(document.items().count() > 0, "{kind:?}");
        for item in document.items() {
            for said in &texts {
                assert!(said.contains(&item.heading), "{kind:?}: {}", item.heading);
            }
            assert!(facts.contains(&format!("\"check\": \"{}\"", item.check)), "{kind:?}: {}", item.check);
        }
        let open: Vec<&str> = document
            .facts
            .findings
            .iter()
            .filter(|f| f.state.word() == "open")
            .map(|f| f.listed.as_str())
            .collect();
        // A slip has a line for each, as much as goes into it.
        for said in texts.iter().filter(|_| kind != Kind::Slip) {
            assert!(open.iter().all(|title| said.contains(title)), "{kind:?}");
        }
    }
}

#[test]
fn html_of_a_deficiency_report() {
    insta::assert_snapshot!("report_html_deficiency", html(&document(&heron(), Kind::Deficiency)));
}

#[test]
fn html_holds_no_script_and_fetches_nothing() {
    for (_, kind) in Kind::WORDS {
        let page = html(&document(&hostile(), *kind));
        assert!(!page.contains("<script") && !page.contains("<b>"), "{kind:?}");
        for word in ["http:", "https:", "url(", "@import", "src=", "href="] {
            assert!(!page.contains(word), "{kind:?}: {word}");
        }
    }
    assert!(html(&document(&hostile(), Kind::Deficiency)).contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
}

/// Every tag that opens closes, in order.
#[test]
fn html_is_well_nested() {
    const VOID: [&str; 2] = ["meta", "br"];
    for (_, kind) in Kind::WORDS {
        let page = html(&document(&hostile(), *kind));
        let mut open: Vec<String> = Vec::new();
        for tag in page.split('<').skip(2).filter_map(|part| part.split('>').next()) {
            let name = tag.trim_start_matches('/').split(' ').next().unwrap().to_owned();
            if tag.starts_with('/') {
                assert_eq!(open.pop(), Some(name), "{kind:?}");
            } else if !VOID.contains(&name.as_str()) {
                open.push(name);
            }
        }
        assert!(open.is_empty(), "{kind:?}: {open:?}");
    }
}

#[test]
fn pdf_of_every_kind_is_the_same_each_time() {
    for story in [heron(), hostile(), Story::empty(sample("minimal"))] {
        for (word, kind) in Kind::WORDS {
            let one =
                pdf(&document(&story, *kind), Sheet::A4).unwrap_or_else(|error| panic!("{word}: {error}"));
            assert!(one.starts_with(b"%PDF-"), "{word}");
            let claims_access = one.windows(6).any(|bytes| bytes == b"pdfuai");
            assert!(claims_access, "{word}: the structure falls short of PDF/UA-1");
            if *kind == Kind::Deficiency {
                assert_eq!(one, pdf(&document(&story, *kind), Sheet::A4).unwrap(), "{word}");
            }
            if let Ok(folder) = std::env::var("REPORT_SAMPLES") {
                let name = format!("{folder}/{}-{}-{word}", story.car.id, story.kept.len());
                std::fs::write(format!("{name}.pdf"), &one).unwrap();
                std::fs::write(format!("{name}.html"), html(&document(&story, *kind))).unwrap();
                std::fs::write(format!("{name}.ics"), ics(&document(&story, *kind))).unwrap();
            }
        }
    }
}

#[test]
fn pdf_pages_are_numbered_and_lose_nothing() {
    let mut story = heron();
    let walk = story.kept[5].id.clone();
    let note = "abcdefghij ".repeat(200);
    story.answer("2026-11-25T12:00", &walk, "rf-hose-cover-tab-twist", Outcome::Reject, |f| {
        f.note = Some(note.clone());
        f.value = Some("x".repeat(2000));
    });
    for kind in [Kind::Deficiency, Kind::Delivery] {
        let pages = pdf_pages(&document(&story, kind), Sheet::Letter).unwrap();
        for (at, page) in pages.iter().enumerate() {
            assert!(page.ends_with(&format!("page {} of {}", at + 1, pages.len())));
        }
        let all = pages.concat();
        assert!(all.matches("abcdefghij").count() >= 200, "{kind:?}");
        assert!(all.matches('x').count() >= 2000, "{kind:?}");
    }
}

#[test]
fn a_hundred_findings_fit() {
    let mut story = heron();
    let walk = story.kept[5].id.clone();
    let checks: Vec<String> = story.rules.checks.iter().map(|check| check.id.clone()).take(100).collect();
    for (at, check) in checks.iter().enumerate() {
        // Setting 200 000 letters takes a minute unoptimised; a few long notes show the same.
        let note = "n".repeat(if at % 20 == 0 { 2000 } else { 20 });
        story.answer("2026-11-25T12:00", &walk, check, Outcome::Reject, |f| f.note = Some(note));
    }
    let document = document(&story, Kind::Deficiency);
    let said = flat(&pdf_pages(&document, Sheet::A4).unwrap().join("\n"));
    assert!(document.items().all(|item| said.contains(&item.heading)));
    assert!(said.matches('n').count() >= 10_000);
    assert!(pdf(&document, Sheet::A4).is_ok());
}

#[test]
fn calendar_lines_are_folded_and_whole() {
    let mut story = hostile();
    story.car.suppression.bottles[0].id = "b-\u{e9}\u{65e5}".repeat(30);
    let file = ics(&document(&story, Kind::Due));
    assert!(file.ends_with("END:VCALENDAR\r\n"));
    assert!(!file.replace("\r\n", "").contains(['\r', '\n']));
    for line in file.split_terminator("\r\n") {
        assert!(line.len() <= 75, "{} octets: {line}", line.len());
    }
    let unfolded = file.replace("\r\n ", "");
    let begun = unfolded.matches("BEGIN:VEVENT").count();
    assert!(begun > 0);
    assert_eq!(begun, unfolded.matches("END:VEVENT").count());
    let mut uids: Vec<&str> = unfolded.lines().filter(|line| line.starts_with("UID:")).collect();
    assert_eq!(uids.len(), begun);
    uids.sort_unstable();
    uids.dedup();
    assert_eq!(uids.len(), begun, "each event has its own UID");
    assert_eq!(file, ics(&document(&story, Kind::Due)));
}

#[test]
fn calendar_of_a_car() {
    insta::assert_snapshot!("report_ics_due", ics(&document(&heron(), Kind::Due)).replace("\r\n", "\n"));
}

/// RFC 5545, 3.4: a calendar holds one component at least.
#[test]
fn a_calendar_without_a_date_says_so() {
    let file = ics(&document(&Story::empty(sample("minimal")), Kind::Due)).replace("\r\n ", "");
    assert_eq!(file.matches("BEGIN:VTODO").count(), 1, "{file}");
    assert_eq!(file.matches("BEGIN:VEVENT").count(), 0, "{file}");
    assert!(file.contains("no date is given") && file.contains("Check the current rulebook"), "{file}");
}

/// The faces as Debian's package fonts-dejavu-core 2.37-6 has them, by its files' SHA-256.
#[test]
fn the_packed_faces_are_unchanged() {
    for (face, sha256) in [
        ("DejaVuSans", "abdc775b21b1bc470d50c97e790d276f2054b7504e56e5bd3e64f48d68582322"),
        ("DejaVuSans-Bold", "0d977336a6d5fba34eab8e3199eb218327161b5143749f802982c2bc34df0c96"),
    ] {
        let file = format!("{}/src/report/fonts/{face}.ttf.gz", env!("CARGO_MANIFEST_DIR"));
        let mut bytes = Vec::new();
        GzDecoder::new(File::open(file).unwrap()).read_to_end(&mut bytes).unwrap();
        let sum: String = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(sum, sha256, "{face}");
    }
}
