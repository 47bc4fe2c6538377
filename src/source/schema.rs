//! The shape of a file format as a JSON Schema (draft-07), so that editors complete and check.

use serde_json::{Map, Value, json};

use crate::units::Kind;

use super::describe::{Field, FieldKind, Shape};

/// The schema of a document with this shape.
pub fn schema(title: &str, shape: &Shape) -> Value {
    let mut root = object(shape);
    if let Some(map) = root.as_object_mut() {
        map.insert("$schema".to_owned(), json!("http://json-schema.org/draft-07/schema#"));
        map.insert("title".to_owned(), json!(title));
    }
    root
}

fn object(shape: &Shape) -> Value {
    let mut properties = Map::new();
    for field in &shape.fields {
        properties.insert(field.key.clone(), property(field));
    }
    let required: Vec<&str> = shape.fields.iter().filter(|f| f.required).map(|f| f.key.as_str()).collect();
    let mut object = json!({"type": "object", "properties": properties, "additionalProperties": false});
    if let (Some(map), false) = (object.as_object_mut(), required.is_empty()) {
        map.insert("required".to_owned(), json!(required));
    }
    object
}

fn property(field: &Field) -> Value {
    let mut value = kind(&field.kind);
    if let Some(map) = value.as_object_mut() {
        map.insert("description".to_owned(), json!(field.doc));
    }
    value
}

fn kind(kind: &FieldKind) -> Value {
    match kind {
        FieldKind::Text | FieldKind::Date | FieldKind::Time | FieldKind::Span => json!({"type": "string"}),
        FieldKind::Id => json!({"type": ["string", "integer"], "pattern": "^[A-Za-z0-9][A-Za-z0-9-]*$"}),
        FieldKind::TextOrNumber => json!({"type": ["string", "number"]}),
        FieldKind::Choice(words) => json!({"type": "string", "enum": words}),
        FieldKind::Quantity(Kind::Ratio) => {
            json!({"type": ["number", "string"], "minimum": 0, "examples": [0.46, "46 %"]})
        }
        FieldKind::Quantity(kind) => json!({"type": "string", "examples": examples(*kind)}),
        FieldKind::Number => json!({"type": ["number", "string"]}),
        FieldKind::Count => json!({"type": "integer", "minimum": 0}),
        FieldKind::Flag => json!({"type": "boolean"}),
        FieldKind::Texts => json!({"type": "array", "items": {"type": "string"}}),
        FieldKind::Point => point(),
        FieldKind::Points => json!({"type": "array", "items": point()}),
        FieldKind::Any => json!({}),
        FieldKind::Table(shape) => object(shape),
        FieldKind::Tables(shape) => json!({"type": "array", "items": object(shape)}),
        FieldKind::TableOrTables(shape) => {
            json!({"oneOf": [object(shape), {"type": "array", "items": object(shape)}]})
        }
        FieldKind::Map(inner) => json!({"type": "object", "additionalProperties": self::kind(inner)}),
    }
}

fn point() -> Value {
    json!({"type": "array", "items": {"type": "number"}, "minItems": 3, "maxItems": 3})
}

/// The quoted examples of a kind, as a list.
fn examples(kind: Kind) -> Vec<&'static str> {
    kind.examples().split('"').skip(1).step_by(2).filter(|text| !text.is_empty()).collect()
}
