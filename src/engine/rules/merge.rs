//! One rule file over another: tables merge key by key to any depth, arrays and values are replaced whole.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Place, did_you_mean, near_or};
use crate::source::{Key, Node, Table, Value};

use super::dated::Dates;
use super::lessens::Laid;
use super::ruleset::{Change, Dropped, Repeat};

/// The arrays whose elements are named by id and merged one by one.
pub(super) const NAMED: [&str; 5] = ["profile", "lap", "instrument", "station", "check"];

/// What merging one file gives besides the tree.
#[derive(Debug, Default)]
pub(super) struct Merged {
    pub diagnostics: Vec<Diagnostic>,
    pub dropped: Vec<Dropped>,
    pub repeats: Vec<Repeat>,
    pub changes: Vec<Change>,
    /// What was laid over something, with what it was.
    pub laid: Vec<Laid>,
}

/// What is laid on, besides its tree.
#[derive(Clone, Copy)]
pub(super) struct Over<'a> {
    /// The ruleset's id.
    pub layer: &'a str,
    /// Nothing lies under it.
    pub first: bool,
    /// Whether a check is one that a layer under it would bring, and not on this day.
    pub off: &'a dyn Fn(&str) -> bool,
    /// Whether something under it is not there or could not be read, so that what it changes may be in that.
    pub adrift: bool,
}

/// Lays `over` on `base`.
pub(super) fn merge(base: &mut Table, over: &Table, by: &Over<'_>) -> Merged {
    let mut merged = Merged::default();
    for (key, node) in &over.entries {
        if NAMED.contains(&key.text.as_str()) {
            if !is_of_another(over, key, node) {
                merge_named(base, key, node, by, &mut merged);
            }
        } else {
            replace(base, key, node.clone());
        }
    }
    merged
}

/// Whether tables of an array stand without it, because its own heading is misspelled, which is told there.
fn is_of_another(over: &Table, key: &Key, node: &Node) -> bool {
    let names = over.entries.iter().map(|(key, _)| key.text.as_str());
    let mut strange = names.filter(|name| !NAMED.contains(name) && !matches!(*name, "format" | "ruleset"));
    matches!(node.value, Value::Table(_))
        && strange.any(|name| did_you_mean(name, [key.text.as_str()]).is_some())
}

fn replace(table: &mut Table, key: &Key, node: Node) {
    match table.entries.iter_mut().find(|(known, _)| known.text == key.text) {
        Some(entry) => *entry = (key.clone(), node),
        None => table.entries.push((key.clone(), node)),
    }
}

fn merge_named(base: &mut Table, key: &Key, node: &Node, by: &Over<'_>, merged: &mut Merged) {
    let Value::Array(items) = &node.value else {
        // Not an array of tables: the reader says so in its own words.
        replace(base, key, node.clone());
        return;
    };
    if base.get(&key.text).is_none() {
        base.entries.push((key.clone(), Node { value: Value::Array(Arc::default()), at: node.at.clone() }));
    }
    let Some(Node { value: Value::Array(known), .. }) = base.get_mut(&key.text) else { return };
    let known = Arc::make_mut(known);
    let mut seen: BTreeSet<&str> = BTreeSet::new();
    for item in items.iter() {
        let Value::Table(table) = &item.value else {
            known.push(item.clone());
            continue;
        };
        let id = table.text("id").unwrap_or("");
        if !seen.insert(id) && !id.is_empty() {
            let help = "a file names each one once: merge the two, or give one another id";
            let at = table.get("id").map_or(&item.at, |node| &node.at);
            let message = format!("the {} {id} stands twice in this file", key.text);
            merged.diagnostics.push(Diagnostic::error(at, message, help));
            // The rest of it is read all the same, so that whatever else is wrong in it is told in the same run.
            if by.first || table.get("station").is_some() {
                known.push(item.clone());
                continue;
            }
        }
        merge_item(known, item, table, &key.text, by, merged);
    }
}

