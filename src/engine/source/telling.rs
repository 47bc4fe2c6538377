//! What a reader tells of a format beyond the kinds of its keys, for the schema: narrower values, keys that have to
//! agree, keys that have to be there. Nothing of it happens while a file is read.

use serde_json::Value;

use super::describe::{Field, Shape};
use super::reader::Reader;

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
