//! The blank sheet: the same checks in the same order as a walk, and a worked example that can be keyed in as it stands.

use std::process::{Command, Stdio};

use linewalk::diagnostic::{SourceFile, needs_escape};
use linewalk::model::Car;
use linewalk::model::history::History;
use linewalk::report::{Block, Document, Sheet, SheetInput, html, pdf, pdf_pages, sheet, text};
use linewalk::rules::{Ruleset, lap_for};
use linewalk::units::Units;
use linewalk::walk::{Plan, read_paper};
use unicode_width::UnicodeWidthStr;

use super::report_hostile::hostile;
use super::report_story::{Story, base, heron, sample};

const PROFILES: [&str; 4] = ["owner", "scales", "scales-short", "shop"];

/// The plan of a walk and the sheet made for it.
fn made(rules: &Ruleset, profile: &str, car: Option<&Car>, history: &History) -> (Plan, Document) {
    let any = Car::default();
    let profile = rules.profile(profile).unwrap();
    let of = car.unwrap_or(&any);
    let plan = Plan::lay(rules, of, profile, lap_for(rules, of), None, None, history);
    let asked: Vec<&str> = plan.steps.iter().map(|step| step.check.as_str()).collect();
    let document = sheet(&SheetInput {
        rules,
        profile,
        car,
        edition: None,
        numbers: &[],
        history,
        asked: &asked,
        on: chrono::NaiveDate::from_ymd_opt(2026, 11, 26).unwrap(),
        units: Units::Us,
        shop: None,
        trouble: Vec::new(),
    });
    (plan, document)
}

pub fn of_story(story: &Story, profile: &str) -> (Plan, Document) {
    let history = History::fold(story.kept.iter().cloned());
    made(&story.rules, profile, Some(&story.car), &history)
}

fn ids(document: &Document) -> Vec<&str> {
    let blocks = document.sections.iter().flat_map(|section| &section.blocks);
    let blanks = blocks.filter_map(|block| match block {
        Block::Blank(blank) => Some(blank.check.as_str()),
        _ => None,
    });
    blanks.collect()
}

fn codes(document: &Document) -> Vec<&str> {
    let blocks = document.sections.iter().flat_map(|section| &section.blocks);
    let blanks = blocks.filter_map(|block| match block {
        Block::Blank(blank) => Some(blank.code.as_str()),
        _ => None,
    });
    blanks.collect()
}

fn typed(document: &Document) -> Vec<String> {
    let blocks = document.sections.iter().flat_map(|section| &section.blocks);
    let typed = blocks.filter_map(|block| match block {
        Block::Typed(lines) => Some(lines.clone()),
        _ => None,
    });
    typed.flatten().collect()
}

#[test]
fn the_ids_of_a_sheet_are_those_of_the_walk_in_its_order() {
    let mut story = heron();
    for profile in PROFILES {
        let (plan, document) = of_story(&story, profile);
        let asked: Vec<&str> = plan.steps.iter().map(|step| step.check.as_str()).collect();
        assert_eq!(ids(&document), asked, "{profile}");
        let said = text(&document);
        // Each code once where it is ticked; the worked example names two of them again.
        assert!(codes(&document).iter().all(|code| said.contains(code)), "{profile}");
        let (plan, document) = made(&story.rules, profile, None, &History::default());
        let asked: Vec<&str> = plan.steps.iter().map(|step| step.check.as_str()).collect();
        assert_eq!(ids(&document), asked, "{profile} of any car");
    }
    story.kept.clear();
    let (_, document) = of_story(&story, "scales");
    assert!(document.sections.iter().all(|section| section.title != "Open last time"));
}

#[test]
fn what_was_open_comes_before_the_lap_and_says_what_it_was() {
    let (_, document) = of_story(&heron(), "scales");
    let titles: Vec<&str> = document.sections.iter().map(|section| section.title.as_str()).collect();
    assert_eq!(titles[..2], ["Before anything else", "Open last time"]);
    let said = text(&document).split_whitespace().collect::<Vec<_>>().join(" ");
    let repaired =
        "Last time: lf-hose, said to be repaired, look again, 3/8 in, touches the tyre at left lock";
    assert!(said.contains(repaired), "{said}");
    assert!(said.contains("Last time: undecided, 1/2 in (2026-11-25)."), "{said}");
}

