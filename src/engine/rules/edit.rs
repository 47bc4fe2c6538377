//! A change of one check, written into a rule file's text: what else stands in it, remarks too, stays as it is.

use std::str::FromStr;

use toml_edit::{
    Array, ArrayOfTables, DocumentMut, InlineTable, Item, Table as Written, Value as Edited, value,
};

use crate::diagnostic::near_or;
use crate::source::{Node, Table, Value};

use super::check::Check;
use super::limits::Typed;
use super::written::value_as_toml;

/// Keys of a limit that a person may change.
const LIMITS: [&str; 10] =
    ["min", "max", "equals", "aim_min", "aim_max", "every", "warn", "instrument", "decision", "label"];
/// Keys that hold a text.
const TEXTS: [&str; 13] = [
    "severity", "title", "subject", "fault", "brief", "do", "look", "accept", "reject", "why", "remedy",
    "caution", "reason",
];
/// Keys that hold a list of words.
const LISTS: [&str; 3] = ["profiles", "stage", "parts"];
/// Keys that hold true or false.
const FLAGS: [&str; 3] = ["off", "first", "no_eye"];

/// A key of a check and what it is to be, as a person types it.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// `min`, `severity`, or with its row: `clearance.min`.
    pub key: String,
    /// `3/4 in`
    pub to: String,
}

impl Wanted {
    /// Reads `min=3/4 in`.
    ///
    /// # Errors
    /// Where there is no `=`.
    pub fn parse(text: &str) -> Result<Self, String> {
        let (key, to) = text.split_once('=').ok_or_else(|| {
            format!("\"{text}\" is not a change: write key=value, such as min=\"3/4 in\" or severity=fix")
        })?;
        Ok(Self { key: key.trim().to_owned(), to: to.trim().to_owned() })
    }
}

/// A value of the club's own that a limit has to agree with.
#[derive(Clone, Debug, PartialEq)]
pub struct NewCase {
    /// The value as typed.
    pub value: String,
    /// `accept` or `reject`.
    pub expect: &'static str,
    /// The day it is judged on, for a date.
    pub on: Option<String>,
}

/// Where in a check a change goes.
#[derive(Clone, Debug, PartialEq)]
pub enum Target {
    /// To a key of the check.
    Own(String),
    /// To a key of one of its limits.
    Limit {
        /// `measure`, `count`, `date` or `compute`.
        table: &'static str,
        /// The row's id; empty where the check has one row without one.
        row: String,
        /// Where several rows stand in a list, which of them.
        at: Option<usize>,
        /// `min`
        key: String,
    },
}

impl Target {
    /// Whether a value decides by it.
    pub fn is_limit(&self) -> bool {
        matches!(self, Self::Limit { key, .. } if !matches!(key.as_str(), "label" | "warn"))
    }
}

/// Finds what a change speaks of.
///
/// # Errors
/// Where the check has nothing of that name, or several.
pub fn target(check: &Check, wanted: &Wanted) -> Result<Target, String> {
    if let Some((row, key)) = wanted.key.rsplit_once('.') {
        let rows = rows(check).into_iter().filter(|(table, id, _)| id == row || *table == row);
        return one_of(check, key, rows.collect());
    }
    let key = wanted.key.as_str();
    if LIMITS.contains(&key) {
        return one_of(check, key, rows(check));
    }
    if TEXTS.contains(&key) || LISTS.contains(&key) || FLAGS.contains(&key) || key == "seconds" {
        return Ok(Target::Own(key.to_owned()));
    }
    let known = LIMITS.iter().chain(&TEXTS).chain(&LISTS).chain(&FLAGS);
    let help = near_or(key, known.copied(), || {
        "min, max, every, severity, off, title, accept and reject are the usual ones".to_owned()
    });
    Err(format!("{key} is not a key that this command changes: {help}"))
}

/// The rows of a check that hold limits: their table, their id, and their place in a list.
fn rows(check: &Check) -> Vec<(&'static str, String, Option<usize>)> {
    let mut found = Vec::new();
    for table in ["measure", "count", "date", "compute"] {
        let id = |node: &Node| {
            let row = node.value.as_table();
            row.and_then(|row| row.text("id").or(row.text("quantity"))).unwrap_or("").to_owned()
        };
        match check.table.get(table) {
            Some(node @ Node { value: Value::Table(_), .. }) => found.push((table, id(node), None)),
            Some(Node { value: Value::Array(items), .. }) => {
                found.extend(items.iter().enumerate().map(|(at, item)| (table, id(item), Some(at))));
            }
            _ => {}
        }
    }
    found
}

