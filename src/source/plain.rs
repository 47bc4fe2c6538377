//! The plainest lines of TOML, read without a parser of all of it.
//!
//! A start reads the head of the shipped rules and the first lines of each of their checks, and nearly all of those are
//! texts, small numbers and lists of words, each on its line. The parser of whole TOML takes three times as long over them.

use std::ops::Range;
use std::sync::Arc;

use crate::mistake::{Place, SourceFile};

use super::tree::{Key, Node, Table, Value};

/// Reads a stretch of a file in which every line is `key = value`. Values are texts without escapes, plain numbers, days,
/// flags, and lists and inline tables of those. `None` where anything else stands there, right or wrong: the parser knows which.
pub(super) fn table(file: &Arc<SourceFile>, range: Range<usize>) -> Option<Table> {
    let mut cursor = Cursor { file, rest: file.text.get(range.clone())?, end: range.end };
    let entries = cursor.lines()?;
    cursor.rest.is_empty().then_some(Table { entries })
}

/// Reads a document, or its beginning, of such lines and of tables of them under headers of one key each, which may stand
/// once as `[key]` or several times as `[[key]]`. `None` where anything else stands there.
pub(super) fn document(file: &Arc<SourceFile>, range: Range<usize>) -> Option<Table> {
    let mut cursor = Cursor { file, rest: file.text.get(range.clone())?, end: range.end };
    let mut root = cursor.lines()?;
    let own = root.len();
    while cursor.next() == Some(b'[') {
        let start = cursor.at();
        let several = cursor.rest.starts_with("[[");
        let brackets = if several { 2 } else { 1 };
        cursor.step(brackets);
        let key = cursor.key()?;
        (0..brackets).try_for_each(|_| cursor.letter(b']'))?;
        let at = cursor.place(start);
        cursor.end_of_line()?;
        let table = Value::Table(Arc::new(Table { entries: cursor.lines()? }));
        let node = Node { value: table, at: at.clone() };
        // What was set as `key = value` takes no table.
        let known = root.iter_mut().enumerate().find(|(_, (known, _))| known.text == key.text);
        match (known.map(|(at, (_, node))| (at >= own, &mut node.value)), several) {
            (None, true) => root.push((key, Node { value: Value::Array(Arc::new(vec![node])), at })),
            (None, false) => root.push((key, node)),
            (Some((true, Value::Array(items))), true) => Arc::make_mut(items).push(node),
            _ => return None,
        }
    }
    cursor.rest.is_empty().then_some(Table { entries: root })
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

    /// Lines of a key and its value, with empty ones and comments between them, up to a header or the end.
    fn lines(&mut self) -> Option<Vec<(Key, Node)>> {
        let mut entries = Vec::with_capacity(USUAL);
        loop {
            self.take(|byte| matches!(byte, b'\n' | b' '));
            match self.next() {
                None | Some(b'[') => return Some(entries),
                Some(b'#') => drop(self.take(|byte| byte == b'\t' || (byte >= b' ' && byte != 0x7f))),
                Some(_) => self.entry(&mut entries)?,
            }
            self.end_of_line()?;
        }
    }

    fn end_of_line(&mut self) -> Option<()> {
        self.blanks();
        if self.rest.is_empty() { Some(()) } else { self.letter(b'\n') }
    }

    fn key(&mut self) -> Option<Key> {
        let start = self.at();
        let text = self.take(|byte| byte.is_ascii_alphanumeric() || byte == b'_' || byte == b'-');
        (!text.is_empty()).then(|| Key { text: text.to_owned(), at: self.place(start) })
    }

    /// One key and its value; none may stand twice in a table.
    fn entry(&mut self, entries: &mut Vec<(Key, Node)>) -> Option<()> {
        let key = self.key()?;
        if entries.iter().any(|(known, _)| known.text == key.text) {
            return None;
        }
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
                let decimal =
                    |digits: &str| !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
                let whole = |digits: &str| decimal(digits) && (digits == "0" || !digits.starts_with('0'));
                match word.split_once('.') {
                    Some((before, after)) if whole(before) && decimal(after) => {
                        word.parse().ok().map(Value::Float)
                    }
                    None if whole(word) => word.parse().ok().map(Value::Integer),
                    None if word.len() == "2026-11-01".len() => word.parse().ok().map(Value::Date),
                    _ => None,
                }
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
