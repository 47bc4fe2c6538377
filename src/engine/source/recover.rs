//! Syntax mistakes one by one: what a mistake spoils is taken out of the text, so that the rest of it reads as if it were
//! not there. A bracket left open is one mistake then, and not one a line to the end of the file.

use std::borrow::Cow;
use std::ops::Range;

use toml::de::DeTable;

use crate::diagnostic::did_you_mean;

use super::syntax::Found;

/// How much text is parsed over again in search of what a mistake spoils, in bytes.
const MOST_PARSED: usize = 64 * 1024 * 1024;

/// What a line that is left out counts against a mistake that is left.
const OF_A_MISTAKE: usize = 5;

/// A text without what could not be parsed, as long as before, and the mistakes in their order.
pub(super) struct Recovered<'t> {
    pub text: Cow<'t, str>,
    pub found: Vec<Found>,
}

/// Lines that a mistake may have spoiled, and what is said then.
struct Spoiled {
    lines: Range<usize>,
    says: Says,
}

/// What is said of a mistake.
enum Says {
    /// What the parser says, where it stopped.
    Here,
    /// That a value further up is not closed.
    Open,
    /// That a heading further up is not the one meant.
    Astray,
}

/// Takes what is wrong out of a text. At most so many mistakes are told.
pub(super) fn recover(text: &str, most: usize) -> Recovered<'_> {
    let mut recovered = Recovered { text: Cow::Borrowed(text), found: Vec::new() };
    let mut parsed = 0;
    while recovered.found.len() < most && parsed < MOST_PARSED {
        let errors = errors(&recovered.text);
        let Some(first) = errors.first() else { break };
        let lines = Lines::of(&recovered.text);
        let line = lines.at(first.range.start);
        let spoiled = lines.spoiled(line, first);
        parsed += (spoiled.len() + 1) * text.len();
        let left = |gone: &Spoiled| {
            let rest = self::errors(&without(&lines, &gone.lines));
            let stays = rest.first().is_some_and(|still| still.range.start == first.range.start);
            (stays, rest.len() * OF_A_MISTAKE + gone.lines.len())
        };
        let Some(best) = spoiled.into_iter().min_by_key(left) else { break };
        match best.says {
            Says::Here => {
                let here = errors.iter().filter(|error| lines.at(error.range.start) == line);
                recovered.found.extend(here.cloned());
            }
            Says::Open => recovered.found.push(Found::open(lines.bytes(best.lines.start))),
            Says::Astray => recovered.found.push(Found::astray(lines.bytes(best.lines.start))),
        }
        let next = without(&lines, &best.lines);
        recovered.text = Cow::Owned(next);
    }
    recovered
}

/// Syntax mistakes of a text, the first first.
fn errors(text: &str) -> Vec<Found> {
    let (_, errors) = DeTable::parse_recoverable(text);
    let mut found: Vec<Found> = errors
        .into_iter()
        .map(|error| Found {
            message: error.message().trim().to_owned(),
            range: error.span().unwrap_or(0..0),
        })
        .collect();
    found.sort_by_key(|one| one.range.start);
    found
}

/// A text with some of its lines made blank.
fn without(lines: &Lines<'_>, gone: &Range<usize>) -> String {
    let text = lines.text;
    let bytes = lines.bytes(gone.start).start..lines.bytes(gone.end.saturating_sub(1)).end;
    let kept = |range: Range<usize>| text.get(range).unwrap_or_default();
    let blank: String =
        kept(bytes.clone()).bytes().map(|byte| if byte == b'\n' { '\n' } else { ' ' }).collect();
    format!("{}{blank}{}", kept(0..bytes.start), kept(bytes.end..text.len()))
}

/// The lines of a text.
struct Lines<'t> {
    text: &'t str,
    starts: Vec<usize>,
}

impl<'t> Lines<'t> {
    fn of(text: &'t str) -> Self {
        let ends = text.match_indices('\n').map(|(at, _)| at + 1);
        Self { text, starts: std::iter::once(0).chain(ends).collect() }
    }

    /// The line that a byte is in.
    fn at(&self, byte: usize) -> usize {
        self.starts.partition_point(|start| *start <= byte).saturating_sub(1)
    }

    /// The bytes of a line, without its end.
    fn bytes(&self, line: usize) -> Range<usize> {
        let start = self.starts.get(line).copied().unwrap_or(self.text.len());
        let end = self.starts.get(line + 1).map_or(self.text.len(), |next| next.saturating_sub(1));
        start..end.max(start)
    }

