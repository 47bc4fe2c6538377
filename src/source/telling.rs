//! What a reader tells of a format beyond the kinds of its keys, for the schema: narrower values, keys that have to
//! agree, keys that have to be there. Nothing of it happens while a file is read.

use serde_json::{Value, json};

use super::describe::{Field, Shape};
use super::reader::Reader;

/// A quantity of nothing: "0 in", "0.0 kg", "0/4 in".
const NOTHING: &str =
    "^\\s*[-−+]?\\s*0[0.]*(?:\\s*[/⁄∕]\\s*[0-9]+)?\\s*(?:[^-–‑0-9./⁄∕\\s½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒].*)?$";

impl Reader<'_> {
    /// Notes something of the shape of this table, where the format is described and no file read.
    pub(super) fn tell(&self, note: impl FnOnce(&mut Shape)) {
        if let Some(shape) = &self.state.shape
            && let Some(top) = shape.borrow_mut().last_mut()
        {
            note(top);
        }
    }

    /// The same of a key just asked for.
    fn tell_key(&self, key: &str, note: impl FnOnce(&mut Field)) {
        self.tell(|shape| {
            if let Some(field) = shape.fields.iter_mut().rev().find(|field| field.key == key) {
                note(field);
            }
        });
    }

    /// Says more of a key just asked for: what its value has to meet besides its kind.
    pub fn narrow(&self, key: &str, schema: impl FnOnce() -> Value) {
        self.tell_key(key, |field| field.narrower = Some(schema()));
    }

    /// Says that a file without a key just asked for is refused, where the reader's caller does that.
    pub fn needs(&self, key: &str) {
        self.tell_key(key, |field| field.required = true);
    }

    /// Says what the keys of this table have to agree on.
    pub fn agree(&self, schemas: impl FnOnce() -> Vec<Value>) {
        self.tell(|shape| shape.also.extend(schemas()));
    }

    /// As [`Self::agree`], where the table does not only change one of another file.
    pub fn agree_whole(&self, schemas: impl FnOnce() -> Vec<Value>) {
        self.tell(|shape| shape.whole.extend(schemas()));
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
