//! Lines of words: a note, a photo, a remark, a name, the number asked back. Each carries what it will do.

use crate::walk::{Action, Reply, Workspace};

use super::app::App;
use super::asking::{Question, Then};
use super::drafts::is_open;
use super::keymap::UiAction;
use super::state::{Overlay, Purpose, Screen, Words};

impl<G: Workspace> App<G> {
    pub(super) fn act_words(&mut self, action: UiAction) {
        match action {
            UiAction::Go => self.enter_words(),
            UiAction::Back => self.drop_words(),
            _ => {}
        }
    }

    /// Leaves the line. A text about a check is put by; a note wanted before an answer is not kept, nor is the answer.
    fn drop_words(&mut self) {
        let Some(Overlay::Words(words)) = self.state.overlay.take() else { return };
        if let Purpose::NoteFor(_) = words.purpose {
            self.state.say("Nothing was kept: the answer wants a note.");
        }
        self.leave_words(&words);
    }

    fn enter_words(&mut self) {
        let Some(Overlay::Words(words)) = &self.state.overlay else { return };
        let text = words.said();
        let purpose = words.purpose.clone();
        if text.is_empty() && matches!(purpose, Purpose::NoteAfter(_)) {
            self.state.overlay = None;
            return;
        }
        if text.is_empty() {
            self.refuse_words("type something, or Esc to leave it");
            return;
        }
        if !self.is_made_of_answers(&purpose, &text) {
            self.words_said(purpose, text);
        }
    }

    /// A note made only of keys that answer was meant as answers, or not: that is asked. Whether it was.
    fn is_made_of_answers(&mut self, purpose: &Purpose, text: &str) -> bool {
        let is_note = matches!(purpose, Purpose::Note(_) | Purpose::NoteAfter(_));
        let only_keys = text.chars().all(|c| self.state.keys.answers(c));
        if !is_note || !only_keys {
            return false;
        }
        self.ask_first(Question {
            title: format!("\"{text}\" is made of keys that answer. Keep it as the note?"),
            lines: Vec::new(),
            yes: "keep it".to_owned(),
            no: "back to the line".to_owned(),
            scroll: 0,
            then: Then::Note(purpose.clone(), text.to_owned()),
        });
        true
    }

    /// Opens the line again with what was typed.
    pub(super) fn ask_again(&mut self, purpose: Purpose, text: &str) {
        self.ask_words("Note:", text, purpose);
    }

    /// Does what the words are for; a draft of them is gone once they are kept.
    pub(super) fn words_said(&mut self, purpose: Purpose, text: String) {
        let place = self.place_of(&purpose);
        self.carry_words_out(purpose, text);
        let kept = !is_open(self.state.overlay.as_ref());
        if let Some(place) = place.filter(|_| kept) {
            self.put_by(vec![(place, String::new())]);
        }
    }

    fn carry_words_out(&mut self, purpose: Purpose, text: String) {
        match purpose {
            Purpose::NoteFor(action) => self.noted(action, text),
            Purpose::Note(about) | Purpose::NoteAfter(about) => self.observe(&about, Some(text), Vec::new()),
            Purpose::Photo(about) => {
                if let Some(photo) = self.photo(&text) {
                    self.observe(&about, None, vec![photo]);
                }
            }
            Purpose::Remark(record, name) => self.remark(record, &name, text),
            Purpose::NewNumber => self.new_number(&text),
            Purpose::Clock => self.clock_said(&text),
            Purpose::Who => self.say_who(&text),
            Purpose::SignNumber => self.number_asked_back(&text),
            Purpose::Sign(role) => self.sign(role, text),
            Purpose::HoldReading(key) => self.hold_reading(key, &text),
            Purpose::WhatIf(key) => self.what_if_value(&key, &text),
        }
    }

    pub(super) fn refuse_words(&mut self, message: impl Into<String>) {
        if let Some(Overlay::Words(words)) = &mut self.state.overlay {
            words.trouble = Some(message.into());
        }
    }

    /// The ways to fail of the check that was rejected.
    fn ways_to_fail(&self, purpose: &Purpose) -> Vec<String> {
        let (Purpose::NoteAfter(about), Some(walk)) = (purpose, &self.state.walk) else { return Vec::new() };
        let causes = walk.start.rules.check(&about.check).map_or(&[][..], |check| check.causes.as_slice());
        causes.iter().filter_map(|cause| cause.fault.clone()).take(9).collect()
    }

    /// Opens a line of words.
    pub(super) fn ask_words(&mut self, prompt: impl Into<String>, text: &str, purpose: Purpose) {
        let offers = self.ways_to_fail(&purpose);
        let input = tui_input::Input::new(self.begun_text(&purpose, text));
        self.state.overlay = Some(Overlay::Words(Box::new(Words {
            prompt: prompt.into(),
            input,
            offers,
            purpose,
            trouble: None,
        })));
    }

    /// The action with its note.
    fn noted(&mut self, action: Action, text: String) {
        match action {
            Action::Answer(reply) => {
                let note = match &reply.note {
                    Some(before) => format!("{before}; {text}"),
                    None => text,
                };
                self.keep_answer(Action::Answer(Box::new(Reply { note: Some(note), ..*reply })));
            }
            Action::Weigh { record, severity, .. } => {
                let action = Action::Weigh { record, severity, note: Some(text) };
                if let Some(records) = self.carry_out(&action) {
                    self.reweighed(records, severity);
                }
            }
            Action::Withdraw { record, .. } => {
                self.state.overlay = None;
                self.withdraw(&[record], Some(&text));
            }
            other => {
                self.state.overlay = None;
                self.carry_out(&other);
            }
        }
    }

    fn photo(&mut self, path: &str) -> Option<crate::model::entry::Photo> {
        match self.workspace.photo(path) {
            Ok(photo) => Some(photo),
            Err(message) => {
                self.refuse_words(message);
                None
            }
        }
    }

    fn remark(&mut self, record: String, name: &str, text: String) {
        let action = Action::Remark { record: Some(record), about: Some("owner".to_owned()), text };
        if self.carry_out(&action).is_some() {
            self.state.overlay = None;
            self.state.say(format!("Kept: the owner's remark on {name}."));
        }
    }

    fn say_who(&mut self, name: &str) {
        if let Some(walk) = &mut self.state.walk {
            walk.start.by = Some(name.to_owned());
        }
        self.state.overlay = None;
        if matches!(self.state.screen, Screen::Start(_)) {
            self.state.say(format!("{name} walks. The settings remember it."));
        }
        self.remember_who(name);
    }

    /// Keeps in the settings who walks; a failure is said, and the name holds for this run.
    pub(super) fn remember_who(&mut self, name: &str) {
        if let Err(message) = self.workspace.set_by(name) {
            self.state.object(format!("{name} walks, but only in this run: {message}"));
        }
    }
}
