//! Single values changed in a TOML text: the bytes of one value are replaced, or a line is put in or taken out, and every
//! other byte stays: remarks, order, line ends, a byte order mark.
//!
//! Each change is read again and compared with the tree that was wanted. Where a text is written in a way that this cannot
//! change, it is refused, and the person changes it by hand.

use std::ops::Range;
use std::sync::Arc;

use crate::diagnostic::SourceFile;

use super::tree::{Key, Node, Table, Value, parse};

/// A text with a change, or why it cannot be changed.
pub type Spliced = Result<String, String>;

const BY_HAND: &str = "the file is written in a way that this cannot change: change it by hand";
const BOM: char = '\u{feff}';

/// The node at the end of a way of keys; the way to a member of an array of tables goes by its id.
pub fn find<'n>(root: &'n Node, way: &[&str]) -> Option<&'n Node> {
    way.iter().try_fold(root, |node, part| match &node.value {
        Value::Table(table) => table.get(part),
        Value::Array(items) => items.iter().find(|item| item.value.id() == Some(part)),
        _ => None,
    })
}

/// Whether two values are alike, wherever they stand.
pub fn same(one: &Value, other: &Value) -> bool {
    match (one, other) {
        (Value::Array(one), Value::Array(other)) => {
            one.len() == other.len() && one.iter().zip(other.iter()).all(|(a, b)| same(&a.value, &b.value))
        }
        (Value::Table(one), Value::Table(other)) => {
            let in_other = |(key, node): &(Key, Node)| {
                other.get(&key.text).is_some_and(|known| same(&node.value, &known.value))
            };
            one.entries.len() == other.entries.len() && one.entries.iter().all(in_other)
        }
        (one, other) => one == other,
    }
}

/// Sets a value, written as TOML; a key that is not there yet gets a line of its own.
///
/// # Errors
/// Where the text or the value is no TOML, or stands in a form that this cannot change.
pub fn set(text: &str, way: &[&str], value: &str) -> Spliced {
    let root = read(text)?;
    let new = value_of(value)?;
    match find(&root, way) {
        Some(old) if same(&old.value, &new) => Ok(text.to_owned()),
        Some(old) if has_heading(old) => Err(format!("{} is a table: name a value in it", way.join("."))),
        Some(old) => {
            let spliced = replaced(text, old.at.range.clone(), value)?;
            as_wanted(spliced, &root, |wanted| put(wanted, way, new))
        }
        None => as_wanted(insert(text, &root, way, value)?, &root, |wanted| put(wanted, way, new)),
    }
}

/// Takes a key out. A remark behind its value stays, as a line of its own; a table that is left empty goes too.
///
/// # Errors
/// Where it is not there, or stands in a form that this cannot change.
pub fn unset(text: &str, way: &[&str]) -> Spliced {
    let root = read(text)?;
    let (_, above) = way.split_last().ok_or(BY_HAND)?;
    let parent = find(&root, above).ok_or_else(|| not_there(way))?;
    let table = parent.value.as_table().ok_or(BY_HAND)?;
    // What would be left empty is taken out whole.
    if table.entries.len() == 1 && !above.is_empty() && !is_element(&root, above) {
        return match form(text, parent) {
            Form::Heading => take_out(text, above),
            _ => unset(text, above),
        };
    }
    let (key, node) = entry(table, way).ok_or_else(|| not_there(way))?;
    if has_heading(node) {
        return take_out(text, way);
    }
    let spliced = match form(text, parent) {
        Form::Inline => {
            let spans = table.entries.iter().map(|(key, node)| key.at.range.start..node.at.range.end);
            without_member(text, &spans.collect::<Vec<_>>(), key.at.range.start)?
        }
        _ => without_line(text, key.at.range.start, extent(node))?,
    };
    as_wanted(spliced, &root, |wanted| drop_at(wanted, way))
}

/// Adds a member to an array of tables, behind those that are there, with its keys written as TOML.
///
/// # Errors
/// Where the array is written in one line, or in another form that this cannot change.
pub fn add(text: &str, way: &[&str], fields: &[(String, String)]) -> Spliced {
    let root = read(text)?;
    let end = match find(&root, way) {
        Some(node) => {
            let Value::Array(items) = &node.value else { return Err(BY_HAND.to_owned()) };
            let last = items.last().filter(|last| form(text, last) == Form::Heading).ok_or(BY_HAND)?;
            Some(line_end(text, extent(last)))
        }
        None => None,
    };
    let nl = newline(text, end.unwrap_or(text.len()));
    let mut block = format!("[[{}]]", way.iter().map(|part| key_text(part)).collect::<Vec<_>>().join("."));
    for (key, value) in fields {
        block.push_str(&format!("{nl}{} = {value}", key_text(key)));
    }
    let spliced = match end {
        Some(end) => replaced(text, end..end, &format!("{nl}{nl}{block}"))?,
        None => at_the_end(text, nl, &block),
    };
    let mut table = Table::default();
    for (key, value) in fields {
        let value = value_of(value)?;
        table.entries.push((made_key(&root, key), made_node(&root, value)));
    }
    let node = made_node(&root, Value::Table(Arc::new(table)));
    as_wanted(spliced, &root, |wanted| push(wanted, way, node))
}

