//! What if: values changed one after another, every number before and after, nothing written to the car file.

use tui_input::Input;

use crate::model::{Settable, settable};
use crate::numbers::{Answer, quantity, reading_keys};
use crate::rules::{CLOSING, Check, NOTICE, Terms};
use crate::source::FieldKind;
use crate::units::{Kind, default_unit, parse_bare};
use crate::walk::{
    Change, Difference, MainRun, TableRow, Walk, Worked, Workspace, differences, main_run_table, main_runs,
    repeat_words, what_if,
};

use super::app::App;
use super::figures::{margin, with_band};
use super::keymap::UiAction;
use super::state::{CarsPage, Overlay, Purpose, Screen};
use crate::model::entry::Outcome;

/// Changes and what they come to.
#[derive(Debug)]
pub struct WhatIfPage {
    /// What is changed, in the order it was.
    pub changes: Vec<Change>,
    /// The change chosen.
    pub at: usize,
    /// Keys that can be changed.
    pub keys: Vec<Settable>,
    /// The numbers without changes.
    pub before: Worked,
    /// The numbers with them.
    pub after: Worked,
    /// Numbers that changed.
    pub rows: Vec<ChangedNumber>,
    /// The ready-made table, where it is open.
    pub table: Option<RunTable>,
    /// First line shown.
    pub scroll: usize,
    /// The screen it was opened from.
    pub under: Box<Screen>,
}

/// A number that changed, as it is shown.
#[derive(Clone, Debug, PartialEq)]
pub struct ChangedNumber {
    /// What it is.
    pub title: String,
    /// What it is of.
    pub of: String,
    /// Before.
    pub before: Standing,
    /// After.
    pub after: Standing,
}

/// A value and where it stands.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Standing {
    /// The value, or why there is none.
    pub text: String,
    /// The worst verdict on it, where a check limits it.
    pub outcome: Option<Outcome>,
}

/// The ready-made table.
#[derive(Clone, Debug, PartialEq)]
pub struct RunTable {
    /// Runs it can be made for.
    pub runs: Vec<MainRun>,
    /// The run at hand.
    pub at: usize,
    /// Its rows.
    pub rows: Vec<TableRow>,
}

/// Keys to choose from.
#[derive(Debug, Default)]
pub struct KeyList {
    /// Letters typed.
    pub filter: Input,
    /// Row chosen.
    pub at: usize,
    /// Keys that fit: path, and what stands there.
    pub rows: Vec<(String, Option<String>)>,
}

impl WhatIfPage {
    fn new(walk: &Walk) -> Result<Self, String> {
        let before = what_if(walk, &[])?;
        Ok(Self {
            changes: Vec::new(),
            at: 0,
            keys: keys(walk),
            after: before.clone(),
            before,
            rows: Vec::new(),
            table: None,
            scroll: 0,
            under: Box::new(Screen::Cars(CarsPage::default())),
        })
    }

    /// Takes a list of changes, where it can be worked out.
    fn take(&mut self, walk: &Walk, changes: Vec<Change>) -> Result<(), String> {
        self.after = what_if(walk, &changes)?;
        self.changes = changes;
        self.at = self.at.min(self.changes.len().saturating_sub(1));
        let found = differences(&self.before.answers, &self.after.answers);
        let [before, after] =
            [&self.before, &self.after].map(|worked| (walk.asked(&worked.car), worked.terms()));
        self.rows = found.iter().filter_map(|one| changed_number(walk, one, &before, &after)).collect();
        self.scroll = 0;
        Ok(())
    }

    /// What stands at a key now: the change, else the file.
    pub fn now(&self, key: &str) -> Option<&str> {
        let change = self.changes.iter().rev().find(|change| change.key == key).map(|change| &change.text);
        let file = || self.keys.iter().find(|known| known.path == key).and_then(|known| known.text.as_ref());
        change.or_else(file).map(String::as_str)
    }

