//! Broken files: every mistake in one run, at its line and column, over the right words, with a remedy.
//!
//! Beside each file in `tests/bad` stands what is said of it: `line:column weight: message`, the text under the
//! caret, and the remedy. A mistake of another file begins with that file's name. To take new wording in, read every
//! line of it against the file, then run with `WRITE_EXPECTED=1`.

use std::path::PathBuf;

use linewalk::mistake::{Mistake, Place, SourceFile, Weight, any_error, is_harmful, sort};
use linewalk::model::read_car;
use linewalk::rules::{CaseOutcome, doubts, run_cases};
use linewalk::source::Overrides;

use crate::shipped::{day, files_in, repo_file, rules_of};

/// What the broken files extend.
const EXTENDED: [&str; 4] = ["ground", "cycle-back", "parent-a", "parent-b"];

/// Everything wrong or doubtful about a rule file, failing cases included.
pub fn rule_mistakes(path: &str) -> Vec<Mistake> {
    let loaded = rules_of(&[repo_file(path)]);
    let mut mistakes = loaded.mistakes;
    if !any_error(&mistakes) {
        mistakes.extend(doubts(&loaded.rules, day("2026-11-25")));
        let failed = run_cases(&loaded.rules).into_iter().filter(CaseOutcome::failed);
        mistakes.extend(failed.map(|outcome| outcome.mistake(loaded.rules.check(&outcome.check).unwrap())));
    }
    sort(&mut mistakes);
    mistakes
}

pub fn car_mistakes(path: &str) -> Vec<Mistake> {
    read_car(&repo_file(path), &Overrides::new()).mistakes
}

/// One mistake as the files beside the broken ones have it.
fn told(mistake: &Mistake, path: &str) -> String {
    let place = mistake.at.shown();
    let folder = path.rsplit_once('/').unwrap().0;
    let short = |text: &str| text.replace(&format!("{path}:"), "").replace(&format!("{folder}/"), "");
    let text = &mistake.at.file.text;
    let under = text.get(mistake.at.range.clone()).unwrap_or("(no such place)");
    let under = under.lines().next().unwrap_or("");
    let weight = if mistake.weight == Weight::Error { "error" } else { "doubt" };
    let help = short(&mistake.help);
    format!("{} {weight}: {}\n    at: {under}\n    help: {help}\n", short(&place), short(&mistake.message))
}

/// What holds of every mistake, whatever its words.
fn sound(mistake: &Mistake) {
    let shown = mistake.render();
    let text = &mistake.at.file.text;
    assert!(text.get(mistake.at.range.clone()).is_some(), "{shown}");
    assert!(!mistake.message.ends_with('.') && !mistake.message.is_empty(), "{shown}");
    assert!(!mistake.help.is_empty() && !mistake.help.ends_with('.'), "{shown}");
    let place = mistake.at.shown();
    assert!(shown.contains(&place), "{place} in\n{shown}");
}

fn compare(folder: &str, of: fn(&str) -> Vec<Mistake>) -> usize {
    let mut wrong = String::new();
    let mut count = 0;
    for path in files_in(folder, ".toml") {
        let name = path.rsplit_once('/').unwrap().1.trim_end_matches(".toml");
        let mistakes = of(&path);
        mistakes.iter().for_each(sound);
        if EXTENDED.contains(&name) {
            assert!(name != "ground" || mistakes.is_empty(), "{path}: {mistakes:?}");
            continue;
        }
        count += 1;
        let got: String = mistakes.iter().map(|mistake| told(mistake, &path)).collect();
        assert!(!got.is_empty(), "{path}: nothing was said");
        let beside = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(path.replace(".toml", ".txt"));
        if std::env::var_os("WRITE_EXPECTED").is_some() {
            std::fs::write(&beside, &got).unwrap();
        }
        let wanted = std::fs::read_to_string(&beside).unwrap_or_default();
        if got != wanted {
            wrong.push_str(&format!("== {path}\n{got}-- wanted\n{wanted}"));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    count
}

#[test]
fn broken_rule_files() {
    assert!(compare("tests/bad/rules", rule_mistakes) >= 20);
}

#[test]
fn broken_car_files() {
    assert!(compare("tests/bad/cars", car_mistakes) >= 20);
}

#[test]
fn eight_mistakes_in_one_run() {
    for (path, of) in [
        ("tests/bad/rules/eight.toml", rule_mistakes as fn(&str) -> Vec<Mistake>),
        ("tests/bad/cars/eight.toml", car_mistakes),
    ] {
        let mistakes = of(path);
        assert_eq!(mistakes.len(), 8, "{path}");
        let mut places: Vec<_> = mistakes.iter().map(|mistake| mistake.at.shown()).collect();
        places.dedup();
        assert_eq!(places.len(), 8, "{path}: each at its own place");
    }
}

/// Control characters of both ranges, overrides and zero-width characters in the quoted line of a file, wherever
/// they stand; the caret still points to its place.
#[test]
fn the_quoted_line_is_harmless() {
    for bad in [
        '\u{1b}',
        '\u{7f}',
        '\u{90}',
        '\u{9b}',
        '\u{ad}',
        '\u{200b}',
        '\u{202e}',
        '\u{2066}',
        '\u{feff}',
        '\u{e0041}',
    ] {
        let text = format!("# {bad}\nname = \"a{bad}b\" {bad}\nkey{bad} = [\n");
        let file = SourceFile::new("odd.toml", text);
        for mistake in linewalk::source::parse(&file).1 {
            let said = mistake.render();
            assert_eq!(said.chars().find(|c| *c != '\n' && is_harmful(*c)), None, "{bad:?}");
        }
        let at = Place { file: std::sync::Arc::clone(&file), range: 0..file.text.len() };
        let said = Mistake::error(&at, format!("a{bad}b"), format!("c{bad}d")).render();
        assert_eq!(said.chars().find(|c| *c != '\n' && is_harmful(*c)), None, "{bad:?}");
    }
}