/// Takes a table with its own heading out, or a member of an array of tables, with the remarks that stand right above it.
///
/// # Errors
/// Where it is not there, or stands in a form that this cannot change.
pub fn take_out(text: &str, way: &[&str]) -> Spliced {
    let root = read(text)?;
    let node = find(&root, way).ok_or_else(|| not_there(way))?;
    let spliced = match form(text, node) {
        Form::Heading => {
            let start = remarks_above(text, line_start(text, node.at.range.start));
            let range = whole_lines(text, blank_before(text, start), line_end(text, extent(node)));
            replaced(text, range, "")?
        }
        Form::Inline if is_element(&root, way) => {
            let items = way.split_last().and_then(|(_, above)| find(&root, above));
            let Some(Value::Array(items)) = items.map(|items| &items.value) else {
                return Err(BY_HAND.to_owned());
            };
            let spans: Vec<Range<usize>> = items.iter().map(|item| item.at.range.clone()).collect();
            without_member(text, &spans, node.at.range.start)?
        }
        _ => return Err(BY_HAND.to_owned()),
    };
    as_wanted(spliced, &root, |wanted| drop_at(wanted, way))
}

/// Puts another id in the place of a table's, which the way to it goes by.
///
/// # Errors
/// Where it is not there, or stands in a form that this cannot change.
pub fn replace_id(text: &str, way: &[&str], to: &str) -> Spliced {
    let root = read(text)?;
    let node = find(&root, way).ok_or_else(|| not_there(way))?;
    let spliced = replaced(text, node.at.range.clone(), &quoted(to))?;
    as_wanted(spliced, &root, |wanted| put(wanted, way, Value::Text(to.to_owned())))
}

/// Puts another text in the place of one word of a list, or takes the word out.
///
/// # Errors
/// Where the list does not have it.
pub fn set_member(text: &str, way: &[&str], word: &str, to: Option<&str>) -> Spliced {
    let root = read(text)?;
    let items = find(&root, way).ok_or_else(|| not_there(way))?;
    let Value::Array(items) = &items.value else { return Err(BY_HAND.to_owned()) };
    let is_it = |item: &Node| item.value == Value::Text(word.to_owned());
    let node = items.iter().find(|item| is_it(item)).ok_or_else(|| not_there(way))?;
    let spliced = match to {
        Some(to) => replaced(text, node.at.range.clone(), &quoted(to))?,
        None => {
            let spans: Vec<Range<usize>> = items.iter().map(|item| item.at.range.clone()).collect();
            without_member(text, &spans, node.at.range.start)?
        }
    };
    let wanted: Vec<Node> = items
        .iter()
        .filter_map(|item| match (is_it(item), to) {
            (false, _) => Some(item.clone()),
            (true, Some(to)) => Some(made_node(&root, Value::Text(to.to_owned()))),
            (true, None) => None,
        })
        .collect();
    as_wanted(spliced, &root, |root| put(root, way, Value::Array(Arc::new(wanted))))
}

/// Gives a key another name.
///
/// # Errors
/// Where it is not there, or the new name is.
pub fn rename_key(text: &str, way: &[&str], to: &str) -> Spliced {
    let root = read(text)?;
    let (_, above) = way.split_last().ok_or(BY_HAND)?;
    let table = find(&root, above).and_then(|node| node.value.as_table()).ok_or_else(|| not_there(way))?;
    let (key, node) = entry(table, way).ok_or_else(|| not_there(way))?;
    let spliced = replaced(text, key.at.range.clone(), &key_text(to))?;
    let (value, new) = (node.value.clone(), [above, &[to]].concat());
    as_wanted(spliced, &root, |root| {
        drop_at(root, way);
        put(root, &new, value);
    })
}

/// A text as TOML writes it.
pub fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

fn not_there(way: &[&str]) -> String {
    format!("{} is not in the file", way.join("."))
}

