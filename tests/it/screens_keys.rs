//! No sequence of keys, on any screen and at any size, stops the program or loses what was kept.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use linewalk::tui::{BINDINGS, Key, Keymap, Place, UiAction, table};
use proptest::prelude::*;

use crate::screens::{Script, at_first_check};
use crate::screens_workspace::TestWorkspace;

fn code(pick: u8) -> KeyCode {
    match pick {
        0..=25 => KeyCode::Char(char::from(b'a' + pick)),
        26..=35 => KeyCode::Char(char::from(b'0' + pick - 26)),
        36..=39 => KeyCode::Enter,
        40 => KeyCode::Esc,
        41 => KeyCode::Tab,
        42 | 43 => KeyCode::Down,
        44 => KeyCode::Up,
        45 => KeyCode::Left,
        46 | 47 => KeyCode::Right,
        48 => KeyCode::PageDown,
        49 => KeyCode::PageUp,
        50 => KeyCode::Backspace,
        51 => KeyCode::Char('?'),
        52 => KeyCode::Char('/'),
        53 => KeyCode::Char(' '),
        54 => KeyCode::Char('é'),
        55 => KeyCode::F(5),
        56 => KeyCode::Home,
        57 => KeyCode::Delete,
        _ => KeyCode::Char('宽'),
    }
}

fn play(mut script: Script, picks: &[u8]) {
    let mut kept = 0;
    for (at, pick) in picks.iter().enumerate() {
        script.app.press(KeyEvent::new(code(*pick), KeyModifiers::NONE));
        if at % 4 == 0 {
            let (width, height) = [(60, 20), (120, 40), (1, 1), (80, 24)][at / 4 % 4];
            script.screen(width, height);
        }
        let now: usize = script.app.workspace().kept.values().map(Vec::len).sum();
        assert!(now >= kept, "a record went missing");
        kept = now;
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_keys_from_the_first_screen(picks in proptest::collection::vec(0_u8..60, 1..60)) {
        play(Script::new(TestWorkspace::small()), &picks);
    }

    #[test]
    fn any_keys_in_a_walk(picks in proptest::collection::vec(0_u8..60, 1..80)) {
        play(at_first_check(), &picks);
    }
}

#[test]
fn every_key_on_every_screen() {
    let ways = [
        "",
        "<enter>",
        "<enter> <enter>",
        "<enter> <enter> <enter>",
        "<enter> <enter> <enter> a",
        "<enter> <enter> <enter> a g",
        "<enter> <enter> <enter> a g <enter> v",
        "<enter> <enter> <enter> a n",
        "<enter> <enter> <enter> a j",
        "<enter> <enter> <enter> a r <enter> o",
        "<enter> <enter> <enter> m",
        "<enter> <enter> <enter> k",
        "<enter> <enter> <enter> m w",
        "<enter> <enter> <enter> m w <enter>",
        "<enter> <enter> <enter> p",
        "<enter> <enter> <enter> x",
        "<enter> <enter> <enter> a x <enter>",
        "<enter> <enter> <enter> ?",
    ];
    let there = |way: &str| {
        let mut script = Script::new(TestWorkspace::small());
        script.text("318").press(way);
        script
    };
    for way in ways {
        let place = there(way).app.state().place();
        let mut script = there(way);
        for pick in 0..60 {
            // A key that went elsewhere is followed by a new start.
            if script.app.state().place() != place || script.app.is_done() {
                script = there(way);
            }
            script.app.press(KeyEvent::new(code(pick), KeyModifiers::NONE));
            script.screen(60, 20);
        }
    }
}

#[test]
fn capitals_are_the_same_keys() {
    let mut script = at_first_check();
    script.press("A");
    assert!(script.shows("accepted"), "{}", script.screen(80, 24));
}

#[test]
fn control_c_leaves_at_once_and_q_asks() {
    let mut script = at_first_check();
    script.press("q");
    assert!(!script.app.is_done());
    script.press("q");
    assert!(script.app.is_done());
    let mut script = at_first_check();
    script.app.press(KeyEvent::new(KeyCode::Char('c'), KeyModifiers::CONTROL));
    assert!(script.app.is_done());
}

#[test]
fn another_key_after_q_stays() {
    let mut script = at_first_check();
    script.press("q <down> q");
    assert!(!script.app.is_done());
}

#[test]
fn the_key_table_names_every_action() {
    let table = table();
    for binding in BINDINGS {
        assert!(table.contains(&format!("`{}`", binding.name)), "{}", binding.name);
    }
    assert_eq!(Keymap::default().action_at(Place::Walk, Key::Char('a')), Some(UiAction::Accept));
}
