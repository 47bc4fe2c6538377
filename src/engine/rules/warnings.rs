//! What is not wrong in a ruleset but doubtful.

use chrono::NaiveDate;
use unicode_width::UnicodeWidthStr;

use crate::diagnostic::{Diagnostic, Place};
use crate::source::{Table, Value};

use super::check::{Check, SourceBasis};
use super::dated::Dates;
use super::limits::{ComputeRow, OfFilter, Typed};
use super::ruleset::Ruleset;

/// Widest title a 60-column screen shows whole.
const TITLE_WIDTH: usize = 58;
/// Widest fault that a list of open items and a slip show beside its code.
const FAULT_WIDTH: usize = 44;
const SUBJECT_WIDTH: usize = 28;
const BRIEF_WIDTH: usize = 30;
const BRIEF_OF_A_LIMIT_WIDTH: usize = 24;
const FIRST_STEP_WIDTH: usize = 42;
const CAUTION_WIDTH: usize = 98;
/// Longest text that a 60-column screen shows in full beside its check.
const TEXT_WIDTH: usize = 420;

/// Everything doubtful in a ruleset on a day.
pub fn warnings(rules: &Ruleset, on: NaiveDate) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for check in &rules.checks {
        unsourced(check, &mut found);
        outgrown(rules, check, &mut found);
        unreached(rules, check, &mut found);
        impossible(check, &mut found);
        too_long(check, &mut found);
        unsaid(check, &mut found);
    }
    off_lap(rules, &mut found);
    super::codes::missing(rules, &mut found);
    out_of_order(rules, &mut found);
    contradictory(rules, &mut found);
    repeated(rules, &mut found);
    stale(rules, on, &mut found);
    run_out(rules, on, &mut found);
    crate::diagnostic::sort(&mut found);
    found
}

/// Files, and changes of single checks, that ran out.
fn run_out(rules: &Ruleset, on: NaiveDate, found: &mut Vec<Diagnostic>) {
    let help = "write a later expires if it goes on, or take it out";
    for layer in rules.layers.iter().filter(|layer| layer.is_over(on)) {
        if let Some(sentence) = layer.sentence_of_day(on) {
            found.push(Diagnostic::warning(&layer.place, sentence.trim_end_matches('.'), help));
        }
    }
    for check in &rules.checks {
        let Some(node) = check.table.get("expires") else { continue };
        let layer = rules.layer_at(&node.at).and_then(|at| rules.layers.get(at));
        let is_told = layer.is_none_or(|layer| layer.is_over(on) || layer.is_root);
        if let Some(day) =
            Dates::of(&check.table).ok().and_then(|dates| dates.over_on(on)).filter(|_| !is_told)
        {
            let message = format!("what is written here of {} ran out on {day}", check.id);
            found.push(Diagnostic::warning(&node.at, message, help));
        }
    }
}

/// Where a key of a check stands.
fn place(check: &Check, key: &str) -> Place {
    check.table.get(key).map_or_else(|| check.place.clone(), |node| node.at.clone())
}

fn unsourced(check: &Check, found: &mut Vec<Diagnostic>) {
    let limits =
        ["measure", "count", "date", "compute"].into_iter().find(|key| check.table.get(key).is_some());
    let Some(key) = limits else {
        if check.sources.is_empty() {
            let help = "add source = [ { for = \"…\", basis = \"common-practice\" } ] if no document says it";
            found.push(Diagnostic::warning(&check.place, format!("{} has no source", check.id), help));
        }
        return nameless(check, found);
    };
    if check.sources.is_empty() {
        let help =
            "add source = [ { for = \"limit\", document = \"…\", clause = \"…\", basis = \"published\" } ]";
        found.push(Diagnostic::warning(
            &place(check, key),
            format!("the limit of {} has no source", check.id),
            help,
        ));
    }
    nameless(check, found);
}

/// A limit that a later file changed, with the source of the old one still beside it.
fn outgrown(rules: &Ruleset, check: &Check, found: &mut Vec<Diagnostic>) {
    let of_check: Vec<_> =
        rules.changes.iter().filter(|one| one.array == "check" && one.id == check.id).collect();
    let is_limit = |key: &str| {
        let (table, rest) = key.split_once('.').unwrap_or((key, "min"));
        ["measure", "count", "date", "compute"].contains(&table)
            && ["min", "max", "equals", "every"].contains(&rest)
    };
    let limit = of_check.iter().find(|one| one.before.is_some() && is_limit(&one.key));
    let Some(limit) = limit else { return };
    if of_check.iter().any(|one| one.layer == limit.layer && one.key == "source") {
        return;
    }
    if let Some(source) = check.sources.iter().find(|one| one.basis != SourceBasis::CommonPractice) {
        let message = format!(
            "{} has a limit of {}, and its source still is {}",
            check.id,
            limit.layer,
            source.cited()
        );
        let help =
            "add source = [ { for = \"limit\", document = \"…\", clause = \"…\", basis = \"published\" } ]";
        found.push(Diagnostic::warning(&limit.at, message, help));
    }
}

