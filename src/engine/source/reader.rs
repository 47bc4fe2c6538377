//! Reads one table: asks for keys by name, reports what is wrong or left over, and never stops at the first mistake.

use std::cell::{Cell, RefCell};
use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Place, SourceFile};
use crate::units::{Given, Quantity, Span};

use super::describe::{Field, FieldKind, Shape};
use super::leftovers::Lacking;
use super::scalars::{self, Dated};
use super::state::{Override, ReadState};
use super::tree::{Node, Table, Value};
use super::way::Way;

/// A text that remembers where it stood, for references that are checked later.
#[derive(Clone, Debug, PartialEq)]
pub struct Word {
    /// The text.
    pub text: String,
    /// Where it stood.
    pub at: Place,
}

impl Word {
    /// The text.
    pub fn as_str(&self) -> &str {
        &self.text
    }
}

/// Reads one table of a document.
#[derive(Debug)]
pub struct Reader<'a> {
    pub(super) state: &'a ReadState,
    pub(super) table: Option<&'a Arc<Table>>,
    /// Where the table's header or brace stands.
    pub at: Place,
    pub(super) way: Way<'a>,
    pub(super) asked: RefCell<Vec<&'static str>>,
    pub(super) lacking: RefCell<Vec<Lacking>>,
    /// Keys that are told where they stand, and that belong into a table under it.
    pub(super) below: RefCell<Vec<&'static str>>,
    pub(super) finished: Cell<bool>,
}

impl<'a> Reader<'a> {
    /// Reads the whole document with `read`, leftovers included.
    pub fn document<T>(root: &'a Node, state: &'a ReadState, read: impl FnOnce(&Self) -> T) -> T {
        let table = match &root.value {
            Value::Table(table) => Some(table),
            _ => None,
        };
        let at = Place { file: root.at.file.clone(), range: 0..0 };
        Self::run(Self::over(state, table, at, Way::default()), read)
    }

    /// Notes which keys `read` asks for.
    pub fn shape<T>(read: impl FnOnce(&Reader<'_>) -> T) -> Shape {
        let state = ReadState::describing();
        let at = Place { file: SourceFile::new("", ""), range: 0..0 };
        let reader = Reader::over(&state, None, at, Way::default());
        read(&reader);
        drop(reader);
        state.into_shape()
    }

    pub(super) fn over(state: &'a ReadState, table: Option<&'a Arc<Table>>, at: Place, way: Way<'a>) -> Self {
        let asked = Vec::with_capacity(16).into();
        let (lacking, below) = (RefCell::default(), RefCell::default());
        Self { state, table, at, way, asked, lacking, below, finished: Cell::default() }
    }

    fn run<T>(reader: Self, read: impl FnOnce(&Self) -> T) -> T {
        let value = read(&reader);
        reader.leftovers();
        value
    }

    /// Adds a mistake about this document.
    pub fn report(&self, diagnostic: Diagnostic) {
        self.state.report(diagnostic);
    }

    /// Whether something wrong was found in the value of a key, or is missing there.
    pub fn is_wrong_at(&self, key: &str) -> bool {
        let value = self.table.and_then(|table| table.get(key));
        value.is_some_and(|node| self.state.any(|one| node.holds(&one.at)))
    }

    /// The same of a whole table.
    pub fn is_wrong_in(&self, table: &Table) -> bool {
        self.state.any(|one| table.holds(&one.at))
    }

    /// Whether the whole document could be parsed, so that what is missing is missing.
    pub fn is_whole(&self) -> bool {
        !self.state.partial
    }

    /// Whether the key stands in the file.
    pub fn has(&self, key: &str) -> bool {
        self.table.is_some_and(|table| table.get(key).is_some())
    }

    /// How many elements the array of a key has, read or not.
    pub fn len(&self, key: &str) -> Option<usize> {
        match &self.table?.get(key)?.value {
            Value::Array(items) => Some(items.len()),
            _ => None,
        }
    }

    /// Where a key's value stands, or the table's header.
    pub fn place(&self, key: &str) -> Place {
        self.table.and_then(|table| table.get(key)).map_or_else(|| self.at.clone(), |node| node.at.clone())
    }

    fn note(&self, key: &'static str, kind: FieldKind, doc: &str, required: bool) {
        self.asked.borrow_mut().push(key);
        self.tell(|shape| {
            let (key, doc) = (key.to_owned(), doc.to_owned());
            shape.fields.push(Field { key, kind, doc, required, narrower: None });
        });
    }

    pub(super) fn node(
        &self,
        key: &'static str,
        kind: FieldKind,
        doc: &str,
        required: bool,
    ) -> Option<&'a Node> {
        self.note(key, kind, doc, required);
        let node = self.table.and_then(|table| table.get(key));
        if node.is_none() && required {
            let help = format!("add {key} = …: {}", doc.trim_end_matches('.'));
            self.lacks(key, format!("{} has no {key}", self.way.name()), help);
        }
        node
    }

