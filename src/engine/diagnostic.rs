//! A mistake in a file somebody wrote: where it is, what is wrong, and what to do about it.

use std::borrow::Cow;
use std::fmt;
use std::ops::Range;
use std::sync::Arc;

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use linewalk_record::escape::replace_control;
pub use linewalk_record::escape::{
    escape_control, escape_control_json, escape_control_text, many, needs_escape, shown,
};
use sha2::{Digest, Sha256};

/// A file as it was read: the name to print and its text.
#[derive(PartialEq, Eq)]
pub struct SourceFile {
    /// The name as the person gave it.
    pub name: String,
    /// The whole text.
    pub text: Cow<'static, str>,
    /// The other files of a ruleset that is kept in several, in the order they are read.
    pub parts: Vec<Arc<Self>>,
}

/// Without its text, which every place in it would repeat.
impl fmt::Debug for SourceFile {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("SourceFile").field("name", &self.name).finish_non_exhaustive()
    }
}

impl SourceFile {
    /// Wraps a name and a text.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Arc<Self> {
        Arc::new(Self { name: name.into(), text: Cow::Owned(text.into()), parts: Vec::new() })
    }

    /// Wraps a text that is compiled in, without a copy.
    pub fn compiled_in(name: impl Into<String>, text: &'static str) -> Arc<Self> {
        Arc::new(Self { name: name.into(), text: Cow::Borrowed(text), parts: Vec::new() })
    }

    /// The same file with its parts.
    pub fn with_parts(file: Arc<Self>, parts: Vec<Arc<Self>>) -> Arc<Self> {
        Arc::new(Self { name: file.name.clone(), text: file.text.clone(), parts })
    }

    /// SHA-256 of its text and then that of its parts, as lower-case hex.
    pub fn sha256(&self) -> String {
        let mut hash = Sha256::new();
        hash.update(self.text.as_bytes());
        self.parts.iter().for_each(|part| hash.update(part.text.as_bytes()));
        hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
    }

    /// Line and column of a byte offset, both from 1; columns count characters.
    pub fn line_column(&self, offset: usize) -> (usize, usize) {
        let end = (0..=offset.min(self.text.len())).rev().find(|&at| self.text.is_char_boundary(at));
        let before = self.text.get(..end.unwrap_or(0)).unwrap_or("");
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
        (line, column)
    }
}

/// A stretch of one file.
#[derive(Clone, Debug)]
pub struct Place {
    /// The file.
    pub file: Arc<SourceFile>,
    /// Bytes of its text.
    pub range: Range<usize>,
}

impl PartialEq for Place {
    fn eq(&self, other: &Self) -> bool {
        self.file.name == other.file.name && self.range == other.range
    }
}

impl Place {
    /// A stretch inside this one, `inner` counted from its start.
    pub fn inside(&self, inner: Range<usize>) -> Self {
        let start = self.range.start.saturating_add(inner.start).min(self.range.end);
        let end = self.range.start.saturating_add(inner.end).clamp(start, self.range.end);
        Self { file: Arc::clone(&self.file), range: start..end }
    }

    /// Whether another begins in this one.
    pub fn holds(&self, other: &Self) -> bool {
        self.file.name == other.file.name && self.range.contains(&other.range.start)
    }

    /// `file:line:column`.
    pub fn shown(&self) -> String {
        let (line, column) = self.file.line_column(self.range.start);
        format!("{}:{line}:{column}", escape_control(&self.file.name))
    }

    /// The line it begins in: its number, its text without the end, and the stretch within it and beyond.
    fn line_of(&self) -> (usize, &str, Range<usize>) {
        let text: &str = &self.file.text;
        let bytes = text.as_bytes();
        let start = self.range.start.min(bytes.len());
        let before = bytes.get(..start).unwrap_or_default();
        let first = before.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
        let rest = text.get(first..).unwrap_or_default();
        let line = rest.split('\n').next().unwrap_or_default();
        let within = start - first..self.range.end.max(start) - first;
        (self.line(), line.strip_suffix('\r').unwrap_or(line), within)
    }

    /// The line number, from 1.
    pub fn line(&self) -> usize {
        self.file.line_column(self.range.start).0
    }
}

/// How bad a mistake is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// Merely doubtful: the file can be used.
    Warning,
    /// The file cannot be used as it is.
    Error,
}

/// One mistake in one file.
#[derive(Clone, Debug, PartialEq)]
pub struct Diagnostic {
    /// How bad it is.
    pub weight: Weight,
    /// What is wrong, in one sentence without a full stop.
    pub message: String,
    /// Where.
    pub at: Place,
    /// Words beside the caret.
    pub label: String,
    /// What to do about it.
    pub help: String,
}

