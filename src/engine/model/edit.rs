//! Changes of a car file as a person asks for them: values by key path, parts by id, with every reference to them.

use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Place, SourceFile, any_error, near_or};
use crate::source::splice::{self, find, quoted};
use crate::source::{self, FieldKind, Node, Override, Overrides, Shape, Value, is_id};

use super::edit_known;
use super::keys::shape;
use super::known::Origin;
use super::read_car;

/// One change.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Edit {
    /// Gives a key a value, as typed; a key path without ids means every such part.
    Set {
        /// The key path.
        key: String,
        /// What was typed.
        value: String,
        /// How it is known; none: as typed.
        how: Option<Origin>,
    },
    /// Says how a value is known.
    Known {
        /// Its key path.
        key: String,
        /// How.
        how: Origin,
    },
    /// Takes a value out: the file is silent about it from then on.
    Unset {
        /// The key path.
        key: String,
    },
    /// Adds a part.
    Add {
        /// `suppression.line`, or `line` where only one list has that name.
        list: String,
        /// Its id.
        id: String,
        /// Its keys with their values, as typed.
        values: Vec<(String, String)>,
    },
    /// Takes a part out, and its id out of every list that names it.
    TakeOut {
        /// Its id.
        id: String,
    },
    /// Gives a part another id, wherever it is named.
    Rename {
        /// Its id.
        id: String,
        /// The new one.
        to: String,
    },
}

/// The lists of parts that have ids of their own, and may be added, taken out and renamed.
pub const LISTS: [&str; 17] = [
    "frame.tube",
    "frame.sleeve",
    "brakes.master",
    "brakes.line",
    "brakes.hose",
    "brakes.valve",
    "brakes.wheel_brake",
    "suppression.bottle",
    "suppression.tee",
    "suppression.line",
    "suppression.nozzle",
    "suppression.hazard",
    "suppression.shield",
    "suppression.keep_clear",
    "suppression.pull",
    "electrics",
    "hand_held",
];

/// Keys of a part that name another part: lists of words, and single words.
const NAMING_LISTS: [&str; 4] = ["carries", "inside", "protects", "works"];
const NAMING: [&str; 3] = ["from", "to", "tube"];

/// The text of a car file with some changes, all or none.
///
/// # Errors
/// What is wrong with the first change that cannot be made, with its place and remedy; or what the changed file would be
/// refused for.
pub fn edited(file: &Arc<SourceFile>, edits: &[Edit]) -> Result<String, String> {
    let (_, diagnostics) = source::parse(file);
    if any_error(&diagnostics) {
        return Err(crate::diagnostic::render_all(&diagnostics));
    }
    let mut text = file.text.to_string();
    for edit in edits {
        text = one(&SourceFile::new(file.name.clone(), text), edit)?;
    }
    let before = read_car(file, &Overrides::new()).diagnostics;
    let mut after =
        read_car(&SourceFile::new(file.name.clone(), text.clone()), &Overrides::new()).diagnostics;
    // What was wrong before is no reason to refuse the change that mends something else.
    after.retain(|one| !before.iter().any(|known| known.message == one.message));
    if any_error(&after) {
        return Err(crate::diagnostic::render_all(&after));
    }
    Ok(text)
}

fn one(file: &Arc<SourceFile>, edit: &Edit) -> Result<String, String> {
    let (root, _) = source::parse(file);
    match edit {
        Edit::Set { key, value, how } => set(file, &root, (key, value), how.as_ref()),
        Edit::Known { key, how } => {
            let why = |why: String| Typed::new("known", key, "").refused(&why, "");
            splice::set(&file.text, &["known", key.as_str()], &quoted(&how.text())).map_err(why)
        }
        Edit::Unset { key } => {
            let typed = Typed::new("unset", key, "");
            let mut text = file.text.to_string();
            for (way, _) in typed.ways(&root)? {
                if way.last().is_some_and(|last| last == "id") {
                    return Err(typed.refused("a part always has its id", "take the part out instead"));
                }
                let parts: Vec<&str> = way.iter().map(String::as_str).collect();
                let known = edit_known::known_of(file);
                text = splice::unset(&text, &parts)
                    .and_then(|text| edit_known::forgotten(&text, &known, &way.join(".")))
                    .map_err(|why| typed.refused(&why, ""))?;
            }
            Ok(text)
        }
        Edit::Add { list, id, values } => add(file, &root, (list, id), values),
        Edit::TakeOut { id } => take_out(file, &root, id),
        Edit::Rename { id, to } => rename(file, &root, id, to),
    }
}