    /// The value that stands in for this key's, if any.
    fn replaced(&self, key: &str) -> Option<&'a Override> {
        if self.state.overrides.is_empty() {
            return None;
        }
        let path = self.way.path(key);
        self.state.paths.borrow_mut().insert(path.clone());
        for candidate in [&path, &self.way.generic(key)] {
            if let Some(value) = self.state.overrides.get(candidate) {
                self.state.used.borrow_mut().insert(candidate.clone());
                return Some(value);
            }
        }
        None
    }

    /// Takes a value, or reports the mistake that stands in its place.
    pub fn settle<T>(&self, result: Result<T, Diagnostic>) -> Option<T> {
        result.map_err(|diagnostic| self.state.report(diagnostic)).ok()
    }

    /// A scalar: an override if one stands in, else the file's value.
    fn scalar<T>(
        &self,
        key: &'static str,
        kind: FieldKind,
        doc: &str,
        required: bool,
        convert: impl Fn(&Node) -> Result<T, Diagnostic>,
    ) -> Option<T> {
        if let Some(Override::Typed(text, at)) = self.replaced(key) {
            // A text may look like a number: a metal is called 316.
            let node = match &kind {
                FieldKind::Text | FieldKind::Choice(_) => {
                    Node { value: Value::Text(text.clone()), at: at.clone() }
                }
                _ => scalars::typed(text, at),
            };
            self.note(key, kind, doc, required);
            return self.settle(convert(&node));
        }
        let node = self.node(key, kind, doc, required)?;
        self.settle(convert(node))
    }

    /// A quantity of the type's kind.
    pub fn quantity<Q: Quantity>(&self, key: &'static str, doc: &str) -> Option<Given<Q>> {
        if let Some(Override::Si(si)) = self.replaced(key) {
            self.note(key, FieldKind::Quantity(Q::KIND), doc, false);
            return Some(Given::exact(Q::from_si(*si)));
        }
        self.scalar(key, FieldKind::Quantity(Q::KIND), doc, false, scalars::quantity::<Q>)
    }

    /// A quantity that has to be more than nothing: a bore, a length, a mass.
    pub fn positive<Q: Quantity>(&self, key: &'static str, doc: &str) -> Option<Given<Q>> {
        let given = self.quantity::<Q>(key, doc);
        self.narrow(key, || serde_json::json!({"exclusiveMinimum": 0}));
        let given = given?;
        if given.si() > 0.0 {
            return Some(given);
        }
        let help = format!("write {}, or leave the key out where it is not known", Q::KIND.examples());
        self.state.report(Diagnostic::error(&self.place(key), format!("{key} must be more than zero"), help));
        None
    }

    /// A share between nothing and all.
    pub fn share(&self, key: &'static str, doc: &str) -> Option<Given<crate::units::Ratio>> {
        let given = self.quantity(key, doc);
        self.narrow(key, || serde_json::json!({"maximum": 1}));
        let given = given?;
        if given.si() <= 1.0 {
            return Some(given);
        }
        let help = "a share is between 0 and 1, or 0 % and 100 %";
        self.state.report(Diagnostic::error(&self.place(key), format!("{key} is more than all of it"), help));
        None
    }

    /// A text.
    pub fn text(&self, key: &'static str, doc: &str) -> Option<String> {
        self.word(key, doc).map(|word| word.text)
    }

    /// A text with its place.
    pub fn word(&self, key: &'static str, doc: &str) -> Option<Word> {
        self.scalar(key, FieldKind::Text, doc, false, scalars::word)
    }

    /// A text that must be there; empty where it is not.
    pub fn need_text(&self, key: &'static str, doc: &str) -> String {
        self.scalar(key, FieldKind::Text, doc, true, scalars::word).map_or_else(String::new, |word| word.text)
    }

    /// A text that must be there, with its place; empty where it is not.
    pub fn need_word(&self, key: &'static str, doc: &str) -> Word {
        let missing = Word { text: String::new(), at: self.at.clone() };
        self.scalar(key, FieldKind::Text, doc, true, scalars::word).unwrap_or(missing)
    }

    /// A text that must be there; a bare whole number is taken as its text.
    pub fn need_text_or_number(&self, key: &'static str, doc: &str) -> String {
        let filled = |node: &Node| match scalars::text_or_number(node) {
            Ok(text) if text.trim().is_empty() => {
                Err(Diagnostic::error(&node.at, format!("{key} is empty"), "write it, or take the line out"))
            }
            read => read,
        };
        self.scalar(key, FieldKind::TextOrNumber, doc, true, filled).unwrap_or_default()
    }

    /// A text, or a bare number taken as its text, with its place.
    pub fn text_or_number(&self, key: &'static str, doc: &str) -> Option<Word> {
        self.scalar(key, FieldKind::TextOrNumber, doc, false, |node| {
            scalars::text_or_number(node).map(|text| Word { text, at: node.at.clone() })
        })
    }

    /// An id that must be there and be the only one of its name in the file.
    pub fn id(&self, key: &'static str, doc: &str) -> String {
        let Some(word) = self.scalar(key, FieldKind::Id, doc, true, scalars::id) else {
            return String::new();
        };
        if let Some(first) = self.state.ids.borrow_mut().insert(word.text.clone(), word.at.clone()) {
            let help = format!("the first one is at line {}; give one of them another id", first.line());
            self.state.report(Diagnostic::error(
                &word.at,
                format!("the id {} is used twice", word.text),
                help,
            ));
        }
        word.text
    }

    /// An id that must be there but need not be unique in the file.
    pub fn plain_id(&self, key: &'static str, doc: &str) -> String {
        self.scalar(key, FieldKind::Id, doc, true, scalars::id).map_or_else(String::new, |word| word.text)
    }

    fn chosen<T: Copy>(&self, key: &'static str, doc: &str, must: bool, words: &[(&str, T)]) -> Option<T> {
        let described = if self.state.shape.is_some() { words } else { &[] };
        let names = described.iter().map(|(word, _)| (*word).to_owned()).collect();
        self.scalar(key, FieldKind::Choice(names), doc, must, |node| scalars::choice(node, words))
    }

    /// One of some words.
    pub fn choice<T: Copy>(&self, key: &'static str, doc: &str, words: &[(&str, T)]) -> Option<T> {
        self.chosen(key, doc, false, words)
    }

    /// One of some words that must be there.
    pub fn need_choice<T: Copy>(&self, key: &'static str, doc: &str, words: &[(&str, T)]) -> Option<T> {
        self.chosen(key, doc, true, words)
    }

    /// An engine speed: a plain number is in revolutions a minute.
    pub fn rpm(&self, key: &'static str, doc: &str) -> Option<Given<crate::units::Rate>> {
        self.scalar(key, FieldKind::Rpm, doc, false, scalars::rpm)
    }

    /// An id that may be left out.
    pub fn optional_id(&self, key: &'static str, doc: &str) -> String {
        self.scalar(key, FieldKind::Id, doc, false, scalars::id).map_or_else(String::new, |word| word.text)
    }

    /// A plain number.
    pub fn number(&self, key: &'static str, doc: &str) -> Option<f64> {
        self.scalar(key, FieldKind::Number, doc, false, scalars::number)
    }

    /// The whole table.
    pub fn whole(&self) -> Arc<Table> {
        self.table.cloned().unwrap_or_default()
    }

    /// A whole number, not negative.
    pub fn count(&self, key: &'static str, doc: &str) -> Option<u32> {
        self.scalar(key, FieldKind::Count, doc, false, scalars::count)
    }

    /// true or false.
    pub fn flag(&self, key: &'static str, doc: &str) -> Option<bool> {
        self.scalar(key, FieldKind::Flag, doc, false, scalars::flag)
    }

    /// A date: a TOML one, a quoted one, or "2026-03" (from the 1st).
    pub fn date(&self, key: &'static str, doc: &str) -> Option<Dated> {
        self.scalar(key, FieldKind::Date, doc, false, scalars::date)
    }

    /// A time, whole or of a day that is known otherwise.
    pub fn time(&self, key: &'static str, doc: &str) -> Option<scalars::TimeTyped> {
        self.scalar(key, FieldKind::Time, doc, false, scalars::time_typed)
    }

    /// A calendar span.
    pub fn span(&self, key: &'static str, doc: &str) -> Option<Span> {
        self.scalar(key, FieldKind::Span, doc, false, scalars::span)
    }

    /// `format = 1`, which every file of ours begins with.
    pub fn format_number(&self) {
        let format =
            self.scalar("format", FieldKind::Count, "Version of the file format: 1.", true, scalars::count);
        self.narrow("format", || serde_json::json!({"const": 1}));
        if format.is_some_and(|format| format != 1) {
            let help = "this program reads format 1: a newer program may have written the file";
            self.report(Diagnostic::error(&self.place("format"), "this file format is not known", help));
        }
    }

    /// The raw node of a key whose kind depends on another key.
    pub fn raw(&self, key: &'static str, doc: &str) -> Option<&'a Node> {
        self.node(key, FieldKind::Any, doc, false)
    }

    fn describe<T>(&self, read: impl FnOnce(&Reader<'_>) -> T) -> Option<Shape> {
        let shape = self.state.shape.as_ref()?;
        shape.borrow_mut().push(Shape::default());
        read(&Reader::over(self.state, None, self.at.clone(), self.way));
        shape.borrow_mut().pop()
    }

    /// A table read by `read`; also where only overrides fill it.
    pub fn table<T>(&self, key: &'static str, doc: &str, read: impl Fn(&Reader<'_>) -> T) -> Option<T> {
        let shape = self.describe(&read);
        let node = self.node(key, FieldKind::Table(shape.unwrap_or_default()), doc, false);
        let way = self.way.on(key, None);
        let Some(node) = node else {
            let set = &self.state.overrides;
            let filled = !set.is_empty()
                && [way.path(""), way.generic("")]
                    .iter()
                    .any(|base| set.keys().any(|key| key.starts_with(base)));
            return filled.then(|| Reader::run(Reader::over(self.state, None, self.at.clone(), way), read));
        };
        let Value::Table(table) = &node.value else {
            self.state.report(scalars::wanted(node, &format!("a table in {{ }}: {key} = {{ … }}")));
            return None;
        };
        Some(Reader::run(Reader::over(self.state, Some(table), node.at.clone(), way), read))
    }

    /// An array of tables, each read by `read`; its id, where it has one, becomes part of the key path.
    pub fn tables<T>(&self, key: &'static str, doc: &str, read: impl Fn(&Reader<'_>) -> T) -> Vec<T> {
        let shape = self.describe(&read);
        let Some(node) = self.node(key, FieldKind::Tables(shape.unwrap_or_default()), doc, false) else {
            return Vec::new();
        };
        let items = self.each(node);
        let mut all = Vec::with_capacity(items.len());
        all.extend(items.filter_map(|item| self.element(key, item, &read)));
        all
    }

    /// One table or an array of them.
    pub fn table_or_tables<T>(
        &self,
        key: &'static str,
        doc: &str,
        read: impl Fn(&Reader<'_>) -> T,
    ) -> Vec<T> {
        let shape = self.describe(&read);
        let kind = FieldKind::TableOrTables(shape.unwrap_or_default());
        let Some(node) = self.node(key, kind, doc, false) else { return Vec::new() };
        match &node.value {
            Value::Table(_) => self.element(key, node, &read).into_iter().collect(),
            value if !matches!(value, Value::Array(_)) => {
                self.state.report(scalars::wanted(node, &format!("a table in {{ }}: {key} = {{ … }}")));
                Vec::new()
            }
            _ => self.each(node).filter_map(|item| self.element(key, item, &read)).collect(),
        }
    }

    fn element<T>(&self, key: &str, item: &'a Node, read: &impl Fn(&Reader<'_>) -> T) -> Option<T> {
        let Value::Table(table) = &item.value else {
            self.state.report(scalars::wanted(item, "a table in { }"));
            return None;
        };
        let way = self.way.on(key, table.text("id"));
        Some(Reader::run(Reader::over(self.state, Some(table), item.at.clone(), way), read))
    }
}
