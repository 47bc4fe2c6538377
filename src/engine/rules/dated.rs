//! What is in force on a day. A ruleset that extends another, and each check of it, may have a first and a last day; then its
//! changes come and go by themselves. A ruleset that extends nothing never lapses: without it nothing would be asked.

use std::sync::Arc;

use chrono::{Days, NaiveDate};

use crate::diagnostic::Diagnostic;
use crate::source::{Node, Reader, Table, Value, parse_date};

use super::merge::NAMED;
use super::ruleset::{Layer, Ruleset};

/// How many days before it begins or ends a change is said on the start page.
const SOON: u64 = 30;

/// The first and the last day that something is in force.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Dates {
    /// The first.
    pub effective: Option<NaiveDate>,
    /// The last.
    pub expires: Option<NaiveDate>,
}

/// How something dated stands on a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stands {
    /// It begins on a later day.
    From(NaiveDate),
    /// In force, and it ends with this day.
    Until(NaiveDate),
    /// It ended with an earlier day.
    Over(NaiveDate),
    /// In force without an end.
    Always,
}

/// A change of one check that has days of its own, or whose layer has.
#[derive(Clone, Debug, PartialEq)]
pub struct DatedChange {
    /// The layer that made it.
    pub layer: String,
    /// The check.
    pub check: String,
    /// The days of this change alone.
    pub dates: Dates,
    /// Why it is not in force on the day asked for; nothing where it is.
    pub off: Option<String>,
}

impl Dates {
    /// Reads `effective` and `expires`.
    pub(super) fn read(r: &Reader<'_>) -> Self {
        let dates = Self {
            effective: r.date("effective", "First day that it is in force.").map(|dated| dated.day),
            expires: r
                .date("expires", "Last day that it is in force; after it the extended rules hold again.")
                .map(|dated| dated.day),
        };
        if dates.is_backward() {
            r.report(Diagnostic::error(&r.place("expires"), BACKWARD[0], BACKWARD[1]));
        }
        dates
    }

    /// Those of a table that is not read further.
    pub(super) fn of(table: &Table) -> Result<Self, Diagnostic> {
        let day = |key: &str| table.get(key).map(day_of).transpose();
        let dates = Self { effective: day("effective")?, expires: day("expires")? };
        match table.get("expires").filter(|_| dates.is_backward()) {
            Some(node) => Err(Diagnostic::error(&node.at, BACKWARD[0], BACKWARD[1])),
            None => Ok(dates),
        }
    }

    fn is_backward(self) -> bool {
        self.effective.zip(self.expires).is_some_and(|(first, last)| last < first)
    }

    /// The last day, where it is over.
    pub(super) fn over_on(self, on: NaiveDate) -> Option<NaiveDate> {
        match self.stands(on) {
            Stands::Over(day) => Some(day),
            _ => None,
        }
    }

    fn stands(self, on: NaiveDate) -> Stands {
        match (self.effective, self.expires) {
            (Some(first), _) if on < first => Stands::From(first),
            (_, Some(last)) if on > last => Stands::Over(last),
            (_, Some(last)) => Stands::Until(last),
            _ => Stands::Always,
        }
    }
}

const BACKWARD: [&str; 2] =
    ["expires is before effective, so that it is never in force", "mend one of the two days"];

fn day_of(node: &Node) -> Result<NaiveDate, Diagnostic> {
    let text = match &node.value {
        Value::Date(date) => date.to_string(),
        Value::Text(text) => text.clone(),
        _ => String::new(),
    };
    parse_date(&text)
        .ok_or_else(|| Diagnostic::error(&node.at, "this is not a day", "write it as 2026-03-14"))
}

/// A file's tree as it is in force on a day, and every change in it that has days. Without a day all of it is in force.
pub(super) fn for_day(
    base: &Table,
    over: &Arc<Table>,
    layer: &Layer,
    on: Option<NaiveDate>,
) -> (Arc<Table>, Vec<DatedChange>) {
    let mut found = Vec::new();
    let Some(on) = on.filter(|_| !layer.is_root) else { return (Arc::clone(over), found) };
    let of_layer = layer.off_on(on);
    if of_layer.is_none() && !has_dates(over) {
        return (Arc::clone(over), found);
    }
    let mut kept = Table::clone(over);
    for (key, node) in &mut kept.entries {
        let Value::Array(items) = &mut node.value else { continue };
        if key.text == "check" {
            Arc::make_mut(items).retain(|item| {
                let change = dated(item, layer, of_layer.as_deref(), on);
                let stays = change.as_ref().is_none_or(|change| change.off.is_none());
                found.extend(change);
                stays
            });
        } else if of_layer.is_some() && NAMED.contains(&key.text.as_str()) {
            // What a layer brings of these is only a name: without a check it asks nothing, and a walk may go by it.
            let stands = |item: &Node| item.value.id().is_some_and(|id| in_array(base, &key.text, id));
            Arc::make_mut(items).retain(|item| !stands(item));
        }
    }
    (Arc::new(kept), found)
}

fn has_dates(table: &Table) -> bool {
    let Some(Node { value: Value::Array(checks), .. }) = table.get("check") else { return false };
    let tables = checks.iter().filter_map(|check| check.value.as_table());
    tables.into_iter().any(|check| check.get("effective").or(check.get("expires")).is_some())
}

fn in_array(base: &Table, array: &str, id: &str) -> bool {
    matches!(base.get(array), Some(Node { value: Value::Array(items), .. })
        if items.iter().any(|item| item.value.id() == Some(id)))
}

