//! Reads what holds several values: lists of texts and points, pairs, tables with free keys.

use crate::diagnostic::Diagnostic;
use crate::units::Kind;

use super::describe::FieldKind;
use super::reader::{Reader, Word};
use super::scalars;
use super::tree::{Node, Value};

impl<'a> Reader<'a> {
    /// An array of texts, each with its place.
    pub fn words(&self, key: &'static str, doc: &str) -> Option<Vec<Word>> {
        let node = self.node(key, FieldKind::Texts, doc, false)?;
        Some(self.each(node).filter_map(|item| self.settle(scalars::word(item))).collect())
    }

    /// An array of texts; none where it is silent.
    pub fn texts(&self, key: &'static str, doc: &str) -> Vec<String> {
        let Some(node) = self.node(key, FieldKind::Texts, doc, false) else { return Vec::new() };
        self.each(node).filter_map(|item| self.settle(scalars::text(item)).map(str::to_owned)).collect()
    }

    /// Three plain numbers.
    pub fn point(&self, key: &'static str, doc: &str) -> Option<[f64; 3]> {
        let node = self.node(key, FieldKind::Point, doc, false)?;
        self.settle(scalars::point(node))
    }

    /// An array of points.
    pub fn points(&self, key: &'static str, doc: &str) -> Option<Vec<[f64; 3]>> {
        let node = self.node(key, FieldKind::Points, doc, false)?;
        Some(self.each(node).filter_map(|item| self.settle(scalars::point(item))).collect())
    }

    /// An array of pairs, for [`Self::pair`].
    pub fn pairs(&self, key: &'static str, doc: &str) -> Option<Vec<&'a Node>> {
        let node = self.node(key, FieldKind::Any, doc, false)?;
        Some(self.each(node).collect())
    }

    /// Two quantities in one array: `["40 F", "180 psi"]`, in SI.
    pub fn pair(&self, node: &Node, kinds: (Kind, Kind)) -> Option<(f64, f64)> {
        let Value::Array(items) = &node.value else {
            self.report(scalars::wanted(node, "a pair in [ ]"));
            return None;
        };
        let [first, second] = items.as_slice() else {
            self.report(Diagnostic::error(
                &node.at,
                "a pair has two values",
                "write [\"40 F\", \"180 psi\"]",
            ));
            return None;
        };
        let first = self.settle(scalars::quantity_of(first, kinds.0))?;
        let second = self.settle(scalars::quantity_of(second, kinds.1))?;
        Some((first.si, second.si))
    }

    /// A table with free keys; each value is read by `convert`.
    pub fn map<T>(
        &self,
        key: &'static str,
        doc: &str,
        kind: FieldKind,
        convert: impl Fn(&Node) -> Result<T, Diagnostic>,
    ) -> Option<Vec<(Word, T)>> {
        let node = self.node(key, FieldKind::Map(Box::new(kind)), doc, false)?;
        let Value::Table(table) = &node.value else {
            self.state.report(scalars::wanted(node, "a table"));
            return None;
        };
        let pairs = table.entries.iter().filter_map(|(key, value)| {
            let word = Word { text: key.text.clone(), at: key.at.clone() };
            Some((word, self.settle(convert(value))?))
        });
        Some(pairs.collect())
    }

    /// The members of a list, as far as they are read.
    pub(super) fn each(&self, node: &'a Node) -> std::slice::Iter<'a, Node> {
        let items = scalars::items(node, self.state.most.unwrap_or(usize::MAX)).unwrap_or_else(
            |(items, diagnostic)| {
                self.state.report(diagnostic);
                items
            },
        );
        items.iter()
    }
}
