//! What the schema of rule files says beyond the shape of their tables: limits by unit or by number, and keys
//! that have to agree.

use serde_json::{Value, json};

use crate::model::Corner;
use crate::model::keys::{COUNT_KEYS, DATE_KEYS};
use crate::numbers::{Shown, registry};
use crate::source::{Reader, layered_schema, refer};
use crate::units::{KINDS, Kind};

const LIMITS: [&str; 5] = ["min", "max", "aim_min", "aim_max", "equals"];

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

/// A limit of a kind; a plain number too where the kind is one.
fn limit(kind: Kind, plain: bool) -> Value {
    let text = refer(kind, "-limit");
    if plain && matches!(kind, Kind::Ratio | Kind::Span) {
        json!({"anyOf": [{"type": "number"}, text]})
    } else {
        text
    }
}

/// A limit whose kind stands in the file that this one extends.
pub(super) fn some_limit() -> Value {
    json!({"type": ["string", "number"], "pattern": "^[^,]*[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒][^,]*$"})
}

/// Any unit of any kind.
pub(super) fn unit() -> Value {
    let any: Vec<Value> = KINDS.iter().map(|kind| refer(*kind, "-unit")).collect();
    json!({"anyOf": any, "examples": ["in", "mm", "psi", "lbf", "deg", "V", "1"]})
}

/// Limits of a measured value by the unit beside them.
pub(super) fn measured() -> Vec<Value> {
    let rule = |kind: &Kind| {
        let limits: serde_json::Map<String, Value> =
            LIMITS.iter().map(|key| ((*key).to_owned(), limit(*kind, *kind == Kind::Ratio))).collect();
        let unit = refer(*kind, "-unit");
        json!({"if": {"properties": {"unit": unit}, "required": ["unit"]}, "then": {"properties": limits}})
    };
    KINDS.iter().map(rule).collect()
}

/// Every number there is.
pub(super) fn quantity() -> Value {
    json!({"enum": registry().map(|quantity| quantity.id).collect::<Vec<_>>()})
}

/// Limits of a computed number by its name.
pub(super) fn computed() -> Vec<Value> {
    let mut groups: Vec<(Shown, Vec<&str>)> = Vec::new();
    for quantity in registry() {
        match groups.iter_mut().find(|(shown, _)| *shown == quantity.shown) {
            Some((_, ids)) => ids.push(quantity.id),
            None => groups.push((quantity.shown, vec![quantity.id])),
        }
    }
    let rule = |(shown, ids): (Shown, Vec<&str>)| {
        let (limits, equals) = match shown {
            Shown::Flag => (Value::Bool(false), json!({"type": "boolean"})),
            Shown::Word => (Value::Bool(false), json!({"type": "string"})),
            _ => (limit(shown.kind(), true), limit(shown.kind(), true)),
        };
        let then = json!({"properties": {
            "min": limits, "max": limits, "aim_min": limits, "aim_max": limits, "equals": equals
        }});
        json!({"if": {"properties": {"quantity": {"enum": ids}}, "required": ["quantity"]}, "then": then})
    };
    groups.into_iter().map(rule).collect()
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

/// Keys by their path, without ids.
pub(super) fn key_paths() -> Value {
    json!({"items": {"pattern": "^[a-z_]+(?:\\.[A-Za-z0-9_-]+)+$"}})
}

/// Keys of a check to take out.
pub(super) fn cleared() -> Value {
    json!({"items": {"pattern": "^[a-z_]+(?:\\.[a-z_]+)*$"}})
}

/// What every check agrees on with itself: one kind of typed value, and a reason where it is switched off.
pub(super) fn agrees() -> Vec<Value> {
    let both = |one: &str, other: &str| json!({"not": {"required": [one, other]}});
    let said = json!({"required": ["reason"], "properties": {"reason": {"pattern": "\\S"}}});
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
