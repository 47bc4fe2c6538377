//! A club's rule file made and changed: what is to be written is read and tried first, and nothing half is ever written.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono::{Days, Months, NaiveDate};

use crate::diagnostic::{Diagnostic, SourceFile, any_error, escape_control, many, shown};
use crate::rules::edit::{NewCase, Target, Wanted, edited, now, target};
use crate::rules::{CaseOutcome, Check, Loaded, Ruleset, Typed, built_in, load, run_cases, warnings};
use crate::source::{is_id, parse_date};
use crate::units::{Kind, Span, parse};

use super::load::{look_up, rendered, rule_file};
use super::paths::{Paths, path_of, read_text, write_out};

/// What a person wants of a check in a club's file.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// The file, by path or by its id.
    pub file: String,
    /// The check, by id or code.
    pub check: String,
    /// What is to change.
    pub changes: Vec<Wanted>,
    /// Values the club accepts.
    pub accepts: Vec<String>,
    /// Values the club rejects.
    pub rejects: Vec<String>,
    /// Why, where it asks or stops less.
    pub reason: Option<String>,
}

/// A change that was read and tried, and is not written yet.
#[derive(Clone, Debug)]
pub struct Proposed {
    path: PathBuf,
    text: String,
    /// What it changes, in lines.
    pub told: Vec<String>,
    /// What is doubtful about it, in lines.
    pub warnings: Vec<String>,
}

impl Proposed {
    /// Writes it, whole or not at all.
    ///
    /// # Errors
    /// Where the file cannot be written.
    pub fn write(&self) -> Result<(), String> {
        write_out(&self.path, self.text.as_bytes())
    }

    /// The file it goes to.
    pub fn path(&self) -> String {
        shown(&self.path)
    }
}

/// What a change still lacks.
#[derive(Clone, Debug)]
pub enum Lacking {
    /// A value that the club would accept, and one that it would reject, of this.
    Values(String),
    /// Nothing can be made of it.
    Wrong(String),
}

impl From<String> for Lacking {
    fn from(why: String) -> Self {
        Self::Wrong(why)
    }
}

/// The file of a club by its path or its id: here, or in the data folder.
fn club_file(paths: &Paths, name: &str) -> Result<PathBuf, String> {
    let beside = PathBuf::from(format!("{name}.toml"));
    let kept = paths.data.join("rulesets").join(&beside);
    let found = [path_of(name), beside, kept].into_iter().find(|path| path.is_file());
    found.ok_or_else(|| {
        if built_in(name).is_some() {
            let own = "`linewalk rules new my-club --extends";
            return format!("{name} is shipped and stays as it is: make a file over it with {own} {name}`");
        }
        format!("there is no rule file {0}: make one with `linewalk rules new {0}`", escape_control(name))
    })
}

fn loaded(paths: &Paths, path: &Path, text: &str) -> Loaded {
    let file = SourceFile::new(super::paths::text_of(path), text);
    load(&[file], &|id, from| look_up(paths, id, from))
}

fn sound(loaded: Loaded) -> Result<Arc<Ruleset>, String> {
    if any_error(&loaded.diagnostics) {
        return Err(rendered(&loaded.diagnostics));
    }
    Ok(loaded.rules)
}

/// Reads what is asked, tries it on the whole of the rules, and says what it would do.
///
/// # Errors
/// What is still lacking, or why it cannot be done.
pub fn propose(paths: &Paths, asked: &Request, on: NaiveDate) -> Result<Proposed, Lacking> {
    let path = club_file(paths, &asked.file)?;
    let text = read_text(&path)?;
    let before = sound(loaded(paths, &path, &text))
        .map_err(|why| format!("{why}\n{} has errors: mend them first", shown(&path)))?;
    let check = found(&before, &asked.check)?;
    let mut changes = Vec::new();
    for wanted in &asked.changes {
        changes.push((target(check, wanted)?, wanted.to.clone()));
    }
    if let Some(reason) = &asked.reason {
        changes.push((Target::Own("reason".to_owned()), reason.clone()));
    }
    let limit = changes.iter().find(|(target, _)| target.is_limit());
    if let Some((target, _)) = limit
        && (asked.accepts.is_empty() || asked.rejects.is_empty())
    {
        return Err(Lacking::Values(named(check, target)));
    }
    let without = edited(&text, check, &changes, &[])?;
    let with_limit = loaded(paths, &path, &without);
    let replaced = replaced(&with_limit, check);
    let cases = cases(check, asked, on)?;
    let text = if limit.is_some() { edited(&text, check, &changes, &cases)? } else { without };
    let after = sound(loaded(paths, &path, &text))?;
    agree(&after, check, &cases)?;
    Ok(Proposed {
        told: told(check, &changes, &cases, &replaced),
        warnings: doubtful(&after, check, on),
        path,
        text,
    })
}

