//! The shape of a file format as a JSON Schema (draft-07), so that editors complete and check.

use serde_json::{Map, Value, json};

use crate::units::Kind;

use super::describe::{Field, FieldKind, Shape};

/// Whether a table stands for itself, or only for what it changes in the file it extends.
#[derive(Clone, Copy, PartialEq)]
enum Form {
    Whole,
    Change,
}

/// The schema of a document with this shape, whose lists have no more members than `most`.
pub fn schema(title: &str, shape: &Shape, most: usize) -> Value {
    let mut root = object(shape, Form::Whole);
    limit(&mut root, most);
    headed(title, root)
}

/// Puts the most members into every list that has no closer limit of its own.
fn limit(value: &mut Value, most: usize) {
    match value {
        Value::Object(map) => {
            map.values_mut().for_each(|inner| limit(inner, most));
            let is_list = match map.get("type") {
                Some(Value::Array(types)) => types.iter().any(|one| one == "array"),
                one => one.is_some_and(|one| one == "array"),
            };
            if is_list && !map.contains_key("maxItems") {
                map.insert("maxItems".to_owned(), json!(most));
            }
        }
        Value::Array(items) => items.iter_mut().for_each(|inner| limit(inner, most)),
        _ => {}
    }
}

/// The schema of a document that may extend another: `extends` is where it names them. Elements of the root's
/// arrays may then give only what they change; in a file that extends nothing each is whole, and so is one that
/// gives all of the `new` keys.
pub fn layered_schema(title: &str, shape: &Shape, [table, extends]: [&str; 2], new: &[&str]) -> Value {
    let mut properties = Map::new();
    let mut whole = Map::new();
    let mut added = Map::new();
    for field in &shape.fields {
        let value = match &field.kind {
            FieldKind::Tables(inner) => {
                whole.insert(field.key.clone(), json!({"items": needed(inner)}));
                if new.iter().all(|key| inner.fields.iter().any(|known| known.key == *key)) {
                    let item = json!({"if": {"required": new}, "then": needed(inner)});
                    added.insert(field.key.clone(), json!({"items": item}));
                }
                json!({"type": "array", "items": object(inner, Form::Change)})
            }
            other => kind(other, Form::Whole),
        };
        properties.insert(field.key.clone(), described(value, field));
    }
    let mut root = json!({"type": "object", "properties": properties, "additionalProperties": false});
    put(&mut root, "required", json!(required(shape, Form::Whole)));
    let over = json!({"properties": {extends: {"minItems": 1}}, "required": [extends]});
    let says = json!({"properties": {table: over}, "required": [table]});
    put(&mut root, "if", says);
    put(&mut root, "then", json!({"properties": added}));
    put(&mut root, "else", json!({"properties": whole}));
    headed(title, root)
}

fn headed(title: &str, mut root: Value) -> Value {
    put(&mut root, "$schema", json!("http://json-schema.org/draft-07/schema#"));
    put(&mut root, "title", json!(title));
    leave_open(&mut root);
    root
}

/// Says of every part that only adds to a table that it allows the rest. That is so by draft-07 anyway, and there are
/// language servers that take such a part for the whole table.
fn leave_open(schema: &mut Value) {
    let Value::Object(map) = schema else { return };
    for (key, inner) in map.iter_mut() {
        match (key.as_str(), inner) {
            ("properties", Value::Object(named)) => named.values_mut().for_each(leave_open),
            ("allOf" | "anyOf" | "oneOf", Value::Array(parts)) => parts.iter_mut().for_each(leave_open),
            ("items" | "if" | "then" | "else" | "not" | "additionalProperties", inner) => leave_open(inner),
            _ => {}
        }
    }
    let of_tables = match map.get("type") {
        Some(Value::Array(types)) => types.iter().any(|one| one == "object"),
        Some(one) => one == "object",
        None => !map.contains_key("enum"),
    };
    if of_tables && !map.contains_key("additionalProperties") {
        map.insert("additionalProperties".to_owned(), json!(true));
    }
}

fn put(object: &mut Value, key: &str, value: Value) {
    if let Some(map) = object.as_object_mut() {
        map.insert(key.to_owned(), value);
    }
}

/// Keys that have to be there; what only changes a table has to name it.
fn required(shape: &Shape, form: Form) -> Vec<&str> {
    let needed = |field: &&Field| field.required && (form == Form::Whole || field.key == "id");
    shape.fields.iter().filter(needed).map(|field| field.key.as_str()).collect()
}

