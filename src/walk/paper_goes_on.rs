//! An answers file from its first record to its last: one that was cut off goes on with where it stopped.

use std::collections::BTreeSet;

use crate::diagnostic::Diagnostic;
use crate::model::entry::{AnswersFile, Entry, SheetRow};

use super::decide::{computed_rejects, opening};
use super::paper::{PaperAnswers, Play, first_place};

impl PaperAnswers {
    /// A row of the file, as a record names it.
    pub(super) fn row(&self, row: u32) -> SheetRow {
        SheetRow { file: self.sha256.chars().take(16).collect(), row, rest: false }
    }

    /// That the file is being kept, or was kept whole.
    fn mark(&self, walk: &str, whole: bool) -> Entry {
        let (walk, sha256, by) = (walk.to_owned(), self.sha256.clone(), self.by.clone());
        Entry::AnswersFile(AnswersFile { walk, sha256, whole, by })
    }
}

impl Play<'_> {
    /// Finds out whether this very file was kept before: whole, and then it is refused unless that is meant; or not to its
    /// end, and then it goes on with the rows that are lacking.
    pub(super) fn take_up(&mut self, paper: &PaperAnswers, again: bool) {
        let history = &self.walk.history;
        let marked = history.all().iter().rposition(|kept| match &kept.entry {
            Entry::WalkStarted(started) => started.answers_sha256.as_ref() == Some(&paper.sha256),
            Entry::AnswersFile(file) => file.sha256 == paper.sha256,
            _ => false,
        });
        let Some(at) = marked else { return };
        let began = |entry: &Entry| match entry {
            Entry::AnswersFile(file) if file.sha256 == paper.sha256 && !file.whole => Some(file.walk.clone()),
            _ => None,
        };
        // The walk that a file begins stands after its own mark; one of the first format has none, and counts as whole.
        let before = history.all().get(..=at).unwrap_or_default();
        let whole =
            matches!(before.last().map(|kept| &kept.entry), Some(Entry::AnswersFile(file)) if file.whole);
        let begun = before.iter().rposition(|kept| began(&kept.entry).is_some()).filter(|_| !whole);
        match begun {
            Some(begun) => {
                let since = history.all().get(begun..).unwrap_or_default();
                self.begun = since.first().and_then(|kept| began(&kept.entry));
                let file = paper.row(0).file;
                let rows = since.iter().filter_map(|kept| match &kept.entry {
                    Entry::Finding(finding) => finding.sheet.as_ref(),
                    Entry::Reading(reading) => reading.sheet.as_ref(),
                    _ => None,
                });
                self.done = rows.filter(|row| row.file == file).map(|row| row.row).collect::<BTreeSet<u32>>();
                self.plan.before = self.done.len();
            }
            None if !again => {
                let help = "it would stand twice: give --again if that is meant";
                let place = first_place(paper);
                self.diagnostics.extend(
                    place.map(|place| Diagnostic::error(&place, "this very file was kept before", help)),
                );
            }
            None => {}
        }
    }

    /// Whether all of it was kept but the record that says so.
    fn only_unsaid(&self, paper: &PaperAnswers) -> bool {
        let ended = self.begun.as_ref().is_some_and(|id| {
            self.walk.history.walks().iter().any(|walk| walk.id == id && walk.ended.is_some())
        });
        ended && self.done.len() >= paper.readings.len() + paper.answers.len()
    }

    /// The mark that the file is begun, and the beginning of its walk where none is open.
    pub(super) fn begin(&mut self, paper: &PaperAnswers) {
        if self.only_unsaid(paper) {
            return;
        }
        let free = self.begun.clone().filter(|id| self.walk.history.get(id).is_none());
        let id = self.walk.id.clone().or(free).unwrap_or_else(&mut *self.new_id);
        if self.begun.is_none() {
            self.keep(paper.mark(&id, false), None);
        }
        if self.walk.id.is_none() {
            let mut started = opening(&self.walk);
            started.answers_sha256 = Some(paper.sha256.clone());
            started.rulebook.clone_from(&paper.rulebook);
            started.by = paper.by.clone().or(started.by);
            self.keep_as(id, Entry::WalkStarted(started), None);
        }
    }

    /// Rejects by number that nobody answered, the end of the walk where the file ends it, and that all of it is kept.
    pub(super) fn finish(&mut self, paper: &PaperAnswers) {
        if !self.only_unsaid(paper) {
            let id = self.walk.id.clone().unwrap_or_default();
            for finding in computed_rejects(&self.walk, &id) {
                self.keep(Entry::Finding(Box::new(finding)), None);
            }
            if paper.end {
                self.keep(Entry::WalkEnded { walk: id.clone(), by: paper.by.clone() }, None);
            }
            self.begun.get_or_insert(id);
        }
        let walk = self.begun.clone().unwrap_or_default();
        self.keep(paper.mark(&walk, true), None);
    }
}
