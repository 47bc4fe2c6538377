//! Hostile text on every screen: whatever a car file, a rule file, a record, a draft or a name holds, no cell of a screen
//! works the terminal.
#![cfg(unix)]

use std::collections::BTreeMap;

use linewalk::diagnostic::{SourceFile, any_error, needs_escape};
use linewalk::model::entry::Kept;
use linewalk::model::read_car;
use linewalk::rules::load;
use linewalk::tui::draw;
use linewalk::walk::Draft;
use ratatui::Terminal;
use ratatui::backend::TestBackend;

use crate::logbook::moment;
use crate::screens::Script;
use crate::screens_workspace::{FINCH, SMALL_RULES, TestWorkspace};
use crate::strangers::{HOSTILE, document, each_string, every_kind, hostile_at, texts, written};

/// A document with every text hostile that may be anything, and how many are.
fn all_hostile(text: &str, is_read: impl Fn(&str) -> bool) -> (String, usize) {
    let mut now = document(text);
    assert!(is_read(&written(&now)));
    let mut count = 0;
    for path in texts(&now) {
        let next = hostile_at(&now, &path);
        if is_read(&written(&next)) {
            (now, count) = (next, count + 1);
        }
    }
    (written(&now), count)
}

/// Draws the screen at two sizes and looks at every cell.
fn look(script: &mut Script, what: &str) {
    script.wait_for_numbers();
    for (width, height) in [(60, 20), (120, 60)] {
        script.app.resize(width, height);
        let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
        terminal.draw(|frame| draw(script.app.state(), script.app.theme(), frame)).unwrap();
        for cell in terminal.backend().buffer().content() {
            let found = cell.symbol().chars().find(|c| needs_escape(*c));
            assert_eq!(found, None, "{what}: {:?}", cell.symbol());
        }
    }
}

/// Keys from the list of cars to every screen.
const WAYS: &[&str] = &[
    "<enter>",
    "<enter> <enter>",
    "<enter> <enter> <enter>",
    "<enter> <enter> <enter> a",
    "<enter> <enter> <enter> a g",
    "<enter> <enter> <enter> a g <enter> v",
    "<enter> <enter> <enter> a n",
    "<enter> <enter> <enter> a r",
    "<enter> <enter> <enter> a r <enter> o",
    "<enter> <enter> <enter> a r <enter> <left> f",
    "<enter> <enter> <enter> a j",
    "<enter> <enter> <enter> m",
    "<enter> <enter> <enter> m <enter>",
    "<enter> <enter> <enter> k",
    "<enter> <enter> <enter> m k z",
    "<enter> <enter> <enter> m w",
    "<enter> <enter> <enter> p",
    "<enter> <enter> <enter> i",
    "<enter> <enter> <enter> x",
    "<enter> <enter> <enter> a x <enter>",
    "<enter> <enter> <enter> ?",
];

/// Goes every way through a workspace and looks at what is drawn.
fn look_everywhere(workspace: &TestWorkspace, number: &str, what: &str) {
    look(&mut Script::new(workspace.clone()), what);
    for way in WAYS {
        let mut script = Script::new(workspace.clone());
        script.text(number).press(way);
        look(&mut script, &format!("{what}, {way}"));
    }
}

fn reads_car(text: &str) -> bool {
    !any_error(&read_car(&SourceFile::new("car.toml", text), &BTreeMap::new()).diagnostics)
}

#[test]
fn no_text_of_car_or_rule_file_works_the_terminal() {
    let (finch, count) = all_hostile(FINCH, reads_car);
    assert!(count > 1, "{count}");
    let is_read =
        |text: &str| !any_error(&load(&[SourceFile::new("r.toml", text)], &|_, _| None).diagnostics);
    let (rules, count) = all_hostile(SMALL_RULES, is_read);
    assert!(count > 30, "{count}");
    let mut workspace = TestWorkspace::small();
    workspace.cars = vec![SourceFile::new(format!("car{HOSTILE}.toml"), finch.as_str())];
    workspace.rules =
        load(&[SourceFile::new(format!("r{HOSTILE}.toml"), rules.as_str())], &|_, _| None).rules;
    workspace.by = Some(HOSTILE.to_owned());
    let draft = |what: &str| Draft {
        check: "pins-in".to_owned(),
        of: None,
        what: what.to_owned(),
        text: HOSTILE.to_owned(),
    };
    workspace.drafts.insert("finch".to_owned(), vec![draft("note"), draft(HOSTILE)]);
    let number = read_car(&workspace.cars[0], &BTreeMap::new()).car.number.clone();
    let plain: String = number.chars().filter(|c| !needs_escape(*c)).collect();
    look_everywhere(&workspace, if plain == number { &number } else { "" }, "files");
    workspace.trouble = Some(HOSTILE.to_owned());
    look_everywhere(&workspace, "", "trouble");
}

/// Each text that only one car or another can have, on the screens of numbers and plan.
#[test]
fn no_text_of_a_whole_car_works_the_terminal() {
    let heron = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/sample-cars/heron.toml"));
    let (heron, count) = all_hostile(&heron.unwrap(), reads_car);
    assert!(count > 5, "{count}");
    let workspace = TestWorkspace::shipped(&heron);
    let mut script = Script::new(workspace.clone());
    look(&mut script, "list");
    for way in [
        "<down> <enter> <enter> <enter>",
        "<down> <enter> <enter> <enter> m",
        "<down> <enter> <enter> <enter> m k",
    ] {
        let mut script = Script::new(workspace.clone());
        script.press(way);
        look(&mut script, way);
    }
}

#[test]
fn no_text_of_a_record_works_the_terminal() {
    // What this program keeps of a walk, and every kind of entry, each text of each hostile once.
    let mut script = Script::new(TestWorkspace::small());
    script
        .text("318")
        .press("<enter> <enter> <enter> a r")
        .text("torn")
        .press("<enter> <right> r <enter> o n");
    script.text("mine").press("<enter>");
    let mut workspace = script.app.into_workspace();
    let own = workspace.kept.remove("finch").unwrap();
    let entries = own.iter().map(|kept| kept.entry.clone()).chain(every_kind());
    let mut kept: Vec<Kept> = own.clone();
    for entry in entries {
        for hostile in each_string(&serde_json::to_value(&entry).unwrap()) {
            let Ok(entry) = serde_json::from_value(hostile) else { continue };
            let seq = kept.len() as u64 + 1;
            let at = moment(i64::try_from(seq).unwrap());
            kept.push(Kept { id: format!("hostile-{seq}"), writer: "other".to_owned(), seq, at, entry });
        }
    }
    assert!(kept.len() > 60, "{}", kept.len());
    workspace.kept.insert("finch".to_owned(), kept);
    look_everywhere(&workspace, "318", "record");
}