fn object(shape: &Shape, form: Form) -> Value {
    let mut properties = Map::new();
    for field in &shape.fields {
        properties.insert(field.key.clone(), described(kind(&field.kind, form), field));
    }
    let mut object = json!({"type": "object", "properties": properties, "additionalProperties": false});
    let required = required(shape, form);
    if !required.is_empty() {
        put(&mut object, "required", json!(required));
    }
    let mut also = shape.also.clone();
    if form == Form::Whole {
        also.extend(shape.whole.iter().cloned());
    }
    if !also.is_empty() {
        put(&mut object, "allOf", json!(also));
    }
    object
}

/// What makes a table whole that so far only changes one: everything that [`Form::Change`] left out.
fn needed(shape: &Shape) -> Value {
    let mut properties = Map::new();
    for field in &shape.fields {
        let inner = match &field.kind {
            FieldKind::Table(inner) => needed(inner),
            FieldKind::TableOrTables(inner) => json!({"if": {"type": "object"}, "then": needed(inner)}),
            _ => continue,
        };
        properties.insert(field.key.clone(), inner);
    }
    let mut whole = json!({"properties": properties, "required": required(shape, Form::Whole)});
    if !shape.whole.is_empty() {
        put(&mut whole, "allOf", json!(shape.whole));
    }
    whole
}

fn described(mut value: Value, field: &Field) -> Value {
    if let Some(narrower) = &field.narrower {
        // The narrower one alone where nothing else is known, so that an editor shows its words.
        if field.kind == FieldKind::Any {
            value = narrower.clone();
        } else {
            put(&mut value, "allOf", json!([narrower]));
        }
    }
    put(&mut value, "description", json!(field.doc));
    value
}

fn kind(kind: &FieldKind, form: Form) -> Value {
    match kind {
        FieldKind::Text => json!({"type": "string"}),
        FieldKind::Date => dated("date", &["2026-03-14", "2026-03"]),
        FieldKind::Time => dated("date-time", &["2026-11-25T10:00:00-05:00"]),
        FieldKind::Span => quantity(Kind::Span),
        FieldKind::Id => json!({
            "type": ["string", "integer"], "maxLength": 64, "minimum": 0
        }),
        FieldKind::TextOrNumber => json!({"type": ["string", "number"]}),
        FieldKind::Choice(words) => json!({"type": "string", "enum": words}),
        FieldKind::Quantity(kind) => quantity(*kind),
        FieldKind::Number => json!({"type": "number"}),
        FieldKind::Rpm => {
            json!({"type": ["number", "string"], "minimum": 0, "examples": examples(Kind::Rate)})
        }
        FieldKind::Count => json!({"type": "integer", "minimum": 0, "maximum": u32::MAX}),
        FieldKind::Flag => json!({"type": "boolean"}),
        FieldKind::Texts => json!({"type": "array", "items": {"type": "string"}}),
        FieldKind::Point => point(),
        FieldKind::Points => json!({"type": "array", "items": point()}),
        FieldKind::Any => json!({}),
        FieldKind::Table(shape) => object(shape, form),
        // An array is replaced whole.
        FieldKind::Tables(shape) => json!({"type": "array", "items": object(shape, Form::Whole)}),
        FieldKind::TableOrTables(shape) => one_or_several(shape, form),
        FieldKind::Map(inner) => {
            json!({"type": "object", "additionalProperties": self::kind(inner, form)})
        }
    }
}

/// One table, or an array of them; several are told apart by their ids.
fn one_or_several(shape: &Shape, form: Form) -> Value {
    let several = json!({
        "items": object(shape, Form::Whole),
        "if": {"minItems": 2},
        "then": {"items": {"required": ["id"]}}
    });
    json!({
        "type": ["object", "array"],
        "if": {"type": "array"},
        "then": several,
        "else": object(shape, form)
    })
}

/// A day or time, bare or in quotes. A bare one is a text of this format in JSON Schema's terms, and a quoted one may be
/// shorter.
fn dated(format: &str, examples: &[&str]) -> Value {
    json!({"anyOf": [{"type": "string", "format": format}, {"type": "string"}], "examples": examples})
}

fn quantity(kind: Kind) -> Value {
    if kind == Kind::Ratio {
        return json!({"type": ["number", "string"], "minimum": 0, "examples": [0.46, "46 %"]});
    }
    json!({"type": "string", "examples": examples(kind)})
}

fn point() -> Value {
    let number = json!({"type": "number", "exclusiveMinimum": -1e6, "exclusiveMaximum": 1e6});
    json!({"type": "array", "items": number, "minItems": 3, "maxItems": 3})
}

/// The quoted examples of a kind, as a list.
fn examples(kind: Kind) -> Vec<&'static str> {
    kind.examples().split('"').skip(1).step_by(2).filter(|text| !text.is_empty()).collect()
}