fn found<'r>(rules: &'r Ruleset, name: &str) -> Result<&'r Check, String> {
    rules.find(name).ok_or_else(|| {
        if let Some(dropped) = rules.dropped.iter().find(|dropped| dropped.id == name) {
            return format!("{name} is switched off by {}: take that out first", dropped.layer);
        }
        rules.no_check(name)
    })
}

/// The limit in words: "Least clearance to any part (in)".
fn named(check: &Check, target: &Target) -> String {
    let Target::Limit { row: id, .. } = target else { return check.title.clone() };
    let (label, unit) = match &check.typed {
        Typed::Measure(rows) => {
            rows.iter().find(|row| row.id == *id).map(|row| (row.label.clone(), Some(row.unit.clone())))
        }
        Typed::Count(rows) => rows.iter().find(|row| row.id == *id).map(|row| (row.label.clone(), None)),
        Typed::Date(rows) => rows.iter().find(|row| row.id == *id).map(|row| (row.label.clone(), None)),
        Typed::None => None,
    }
    .or_else(|| check.compute.iter().find(|row| row.id == *id).map(|row| (row.label.clone(), None)))
    .unwrap_or_default();
    let label = if label.is_empty() { check.title.clone() } else { label };
    unit.filter(|unit| unit != "1").map_or_else(|| label.clone(), |unit| format!("{label} ({unit})"))
}

/// The cases that hold no more once the limit is changed, in lines.
fn replaced(loaded: &Loaded, check: &Check) -> Vec<String> {
    if any_error(&loaded.diagnostics) {
        return Vec::new();
    }
    let of_check = run_cases(&loaded.rules).into_iter().filter(|one| one.check == check.id && !one.passed());
    let line = |one: CaseOutcome| {
        let got = one.got.as_deref().map_or_else(|_| "not worked now".to_owned(), |got| format!("{got} now"));
        let given = one.given.clone().unwrap_or_else(|| "a value".to_owned());
        format!("{given} was to be {}: {got} ({})", participle(&one.expect), one.place.shown())
    };
    of_check.map(line).collect()
}

fn participle(expect: &str) -> &str {
    match expect {
        "accept" => "accepted",
        "reject" => "rejected",
        other => other,
    }
}

/// The club's own values as cases; of a date an age may be typed.
fn cases(check: &Check, asked: &Request, on: NaiveDate) -> Result<Vec<NewCase>, String> {
    let dated = matches!(check.typed, Typed::Date(_));
    let case = |text: &String, expect| {
        let value = if dated { date_of(text, on)?.to_string() } else { text.clone() };
        Ok(NewCase { value, expect, on: dated.then(|| on.to_string()) })
    };
    let accepts = asked.accepts.iter().map(|text| case(text, "accept"));
    accepts.chain(asked.rejects.iter().map(|text| case(text, "reject"))).collect()
}

/// A date as typed, or an age counted back from a day.
fn date_of(text: &str, on: NaiveDate) -> Result<NaiveDate, String> {
    if let Some(date) = parse_date(text) {
        return Ok(date);
    }
    let span = parse(text, Kind::Span).ok().and_then(|parsed| parsed.span);
    let back = span.and_then(|span| match span {
        Span::Days(days) => on.checked_sub_days(Days::new(u64::from(days))),
        Span::Months(months) => on.checked_sub_months(Months::new(months)),
    });
    back.ok_or_else(|| format!("\"{text}\" is neither a date nor an age: write 2026-03-14 or \"14 months\""))
}

