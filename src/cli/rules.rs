//! `linewalk rules`: rule files checked, listed, explained and tested.

use std::sync::Arc;

use chrono::NaiveDate;

use crate::diagnostic::{Diagnostic, SHOWN, Weight, any_error, escape_control, many};
use crate::model::entry::{Outcome as Result3, Severity};
use crate::rules::{
    Applies, CaseOutcome, Check, Loaded, Ruleset, RulesetCache, Topic, applies, case_mistakes, load_from,
    run_cases, warnings, without_case,
};
use crate::shell::clock;
use crate::shell::load::{look_up, rule_file};
use crate::source::{Node, Overrides, Table, Value};

use super::output::{columns, put};
use super::rules_args::RulesCommand;
use super::run::{Context, DONE, OPEN, Outcome};

pub(super) fn run(context: &Context, what: &RulesCommand) -> Outcome {
    match what {
        RulesCommand::Check { files } => each(context, files, check),
        RulesCommand::Test { files } => each(context, files, test),
        RulesCommand::List { files, station, severity, topic } => {
            let filter = Filter {
                station: station.as_deref(),
                severity: severity.as_deref(),
                topic: topic.as_deref(),
            };
            list(context, files, &filter)
        }
        RulesCommand::Diff { first, second } => super::rules_show::diff(context, first, second),
        RulesCommand::Show(args) => super::rules_show::run(context, args),
        RulesCommand::New(args) => super::rules_write::new(context, args),
        RulesCommand::Change(args) => super::rules_write::change(context, args),
        RulesCommand::Explain { check, car } => explain(context, check, car.as_deref()),
    }
}

/// What to say of a file, and whether it is good.
type Said = (String, bool);

/// The files named after the command or, the same, with `--rules`.
fn named<'f>(context: &'f Context, files: &'f [String]) -> Result<&'f [String], String> {
    let common = &context.common.rules;
    match (files.is_empty(), common.is_empty()) {
        (false, false) => Err("name the rule files once: after the command, or with --rules".to_owned()),
        (true, _) => Ok(common),
        (false, true) => Ok(files),
    }
}

/// Loads each file by itself, with what it extends; base where none is named.
fn each(context: &Context, files: &[String], act: fn(NaiveDate, &Loaded, &str) -> Said) -> Outcome {
    let named = match named(context, files)? {
        [] => vec!["base".to_owned()],
        named => named.to_vec(),
    };
    let (paths, on) = (&context.paths, on(context));
    let mut good = true;
    let cache = RulesetCache::default();
    for name in &named {
        let (file, _) = rule_file(paths, name)?;
        let loaded = load_from(&cache, &[file], &|id, from| look_up(paths, id, from), None);
        let (text, is_good) = act(on, &loaded, &escape_control(name));
        put(&text);
        good &= is_good;
    }
    Ok(if good { DONE } else { OPEN })
}

pub(super) fn on(context: &Context) -> NaiveDate {
    context.common.on.unwrap_or_else(clock::today)
}

/// Everything wrong or doubtful in one file.
fn check(on: NaiveDate, loaded: &Loaded, name: &str) -> Said {
    let mut found = loaded.diagnostics.clone();
    let unreadable = any_error(&found);
    found.extend(warnings(&loaded.rules, on));
    let outcomes = if unreadable { Vec::new() } else { run_cases(&loaded.rules) };
    found.extend(case_mistakes(&loaded.rules, &outcomes));
    crate::diagnostic::sort(&mut found);
    let errors = found.iter().filter(|diagnostic| diagnostic.weight == Weight::Error).count();
    let text = shown(&found);
    let (checks, doubtful) = (loaded.rules.checks.len(), found.len() - errors);
    let (checks, wrong) = (many(checks, "check"), many(errors, "error"));
    let replaced = outcomes.iter().filter(|outcome| outcome.replaced_by.is_some()).count();
    let replaced =
        if replaced == 0 { String::new() } else { format!(", {} replaced", many(replaced, "case")) };
    (format!("{text}{name}: {checks}, {wrong}, {doubtful} doubtful{replaced}\n"), errors == 0)
}

/// Mistakes with an empty line after each; of very many only the first.
fn shown(diagnostics: &[Diagnostic]) -> String {
    let few = diagnostics.get(..SHOWN).unwrap_or(diagnostics);
    let mut text: String = few.iter().map(|diagnostic| format!("{}\n\n", diagnostic.render())).collect();
    if diagnostics.len() > few.len() {
        text.push_str(&format!("and {} more\n\n", diagnostics.len() - few.len()));
    }
    text
}