    /// What the file says at a key.
    pub fn file_says(&self, key: &str) -> &str {
        let known = self.keys.iter().find(|known| known.path == key);
        known.and_then(|known| known.text.as_deref()).unwrap_or("not given")
    }
}

/// What can be changed: keys of the file but names, and readings of the day.
fn keys(walk: &Walk) -> Vec<Settable> {
    let named = |path: &str| {
        let head = ["format", "car.id", "car.number", "car.name", "car.keeper", "axes.unit"];
        head.contains(&path)
    };
    let mut keys = settable(&walk.start.car_file);
    keys.retain(|key| !named(&key.path));
    for (path, kind) in reading_keys(&walk.start.car) {
        let text = walk.readings.get(&path).map(|reading| reading.text.clone());
        let kind = if kind == Kind::Span { FieldKind::Date } else { FieldKind::Quantity(kind) };
        keys.push(Settable { path, kind, doc: "A reading of the day.".to_owned(), text });
    }
    keys
}

/// A car with the checks that are asked of it: a change may be one that makes another check asked.
type AskedOf<'w, 'c> = (Vec<&'w Check>, Terms<'c>);

fn changed_number(
    walk: &Walk,
    difference: &Difference,
    before: &AskedOf<'_, '_>,
    after: &AskedOf<'_, '_>,
) -> Option<ChangedNumber> {
    let any = difference.any()?;
    let title = quantity(any.quantity()).map_or(any.quantity(), |known| known.title);
    let standing = |answer: &Option<Answer>, (asked, terms): &AskedOf<'_, '_>| match answer {
        Some(answer @ Answer::Number(number)) => Standing {
            text: with_band(number, walk.start.units),
            outcome: margin(walk, asked, terms, answer).map(|(outcome, _)| outcome),
        },
        Some(Answer::Refused(refused)) => {
            Standing { text: format!("not calculated: {}", refused.reason), outcome: None }
        }
        None => Standing { text: "none".to_owned(), outcome: None },
    };
    Some(ChangedNumber {
        title: title.to_owned(),
        of: any.of().unwrap_or("").to_owned(),
        before: standing(&difference.before, before),
        after: standing(&difference.after, after),
    })
}

impl<G: Workspace> App<G> {
    fn trying(&mut self) -> Option<&mut WhatIfPage> {
        match &mut self.state.screen {
            Screen::WhatIf(page) => Some(page),
            _ => None,
        }
    }

    pub(super) fn open_what_if(&mut self) {
        let Some(walk) = &self.state.walk else { return };
        match WhatIfPage::new(walk) {
            Ok(mut page) => {
                page.under = Box::new(self.lift());
                self.state.screen = Screen::WhatIf(Box::new(page));
            }
            Err(why) => {
                self.state.object(format!("The car file cannot be worked with as it is: {why}"));
            }
        }
    }

    pub(super) fn act_what_if(&mut self, action: UiAction) {
        let Some(page) = self.trying() else { return };
        match action {
            UiAction::Down => page.scroll += 1,
            UiAction::Up => page.scroll = page.scroll.saturating_sub(1),
            UiAction::NextChange => {
                page.at = if page.at + 1 < page.changes.len() { page.at + 1 } else { 0 };
            }
            UiAction::Undo => self.undo_change(),
            UiAction::Go => {
                page.table = None;
                self.state.overlay = Some(Overlay::Keys(KeyList::default()));
                self.fill_keys();
            }
            UiAction::MainRun => self.open_table(0),
            UiAction::NextRun | UiAction::PreviousRun => self.other_run(action == UiAction::NextRun),
            UiAction::Save => self.save_what_if(),
            UiAction::Discharge => self.open_discharge(),
            UiAction::Back if page.table.is_some() => page.table = None,
            UiAction::Back => self.put_back(),
            _ => {}
        }
    }

