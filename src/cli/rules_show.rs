//! `linewalk rules show`: rules printed whole, as words or as TOML.

use crate::diagnostic::SourceFile;
use crate::rules::{Check, Ruleset, RulesetCache, check_as_toml, differences};
use crate::shell::load::{find_rules, rule_file};
use crate::source::{Node, Table, Value};
use crate::tui::text::wrap;

use super::output::{columns, put};
use super::rules::{on, plain_lines};
use super::rules_args::{ShowArgs, ShowFormat};
use super::run::{Context, DONE, Outcome};

pub(super) fn run(context: &Context, args: &ShowArgs) -> Outcome {
    let rules =
        find_rules(&context.paths, &RulesetCache::default(), on(context), std::slice::from_ref(&args.rules))?
            .rules;
    let text = match (&args.check, args.format) {
        (Some(name), format) => {
            let check = rules.find(name).ok_or_else(|| rules.no_check(name))?;
            match format {
                ShowFormat::Toml => check_as_toml(check),
                ShowFormat::Text => words(&rules, check),
            }
        }
        (None, ShowFormat::Toml) => whole(&rule_file(&context.paths, &args.rules)?.0),
        (None, ShowFormat::Text) => {
            let all = rules.checks.iter().map(|check| words(&rules, check));
            all.collect::<Vec<_>>().join("\n")
        }
    };
    put(&plain_lines(&text));
    Ok(DONE)
}

/// What differs between two rulesets, check by check.
pub(super) fn diff(context: &Context, first: &str, second: &str) -> Outcome {
    let read = |name: &str| {
        let names = [name.to_owned()];
        find_rules(&context.paths, &RulesetCache::default(), on(context), &names).map(|found| found.rules)
    };
    let (first, second) = (read(first)?, read(second)?);
    let found = differences(&first, &second);
    let mut text = String::new();
    for one in &found {
        text.push_str(&format!("{}: {}\n", one.what, one.check));
        one.ways.iter().for_each(|way| text.push_str(&pair("", way, columns())));
    }
    if found.is_empty() {
        text.push_str("the two ask the same\n");
    }
    put(&plain_lines(&text));
    Ok(DONE)
}

/// A ruleset's files one behind the other: they read as one.
fn whole(file: &SourceFile) -> String {
    let parts = file.parts.iter().map(|part| part.text.as_ref());
    let texts: Vec<&str> = std::iter::once(file.text.as_ref()).chain(parts).map(str::trim_end).collect();
    format!("{}\n", texts.join("\n\n"))
}

/// A check in words: what it asks, its limits, where they come from, and its cases.
fn words(rules: &Ruleset, check: &Check) -> String {
    let code = check.code.as_deref().map(|code| format!("{code}  ")).unwrap_or_default();
    let station = rules.station(&check.station).map_or(check.station.as_str(), |known| &known.title);
    let mut text = format!("{code}{}\n", check.title);
    let mut row = |name: &str, value: &str| text.push_str(&pair(name, value, columns()));
    row("id", &check.id);
    row("station", station);
    row("severity", &format!("{}, by {}", check.severity.word(), check.method.word()));
    let shown =
        ["id", "code", "station", "severity", "method", "title", "topic", "case", "source", "seconds"];
    for (key, node) in check.table.entries.iter().filter(|(key, _)| !shown.contains(&key.text.as_str())) {
        for line in lines(node) {
            row(&key.text.replace('_', " "), &line);
        }
    }
    for source in &check.sources {
        row("source", &format!("{}: {source}", source.supports));
    }
    for case in &check.cases {
        let given = check.table.get("case").and_then(|all| given_at(all, case.place.range.start));
        row("case", &format!("{}: {}", case.expect, given.unwrap_or_default()));
    }
    text
}

/// What the case at a place gives.
fn given_at(cases: &Node, at: usize) -> Option<String> {
    let Value::Array(cases) = &cases.value else { return None };
    let case = cases.iter().find(|case| case.at.range.start == at)?;
    case.value.as_table()?.get("given").map(|given| lines(given).join("; "))
}

/// A value in words, one line for each table of a list.
fn lines(node: &Node) -> Vec<String> {
    match &node.value {
        Value::Array(items) if items.iter().any(|item| item.value.as_table().is_some()) => {
            items.iter().flat_map(lines).collect()
        }
        Value::Array(items) => vec![items.iter().flat_map(lines).collect::<Vec<_>>().join(", ")],
        Value::Table(table) => vec![table_in_words(table)],
        Value::Text(text) => vec![text.clone()],
        Value::Flag(flag) => vec![if *flag { "yes" } else { "no" }.to_owned()],
        _ => vec![node.at.file.text.get(node.at.range.clone()).unwrap_or_default().to_owned()],
    }
}

fn table_in_words(table: &Table) -> String {
    let pairs = table
        .entries
        .iter()
        .map(|(key, node)| format!("{} {}", key.text.replace('_', " "), lines(node).join("; ")));
    pairs.collect::<Vec<_>>().join(", ")
}

/// A name and its text, which is set beside it in as many lines as it takes; all of it in one line where none is asked for.
pub(super) fn pair(name: &str, value: &str, columns: Option<usize>) -> String {
    const NAME: usize = 14;
    let Some(columns) = columns else { return format!("  {name:<NAME$}{value}\n") };
    let room = columns.saturating_sub(NAME + 2).max(20);
    let mut text = String::new();
    for (at, line) in wrap(value, room).iter().enumerate() {
        let name = if at == 0 { name } else { "" };
        text.push_str(&format!("  {name:<NAME$}{line}\n"));
    }
    text
}
