//! Typing values: what a text is read as and where it stands, before it is kept.

use tui_input::Input;

use crate::model::entry::Outcome;
use crate::model::{Car, keys};
use crate::rules::{CountEquals, CountRow, Expression, Limit, MeasureRow, Typed};
use crate::source::{date_help, parse_date};
use crate::units::{Kind, Units, parse_bare};
use crate::walk::{Action, Assessment, Reply, Wants, Workspace, decide};

use super::app::App;
use super::holding::held;
use super::keymap::UiAction;
use super::sheet::Sheet;
use super::state::{Overlay, Slot, Typing};

impl<G: Workspace> App<G> {
    /// Opens the line: the values of the check, or what its numbers may be given.
    pub(super) fn begin_typing(&mut self, inputs: bool, first: Option<char>) {
        let Some(walk) = &self.state.walk else { return };
        let Some(check) = walk.check() else { return };
        let mut slots = if inputs {
            input_slots(&self.state.sheet)
        } else {
            row_slots(&check.typed, &walk.start.car, walk.start.units)
        };
        // What a hold has read need not be typed again.
        if let (false, None, Typed::Measure(rows)) = (inputs, first, &check.typed) {
            for (slot, row) in slots.iter_mut().zip(rows) {
                slot.held = held(walk, check, row, self.state.now);
                slot.input = slot.held.clone().map(Input::new).unwrap_or_default();
            }
        }
        if slots.is_empty() {
            self.state.say("Nothing can be typed here.");
            return;
        }
        let instrument = if inputs { None } else { usual_instrument(&check.typed) };
        let kinds: Vec<Kind> = slots
            .iter()
            .filter(|slot| !matches!(slot.kind, None | Some(Kind::Span)))
            .filter_map(|slot| slot.kind)
            .collect();
        let fits = |known: &&crate::rules::Instrument| {
            kinds.first().is_some_and(|kind| known.half_width(*kind).is_some())
        };
        let measures = inputs || matches!(check.typed, Typed::Measure(_));
        let instruments = walk.start.rules.instruments.iter().filter(fits).filter(|_| measures);
        let instruments = instruments.map(|known| (known.id.clone(), known.title.clone())).collect();
        let mut typing = Box::new(Typing {
            check: check.id.clone(),
            slots,
            at: 0,
            instrument,
            instruments,
            assessment: Assessment::default(),
            deciding: false,
            trouble: None,
        });
        self.take_values_up(&mut typing);
        if let (Some(c), Some(slot)) = (first, typing.slots.get_mut(typing.at)) {
            slot.input = Input::new(c.to_string());
        }
        self.state.overlay = Some(Overlay::Typing(typing));
        self.judge_typing();
    }

    /// Puts a value typed and not kept by, so that it is there when the line is opened again.
    /// Whether there was one.
    pub(super) fn put_typing_by(&mut self) -> bool {
        match self.state.overlay.take() {
            Some(Overlay::Typing(typing)) => self.put_values_by(&typing),
            other => {
                self.state.overlay = other;
                false
            }
        }
    }

    /// Works out what the texts are read as and where they stand.
    pub(super) fn judge_typing(&mut self) {
        let (Some(Overlay::Typing(typing)), Some(walk)) = (&mut self.state.overlay, &self.state.walk) else {
            return;
        };
        let Some(check) = walk.start.rules.check(&typing.check) else { return };
        let values = typing.values();
        typing.assessment = walk.evaluator().assess(check, &values, typing.instrument.as_deref());
        for slot in &mut typing.slots {
            let text = slot.input.value().trim().to_owned();
            (slot.echo, slot.unread) = (None, None);
            if text.is_empty() {
                continue;
            }
            if slot.reading {
                match reading_text(slot, &text) {
                    Ok(value) => slot.echo = Some(value),
                    Err(message) => slot.unread = Some(message),
                }
                continue;
            }
            let row = typing.assessment.rows.iter().find(|row| row.id == slot.id);
            slot.echo = row.map(|row| row.shown.clone());
            let refused = typing.assessment.unread.iter().find(|(id, _)| *id == slot.id);
            slot.unread = refused.map(|(_, refusal)| refusal.to_string());
        }
    }

