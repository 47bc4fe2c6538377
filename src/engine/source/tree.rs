//! A TOML document as a tree whose every key and value knows its file and place.

use std::sync::Arc;

use toml::Spanned;
use toml::de::{DeTable, DeValue};
use toml::value::Datetime;

use crate::diagnostic::{Diagnostic, Place, SourceFile, Weight};

use super::recover::recover;

/// Syntax mistakes of one file that are told.
const MOST_ERRORS: usize = 100;

/// The most members of one array or table: far more than a car, a rule file or a sheet has.
pub const MOST_MEMBERS: usize = 2000;

/// The longest text or key of a file, in bytes.
pub const LONGEST_TEXT: usize = 16 * 1024;

/// What stands at one place.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A string.
    Text(String),
    /// A whole number.
    Integer(i64),
    /// A decimal number; `nan` and `inf` are refused when read.
    Float(f64),
    /// true or false.
    Flag(bool),
    /// A TOML date or date-time.
    Date(Datetime),
    /// An array; a copy shares it.
    Array(Arc<Vec<Node>>),
    /// A table; a copy shares it.
    Table(Arc<Table>),
}

impl Value {
    /// The table, where it is one.
    pub fn as_table(&self) -> Option<&Table> {
        match self {
            Self::Table(table) => Some(table),
            _ => None,
        }
    }

    /// Its id, where it is a table that has one.
    pub fn id(&self) -> Option<&str> {
        self.as_table()?.text("id")
    }

    /// What it is called in a message.
    pub fn name(&self) -> &'static str {
        match self {
            Self::Text(_) => "a text",
            Self::Integer(_) => "a whole number",
            Self::Float(_) => "a number",
            Self::Flag(_) => "true or false",
            Self::Date(_) => "a date",
            Self::Array(_) => "an array",
            Self::Table(_) => "a table",
        }
    }
}

/// A value and where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// The value.
    pub value: Value,
    /// Where it stands.
    pub at: Place,
}

impl Node {
    /// Whether a place is in it.
    pub fn holds(&self, place: &Place) -> bool {
        let within = match &self.value {
            Value::Array(items) => items.iter().any(|item| item.holds(place)),
            Value::Table(table) => table.holds(place),
            _ => false,
        };
        within || self.at.holds(place)
    }
}

/// A key and where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Key {
    /// The key's text.
    pub text: String,
    /// Where it stands.
    pub at: Place,
}

/// A table in file order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// Keys with their values, in the order of the file.
    pub entries: Vec<(Key, Node)>,
}

impl Table {
    /// The value of a key.
    pub fn get(&self, key: &str) -> Option<&Node> {
        self.entries.iter().find(|(k, _)| k.text == key).map(|(_, node)| node)
    }

    /// The value of a key, to change it.
    pub fn get_mut(&mut self, key: &str) -> Option<&mut Node> {
        self.entries.iter_mut().find(|(k, _)| k.text == key).map(|(_, node)| node)
    }

    /// Whether a place is at one of its keys or in their values.
    pub fn holds(&self, place: &Place) -> bool {
        self.entries.iter().any(|(key, node)| key.at.holds(place) || node.holds(place))
    }

    /// Takes a key out.
    pub fn remove(&mut self, key: &str) -> Option<Node> {
        let at = self.entries.iter().position(|(k, _)| k.text == key)?;
        Some(self.entries.remove(at).1)
    }

    /// The text of a key, where it is a text.
    pub fn text(&self, key: &str) -> Option<&str> {
        match &self.get(key)?.value {
            Value::Text(text) => Some(text),
            _ => None,
        }
    }
}

/// Reads a document. The tree holds whatever could be read; every syntax mistake is reported.
pub fn parse(file: &Arc<SourceFile>) -> (Node, Vec<Diagnostic>) {
    let (table, errors) = DeTable::parse_recoverable(&file.text);
    let (table, mut diagnostics) = if errors.is_empty() {
        (tree_of(file, table.into_inner()), Vec::new())
    } else {
        let recovered = recover(&file.text, MOST_ERRORS);
        let (table, _) = DeTable::parse_recoverable(&recovered.text);
        (tree_of(file, table.into_inner()), super::syntax::diagnostics(file, recovered.found))
    };
    let at = Place { file: Arc::clone(file), range: 0..file.text.len() };
    let node = Node { value: Value::Table(Arc::new(table)), at };
    too_long(&node, &mut diagnostics);
    (node, diagnostics)
}