/// What was typed, as a file of one line to point at.
struct Typed {
    key: String,
    file: Arc<SourceFile>,
}

impl Typed {
    fn new(command: &str, key: &str, value: &str) -> Self {
        let line = if command == "set" { format!("{key}={value}") } else { key.to_owned() };
        Self { key: key.to_owned(), file: SourceFile::new(command, line) }
    }

    fn at_key(&self) -> Place {
        Place { file: Arc::clone(&self.file), range: 0..self.key.len() }
    }

    fn at_value(&self) -> Place {
        let end = self.file.text.len();
        Place { file: Arc::clone(&self.file), range: (self.key.len() + 1).min(end)..end }
    }

    fn refused(&self, message: &str, help: &str) -> String {
        Diagnostic::error(&self.at_key(), message, help).render()
    }

    /// The ways that the key path means, with what may stand there.
    fn ways(&self, root: &Node) -> Result<Vec<(Vec<String>, &'static FieldKind)>, String> {
        let parts: Vec<&str> = self.key.split('.').collect();
        let mut found = Vec::new();
        match ways(shape(), Some(root), &parts, &mut Vec::new(), &mut found) {
            Ok(()) => Ok(found),
            Err((message, help)) => Err(self.refused(&message, &help)),
        }
    }
}

/// Goes a key path down the format and the file together.
fn ways(
    shape: &'static Shape,
    node: Option<&Node>,
    parts: &[&str],
    above: &mut Vec<String>,
    found: &mut Vec<(Vec<String>, &'static FieldKind)>,
) -> Result<(), (String, String)> {
    let Some((head, rest)) = parts.split_first() else { return Ok(()) };
    let Some(field) = shape.fields.iter().find(|field| field.key == *head) else {
        let known = shape.fields.iter().map(|field| field.key.as_str());
        let help =
            near_or(head, known.clone(), || format!("known here: {}", known.collect::<Vec<_>>().join(", ")));
        let place = if above.is_empty() { String::new() } else { format!(" in {}", above.join(".")) };
        return Err((format!("there is no key {head}{place}"), help));
    };
    above.push(field.key.clone());
    let node = node.and_then(|node| node.value.as_table()).and_then(|table| table.get(head));
    let outcome = match (&field.kind, rest) {
        (kind, []) => {
            found.push((above.clone(), kind));
            Ok(())
        }
        (FieldKind::Table(inner), rest) => ways(inner, node, rest, above, found),
        (FieldKind::Tables(inner) | FieldKind::TableOrTables(inner), [next, last @ ..]) => {
            match node.map(|node| &node.value) {
                Some(Value::Array(items)) => of_items(inner, items, (next, last, rest), above, found),
                _ => Err((
                    format!("the file has no {}", above.join(".")),
                    format!("add one first: linewalk car add CAR {} --id ID", above.join(".")),
                )),
            }
        }
        (kind @ FieldKind::Map(_), [key]) => {
            above.push((*key).to_owned());
            found.push((above.clone(), kind));
            above.pop();
            Ok(())
        }
        (_, [next, ..]) => Err((format!("{} has no key {next}", above.join(".")), "leave it out".to_owned())),
    };
    above.pop();
    outcome
}

fn of_items(
    inner: &'static Shape,
    items: &[Node],
    (next, last, rest): (&str, &[&str], &[&str]),
    above: &mut Vec<String>,
    found: &mut Vec<(Vec<String>, &'static FieldKind)>,
) -> Result<(), (String, String)> {
    if let Some(item) = items.iter().find(|item| item.value.id() == Some(next)) {
        above.push(next.to_owned());
        if last.is_empty() {
            return Err((
                format!("{} is a part, not a value", above.join(".")),
                "name a key of it".to_owned(),
            ));
        }
        let outcome = ways(inner, Some(item), last, above, found);
        above.pop();
        return outcome;
    }
    if inner.fields.iter().any(|field| field.key == next) {
        for item in items {
            let Some(id) = item.value.id() else { continue };
            above.push(id.to_owned());
            let outcome = ways(inner, Some(item), rest, above, found);
            above.pop();
            outcome?;
        }
        return Ok(());
    }
    let ids = || items.iter().filter_map(|item| item.value.id());
    let help = near_or(next, ids(), || format!("known here: {}", ids().collect::<Vec<_>>().join(", ")));
    Err((format!("{} has no {next}", above.join(".")), help))
}

fn set(
    file: &Arc<SourceFile>,
    root: &Node,
    (key, value): (&str, &str),
    how: Option<&Origin>,
) -> Result<String, String> {
    let typed = Typed::new("set", key, value);
    let ways = typed.ways(root)?;
    let mut text = file.text.to_string();
    for (way, kind) in ways {
        if way.last().is_some_and(|last| last == "id") {
            let help = "linewalk car rename CAR ID NEW changes it wherever it is named";
            return Err(typed.refused("an id is not set", help));
        }
        let parts: Vec<&str> = way.iter().map(String::as_str).collect();
        let old = find(root, &parts);
        let written = as_toml(kind, value, old);
        let changed = splice::set(&text, &parts, &written).map_err(|why| typed.refused(&why, ""))?;
        let stays = changed == text && how.is_none();
        text = changed;
        if !stays && way.first().is_some_and(|first| first != "known") {
            let known = edit_known::known_of(file);
            text = edit_known::noted(&text, &known, &way.join("."), how)
                .map_err(|why| typed.refused(&why, ""))?;
        }
    }
    unreadable(file, &typed, value)?;
    Ok(text)
}

/// Whether the reader takes the value, said of what was typed.
fn unreadable(file: &Arc<SourceFile>, typed: &Typed, value: &str) -> Result<(), String> {
    let over = Override::Typed(value.to_owned(), typed.at_value());
    let read = read_car(file, &Overrides::from([(typed.key.clone(), over)]));
    let own = |one: &&Diagnostic| {
        Arc::ptr_eq(&one.at.file, &typed.file) && !one.message.starts_with("there is no key")
    };
    let wrong: Vec<Diagnostic> = read.diagnostics.iter().filter(own).cloned().collect();
    if any_error(&wrong) { Err(crate::diagnostic::render_all(&wrong)) } else { Ok(()) }
}

/// What was typed as TOML, in the manner of the format.
fn as_toml(kind: &FieldKind, value: &str, old: Option<&Node>) -> String {
    let value = value.trim();
    let number = value.parse::<f64>().is_ok_and(f64::is_finite) && !value.starts_with('+');
    let was_whole = old.is_some_and(|old| matches!(old.value, Value::Integer(_)));
    match kind {
        FieldKind::Quantity(crate::units::Kind::Ratio) | FieldKind::Rpm | FieldKind::Number if number => {
            plain_number(value)
        }
        FieldKind::Count if value.parse::<i64>().is_ok() => plain_number(value),
        FieldKind::TextOrNumber if was_whole && value.parse::<i64>().is_ok() => plain_number(value),
        FieldKind::Flag => match value {
            "yes" => "true".to_owned(),
            "no" => "false".to_owned(),
            "true" | "false" => value.to_owned(),
            other => quoted(other),
        },
        FieldKind::Date if is_day(value) => value.to_owned(),
        FieldKind::Texts if !value.starts_with('[') => {
            let words = value.split(',').map(str::trim).filter(|word| !word.is_empty()).map(quoted);
            format!("[{}]", words.collect::<Vec<_>>().join(", "))
        }
        FieldKind::Map(inner) => as_toml(inner, value, old),
        FieldKind::Texts
        | FieldKind::Point
        | FieldKind::Points
        | FieldKind::Any
        | FieldKind::Table(_)
        | FieldKind::Tables(_)
        | FieldKind::TableOrTables(_) => value.to_owned(),
        _ => quoted(value),
    }
}

/// A number as TOML takes it: nothing before the point is not allowed there, nor a leading zero.
fn plain_number(value: &str) -> String {
    let (sign, digits) = value.strip_prefix('-').map_or(("", value), |rest| ("-", rest));
    let digits = digits.trim_start_matches('0');
    match digits.chars().next() {
        None => format!("{sign}0"),
        Some('.' | 'e' | 'E') => format!("{sign}0{}", if digits == "." { "" } else { digits }),
        Some(_) => format!("{sign}{}", digits.strip_suffix('.').unwrap_or(digits)),
    }
}

fn is_day(value: &str) -> bool {
    let digits = value.bytes().filter(u8::is_ascii_digit).count() == 8;
    digits && value.len() == 10 && source::parse_date(value).is_some()
}

/// The list that a person means.
fn list_named(name: &str, has_ends: bool) -> Result<Vec<&'static str>, String> {
    let all = || LISTS.iter().copied();
    let typed = Typed::new("add", name, "");
    let last = |list: &&'static str| list.rsplit('.').next() == Some(name);
    let found: Vec<&'static str> = match all().find(|list| *list == name) {
        Some(list) => vec![list],
        None => all().filter(last).collect(),
    };
    match found.as_slice() {
        [one] => Ok(one.split('.').collect()),
        [] => {
            let help = near_or(name, all().filter_map(|list| list.rsplit('.').next()), || {
                format!("known are {}", all().collect::<Vec<_>>().join(", "))
            });
            Err(typed.refused(&format!("there is no part called {name}"), &help))
        }
        // A line with ends is one of the suppression system: those of the brakes have none.
        several => match several.iter().find(|list| list.starts_with("suppression") && has_ends) {
            Some(one) => Ok(one.split('.').collect()),
            None => Err(typed.refused("this may be several", &format!("write {}", several.join(" or ")))),
        },
    }
}