    pub(super) fn act_typing(&mut self, action: UiAction) {
        let Some(Overlay::Typing(typing)) = &mut self.state.overlay else { return };
        match action {
            UiAction::Back if typing.deciding => typing.deciding = false,
            UiAction::Back => {
                let is_put_by = self.put_typing_by();
                if is_put_by {
                    self.state.say("Put by as a draft, not in the record: the same key goes on with it.");
                }
            }
            UiAction::Up => typing.at = typing.at.saturating_sub(1),
            UiAction::Down => typing.at = (typing.at + 1).min(typing.slots.len().saturating_sub(1)),
            UiAction::NextInstrument => self.next_instrument(),
            UiAction::Go => self.enter_value(),
            UiAction::Accept => self.keep_typed(Some(Outcome::Accept)),
            UiAction::Reject => self.keep_typed(Some(Outcome::Reject)),
            UiAction::Note => {
                self.put_typing_by();
                self.ask_note();
            }
            UiAction::Photo => {
                self.put_typing_by();
                self.ask_photo();
            }
            _ => {}
        }
    }

    fn next_instrument(&mut self) {
        let Some(Overlay::Typing(typing)) = &mut self.state.overlay else { return };
        let now = typing.instruments.iter().position(|(id, _)| Some(id) == typing.instrument.as_ref());
        let next = now.map_or(0, |now| now + 1);
        typing.instrument =
            typing.instruments.get(next).or(typing.instruments.first()).map(|(id, _)| id.clone());
        self.judge_typing();
    }

    /// Enter: the next line that is empty, else everything is kept.
    fn enter_value(&mut self) {
        let Some(Overlay::Typing(typing)) = &mut self.state.overlay else { return };
        if let Some(slot) = typing.slots.get(typing.at)
            && slot.unread.is_some()
        {
            typing.trouble = Some("It is not kept as it stands: mend it, or Esc leaves it.".to_owned());
            return;
        }
        if typing.at + 1 < typing.slots.len() {
            typing.at += 1;
            return;
        }
        let empty = typing.slots.iter().all(|slot| slot.input.value().trim().is_empty());
        let reading = typing.slots.iter().any(|slot| slot.reading);
        if empty {
            self.put_typing_by();
        } else if reading {
            self.keep_readings();
        } else {
            self.keep_typed(None);
        }
    }

    /// Keeps the value: as the value decides, or as the person says.
    fn keep_typed(&mut self, result: Option<Outcome>) {
        let Some(Overlay::Typing(typing)) = &self.state.overlay else { return };
        let (values, instrument) = (typing.values(), typing.instrument.clone());
        let Some(reply) = self.reply(result) else { return };
        let action = Action::Answer(Box::new(Reply { values, instrument, ..reply }));
        let Some(walk) = &self.state.walk else { return };
        let wants_result =
            decide(walk, &action, &mut String::new).is_err_and(|objection| objection.wants == Wants::Result);
        match &mut self.state.overlay {
            Some(Overlay::Typing(typing)) if wants_result && result.is_none() => typing.deciding = true,
            _ => self.settle(action),
        }
    }

    /// Keeps every reading typed, one record each.
    fn keep_readings(&mut self) {
        let Some(Overlay::Typing(typing)) = &self.state.overlay else { return };
        let (check, instrument) = (typing.check.clone(), typing.instrument.clone());
        let filled: Vec<(usize, String, String)> = typing
            .slots
            .iter()
            .enumerate()
            .filter_map(|(at, slot)| Some((at, slot.id.clone(), slot.echo.clone()?)))
            .collect();
        let mut kept = 0;
        for (at, key, value) in filled {
            let action = Action::Read { key, value, instrument: instrument.clone() };
            if self.carry_out(&action).is_none() {
                if let Some(Overlay::Typing(typing)) = &mut self.state.overlay {
                    typing.at = at;
                }
                return;
            }
            kept += 1;
        }
        self.state.overlay = None;
        self.inputs_kept(&check);
        self.state.say(format!(
            "Kept: {}. The numbers of this check are worked out anew.",
            super::text::many(kept, "reading")
        ));
    }
}

/// A reading as it is kept: with its unit, or as a date.
pub(super) fn reading_text(slot: &Slot, text: &str) -> Result<String, String> {
    match slot.kind {
        Some(Kind::Span) => match parse_date(text) {
            Some(date) => Ok(date.to_string()),
            None => Err(format!("\"{text}\" is not a date: {}", date_help(text))),
        },
        Some(kind) => match parse_bare(text, kind, &slot.unit) {
            Ok((_, echo)) => Ok(echo.unwrap_or_else(|| text.to_owned())),
            Err(refusal) => Err(refusal.to_string()),
        },
        None => Ok(text.to_owned()),
    }
}

fn blank(id: &str, label: &str) -> Slot {
    Slot {
        id: id.to_owned(),
        reading: false,
        label: label.to_owned(),
        unit: String::new(),
        kind: None,
        limits: String::new(),
        known: None,
        input: Input::default(),
        held: None,
        echo: None,
        unread: None,
    }
}

