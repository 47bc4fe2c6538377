//! Records as a table or as JSON, for other programs.

use serde_json::{Map, Value, json};

use crate::entry::{Entry, Kept};
use crate::escape::{escape_control_json, needs_escape};
use crate::logbook::problem::Problem;

/// The columns of the table: those of every record, then those of one kind or another.
pub const COLUMNS: &[&str] = &[
    "at",
    "writer",
    "seq",
    "id",
    "kind",
    "walk",
    "check",
    "of",
    "title",
    "result",
    "verdict",
    "by_station",
    "key",
    "value",
    "si",
    "unit",
    "low",
    "high",
    "chance",
    "instrument",
    "severity",
    "note",
    "photos",
    "by",
    "seen_at",
    "closes",
    "record",
    "about",
    "text",
    "role",
    "profile",
    "stage",
    "rulebook",
    "clock_correction",
    "answers_sha256",
    "station",
    "lap",
    "number",
    "rules_id",
    "rules_edition",
    "rules_sha256",
    "layers",
    "files",
    "recheck",
    "code",
    "judged_by",
    "by_eye",
    "rows",
    "car",
    "car_sha256",
    "row",
    "before",
];

/// The records as a table after RFC 4180: comma, double quotes where needed, CR LF, one header line.
///
/// Text that a spreadsheet would take for a formula gets an apostrophe in front, and characters that a terminal could take
/// for a command or that turn the reading direction stand as `\u{1b}`. Tabs and line breaks stay.
pub fn csv(kept: &[Kept]) -> String {
    let mut table = COLUMNS.join(",");
    table.push_str("\r\n");
    for record in kept {
        let members = members(record);
        let cells: Vec<String> = COLUMNS.iter().map(|column| cell(&members, column)).collect();
        table.push_str(&cells.join(","));
        table.push_str("\r\n");
    }
    table
}

/// The records as one JSON object, `{"format":1,"records":[…],"problems":[…]}`; a record has the keys of its
/// line in the log without those of the chain, and whatever was typed or worked out in one `value` of words; a problem has
/// file, line and what.
pub fn json(kept: &[Kept], problems: &[Problem]) -> String {
    let records: Vec<Value> = kept.iter().map(|record| Value::Object(members(record))).collect();
    let problems: Vec<Value> = problems
        .iter()
        .map(|problem| json!({"file": problem.file, "line": problem.line, "what": problem.fault.to_string()}))
        .collect();
    let text = json!({"format": 1, "records": records, "problems": problems}).to_string();
    format!("{}\n", escape_control_json(&text))
}

fn members(record: &Kept) -> Map<String, Value> {
    let mut members = match serde_json::to_value(&record.entry) {
        Ok(Value::Object(members)) => members,
        // An entry is always an object.
        Ok(_) | Err(_) => Map::new(),
    };
    if let Entry::Finding(finding) = &record.entry
        && let Some(words) = finding.value_words()
    {
        members.insert("value".to_owned(), words.into());
    }
    members.insert("id".to_owned(), record.id.as_str().into());
    members.insert("writer".to_owned(), record.writer.as_str().into());
    members.insert("seq".to_owned(), record.seq.into());
    members.insert("at".to_owned(), record.at.to_rfc3339().into());
    members
}

fn cell(members: &Map<String, Value>, column: &str) -> String {
    let nested = column.strip_prefix("rules_").and_then(|key| members.get("rules")?.get(key));
    match nested.or_else(|| members.get(column)) {
        None | Some(Value::Null) => String::new(),
        Some(Value::String(text)) => text_cell(text),
        Some(Value::Array(rows)) => text_cell(&rows.iter().map(row).collect::<Vec<_>>().join("; ")),
        // Numbers and yes or no are written by us: a minus sign is no formula.
        Some(other) => other.to_string(),
    }
}

/// A plain word as it is, a photo by its file, a layer of rules by id and edition, a typed row by id and text.
fn row(row: &Value) -> String {
    if let Some(text) = row.as_str() {
        return text.to_owned();
    }
    let word = |key: &str| row.get(key).and_then(Value::as_str);
    let words = ["file", "id", "edition", "text"].into_iter().filter_map(word);
    words.filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

fn text_cell(text: &str) -> String {
    let formula = text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']);
    let mut cell = if formula { "'".to_owned() } else { String::new() };
    for c in text.chars() {
        if needs_escape(c) && !matches!(c, '\t' | '\r' | '\n') {
            cell.extend(c.escape_unicode());
        } else {
            cell.push(c);
        }
    }
    if cell.contains(['"', ',', '\r', '\n']) { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell }
}