    fn undo_change(&mut self) {
        let (Screen::WhatIf(page), Some(walk)) = (&mut self.state.screen, &self.state.walk) else { return };
        let mut changes = page.changes.clone();
        if page.at >= changes.len() {
            self.state.say("Nothing is changed.");
            return;
        }
        let gone = changes.remove(page.at);
        match page.take(walk, changes) {
            Ok(()) => {
                let now = page.now(&gone.key).unwrap_or("not given").to_owned();
                self.state.say(format!("Back to {now}: {}", gone.key));
            }
            Err(why) => self.state.object(format!("Without it the others do not stand: {why}")),
        }
    }

    fn open_table(&mut self, at: usize) {
        let (Screen::WhatIf(page), Some(walk)) = (&mut self.state.screen, &self.state.walk) else { return };
        let runs = main_runs(&page.after.car);
        let Some(run) = runs.get(at) else {
            self.state.say("No hard line leads from a bottle to a nozzle: there is no table to make.");
            return;
        };
        let rows = main_run_table(walk, &page.changes, run);
        page.scroll = 0;
        page.table = Some(RunTable { runs, at, rows });
    }

    fn other_run(&mut self, next: bool) {
        let Some(table) = self.trying().and_then(|page| page.table.as_ref()) else { return };
        let last = table.runs.len().saturating_sub(1);
        let at = match (next, table.at) {
            (true, at) if at >= last => 0,
            (true, at) => at + 1,
            (false, 0) => last,
            (false, at) => at - 1,
        };
        self.open_table(at);
    }

    /// Keys that hold every word typed, those with a value first where nothing is typed.
    pub(super) fn fill_keys(&mut self) {
        let (Some(Overlay::Keys(list)), Screen::WhatIf(page)) = (&mut self.state.overlay, &self.state.screen)
        else {
            return;
        };
        let typed = list.filter.value().to_lowercase();
        let fits = |key: &&Settable| {
            let text = format!("{} {}", key.path, key.doc).to_lowercase();
            typed.split_whitespace().all(|word| text.contains(word))
        };
        list.rows = page
            .keys
            .iter()
            .filter(fits)
            .filter(|key| !typed.is_empty() || key.text.is_some())
            .map(|key| (key.path.clone(), page.now(&key.path).map(str::to_owned)))
            .collect();
        // A discharge is what most people come for: its keys stand first.
        list.rows.sort_by_key(|(path, _)| !path.starts_with("suppression.line") || !path.contains(".tube."));
        list.at = 0;
    }

    pub(super) fn act_keys(&mut self, action: UiAction) {
        let Some(Overlay::Keys(list)) = &mut self.state.overlay else { return };
        match action {
            UiAction::Down => list.at = (list.at + 1).min(list.rows.len().saturating_sub(1)),
            UiAction::Up => list.at = list.at.saturating_sub(1),
            UiAction::Go => {
                if let Some((path, _)) = list.rows.get(list.at).cloned() {
                    self.ask_change(&path);
                }
            }
            _ => self.state.overlay = None,
        }
    }

    fn ask_change(&mut self, path: &str) {
        let Some(walk) = &self.state.walk else { return };
        let units = walk.start.units;
        let Some(page) = self.trying() else { return };
        let Some(key) = page.keys.iter().find(|key| key.path == path) else { return };
        let wanted = match &key.kind {
            FieldKind::Quantity(Kind::Ratio) => "a plain number or a share in %".to_owned(),
            FieldKind::Quantity(kind) => format!("{} where no unit is typed", default_unit(*kind, units)),
            FieldKind::Choice(words) => words.join(" or "),
            FieldKind::Count => "a whole number".to_owned(),
            FieldKind::Flag => "true or false".to_owned(),
            FieldKind::Date => "year-month-day".to_owned(),
            _ => "as the file would have it".to_owned(),
        };
        let now = page.now(path).unwrap_or("not given").to_owned();
        let prompt = format!("{path}, now {now}. What if it were ({wanted}):");
        self.ask_words(prompt, "", Purpose::WhatIf(path.to_owned()));
    }

