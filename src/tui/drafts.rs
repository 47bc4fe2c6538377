//! Texts half typed and put by: they stay with their check, in no record, until they are kept or emptied.

use crate::model::entry::{Entry, Finding};
use crate::walk::{Action, Draft, Workspace};

use super::app::App;
use super::overlay::About;
use super::state::{Overlay, Purpose, Screen, State, Typing, Words};

/// Where a draft belongs: its check, the item, and what the text is for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DraftPlace {
    /// The check.
    pub check: String,
    /// The item, where it is about one.
    pub of: Option<String>,
    /// What it is for.
    pub what: String,
}

impl DraftPlace {
    fn new(check: &str, of: Option<&str>, what: impl Into<String>) -> Self {
        Self { check: check.to_owned(), of: of.map(str::to_owned), what: what.into() }
    }

    fn is_of(&self, draft: &Draft) -> bool {
        draft.check == self.check && draft.of == self.of && draft.what == self.what
    }
}

/// What a value typed for a row is put by under; an input of a number; a reading of a hold; the instrument chosen.
pub const VALUE: &str = "value:";
const INPUT: &str = "input:";
const HOLD: &str = "hold:";
const INSTRUMENT: &str = "instrument";
const REASON: &str = "reason";

impl State {
    /// The draft of a place.
    fn draft(&self, place: &DraftPlace) -> Option<&str> {
        self.drafts.iter().find(|draft| place.is_of(draft)).map(|draft| draft.text.as_str())
    }

    /// Drafts of a check, in words.
    pub fn drafts_of(&self, check: &str) -> Vec<String> {
        let here = self.drafts.iter().filter(|draft| draft.check == check && draft.what != INSTRUMENT);
        here.map(|draft| draft.text.clone()).collect()
    }

    /// Titles of the checks that have a draft.
    pub fn drafted(&self) -> Vec<String> {
        let rules = self.walk.as_ref().map(|walk| &walk.start.rules);
        let mut titles: Vec<String> = Vec::new();
        for draft in self.drafts.iter().filter(|draft| draft.what != INSTRUMENT) {
            let check = rules.and_then(|rules| rules.check(&draft.check));
            let title = check.map_or(draft.check.as_str(), |check| &check.title);
            if titles.iter().all(|known| known != title) {
                titles.push(title.to_owned());
            }
        }
        titles
    }
}

impl<G: Workspace> App<G> {
    /// Reads the drafts of the car just opened.
    pub(super) fn read_drafts(&mut self) {
        match self.workspace.drafts() {
            Ok(drafts) => self.state.drafts = drafts,
            Err(message) => {
                self.state.drafts.clear();
                self.state.notes.push(format!("drafts: {message}"));
            }
        }
    }

    /// Puts a text by, or takes it away where it is empty; what could not be put by is said. Whether it is safe.
    pub(super) fn put_by(&mut self, texts: Vec<(DraftPlace, String)>) -> bool {
        let before = self.state.drafts.clone();
        for (place, text) in texts {
            self.state.drafts.retain(|draft| !place.is_of(draft));
            if !text.trim().is_empty() {
                let DraftPlace { check, of, what } = place;
                self.state.drafts.push(Draft { check, of, what, text });
            }
        }
        self.drafts_changed(&before)
    }

    /// Takes drafts away: their text is kept by now.
    pub(super) fn drop_drafts(&mut self, goes: impl Fn(&Draft) -> bool) {
        let before = self.state.drafts.clone();
        self.state.drafts.retain(|draft| !goes(draft));
        self.drafts_changed(&before);
    }

    fn drafts_changed(&mut self, before: &[Draft]) -> bool {
        if self.state.drafts == before {
            return true;
        }
        match self.workspace.keep_drafts(&self.state.drafts) {
            Ok(()) => true,
            Err(message) => {
                self.state.object(format!("The draft is NOT SAFE, it lasts only while this runs: {message}"));
                false
            }
        }
    }

    /// What an answer has taken up: values typed, and the reason that was asked for.
    pub(super) fn drafts_answered(&mut self, findings: &[(String, Finding)]) {
        let checks: Vec<String> = findings.iter().map(|(_, finding)| finding.check.clone()).collect();
        self.drop_drafts(|draft| {
            let taken = draft.what.starts_with(VALUE) || draft.what == INSTRUMENT || draft.what == REASON;
            taken && checks.contains(&draft.check)
        });
    }

