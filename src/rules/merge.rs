//! One rule file over another: tables merge key by key to any depth, arrays and values are replaced whole.

use crate::mistake::{Mistake, did_you_mean};
use crate::source::{Key, Node, Table, Value};

use super::ruleset::Dropped;

/// The arrays whose elements are named by id and merged one by one.
const NAMED: [&str; 5] = ["profile", "lap", "instrument", "station", "check"];

/// What merging one file gives besides the tree.
#[derive(Debug, Default)]
pub(super) struct Merged {
    pub mistakes: Vec<Mistake>,
    pub dropped: Vec<Dropped>,
}

/// Lays `over` on `base`; `layer` names the file that is laid on, `first` says that nothing lies under it.
pub(super) fn merge(base: &mut Table, over: &Table, layer: &str, first: bool) -> Merged {
    let mut merged = Merged::default();
    for (key, node) in &over.entries {
        if NAMED.contains(&key.text.as_str()) {
            merge_named(base, key, node, layer, first, &mut merged);
        } else {
            replace(base, key, node.clone());
        }
    }
    merged
}

fn replace(table: &mut Table, key: &Key, node: Node) {
    match table.entries.iter_mut().find(|(known, _)| known.text == key.text) {
        Some(entry) => *entry = (key.clone(), node),
        None => table.entries.push((key.clone(), node)),
    }
}

fn merge_named(base: &mut Table, key: &Key, node: &Node, layer: &str, first: bool, merged: &mut Merged) {
    let Value::Array(items) = &node.value else {
        // Not an array of tables: the reader says so in its own words.
        replace(base, key, node.clone());
        return;
    };
    if base.get(&key.text).is_none() {
        base.entries.push((key.clone(), Node { value: Value::Array(Vec::new()), at: node.at.clone() }));
    }
    let Some(Node { value: Value::Array(known), .. }) = base.get_mut(&key.text) else { return };
    let mut seen: Vec<&str> = Vec::new();
    for item in items {
        let Value::Table(table) = &item.value else {
            known.push(item.clone());
            continue;
        };
        let id = table.text("id").unwrap_or("");
        if !id.is_empty() && seen.contains(&id) {
            let help = "a file names each one once: merge the two, or give one another id";
            merged.mistakes.push(Mistake::error(
                &item.at,
                format!("the {} {id} stands twice in this file", key.text),
                help,
            ));
            continue;
        }
        seen.push(id);
        merge_item(known, item, table, &key.text, layer, first, merged);
    }
}

fn merge_item(
    known: &mut Vec<Node>,
    item: &Node,
    table: &Table,
    array: &str,
    layer: &str,
    first: bool,
    merged: &mut Merged,
) {
    let id = table.text("id").unwrap_or("");
    let under = known.iter().position(|node| id_of(node) == Some(id)).filter(|_| !id.is_empty());
    if array == "check" && matches!(table.get("off"), Some(Node { value: Value::Flag(true), .. })) {
        drop_check(known, under, item, table, layer, merged);
        return;
    }
    let Some(at) = under else {
        let is_new = array != "check" || first || table.get("station").is_some() || id.is_empty();
        if is_new {
            known.push(item.clone());
        } else {
            let near = did_you_mean(id, known.iter().filter_map(id_of));
            let help = near.map_or_else(
                || {
                    "a new check needs station, topic, title, accept, reject, why, remedy, method, severity"
                        .to_owned()
                },
                |near| format!("did you mean {near}? A new check needs its station and all its words"),
            );
            let at = table.get("id").map_or(&item.at, |node| &node.at);
            merged.mistakes.push(Mistake::error(at, format!("there is no check {id} to change"), help));
        }
        return;
    };
    if let Some(Node { value: Value::Table(under), at: place }) = known.get_mut(at) {
        *place = item.at.clone();
        clear(under, table, merged);
        merge_tables(under, table);
    }
}

fn id_of(node: &Node) -> Option<&str> {
    match &node.value {
        Value::Table(table) => table.text("id"),
        _ => None,
    }
}

