//! One edit of a shipped rule file, whatever it is: one mistake is told once.
//!
//! Every run takes one edit of 293; `LINEWALK_EDITS_ONE_OF=1` takes all of them, which lasts an hour.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

use linewalk::diagnostic::{Diagnostic, SourceFile, Weight, any_error};
use linewalk::rules::{RulesetCache, case_mistakes, load_from, run_cases};

use crate::shipped::{files_in, repo_file, repo_ruleset};

/// Of how many edits one is tried, where nothing else is said.
const ONE_OF: usize = 293;

/// One edit: what it does, and the bytes it puts something else in the place of.
#[derive(Debug)]
struct Edit {
    what: &'static str,
    at: Range<usize>,
    with: String,
}

/// Everything that one slip of a hand makes of a text.
fn edits(text: &str) -> Vec<Edit> {
    let mut all = lines(text);
    all.extend(keys(text));
    all.extend(texts(text));
    all.extend(bare_values(text));
    all.extend(signs(text));
    all.retain(|edit| text[edit.at.clone()] != edit.with);
    all
}

fn edit(what: &'static str, at: Range<usize>, with: impl Into<String>) -> Edit {
    Edit { what, at, with: with.into() }
}

/// Each line with its end, and where it begins.
fn lines_of(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let mut from = 0;
    text.split_inclusive('\n').map(move |line| {
        from += line.len();
        (from - line.len(), line)
    })
}

fn is_remark(line: &str) -> bool {
    line.trim().is_empty() || line.starts_with('#')
}

/// A line taken out, and a line twice.
fn lines(text: &str) -> Vec<Edit> {
    let of_line = |(from, line): (usize, &str)| {
        let at = from..from + line.len();
        [edit("line taken out", at.clone(), ""), edit("line twice", at, line.repeat(2))]
    };
    lines_of(text).filter(|(_, line)| !is_remark(line)).flat_map(of_line).collect()
}

/// A key with two letters changed about, without its last, and with one more.
fn keys(text: &str) -> Vec<Edit> {
    let mut found = Vec::new();
    for (from, line) in lines_of(text).filter(|(_, line)| !is_remark(line)) {
        let mut quoted = false;
        for (at, sign) in line.char_indices() {
            quoted ^= sign == '"';
            if quoted || sign != '=' {
                continue;
            }
            let before = line[..at].trim_end();
            let key = before.rsplit(|c: char| !(c.is_ascii_alphanumeric() || c == '_')).next().unwrap();
            let start = from + before.len() - key.len();
            if key.len() < 2 {
                continue;
            }
            let span = start..start + key.len();
            found.push(edit("key turned", span.clone(), turned(key)));
            found.push(edit("key cut", span.clone(), &key[..key.len() - 1]));
            found.push(edit("key longer", span, format!("{key}s")));
        }
        if let Some(name) = line.trim().strip_prefix('[') {
            let name = name.trim_matches(['[', ']']);
            let start = from + line.find(name).unwrap();
            let last = name.rsplit('.').next().unwrap();
            let span = start + name.len() - last.len()..start + name.len();
            found.push(edit("heading turned", span.clone(), turned(last)));
            found.push(edit("heading longer", span, format!("{last}s")));
        }
    }
    found
}

fn turned(word: &str) -> String {
    let mut letters: Vec<char> = word.chars().collect();
    letters.swap(0, 1);
    if letters[0] == letters[1] {
        letters.push('q');
    }
    letters.into_iter().collect()
}

/// Each text in quotes, without them.
fn quoted(text: &str) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    for (from, line) in lines_of(text).filter(|(_, line)| !is_remark(line)) {
        let signs: Vec<usize> = line.match_indices('"').map(|(at, _)| from + at).collect();
        found.extend(signs.chunks_exact(2).map(|pair| pair[0] + 1..pair[1]));
    }
    found
}

/// A text misspelled, of another type, with another unit, the id of its neighbor.
fn texts(text: &str) -> Vec<Edit> {
    let mut found = Vec::new();
    let mut ids: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for span in quoted(text) {
        let inner = &text[span.clone()];
        let whole = span.start - 1..span.end + 1;
        for (what, with) in [
            ("number for text", "7"),
            ("flag for text", "true"),
            ("list for text", "[\"x\"]"),
            ("table for text", "{}"),
        ] {
            found.push(edit(what, whole.clone(), with));
        }
        found.push(edit("text emptied", span.clone(), ""));
        if inner.is_empty() {
            continue;
        }
        let middle = (inner.len() / 2..).find(|at| inner.is_char_boundary(*at)).unwrap();
        found.push(edit("text longer", span.clone(), format!("{}q{}", &inner[..middle], &inner[middle..])));
        if inner.chars().count() > 1 && inner.is_ascii() {
            found.push(edit("text turned", span.clone(), turned(inner)));
        }
        if inner.starts_with(|c: char| c.is_ascii_digit()) && inner.contains(' ') {
            let unit = inner.rfind(' ').unwrap() + 1;
            let at = span.start + unit..span.end;
            for unit in ["in", "ft", "psi", "mm", "furlongs"] {
                found.push(edit("another unit", at.clone(), unit));
            }
            let at = span.start..span.start + 1;
            found.push(edit("another number", at.clone(), "9"));
            found.push(edit("a negative number", at, "-9"));
        }
        let line = text[..span.start].rsplit('\n').next().unwrap();
        if line == "id = \"" {
            let array = text[..span.start].rmatch_indices("\n[").next().map_or(0, |(at, _)| at + 1);
            let array = text[array..].lines().next().unwrap();
            let known = ids.entry(array).or_default();
            known.iter().rev().take(2).for_each(|other| {
                found.push(edit("id twice", span.clone(), *other));
            });
            known.push(inner);
        }
    }
    found
}