/// The cases of one file.
fn test(_on: NaiveDate, loaded: &Loaded, name: &str) -> Said {
    if any_error(&loaded.diagnostics) {
        let text = shown(&loaded.diagnostics);
        return (format!("{text}{name}: the file has errors, so its cases are not run\n"), false);
    }
    let outcomes = run_cases(&loaded.rules);
    let failed = case_mistakes(&loaded.rules, &outcomes);
    let mut text = shown(&failed);
    let replaced: Vec<String> = outcomes.iter().filter_map(CaseOutcome::replaced).collect();
    replaced.iter().for_each(|line| text.push_str(&format!("replaced: {}\n", escape_control(line))));
    let without = without_case(&loaded.rules);
    without.iter().for_each(|line| text.push_str(&format!("not tried: {}\n", escape_control(line))));
    let (all, not) = (outcomes.len(), outcomes.iter().filter(|outcome| outcome.failed()).count());
    let mut told = if replaced.is_empty() { String::new() } else { format!(", {} replaced", replaced.len()) };
    if !without.is_empty() {
        told.push_str(&format!("; limits and conditions not tried: {}", without.len()));
    }
    (
        format!(
            "{text}{name}: {}, {} as expected, {not} not{told}\n",
            many(all, "case"),
            all - not - replaced.len()
        ),
        failed.is_empty(),
    )
}

/// Which checks to list.
struct Filter<'a> {
    station: Option<&'a str>,
    severity: Option<&'a str>,
    topic: Option<&'a str>,
}

fn list(context: &Context, files: &[String], filter: &Filter<'_>) -> Outcome {
    let rules = rules_of(context, files)?;
    let stations: Vec<&str> = rules.stations.iter().map(|station| station.id.as_str()).collect();
    known_word("station", filter.station, &stations)?;
    known_word(
        "severity",
        filter.severity,
        &Severity::WORDS.iter().map(|(word, _)| *word).collect::<Vec<_>>(),
    )?;
    known_word("topic", filter.topic, &Topic::WORDS.iter().map(|(word, _)| *word).collect::<Vec<_>>())?;
    let topic = |check: &Check| {
        Topic::WORDS.iter().find(|(_, topic)| *topic == check.topic).map_or("", |(word, _)| *word)
    };
    let profile = context
        .common
        .profile
        .as_deref()
        .map(|id| rules.profile(id).ok_or_else(|| format!("there is no profile {}", escape_control(id))));
    let profile = profile.transpose()?;
    let mut text = String::new();
    let mut count = 0;
    for check in &rules.checks {
        let wanted = filter.station.is_none_or(|station| station == check.station)
            && filter.severity.is_none_or(|severity| severity == check.severity.word())
            && filter.topic.is_none_or(|wanted| wanted == topic(check))
            && profile.is_none_or(|profile| check.in_profile(profile));
        if wanted {
            count += 1;
            let source = check.sources.first().map(ToString::to_string).unwrap_or_default();
            text.push_str(&format!(
                "{:<28} {:<13} {:<4} {:<8} {}\n{:<28} {}\n",
                check.id,
                check.station,
                check.severity.word(),
                check.method.word(),
                escape_control(&check.title),
                "",
                escape_control(&source)
            ));
        }
    }
    put(&format!("{}{count} checks\n", plain_lines(&text)));
    Ok(DONE)
}

/// A word that nothing goes by would leave the list empty.
fn known_word(what: &str, word: Option<&str>, known: &[&str]) -> Result<(), String> {
    match word {
        Some(word) if !known.contains(&word) => {
            Err(format!("there is no {what} {}: known are {}", escape_control(word), known.join(", ")))
        }
        _ => Ok(()),
    }
}

/// Text from rule files made harmless, line by line.
pub(super) fn plain_lines(text: &str) -> String {
    text.lines().map(|line| format!("{}\n", escape_control(line))).collect()
}

fn rules_of(context: &Context, files: &[String]) -> Result<Arc<Ruleset>, String> {
    let named = named(context, files)?;
    crate::shell::load::find_rules(&context.paths, &RulesetCache::default(), on(context), named)
        .map(|found| found.rules)
}

