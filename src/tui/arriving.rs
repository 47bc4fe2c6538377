//! Keys as they arrive: one press is one answer, and an answer is taken only for what the screen has shown.

use std::time::Duration;

use crossterm::event::{KeyCode, KeyEvent};

use crate::model::entry::Entry;
use crate::walk::Workspace;

use super::app::App;
use super::asking::{Question, Then};
use super::calling::step_of;
use super::guard::Arrival;
use super::keymap::{Key, Place, UiAction};
use super::state::{Overlay, Screen, State};
use super::text::result_word;

/// Longer than any guard: keys this far apart are pressed one by one.
const APART: Duration = Duration::from_secs(2);

/// What the screen has shown, and when the last key arrived.
#[derive(Debug, Default)]
pub struct Arrivals {
    /// What an answer would have gone to in the last frame drawn.
    seen: String,
    /// Whether what arrived since then is dropped.
    dropping: bool,
    /// When the last key arrived.
    last: Duration,
}

impl<G: Workspace> App<G> {
    /// One key by itself: somebody looked at the screen since the key before.
    pub fn press(&mut self, event: KeyEvent) {
        self.drawn();
        self.press_at(event, self.arrivals.last + APART);
    }

    /// A frame was drawn: what it shows may be answered.
    pub fn drawn(&mut self) {
        self.arrivals.seen = target(&self.state);
        self.arrivals.dropping = false;
    }

    /// One key, with the time of its arrival by a clock that never jumps.
    pub fn press_at(&mut self, event: KeyEvent, at: Duration) {
        self.arrivals.last = at;
        let before = self.kept_so_far();
        self.press_key(event, at);
        let written = self.findings_since(before);
        self.guard.wrote(written);
    }

    /// Whether a key is taken; where it is not, that is said.
    pub(super) fn takes(&mut self, place: Place, event: KeyEvent, at: Duration) -> bool {
        let Some(key) = Key::of(event) else { return true };
        let action = self.state.keys.action_at(place, key);
        let answers = action.is_some_and(|action| is_answer(place, action));
        // A key that answered a moment ago is guarded on the screen that came after it, too.
        if answers || (!place.takes_text() && self.guard.is_fresh(key, at)) {
            match self.guard.arrives(key, at) {
                Arrival::Press => {}
                Arrival::Repeat => {
                    self.say_repeated(key);
                    return false;
                }
                Arrival::Held => {
                    self.undo_held(key);
                    return false;
                }
            }
        }
        let digit = matches!(event.code, KeyCode::Char(c) if c.is_ascii_digit()) && place == Place::Walk;
        let wants_a_look = answers || digit || action.is_some_and(|action| needs_look(place, action));
        if self.arrivals.dropping || (wants_a_look && self.arrivals.seen != target(&self.state)) {
            self.say_too_fast();
            return false;
        }
        true
    }

    fn say_repeated(&mut self, key: Key) {
        const MARK: &str = "was not taken";
        const HELD: &str = "held down";
        let within = self.guard.within().as_millis();
        let said = self.state.message.take().map(|said| said.text).unwrap_or_default();
        let text = if said.contains(MARK) || said.contains(HELD) {
            said
        } else {
            format!("{said} {} came again within {within} ms and {MARK}.", key.word())
        };
        self.state.object(text.trim().to_owned());
    }

    /// What stood on the screen is named; what came after it is dropped until the next frame.
    fn say_too_fast(&mut self) {
        if std::mem::replace(&mut self.arrivals.dropping, true) {
            return;
        }
        let seen = self.arrivals.seen.split(' ').nth(1).unwrap_or_default().to_owned();
        let rules = self.state.walk.as_ref().map(|walk| &walk.start.rules);
        let check = rules.and_then(|rules| rules.check(&seen));
        let name = check.map(|check| check.code.clone().unwrap_or_else(|| format!("\"{}\"", check.title)));
        self.state.object(match name {
            Some(name) => format!("Too fast: nothing after {name} was taken."),
            None => "Too fast: nothing was taken before this was shown.".to_owned(),
        });
    }