fn merge_item(
    known: &mut Vec<Node>,
    item: &Node,
    table: &Arc<Table>,
    array: &str,
    by: &Over<'_>,
    merged: &mut Merged,
) {
    let &Over { layer, first, off, adrift } = by;
    let id = table.text("id").unwrap_or("");
    // In the first file each id stands once, so that none can lie under another.
    let over = !first && !id.is_empty();
    let under = over.then(|| known.iter().position(|node| node.value.id() == Some(id))).flatten();
    if array == "check" && matches!(table.get("off"), Some(Node { value: Value::Flag(true), .. })) {
        drop_check(known, under, item, table, by, merged);
        return;
    }
    let Some(at) = under else {
        let is_new = array != "check" || first || id.is_empty() || is_whole(table);
        // What is changed of rules that are not there is read all the same, for whatever else is wrong in it.
        if is_new || adrift {
            // Nothing lies under it, so there is nothing to clear.
            if !adrift {
                clear(&mut Table::default(), table, &Inside { layer, array, id, path: "" }, merged);
            }
            known.push(item.clone());
            if !first {
                let title = table.text("title").unwrap_or(id).to_owned();
                Inside { layer, array, id, path: "" }.changed("", None, Some(title), &item.at, merged);
            }
        } else if !off(id) {
            let near = did_you_mean(id, known.iter().filter_map(|node| node.value.id()));
            let help = near.map_or_else(
                || {
                    "a new check needs station, topic, title, accept, reject, why, remedy, method, severity"
                        .to_owned()
                },
                |near| format!("did you mean {near}? A new check needs its station and all its words"),
            );
            let at = table.get("id").map_or(&item.at, |node| &node.at);
            merged.diagnostics.push(Diagnostic::error(at, format!("there is no check {id} to change"), help));
        }
        return;
    };
    let Some(under) = known.get_mut(at) else { return };
    if let Node { value: Value::Table(under), at: place } = under {
        *place = item.at.clone();
        let before = Arc::clone(under);
        let inside = Inside { layer, array, id, path: "" };
        let changed = Arc::make_mut(under);
        clear(changed, table, &inside, merged);
        merge_tables(changed, table, &inside, merged);
        merged.laid.push(Laid {
            layer: layer.to_owned(),
            array: array.to_owned(),
            id: id.to_owned(),
            before,
            after: Arc::clone(under),
            own: Arc::clone(table),
            at: table.get("id").map_or_else(|| item.at.clone(), |node| node.at.clone()),
        });
    }
}

/// Whether a check stands for itself: one that changes another and misspells its id lacks nearly all of it.
fn is_whole(check: &Table) -> bool {
    const WORDS: [&str; 8] = ["topic", "title", "accept", "reject", "why", "remedy", "method", "severity"];
    check.get("station").is_some() && WORDS.iter().filter(|word| check.get(word).is_some()).count() > 3
}

/// Where in a named table a merge stands, for saying so.
struct Inside<'a> {
    layer: &'a str,
    array: &'a str,
    id: &'a str,
    path: &'a str,
}

impl Inside<'_> {
    fn what(&self) -> String {
        format!("the {} {}", self.array, self.id)
    }

    /// Notes what the layer did to a key; its cases are tests of its own and no change of the rule.
    fn changed(
        &self,
        key: &str,
        before: Option<String>,
        after: Option<String>,
        at: &Place,
        merged: &mut Merged,
    ) {
        if key == "case" {
            return;
        }
        merged.changes.push(Change {
            layer: self.layer.to_owned(),
            array: self.array.to_owned(),
            id: self.id.to_owned(),
            key: key.to_owned(),
            before,
            after,
            at: at.clone(),
        });
    }
}

