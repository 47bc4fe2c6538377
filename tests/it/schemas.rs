//! The JSON Schemas against an independent validator: themselves draft-07, every shipped file valid, every broken
//! one refused that a schema can refuse, and a sentence at every key.

use std::collections::BTreeMap;

use boon::{Compiler, SchemaIndex, Schemas};
use linewalk::diagnostic::any_error;
use linewalk::model::car_schema;
use serde_json::{Value, json};

use crate::diagnostics::{car_diagnostics, rule_diagnostics};
use crate::shipped::{files_in, repo_file};

/// A schema, compiled; compiling holds it to the draft-07 meta-schema.
struct Schema {
    schemas: Schemas,
    index: SchemaIndex,
}

impl Schema {
    fn of(value: Value) -> Self {
        let mut schemas = Schemas::new();
        let mut compiler = Compiler::new();
        compiler.add_resource("mem:///schema.json", value).unwrap();
        let index = compiler.compile("mem:///schema.json", &mut schemas).unwrap_or_else(|e| panic!("{e:#}"));
        Self { schemas, index }
    }

    fn refusal(&self, instance: &Value) -> Option<String> {
        self.schemas.validate(instance, self.index).err().map(|error| format!("{error:#}"))
    }
}

fn schemas() -> [(&'static str, Value); 2] {
    [("cars", car_schema()), ("rules", linewalk::rules::schema())]
}

/// A TOML document as the JSON that an editor's checker sees: dates are texts; `nan` and `inf` do not exist there.
fn as_json(value: &toml::Value) -> Value {
    match value {
        toml::Value::String(text) => json!(text),
        toml::Value::Integer(whole) => json!(whole),
        toml::Value::Float(number) => json!(number),
        toml::Value::Boolean(flag) => json!(flag),
        toml::Value::Datetime(date) => json!(date.to_string()),
        toml::Value::Array(items) => items.iter().map(as_json).collect(),
        toml::Value::Table(table) => table.iter().map(|(key, value)| (key.clone(), as_json(value))).collect(),
    }
}

fn read(path: &str) -> Option<Value> {
    let text = repo_file(path).text.clone();
    let table: toml::Table = toml::from_str(text.trim_start_matches('\u{feff}')).ok()?;
    Some(as_json(&toml::Value::Table(table)))
}

#[test]
fn the_schemas_are_draft_07() {
    for (name, value) in schemas() {
        assert_eq!(value["$schema"], "http://json-schema.org/draft-07/schema#", "{name}");
        let mut schemas = Schemas::new();
        let meta = Compiler::new().compile("http://json-schema.org/draft-07/schema", &mut schemas).unwrap();
        assert!(schemas.validate(&value, meta).is_ok(), "{name}");
    }
}

#[test]
fn every_shipped_file_is_valid() {
    let [(_, cars), (_, rules)] = schemas();
    let (cars, rules) = (Schema::of(cars), Schema::of(rules));
    let shipped =
        files_in("sample-cars", ".toml").into_iter().filter(|path| !path.ends_with("-answers.toml"));
    for path in shipped {
        assert_eq!(cars.refusal(&read(&path).unwrap()), None, "{path}");
    }
    for path in files_in("rulesets", ".toml").into_iter().chain(["tests/bad/rules/ground.toml".to_owned()]) {
        assert_eq!(rules.refusal(&read(&path).unwrap()), None, "{path}");
    }
}

/// Broken files that their shape does not show, each with its reason, as the list beside them has it.
fn exempt() -> BTreeMap<String, String> {
    let list = repo_file("tests/bad/not-by-shape.txt").text.clone();
    let pairs = list.lines().filter(|line| !line.starts_with('#') && !line.is_empty());
    pairs.map(|line| line.split_once(": ").unwrap()).map(|(a, b)| (a.to_owned(), b.to_owned())).collect()
}

#[test]
fn every_broken_file_is_refused_that_a_schema_can_refuse() {
    let exempt = exempt();
    let (mut refused, mut wrong) = (0, String::new());
    for (folder, value) in schemas() {
        let schema = Schema::of(value);
        for path in files_in(&format!("tests/bad/{folder}"), ".toml") {
            let name = path.trim_start_matches("tests/bad/").trim_end_matches(".toml");
            let diagnostics = if folder == "cars" { car_diagnostics(&path) } else { rule_diagnostics(&path) };
            // What cannot be parsed never reaches a schema: the editor's own reader stops at it.
            let refusal = match read(&path) {
                Some(document) => schema.refusal(&document),
                None => Some("no TOML".to_owned()),
            };
            refused += usize::from(refusal.is_some());
            match (refusal, exempt.contains_key(name), any_error(&diagnostics)) {
                (Some(_), false, true) | (None, true, true) | (None, false, false) => {}
                (Some(why), true, _) => wrong.push_str(&format!("{name} is listed, and is refused: {why}\n")),
                (Some(why), _, false) => {
                    wrong.push_str(&format!("{name} is only doubtful, and is refused: {why}\n"))
                }
                (None, false, true) => wrong.push_str(&format!("{name} is not refused\n")),
                (None, true, false) => wrong.push_str(&format!("{name} is only doubtful, and is listed\n")),
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    assert!(refused >= 55, "{refused}");
}

/// Every table of a schema with the way to it.
fn tables<'v>(value: &'v Value, path: &str, found: &mut Vec<(String, &'v serde_json::Map<String, Value>)>) {
    match value {
        Value::Object(map) => {
            if let Some(Value::Object(properties)) = map.get("properties")
                && map.get("additionalProperties") == Some(&json!(false))
                && map.contains_key("type")
                && properties.values().any(|one| one.get("description").is_some())
            {
                found.push((path.to_owned(), properties));
            }
            map.iter().for_each(|(key, value)| tables(value, &format!("{path}/{key}"), found));
        }
        Value::Array(items) => items.iter().for_each(|item| tables(item, path, found)),
        _ => {}
    }
}

#[test]
fn every_key_has_a_sentence_of_its_own() {
    let mut keys = 0;
    for (name, value) in schemas() {
        let mut found = Vec::new();
        tables(&value, name, &mut found);
        for (path, properties) in found {
            let mut said: BTreeMap<&str, &str> = BTreeMap::new();
            for (key, property) in properties {
                keys += 1;
                let text = property.get("description").and_then(Value::as_str).unwrap_or_default();
                let at = format!("{path}: {key}: {text}");
                assert!(text.ends_with('.') && !text.ends_with(".."), "{at}");
                assert!(text.split_whitespace().count() >= 3, "{at}: too short to say anything");
                assert!(text.starts_with(|c: char| c.is_uppercase() || c.is_ascii_digit()), "{at}");
                if let Some(other) = said.insert(text, key) {
                    panic!("{at}: the same is said of {other}");
                }
            }
        }
    }
    assert!(keys > 300, "{keys}");
}
