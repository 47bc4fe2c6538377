//! Names by which the parts of a ruleset speak of one another. One that is not there is one mistake, however many
//! places name it.

use std::collections::BTreeSet;

use crate::diagnostic::{Diagnostic, Place, near_or};
use crate::model::vocabulary::folded;
use crate::source::{Node, Reader, Table, Value};
use crate::units::unit_kind;

use super::alike::also_at;
use super::limits::{MeasureRow, Typed};
use super::merge::NAMED;
use super::ruleset::{Instrument, Ruleset};

/// What the parts of a ruleset must agree on with each other.
pub(super) fn cross_check(rules: &Ruleset, r: &Reader<'_>) {
    let root = r.whole();
    let mut stations = Names::of(&root, "station", rules.stations.iter().map(|one| one.id.as_str()));
    let mut profiles = Names::of(&root, "profile", rules.profiles.iter().map(|one| one.id.as_str()));
    let mut tools = Names::of(&root, "instrument", rules.instruments.iter().map(|one| one.id.as_str()));
    let mut stages = Names::of_stages(rules, r, &root);
    for check in &rules.checks {
        stations.refer(r, check.table.get("station"), &check.station);
        check.profiles.iter().for_each(|name| profiles.refer(r, item(&check.table, "profiles", name), name));
        check.stage.iter().for_each(|name| stages.refer(r, item(&check.table, "stage", name), name));
        let rows = if let Typed::Measure(rows) = &check.typed { rows.as_slice() } else { &[] };
        let rows = rows.iter().filter_map(|row| row.instrument.as_deref()).map(|name| ("measure", name));
        let cases = check.cases.iter().filter_map(|case| case.given.instrument.as_deref());
        for (key, name) in rows.chain(cases.map(|name| ("case", name))) {
            let node = check.table.get(key).and_then(|node| text_in(node, "instrument", name));
            tools.refer(r, node, name);
        }
    }
    for lap in &rules.laps {
        let table = named(&root, "lap", &lap.id);
        for station in &lap.stations {
            stations.refer(r, table.and_then(|table| item(table, "stations", station)), station);
        }
    }
    for profile in &rules.profiles {
        let node = named(&root, "profile", &profile.id).and_then(|table| table.get("from"));
        profile.from.iter().for_each(|from| profiles.refer(r, node, from));
    }
    [stations, profiles, tools, stages].into_iter().for_each(|names| names.tell(r));
    measured(rules, r);
}

/// Names of one kind: those that are there, and every place that names one that is not.
struct Names<'a> {
    what: &'static str,
    known: Vec<&'a str>,
    /// Whether those known are all there are meant to be: not where the id of one is missing, wrong or double.
    sure: bool,
    /// Ids under headings that are misspelled, which is told there.
    astray: BTreeSet<String>,
    strange: Vec<(String, Vec<Place>)>,
}

impl<'a> Names<'a> {
    fn of(root: &Table, array: &'static str, ids: impl Iterator<Item = &'a str>) -> Self {
        let known: Vec<&str> = ids.collect();
        let single: BTreeSet<&str> = known.iter().copied().collect();
        let read = match root.get(array).map(|node| &node.value) {
            Some(Value::Array(items)) => items.len() == known.len(),
            Some(_) => false,
            None => true,
        };
        let sure = read && single.len() == known.len() && !single.contains("");
        Self { what: array, known, sure, astray: astray(root), strange: Vec::new() }
    }

    fn of_stages(rules: &'a Ruleset, r: &Reader<'_>, root: &Table) -> Self {
        let known: Vec<&str> =
            rules.profiles.iter().flat_map(|profile| &profile.stages).map(String::as_str).collect();
        let tables = elements(root, "profile");
        let sure = astray(root).is_empty() && !tables.iter().any(|table| r.is_wrong_in(table));
        Self { what: "stage", known, sure, astray: BTreeSet::new(), strange: Vec::new() }
    }

    fn refer(&mut self, r: &Reader<'_>, node: Option<&Node>, name: &str) {
        // Instruments compare without capitals; ids are in small letters by themselves.
        let folds = self.what == "instrument";
        let same = |known: &&str| *known == name || (folds && folded(known) == folded(name));
        if self.known.iter().any(same) || name.is_empty() || self.astray.contains(name) {
            return;
        }
        let at = node.map_or_else(|| r.at.clone(), |node| node.at.clone());
        match self.strange.iter_mut().find(|(known, _)| known == name) {
            Some((_, places)) => places.push(at),
            None => self.strange.push((name.to_owned(), vec![at])),
        }
    }

