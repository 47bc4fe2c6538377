//! A question before something is kept: it shows what it is about, and a key that did not ask it answers.

use crate::model::doubt::Past;
use crate::model::entry::{Entry, Outcome, Severity};
use crate::rules::Check;
use crate::walk::{Action, Reply, Workspace, decide};

use super::app::App;
use super::keymap::UiAction;
use super::state::{Overlay, Purpose};
use super::text::{many, result_word, when};

/// A question.
#[derive(Clone, Debug)]
pub struct Question {
    /// What is asked.
    pub title: String,
    /// What it is about, one line each, with its severity where it has one.
    pub lines: Vec<(Option<Severity>, String)>,
    /// What Enter does.
    pub yes: String,
    /// What Esc does.
    pub no: String,
    /// First line shown.
    pub scroll: usize,
    /// What follows a yes.
    pub then: Then,
}

/// What follows a yes.
#[derive(Clone, Debug)]
pub enum Then {
    /// Accepts what is listed of a station.
    AcceptStation(String),
    /// Answers in place of a reject.
    Replace(Action),
    /// Takes records back that a held key wrote.
    TakeBack(Vec<String>),
    /// Keeps a text as a note.
    Note(Purpose, String),
    /// Confirms records that nobody vouches for.
    Confirm(Past),
}

impl<G: Workspace> App<G> {
    /// Asks; a value being typed is put by.
    pub(super) fn ask_first(&mut self, question: Question) {
        self.put_typing_by();
        self.state.overlay = Some(Overlay::Ask(Box::new(question)));
    }

    pub(super) fn act_ask(&mut self, action: UiAction) {
        let Some(Overlay::Ask(question)) = &mut self.state.overlay else { return };
        match action {
            UiAction::Down => question.scroll += 1,
            UiAction::Up => question.scroll = question.scroll.saturating_sub(1),
            UiAction::Go => self.answer_question(true),
            UiAction::Back => self.answer_question(false),
            _ => {}
        }
    }

    fn answer_question(&mut self, yes: bool) {
        let Some(Overlay::Ask(question)) = self.state.overlay.take() else { return };
        match (question.then, yes) {
            (Then::AcceptStation(station), true) => self.accept_station(station),
            (Then::Replace(action), true) => self.keep_answer(action),
            (Then::TakeBack(records), true) => self.take_back_held(&records),
            (Then::Note(purpose, text), true) => self.words_said(purpose, text),
            // Back to the line, with what was typed.
            (Then::Note(purpose, text), false) => self.ask_again(purpose, &text),
            (Then::Confirm(past), true) => self.confirm_cut_off(past),
            (Then::Confirm(_), false) => self.state.say("Not confirmed: it is asked again."),
            (Then::TakeBack(_), false) => self.state.say("It stays as it was answered."),
            (_, false) => self.state.say("Nothing was kept."),
        }
    }

    /// Shows what one key would accept at this station, each with its weight.
    pub(super) fn ask_station(&mut self) {
        let Some(walk) = &self.state.walk else { return };
        let Some(station) = walk.current().map(|step| step.station.clone()) else { return };
        let action = Action::AcceptStation(station.clone());
        let entries = match decide(walk, &action, &mut String::new) {
            Ok(entries) => entries,
            Err(objection) => return self.state.object(objection.message),
        };
        let lines: Vec<(Option<Severity>, String)> = entries
            .iter()
            .filter_map(|decided| match &decided.entry {
                Entry::Finding(finding) => {
                    let eye = if finding.by_eye { " (by eye)" } else { "" };
                    let check = walk.start.rules.check(&finding.check);
                    let part = check.map_or(finding.title.as_str(), Check::looked_at);
                    Some((Some(finding.severity), format!("{part}{eye}")))
                }
                _ => None,
            })
            .collect();
        let place = walk.start.rules.station(&station).map_or(station.as_str(), |known| &known.title);
        let question = Question {
            title: format!("{place}: accept these {}? Did you look at each?", many(lines.len(), "check")),
            yes: format!("accept {}", lines.len()),
            no: "accept none".to_owned(),
            lines,
            scroll: 0,
            then: Then::AcceptStation(station),
        };
        self.ask_first(question);
    }

    /// Asks before an answer takes the place of a reject of this walk; whether it asked.
    pub(super) fn asks_to_replace(&mut self, action: &Action) -> bool {
        let Action::Answer(reply) = action else { return false };
        let Some(found) = self.rejected_here(reply) else { return false };
        let new = reply.result.map_or("answered by its value", result_word);
        let question = Question {
            title: format!("This was REJECTED in this walk. Replace that: {new}?"),
            lines: vec![found],
            yes: "replace it".to_owned(),
            no: "the reject stays".to_owned(),
            scroll: 0,
            then: Then::Replace(action.clone()),
        };
        self.ask_first(question);
        true
    }

    /// The reject of this walk that a reply would take the place of. A repair is claimed on it, and leaves it open.
    fn rejected_here(&self, reply: &Reply) -> Option<(Option<Severity>, String)> {
        if reply.result == Some(Outcome::Repaired) {
            return None;
        }
        let walk = self.state.walk.as_ref()?;
        let id = walk.id.as_deref()?;
        let standings = walk.history.standings_of(&reply.check).into_iter();
        let of_it = |of: Option<&str>| reply.of.is_none() || of.is_none() || of == reply.of.as_deref();
        let mut rejects = standings
            .filter(|one| one.finding.walk == id && one.finding.result == Outcome::Reject && of_it(one.of));
        let reject = rejects.next()?;
        let of = reject.of.map_or_else(String::new, |of| format!(" ({of})"));
        let note = reject.finding.note.as_ref().map_or_else(String::new, |note| format!(": {note}"));
        let wrong = walk.start.rules.listed(reject.finding);
        let text = format!("{wrong}{of}{note}, {}", when(reject.kept.seen_at()));
        Some((Some(reject.finding.severity), text))
    }
}