fn dated(item: &Node, layer: &Layer, of_layer: Option<&str>, on: NaiveDate) -> Option<DatedChange> {
    let table = item.value.as_table()?;
    let dates = Dates::of(table).unwrap_or_default();
    let own = match dates.stands(on) {
        Stands::From(day) => Some(format!("{} asks it from {day}", layer.id)),
        Stands::Over(day) => Some(format!("{} asked it up to {day}", layer.id)),
        Stands::Until(_) | Stands::Always => None,
    };
    let off = of_layer.map(str::to_owned).or(own);
    (off.is_some() || dates != Dates::default()).then(|| DatedChange {
        layer: layer.id.clone(),
        check: table.text("id").unwrap_or_default().to_owned(),
        dates,
        off,
    })
}

impl Layer {
    /// Whether its last day is over.
    pub fn is_over(&self, on: NaiveDate) -> bool {
        self.dates.over_on(on).is_some()
    }

    /// Why nothing of it is in force on a day; nothing where it is.
    pub fn off_on(&self, on: NaiveDate) -> Option<String> {
        if self.is_root {
            return None;
        }
        match self.dates.stands(on) {
            Stands::From(day) => Some(format!("{} {} is in force from {day}", self.id, self.edition)),
            Stands::Over(day) => Some(format!("{} {} ran out on {day}", self.id, self.edition)),
            Stands::Until(_) | Stands::Always => None,
        }
    }

    /// How it stands on a day, in one sentence, where it has days.
    pub fn sentence_of_day(&self, on: NaiveDate) -> Option<String> {
        let name = format!("{} {}", self.id, self.edition);
        match (self.dates.stands(on), self.is_root) {
            (Stands::Always, _) => None,
            (Stands::Until(day), _) if day == on => {
                Some(format!("Rules {name} are in force today for the last day."))
            }
            (Stands::Until(day), _) => Some(format!("Rules {name} are in force up to and with {day}.")),
            (Stands::From(day), false) => {
                Some(format!("Rules {name} are in force from {day}: their changes are off until then."))
            }
            (Stands::Over(day), false) => {
                Some(format!("Rules {name} ran out on {day}: their changes are off."))
            }
            (Stands::From(day), true) => Some(format!(
                "Rules {name} are for use from {day}, and in force already: they extend nothing."
            )),
            (Stands::Over(day), true) => Some(format!(
                "Rules {name} are out of date since {day}, and stay in force: get the new ones."
            )),
        }
    }

    /// The same in few words, where a day is near or passed.
    fn in_short_of_day(&self, on: NaiveDate) -> Option<String> {
        let soon = |day: NaiveDate| on.checked_add_days(Days::new(SOON)).is_some_and(|limit| day <= limit);
        let name = format!("{} {}", self.id, self.edition);
        match (self.dates.stands(on), self.is_root) {
            (Stands::Over(day), true) => Some(format!("OUT OF DATE since {day}: {name}")),
            (Stands::Over(day), false) => Some(format!("{name} ran out {day}: its changes are off")),
            (Stands::Until(day), _) if day == on => Some(format!("{name}: last day today")),
            (Stands::Until(day), _) if soon(day) => Some(format!("{name} runs out after {day}")),
            (Stands::From(day), _) if soon(day) => Some(format!("{name} begins {day}")),
            _ => None,
        }
    }
}

impl Ruleset {
    /// What a reader has to know of these rules on a day: layers past their review, layers and changes that begin, end or ended.
    pub fn sentences_of_day(&self, on: NaiveDate) -> Vec<String> {
        let mut all: Vec<String> = self.layers.iter().filter_map(Layer::instead_of_shipped).collect();
        all.extend(self.stale_sentences(on));
        all.extend(self.layers.iter().filter_map(|layer| layer.sentence_of_day(on)));
        all.extend(self.dated.iter().filter_map(|change| self.sentence_of(change, on)));
        all
    }

    fn sentence_of(&self, change: &DatedChange, on: NaiveDate) -> Option<String> {
        let of_layer = self.layers.iter().find(|layer| layer.id == change.layer)?;
        if of_layer.off_on(on).is_some() {
            return None;
        }
        let what = self.check(&change.check).map_or(change.check.as_str(), |check| check.title.as_str());
        let what = format!("The change of {} to \"{what}\"", change.layer);
        match change.dates.stands(on) {
            Stands::From(day) => Some(format!("{what} is in force from {day}.")),
            Stands::Until(day) => Some(format!("{what} is in force up to and with {day}.")),
            Stands::Over(day) => Some(format!("{what} ran out on {day}.")),
            Stands::Always => None,
        }
    }

    /// The same in one line for the start page and every screen.
    pub fn in_short_of_day(&self, on: NaiveDate) -> Option<String> {
        let own = self.layers.iter().filter(|layer| layer.is_instead_of_shipped());
        let own = own.map(|layer| format!("{} IS NOT THE SHIPPED ONE", layer.id));
        let stale = own.chain(self.stale_in_short(on));
        let dated = self.layers.iter().filter_map(|layer| layer.in_short_of_day(on));
        let parts: Vec<String> = stale.chain(dated).collect();
        (!parts.is_empty()).then(|| parts.join("; "))
    }

    /// Why a change of a check is off on the day these rules were loaded for.
    pub fn off_by_day(&self, check: &str) -> Option<&str> {
        let change = self.dated.iter().find(|change| change.check == check && change.off.is_some())?;
        change.off.as_deref()
    }
}