/// A value as it is written, on one line; of a list of tables only how many there are.
fn written(node: &Node) -> String {
    if let Value::Array(items) = &node.value
        && items.iter().any(|item| matches!(item.value, Value::Table(_)))
    {
        return if items.len() == 1 { "1 entry".to_owned() } else { format!("{} entries", items.len()) };
    }
    let text = node.at.file.text.get(node.at.range.clone()).unwrap_or("");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// `off = true` drops a check; a reason is asked for.
fn drop_check(
    known: &mut Vec<Node>,
    under: Option<usize>,
    item: &Node,
    table: &Table,
    by: &Over<'_>,
    merged: &mut Merged,
) {
    let id = table.text("id").unwrap_or("").to_owned();
    merged.diagnostics.extend(Dates::of(table).err());
    let Some(reason) = table.text("reason").filter(|reason| !reason.trim().is_empty()) else {
        if by.adrift {
            return;
        }
        let help = "add reason = \"…\": it is printed on every report";
        let at = table.get("reason").or(table.get("off")).map_or(&item.at, |node| &node.at);
        let message = format!("the check {id} is switched off without a reason");
        merged.diagnostics.push(Diagnostic::error(at, message, help));
        return;
    };
    let Some(at) = under else {
        if (by.off)(&id) || by.adrift {
            return;
        }
        if id.is_empty() {
            let help = "add id = \"…\": the check as the extended rules name it";
            merged.diagnostics.push(Diagnostic::error(
                &item.at,
                "nothing says which check is switched off",
                help,
            ));
            return;
        }
        let help = near_or(&id, known.iter().filter_map(|node| node.value.id()), || {
            "name a check of the file this one extends".to_owned()
        });
        let at = table.get("id").map_or(&item.at, |node| &node.at);
        merged.diagnostics.push(Diagnostic::error(at, format!("there is no check {id} to switch off"), help));
        return;
    };
    let gone = known.remove(at);
    let title = gone.value.as_table().and_then(|table| table.text("title")).unwrap_or("").to_owned();
    merged.dropped.push(Dropped { id, title, reason: reason.to_owned(), layer: by.layer.to_owned() });
}

/// `clear = ["measure.max"]` takes keys out before the new ones go in.
fn clear(under: &mut Table, over: &Table, inside: &Inside<'_>, merged: &mut Merged) {
    let Some(node) = over.get("clear") else { return };
    let help = "name a key as it stands in the extended file: clear = [\"measure.max\"]";
    let Value::Array(paths) = &node.value else {
        merged.diagnostics.push(Diagnostic::error(&node.at, "clear is an array of keys", help));
        return;
    };
    for node in paths.iter() {
        match &node.value {
            Value::Text(path) => match remove_path(under, path) {
                Some(gone) => inside.changed(path, Some(written(&gone)), None, &node.at, merged),
                None => {
                    let message = format!("there is no key {path} to clear");
                    merged.diagnostics.push(Diagnostic::error(&node.at, message, help));
                }
            },
            _ => merged.diagnostics.push(Diagnostic::error(
                &node.at,
                "a key to clear is a text in quotes",
                help,
            )),
        }
    }
}

fn remove_path(table: &mut Table, path: &str) -> Option<Node> {
    match path.split_once('.') {
        None => table.remove(path),
        Some((head, rest)) => match table.get_mut(head) {
            Some(Node { value: Value::Table(inner), .. }) => remove_path(Arc::make_mut(inner), rest),
            _ => None,
        },
    }
}

fn merge_tables(under: &mut Table, over: &Table, inside: &Inside<'_>, merged: &mut Merged) {
    for (key, node) in &over.entries {
        if matches!(key.text.as_str(), "clear" | "id") {
            continue;
        }
        let path = joined(inside.path, &key.text);
        match (under.get_mut(&key.text), &node.value) {
            (Some(Node { value: Value::Table(inner), .. }), Value::Table(new)) => {
                merge_tables(Arc::make_mut(inner), new, &Inside { path: &path, ..*inside }, merged);
            }
            (known, _) => {
                if let Some(known) = known.as_ref().filter(|known| same(known, node)) {
                    let (at, before) = (node.at.clone(), known.at.clone());
                    merged.repeats.push(Repeat { what: inside.what(), key: path, at, before });
                } else {
                    let before = known.as_ref().map(|known| written(known));
                    inside.changed(&path, before, Some(written(node)), &node.at, merged);
                }
                replace(under, key, node.clone());
            }
        }
    }
}

fn joined(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }
}

/// A key that two parents of one file set to different values: which of them wins may surprise.
#[derive(Debug)]
pub(super) struct BothSet {
    /// What it is in: "the check lf-hose-at-steer-lock".
    pub what: String,
    /// The key, from there.
    pub key: String,
    /// Where the later parent sets it.
    pub at: Place,
}

/// Keys that two parents of one file both set, to any depth.
pub(super) fn both_set(first: &Table, second: &Table) -> Vec<BothSet> {
    let mut found = Vec::new();
    for array in NAMED {
        for (id, later) in elements(second, array) {
            let earlier = elements(first, array).find(|(known, _)| *known == id);
            let earlier = earlier.and_then(|(_, earlier)| earlier.value.as_table());
            if let (Some(earlier), Some(later)) = (earlier, later.value.as_table()) {
                differing(earlier, later, &Inside { layer: "", array, id, path: "" }, &mut found);
            }
        }
    }
    found
}

fn differing(earlier: &Table, later: &Table, inside: &Inside<'_>, found: &mut Vec<BothSet>) {
    for (key, node) in &later.entries {
        let path = joined(inside.path, &key.text);
        match (earlier.get(&key.text).map(|known| (known, &known.value)), &node.value) {
            (Some((_, Value::Table(inner))), Value::Table(new)) => {
                differing(inner, new, &Inside { path: &path, ..*inside }, found);
            }
            (Some((known, _)), _) if key.text != "id" && !same(known, node) => {
                found.push(BothSet { what: inside.what(), key: path, at: key.at.clone() });
            }
            _ => {}
        }
    }
}

fn elements<'t>(table: &'t Table, array: &str) -> impl Iterator<Item = (&'t str, &'t Node)> {
    let items: &[Node] = match table.get(array).map(|node| &node.value) {
        Some(Value::Array(items)) => items,
        _ => &[],
    };
    items.iter().filter_map(|node| Some((node.value.id()?, node)))
}

/// Equal values, wherever they stand.
fn same(a: &Node, b: &Node) -> bool {
    match (&a.value, &b.value) {
        (Value::Array(a), Value::Array(b)) => {
            a.len() == b.len() && a.iter().zip(&**b).all(|(a, b)| same(a, b))
        }
        (Value::Table(a), Value::Table(b)) => {
            a.entries.len() == b.entries.len()
                && a.entries.iter().all(|(key, node)| b.get(&key.text).is_some_and(|other| same(node, other)))
        }
        (a, b) => a == b,
    }
}