/// `off = true` drops a check; a reason is asked for.
fn drop_check(
    known: &mut Vec<Node>,
    under: Option<usize>,
    item: &Node,
    table: &Table,
    layer: &str,
    merged: &mut Merged,
) {
    let id = table.text("id").unwrap_or("").to_owned();
    let Some(reason) = table.text("reason").filter(|reason| !reason.trim().is_empty()) else {
        let help = "add reason = \"…\": it is printed on every report";
        merged.mistakes.push(Mistake::error(
            &item.at,
            format!("the check {id} is switched off without a reason"),
            help,
        ));
        return;
    };
    let Some(at) = under else {
        let near = did_you_mean(&id, known.iter().filter_map(id_of));
        let help = near.map_or_else(
            || "name a check of the file this one extends".to_owned(),
            |near| format!("did you mean {near}?"),
        );
        merged.mistakes.push(Mistake::error(&item.at, format!("there is no check {id} to switch off"), help));
        return;
    };
    let gone = known.remove(at);
    let title = match &gone.value {
        Value::Table(table) => table.text("title").unwrap_or("").to_owned(),
        _ => String::new(),
    };
    merged.dropped.push(Dropped { id, title, reason: reason.to_owned(), layer: layer.to_owned() });
}

/// `clear = ["measure.max"]` takes keys out before the new ones go in.
fn clear(under: &mut Table, over: &Table, merged: &mut Merged) {
    let Some(Node { value: Value::Array(paths), .. }) = over.get("clear") else { return };
    for node in paths {
        let Value::Text(path) = &node.value else { continue };
        if !remove_path(under, path) {
            let help = "name a key as it stands in the extended file: clear = [\"measure.max\"]";
            merged.mistakes.push(Mistake::error(&node.at, format!("there is no key {path} to clear"), help));
        }
    }
}

fn remove_path(table: &mut Table, path: &str) -> bool {
    match path.split_once('.') {
        None => table.remove(path).is_some(),
        Some((head, rest)) => match table.get_mut(head) {
            Some(Node { value: Value::Table(inner), .. }) => remove_path(inner, rest),
            _ => false,
        },
    }
}

fn merge_tables(under: &mut Table, over: &Table) {
    for (key, node) in &over.entries {
        if key.text == "clear" {
            continue;
        }
        match (under.get_mut(&key.text), &node.value) {
            (Some(Node { value: Value::Table(inner), .. }), Value::Table(new)) => merge_tables(inner, new),
            _ => replace(under, key, node.clone()),
        }
    }
}

/// Keys that two parents of one file both set, by check: which of them wins may surprise.
pub(super) fn both_set(first: &Table, second: &Table) -> Vec<(Key, String)> {
    let mut found = Vec::new();
    for (id, later) in checks(second) {
        let Some((_, earlier)) = checks(first).find(|(known, _)| *known == id) else { continue };
        for (key, node) in &later.entries {
            let differs = earlier.get(&key.text).is_some_and(|known| !same(known, node));
            if key.text != "id" && differs {
                found.push((key.clone(), id.to_owned()));
            }
        }
    }
    found
}

fn checks(table: &Table) -> impl Iterator<Item = (&str, &Table)> {
    let items: &[Node] = match table.get("check").map(|node| &node.value) {
        Some(Value::Array(items)) => items,
        _ => &[],
    };
    items.iter().filter_map(|node| match &node.value {
        Value::Table(table) => Some((table.text("id")?, table)),
        _ => None,
    })
}

/// Equal values, wherever they stand.
fn same(a: &Node, b: &Node) -> bool {
    match (&a.value, &b.value) {
        (Value::Array(a), Value::Array(b)) => a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same(a, b)),
        (Value::Table(a), Value::Table(b)) => {
            a.entries.len() == b.entries.len()
                && a.entries.iter().all(|(key, node)| b.get(&key.text).is_some_and(|other| same(node, other)))
        }
        (a, b) => a == b,
    }
}
