//! Every value that stands in a car file, by key path, and what differs between two files.

use std::sync::Arc;

use crate::diagnostic::SourceFile;
use crate::source::{self, Node, Value};

/// One value of a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// Its key path; a part goes by its id.
    pub key: String,
    /// As written, a text without its quotes.
    pub text: String,
    /// The line it stands in.
    pub line: usize,
}

/// One key whose value differs between two files.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Changed {
    /// Its key path.
    pub key: String,
    /// What stood there; none where it is new.
    pub before: Option<String>,
    /// What stands there now; none where it is gone.
    pub after: Option<String>,
}

impl Changed {
    /// `13 5/8 in -> 13 1/2 in`
    pub fn words(&self) -> String {
        let shown = |text: &Option<String>| text.clone().unwrap_or_else(|| "silent".to_owned());
        format!("{}: {} -> {}", self.key, shown(&self.before), shown(&self.after))
    }
}

/// Every value of a file, in its order.
pub fn values(file: &Arc<SourceFile>) -> Vec<Written> {
    let (root, _) = source::parse(file);
    let mut found = Vec::new();
    gather(&root, "", &mut found);
    found.sort_by_key(|(start, _)| *start);
    found.into_iter().map(|(_, written)| written).collect()
}

fn gather(node: &Node, path: &str, found: &mut Vec<(usize, Written)>) {
    match &node.value {
        Value::Table(table) => {
            for (key, inner) in &table.entries {
                // A key of the origin of values is a key path itself.
                let key = if key.text.contains('.') { format!("\"{}\"", key.text) } else { key.text.clone() };
                gather(inner, &if path.is_empty() { key } else { format!("{path}.{key}") }, found);
            }
        }
        Value::Array(items) if !items.is_empty() && items.iter().all(|item| item.value.id().is_some()) => {
            for item in items.iter() {
                let Some(id) = item.value.id() else { continue };
                gather(item, &format!("{path}.{id}"), found);
            }
        }
        value => {
            let raw = || node.at.file.text.get(node.at.range.clone()).unwrap_or_default();
            let text = match value {
                Value::Text(text) => text.clone(),
                _ => raw().split_whitespace().collect::<Vec<_>>().join(" "),
            };
            let written = Written { key: path.to_owned(), text, line: node.at.line() };
            found.push((node.at.range.start, written));
        }
    }
}

/// What differs between two files, in the order of the second; what is gone comes last. A part that only has another id
/// is one change.
pub fn differences(before: &Arc<SourceFile>, after: &Arc<SourceFile>) -> Vec<Changed> {
    let (mut old, new) = (values(before), values(after));
    let renamed = renamed(&old, &new);
    for (from, to) in &renamed {
        for written in &mut old {
            if let Some(rest) = written.key.strip_prefix(from.as_str()).filter(|rest| rest.starts_with('.')) {
                written.key = format!("{to}{rest}");
            }
        }
    }
    let text_in = |all: &[Written], key: &str| {
        all.iter().find(|written| written.key == key).map(|written| written.text.clone())
    };
    let mut changed: Vec<Changed> = Vec::new();
    for written in &new {
        let before = text_in(&old, &written.key);
        if before.as_ref() != Some(&written.text) {
            let after = Some(written.text.clone());
            changed.push(Changed { key: written.key.clone(), before, after });
        }
    }
    for written in old.iter().filter(|written| text_in(&new, &written.key).is_none()) {
        let before = Some(written.text.clone());
        changed.push(Changed { key: written.key.clone(), before, after: None });
    }
    changed
}

/// Parts that have another id and are alike otherwise: their paths before and after.
fn renamed(old: &[Written], new: &[Written]) -> Vec<(String, String)> {
    let parts = |all: &[Written]| -> Vec<String> {
        all.iter().filter_map(|written| written.key.strip_suffix(".id")).map(str::to_owned).collect()
    };
    let of = |all: &[Written], part: &str| -> Vec<(String, String)> {
        let own = all.iter().filter_map(|written| {
            let rest = written.key.strip_prefix(part)?.strip_prefix('.')?;
            (rest != "id").then(|| (rest.to_owned(), written.text.clone()))
        });
        own.collect()
    };
    let (before, after) = (parts(old), parts(new));
    let gone = before.iter().filter(|part| !after.contains(part));
    let mut found: Vec<(String, String)> = Vec::new();
    for part in gone {
        let list = part.rsplit_once('.').map_or("", |(list, _)| list);
        let fits = |other: &&String| {
            !before.contains(other)
                && other.rsplit_once('.').map_or("", |(list, _)| list) == list
                && found.iter().all(|(_, to)| to != *other)
                && of(old, part) == of(new, other)
        };
        if let Some(other) = after.iter().find(fits) {
            found.push((part.clone(), other.clone()));
        }
    }
    found
}
