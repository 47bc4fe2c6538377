//! The pressure hold: temperature and pressure, the clock, pressure and temperature. Every reading is kept as it is typed.

use std::cmp::Ordering;

use chrono::TimeDelta;

use crate::model::entry::Moment;
use crate::rules::{Check, MeasureRow, Typed};
use crate::units::{Kind, default_unit, parse_bare};
use crate::walk::{Action, Walk, Workspace};

use super::app::App;
use super::keymap::UiAction;
use super::sheet::{Sheet, hold_word};
use super::state::{HoldPage, HoldStep, Purpose, Screen};
use super::text::clock;

/// A hold that began longer ago than this is not taken up again.
const LONGEST: TimeDelta = TimeDelta::hours(12);

impl<G: Workspace> App<G> {
    pub(super) fn open_hold(&mut self) {
        let Some(walk) = &self.state.walk else { return };
        let Some(check) = walk.check() else { return };
        let Some(word) = hold_word(check) else { return };
        let mut page = HoldPage {
            check: check.id.clone(),
            word: word.to_owned(),
            circuits: circuits(walk, &self.state.sheet),
            at: 0,
            step: HoldStep::Ready,
            wanted: wanted(check),
            readings: Vec::new(),
        };
        take_up(walk, &mut page, self.state.now);
        self.show(Screen::Hold(page));
    }

    pub(super) fn act_hold(&mut self, action: UiAction) {
        let Screen::Hold(page) = &mut self.state.screen else { return };
        match action {
            UiAction::Back => self.back_to_walk(),
            UiAction::NextCircuit => {
                page.at = (page.at + 1) % page.circuits.len().max(1);
                page.step = HoldStep::Ready;
                page.readings.clear();
                if let Some(walk) = &self.state.walk {
                    take_up(walk, page, self.state.now);
                }
            }
            UiAction::Go => self.go_on_holding(),
            _ => {}
        }
    }

    fn go_on_holding(&mut self) {
        let Screen::Hold(page) = &self.state.screen else { return };
        let key = |last: &str| page.key(last);
        match page.step {
            HoldStep::Ready => self.ask_hold("Temperature at the start", key("start_temperature")),
            HoldStep::StartPressure => self.ask_hold(
                "Pressure at the start; the clock runs as soon as it is kept",
                key("start_pressure"),
            ),
            HoldStep::Running(since) => {
                let (key, seconds) = (key("time"), (self.state.now - since).num_seconds().max(0));
                if self.read_hold(&key, format!("{seconds} s")) {
                    self.hold_at(HoldStep::EndPressure);
                    let key = self.hold_key("end_pressure");
                    self.ask_hold("The clock is stopped. Pressure at the end", key);
                }
            }
            HoldStep::EndPressure => self.ask_hold("Pressure at the end", key("end_pressure")),
            HoldStep::EndTemperature => self.ask_hold("Temperature at the end", key("end_temperature")),
            HoldStep::Done => self.back_to_walk(),
        }
    }

    fn hold_key(&self, last: &str) -> String {
        match &self.state.screen {
            Screen::Hold(page) => page.key(last),
            _ => String::new(),
        }
    }

    fn hold_at(&mut self, step: HoldStep) {
        if let Screen::Hold(page) = &mut self.state.screen {
            page.step = step;
        }
    }

    fn ask_hold(&mut self, what: &str, key: String) {
        let units = self.state.walk.as_ref().map(|walk| walk.start.units).unwrap_or_default();
        let unit = default_unit(kind_of(&key), units);
        self.ask_words(format!("{what} ({unit} where no unit is typed):"), "", Purpose::HoldReading(key));
    }

    /// A reading of the hold, typed.
    pub(super) fn hold_reading(&mut self, key: String, text: &str) {
        let units = self.state.walk.as_ref().map(|walk| walk.start.units).unwrap_or_default();
        let kind = kind_of(&key);
        let value = match parse_bare(text, kind, default_unit(kind, units)) {
            Ok((_, echo)) => echo.unwrap_or_else(|| text.to_owned()),
            Err(refusal) => {
                self.refuse_words(refusal.to_string());
                return;
            }
        };
        if !self.read_hold(&key, value) {
            return;
        }
        self.uncover();
        match key.rsplit('.').next() {
            Some("start_temperature") => {
                self.hold_at(HoldStep::StartPressure);
                self.go_on_holding();
            }
            Some("start_pressure") => self.hold_at(HoldStep::Running(self.kept_at(&key))),
            Some("end_pressure") => {
                self.hold_at(HoldStep::EndTemperature);
                self.go_on_holding();
            }
            _ => {
                self.hold_at(HoldStep::Done);
                self.say_held();
            }
        }
    }

