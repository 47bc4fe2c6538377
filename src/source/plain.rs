//! The plainest lines of TOML, read without a parser of all of it.
//!
//! A start reads the first lines of every check of the shipped rules, and nearly all of those are texts, small numbers
//! and lists of words, each on its line. The parser of whole TOML takes twice as long over them, a tenth of a start.

use std::ops::Range;
use std::sync::Arc;

use crate::mistake::{Place, SourceFile};

use super::tree::{Key, Node, Table, Value};

/// Reads a stretch of a file in which every line is `key = value`. Values are texts without escapes, whole numbers, flags,
/// and lists and inline tables of those. `None` where anything else stands there, right or wrong: the parser knows which.
pub(super) fn table(file: &Arc<SourceFile>, range: Range<usize>) -> Option<Table> {
    let mut cursor = Cursor { file, rest: file.text.get(range.clone())?, end: range.end };
    let mut entries = Vec::with_capacity(USUAL);
    loop {
        cursor.take(|byte| byte == b'\n');
        if cursor.rest.is_empty() {
            return Some(Table { entries });
        }
        cursor.entry(&mut entries)?;
        cursor.skip(b'\n')?;
    }
}

/// Room for the lines with which a check begins.
const USUAL: usize = 10;

/// What is still to be read, up to a place in the file.
struct Cursor<'a> {
    file: &'a Arc<SourceFile>,
    rest: &'a str,
    end: usize,
}

impl<'a> Cursor<'a> {
    fn at(&self) -> usize {
        self.end - self.rest.len()
    }

    fn place(&self, start: usize) -> Place {
        Place { file: Arc::clone(self.file), range: start..self.at() }
    }

    fn next(&self) -> Option<u8> {
        self.rest.as_bytes().first().copied()
    }

    /// Goes on over so many bytes.
    fn step(&mut self, bytes: usize) {
        self.rest = self.rest.get(bytes..).unwrap_or("");
    }

    fn blanks(&mut self) {
        self.take(|byte| byte == b' ');
    }

    /// Takes one letter that has to stand here.
    fn letter(&mut self, letter: u8) -> Option<()> {
        (self.next()? == letter).then(|| self.step(1))
    }

    /// Takes one letter that has to stand here, and the blanks around it.
    fn skip(&mut self, letter: u8) -> Option<()> {
        self.blanks();
        self.letter(letter)?;
        self.blanks();
        Some(())
    }

    /// Takes letters as long as they are of a kind.
    fn take(&mut self, of_kind: impl Fn(u8) -> bool) -> &'a str {
        let length = self.rest.bytes().position(|byte| !of_kind(byte)).unwrap_or(self.rest.len());
        let (taken, rest) = self.rest.split_at_checked(length).unwrap_or((self.rest, ""));
        self.rest = rest;
        taken
    }

    /// One key and its value; none may stand twice in a table.
    fn entry(&mut self, entries: &mut Vec<(Key, Node)>) -> Option<()> {
        let start = self.at();
        let text = self.take(|byte| byte.is_ascii_alphanumeric() || byte == b'_' || byte == b'-');
        let known = entries.iter().any(|(key, _)| key.text == text);
        if known || text.is_empty() {
            return None;
        }
        let key = Key { text: text.to_owned(), at: self.place(start) };
        self.skip(b'=')?;
        entries.push((key, self.node()?));
        Some(())
    }

    fn node(&mut self) -> Option<Node> {
        let start = self.at();
        let value = match self.next()? {
            b'"' => Value::Text(self.text()?),
            b'[' => Value::Array(Arc::new(self.several(b'[', b']', |cursor, nodes| {
                nodes.push(cursor.node()?);
                Some(())
            })?)),
            b'{' => {
                let entries = self.several(b'{', b'}', |cursor, entries| cursor.entry(entries))?;
                Value::Table(Arc::new(Table { entries }))
            }
            _ => self.word()?,
        };
        Some(Node { value, at: self.place(start) })
    }

    fn text(&mut self) -> Option<String> {
        self.letter(b'"')?;
        if self.rest.starts_with("\"\"") {
            return None;
        }
        let text = self.take(|byte| byte >= b' ' && byte != b'"' && byte != b'\\' && byte != 0x7f);
        self.letter(b'"')?;
        Some(text.to_owned())
    }

    fn word(&mut self) -> Option<Value> {
        let word = self.take(|byte| !matches!(byte, b' ' | b',' | b']' | b'}' | b'\n'));
        match word {
            "true" => Some(Value::Flag(true)),
            "false" => Some(Value::Flag(false)),
            _ => {
                let decimal = word.bytes().all(|byte| byte.is_ascii_digit());
                let padded = word.len() > 1 && word.starts_with('0');
                (decimal && !padded).then(|| word.parse().ok()).flatten().map(Value::Integer)
            }
        }
    }

    /// What stands between two brackets, a comma after each but the last.
    fn several<T>(
        &mut self,
        open: u8,
        close: u8,
        one: impl Fn(&mut Self, &mut Vec<T>) -> Option<()>,
    ) -> Option<Vec<T>> {
        let mut all = Vec::new();
        self.letter(open)?;
        self.blanks();
        while self.next() != Some(close) {
            if !all.is_empty() {
                self.skip(b',')?;
            }
            one(self, &mut all)?;
            self.blanks();
        }
        self.letter(close)?;
        Some(all)
    }
}