fn read(text: &str) -> Result<Node, String> {
    let (root, diagnostics) = parse(&SourceFile::new("", text));
    match diagnostics.first() {
        None => Ok(root),
        Some(first) => {
            let line = first.at.line();
            Err(format!("line {line} of the file is no TOML: {}. {}", first.message, first.help))
        }
    }
}

/// One value written as TOML.
fn value_of(written: &str) -> Result<Value, String> {
    let (root, diagnostics) = parse(&SourceFile::new("", format!("value = {written}\n")));
    let only = root.value.as_table().filter(|table| table.entries.len() == 1 && diagnostics.is_empty());
    let value = only.and_then(|table| table.get("value")).map(|node| node.value.clone());
    value.ok_or_else(|| format!("{written} is no value: a text goes in quotes, a list in [ ]"))
}

/// How a table is written.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Form {
    /// Under `[a heading]`.
    Heading,
    /// In `{ }`.
    Inline,
    /// The document, or by dotted keys, or only as a part of the headings under it.
    Bare,
}

fn form(text: &str, node: &Node) -> Form {
    match (&node.value, text.as_bytes().get(node.at.range.start)) {
        (Value::Table(_), Some(b'{')) => Form::Inline,
        (Value::Table(_), Some(b'[')) if !node.at.range.is_empty() && node.at.range.len() < text.len() => {
            Form::Heading
        }
        _ => Form::Bare,
    }
}

/// Whether a value or any in it has a heading of its own.
fn has_heading(node: &Node) -> bool {
    let text = &node.at.file.text;
    match &node.value {
        Value::Table(table) => {
            form(text, node) == Form::Heading || table.entries.iter().any(|(_, node)| has_heading(node))
        }
        Value::Array(items) => items.iter().any(has_heading),
        _ => false,
    }
}

/// Whether a way leads to a member of an array of tables.
fn is_element(root: &Node, way: &[&str]) -> bool {
    let above = way.split_last().and_then(|(_, above)| find(root, above));
    above.is_some_and(|above| matches!(above.value, Value::Array(_)))
}

/// The entry of a table that a way ends with.
fn entry<'t>(table: &'t Table, way: &[&str]) -> Option<&'t (Key, Node)> {
    let last = way.last()?;
    table.entries.iter().find(|(key, _)| key.text == **last)
}

/// Where all that belongs to a table ends.
fn extent(node: &Node) -> usize {
    let own = node.at.range.end;
    match &node.value {
        Value::Table(table) => table.entries.iter().map(|(_, node)| extent(node)).fold(own, usize::max),
        Value::Array(items) => items.iter().map(extent).fold(own, usize::max),
        _ => own,
    }
}

/// Where the keys of a table end that stand under its own heading, or by dotted keys under another.
fn keys_end(table: &Table) -> Option<usize> {
    let plain = table.entries.iter().filter(|(_, node)| !has_heading(node));
    plain
        .filter_map(|(_, node)| match &node.value {
            Value::Table(inner) if form(&node.at.file.text, node) == Form::Bare => keys_end(inner),
            _ => Some(node.at.range.end),
        })
        .max()
}

/// The text with a key that is not there yet.
fn insert(text: &str, root: &Node, way: &[&str], value: &str) -> Spliced {
    let depth = (0..way.len()).rev().find(|depth| way.get(..*depth).and_then(|w| find(root, w)).is_some());
    let (above, rest) = way.split_at_checked(depth.unwrap_or(0)).ok_or(BY_HAND)?;
    let parent = find(root, above).ok_or(BY_HAND)?;
    let table = parent.value.as_table().ok_or_else(|| not_there(way))?;
    let [key, inner @ ..] = rest else { return Err(BY_HAND.to_owned()) };
    // A table that is not there yet is written in one line, one of the document under a heading.
    let in_line = |inner: &[&str]| {
        inner.iter().rev().fold(value.to_owned(), |value, key| format!("{{ {} = {value} }}", key_text(key)))
    };
    let line = format!("{} = {}", key_text(key), in_line(inner));
    let under = |end: usize| {
        let end = line_end(text, end);
        replaced(text, end..end, &format!("{}{line}", newline(text, end)))
    };
    match (form(text, parent), inner) {
        (Form::Inline, _) => match table.entries.last() {
            Some((_, last)) => {
                let end = last.at.range.end;
                replaced(text, end..end, &format!(", {line}"))
            }
            None => replaced(text, parent.at.range.clone(), &format!("{{ {line} }}")),
        },
        (Form::Heading, _) => under(keys_end(table).unwrap_or(parent.at.range.end)),
        (Form::Bare, [first, last @ ..]) if above.is_empty() => {
            let nl = newline(text, text.len());
            let line = format!("{} = {}", key_text(first), in_line(last));
            Ok(at_the_end(text, nl, &format!("[{}]{nl}{line}", key_text(key))))
        }
        (Form::Bare, _) if above.is_empty() => match keys_end(table) {
            Some(end) => under(end),
            None => {
                let start = if text.starts_with(BOM) { BOM.len_utf8() } else { 0 };
                replaced(text, start..start, &format!("{line}{}", newline(text, start)))
            }
        },
        (Form::Bare, _) => match keys_end(table) {
            Some(end) => {
                let dotted = above.last().map_or(String::new(), |last| format!("{}.", key_text(last)));
                let end = line_end(text, end);
                replaced(text, end..end, &format!("{}{dotted}{line}", newline(text, end)))
            }
            None => {
                let nl = newline(text, text.len());
                let heading: Vec<String> = above.iter().map(|part| key_text(part)).collect();
                Ok(at_the_end(text, nl, &format!("[{}]{nl}{line}", heading.join("."))))
            }
        },
    }
}

