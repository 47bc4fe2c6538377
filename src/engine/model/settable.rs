//! Every key of a car file that another value may stand in for, with what stands there now.

use std::sync::{Arc, OnceLock};

use crate::diagnostic::SourceFile;
use crate::source::{self, FieldKind, Node, Reader, Shape, Table, Value};

use super::Car;

/// One key.
#[derive(Clone, Debug, PartialEq)]
pub struct Settable {
    /// Its key path, ids included.
    pub path: String,
    /// What may stand there.
    pub kind: FieldKind,
    /// One sentence about it.
    pub doc: String,
    /// What stands there, as written; none where the file is silent.
    pub text: Option<String>,
}

/// Every key of this car file that takes one value, in the order of the format: those the file is silent about too.
pub fn settable(file: &Arc<SourceFile>) -> Vec<Settable> {
    static SHAPE: OnceLock<Shape> = OnceLock::new();
    let shape = SHAPE.get_or_init(|| Reader::shape(Car::read));
    let (root, _) = source::parse(file);
    let Value::Table(table) = &root.value else { return Vec::new() };
    let mut found = Vec::new();
    within(shape, Some(table), "", &mut found);
    found
}

fn within(shape: &Shape, table: Option<&Table>, path: &str, found: &mut Vec<Settable>) {
    for field in &shape.fields {
        let node = table.and_then(|table| table.get(&field.key));
        let path = if path.is_empty() { field.key.clone() } else { format!("{path}.{}", field.key) };
        match (&field.kind, node.map(|node| &node.value)) {
            // A table that the file leaves out is offered where its parent stands, so that a tube may be given.
            (FieldKind::Table(inner), value) => {
                let table = value.and_then(Value::as_table);
                within(inner, table, &path, found);
            }
            (FieldKind::Tables(inner), Some(Value::Array(items))) => {
                for item in items.iter() {
                    let Value::Table(table) = &item.value else { continue };
                    let Some(id) = table.text("id") else { continue };
                    within(inner, Some(table), &format!("{path}.{id}"), found);
                }
            }
            (
                FieldKind::Text
                | FieldKind::TextOrNumber
                | FieldKind::Choice(_)
                | FieldKind::Quantity(_)
                | FieldKind::Number
                | FieldKind::Rpm
                | FieldKind::Count
                | FieldKind::Flag
                | FieldKind::Date
                | FieldKind::Span,
                _,
            ) => found.push(Settable {
                text: node.and_then(written),
                kind: field.kind.clone(),
                doc: field.doc.clone(),
                path,
            }),
            _ => {}
        }
    }
}

/// A value as written, without its quotes.
fn written(node: &Node) -> Option<String> {
    match &node.value {
        Value::Text(text) => Some(text.clone()),
        Value::Array(_) | Value::Table(_) => None,
        _ => node.at.file.text.get(node.at.range.clone()).map(str::to_owned),
    }
}
