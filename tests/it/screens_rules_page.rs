//! The rules in force on screen, and rules past their review date at the top of every screen.

use linewalk::tui::Place;

use crate::screens::{Script, shot};
use crate::screens_workspace::TestWorkspace;
use crate::shipped::{day, repo_file, rules_of};

const HERON: &str = include_str!("../../sample-cars/heron.toml");

/// The worked bulletin over its club over the base, and a car that they touch.
fn bulletin() -> Script {
    let rules = rules_of(&[repo_file("rulesets/example-bulletin.toml")]).rules;
    let mut workspace = TestWorkspace::new(rules, &[HERON]);
    workspace.on = day("2026-11-25");
    Script::new(workspace)
}

fn opened(mut script: Script) -> Script {
    script.text("62").press("<enter> <enter>");
    script
}

#[test]
fn layers_are_shown_with_what_each_changed() {
    let mut script = opened(bulletin());
    script.press("y");
    assert_eq!(script.app.state().place(), Place::Rules);
    shot("rules", &mut script);
    script.press("<pgdn> <pgdn> <pgdn>");
    shot("rules-below", &mut script);
    let mut whole = String::new();
    for _ in 0..40 {
        whole.push_str(&script.screen(200, 60));
        script.press("<pgup>");
    }
    for words in ["base", "example-club", "example-bulletin", "24 days old", "Why:", "->"] {
        assert!(whole.contains(words), "{words} in {whole}");
    }
}

#[test]
fn the_way_back_leads_to_where_it_was_opened() {
    let mut script = opened(bulletin());
    script.press("y <esc>");
    assert_eq!(script.app.state().place(), Place::Start);
    script.press("<enter> y <esc>");
    assert_eq!(script.app.state().place(), Place::Walk);
    script.press("x y <esc>");
    assert_eq!(script.app.state().place(), Place::End);
}

#[test]
fn scrolling_stops_at_the_end() {
    let mut script = opened(bulletin());
    script.press("y");
    script.screen(60, 20);
    for _ in 0..200 {
        script.press("<pgdn>");
    }
    let last = script.screen(60, 20);
    script.press("<up>");
    assert_ne!(script.screen(60, 20), last, "one key up moves at once");
}

#[test]
fn every_screen_begins_with_what_is_stale() {
    let mut script = bulletin();
    let mut workspace = script.app.into_workspace();
    workspace.on = day("2028-01-01");
    script = Script::new(workspace);
    let said = |script: &mut Script| {
        for (width, height) in [(60, 20), (80, 24), (200, 60)] {
            let screen = script.screen(width, height);
            let third = screen.lines().nth(2).unwrap();
            assert!(third.contains("STALE RULES, review was due 2027-"), "{width}x{height}\n{screen}");
        }
    };
    said(&mut script);
    shot("rules-stale-cars", &mut script);
    script.text("62");
    said(&mut script);
    for keys in [
        "<enter>", "<enter>", "y", "<esc>", "<enter>", "o", "<esc>", "m", "<esc>", "p", "<esc>", "k", "<esc>",
    ] {
        script.press(keys);
        said(&mut script);
    }
    for keys in ["j", "<esc>", "n", "<esc>", "?", "<esc>", "x", "y"] {
        script.press(keys);
        said(&mut script);
    }
    shot("rules-stale", &mut script);
}
