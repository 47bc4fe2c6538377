//! Open items, numbers, the report and the rules in force.

use crate::model::entry::Outcome;
use crate::walk::{Action, Reply, Workspace, next_as_text, next_of};

use super::answering::shifted;
use super::app::App;
use super::figures::number_lines;
use super::keymap::UiAction;
use super::moving::scrolled;
use super::sheet::{OpenItem, named};
use super::state::{
    About, FindingsPage, From, NumbersPage, Overlay, Purpose, ReportPage, RulesPage, Screen, StartPage,
};
use super::text::result_word;

impl FindingsPage {
    /// The item chosen.
    pub fn item(&self) -> Option<&OpenItem> {
        self.items.get(self.at?)
    }

    /// Takes in the list as it is now. The choice stays with its item, wherever that is sorted to; where the item is
    /// gone, none is chosen, so that the next key is about no other one.
    pub fn fill(&mut self, items: Vec<OpenItem>) {
        let first = self.items.is_empty();
        let chosen = self.item().map(|item| (item.check.clone(), item.of.clone()));
        self.items = items;
        self.at = match (chosen, self.at) {
            (Some((check, of)), Some(at)) => {
                self.next = at;
                self.items.iter().position(|item| item.check == check && item.of == of)
            }
            _ if first && !self.items.is_empty() => Some(0),
            _ => None,
        };
    }

    /// Moves the choice.
    pub fn choose(&mut self, down: bool) {
        let last = self.items.len().saturating_sub(1);
        self.at = Some(match (self.at, down) {
            (None, true) => self.next.min(last),
            (None, false) => self.next.saturating_sub(1).min(last),
            (Some(at), true) => (at + 1).min(last),
            (Some(at), false) => at.saturating_sub(1),
        });
    }
}

impl<G: Workspace> App<G> {
    /// Goes back to where a page was opened from.
    fn go_back(&mut self, from: From) {
        match from {
            From::Start => self.state.screen = Screen::Start(StartPage::default()),
            From::Walk => self.back_to_walk(),
            From::End => self.open_end(),
        }
    }

    pub(super) fn open_findings(&mut self, from: From) {
        self.show(Screen::Findings(FindingsPage { from, ..FindingsPage::default() }));
    }

    fn item(&self) -> Option<OpenItem> {
        match &self.state.screen {
            Screen::Findings(page) => page.item().cloned(),
            _ => None,
        }
    }

    pub(super) fn act_findings(&mut self, action: UiAction) {
        let Screen::Findings(page) = &mut self.state.screen else { return };
        let from = page.from;
        match action {
            UiAction::Down | UiAction::Up => page.choose(action == UiAction::Down),
            UiAction::Report => self.open_report(from),
            UiAction::Plan => self.open_plan(),
            UiAction::Back => self.go_back(from),
            _ => {
                if let Some(item) = self.item() {
                    self.act_item(action, &item);
                }
            }
        }
    }

    fn act_item(&mut self, action: UiAction, item: &OpenItem) {
        match action {
            UiAction::Accept => self.answer_item(item, Outcome::Accept, false),
            UiAction::ByEye => self.answer_item(item, Outcome::Accept, true),
            UiAction::Reject => self.answer_item(item, Outcome::Reject, false),
            UiAction::Repaired => self.answer_item(item, Outcome::Repaired, false),
            UiAction::Note if item.calculated => {
                let about = About { check: item.check.clone(), of: item.of.clone(), name: item.named() };
                self.ask_words(format!("Note on {}:", about.name), "", Purpose::Note(about));
            }
            UiAction::Withdraw | UiAction::Heavier | UiAction::Lighter if item.calculated => {
                self.state
                    .object("A number rejects this, and nobody has looked yet: accept or reject it first.");
            }
            UiAction::Withdraw => self.withdraw(std::slice::from_ref(&item.record), None),
            UiAction::Note => self.ask_words(
                format!("The owner's own remark on {}:", item.named()),
                "",
                Purpose::Remark(item.record.clone(), item.named()),
            ),
            UiAction::Heavier | UiAction::Lighter => {
                match shifted(item.severity, action == UiAction::Heavier) {
                    Some(severity) => self.weigh_record(&item.record, severity),
                    None => self.state.say("It cannot go further that way."),
                }
            }
            UiAction::Go | UiAction::TypeValue => self.go_to_item(item, action == UiAction::TypeValue),
            _ => {}
        }
    }

    /// Answers an open item again, for the very item it is of.
    fn answer_item(&mut self, item: &OpenItem, result: Outcome, by_eye: bool) {
        let (of, by_eye) = (item.of.clone(), by_eye && item.measured);
        let reply = Reply { of, by_eye, ..Reply::plain(&item.check, result) };
        self.settle(Action::Answer(Box::new(reply)));
    }