fn add(
    file: &Arc<SourceFile>,
    root: &Node,
    (list, id): (&str, &str),
    values: &[(String, String)],
) -> Result<String, String> {
    let has_ends = values.iter().any(|(key, _)| key == "from" || key == "to");
    let way = list_named(list, has_ends)?;
    let typed = Typed::new("add", id, "");
    if !is_id(id) {
        let help = "an id is letters, digits and hyphens, and starts with a letter or digit: rear-run";
        return Err(typed.refused(&format!("\"{id}\" cannot be an id"), help));
    }
    if way_of(root, id).is_some() {
        return Err(typed.refused(&format!("there is a part {id} already"), "give it another id"));
    }
    let mut fields = vec![("id".to_owned(), quoted(id))];
    let mut later = Vec::new();
    for (key, value) in values {
        match element_kind(&way, key) {
            Some(kind) if !key.contains('.') => fields.push((key.clone(), as_toml(kind, value, None))),
            _ => later.push((key, value)),
        }
    }
    let mut text = splice::add(&file.text, &way, &fields).map_err(|why| typed.refused(&why, ""))?;
    // Keys of tables in it, and those that are not known, are set as any other.
    for (key, value) in later {
        let file = SourceFile::new(file.name.clone(), text);
        let (root, _) = source::parse(&file);
        text = set(&file, &root, (&format!("{}.{id}.{key}", way.join(".")), value), None)?;
    }
    Ok(text)
}