    /// A key is held down: an accept that its repeats wrote is taken back, and its check is asked anew; anything that
    /// stays open is kept and asked about.
    fn undo_held(&mut self, key: Key) {
        let written = self.guard.take_written();
        let found = self.findings_of(&written);
        let (open, closed): (Vec<_>, Vec<_>) =
            found.into_iter().partition(|(_, finding)| finding.result.is_open());
        if let Some((_, first)) = closed.first() {
            let (check, title) = (first.check.clone(), first.title.clone());
            let records: Vec<String> = closed.into_iter().map(|(record, _)| record).collect();
            self.state.overlay = None;
            self.withdraw(&records, Some("held key"));
            let at = self.state.walk.as_ref().and_then(|walk| walk.plan.position(&check));
            if let (Some(at), Screen::Walk(_) | Screen::End(_)) = (at, &self.state.screen) {
                self.go_to(at);
            }
            self.state.object(format!(
                "{} was held down: its answer to \"{title}\" is taken back. Answer it anew.",
                key.word()
            ));
        } else if open.is_empty() {
            self.state.object(format!("{} is held down: one press is one answer.", key.word()));
        } else {
            let lines = open
                .iter()
                .map(|(_, one)| (Some(one.severity), format!("{}: {}", result_word(one.result), one.title)));
            let question = Question {
                title: format!("{} was held down. Was this answer meant?", key.word()),
                lines: lines.collect(),
                yes: "take it back".to_owned(),
                no: "it stays".to_owned(),
                scroll: 0,
                then: Then::TakeBack(open.iter().map(|(record, _)| record.clone()).collect()),
            };
            self.ask_first(question);
        }
    }

    fn kept_so_far(&self) -> usize {
        self.state.walk.as_ref().map_or(0, |walk| walk.history.all().len())
    }

    /// Answers kept since there were so many records.
    fn findings_since(&self, before: usize) -> Vec<String> {
        let Some(walk) = &self.state.walk else { return Vec::new() };
        let fresh = walk.history.all().iter().skip(before);
        let answers = fresh.filter(|kept| matches!(kept.entry, Entry::Finding(_)));
        answers.map(|kept| kept.id.clone()).filter(|id| !walk.history.is_withdrawn(id)).collect()
    }

    /// Takes back what a question was about.
    pub(super) fn take_back_held(&mut self, records: &[String]) {
        self.withdraw(records, Some("held key"));
    }
}

/// Keys that answer: the same one again, too soon, answers nothing.
fn is_answer(place: Place, action: UiAction) -> bool {
    let answers = matches!(
        action,
        UiAction::Accept
            | UiAction::Reject
            | UiAction::ByEye
            | UiAction::AcceptStation
            | UiAction::SameAsLast
            | UiAction::NotSeen
            | UiAction::NotFitted
            | UiAction::NotYet
            | UiAction::Repaired
            | UiAction::Withdraw
    );
    answers && matches!(place, Place::Walk | Place::Decide | Place::Findings)
}

/// Other keys that are about what is on the screen, which has to have been shown.
fn needs_look(place: Place, action: UiAction) -> bool {
    match place {
        Place::Walk | Place::Findings => matches!(
            action,
            UiAction::Note
                | UiAction::Photo
                | UiAction::TypeValue
                | UiAction::TypeInputs
                | UiAction::Heavier
                | UiAction::Lighter
        ),
        Place::Ask => action == UiAction::Go,
        _ => false,
    }
}

/// What an answer would go to now: a place, and a check or an item.
fn target(state: &State) -> String {
    let walk = state.walk.as_ref();
    match (&state.overlay, &state.screen) {
        (Some(Overlay::Typing(typing)), _) if typing.deciding => format!("decide {}", typing.check),
        (Some(Overlay::Ask(question)), _) => format!("ask {}", question.title),
        // What covers the screen hides the check; a line being typed stands below it.
        (Some(Overlay::Help(..) | Overlay::Text(..) | Overlay::Jump(_) | Overlay::Keys(_)), _) => {
            String::new()
        }
        (_, Screen::Walk(page)) => {
            let step = match page.code.as_str() {
                "" => walk.and_then(|walk| walk.current()),
                code => walk.and_then(|walk| walk.plan.steps.get(step_of(walk, code)?)),
            };
            format!("walk {}", step.map_or("", |step| step.check.as_str()))
        }
        (_, Screen::Findings(page)) => {
            let item = page.item();
            item.map_or_else(String::new, |item| format!("item {} {}", item.check, item.record))
        }
        _ => String::new(),
    }
}
