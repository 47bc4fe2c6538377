//! Reports: one document, and every format saying the same.

use linewalk::model::entry::{Entry, Outcome, Reading, Severity};
use linewalk::numbers::{Answer, NumberValue, Shown, reading_keys};
use linewalk::report::{
    Block, Document, FindingFact, Kind, State, build, exit_status, html, json, paper, text,
};

use linewalk::units::Kind as UnitKind;

use super::report_story::{Story, heron, sample};

fn document(story: &Story, kind: Kind) -> Document {
    story.with(|input| build(input, kind))
}

fn all_kinds() -> impl Iterator<Item = Kind> {
    Kind::WORDS.iter().map(|(_, kind)| *kind)
}

#[test]
fn text_of_every_kind() {
    let mut story = heron();
    for kind in all_kinds().filter(|kind| *kind != Kind::Delivery) {
        insta::assert_snapshot!(format!("report_text_{}", kind.word()), text(&document(&story, kind)));
    }
    story.profile = Some("shop");
    story.shop = Some(linewalk::report::Shop {
        name: "Northmere Fabrication".to_owned(),
        address: "4 Mill Lane, Northmere".to_owned(),
    });
    insta::assert_snapshot!("report_text_delivery", text(&document(&story, Kind::Delivery)));
}

#[test]
fn json_has_its_keys_in_order() {
    let value = json(&document(&heron(), Kind::Deficiency));
    let parsed: serde_json::Value = serde_json::from_str(&value).unwrap();
    assert_eq!(parsed["format"], 1);
    assert_eq!(parsed["car"], "heron");
    let keys = [
        "format",
        "kind",
        "car",
        "file",
        "number",
        "state",
        "state_words",
        "checks",
        "rules",
        "notice",
        "findings",
        "how_given",
        "not_seen",
        "not_reached",
        "left_out",
        "due",
        "numbers",
        "cautions",
    ];
    let mut at = 0;
    for key in keys {
        let found =
            value[at..].find(&format!("\n  \"{key}\":")).unwrap_or_else(|| panic!("{key} is out of order"));
        at += found;
    }
    assert_eq!(parsed.as_object().unwrap().len(), keys.len());
    let first = value.find("\"findings\"").unwrap();
    let finding = [
        "\"walk\"",
        "\"check\"",
        "\"title\"",
        "\"result\"",
        "\"severity\"",
        "\"rules\"",
        "\"state\"",
        "\"id\"",
    ];
    let mut at = first;
    for key in finding {
        at += value[at..].find(key).unwrap();
    }
    insta::assert_snapshot!(
        "report_json_findings",
        serde_json::to_string_pretty(&parsed["findings"]).unwrap()
    );
}

#[test]
fn every_state_is_told() {
    let document = document(&heron(), Kind::Deficiency);
    let state = |check: &str| {
        let by_person = |fact: &&FindingFact| fact.finding.check == check && !fact.finding.is_computed();
        document.facts.findings.iter().find(by_person).map(|fact| fact.state)
    };
    assert_eq!(state("lf-hose-at-steer-lock"), Some(State::Repaired));
    assert_eq!(state("rf-hose-at-steer-lock"), Some(State::Open));
    assert_eq!(state("lf-bleeder-at-top"), Some(State::Open));
    assert_eq!(state("lf-hose-droop-and-bump"), Some(State::NotSeen));
    assert_eq!(state("papers-hold-test-sheet"), Some(State::NotYet));
    assert_eq!(state("el-nozzle-aim-hazards"), Some(State::Closed));
    assert_eq!(state("el-line-to-exhaust-gap"), Some(State::AcceptedAgainstLimit));
    assert_eq!(state("car-made-safe"), None, "a plain accept is no finding of a deficiency report");
}

#[test]
fn worst_first_then_lap_order() {
    let document = document(&heron(), Kind::Deficiency);
    let severities: Vec<Severity> = document.items().filter_map(|item| item.severity).collect();
    assert!(severities.is_sorted(), "{severities:?}");
    let numbers: Vec<usize> = document.items().filter_map(|item| item.number).collect();
    assert_eq!(numbers, (1..=numbers.len()).collect::<Vec<_>>());
}

