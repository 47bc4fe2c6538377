//! What the schema of rule files says beyond the shape of their tables: words to choose from, and keys that have to agree.

use serde_json::{Value, json};

use crate::model::Corner;
use crate::model::keys::{COUNT_KEYS, DATE_KEYS};
use crate::numbers::registry;
use crate::source::{Reader, layered_schema};

/// The JSON Schema of a rule file.
pub fn schema() -> Value {
    let shape = Reader::shape(super::read::read);
    layered_schema("linewalk rule file", &shape, ["ruleset", "extends"], &["station", "topic", "title"])
}

/// An array of these words.
pub(super) fn words<T>(known: &[(&str, T)]) -> Value {
    let names: Vec<&str> = known.iter().map(|(word, _)| *word).collect();
    json!({"items": {"enum": names}})
}

/// A limit: a quantity as text, or a plain number.
pub(super) fn limit() -> Value {
    json!({"type": ["string", "number"], "examples": ["1/2 in", "1200 psi", 1.05]})
}

/// A unit alone.
pub(super) fn unit() -> Value {
    json!({"examples": ["in", "mm", "psi", "lbf", "deg", "V", "1"]})
}

/// Every number there is.
pub(super) fn quantity() -> Value {
    json!({"enum": registry().map(|quantity| quantity.id).collect::<Vec<_>>()})
}

/// What a count may equal.
pub(super) fn count_equals() -> Value {
    json!({"anyOf": [{"type": "integer", "minimum": 0}, {"enum": COUNT_KEYS}]})
}

/// Keys that hold a date.
pub(super) fn dated() -> Value {
    let keys = [DATE_KEYS, &["brakes.fluid_flushed"]].concat();
    json!({"enum": keys})
}

/// Items a row goes over.
pub(super) fn of() -> Value {
    let corners: Vec<&str> = Corner::WORDS.iter().map(|(word, _)| *word).collect();
    let corner = json!({
        "type": "object", "properties": {"corner": {"enum": corners}}, "required": ["corner"],
        "additionalProperties": false
    });
    json!({"anyOf": [{"type": "string"}, corner]})
}

/// What every check agrees on with itself: one kind of typed value, and a reason where it is switched off.
pub(super) fn agrees() -> Vec<Value> {
    let both = |one: &str, other: &str| json!({"not": {"required": [one, other]}});
    let said = json!({"required": ["reason"]});
    vec![
        both("measure", "count"),
        both("measure", "date"),
        both("count", "date"),
        json!({"if": {"properties": {"off": {"const": true}}, "required": ["off"]}, "then": said}),
        json!({
            "if": {"properties": {"no_eye": {"const": true}}, "required": ["no_eye", "method"]},
            "then": {"properties": {"method": {"enum": ["measure", "count", "date"]}}}
        }),
    ]
}

/// What a whole check agrees on: the rows its method goes by, and something to look at where a person answers.
pub(super) fn agrees_whole() -> Vec<Value> {
    let needs = |method: &[&str], key: &str| {
        json!({
            "if": {"properties": {"method": {"enum": method}}, "required": ["method"]},
            "then": {"required": [key]}
        })
    };
    vec![
        needs(&["measure"], "measure"),
        needs(&["count"], "count"),
        needs(&["date"], "date"),
        needs(&["compute"], "compute"),
        needs(&["look", "feel", "ask"], "look"),
        json!({"properties": {"off": {"const": false}}}),
    ]
}
