//! Modes: contrast of every pair of colours drawn, nothing said by colour alone, plain signs, more room in the sun.
//!
//! Contrast as WCAG 2.2 defines it under "contrast ratio" and "relative luminance"; levels by its success criteria
//! 1.4.3 (text, 4.5 to 1), 1.4.6 (enhanced, 7 to 1) and 1.4.11 (other than text, 3 to 1).

use std::collections::{BTreeMap, BTreeSet};

use linewalk::tui::{Theme, Tone, draw, rgb};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Buffer;
use ratatui::style::{Color, Modifier};

use crate::screens::{Script, at_first_check};
use crate::screens_pictures::heron;
use crate::screens_workspace::TestWorkspace;

/// Relative luminance of a colour of sRGB, 0 for black and 1 for white.
fn luminance(rgb: [u8; 3]) -> f64 {
    let linear = |c: u8| {
        let share = f64::from(c) / 255.0;
        if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    };
    let [r, g, b] = rgb.map(linear);
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

fn contrast(one: [u8; 3], other: [u8; 3]) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

/// Ratios that are in common print: WCAG's own largest and least, and the greys that stand at its bounds on white
/// (from memory).
#[test]
fn contrast_is_what_is_printed_for_known_pairs() {
    let white = [255; 3];
    assert!((contrast([0; 3], white) - 21.0).abs() < 1e-9);
    assert!((contrast(white, white) - 1.0).abs() < 1e-9);
    for (grey, printed) in [(0x77, 4.48), (0x76, 4.54), (0x59, 7.00), (0x94, 3.03)] {
        assert!((contrast([grey; 3], white) - printed).abs() < 0.005, "{grey:x}");
    }
    assert!((contrast([255, 0, 0], white) - 4.00).abs() < 0.005);
    assert!((contrast([0, 0, 255], white) - 8.59).abs() < 0.005);
}

/// The cube and the ramp of the 256-colour table at its corners, as xterm's own table has them.
#[test]
fn colours_are_those_of_the_common_table() {
    let known =
        [(16, [0, 0, 0]), (21, [0, 0, 255]), (67, [95, 135, 175]), (196, [255, 0, 0]), (231, [255; 3])];
    for (number, wanted) in known {
        assert_eq!(rgb(number), Some(wanted), "{number}");
    }
    assert_eq!((rgb(232), rgb(255), rgb(15)), (Some([8; 3]), Some([238; 3]), None));
}

fn ratio(theme: Theme, tone: Tone) -> Option<f64> {
    let (text, ground) = theme.colours(tone)?;
    Some(contrast(rgb(text)?, rgb(ground)?))
}

/// The table of tests/colors.md, made here.
fn contrast_table() -> String {
    let coloured = [Theme::Dark, Theme::Light, Theme::Sun];
    let mut out = String::from("| what | dark | light | sun |\n|---|---|---|---|\n");
    for (word, tone) in Tone::WORDS {
        let cells = coloured.map(|theme| {
            let (text, ground) = theme.colours(*tone).unwrap();
            format!("{text} on {ground}: {:.1}", ratio(theme, *tone).unwrap())
        });
        out.push_str(&format!("| {word} | {} |\n", cells.join(" | ")));
    }
    out
}

#[test]
fn every_tone_meets_its_level_and_the_table_says_so() {
    for (word, tone) in Tone::WORDS {
        for (theme, least) in [(Theme::Dark, 4.5), (Theme::Light, 4.5), (Theme::Sun, 7.0)] {
            let found = ratio(theme, *tone).unwrap();
            assert!(found >= least, "{word} in {theme:?}: {found:.2}");
        }
    }
    // The chosen row and the bar are told from what lies beside them by their ground.
    for theme in [Theme::Dark, Theme::Light, Theme::Sun] {
        let ground = |tone| rgb(theme.colours(tone).unwrap().1).unwrap();
        assert!(contrast(ground(Tone::Bar), ground(Tone::Plain)) >= 3.0, "{theme:?}");
    }
    let page = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/colors.md")).unwrap();
    assert!(page.contains(&contrast_table()), "tests/colors.md should hold:\n{}", contrast_table());
}

pub fn buffer(script: &mut Script, theme: Theme, (width, height): (u16, u16)) -> Buffer {
    script.wait_for_numbers();
    script.app.resize(width, height);
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal.draw(|frame| draw(script.app.state(), theme, frame)).unwrap();
    terminal.backend().buffer().clone()
}

/// Every place of the program, each by the keys that lead there.
pub fn places() -> Vec<(String, Script)> {
    let ways = [
        "",
        "<enter>",
        "<enter> <enter>",
        "<enter> <enter> <enter>",
        "<enter> <enter> <enter> r",
        "<enter> <enter> <enter> a",
        "<enter> <enter> <enter> a z",
        "<enter> <enter> <enter> a r",
        "<enter> <enter> <enter> a g",
        "<enter> <enter> <enter> a g <enter> v",
        "<enter> <enter> <enter> a n",
        "<enter> <enter> <enter> a j",
        "<enter> <enter> <enter> a r <enter> <right> r u o",
        "<enter> <enter> <enter> m",
        "<enter> <enter> <enter> m <enter>",
        "<enter> <enter> <enter> p",
        "<enter> <enter> <enter> y",
        "<enter> <enter> <enter> a s r x",
        "<enter> <enter> <enter> ?",
    ];
    let mut places: Vec<(String, Script)> = ways
        .iter()
        .map(|way| {
            let mut script = Script::new(TestWorkspace::small());
            script.text("318").press(way);
            ((*way).to_owned(), script)
        })
        .collect();
    for way in ["", "k", "k z", "a r <enter> k", "m d", "m d <tab> <tab> <tab> <pgdn>", "m w", "m w <enter>"]
    {
        let mut script = heron();
        script.press(way);
        places.push((format!("heron {way}"), script));
    }
    places
}

const SIZES: [(u16, u16); 4] = [(60, 20), (80, 24), (120, 40), (200, 60)];

fn words(buffer: &Buffer) -> String {
    buffer.content.iter().map(ratatui::buffer::Cell::symbol).collect()
}

fn assert_known_colours(way: &str, theme: Theme, buffer: &Buffer) {
    let known: BTreeSet<(u8, u8)> = Tone::WORDS.iter().filter_map(|(_, tone)| theme.colours(*tone)).collect();
    for cell in &buffer.content {
        let (Color::Indexed(text), Color::Indexed(ground)) = (cell.fg, cell.bg) else {
            panic!("{way} {theme:?}: {cell:?} has a colour of the terminal's own choice");
        };
        assert!(known.contains(&(text, ground)), "{way} {theme:?}: {text} on {ground}");
        assert!(!cell.modifier.contains(Modifier::DIM), "{way}: dimmed text has no known contrast");
    }
}

/// No pair of colours is drawn that is not in the table; and with or without colour a screen has the same signs at the
/// same places, so that nothing is left out where colour is.
#[test]
fn every_screen_has_known_colours_and_says_the_same_without_them() {
    for (way, mut script) in places() {
        for size in SIZES {
            let [dark, light, sun] =
                [Theme::Dark, Theme::Light, Theme::Sun].map(|theme| buffer(&mut script, theme, size));
            assert_known_colours(&way, Theme::Dark, &dark);
            assert_known_colours(&way, Theme::Light, &light);
            assert_known_colours(&way, Theme::Sun, &sun);
            let mono = words(&buffer(&mut script, Theme::Mono, size));
            assert!(words(&dark) == mono && words(&light) == mono, "{way} at {size:?}");
        }
    }
}

/// A state differs from every other one in its signs, colours stripped: each of these is the same screen in another state.
#[test]
fn states_differ_without_colour() {
    let families: [(&str, &[&str]); 6] = [
        // A check answered each way, seen again.
        ("answer", &["", "a <left>", "r <left>", "s <left>", "f <left>", "t <left>"]),
        // The strip and the list of the lap.
        ("lap", &["<right>", "a", "r", "s", "f", "t"]),
        // What an open item weighs.
        ("weight", &["r o", "r l <enter> o", "r o l"]),
        // An open item: rejected, said to be repaired, looked at again and accepted.
        ("repair", &["r o", "r o d", "r o a"]),
        // Stations and checks by how they stand.
        ("jump", &["j", "a j", "r j", "g j"]),
        // What a value is judged as, while it is typed.
        ("value", &["g <enter>", "g e"]),
    ];
    for (family, ways) in families {
        for size in SIZES {
            let mut seen: BTreeMap<String, &str> = BTreeMap::new();
            for way in ways {
                let mut script = at_first_check();
                script.press("a").press(way);
                let shown = words(&buffer(&mut script, Theme::Dark, size));
                if let Some(other) = seen.insert(shown, way) {
                    panic!("{family} at {size:?}: \"{way}\" looks like \"{other}\" without colour");
                }
            }
        }
    }
}

/// A value inside, outside and too near to tell.
#[test]
fn verdicts_differ_without_colour() {
    for size in SIZES {
        let mut seen = BTreeSet::new();
        for text in ["1/4", "17/32", "2"] {
            let mut script = at_first_check();
            script.press("a g <enter>").text(text);
            let shown = words(&buffer(&mut script, Theme::Dark, size));
            let verdicts = ["+ inside:", "x OUTSIDE:", "~ cannot tell:"];
            let said: Vec<&str> = verdicts.into_iter().filter(|word| shown.contains(word)).collect();
            assert_eq!(said.len(), 1, "{text}: {said:?}");
            seen.insert(said[0]);
        }
        assert_eq!(seen.len(), 3);
    }
}

#[test]
fn lines_of_the_plan_differ_without_colour() {
    let mut script = heron();
    script.press("k g g");
    let shown = script.screen(120, 40);
    for sign in ['#', '+', 'b', 'n'] {
        assert!(shown.contains(sign), "{sign}");
    }
}

#[test]
fn plain_signs_only_where_the_terminal_has_no_others() {
    for way in ["", "a", "a z", "a r <enter> o", "m", "p", "y", "x"] {
        let options = linewalk::tui::Options {
            plain: true,
            grain: linewalk::tui::Grain::Ascii,
            ..crate::screens::options()
        };
        let mut script = Script::with(TestWorkspace::small(), options);
        script.text("318").press("<enter> <enter> <enter>").press(way);
        for (width, height) in SIZES {
            let screen = script.screen(width, height);
            assert!(screen.is_ascii(), "{way}: {screen}");
        }
    }
}

#[test]
fn the_sun_has_more_room_between_lines() {
    let blank = |buffer: &Buffer| {
        let rows = buffer.content.chunks(usize::from(buffer.area.width));
        rows.filter(|row| row.iter().all(|cell| cell.symbol() == " ")).count()
    };
    let mut script = at_first_check();
    script.press("a");
    let [sun, dark] = [Theme::Sun, Theme::Dark].map(|theme| blank(&buffer(&mut script, theme, (80, 24))));
    assert!(sun > dark, "{sun} and {dark}");
}

#[test]
fn colours_change_by_a_key_and_start_anew_after_the_last() {
    let mut script = at_first_check();
    let first = script.app.theme();
    for _ in 0..3 {
        script.code(crossterm::event::KeyCode::F(2));
        assert!(script.app.theme() != first && script.shows("Colors:"));
    }
    script.code(crossterm::event::KeyCode::F(2));
    assert_eq!(script.app.theme(), first);
}