#[test]
fn never_says_that_a_car_passed() {
    for story in [heron(), Story::empty(sample("minimal"))] {
        for kind in all_kinds() {
            let said = text(&document(&story, kind)).to_lowercase();
            assert!(!said.contains("passed"), "{kind:?}");
        }
    }
}

#[test]
fn notice_stands_at_top_and_bottom() {
    for kind in all_kinds() {
        let flat = text(&document(&heron(), kind)).split_whitespace().collect::<Vec<_>>().join(" ");
        // A slip is short: the notice stands at its foot.
        let is_slip = kind == Kind::Slip;
        assert_eq!(flat.matches(linewalk::rules::NOTICE).count(), if is_slip { 1 } else { 2 }, "{kind:?}");
        assert_eq!(flat.contains("They are not the ruling of any event"), !is_slip, "{kind:?}");
    }
}

#[test]
fn a_car_without_a_log() {
    let story = Story::empty(sample("minimal"));
    let said = text(&document(&story, Kind::Deficiency));
    assert!(said.contains("nothing has been checked"));
    assert!(!story.with(exit_status));
    for kind in all_kinds() {
        assert!(!text(&document(&story, kind)).is_empty());
    }
}

#[test]
fn a_slip_is_42_columns_of_ascii() {
    let mut story = heron();
    let walk = story.kept[5].id.clone();
    story.answer("2026-11-25T12:00", &walk, "rf-hose-cover-tab-twist", Outcome::Reject, |f| {
        f.note = Some(format!("Ünïcödé ½ in – {} 日本 {}", "x".repeat(90), "y".repeat(30)));
    });
    let slip = text(&document(&story, Kind::Slip));
    for line in slip.lines() {
        assert!(line.len() <= 42, "{} columns: {line}", line.len());
        assert!(line.bytes().all(|byte| (b' '..=b'~').contains(&byte)), "{line}");
    }
    assert_eq!(slip.lines().last(), Some("decides. This is not a certification."));
    let newest = &story.kept.last().unwrap().id;
    assert!(slip.contains(&format!("record {}", &newest[newest.len() - 8..])), "{slip}");
}

#[test]
fn paper_has_pages_of_66_lines() {
    let printed = paper(&document(&heron(), Kind::Full));
    let pages: Vec<&str> = printed.split_terminator('\u{c}').collect();
    for (at, page) in pages.iter().enumerate() {
        assert!(page.lines().count() <= 66);
        assert!(page.trim_end().ends_with(&format!("page {} of {}", at + 1, pages.len())));
    }
}

#[test]
fn exit_status_follows_open_stops() {
    let mut story = Story::empty(sample("heron"));
    let walk = story.walk("2026-11-25T10:00", "scales", "R.N.");
    assert!(!story.with(exit_status));
    let stop = story
        .rules
        .checks
        .iter()
        .find(|c| c.severity == Severity::Stop && c.profiles.contains(&"scales".to_owned()))
        .unwrap()
        .id
        .clone();
    let fix = story
        .rules
        .checks
        .iter()
        .find(|c| c.severity == Severity::Fix && c.profiles.contains(&"scales".to_owned()))
        .unwrap()
        .id
        .clone();
    story.answer("2026-11-25T10:01", &walk, &fix, Outcome::Reject, |_| {});
    assert!(!story.with(exit_status), "a fix item does not stop a car");
    for result in [Outcome::Reject, Outcome::Undecided, Outcome::Repaired, Outcome::NotYet, Outcome::NotSeen]
    {
        story.answer("2026-11-25T10:02", &walk, &stop, result, |_| {});
        assert!(story.with(exit_status), "{result:?}");
    }
    story.answer("2026-11-25T10:03", &walk, &stop, Outcome::Accept, |_| {});
    assert!(!story.with(exit_status), "the re-check closes it");
    story.complete = true;
    assert!(story.with(exit_status), "stop checks were not reached");
    story.complete = false;
    story.answer("2026-11-25T10:04", &walk, &fix, Outcome::Reject, |f| f.severity = Severity::Stop);
    assert!(story.with(exit_status), "a person raised it to a stop");
}