    fn tell(self, r: &Reader<'_>) {
        if !self.sure {
            return;
        }
        let what = self.what;
        if self.known.is_empty() {
            let places: Vec<Place> = self.strange.into_iter().flat_map(|(_, places)| places).collect();
            let Some(first) = places.first() else { return };
            let help = format!("add it; {what}s are named here{}", also_at(&places));
            r.report(Diagnostic::error(first, format!("there is no {what} at all in these rules"), help));
            return;
        }
        for (name, places) in &self.strange {
            let Some(first) = places.first() else { continue };
            let help = near_or(name, self.known.iter().copied(), || {
                format!("{what}s here: {}", self.known.join(", "))
            });
            let help = format!("{help}{}", also_at(places));
            r.report(Diagnostic::error(first, format!("there is no {what} {name}"), help));
        }
    }
}

/// The ids of tables in arrays that are none of a ruleset's.
fn astray(root: &Table) -> BTreeSet<String> {
    let strange = root.entries.iter().filter(|(key, _)| !NAMED.contains(&key.text.as_str()));
    let tables = strange.flat_map(|(key, _)| elements(root, &key.text));
    tables.filter_map(|table| table.text("id")).map(str::to_owned).collect()
}

/// The tables of an array.
fn elements<'t>(root: &'t Table, array: &str) -> Vec<&'t Table> {
    match root.get(array).map(|node| &node.value) {
        Some(Value::Array(items)) => items.iter().filter_map(|node| node.value.as_table()).collect(),
        _ => Vec::new(),
    }
}

/// The table of an array that bears an id.
fn named<'t>(root: &'t Table, array: &str, id: &str) -> Option<&'t Table> {
    elements(root, array).into_iter().find(|table| table.text("id") == Some(id))
}

/// The node of a key that holds this text, in a table, an array of them or a table within.
fn text_in<'t>(node: &'t Node, key: &str, wanted: &str) -> Option<&'t Node> {
    match &node.value {
        Value::Array(items) => items.iter().find_map(|item| text_in(item, key, wanted)),
        Value::Table(table) if table.text(key) == Some(wanted) => table.get(key),
        Value::Table(table) => table.entries.iter().find_map(|(_, inner)| text_in(inner, key, wanted)),
        _ => None,
    }
}

/// The node of one text in an array of texts.
fn item<'t>(table: &'t Table, key: &str, wanted: &str) -> Option<&'t Node> {
    match &table.get(key)?.value {
        Value::Array(items) => {
            items.iter().find(|node| matches!(&node.value, Value::Text(text) if text == wanted))
        }
        _ => None,
    }
}

/// An instrument has to measure what its rows ask for, else its accuracy would not be counted.
fn measured(rules: &Ruleset, r: &Reader<'_>) {
    let misfits = |tool: &Instrument, row: &MeasureRow| {
        // An accuracy or a unit that could not be read was told.
        let is_read = !tool.widths.is_empty() && !row.unit.is_empty() && unit_kind(&row.unit).is_some();
        row.guarded && is_read && tool.half_width(row.kind).is_none()
    };
    let mut strange: Vec<(&Instrument, &MeasureRow, Vec<Place>)> = Vec::new();
    for check in &rules.checks {
        let Typed::Measure(rows) = &check.typed else { continue };
        for row in rows {
            let Some(name) = row.instrument.as_deref() else { continue };
            let Some(tool) = rules.instrument(name).filter(|tool| misfits(tool, row)) else { continue };
            let node = check.table.get("measure").and_then(|node| text_in(node, "instrument", name));
            let at = node.map_or_else(|| check.place.clone(), |node| node.at.clone());
            match strange.iter_mut().find(|(known, other, _)| known.id == tool.id && other.kind == row.kind) {
                Some((_, _, places)) => places.push(at),
                None => strange.push((tool, row, vec![at])),
            }
        }
    }
    for (tool, row, places) in strange {
        let fit = rules.instruments.iter().filter(|tool| tool.half_width(row.kind).is_some());
        let fit: Vec<&str> = fit.map(|tool| tool.id.as_str()).collect();
        let help = if fit.is_empty() {
            "add an instrument whose accuracy is in a unit of that kind".to_owned()
        } else {
            format!("these measure it: {}", fit.join(", "))
        };
        let Some(first) = places.first() else { continue };
        let message = format!("a {} does not measure {}", tool.id, row.kind.name());
        r.report(Diagnostic::error(first, message, format!("{help}{}", also_at(&places))));
    }
}
