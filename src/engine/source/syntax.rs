//! What a file that is no TOML lacks, in the words of somebody who has never heard of TOML.

use std::ops::Range;
use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Place, SourceFile};

/// What is said where nothing better is known.
const PLAIN: &str = "write it as TOML 1.0 asks: key = value, texts in quotes, dates as 2026-03-14";

/// A mistake of the parser: its own words and where it stopped.
#[derive(Clone)]
pub(super) struct Found {
    pub message: String,
    pub range: Range<usize>,
}

/// What is said of a bracket or brace that is never closed.
const OPEN: &str = "not closed";

/// What is said of tables whose heading names none that is there.
const ASTRAY: &str = "astray";

impl Found {
    /// A value that begins on a line and does not end.
    pub fn open(range: Range<usize>) -> Self {
        Self { message: OPEN.to_owned(), range }
    }

    /// A heading that tables further down ought to belong to, and do not.
    pub fn astray(range: Range<usize>) -> Self {
        Self { message: ASTRAY.to_owned(), range }
    }

    /// Whether the parser was in a list when it stopped.
    pub fn is_in_list(&self) -> bool {
        self.message.contains("array")
    }

    /// Whether it is a key that stands a second time.
    pub fn is_double(&self) -> bool {
        self.message.starts_with("duplicate key")
    }
}

/// The mistakes worth saying, each with its remedy: what only follows from the one before it on a line is left out.
pub(super) fn diagnostics(file: &Arc<SourceFile>, mut found: Vec<Found>) -> Vec<Diagnostic> {
    found.sort_by_key(|one| one.range.start);
    if let Some(diagnostic) = no_plain_text(file) {
        return vec![diagnostic];
    }
    let mut said: Vec<(usize, Found)> = Vec::new();
    for one in found {
        let line = line_of(&file.text, one.range.start).start;
        let follows = said.iter().any(|(known, before)| {
            let apart = unquoted(before) && unquoted(&one) && before.range.end < one.range.start;
            // One quote too few turns text and what is between texts about.
            let odd =
                file.text.get(line_of(&file.text, line)).unwrap_or_default().matches('"').count() % 2 == 1;
            *known == line && (!apart || odd || is_key(file, &one))
        });
        if !follows {
            said.push((line, one));
        }
    }
    let mut all: Vec<Diagnostic> = said.into_iter().map(|(_, one)| told(file, one)).collect();
    // Two that read the same on one line have one cause.
    all.dedup_by(|later, one| later.message == one.message && later.at.line() == one.at.line());
    all
}

fn unquoted(found: &Found) -> bool {
    found.message.starts_with("string values must be quoted")
}

/// Whether what was taken for a value is a key: the list before it does not end.
fn is_key(file: &SourceFile, found: &Found) -> bool {
    unquoted(found) && file.text.get(found.range.end..).is_some_and(|rest| rest.trim_start().starts_with('='))
}

/// A file that a word processor wrote in its own form.
fn no_plain_text(file: &Arc<SourceFile>) -> Option<Diagnostic> {
    let start = file.text.trim_start_matches('\u{feff}');
    let own = start.starts_with("{\\rtf") || start.starts_with("<?xml") || start.starts_with("<!DOCTYPE");
    let at = Place { file: Arc::clone(file), range: 0..start.len().min(5) };
    own.then(|| {
        let help = "save it as plain text: in a word processor, Save as, Plain text, UTF-8";
        Diagnostic::error(&at, "this is a word processor's file, not plain text", help)
    })
}

/// The line around a place.
fn line_of(text: &str, at: usize) -> Range<usize> {
    let at = at.min(text.len());
    let before = text.get(..at).unwrap_or("");
    let start = before.rfind('\n').map_or(0, |end| end + 1);
    let end = text.get(at..).and_then(|rest| rest.find('\n')).map_or(text.len(), |end| at + end);
    start..end
}

fn told(file: &Arc<SourceFile>, found: Found) -> Diagnostic {
    let text = &file.text;
    let line = text.get(line_of(text, found.range.start)).unwrap_or("").trim();
    let under = text.get(found.range.clone()).unwrap_or("").trim();
    let open = is_key(file, &found);
    let (message, help) = words(if open { "array" } else { &found.message }, line, under);
    Diagnostic::error(&Place { file: Arc::clone(file), range: found.range }, message, help)
}