    /// After an answer to an open item: what it came to, by name; after a reject the note line is open.
    pub(super) fn item_answered(&mut self, records: &[String]) {
        self.state.overlay = None;
        let findings = self.findings_of(records);
        self.drafts_answered(&findings);
        let Some((_, finding)) = findings.into_iter().next_back() else { return };
        let words = match finding.result {
            Outcome::Accept => "looked at again and accepted: it is closed",
            Outcome::Repaired => "said to be repaired: open until someone looks again and accepts",
            Outcome::Reject => "looked at again and rejected: it stays open",
            other => result_word(other),
        };
        self.state.say(format!("Kept: {words} — {}", named(&finding.title, finding.of.as_deref())));
        self.note_after_reject(&finding);
    }

    /// Goes to the check of an item, where the walk has it.
    fn go_to_item(&mut self, item: &OpenItem, typing: bool) {
        let at = self.state.walk.as_ref().and_then(|walk| walk.plan.position(&item.check));
        match at {
            Some(at) => {
                self.go_to(at);
                self.refresh();
                if typing {
                    self.begin_typing(false, None);
                }
            }
            None => self.state.say("This walk does not ask that check: accept or reject it from here."),
        }
    }

    pub(super) fn open_numbers(&mut self, from: From) {
        let mut lines = self.state.walk.as_ref().map(number_lines).unwrap_or_default();
        // What is outside or undecided first, then by the part of the car.
        lines.sort_by_key(|line| line.group.0);
        self.show(Screen::Numbers(NumbersPage { lines, from, ..NumbersPage::default() }));
    }

    pub(super) fn act_numbers(&mut self, action: UiAction) {
        let Screen::Numbers(page) = &mut self.state.screen else { return };
        let from = page.from;
        match action {
            UiAction::Down if page.open => page.scroll += 1,
            UiAction::Up if page.open => page.scroll = page.scroll.saturating_sub(1),
            UiAction::Down => page.at = (page.at + 1).min(page.lines.len().saturating_sub(1)),
            UiAction::Up => page.at = page.at.saturating_sub(1),
            UiAction::Go => (page.open, page.scroll) = (!page.open && !page.lines.is_empty(), 0),
            UiAction::Plan => self.open_plan(),
            UiAction::Discharge => self.open_discharge(),
            UiAction::WhatIf => self.open_what_if(),
            UiAction::MeasureNext => self.open_measure_next(from),
            UiAction::Back if page.open => page.open = false,
            UiAction::Back => self.go_back(from),
            _ => {}
        }
    }

    fn open_measure_next(&mut self, from: From) {
        let Some(walk) = &self.state.walk else { return };
        let text = next_as_text(&walk.start.car.number, &next_of(walk), walk.start.units);
        self.show(Screen::MeasureNext(ReportPage { text, scroll: 0, from }));
    }

    pub(super) fn act_measure_next(&mut self, action: UiAction) {
        let Screen::MeasureNext(page) = &mut self.state.screen else { return };
        let from = page.from;
        match action {
            UiAction::Save => {
                let name = format!("measure-next-{}.txt", self.state.now.format("%Y-%m-%d-%H%M"));
                let text = std::mem::take(&mut page.text);
                self.save_text(&name, &text);
                self.show(Screen::MeasureNext(ReportPage { text, scroll: 0, from }));
            }
            UiAction::Back => self.open_numbers(from),
            action => scrolled(&mut page.scroll, action),
        }
    }

    pub(super) fn open_report(&mut self, from: From) {
        let Some(walk) = &self.state.walk else { return };
        let text = (self.options.preview)(walk, self.state.now);
        self.show(Screen::Report(ReportPage { text, scroll: 0, from }));
    }

    pub(super) fn act_report(&mut self, action: UiAction) {
        let Screen::Report(page) = &mut self.state.screen else { return };
        let from = page.from;
        match action {
            UiAction::Down => {
                page.scroll = (page.scroll + 1).min(page.text.lines().count().saturating_sub(1))
            }
            UiAction::Up => page.scroll = page.scroll.saturating_sub(1),
            UiAction::Save => self.save_report(),
            UiAction::Back => self.go_back(from),
            _ => {}
        }
    }

    pub(super) fn open_rules(&mut self, from: From) {
        self.show(Screen::Rules(RulesPage { scroll: 0, from }));
    }

    pub(super) fn act_rules(&mut self, action: UiAction) {
        let Screen::Rules(page) = &mut self.state.screen else { return };
        let from = page.from;
        match action {
            UiAction::Back => self.go_back(from),
            action => scrolled(&mut page.scroll, action),
        }
    }

    fn save_report(&mut self) {
        let Screen::Report(page) = &self.state.screen else { return };
        let name = format!("deficiencies-{}.txt", self.state.now.format("%Y-%m-%d-%H%M"));
        self.save_text(&name, &page.text.clone());
    }

    fn save_text(&mut self, name: &str, text: &str) {
        match self.workspace.save_report(name, text.as_bytes()) {
            Ok(path) => self.state.say(format!("Saved: {path}")),
            Err(message) => self.state.object(format!("NOT SAVED: {message}")),
        }
    }

    /// Closes what lies over the screen.
    pub(super) fn uncover(&mut self) {
        self.state.overlay = None::<Overlay>;
    }
}