/// A published or recalled source has to say which.
fn nameless(check: &Check, found: &mut Vec<Diagnostic>) {
    for source in &check.sources {
        if source.basis != SourceBasis::CommonPractice && source.document.trim().is_empty() {
            let help = "name the document, or call it common-practice";
            found.push(Diagnostic::warning(
                &place(check, "source"),
                format!("a source of {} names no document", check.id),
                help,
            ));
        }
    }
}

fn unreached(rules: &Ruleset, check: &Check, found: &mut Vec<Diagnostic>) {
    if !rules.profiles.iter().any(|profile| check.in_profile(profile)) {
        let help =
            "name a profile in profiles = [ … ] that walks its severity, or switch it off with a reason";
        found.push(Diagnostic::warning(
            &place(check, "profiles"),
            format!("no profile reaches {}", check.id),
            help,
        ));
    }
}

/// A `when` that no car can meet, as far as the tags tell.
fn impossible(check: &Check, found: &mut Vec<Diagnostic>) {
    use crate::model::Tag;
    let Some(when) = &check.when else { return };
    let mut report = |what: String| {
        let help = "mend when or unless: as they stand the check is never asked";
        found.push(Diagnostic::warning(
            &place(check, "when"),
            format!("no car can meet the when of {}: {what}", check.id),
            help,
        ));
    };
    if check.unless.as_ref().is_some_and(|unless| unless.follows_from(when)) {
        report("whatever meets it meets unless too".to_owned());
    }
    for (one, other) in [(Tag::LiveAxle, Tag::IndependentRear), (Tag::TandemMaster, Tag::BalanceBar)] {
        if when.all.contains(&one) && when.all.contains(&other) {
            report(format!("a car has {} or {}, not both", one.word(), other.word()));
        }
    }
}

/// A check without the words that lists, slips and boards need, or with its wish in the place of a fault.
fn unsaid(check: &Check, found: &mut Vec<Diagnostic>) {
    let words = [("subject", &check.subject), ("fault", &check.fault), ("do", &check.first_step)];
    let missing: Vec<&str> =
        words.into_iter().filter_map(|(key, text)| text.is_none().then_some(key)).collect();
    if !missing.is_empty() {
        let message = format!("{} has no {}", check.id, missing.join(", no "));
        let help = "say in a few words what is looked at, what is wrong, and what to do first";
        found.push(Diagnostic::warning(&check.place, message, help));
    }
    if check.fault.as_ref() == Some(&check.title) {
        let help = "the title says what is wanted, the fault what is wrong";
        let message = format!("the fault of {} is its title", check.id);
        found.push(Diagnostic::warning(&place(check, "fault"), message, help));
    }
}

fn too_long(check: &Check, found: &mut Vec<Diagnostic>) {
    too_long_in(&check.table, (check, BRIEF_WIDTH), found);
    let rows = ["measure", "count", "date", "compute", "causes"];
    for (_, node) in check.table.entries.iter().filter(|(key, _)| rows.contains(&key.text.as_str())) {
        let one = std::slice::from_ref(node);
        let all = if let Value::Array(items) = &node.value { &**items } else { one };
        for row in all {
            if let Value::Table(row) = &row.value {
                too_long_in(row, (check, BRIEF_OF_A_LIMIT_WIDTH), found);
            }
        }
    }
}

fn too_long_in(table: &Table, (check, brief): (&Check, usize), found: &mut Vec<Diagnostic>) {
    for (key, node) in &table.entries {
        let Value::Text(text) = &node.value else { continue };
        let most = match key.text.as_str() {
            "title" => TITLE_WIDTH,
            "subject" => SUBJECT_WIDTH,
            "fault" => FAULT_WIDTH,
            "brief" => brief,
            "do" => FIRST_STEP_WIDTH,
            "caution" => CAUTION_WIDTH,
            "look" | "accept" | "reject" | "why" | "remedy" | "caution_more" | "rulebooks_differ" => {
                TEXT_WIDTH
            }
            _ => continue,
        };
        let width = text.as_str().width();
        if width > most {
            let message = format!("the {} of {} is {width} columns long", key.text, check.id);
            let help = format!("keep it to {most}, so that a 60-column screen shows it");
            found.push(Diagnostic::warning(&node.at, message, help));
        }
    }
}