/// The mistake and its remedy; the parser's own words where they are clear enough.
fn words(message: &str, line: &str, under: &str) -> (String, String) {
    let own = || message.to_owned();
    let curly = |c: char| matches!(c, '“' | '”' | '„' | '‘' | '’' | '«' | '»');
    if line.starts_with("//") || under.starts_with("//") || line_remark(message, line) {
        return ("// does not begin a remark here".to_owned(), "begin a remark with #".to_owned());
    }
    if under.contains(curly) || (line.contains(curly) && !message.starts_with("duplicate")) {
        let help = "type straight quotes, \"like this\": a word processor turned these round";
        return ("these quotation marks are curled".to_owned(), help.to_owned());
    }
    if message.starts_with("string values must be quoted") {
        let message = format!("{under} is no number, no date, not true or false, and no text in quotes");
        return (message, bare_value(under));
    }
    if message.starts_with("key with no value")
        || (message.starts_with("invalid unquoted key") && line.contains(':'))
    {
        let colon = line.split_once(':').filter(|(key, _)| !key.contains(['=', '"', ' ']));
        let help = match colon {
            Some((key, value)) => format!("write {} = {}", key.trim(), value.trim()),
            None => "write key = value on each line; a text goes in quotes".to_owned(),
        };
        return ("there is no = between a key and its value".to_owned(), help);
    }
    if let Some(spoiled) = spoiled(message, line) {
        return spoiled;
    }
    if message.starts_with("duplicate key") {
        let help = if line.starts_with('[') {
            "put each [[check]] before its own [[check.case]], and a [table] only once"
        } else if under == "id" {
            "keep one of the two lines, or put the heading that is missing above this one: [[check]]"
        } else {
            "keep one of the two lines"
        };
        return (format!("{under} stands here for the second time"), help.to_owned());
    }
    if message.starts_with("unclosed array table") || message.starts_with("unclosed table") {
        let name = line.trim_matches(['[', ']', ' ']);
        let help =
            if line.starts_with("[[") { format!("write [[{name}]]") } else { format!("write [{name}]") };
        return ("a bracket is missing at the end of this heading".to_owned(), help);
    }
    if message.contains("array") {
        let help = "end the list before it with ], and put a comma between its values";
        return ("a list is not closed before this".to_owned(), help.to_owned());
    }
    if message.starts_with("invalid basic string") || message.starts_with("invalid literal string") {
        let help =
            "end the text with \" on its own line; for a text of several lines begin and end it with \"\"\"";
        return ("a text in quotes does not end on this line".to_owned(), help.to_owned());
    }
    (own(), PLAIN.to_owned())
}

/// What the recovery found to be behind what the parser said.
fn spoiled(message: &str, line: &str) -> Option<(String, String)> {
    let (said, help) = match message {
        OPEN => (
            "a list or table that begins here is not closed".to_owned(),
            "end it with the ] or } that belongs to the one it begins with".to_owned(),
        ),
        ASTRAY if line.contains('.') => {
            let outer = line.trim_matches(['[', ']', ' ']).split('.').next().unwrap_or_default();
            (
                format!("there is no [[{outer}]] above this that it could belong to"),
                format!("put it behind the [[{outer}]] that it belongs to"),
            )
        }
        ASTRAY => (
            "this heading is not the one that the tables under it belong to".to_owned(),
            "a table such as [[check.case]] belongs under its own [[check]]: mend the heading".to_owned(),
        ),
        _ => return None,
    };
    Some((said, help))
}

/// A remark behind a value, in the way of other languages.
fn line_remark(message: &str, line: &str) -> bool {
    message.starts_with("unexpected key or value") && line.contains(" //")
}

/// What to write in place of a value without quotes.
fn bare_value(under: &str) -> String {
    let lower = under.to_ascii_lowercase();
    if matches!(lower.as_str(), "yes" | "on" | "true") {
        return "write true, in small letters and without quotes".to_owned();
    }
    if matches!(lower.as_str(), "no" | "off" | "false") {
        return "write false, in small letters and without quotes".to_owned();
    }
    if let Some(date) = turned_date(under) {
        return date;
    }
    format!("put it in quotes: \"{under}\"")
}

/// A date with its parts in another order.
fn turned_date(under: &str) -> Option<String> {
    let parts: Vec<&str> = under.split(['/', '.', '-']).collect();
    let [a, b, c] = parts.as_slice() else { return None };
    let number = |text: &str| text.parse::<u32>().ok();
    let (a, b, year) = (number(a)?, number(b)?, number(c).filter(|_| c.len() == 4)?);
    let written = |month: u32, day: u32| format!("{year}-{month:02}-{day:02}");
    Some(match (a, b) {
        (1..=12, 13..=31) => format!("write year-month-day without quotes: {}", written(a, b)),
        (13..=31, 1..=12) => format!("write year-month-day without quotes: {}", written(b, a)),
        _ => "write year-month-day without quotes, such as 2026-11-25".to_owned(),
    })
}