    fn line(&self, line: usize) -> &'t str {
        self.text.get(self.bytes(line)).unwrap_or_default().trim()
    }

    /// `[table]` or `[[array]]`, also where a bracket lacks.
    fn is_heading(&self, line: usize) -> bool {
        let text = self.line(line);
        let name = self.name(line);
        let of_name = |c: char| c.is_alphanumeric() || matches!(c, '_' | '-' | '.');
        (text.starts_with('[') || text.ends_with(']'))
            && name.starts_with(|c: char| c.is_alphabetic() || c == '_')
            && name.chars().all(of_name)
    }

    /// `key = value`, or the beginning of one of several lines; also with another sign between them.
    fn is_statement(&self, line: usize) -> bool {
        let line = self.line(line);
        let rest = line.trim_start_matches(|c: char| c.is_alphanumeric() || matches!(c, '_' | '-' | '.'));
        rest.len() < line.len() && rest.trim_start().starts_with(['=', ':'])
    }

    fn begins(&self, line: usize) -> bool {
        self.is_heading(line) || self.is_statement(line)
    }

    /// The first line after one that is such, or the end.
    fn next(&self, line: usize, is_such: impl Fn(&Self, usize) -> bool) -> usize {
        (line + 1..self.starts.len()).find(|line| is_such(self, *line)).unwrap_or(self.starts.len())
    }

    /// The name in a heading.
    fn name(&self, line: usize) -> &'t str {
        self.line(line).trim_matches(['[', ']', ' '])
    }

    /// `[[check]]`, and not one of a table in it.
    fn is_outer(&self, line: usize) -> bool {
        self.is_heading(line) && !self.name(line).contains('.')
    }

    /// What a mistake may have spoiled, the least first.
    fn spoiled(&self, line: usize, error: &Found) -> Vec<Spoiled> {
        let here = |lines| Spoiled { lines, says: Says::Here };
        let before = (0..line).rev().find(|line| self.begins(*line));
        let statement = before.filter(|before| self.is_statement(*before));
        let open = statement.map(|before| Spoiled { lines: before..line, says: Says::Open });
        if self.is_heading(line) {
            let is_end = if self.is_outer(line) { Self::is_outer } else { Self::is_heading };
            let block = here(line..self.next(line, is_end));
            let astray = self.astray(line).filter(|_| error.is_double());
            return [open, astray, Some(block)].into_iter().flatten().collect();
        }
        let key = self.text.get(error.range.clone()).unwrap_or_default();
        if error.is_double() && key == "id" {
            return vec![here(line..self.next(line, Self::is_outer))];
        }
        // A list goes on into the key of a line only where it began further up.
        let key_of_line = self.text.get(self.bytes(line).start..error.range.start);
        let at_key = self.is_statement(line) && key_of_line.is_some_and(|key| !key.contains(['=', ':']));
        if at_key && error.is_in_list() && open.is_some() {
            return open.into_iter().collect();
        }
        let next = self.next(line, Self::begins);
        let start = if self.is_statement(line) { line } else { statement.unwrap_or(line) };
        // A member of a list that lacks the comma behind it.
        let is_member = start < line && !self.line(line - 1).starts_with(']');
        let member = is_member.then(|| here(line - 1..line));
        let whole = [here(line..next), here(start..next)];
        // A key twice may come of a heading that is missing above it.
        let rest = error.is_double().then(|| here(line..self.next(line, Self::is_heading)));
        let all = [Some(here(line..line + 1)), member, open].into_iter().flatten();
        all.chain(whole).chain(rest).collect()
    }

    /// Tables that do not belong to what stands above them, with that: its heading is misspelled, or it stands too late.
    fn astray(&self, heading: usize) -> Option<Spoiled> {
        let outer = self.name(heading).split('.').next().unwrap_or_default();
        let own = format!("{outer}.");
        let first = if self.is_outer(heading) {
            let is_own = |line: &usize| self.is_heading(*line) && self.name(*line).starts_with(&own);
            (0..heading).find(is_own)?
        } else {
            heading
        };
        let above = (0..first).rev().find(|line| self.is_outer(*line))?;
        if self.name(above) == outer {
            return None;
        }
        let near = did_you_mean(self.name(above), [outer]).is_some();
        let lines = if near { above } else { first }..self.next(first, Self::is_outer);
        Some(Spoiled { lines, says: Says::Astray })
    }
}