fn element_kind(way: &[&str], key: &str) -> Option<&'static FieldKind> {
    let mut shape = shape();
    for part in way {
        shape = match &shape.fields.iter().find(|field| field.key == *part)?.kind {
            FieldKind::Table(inner) | FieldKind::Tables(inner) => inner,
            _ => return None,
        };
    }
    shape.fields.iter().find(|field| field.key == key).map(|field| &field.kind)
}

/// The way to the part of an id.
pub fn way_of<'i>(root: &Node, id: &'i str) -> Option<Vec<&'i str>> {
    LISTS.iter().find_map(|list| {
        let way: Vec<&'i str> = list.split('.').chain([id]).collect();
        find(root, &way).map(|_| way)
    })
}

/// Where a part is named: the way to the key that names it, and whether that is a list.
fn named_at(root: &Node, id: &str) -> Vec<(Vec<String>, bool)> {
    let mut found = Vec::new();
    for list in LISTS {
        let way: Vec<&str> = list.split('.').collect();
        let Some(Value::Array(items)) = find(root, &way).map(|node| &node.value) else { continue };
        for (item, own) in items.iter().filter_map(|item| Some((item.value.as_table()?, item.value.id()?))) {
            let at = |key: &str| way.iter().copied().chain([own, key]).map(str::to_owned).collect();
            for key in NAMING.iter().filter(|key| item.text(key) == Some(id)) {
                found.push((at(key), false));
            }
            for key in NAMING_LISTS {
                if let Some(Value::Array(words)) = item.get(key).map(|node| &node.value)
                    && words.iter().any(|word| word.value == Value::Text(id.to_owned()))
                {
                    found.push((at(key), true));
                }
            }
        }
    }
    found
}