/// Reports texts and keys that are longer than anything people write, so that whatever is read can also be kept
/// and shown.
fn too_long(node: &Node, diagnostics: &mut Vec<Diagnostic>) {
    match &node.value {
        Value::Text(text) => report_length(&node.at, text.len(), diagnostics),
        Value::Array(items) => {
            report_count(&node.at, items.len(), diagnostics);
            items.iter().for_each(|item| too_long(item, diagnostics));
        }
        Value::Table(table) => {
            report_count(&node.at, table.entries.len(), diagnostics);
            for (key, value) in &table.entries {
                report_length(&key.at, key.text.len(), diagnostics);
                too_long(value, diagnostics);
            }
        }
        _ => {}
    }
}

fn report_count(at: &Place, count: usize, diagnostics: &mut Vec<Diagnostic>) {
    if count > MOST_MEMBERS && diagnostics.len() < 2 * MOST_ERRORS {
        let start = Place { file: Arc::clone(&at.file), range: at.range.start..at.range.start };
        let message = format!("there are more than {MOST_MEMBERS} entries here, and no more are read");
        diagnostics.push(Diagnostic::error(&start, message, "divide it, or take out what is not needed"));
    }
}

fn report_length(at: &Place, length: usize, diagnostics: &mut Vec<Diagnostic>) {
    if length > LONGEST_TEXT && diagnostics.len() < 2 * MOST_ERRORS {
        let start = Place { file: Arc::clone(&at.file), range: at.range.start..at.range.start };
        let message = format!("this text has {length} bytes, and none may have more than {LONGEST_TEXT}");
        diagnostics.push(Diagnostic::error(&start, message, "shorten it"));
    }
}

/// Mistakes of a reading that are not merely about what a syntax mistake left unreadable.
pub fn beside(syntax: &[Diagnostic], found: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let overlaps = |a: &Place, b: &Place| {
        a.file.name == b.file.name && a.range.start < b.range.end && b.range.start < a.range.end
    };
    let told = |diagnostic: &Diagnostic| {
        syntax.iter().any(|known| overlaps(&known.at, &diagnostic.at) && known != diagnostic)
    };
    found.into_iter().filter(|diagnostic| !told(diagnostic)).collect()
}

/// Leaves of mistakes near a place only the one there: those of the block that it is in, from an outer heading to the next.
pub fn only_at(place: &Place, diagnostics: &mut Vec<Diagnostic>) {
    let text: &str = &place.file.text;
    let is_outer = |line: &str| line.starts_with('[') && !line.contains(['.', ',', '=']);
    let mut block = 0..text.len();
    let mut from = 0;
    for line in text.split_inclusive('\n') {
        if is_outer(line) && from <= place.range.start {
            block.start = from;
        } else if is_outer(line) {
            block.end = from;
            break;
        }
        from += line.len();
    }
    let follows = |one: &Diagnostic| {
        let inside = one.at.file.name == place.file.name && block.contains(&one.at.range.start);
        inside && one.at != *place && one.weight == Weight::Error
    };
    diagnostics.retain(|one| !follows(one));
}

/// A parsed table with the places of its keys and values in a file.
fn tree_of(file: &Arc<SourceFile>, table: DeTable<'_>) -> Table {
    let mut entries: Vec<(Key, Node)> = table
        .into_iter()
        .map(|(key, value)| {
            let at = Place { file: Arc::clone(file), range: key.span() };
            (Key { text: key.into_inner().into_owned(), at }, node_of(file, value))
        })
        .collect();
    entries.sort_unstable_by_key(|(key, _)| key.at.range.start);
    entries.truncate(MOST_MEMBERS + 1);
    Table { entries }
}

fn node_of(file: &Arc<SourceFile>, value: Spanned<DeValue<'_>>) -> Node {
    let at = Place { file: Arc::clone(file), range: value.span() };
    let value = match value.into_inner() {
        DeValue::String(text) => Value::Text(text.into_owned()),
        DeValue::Integer(integer) => i64::from_str_radix(integer.as_str(), integer.radix())
            .map_or_else(|_| Value::Float(integer.as_str().parse().unwrap_or(f64::NAN)), Value::Integer),
        DeValue::Float(float) => Value::Float(float.as_str().parse().unwrap_or(f64::NAN)),
        DeValue::Boolean(flag) => Value::Flag(flag),
        DeValue::Datetime(date) => Value::Date(date),
        DeValue::Array(array) => Value::Array(Arc::new(
            array.into_iter().take(MOST_MEMBERS + 1).map(|item| node_of(file, item)).collect(),
        )),
        DeValue::Table(table) => Value::Table(Arc::new(tree_of(file, table))),
    };
    Node { value, at }
}
