//! What a reader tells of a format beyond the kinds of its keys, for the schema: narrower values, keys that have to
//! agree, keys that have to be there. Nothing of it happens while a file is read.

use serde_json::{Value, json};

use crate::mistake::Mistake;
use crate::units::Kind;

use super::reader::Reader;
use super::scalars;
use super::tree::{self, Node};

/// A quantity of nothing: "0 in", "0.0 kg", "0/4 in".
const NOTHING: &str =
    "^\\s*[-−+]?\\s*0[0.]*(?:\\s*[/⁄∕]\\s*[0-9]+)?\\s*(?:[^-–‑0-9./⁄∕\\s½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒].*)?$";

impl Reader<'_> {
    /// Says more of a key just asked for: what its value has to meet besides its kind.
    pub fn narrow(&self, key: &str, schema: impl FnOnce() -> Value) {
        if let Some(shape) = &self.state.shape
            && let Some(top) = shape.borrow_mut().last_mut()
            && let Some(field) = top.fields.iter_mut().rev().find(|field| field.key == key)
        {
            field.narrower = Some(schema());
        }
    }

    /// Says that a file without a key just asked for is refused, where the reader's caller does that.
    pub fn needs(&self, key: &str) {
        if let Some(shape) = &self.state.shape
            && let Some(top) = shape.borrow_mut().last_mut()
            && let Some(field) = top.fields.iter_mut().rev().find(|field| field.key == key)
        {
            field.required = true;
        }
    }

    /// Says what the keys of this table have to agree on.
    pub fn agree(&self, schemas: impl FnOnce() -> Vec<Value>) {
        if let Some(shape) = &self.state.shape
            && let Some(top) = shape.borrow_mut().last_mut()
        {
            top.also.extend(schemas());
        }
    }

    /// As [`Self::agree`], where the table does not only change one of another file.
    pub fn agree_whole(&self, schemas: impl FnOnce() -> Vec<Value>) {
        if let Some(shape) = &self.state.shape
            && let Some(top) = shape.borrow_mut().last_mut()
        {
            top.whole.extend(schemas());
        }
    }
}

impl Reader<'_> {
    /// Two quantities in one array: `["40 F", "180 psi"]`, in SI.
    pub fn pair(&self, node: &Node, kinds: (Kind, Kind)) -> Option<(f64, f64)> {
        let tree::Value::Array(items) = &node.value else {
            self.report(scalars::wanted(node, "a pair in [ ]"));
            return None;
        };
        let [first, second] = items.as_slice() else {
            self.report(Mistake::error(&node.at, "a pair has two values", "write [\"40 F\", \"180 psi\"]"));
            return None;
        };
        let first = self.settled(scalars::quantity_of(first, kinds.0))?;
        let second = self.settled(scalars::quantity_of(second, kinds.1))?;
        Some((first.si, second.si))
    }
}

/// More than nothing.
pub(super) fn more_than_nothing() -> Value {
    json!({"exclusiveMinimum": 0, "not": {"type": "string", "pattern": NOTHING}})
}

/// No more than all of it.
pub(super) fn at_most_all() -> Value {
    json!({"maximum": 1, "not": {"type": "string", "pattern": "^\\s*\\+?0*(?:10[1-9]|1[1-9][0-9]|[2-9][0-9]{2}|[1-9][0-9]{3,})(?:\\.[0-9]*)?\\s*%"}})
}