#[test]
fn every_field_has_its_unit_and_its_limit() {
    let (_, document) = made(&base(), "scales", None, &History::default());
    let said = text(&document).split_whitespace().collect::<Vec<_>>().join(" ");
    for field in [
        "Least clearance to any part, at either lock ________________ in (at least 1/2 in) with rule or ________",
        "Broken wires in the braid ________ (at most 0)",
        "bare-tube: ",
        "Last pressure test ____-__-__ (every 5 years)",
        "(exactly as many as the car's release heads)",
        "suppression.bottle.ID.gauge ________ psi",
    ] {
        assert!(said.contains(field), "{field}");
    }
}

#[test]
fn text_of_the_short_sheet() {
    let (_, document) = made(&base(), "scales-short", None, &History::default());
    insta::assert_snapshot!("sheet_text_scales-short", text(&document));
}

#[test]
fn no_line_is_over_80_columns_and_none_commands_a_terminal() {
    let mut story = hostile();
    story.rules.stations[1].caution = Some("<b>\u{1b}[2J\u{202e} =1+1 ".repeat(20));
    for profile in PROFILES {
        let (_, document) = of_story(&story, profile);
        let said = text(&document);
        let widest = said.lines().max_by_key(|line| line.width()).unwrap();
        assert!(widest.width() <= 80, "{widest}");
        assert_eq!(said.chars().find(|c| needs_escape(*c) && *c != '\n'), None);
        assert!(!html(&document).contains("<script") && !html(&document).contains("<b>"));
    }
}

#[test]
fn pdf_has_every_check_and_the_same_bytes_each_time() {
    for (_, document) in [
        of_story(&hostile(), "scales-short"),
        of_story(&Story::empty(sample("minimal")), "owner"),
        made(&base(), "scales-short", None, &History::default()),
    ] {
        let pages = pdf_pages(&document, Sheet::Letter).unwrap().concat();
        assert!(codes(&document).iter().all(|code| pages.contains(code)));
        assert!(pages.matches("not fitted").count() >= ids(&document).len());
        let bytes = pdf(&document, Sheet::Letter).unwrap();
        assert!(bytes.windows(6).any(|bytes| bytes == b"pdfuai"), "the structure falls short of PDF/UA-1");
        assert_eq!(bytes, pdf(&document, Sheet::Letter).unwrap());
    }
}

/// The worked example of every sheet is read without a mistake, and kept as it stands by the program itself.
#[test]
fn the_worked_example_can_be_keyed_in() {
    let scratch = std::env::temp_dir().join(format!("linewalk-sheet-{}", std::process::id()));
    let _ = std::fs::remove_dir_all(&scratch);
    std::fs::create_dir_all(&scratch).unwrap();
    for car in ["heron", "bittern", "minimal"] {
        for profile in PROFILES {
            let (_, document) = of_story(&Story::empty(sample(car)), profile);
            let lines = typed(&document).join("\n");
            let (paper, diagnostics) = read_paper(&SourceFile::new("example", lines.clone()));
            assert!(diagnostics.is_empty(), "{car} {profile}: {lines}");
            assert_eq!(paper.answers.len(), 2, "{car} {profile}: {lines}");
            let file = scratch.join("answers.toml");
            std::fs::write(&file, &lines).unwrap();
            let path = format!("{}/sample-cars/{car}.toml", env!("CARGO_MANIFEST_DIR"));
            let output = Command::new(env!("CARGO_BIN_EXE_linewalk"))
                .args(["walk", &path, "--answers"])
                .arg(&file)
                .env("LINEWALK_DATA_DIR", scratch.join("data"))
                .env("XDG_CONFIG_HOME", scratch.join("config"))
                .env("HOME", &scratch)
                .stdin(Stdio::null())
                .output()
                .unwrap();
            // 1: the example's reject stands open.
            let status = output.status.code().unwrap();
            assert!(status < 2, "{car} {profile}: {}\n{lines}", String::from_utf8_lossy(&output.stderr));
        }
    }
    std::fs::remove_dir_all(&scratch).unwrap();
}
