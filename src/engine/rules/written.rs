//! A check as TOML again: whole, as it is in force, whichever files its keys came from.

use crate::source::{Node, Table, Value};

use super::check::Check;

/// Longest list that stays on one line.
const ONE_LINE: usize = 100;

/// A check of a ruleset as a rule file would have it.
pub fn check_as_toml(check: &Check) -> String {
    let mut text = "[[check]]\n".to_owned();
    let own = |key: &str| !matches!(key, "case" | "clear");
    for (key, node) in check.table.entries.iter().filter(|(key, _)| own(&key.text)) {
        text.push_str(&format!("{} = {}\n", key_text(&key.text), value_as_toml(node)));
    }
    if let Some(Node { value: Value::Array(cases), .. }) = check.table.get("case") {
        for case in cases.iter().filter_map(|case| case.value.as_table()) {
            text.push_str("\n[[check.case]]\n");
            for (key, node) in &case.entries {
                text.push_str(&format!("{} = {}\n", key_text(&key.text), inline(node)));
            }
        }
    }
    text
}

/// A value as a rule file would have it; a long list has a line for each of its members.
pub(super) fn value_as_toml(node: &Node) -> String {
    match &node.value {
        Value::Array(items) => {
            let text = inline(node);
            if text.len() <= ONE_LINE {
                return text;
            }
            let rows: String = items.iter().map(|item| format!("  {},\n", inline(item))).collect();
            format!("[\n{rows}]")
        }
        _ => inline(node),
    }
}

/// A value on one line.
pub(super) fn inline(node: &Node) -> String {
    match &node.value {
        Value::Text(text) => toml_edit::Value::from(text.as_str()).to_string(),
        Value::Array(items) => {
            let items: Vec<String> = items.iter().map(inline).collect();
            format!("[{}]", items.join(", "))
        }
        Value::Table(table) => inline_table(table),
        Value::Integer(whole) => whole.to_string(),
        Value::Float(number) => toml_edit::Value::from(*number).to_string(),
        Value::Flag(flag) => flag.to_string(),
        Value::Date(date) => date.to_string(),
    }
}

fn inline_table(table: &Table) -> String {
    let pairs: Vec<String> = table
        .entries
        .iter()
        .map(|(key, node)| format!("{} = {}", key_text(&key.text), inline(node)))
        .collect();
    format!("{{ {} }}", pairs.join(", "))
}

/// A key, in quotes where it needs them.
fn key_text(key: &str) -> String {
    toml_edit::Key::new(key).to_string()
}