impl Diagnostic {
    /// A mistake that makes the file unusable.
    pub fn error(at: &Place, message: impl Into<String>, help: impl Into<String>) -> Self {
        Self {
            weight: Weight::Error,
            message: message.into(),
            at: at.clone(),
            label: String::new(),
            help: help.into(),
        }
    }

    /// Something doubtful.
    pub fn warning(at: &Place, message: impl Into<String>, help: impl Into<String>) -> Self {
        Self { weight: Weight::Warning, ..Self::error(at, message, help) }
    }

    /// Words to stand beside the caret.
    pub fn labelled(self, label: impl Into<String>) -> Self {
        Self { label: label.into(), ..self }
    }

    /// The text as printed: `file:line:column: error: …`, the line, a caret and the remedy.
    pub fn render(&self) -> String {
        let level = match self.weight {
            Weight::Error => Level::ERROR,
            Weight::Warning => Level::WARNING,
        };
        // Only its own line is looked at: a file of a megabyte may have many mistakes.
        let (number, line, range) = self.at.line_of();
        let line = marked_source(line);
        let mut annotation = AnnotationKind::Primary.span(widen(&line, range));
        if !self.label.is_empty() {
            annotation = annotation.label(escape_control(&self.label));
        }
        let snippet = Snippet::source(line.as_ref())
            .line_start(number)
            .path(escape_control(&self.at.file.name))
            .annotation(annotation);
        let mut group = level.primary_title(short(&self.message)).element(snippet);
        if !self.help.is_empty() {
            group = group.element(Level::HELP.message(short(&self.help)));
        }
        Renderer::plain().render(&[group])
    }
}

/// The caret needs whole characters and at most one line.
fn widen(text: &str, range: Range<usize>) -> Range<usize> {
    let mut start = range.start.min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let line_end = text.get(start..).and_then(|rest| rest.find('\n')).map_or(text.len(), |at| start + at);
    let mut end = range.end.clamp(start, line_end.max(start));
    while !text.is_char_boundary(end) {
        end += 1;
    }
    start..end
}

/// A message as it is shown: harmless, and cut where what it quotes is far too long.
fn short(message: &str) -> String {
    let mut text = escape_control(message);
    if let Some((end, _)) = text.char_indices().nth(2000) {
        text.truncate(end);
        text.push('…');
    }
    text
}

/// A file's text with every harmful character replaced by marks of as many bytes, so that places in it stay.
fn marked_source(text: &str) -> Cow<'_, str> {
    replace_control(text, |c, out| {
        out.push_str(match c.len_utf8() {
            1 => "?",
            2 => "\u{b7}",
            3 => "\u{fffd}",
            _ => "?\u{fffd}",
        });
    })
}

/// How many mistakes are shown; a file that has more is better mended in parts.
pub const SHOWN: usize = 50;

/// Mistakes as text, one after the other; of very many only the first.
pub fn render_all(diagnostics: &[Diagnostic]) -> String {
    let mut all: Vec<String> = diagnostics.iter().take(SHOWN).map(Diagnostic::render).collect();
    if let Some(more) = diagnostics.len().checked_sub(SHOWN).filter(|more| *more > 0) {
        all.push(format!("and {more} more mistakes"));
    }
    all.join("\n")
}

/// Mistakes in file order, errors of one place before doubts.
pub fn sort(diagnostics: &mut [Diagnostic]) {
    diagnostics.sort_by(|a, b| {
        (a.at.file.name.as_str(), a.at.range.start, b.weight).cmp(&(
            b.at.file.name.as_str(),
            b.at.range.start,
            a.weight,
        ))
    });
}

/// Whether any of them makes its file unusable.
pub fn any_error(diagnostics: &[Diagnostic]) -> bool {
    diagnostics.iter().any(|diagnostic| diagnostic.weight == Weight::Error)
}

/// "did you mean lf-hose?", or what else there is to say where none of `known` is close enough.
pub fn near_or<'a>(
    word: &str,
    known: impl IntoIterator<Item = &'a str>,
    otherwise: impl FnOnce() -> String,
) -> String {
    did_you_mean(word, known).map_or_else(otherwise, |near| format!("did you mean {near}?"))
}

/// The closest of `known` to `word`, if any is close enough to be meant.
pub fn did_you_mean<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // A word this long is no slip of the finger, and comparing it takes its time.
    if word.len() > 100 {
        return None;
    }
    let lower = word.to_lowercase();
    known
        .into_iter()
        .map(|candidate| (strsim::jaro_winkler(&lower, &candidate.to_lowercase()), candidate))
        .filter(|(score, _)| *score > 0.82)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, candidate)| candidate)
}