fn one_of(
    check: &Check,
    key: &str,
    mut rows: Vec<(&'static str, String, Option<usize>)>,
) -> Result<Target, String> {
    // Of several rows the one that has such a limit already is meant, where it is the only one.
    let has = |(table, _, at): &(&str, String, Option<usize>)| {
        row_of(&check.table, table, *at).is_some_and(|row| row.get(key).is_some())
    };
    if rows.len() > 1 {
        let having: Vec<_> = rows.iter().filter(|row| has(row)).cloned().collect();
        if having.len() == 1 {
            rows = having;
        }
    }
    let names = |rows: &[(&'static str, String, Option<usize>)]| -> String {
        let named = rows.iter().map(|(table, id, _)| if id.is_empty() { *table } else { id.as_str() });
        named.map(|row| format!("{row}.{key}")).collect::<Vec<_>>().join(", ")
    };
    match rows.as_slice() {
        [(table, row, at)] => Ok(Target::Limit { table, row: row.clone(), at: *at, key: key.to_owned() }),
        [] if self::rows(check).is_empty() => {
            Err(format!("{} has no limit to change: it is answered by looking", check.id))
        }
        [] => Err(format!("{} has no such row: write one of {}", check.id, names(&self::rows(check)))),
        several => Err(format!("{} has several limits: write one of {}", check.id, names(several))),
    }
}

fn row_of<'t>(table: &'t Table, name: &str, at: Option<usize>) -> Option<&'t Table> {
    match (&table.get(name)?.value, at) {
        (Value::Table(row), _) => Some(row),
        (Value::Array(items), Some(at)) => items.get(at)?.value.as_table(),
        _ => None,
    }
}

/// How a limit or key reads now; nothing where it is not set.
pub fn now(check: &Check, target: &Target) -> Option<String> {
    let node = match target {
        Target::Own(key) => check.table.get(key),
        Target::Limit { table, at, key, .. } => row_of(&check.table, table, *at)?.get(key),
    };
    node.map(|node| match &node.value {
        Value::Text(text) => text.clone(),
        _ => super::written::inline(node),
    })
}

/// The text of a rule file with changes of one check, and with cases of the row that the first limit among them has.
///
/// # Errors
/// Where the text is no TOML that this can write into.
pub fn edited(
    text: &str,
    check: &Check,
    changes: &[(Target, String)],
    cases: &[NewCase],
) -> Result<String, String> {
    let mut document = DocumentMut::from_str(text)
        .map_err(|error| format!("this file cannot be read: {}", error.message()))?;
    // What is new comes last, behind remarks that end the file.
    let ending = document.trailing().as_str().unwrap_or_default().to_owned();
    let checks = document.entry("check").or_insert(Item::ArrayOfTables(ArrayOfTables::new()));
    let Item::ArrayOfTables(checks) = checks else {
        return Err("check is not written as [[check]] in this file: write it so, then change it".to_owned());
    };
    let own = |table: &&mut Written| table.get("id").and_then(Item::as_str) == Some(check.id.as_str());
    let mut is_new = false;
    if checks.iter_mut().find(own).is_none() {
        let mut table = Written::new();
        table.insert("id", value(check.id.as_str()));
        table.decor_mut().set_prefix(format!("{ending}\n"));
        checks.push(table);
        is_new = true;
    }
    let Some(table) = checks.iter_mut().find(own) else { return Err("nothing was written".to_owned()) };
    for (target, to) in changes {
        match target {
            Target::Own(key) => put_own(table, key, to)?,
            Target::Limit { table: name, at, key, .. } => put_limit(table, check, name, *at, key, to)?,
        }
    }
    let row = changes.iter().find_map(|(target, _)| match target {
        Target::Limit { table, row, .. } if target.is_limit() => Some((*table, row.as_str())),
        _ => None,
    });
    if let Some((name, row)) = row.filter(|_| !cases.is_empty()) {
        put_cases(table, check, (name, row), cases)?;
    }
    if is_new {
        document.set_trailing("");
    }
    Ok(document.to_string())
}