fn row_slots(typed: &Typed, car: &Car, units: Units) -> Vec<Slot> {
    match typed {
        Typed::None => Vec::new(),
        Typed::Measure(rows) => rows.iter().map(|row| measure_slot(row, units)).collect(),
        Typed::Count(rows) => rows
            .iter()
            .map(|row| {
                let limits = count_limits(row, car);
                Slot { limits, unit: "how many".to_owned(), ..blank(&row.id, &row.label) }
            })
            .collect(),
        Typed::Date(rows) => rows
            .iter()
            .map(|row| {
                let limits = row.every.map_or_else(String::new, |span| format!("every {span}"));
                Slot { limits, unit: "year-month-day".to_owned(), ..blank(&row.id, &row.label) }
            })
            .collect(),
    }
}

/// The last part of a key, in words.
fn last_word(key: &str) -> String {
    key.rsplit('.').next().unwrap_or(key).replace('_', " ")
}

/// The limits of a counted row in words, with the car's own count where the rule points at one.
pub(super) fn count_limits(row: &CountRow, car: &Car) -> String {
    match (&row.equals, row.min, row.max) {
        (Some(CountEquals::Number(number)), ..) => format!("exactly {number}"),
        (Some(CountEquals::Key(key)), ..) => match keys::count(car, key) {
            Some(count) => format!("exactly {count}, as many as the car's {}", last_word(key)),
            None => format!("as many as the car's {}, which its file does not say", last_word(key)),
        },
        (None, Some(min), Some(max)) => format!("{min} to {max}"),
        (None, Some(min), None) => format!("{min} or more"),
        (None, None, Some(0)) => "none".to_owned(),
        (None, None, Some(max)) => format!("{max} or fewer"),
        (None, None, None) => String::new(),
    }
}

fn measure_slot(row: &MeasureRow, units: Units) -> Slot {
    Slot {
        kind: Some(row.kind),
        unit: row.shown_unit(units).to_owned(),
        limits: measure_limits(row, units),
        ..blank(&row.id, &row.label)
    }
}

/// The limits of a measured row in words: "at least 1/2 in, aim for 3/4 in".
pub(super) fn measure_limits(row: &MeasureRow, units: Units) -> String {
    let fixed = limits_in_words(
        (row.kind, units),
        row.min.as_ref(),
        row.max.as_ref(),
        row.equals.as_ref(),
        row.aim_min.as_ref(),
        row.aim_max.as_ref(),
    );
    with_worked(&row.worked, fixed)
}

/// Limits that are worked out in words, before those that are fixed.
pub(super) fn with_worked(worked: &[(&'static str, Expression)], fixed: String) -> String {
    let word = |key| match key {
        "min" => "at least",
        "max" => "at most",
        _ => "exactly",
    };
    let worked = worked.iter().map(|(key, limit)| format!("{} {}", word(*key), limit.words()));
    worked.chain((!fixed.is_empty()).then_some(fixed)).collect::<Vec<_>>().join(", ")
}

/// Limits in words.
pub(super) fn limits_in_words(
    (kind, units): (Kind, Units),
    min: Option<&Limit>,
    max: Option<&Limit>,
    equals: Option<&Limit>,
    aim_min: Option<&Limit>,
    aim_max: Option<&Limit>,
) -> String {
    let mut parts = Vec::new();
    if let Some(limit) = equals {
        parts.push(format!("exactly {}", limit.shown(kind, units)));
    }
    if let Some(limit) = min {
        parts.push(format!("at least {}", limit.shown(kind, units)));
    }
    if let Some(limit) = max {
        parts.push(format!("at most {}", limit.shown(kind, units)));
    }
    if let Some(limit) = aim_min {
        parts.push(format!("aim for {} or more", limit.shown(kind, units)));
    }
    if let Some(limit) = aim_max {
        parts.push(format!("aim for {} or less", limit.shown(kind, units)));
    }
    parts.join(", ")
}

fn input_slots(sheet: &Sheet) -> Vec<Slot> {
    sheet
        .asks
        .iter()
        .map(|asked| Slot {
            reading: true,
            unit: asked.unit.to_owned(),
            kind: Some(asked.kind),
            known: asked.known.clone(),
            ..blank(&asked.key, &asked.key)
        })
        .collect()
}

/// The instrument that every measured row names, where they name one.
fn usual_instrument(typed: &Typed) -> Option<String> {
    let Typed::Measure(rows) = typed else { return None };
    let first = rows.first()?.instrument.clone()?;
    rows.iter().all(|row| row.instrument.as_ref() == Some(&first)).then_some(first)
}