/// A value that stands without quotes: in quotes, and another.
fn bare_values(text: &str) -> Vec<Edit> {
    let mut found = Vec::new();
    for (from, line) in lines_of(text).filter(|(_, line)| !is_remark(line)) {
        let mut quoted = false;
        for (at, sign) in line.char_indices() {
            quoted ^= sign == '"';
            if quoted || sign != '=' {
                continue;
            }
            let rest = &line[at + 1..];
            let value = rest.trim_start();
            let start = from + at + 1 + rest.len() - value.len();
            let value = value.split([',', '}', '\n']).next().unwrap().trim_end();
            if value.is_empty() || value.starts_with(['"', '{', '[']) {
                continue;
            }
            let span = start..start + value.len();
            found.push(edit("value in quotes", span.clone(), format!("\"{value}\"")));
            found.push(edit("list for value", span.clone(), format!("[{value}]")));
            found.push(edit("minus", span.start..span.start, "-"));
            found.push(edit("zero", span.clone(), "0"));
            found.push(edit("much", span, "4000"));
        }
    }
    found
}

/// A sign of the form taken out, and quotes that a word processor turned.
fn signs(text: &str) -> Vec<Edit> {
    let mut found = Vec::new();
    for (from, line) in lines_of(text).filter(|(_, line)| !is_remark(line)) {
        let formal = |sign: char| matches!(sign, '"' | '=' | '[' | ']' | '{' | '}' | ',');
        for (at, sign) in line.char_indices().filter(|(_, sign)| formal(*sign)) {
            found.push(edit("sign taken out", from + at..from + at + 1, ""));
            if sign == '"' {
                found.push(edit("sign curled", from + at..from + at + 1, "\u{201d}"));
            }
        }
    }
    found
}

/// The errors that `rules check` tells of a ruleset.
fn errors(cache: &RulesetCache, file: Arc<SourceFile>) -> Vec<Diagnostic> {
    let beside = |id: &str, _: &SourceFile| match id {
        "base" | "circuit" | "example-club" => Some(repo_ruleset(id)),
        _ => None,
    };
    let loaded = load_from(cache, &[file], &beside, None);
    let mut found = loaded.diagnostics.clone();
    if !any_error(&found) {
        found.extend(case_mistakes(&loaded.rules, &run_cases(&loaded.rules)));
    }
    found.retain(|one| one.weight == Weight::Error);
    found
}

/// A shipped ruleset by one of its files, with another text of that file.
fn with_text(path: &str, text: String) -> Arc<SourceFile> {
    let Some(name) = path.strip_prefix("rulesets/base/") else { return SourceFile::new(path, text) };
    let whole = repo_ruleset("base");
    let new = SourceFile::new(path, text);
    if name == "ruleset.toml" {
        return SourceFile::with_parts(new, whole.parts.clone());
    }
    let part = |part: &Arc<SourceFile>| if part.name == path { Arc::clone(&new) } else { Arc::clone(part) };
    SourceFile::with_parts(repo_file("rulesets/base/ruleset.toml"), whole.parts.iter().map(part).collect())
}

#[test]
fn one_edit_of_a_shipped_file_is_at_most_one_error() {
    let step = std::env::var("LINEWALK_EDITS_ONE_OF").ok().and_then(|step| step.parse().ok());
    let step: usize = step.unwrap_or(ONE_OF);
    let only = std::env::var("LINEWALK_EDITS_OF").unwrap_or_default();
    let files = [files_in("rulesets/base", ".toml"), files_in("rulesets", ".toml")].concat();
    let mut tried = 0;
    let mut wrong = Vec::new();
    for path in files.iter().filter(|path| path.contains(&only)) {
        let text = repo_file(path).text.to_string();
        let edits = edits(&text);
        for one in edits.iter().skip(path.len() % step).step_by(step) {
            let mut edited = text.clone();
            edited.replace_range(one.at.clone(), &one.with);
            let found = errors(&RulesetCache::default(), with_text(path, edited));
            tried += 1;
            if found.len() > 1 {
                let line = text[..one.at.start].matches('\n').count() + 1;
                let said: Vec<String> =
                    found.iter().map(|one| format!("    {} {}", one.at.shown(), one.message)).collect();
                let was = &text[one.at.clone()];
                wrong.push(format!(
                    "{path}:{line}: {}: {was:?} -> {:?}: {} errors\n{}",
                    one.what,
                    one.with,
                    found.len(),
                    said.join("\n")
                ));
            }
        }
    }
    println!("{tried} edits");
    assert!(tried > 20 && wrong.is_empty(), "{} of {tried}\n{}", wrong.len(), wrong.join("\n"));
}