    fn say_held(&mut self) {
        let Screen::Hold(page) = &self.state.screen else { return };
        let key = page.key("time");
        let (check, wanted) = (page.check.clone(), page.wanted);
        self.values_are_older(&check);
        let readings = self.state.walk.as_ref().map(|walk| walk.history.readings());
        let ran =
            readings.and_then(|readings| readings.get(key.as_str()).and_then(|(_, reading)| reading.si));
        match (ran, wanted) {
            (Some(ran), Some(wanted)) if ran < wanted => self.state.object(format!(
                "Kept, but the clock ran {} of {} wanted: this is no whole hold, begin another.",
                clock(ran),
                clock(wanted)
            )),
            _ => self.state.say("Kept: the hold is complete. Its verdict stands at the check."),
        }
    }

    fn kept_at(&self, key: &str) -> Moment {
        let readings = self.state.walk.as_ref().map(|walk| walk.history.readings());
        readings.and_then(|readings| readings.get(key).map(|(kept, _)| kept.at)).unwrap_or(self.state.now)
    }

    fn read_hold(&mut self, key: &str, value: String) -> bool {
        let action = Action::Read { key: key.to_owned(), value: value.clone(), instrument: None };
        if self.carry_out(&action).is_none() {
            return false;
        }
        let what = key.rsplit('.').next().unwrap_or("").replace('_', " ");
        if let Screen::Hold(page) = &mut self.state.screen {
            page.readings.push((what, value));
        }
        true
    }
}

fn kind_of(key: &str) -> Kind {
    crate::numbers::reading_kind(key).unwrap_or(Kind::Pressure)
}

/// The circuits to hold: those the numbers ask for, else the car file's, else front and rear.
fn circuits(walk: &Walk, sheet: &Sheet) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    let mut add = |name: &str| {
        if found.iter().all(|known| known != name) {
            found.push(name.to_owned());
        }
    };
    for asked in sheet.asks.iter().filter(|asked| asked.key.starts_with("brakes.circuit.")) {
        asked.key.split('.').nth(2).into_iter().for_each(&mut add);
    }
    let ports = walk.start.car.brakes.masters.iter().flat_map(|master| master.ports.iter());
    for port in ports {
        port.plumbed_to.iter().for_each(|word| add(&word.text));
    }
    if found.is_empty() {
        found = vec!["front".to_owned(), "rear".to_owned()];
    }
    found
}

/// How long the check wants the hold to last.
fn wanted(check: &Check) -> Option<f64> {
    match &check.typed {
        Typed::Measure(rows) => rows
            .iter()
            .find(|row| row.kind == Kind::Time)
            .and_then(|row| row.min.as_ref())
            .map(|limit| limit.si),
        _ => None,
    }
}

/// What the holds of this check have read for a row: of several circuits one that is outside the row's limits, else the
/// least.
pub(super) fn held(walk: &Walk, check: &Check, row: &MeasureRow, now: Moment) -> Option<String> {
    let last = match row.kind {
        Kind::Time => "time",
        Kind::Pressure => "start_pressure",
        _ => return None,
    };
    let ending = format!(".{}.{last}", hold_word(check)?);
    let readings = walk.history.readings().into_iter();
    let fresh = readings.filter(|(key, (kept, _))| key.ends_with(&ending) && now - kept.at < LONGEST);
    let outside = |si: f64| {
        row.min.as_ref().is_some_and(|min| si < min.si) || row.max.as_ref().is_some_and(|max| si > max.si)
    };
    let read = fresh.filter_map(|(_, (_, reading))| Some((reading.si?, &reading.value)));
    let worst = read.min_by(|(a, _), (b, _)| {
        (!outside(*a), *a).partial_cmp(&(!outside(*b), *b)).unwrap_or(Ordering::Equal)
    });
    worst.map(|(_, value)| value.clone())
}

/// A hold that was begun and not finished goes on: its clock runs since the start pressure was kept.
fn take_up(walk: &Walk, page: &mut HoldPage, now: Moment) {
    let readings = walk.history.readings();
    let at = |last: &str| {
        readings.get(page.key(last).as_str()).map(|(kept, reading)| (kept.at, reading.value.clone()))
    };
    let Some((since, pressure)) = at("start_pressure").filter(|(since, _)| now - *since < LONGEST) else {
        return;
    };
    let later = |last: &str| at(last).is_some_and(|(kept, _)| kept >= since);
    let step = match (later("time"), later("end_pressure"), later("end_temperature")) {
        (false, ..) => HoldStep::Running(since),
        (true, false, _) => HoldStep::EndPressure,
        (true, true, false) => HoldStep::EndTemperature,
        (true, true, true) => return,
    };
    let mut shown = vec![("start pressure".to_owned(), pressure)];
    shown.extend(at("start_temperature").map(|(_, value)| ("start temperature".to_owned(), value)));
    (page.step, page.readings) = (step, shown);
}