fn put_own(table: &mut Written, key: &str, to: &str) -> Result<(), String> {
    let item = if LISTS.contains(&key) {
        let words = to.split(',').map(str::trim).filter(|word| !word.is_empty());
        value(words.collect::<Array>())
    } else if FLAGS.contains(&key) {
        match to {
            "true" | "yes" => value(true),
            "false" | "no" => value(false),
            _ => return Err(format!("{key} is true or false, not \"{to}\"")),
        }
    } else if key == "seconds" {
        value(to.parse::<i64>().map_err(|_| format!("seconds is a whole number, not \"{to}\""))?)
    } else {
        value(to)
    };
    table.insert(key, item);
    Ok(())
}

/// A limit as its row has it: a number where it is one, else a text.
fn limit_value(name: &str, key: &str, to: &str) -> Result<Edited, String> {
    let text = || Edited::from(to);
    if !matches!(key, "min" | "max" | "equals" | "aim_min" | "aim_max") {
        return Ok(text());
    }
    if name == "count" && key != "equals" {
        let whole = to.parse::<i64>().map_err(|_| format!("a count is a whole number, not \"{to}\""))?;
        return Ok(whole.into());
    }
    let flag = to.parse::<bool>().ok().map(Edited::from);
    let whole = to.parse::<i64>().ok().map(Edited::from);
    let number = to.parse::<f64>().ok().filter(|number| number.is_finite()).map(Edited::from);
    let flag = flag.filter(|_| name == "compute" && key == "equals");
    Ok(flag.or(whole).or(number).unwrap_or_else(text))
}

fn put_limit(
    table: &mut Written,
    check: &Check,
    name: &str,
    at: Option<usize>,
    key: &str,
    to: &str,
) -> Result<(), String> {
    let limit = limit_value(name, key, to)?;
    let broken = || format!("{name} of {} is written in a way that this command cannot change", check.id);
    let Some(at) = at else {
        let rows = table.entry(name).or_insert(value(InlineTable::new()));
        let rows = rows.as_table_like_mut().ok_or_else(broken)?;
        rows.insert(key, value(limit));
        return Ok(());
    };
    if table.get(name).is_none() {
        // A list is replaced whole, and so it is written whole.
        let whole = check.table.get(name).map(value_as_toml).ok_or_else(broken)?;
        let whole = Edited::from_str(&whole).map_err(|_| broken())?;
        table.insert(name, value(whole));
    }
    match table.get_mut(name) {
        Some(Item::Value(Edited::Array(rows))) => {
            let row = rows.get_mut(at).and_then(Edited::as_inline_table_mut).ok_or_else(broken)?;
            row.insert(key, limit);
        }
        Some(Item::ArrayOfTables(rows)) => {
            rows.get_mut(at).ok_or_else(broken)?.insert(key, value(limit));
        }
        _ => return Err(broken()),
    }
    Ok(())
}

/// Writes cases for one row, in place of those that this file had for it.
fn put_cases(
    table: &mut Written,
    check: &Check,
    (name, row): (&str, &str),
    cases: &[NewCase],
) -> Result<(), String> {
    let all = table.entry("case").or_insert(Item::ArrayOfTables(ArrayOfTables::new()));
    let Item::ArrayOfTables(all) = all else {
        return Err(format!(
            "the cases of {} are not written as [[check.case]] here: write them so",
            check.id
        ));
    };
    let alone = rows(check).len() == 1 || (name != "compute" && check.typed_rows() == 1);
    all.retain(|case| {
        let Some(given) = case.get("given").and_then(Item::as_table_like) else { return true };
        let named =
            given.get("values").and_then(Item::as_table_like).is_some_and(|all| all.get(row).is_some());
        !(named || (alone && given.get("value").is_some()))
    });
    let answered =
        check.words.look.is_some() || check.method.by_answer() || !matches!(check.typed, Typed::None);
    for new in cases {
        let mut given = InlineTable::new();
        if alone || row.is_empty() {
            given.insert("value", new.value.as_str().into());
        } else {
            let mut values = InlineTable::new();
            values.insert(row, new.value.as_str().into());
            given.insert("values", values.into());
        }
        if let Some(on) = &new.on {
            given.insert("on", on.as_str().into());
        }
        if answered && new.expect == "accept" && !check.closes_by_number() {
            given.insert("result", "accept".into());
        }
        let mut case = Written::new();
        case.insert("given", value(given));
        case.insert("expect", value(new.expect));
        case.decor_mut().set_prefix("\n");
        all.push(case);
    }
    Ok(())
}