fn part<'i>(typed: &Typed, root: &Node, id: &'i str) -> Result<Vec<&'i str>, String> {
    way_of(root, id).ok_or_else(|| {
        let mut ids = Vec::new();
        for list in LISTS {
            let way: Vec<&str> = list.split('.').collect();
            if let Some(Value::Array(items)) = find(root, &way).map(|node| &node.value) {
                ids.extend(items.iter().filter_map(|item| item.value.id()));
            }
        }
        let help = near_or(id, ids.iter().copied(), || "linewalk car show CAR lists the parts".to_owned());
        typed.refused(&format!("the file has no part {id}"), &help)
    })
}

fn take_out(file: &Arc<SourceFile>, root: &Node, id: &str) -> Result<String, String> {
    let typed = Typed::new("takeout", id, "");
    let way = part(&typed, root, id)?;
    let named = named_at(root, id);
    let ends: Vec<String> = named.iter().filter(|(_, list)| !list).map(|(way, _)| way.join(".")).collect();
    if !ends.is_empty() {
        let help = format!("set {} to another part first, or take that part out", ends.join(" and "));
        return Err(typed.refused(&format!("{id} is still named by {}", ends.join(" and ")), &help));
    }
    let mut text = file.text.to_string();
    for (way, _) in named {
        let way: Vec<&str> = way.iter().map(String::as_str).collect();
        text = splice::set_member(&text, &way, id, None).map_err(|why| typed.refused(&why, ""))?;
    }
    let known = edit_known::known_of(file);
    let text = edit_known::forgotten(&text, &known, &way.join("."));
    text.and_then(|text| splice::take_out(&text, &way)).map_err(|why| typed.refused(&why, ""))
}

fn rename(file: &Arc<SourceFile>, root: &Node, id: &str, to: &str) -> Result<String, String> {
    let typed = Typed::new("rename", id, "");
    let way = part(&typed, root, id)?;
    if way.starts_with(&["brakes", "wheel_brake"]) {
        return Err(typed.refused("a wheel brake is called by its corner", "LF, RF, LR and RR stay"));
    }
    if !is_id(to) {
        let help = "an id is letters, digits and hyphens, and starts with a letter or digit: rear-run";
        return Err(typed.refused(&format!("\"{to}\" cannot be an id"), help));
    }
    if way_of(root, to).is_some() {
        return Err(typed.refused(&format!("there is a part {to} already"), "give it another id"));
    }
    let mut text = file.text.to_string();
    for (way, list) in named_at(root, id) {
        let way: Vec<&str> = way.iter().map(String::as_str).collect();
        let changed = match list {
            true => splice::set_member(&text, &way, id, Some(to)),
            false => splice::set(&text, &way, &quoted(to)),
        };
        text = changed.map_err(|why| typed.refused(&why, ""))?;
    }
    let (known, list) =
        (edit_known::known_of(file), way.split_last().map_or_else(String::new, |(_, list)| list.join(".")));
    text = edit_known::moved(&text, &known, &way.join("."), &format!("{list}.{to}"))
        .map_err(|why| typed.refused(&why, ""))?;
    let own: Vec<&str> = way.iter().copied().chain(["id"]).collect();
    splice::replace_id(&text, &own, to).map_err(|why| typed.refused(&why, ""))
}
