//! The numbers of a report in short, what was not reached, and drawings: what is told, what is left to the full record.

use linewalk::drawing::discharge_curves;
use linewalk::model::entry::{Entry, JudgedBy, Outcome};
use linewalk::numbers::{Readings, Situation};
use linewalk::physics::discharge::Settings;
use linewalk::report::{Block, Document, Kind, Sheet, build, html, ics, json, paper, pdf, pdf_pages, text};
use linewalk::units::Units;
use unicode_width::UnicodeWidthStr;

use super::report_story::{Story, heron, number, sample, typed};

fn document(story: &Story, kind: Kind) -> Document {
    story.with(|input| build(input, kind))
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The story with three judged numbers of one quantity, at most 1 s: plainly inside, within a tenth, and over.
fn three_arrivals() -> Story {
    let mut story = heron();
    let check = story.rules.check("el-nozzle-aim-hazards").unwrap();
    let arrival = check.compute[0].quantity;
    story.numbers = vec![
        number(arrival, "inside-one", 0.89, None),
        number(arrival, "near-one", 0.9, Some((0.8, 0.96))),
        number(arrival, "over-one", 1.01, None),
    ];
    story
}

#[test]
fn a_number_well_inside_its_limit_is_left_to_the_full_record() {
    let story = three_arrivals();
    let said = text(&document(&story, Kind::Deficiency));
    assert!(said.contains("made.arrival over-one  1.01 s"), "{said}");
    assert!(said.contains("made.arrival near-one  0.9 s"), "{said}");
    assert!(!said.contains("inside-one"), "{said}");
    let row = |of: &str| said.lines().rfind(|line| line.contains(of)).unwrap().to_owned();
    assert!(row("over-one").ends_with("max 1 s  REJECT"), "{said}");
    assert!(row("near-one").ends_with("max 1 s  near"), "{said}");
    assert!(flat(&said).contains("1 more number is well inside its limit: see the full record."), "{said}");
    let whole = text(&document(&story, Kind::Full));
    let row = whole.lines().find(|line| line.contains("inside-one")).unwrap();
    assert!(row.ends_with("max 1 s  inside"), "{row}");
    assert!(
        flat(&whole).contains("Assumed: suppression.line.roughness. By: worked by hand; a test"),
        "{whole}"
    );
}

#[test]
fn a_note_on_several_numbers_is_said_once() {
    let mut story = three_arrivals();
    for answer in &mut story.numbers {
        let linewalk::numbers::Answer::Number(number) = answer else { panic!("a number") };
        number.notes = vec!["cold agent".to_owned()];
        number.value = linewalk::numbers::NumberValue::Number(2.0);
    }
    let said = text(&document(&story, Kind::Deficiency));
    assert_eq!(said.matches("cold agent").count(), 1, "{said}");
}

#[test]
fn few_checks_not_reached_are_named_and_many_are_counted() {
    let story = heron();
    let many = flat(&text(&document(&story, Kind::Deficiency)));
    assert!(many.contains("- Nose, 3: NS03, NS04, NS05."), "{many}");
    assert!(many.contains("Every flare joint keeps to one angle [stop]"), "stops are named");
    assert!(many.contains("Left front bleed screw is the highest point [open from an earlier walk]"));
    let mut story = heron();
    let walk =
        story.kept.iter().rfind(|kept| matches!(kept.entry, Entry::WalkStarted(_))).unwrap().id.clone();
    let left: Vec<String> = document(&story, Kind::Deficiency)
        .facts
        .not_reached
        .iter()
        .map(|check| check.check.clone())
        .filter(|id| !id.starts_with("papers") && !id.starts_with("ask"))
        .collect();
    for check in left {
        story.answer("2026-11-25T10:50", &walk, &check, Outcome::Accept, |_| {});
    }
    let few = flat(&text(&document(&story, Kind::Deficiency)));
    assert!(
        few.contains("- Nose: NS03 Fire system papers describe what is on the car; NS04 Brake work done"),
        "{few}"
    );
}

/// A number that a person's or the program's answer rests on is told by its name, not taken for a typed value.
#[test]
fn what_was_seen_names_the_number_it_rests_on() {
    let mut story = Story::empty(sample("plover"));
    let walk = story.walk("2026-11-25T10:00", "scales", "R. Noor");
    story.answer("2026-11-25T10:01", &walk, "lk-sleeve-present", Outcome::Reject, |f| {
        f.of = Some("ls-front".to_owned());
        // 0.009 in is 0.2286 mm.
        f.value = Some("0.009 in".to_owned());
        (f.si, f.unit) = (Some(0.000_228_6), Some("m".to_owned()));
        f.verdict = Some(Outcome::Reject);
    });
    story.answer("2026-11-25T10:02", &walk, "fw-master-port-assignment", Outcome::Reject, |f| {
        f.of = Some("tandem".to_owned());
        f.value = Some("no".to_owned());
        f.verdict = Some(Outcome::Reject);
        f.judged_by = JudgedBy::Program;
    });
    let said = flat(&text(&document(&story, Kind::Deficiency)));
    assert!(
        said.contains(
            "Seen Sleeve bore less the lines it carries, either system, 0.009 in: below the minimum, 0.125 in"
        ),
        "{said}"
    );
    assert!(said.contains("Seen Ports plumbed to what they are made for, no, wanted yes"), "{said}");
}

/// Of a whole check both stand in one place: a worked-out number with all its digits, a typed value with its text's.
#[test]
fn a_number_of_a_whole_check_is_not_taken_for_a_typed_value() {
    let number = (
        "0.009 in",
        0.000_228_604,
        "Sleeve bore less the lines it carries, either system, 0.009 in: below the minimum, 0.125 in",
    );
    // 1 1/4 in less 0.9 in.
    let measured = ("0.9 in", 0.9 * 0.0254, "0.9 in: 0.35 in below the minimum, 1 1/4 in");
    for (first_format, (value, si, wanted)) in
        [(true, number), (true, measured), (false, number), (false, measured)]
    {
        let mut story = Story::empty(sample("plover"));
        let walk = story.walk("2026-11-25T10:00", "scales", "R. Noor");
        story.answer("2026-11-25T10:01", &walk, "lk-sleeve-present", Outcome::Reject, |f| {
            (f.value, f.si, f.unit) = (Some(value.to_owned()), Some(si), Some("m".to_owned()));
            f.verdict = Some(Outcome::Reject);
            // The first format did not say which it is: read, it stands as both.
            if first_format || value == "0.9 in" {
                f.rows = typed(&[("", value)]);
                f.value = f.value.take().filter(|_| first_format);
            }
        });
        let said = flat(&text(&document(&story, Kind::Deficiency)));
        assert!(said.contains(&format!("Seen {wanted}")), "{said}");
    }
}

#[test]
fn empty_everything_in_metric_in_every_kind_and_format() {
    let mut story = Story::empty(sample("minimal"));
    story.profile = None;
    for (word, kind) in Kind::WORDS {
        let document = story
            .with(|input| build(&linewalk::report::Input { units: Units::Metric, ..input.clone() }, *kind));
        let said = text(&document);
        assert!(
            said.to_lowercase().contains("nothing has been checked") || *kind == Kind::Due,
            "{word}: {said}"
        );
        for line in said.lines() {
            assert!(line.width() <= 76, "{word}: {line}");
        }
        assert!(!paper(&document).is_empty() && json(&document).starts_with('{'));
        assert!(html(&document).ends_with("</html>\n") && ics(&document).starts_with("BEGIN:VCALENDAR"));
        assert!(pdf(&document, Sheet::A4).is_ok(), "{word}");
    }
}

fn pictures(document: &Document) -> usize {
    let blocks = document.sections.iter().flat_map(|section| &section.blocks);
    blocks.filter(|block| matches!(block, Block::Picture(_))).count()
}

#[test]
fn open_items_stand_on_the_drawing_by_their_code() {
    let mut story = heron();
    let car = story.car.clone();
    let situation = Situation::with(&car, Readings::default(), story.on, Settings::CLOSE.with_curves());
    story.curves = discharge_curves(&situation).0;
    for (kind, drawn) in [
        (Kind::Deficiency, 3),
        (Kind::FixFirst, 3),
        (Kind::Full, 3 + 3 * story.curves.len()),
        (Kind::Delivery, 3 + 3 * story.curves.len()),
        (Kind::Slip, 0),
        (Kind::Due, 0),
    ] {
        let document = document(&story, kind);
        assert_eq!(pictures(&document), drawn, "{kind:?}");
        let page = html(&document);
        assert_eq!(page.matches("<figure").count(), drawn, "{kind:?}");
        assert!(!text(&document).contains("TO SCALE"), "{kind:?}");
        if drawn > 0 {
            let open = document.items().find(|item| item.check == "rf-hose-at-steer-lock").unwrap();
            let mark = format!("{} {}", open.code, open.heading);
            assert!(page.contains(&mark), "{kind:?}: {mark}");
            let printed = pdf_pages(&document, Sheet::A4).unwrap().concat();
            assert!(printed.contains("open item, by code"), "{kind:?}");
        }
    }
}

#[test]
fn words_on_a_drawing_stay_words() {
    let mut story = heron();
    story.rules.stations[0].title = "<script>alert(1)</script>\u{1b}[2J\u{202e}".to_owned();
    for check in &mut story.rules.checks {
        check.title = "\"><b>&\u{9b}".to_owned();
    }
    let document = document(&story, Kind::Deficiency);
    let page = html(&document);
    assert!(!page.contains("<script") && !page.contains("<b>"));
    assert!(!page.contains('\u{1b}') && !page.contains('\u{9b}') && !page.contains('\u{202e}'));
    assert!(pdf(&document, Sheet::A4).is_ok());
}