fn explain(context: &Context, id: &str, car: Option<&str>) -> Outcome {
    let rules = rules_of(context, &[])?;
    let Some(check) = rules.find(id) else {
        if let Some(dropped) = rules.dropped.iter().find(|dropped| dropped.id == id) {
            put(&plain_lines(&format!(
                "{id}: switched off by {}: {}\n",
                dropped.layer,
                escape_control(&dropped.reason)
            )));
            return Ok(DONE);
        }
        if let Some(off) = rules.off_by_day(id) {
            put(&plain_lines(&format!("{}: not asked: {}\n", escape_control(id), escape_control(off))));
            return Ok(DONE);
        }
        return Err(rules.no_check(id));
    };
    let mut text = format!("{}: {}\n", check.id, escape_control(&check.title));
    if let Some(car) = car {
        text.push_str(&for_car(context, check, car)?);
    }
    text.push_str("\nkeys, and the file that set each:\n");
    for (key, node) in &check.table.entries {
        if key.text != "case" {
            text.push_str(&super::rules_show::pair(
                &key.text,
                &format!("{}  [{}]", short(node), node.at.shown()),
                columns(),
            ));
        }
    }
    text.push_str(&changed_from_base(check));
    put(&plain_lines(&text));
    Ok(DONE)
}

/// Whether and why the check is for a car, and what its numbers say.
fn for_car(context: &Context, check: &Check, car: &str) -> Result<String, String> {
    let found = context.workspace(None, Vec::new()).car(&context.car(car)?, &Overrides::new())?;
    let car = &found.found.read.car;
    let asked = match applies(check, car) {
        Applies::Yes => "asked: it applies to this car".to_owned(),
        Applies::Unknown => {
            "asked: the car file does not say whether it applies, so it may be answered not-fitted".to_owned()
        }
        Applies::No(reason) => format!("left out: {}", escape_control(&reason)),
    };
    let mut text = format!("for {} (number {}): {asked}\n", car.id, car.number);
    if let Some(when) = &check.when {
        text.push_str(&format!("  asked of cars with {}\n", escape_control(&when.phrase())));
    }
    if let Some(unless) = &check.unless {
        text.push_str(&format!("  not of cars with {}\n", escape_control(&unless.phrase())));
    }
    let readings = crate::walk::readings_of(&found.history, &found.rules.rules);
    let on = on(context);
    let units = context.units();
    let evaluator = crate::walk::Evaluator {
        rules: &found.rules.rules,
        car,
        car_file: &found.found.file,
        measured: &Overrides::new(),
        numbers: &Default::default(),
        plain: &Default::default(),
        readings: &readings,
        on,
        units,
    };
    let assessment = evaluator.assess(check, &Default::default(), None);
    for row in &assessment.rows {
        let of = row.of.as_ref().map_or_else(String::new, |of| format!(" of {of}"));
        let verdict = if row.judges { row.judged.outcome } else { Result3::Accept };
        let verdict = if row.judges { format!(" -> {}", verdict.word()) } else { String::new() };
        text.push_str(&format!(
            "  {}{of}: {}{verdict}\n",
            escape_control(&row.label),
            escape_control(&row.judged.says)
        ));
    }
    for missing in &assessment.missing {
        let of = missing.of.as_ref().map_or_else(String::new, |of| format!(" of {of}"));
        text.push_str(&format!("  {}{of}: not worked, {}\n", missing.label, missing.reason));
    }
    Ok(text)
}

/// A value as it is written, its blanks and line breaks as one blank each.
fn short(node: &Node) -> String {
    let text = node.at.file.text.get(node.at.range.clone()).unwrap_or("");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Keys that stand otherwise in the built-in base.
fn changed_from_base(check: &Check) -> String {
    let base = crate::rules::built_in("base")
        .map(|file| load_from(&RulesetCache::default(), &[file], &|_, _| None, None));
    let Some(base) = base.as_ref().and_then(|loaded| loaded.rules.check(&check.id)) else {
        return "\nthe base ruleset has no such check\n".to_owned();
    };
    let mut text = String::new();
    compare(&base.table, &check.table, "", &mut text);
    if text.is_empty() {
        "\nnothing is changed from base\n".to_owned()
    } else {
        format!("\nchanged from base:\n{text}")
    }
}

fn compare(base: &Table, now: &Table, path: &str, text: &mut String) {
    for (key, node) in now.entries.iter().filter(|(key, _)| key.text != "case") {
        let path = if path.is_empty() { key.text.clone() } else { format!("{path}.{}", key.text) };
        match (base.get(&key.text).map(|node| &node.value), &node.value) {
            (Some(Value::Table(base)), Value::Table(now)) => compare(base, now, &path, text),
            (Some(_), _) if base.get(&key.text).is_some_and(|old| short(old) == short(node)) => {}
            (Some(_), _) => {
                let old = base.get(&key.text).map(short).unwrap_or_default();
                text.push_str(&format!("  {path}: {old} -> {} ({})\n", short(node), node.at.shown()));
            }
            (None, _) => text.push_str(&format!("  {path}: new, {} ({})\n", short(node), node.at.shown())),
        }
    }
}