/// A bulletin that switches a check off, and a checklist that does not hold it, close nothing that somebody found.
#[test]
fn no_rule_file_and_no_checklist_closes_a_stop() {
    let mut story = Story::empty(sample("heron"));
    let walk = story.walk("2026-11-25T10:00", "scales", "R.N.");
    story.answer("2026-11-25T10:01", &walk, "lf-hose-at-steer-lock", Outcome::Reject, |_| {});
    story.rules.checks.retain(|check| check.id != "lf-hose-at-steer-lock");
    story.rules.dropped.push(linewalk::rules::Dropped {
        id: "lf-hose-at-steer-lock".to_owned(),
        title: "Left front hose".to_owned(),
        reason: "our cars have none".to_owned(),
        layer: "club".to_owned(),
    });
    assert!(story.with(exit_status));
    let said = text(&document(&story, Kind::Deficiency)).replace('\n', " ");
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    let why = "this checklist no longer asks it: switched off by club, our cars have none";
    assert!(said.contains(why) && said.contains("open 1 stop"), "{said}");
}

/// What was not seen is looked at; nothing is mended and nothing bought for it.
#[test]
fn what_was_not_seen_is_looked_at_and_wants_no_parts() {
    let mut story = Story::empty(sample("heron"));
    let walk = story.walk("2026-11-25T10:00", "scales", "R.N.");
    story.answer("2026-11-25T10:01", &walk, "lf-hose-at-steer-lock", Outcome::NotSeen, |_| {});
    let parts = story.rules.check("lf-hose-at-steer-lock").unwrap().words.parts.clone();
    let said = text(&document(&story, Kind::FixFirst));
    assert!(said.contains("Go and look.") && !parts.is_empty(), "{said}");
    assert!(parts.iter().all(|part| !said.contains(part.as_str())), "{said}");
}

#[test]
fn stale_rules_are_said_first() {
    let mut story = heron();
    story.on = chrono::NaiveDate::from_ymd_opt(2028, 1, 1).unwrap();
    story.trouble = vec!["The last line of the log was torn and is set aside.".to_owned()];
    let document = document(&story, Kind::Deficiency);
    assert!(document.warnings[0].contains("stale"));
    assert!(document.warnings[1].contains("torn"));
}

#[test]
fn every_kind_and_form_says_that_the_rules_are_stale() {
    let mut story = heron();
    story.on = chrono::NaiveDate::from_ymd_opt(2028, 1, 1).unwrap();
    for kind in all_kinds() {
        let document = document(&story, kind);
        let flat = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
        for said in [flat(text(&document)), flat(html(&document)), json(&document)] {
            let at = said.find("rules are stale").unwrap_or_else(|| panic!("{kind:?}: {said}"));
            assert!(said.len() > at, "{kind:?}");
        }
        // Nothing but the title stands before it.
        let lines = text(&document);
        let line = lines.lines().position(|line| line.contains("stale")).unwrap();
        assert!(line < 12, "{kind:?}: line {line}");
    }
}

#[test]
fn the_same_record_gives_the_same_text() {
    for kind in all_kinds() {
        let (one, two) = (heron(), heron());
        assert_eq!(text(&document(&one, kind)), text(&document(&two, kind)));
        assert_eq!(json(&document(&one, kind)), json(&document(&two, kind)));
    }
}

#[test]
fn judged_numbers_come_first_and_say_where_they_stand() {
    let document = document(&heron(), Kind::Deficiency);
    let numbers = &document.facts.numbers;
    assert_eq!(numbers[0].quantity, "made.arrival");
    assert_eq!(numbers[0].verdict, Some(Outcome::Reject));
    assert_eq!(numbers[0].check.as_deref(), Some("el-nozzle-aim-hazards"));
    assert_eq!(numbers[0].says.as_deref(), Some("1.31 s: above the maximum, 1 s"));
    assert_eq!(numbers[1].refused.as_deref(), Some("suppression.bottle.mount.bolt is not given"));
    assert!(numbers[2].check.is_none());
}

#[test]
fn the_schedule_takes_its_lengths_from_the_numbers() {
    let mut story = heron();
    let answer = story.numbers[0].clone();
    let Answer::Number(mut number) = answer else { panic!("a number") };
    number.quantity = "line.length";
    number.of = "rear-run".to_owned();
    number.value = NumberValue::Number(2.13);
    number.shown_as = Shown::Kind(UnitKind::Length);
    story.numbers = vec![Answer::Number(number)];
    let said = text(&document(&story, Kind::Delivery));
    // 2.13 m / 0.0254 m = 83.858 in.
    assert!(said.contains("Developed length  83.86 in"), "{said}");
    assert!(said.contains("ll-rear in left-lower"));
}