    /// Where the words at hand are put by, if they are about a check.
    pub(super) fn place_of(&self, purpose: &Purpose) -> Option<DraftPlace> {
        let of_record = |record: &str, what: &str| {
            let walk = self.state.walk.as_ref()?;
            match &walk.history.get(record)?.entry {
                Entry::Finding(finding) => Some(DraftPlace::new(&finding.check, finding.of.as_deref(), what)),
                _ => None,
            }
        };
        match purpose {
            Purpose::Note(about) | Purpose::NoteAfter(about) => Some(place_of(about, "note")),
            Purpose::Photo(about) => Some(place_of(about, "photo")),
            Purpose::Remark(record, _) => of_record(record, "remark"),
            Purpose::NoteFor(Action::Answer(reply)) => {
                Some(DraftPlace::new(&reply.check, reply.of.as_deref(), REASON))
            }
            Purpose::NoteFor(Action::Weigh { record, .. } | Action::Withdraw { record, .. }) => {
                of_record(record, REASON)
            }
            Purpose::HoldReading(key) => match &self.state.screen {
                Screen::Hold(page) => Some(DraftPlace::new(&page.check, None, format!("{HOLD}{key}"))),
                _ => None,
            },
            _ => None,
        }
    }

    /// What the line begins with: what was put by there, where nothing else is given.
    pub(super) fn begun_text(&self, purpose: &Purpose, text: &str) -> String {
        let drafted = || self.place_of(purpose).and_then(|place| self.state.draft(&place).map(str::to_owned));
        if text.is_empty() { drafted().unwrap_or_default() } else { text.to_owned() }
    }

    /// Leaves a line of words: a text about a check is put by as a draft and that is said; any other is said to be
    /// dropped.
    pub(super) fn leave_words(&mut self, words: &Words) {
        let text = words.input.value().trim().to_owned();
        let Some(place) = self.place_of(&words.purpose) else {
            if !text.is_empty() {
                self.state.say(format!("Not kept: {text}"));
            }
            return;
        };
        let title = self.title_of(&place.check);
        let empty = text.is_empty();
        if self.put_by(vec![(place, text)]) && !empty {
            self.state.say(format!(
                "Put by as a draft on \"{title}\", not in the record: the same key goes on with it."
            ));
        }
    }

    fn title_of(&self, check: &str) -> String {
        let rules = self.state.walk.as_ref().map(|walk| &walk.start.rules);
        let found = rules.and_then(|rules| rules.check(check));
        found.map_or_else(|| check.to_owned(), |check| check.title.clone())
    }

    /// Puts values typed by, so that they are there when the line is opened again.
    pub(super) fn put_values_by(&mut self, typing: &Typing) -> bool {
        let place = |what: String| DraftPlace::new(&typing.check, None, what);
        let mut texts: Vec<(DraftPlace, String)> = Vec::new();
        for slot in &typing.slots {
            let kind = if slot.reading { INPUT } else { VALUE };
            let text = if slot.is_typed() { slot.input.value().to_owned() } else { String::new() };
            texts.push((place(format!("{kind}{}", slot.id)), text));
        }
        let typed = texts.iter().any(|(_, text)| !text.is_empty());
        let instrument = typing.instrument.clone().filter(|_| typed).unwrap_or_default();
        texts.push((place(INSTRUMENT.to_owned()), instrument));
        self.put_by(texts) && typed
    }

    /// Fills a line of values with what was put by there.
    pub(super) fn take_values_up(&self, typing: &mut Typing) {
        let text = |what: String| self.state.draft(&DraftPlace::new(&typing.check, None, what));
        let mut found = false;
        let kind = |reading: bool| if reading { INPUT } else { VALUE };
        let texts: Vec<Option<String>> = typing
            .slots
            .iter()
            .map(|slot| text(format!("{}{}", kind(slot.reading), slot.id)).map(str::to_owned))
            .collect();
        let instrument = text(INSTRUMENT.to_owned()).map(str::to_owned);
        for (slot, text) in typing.slots.iter_mut().zip(texts) {
            if let Some(text) = text {
                slot.input = tui_input::Input::new(text);
                found = true;
            }
        }
        if found {
            typing.instrument = instrument.or(typing.instrument.take());
        }
    }

    /// Readings that are kept by now.
    pub(super) fn inputs_kept(&mut self, check: &str) {
        self.drop_drafts(|draft| draft.check == check && draft.what.starts_with(INPUT));
    }

    /// Values put by before a hold are older than what it has read.
    pub(super) fn values_are_older(&mut self, check: &str) {
        self.drop_drafts(|draft| draft.check == check && draft.what.starts_with(VALUE));
    }
}

fn place_of(about: &About, what: &str) -> DraftPlace {
    DraftPlace::new(&about.check, about.of.as_deref(), what)
}

/// Whether words are still being typed.
pub fn is_open(over: Option<&Overlay>) -> bool {
    matches!(over, Some(Overlay::Words(_)))
}