/// A block behind everything else, with a blank line before it; the text ends with a line's end where it did.
fn at_the_end(text: &str, nl: &str, block: &str) -> String {
    if text.is_empty() || text.ends_with('\n') {
        let blank = if text.trim_start_matches(BOM).is_empty() { "" } else { nl };
        format!("{text}{blank}{block}{nl}")
    } else {
        format!("{text}{nl}{nl}{block}")
    }
}

fn key_text(key: &str) -> String {
    let bare = |b: u8| b.is_ascii_alphanumeric() || b == b'-' || b == b'_';
    if !key.is_empty() && key.bytes().all(bare) { key.to_owned() } else { quoted(key) }
}

fn replaced(text: &str, range: Range<usize>, with: &str) -> Spliced {
    let parts = text.get(..range.start).zip(text.get(range.end..));
    let (head, tail) = parts.ok_or(BY_HAND)?;
    Ok(format!("{head}{with}{tail}"))
}

fn line_start(text: &str, at: usize) -> usize {
    let start = text.get(..at).and_then(|before| before.rfind('\n')).map_or(0, |end| end + 1);
    if start == 0 && text.starts_with(BOM) { BOM.len_utf8().min(at) } else { start }
}

/// The end of a line, before its line end.
fn line_end(text: &str, at: usize) -> usize {
    let rest = text.get(at..).unwrap_or_default();
    let end = at + rest.find('\n').unwrap_or(rest.len());
    let is_crlf =
        text.get(..end).is_some_and(|before| before.ends_with('\r')) && end < text.len() && end > at;
    if is_crlf { end - 1 } else { end }
}

/// The line end that the line at a place has, or the one before it.
fn newline(text: &str, at: usize) -> &'static str {
    let before =
        || text.get(..at).and_then(|before| before.rfind('\n')).map(|end| end > 0 && is_cr(text, end - 1));
    let own = text.get(at..).filter(|rest| rest.starts_with(['\r', '\n'])).map(|rest| rest.starts_with('\r'));
    if own.or_else(before).unwrap_or(false) { "\r\n" } else { "\n" }
}

fn is_cr(text: &str, at: usize) -> bool {
    text.as_bytes().get(at) == Some(&b'\r')
}

/// From the start of a line to the end of one, with that one's line end; where it has none, with the one before.
fn whole_lines(text: &str, start: usize, end: usize) -> Range<usize> {
    let rest = text.get(end..).unwrap_or_default();
    if let Some(nl) = ["\r\n", "\n"].into_iter().find(|nl| rest.starts_with(nl)) {
        return start..end + nl.len();
    }
    let before = text.get(..start).unwrap_or_default();
    let nl = ["\r\n", "\n"].into_iter().find(|nl| before.ends_with(nl)).map_or(0, str::len);
    start - nl..end
}

/// Where the blank line before a place begins, if there is one.
fn blank_before(text: &str, at: usize) -> usize {
    let before = text.get(..at).unwrap_or_default();
    let line = |before: &str| ["\r\n", "\n"].into_iter().find(|nl| before.ends_with(nl)).map_or(0, str::len);
    let nl = line(before);
    let head = before.get(..before.len() - nl).unwrap_or_default();
    let blank = nl > 0 && (head.is_empty() || head.ends_with('\n'));
    if blank { at - nl } else { at }
}