/// Three walks: opened in the first, said to be repaired in the second, looked at again in the third. Who did what when is
/// in what changed.
#[test]
fn a_repair_is_told_with_who_said_so_and_who_looked() {
    let mut story = heron();
    let third = story.walk("2026-11-26T09:00", "scales", "M. Vane");
    story.answer("2026-11-26T09:05", &third, "lf-hose-at-steer-lock", Outcome::Accept, |f| {
        f.of = Some("lf-hose".to_owned());
    });
    story.answer("2026-11-26T09:10", &third, "rf-bleeder-at-top", Outcome::Reject, |_| {});
    let document = story.with(|input| build(input, Kind::Deficiency));
    let changes = document.sections.iter().find(|section| section.title.starts_with("Changes")).unwrap();
    let Some(Block::List(points)) = changes.blocks.last() else { panic!("{changes:?}") };
    let title = |check: &str| story.rules.check(check).unwrap().title.clone();
    let hose = title("lf-hose-at-steer-lock");
    let closed = format!(
        "Closed: {hose} (lf-hose), said to be repaired by R. Noor, entered 2026-11-25 10:05 -05:00; \
         looked at again and accepted by M. Vane, entered 2026-11-26 09:05 -05:00."
    );
    assert!(points.contains(&closed), "{points:?}");
    assert_eq!(points[0], format!("New: {}.", title("rf-bleeder-at-top")));
    let still = format!("Still open: {}", title("rf-hose-at-steer-lock"));
    assert!(points.iter().any(|point| point.starts_with(&still)), "{points:?}");
}

/// A delivery is signed by who did the work and by who checked it, after a walk that only an inspector signs too.
#[test]
fn a_delivery_is_signed_by_doer_and_checker() {
    let document = heron().with(|input| build(input, Kind::Delivery));
    let Some(Block::Signatures(lines)) = document.sections.last().and_then(|last| last.blocks.first()) else {
        panic!("a delivery ends with its signatures")
    };
    let roles: Vec<(&str, bool)> =
        lines.iter().map(|line| (line.role.as_str(), line.signed.is_some())).collect();
    assert_eq!(roles, [("fitter", false), ("checker", false), ("inspector", true)]);
}

/// What is read off an instrument has a name for people who never key it in.
#[test]
fn every_reading_has_a_name_in_plain_words() {
    for name in ["bittern", "curlew", "dunlin", "heron", "plover"] {
        let mut story = Story::empty(sample(name));
        story.walk("2026-11-25T10:00", "shop", "R. Noor");
        let keys = reading_keys(&story.car);
        assert!(keys.len() > 10, "{name}");
        for (key, _) in &keys {
            let json = serde_json::json!({ "key": key, "value": "1", "by": "R. Noor" });
            let reading: Reading = serde_json::from_value(json).unwrap();
            story.keep("2026-11-25T10:05", Entry::Reading(reading));
        }
        for kind in [Kind::Full, Kind::Delivery] {
            let document = story.with(|input| build(input, kind));
            let readings = document.sections.iter().find(|section| section.title == "Readings").unwrap();
            let Block::Table(table) = &readings.blocks[0] else { panic!("{readings:?}") };
            for row in &table.rows {
                assert!(!row[0].contains(['.', '_']), "{name} {kind:?}: {}", row[0]);
            }
            let holds = keys.iter().filter(|(key, _)| key.contains(".hold")).count();
            let left_out = if kind == Kind::Delivery { holds } else { 0 };
            assert_eq!(table.rows.len(), keys.len() - left_out, "{name} {kind:?}");
            assert!(text(&document).contains("PRESSURE-HOLD TESTS") == (kind == Kind::Delivery));
        }
    }
}