/// The limit has to decide the club's values as the club does.
fn agree(rules: &Ruleset, check: &Check, cases: &[NewCase]) -> Result<(), String> {
    if cases.is_empty() {
        return Ok(());
    }
    let failed: Vec<CaseOutcome> =
        run_cases(rules).into_iter().filter(|one| one.check == check.id && one.failed()).collect();
    if failed.is_empty() {
        return Ok(());
    }
    let lines = failed.iter().map(|one| {
        let given = one.given.clone().unwrap_or_else(|| "a value".to_owned());
        match &one.got {
            Ok(got) => {
                format!("{given} is to be {}, and with this limit it is {got}", participle(&one.expect))
            }
            Err(reason) => format!("{given} cannot be judged: {reason}"),
        }
    });
    let lines: Vec<String> = lines.collect();
    let help = if failed.iter().any(|one| one.got.as_deref() == Ok("undecided")) {
        "a value that near to the limit is not decided by its instrument: name one further off, or change the limit"
    } else {
        "change the limit or the value, so that both say the same"
    };
    Err(format!("nothing is written: the limit and your values disagree: {}; {help}", lines.join("; ")))
}

fn told(check: &Check, changes: &[(Target, String)], cases: &[NewCase], replaced: &[String]) -> Vec<String> {
    let code = check.code.as_deref().map(|code| format!("{code} ")).unwrap_or_default();
    let mut lines = vec![format!("{code}{}", check.title)];
    for (target, to) in changes {
        let key = match target {
            Target::Own(key) => key.clone(),
            Target::Limit { key, .. } => format!("{}, {key}", named(check, target)),
        };
        match now(check, target) {
            Some(old) => lines.push(format!("  {key}: {old} -> {to}")),
            None => lines.push(format!("  {key}: {to}")),
        }
    }
    if !cases.is_empty() {
        let of = |expect: &str| -> String {
            let values = cases.iter().filter(|case| case.expect == expect).map(|case| case.value.as_str());
            values.collect::<Vec<_>>().join(", ")
        };
        lines.push(format!("  tried: {} is accepted, {} is rejected", of("accept"), of("reject")));
    }
    if !replaced.is_empty() {
        lines.push(format!("  replaces {}:", many(replaced.len(), "case")));
        lines.extend(replaced.iter().map(|line| format!("    {line}")));
    }
    lines
}

fn doubtful(rules: &Ruleset, check: &Check, on: NaiveDate) -> Vec<String> {
    let table = rules.check(&check.id);
    let about = |warning: &Diagnostic| {
        table
            .is_some_and(|check| warning.message.contains(&check.id) && rules.layer_at(&warning.at).is_some())
            && rules.layer_at(&warning.at) == rules.layers.len().checked_sub(1)
    };
    warnings(rules, on)
        .iter()
        .filter(|warning| about(warning))
        .map(|warning| format!("{}: {}", warning.message, warning.help))
        .collect()
}

/// A new club file's text, with remarks that say what to do with it.
pub fn starter(id: &str, extends: &[String], title: Option<&str>, on: NaiveDate) -> String {
    let names: Vec<String> = extends.iter().map(|id| format!("\"{id}\"")).collect();
    let title = toml_text(title.unwrap_or(id));
    include_str!("club_starter.toml")
        .replace("@ID@", id)
        .replace("@TITLE@", &title)
        .replace("@DAY@", &on.to_string())
        .replace("@EXTENDS@", &names.join(", "))
        .replace("@PARENT@", extends.first().map_or("base", String::as_str))
        .replace("@YEAR@", &on.format("%Y").to_string())
}

fn toml_text(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// Makes a new club file here.
///
/// # Errors
/// Where its id is none, the file is there already, or what it extends is not.
pub fn create(
    paths: &Paths,
    id: &str,
    extends: &[String],
    title: Option<&str>,
    on: NaiveDate,
) -> Result<PathBuf, String> {
    if !is_id(id) {
        return Err(format!(
            "\"{}\" is not a name for rules: letters, digits and -, such as my-club",
            escape_control(id)
        ));
    }
    if built_in(id).is_some() {
        return Err(format!("{id} is the name of shipped rules: take another, such as my-{id}"));
    }
    let path = PathBuf::from(format!("{id}.toml"));
    if path.exists() {
        return Err(format!(
            "{} is there already: change it with `linewalk rules change {id} CHECK …`",
            shown(&path)
        ));
    }
    for parent in extends {
        rule_file(paths, parent)?;
    }
    let text = starter(id, extends, title, on);
    sound(loaded(paths, &path, &text))?;
    write_out(&path, text.as_bytes())?;
    Ok(path)
}