/// Where the remarks begin that stand right above a line.
fn remarks_above(text: &str, start: usize) -> usize {
    let mut at = start;
    loop {
        let Some(before) = at.checked_sub(1).map(|end| line_start(text, end)) else { return at };
        let line = text.get(before..at).unwrap_or_default();
        if before == at || !line.trim_start().starts_with('#') {
            return at;
        }
        at = before;
    }
}

/// The text without a key's line; a remark behind the value keeps a line of its own.
fn without_line(text: &str, key: usize, end: usize) -> Spliced {
    let (start, stop) = (line_start(text, key), line_end(text, end));
    let behind = text.get(end..stop).unwrap_or_default().trim();
    if behind.is_empty() {
        let range = whole_lines(text, start, stop);
        return replaced(text, range, "");
    }
    replaced(text, start..stop, behind)
}

/// The text without one of several members between brackets or braces.
fn without_member(text: &str, spans: &[Range<usize>], start: usize) -> Spliced {
    let at = spans.iter().position(|span| span.start == start).ok_or(BY_HAND)?;
    let span = spans.get(at).ok_or(BY_HAND)?;
    let before = at.checked_sub(1).and_then(|before| spans.get(before));
    let range = match (before, spans.get(at + 1)) {
        (Some(before), _) => before.end..span.end,
        (None, Some(next)) => span.start..next.start,
        (None, None) => span.clone(),
    };
    replaced(text, range, "")
}

/// The text, if it reads as the tree with the same change.
fn as_wanted(spliced: String, root: &Node, change: impl FnOnce(&mut Node)) -> Spliced {
    let mut wanted = root.clone();
    change(&mut wanted);
    let (found, diagnostics) = parse(&SourceFile::new("", spliced.as_str()));
    let alike = same(&without_empty(&found.value), &without_empty(&wanted.value));
    if diagnostics.is_empty() && alike { Ok(spliced) } else { Err(BY_HAND.to_owned()) }
}

fn made_node(root: &Node, value: Value) -> Node {
    Node { value, at: root.at.clone() }
}

fn made_key(root: &Node, text: &str) -> Key {
    Key { text: text.to_owned(), at: root.at.clone() }
}

fn child<'n>(node: &'n mut Node, part: &str) -> Option<&'n mut Node> {
    match &mut node.value {
        Value::Table(table) => Arc::make_mut(table).get_mut(part),
        Value::Array(items) => Arc::make_mut(items).iter_mut().find(|item| item.value.id() == Some(part)),
        _ => None,
    }
}

fn put(root: &mut Node, way: &[&str], value: Value) {
    let at = root.at.clone();
    let mut node = root;
    for part in way {
        if child(node, part).is_none()
            && let Value::Table(table) = &mut node.value
        {
            let empty = Node { value: Value::Table(Arc::default()), at: at.clone() };
            let key = Key { text: (*part).to_owned(), at: at.clone() };
            Arc::make_mut(table).entries.push((key, empty));
        }
        let Some(next) = child(node, part) else { return };
        node = next;
    }
    node.value = value;
}

fn push(root: &mut Node, way: &[&str], member: Node) {
    if find(root, way).is_none() {
        put(root, way, Value::Array(Arc::default()));
    }
    let Some(node) = way.iter().try_fold(root, |node, part| child(node, part)) else { return };
    if let Value::Array(items) = &mut node.value {
        Arc::make_mut(items).push(member);
    }
}

/// Takes what a way leads to out of a tree.
fn drop_at(root: &mut Node, way: &[&str]) {
    let Some((last, above)) = way.split_last() else { return };
    let Some(node) = above.iter().try_fold(root, |node, part| child(node, part)) else { return };
    match &mut node.value {
        Value::Table(table) => drop(Arc::make_mut(table).remove(last)),
        Value::Array(items) => Arc::make_mut(items).retain(|item| item.value.id() != Some(last)),
        _ => {}
    }
}

/// A value without keys of empty tables and lists, which say nothing.
fn without_empty(value: &Value) -> Value {
    let is_empty = |value: &Value| match value {
        Value::Table(table) => table.entries.is_empty(),
        Value::Array(items) => items.is_empty(),
        _ => false,
    };
    let node = |node: &Node| Node { value: without_empty(&node.value), at: node.at.clone() };
    match value {
        Value::Table(table) => {
            let entries = table.entries.iter().map(|(key, value)| (key.clone(), node(value)));
            let entries = entries.filter(|(_, node)| !is_empty(&node.value)).collect();
            Value::Table(Arc::new(Table { entries }))
        }
        Value::Array(items) => Value::Array(Arc::new(items.iter().map(node).collect())),
        value => value.clone(),
    }
}