/// A note without an answer is on every paper, and none says that nothing was noted while it stands.
#[test]
fn a_note_that_nobody_judged_is_on_every_paper() {
    let mut story = Story::empty(sample("minimal"));
    let walk = story.walk("2026-11-25T10:00", "scales", "R. Noor");
    story.answer("2026-11-25T10:01", &walk, "car-made-safe", Outcome::Accept, |_| {});
    let note = serde_json::json!({
        "kind": "observation", "walk": walk, "check": "lf-bleeder-at-top", "title": "Bleeder at the top",
        "note": "wet round the bleeder", "photos": [{ "file": "wet.jpg", "sha256": "0" }], "by": "R. Noor",
    });
    story.keep("2026-11-25T10:05", serde_json::from_value(note).unwrap());
    for kind in [Kind::Deficiency, Kind::Full, Kind::Slip, Kind::Delivery] {
        let said = text(&document(&story, kind)).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.contains("1 note, not judged"), "{kind:?}: {said}");
        let words = "wet round the bleeder; photo wet.jpg - R. Noor";
        assert_eq!(said.contains(words), kind != Kind::Slip, "{kind:?}: {said}");
    }
    let facts: serde_json::Value = serde_json::from_str(&json(&document(&story, Kind::Full))).unwrap();
    assert_eq!(facts["noted"][0]["check"], "lf-bleeder-at-top");
    let not_reached = facts["not_reached"].as_array().unwrap();
    assert!(not_reached.iter().any(|check| check["check"] == "lf-bleeder-at-top"), "it stays not reached");
}

/// A time says what it is: the time of the test where somebody gave it, else only when it was keyed in.
#[test]
fn a_hold_test_does_not_print_the_keying_time_as_its_own() {
    for (seen_at, wanted) in
        [(None, "entered 2026-11-25 10:05"), (Some("2026-11-24T16:30"), "seen 2026-11-24 16:30")]
    {
        let mut story = Story::empty(sample("heron"));
        story.walk("2026-11-25T10:00", "shop", "R. Noor");
        for (part, value) in [("start_pressure", "1200 psi"), ("end_pressure", "1190 psi")] {
            let reading = Reading {
                key: format!("brakes.circuit.front.hold.{part}"),
                value: value.to_owned(),
                si: None,
                instrument: None,
                by: Some("R. Noor".to_owned()),
                seen_at: seen_at.map(super::report_story::time),
                sheet: None,
            };
            story.keep("2026-11-25T10:05", Entry::Reading(reading));
        }
        let document = document(&story, Kind::Delivery);
        let tests = document.sections.iter().find(|section| section.title == "Pressure-hold tests").unwrap();
        let Some(Block::Table(table)) = tests.blocks.first() else { panic!("{tests:?}") };
        let at = table.head.iter().position(|head| head == "When").unwrap();
        assert!(table.rows[0][at].starts_with(wanted), "{table:?}");
    }
}

/// Twenty-four lines with up to twelve stops, longer beyond; no stop is ever left out, and fixes become a count.
#[test]
fn a_slip_stays_short_and_leaves_out_no_stop() {
    for (stops, fixes, most) in [(0, 3, 24), (3, 20, 24), (6, 20, 24), (7, 0, 24), (12, 20, 24), (20, 20, 32)]
    {
        let mut story = Story::empty(sample("heron"));
        let walk = story.walk("2026-11-25T10:00", "owner", "R.N.");
        let of = |severity, count| {
            let checks = story.rules.checks.iter().filter(move |check| check.severity == severity);
            let codes = checks.map(|check| (check.id.clone(), check.code.clone().unwrap()));
            codes.take(count).collect::<Vec<_>>()
        };
        let (stopping, other) = (of(Severity::Stop, stops), of(Severity::Fix, fixes));
        for (check, _) in stopping.iter().chain(&other) {
            story.answer("2026-11-25T10:05", &walk, check, Outcome::Reject, |f| f.of = None);
        }
        let slip = text(&document(&story, Kind::Slip));
        let count = slip.lines().count();
        assert!(count <= most, "{stops} stops, {fixes} fixes, {count} lines:\n{slip}");
        for (_, code) in &stopping {
            assert!(slip.contains(&format!("STOP {code}")), "{code}:\n{slip}");
        }
        let shown = other.iter().filter(|(_, code)| slip.contains(&format!("FIX {code}"))).count();
        let said = format!("and {} FIX more: see the report", fixes - shown);
        assert!(shown == fixes || slip.contains(&said), "{said}:\n{slip}");
    }
}