    /// Takes a value typed for a key.
    pub(super) fn what_if_value(&mut self, key: &str, text: &str) {
        let (Screen::WhatIf(page), Some(walk)) = (&mut self.state.screen, &self.state.walk) else { return };
        let kind = page.keys.iter().find(|known| known.path == key).map(|known| known.kind.clone());
        let text = match kind {
            Some(FieldKind::Quantity(kind)) => {
                match parse_bare(text, kind, default_unit(kind, walk.start.units)) {
                    Ok((_, echo)) => echo.unwrap_or_else(|| text.to_owned()),
                    Err(refusal) => return self.refuse_words(refusal.to_string()),
                }
            }
            _ => text.to_owned(),
        };
        let mut changes: Vec<Change> =
            page.changes.iter().filter(|change| change.key != key).cloned().collect();
        changes.push(Change { key: key.to_owned(), text: text.clone() });
        page.at = changes.len();
        match page.take(walk, changes) {
            Ok(()) => {
                let count = super::text::many(page.rows.len(), "number");
                self.state.overlay = None;
                self.state.say(format!("{key} = {text}: {count} changed. The car file stays as it is."));
            }
            Err(why) => {
                page.at = page.changes.len().saturating_sub(1);
                self.refuse_words(why);
            }
        }
    }

    /// Writes the changes and what they come to beside the log.
    fn save_what_if(&mut self) {
        let (Screen::WhatIf(page), Some(walk)) = (&self.state.screen, &self.state.walk) else { return };
        if page.changes.is_empty() && page.table.is_none() {
            self.state.say("Nothing is changed, so there is nothing to save.");
            return;
        }
        let name = format!("what-if-{}.txt", self.state.now.format("%Y-%m-%d-%H%M"));
        let text = note(walk, page);
        match self.workspace.save_report(&name, text.as_bytes()) {
            Ok(path) => self.state.say(format!("Saved: {path}")),
            Err(message) => self.state.object(format!("NOT SAVED: {message}")),
        }
    }
}

/// The note as text.
fn note(walk: &Walk, page: &WhatIfPage) -> String {
    let car = &walk.start.car;
    let mut out = format!("WHAT IF, car {} on {}\n{NOTICE}\n\n", car.number, walk.start.on);
    for change in &page.changes {
        out.push_str(&format!(
            "{} = {} (the file: {})\n",
            change.key,
            change.text,
            page.file_says(&change.key)
        ));
    }
    if !page.changes.is_empty() {
        out.push_str(&format!(
            "\nThe same on the command line:\n{}\n\n",
            repeat_words(&car.id, &page.changes)
        ));
    }
    for row in &page.rows {
        out.push_str(&format!(
            "{}: {}\n    before  {}\n    after   {}\n",
            row.title, row.of, row.before.text, row.after.text
        ));
    }
    if let Some(table) = &page.table {
        let title = table.runs.get(table.at).map_or("", |run| run.title.as_str());
        out.push_str(&format!("\n{title}\n"));
        for row in &table.rows {
            let [arrival, fair, holdup] = row_texts(row, walk.start.units);
            out.push_str(&format!(
                "{}: latest arrival {arrival}; worst split {fair}; hold-up {holdup}\n",
                row.tube
            ));
        }
    }
    out.push_str(&format!("\n{CLOSING}\n"));
    let lines: Vec<String> = out.lines().map(crate::diagnostic::escape_control).collect();
    lines.join("\n") + "\n"
}

/// A row of the table in words: latest arrival, worst split, hold-up.
pub fn row_texts(row: &TableRow, units: crate::units::Units) -> [String; 3] {
    let why = |why: &String| format!("not calculated: {why}");
    let arrival = row.arrival.as_ref().map_or_else(why, |(si, nozzle)| {
        format!("{} at {nozzle}", crate::units::show(*si, Kind::Time, units))
    });
    let fair = row.fair.as_ref().map_or_else(why, |(share, nozzle)| {
        format!("{} of fair at {nozzle}", crate::units::significant(*share, 3))
    });
    let holdup = row
        .holdup
        .as_ref()
        .map_or_else(why, |share| format!("{} %", crate::units::significant(*share * 100.0, 3)));
    [arrival, fair, holdup]
}