/// A station with checks that a lap never passes: one doubt, however many checks it has.
fn off_lap(rules: &Ruleset, found: &mut Vec<Diagnostic>) {
    for lap in &rules.laps {
        let passed = |station: &str| lap.stations.iter().any(|known| known == station);
        for station in rules.stations.iter().filter(|station| !passed(&station.id)) {
            let here = rules.checks.iter().filter(|check| !check.first && check.station == station.id);
            let here: Vec<&Check> = here.collect();
            let Some(first) = here.first() else { continue };
            let help = format!("add {} to the stations of the lap {}", station.id, lap.id);
            let message = match here.as_slice() {
                [_] => {
                    format!("{} stands at {}, which the lap {} never passes", first.id, station.id, lap.id)
                }
                many => format!(
                    "{} checks stand at {}, which the lap {} never passes",
                    many.len(),
                    station.id,
                    lap.id
                ),
            };
            found.push(Diagnostic::warning(&place(first, "station"), message, help));
        }
    }
}

/// A check of the first file that stands behind checks of a station further on: the file no longer reads like the lap.
fn out_of_order(rules: &Ruleset, found: &mut Vec<Diagnostic>) {
    let Some(file) = rules.layers.first().map(|layer| &layer.file) else { return };
    let place_of = |station: &str| rules.stations.iter().position(|known| known.id == station);
    let mut furthest: Option<(usize, &Check)> = None;
    for check in rules.checks.iter().filter(|check| check.place.file.name == *file && !check.first) {
        let Some(at) = place_of(&check.station) else { continue };
        match furthest {
            Some((far, before)) if at < far => {
                let message = format!(
                    "{} stands at {} and comes behind {} of {}",
                    check.id, check.station, before.id, before.station
                );
                let help = "move it up to the checks of its station: a file of a whole lap is in lap order";
                found.push(Diagnostic::warning(&place(check, "station"), message, help));
            }
            _ => furthest = Some((at, check)),
        }
    }
}

/// Two checks that judge the same number of the same things and that no value can both satisfy.
fn contradictory(rules: &Ruleset, found: &mut Vec<Diagnostic>) {
    let rows: Vec<(&Check, &ComputeRow)> =
        rules.checks.iter().flat_map(|check| check.compute.iter().map(move |row| (check, row))).collect();
    for (at, (check, row)) in rows.iter().enumerate() {
        for (earlier, other) in rows.iter().take(at) {
            let overlap = row.of == other.of || row.of == OfFilter::All || other.of == OfFilter::All;
            if row.quantity.id != other.quantity.id || !overlap || earlier.id == check.id {
                continue;
            }
            let clash = |a: &ComputeRow, b: &ComputeRow| {
                a.min.as_ref().zip(b.max.as_ref()).is_some_and(|(min, max)| min.si > max.si)
            };
            if clash(row, other) || clash(other, row) {
                let message = format!(
                    "{} and {} set limits on {} that no value meets",
                    check.id, earlier.id, row.quantity.id
                );
                let help =
                    format!("the other is at {}: mend one of the two", place(earlier, "compute").shown());
                found.push(Diagnostic::warning(&place(check, "compute"), message, help));
            }
        }
    }
}

/// A later file that sets a key to what it was already.
fn repeated(rules: &Ruleset, found: &mut Vec<Diagnostic>) {
    for repeat in &rules.repeats {
        let message = format!("{} of {} was set to this already", repeat.key, repeat.what);
        let help = format!("take it out, or change it: it was set at {}", repeat.before.shown());
        found.push(Diagnostic::warning(&repeat.at, message, help));
    }
}

fn stale(rules: &Ruleset, on: NaiveDate, found: &mut Vec<Diagnostic>) {
    for layer in rules.stale(on) {
        let day = layer.stale_after().map(|day| day.to_string()).unwrap_or_default();
        let message = format!("{} was to be reviewed by {day}", layer.id);
        let help = "go through the file, then set reviewed to today; until then every screen and report says it is stale";
        found.push(Diagnostic::warning(&layer.place, message, help));
    }
}

impl Check {
    /// How many typed rows it has.
    pub fn typed_rows(&self) -> usize {
        match &self.typed {
            Typed::None => 0,
            Typed::Measure(rows) => rows.len(),
            Typed::Count(rows) => rows.len(),
            Typed::Date(rows) => rows.len(),
        }
    }
}
