//! Broken files: every mistake in one run, at its line and column, over the right words, with a remedy.
//!
//! Beside each file in `tests/bad` stands what is said of it: `line:column weight: message`, the text under the
//! caret, and the remedy. A mistake of another file begins with that file's name. To take new wording in, read every
//! line of it against the file, then run with `WRITE_EXPECTED=1`.

use std::path::PathBuf;

use linewalk::diagnostic::{Diagnostic, Place, SourceFile, Weight, any_error, needs_escape, sort};
use linewalk::model::read_car;
use linewalk::rules::{CaseOutcome, run_cases, warnings};
use linewalk::source::Overrides;

use crate::shipped::{day, files_in, repo_file, rules_of};

/// What the broken files extend.
const EXTENDED: [&str; 4] = ["ground", "cycle-back", "parent-a", "parent-b"];

/// Everything wrong or doubtful about a rule file, failing cases included.
pub fn rule_diagnostics(path: &str) -> Vec<Diagnostic> {
    let loaded = rules_of(&[repo_file(path)]);
    let mut diagnostics = loaded.diagnostics;
    if !any_error(&diagnostics) {
        diagnostics.extend(warnings(&loaded.rules, day("2026-11-25")));
        let failed = run_cases(&loaded.rules).into_iter().filter(CaseOutcome::failed);
        diagnostics
            .extend(failed.map(|outcome| outcome.diagnostic(loaded.rules.check(&outcome.check).unwrap())));
    }
    sort(&mut diagnostics);
    diagnostics
}

pub fn car_diagnostics(path: &str) -> Vec<Diagnostic> {
    read_car(&repo_file(path), &Overrides::new()).diagnostics
}

/// One mistake as the files beside the broken ones have it.
fn told(diagnostic: &Diagnostic, path: &str) -> String {
    let place = diagnostic.at.shown();
    let folder = path.rsplit_once('/').unwrap().0;
    let short = |text: &str| text.replace(&format!("{path}:"), "").replace(&format!("{folder}/"), "");
    let text = &diagnostic.at.file.text;
    let under = text.get(diagnostic.at.range.clone()).unwrap_or("(no such place)");
    let under = under.lines().next().unwrap_or("");
    let weight = if diagnostic.weight == Weight::Error { "error" } else { "doubt" };
    let help = short(&diagnostic.help);
    format!("{} {weight}: {}\n    at: {under}\n    help: {help}\n", short(&place), short(&diagnostic.message))
}

/// What holds of every mistake, whatever its words.
fn sound(diagnostic: &Diagnostic) {
    let shown = diagnostic.render();
    let text = &diagnostic.at.file.text;
    assert!(text.get(diagnostic.at.range.clone()).is_some(), "{shown}");
    assert!(!diagnostic.message.ends_with('.') && !diagnostic.message.is_empty(), "{shown}");
    assert!(!diagnostic.help.is_empty() && !diagnostic.help.ends_with('.'), "{shown}");
    let place = diagnostic.at.shown();
    assert!(shown.contains(&place), "{place} in\n{shown}");
}

fn compare(folder: &str, of: fn(&str) -> Vec<Diagnostic>) -> usize {
    let mut wrong = String::new();
    let mut count = 0;
    for path in files_in(folder, ".toml") {
        let name = path.rsplit_once('/').unwrap().1.trim_end_matches(".toml");
        let diagnostics = of(&path);
        diagnostics.iter().for_each(sound);
        if EXTENDED.contains(&name) {
            assert!(name != "ground" || diagnostics.is_empty(), "{path}: {diagnostics:?}");
            continue;
        }
        count += 1;
        let got: String = diagnostics.iter().map(|diagnostic| told(diagnostic, &path)).collect();
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
    assert!(compare("tests/bad/rules", rule_diagnostics) >= 20);
}

#[test]
fn broken_car_files() {
    assert!(compare("tests/bad/cars", car_diagnostics) >= 20);
}

#[test]
fn eight_mistakes_in_one_run() {
    for (path, of) in [
        ("tests/bad/rules/eight.toml", rule_diagnostics as fn(&str) -> Vec<Diagnostic>),
        ("tests/bad/cars/eight.toml", car_diagnostics),
    ] {
        let diagnostics = of(path);
        assert_eq!(diagnostics.len(), 8, "{path}");
        let mut places: Vec<_> = diagnostics.iter().map(|diagnostic| diagnostic.at.shown()).collect();
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
        for diagnostic in linewalk::source::parse(&file).1 {
            let said = diagnostic.render();
            assert_eq!(said.chars().find(|c| *c != '\n' && needs_escape(*c)), None, "{bad:?}");
        }
        let at = Place { file: std::sync::Arc::clone(&file), range: 0..file.text.len() };
        let said = Diagnostic::error(&at, format!("a{bad}b"), format!("c{bad}d")).render();
        assert_eq!(said.chars().find(|c| *c != '\n' && needs_escape(*c)), None, "{bad:?}");
    }
}
