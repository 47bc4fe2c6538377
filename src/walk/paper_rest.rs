//! Rows of a sheet that were ticked accept and nothing else: by codes and ranges, and what was ticked of the rest.

use std::collections::{BTreeMap, BTreeSet};

use crate::diagnostic::{Diagnostic, Place};
use crate::model::entry::{Entry, Finding, Outcome, Severity};
use crate::rules::Check;
use crate::source::{Reader, Word};

use super::action::{Objection, Wants};
use super::paper::{PaperAnswers, Play};
use super::reply::{Reply, settle};

/// The one word that `rest` takes.
const REST: &[(&str, Outcome)] = &[("accept", Outcome::Accept)];

/// What stands for no row at all.
const NONE: &str = "none";

/// How to mend a list of codes.
const LISTED: &str = "give codes and ranges with blanks between: accept = \"TL03 TL05..TL09\"";

/// Rows without a table of their own.
#[derive(Clone, Debug, Default)]
pub struct PlainRows {
    /// Codes and ranges of rows ticked accept.
    pub accept: Option<Word>,
    /// Codes and ranges of rows without a tick.
    pub blank: Option<Word>,
    /// Where the file says that every other row is ticked accept.
    pub rest: Option<Place>,
}

/// Reads the rows without a table of their own.
pub(super) fn plain_rows(r: &Reader<'_>) -> PlainRows {
    let accept = r.word("accept", "Rows ticked accept, by code and range: \"TL03 TL05..TL09\".");
    let blank = r.word(
        "blank",
        "Rows left without a tick, by code and range, or \"none\". Needed beside rest, which never answers them.",
    );
    let rest = r.choice(
        "rest",
        "accept: every other row is ticked accept. It answers only fix and note checks of look, feel or ask.",
        REST,
    );
    PlainRows { accept, blank, rest: rest.map(|_| r.place("rest")) }
}

/// One word of a list: a code, or a range from one to another.
enum Listed<'t> {
    One(&'t str),
    Range(&'t str, &'t str),
}

fn listed(text: &str) -> impl Iterator<Item = Listed<'_>> {
    let words = text.split(|c: char| c.is_whitespace() || c == ',').filter(|word| !word.is_empty());
    words.map(|word| match word.split_once("..") {
        Some((from, to)) => Listed::Range(from, to),
        None => Listed::One(word),
    })
}

/// Checks by their code, in the order of the codes.
type ByCode<'c> = BTreeMap<String, &'c Check>;

impl Play<'_> {
    /// Answers the rows that have no table of their own. `row` is the last one that has one.
    pub(super) fn plain_rows(&mut self, paper: &PaperAnswers, row: u32) {
        let rules = std::sync::Arc::clone(&self.walk.start.rules);
        let asked: Vec<String> = self.walk.plan.steps.iter().map(|step| step.check.clone()).collect();
        let of_sheet = asked.iter().filter_map(|id| rules.check(id));
        let sheet: ByCode<'_> =
            of_sheet.filter_map(|check| Some((check.code.as_ref()?.to_uppercase(), check))).collect();
        let by_itself = self.by_itself(paper);
        let blank = self.blank(paper, &sheet);
        let row = self.ticked(paper, row, &sheet, &by_itself);
        let Some(rest) = &paper.plain.rest else { return };
        if paper.plain.blank.is_none() {
            let message = "rest answers no row that was left blank, and this does not say which were";
            let help = "add blank = \"TL04 TL07\", the rows without a tick, or blank = \"none\"";
            self.diagnostics.push(Diagnostic::error(rest, message, help));
            return;
        }
        for (code, check) in &sheet {
            let left = !blank.contains(code) && !by_itself.contains_key(check.id.as_str());
            if left && self.why_not_rest(check).is_none() {
                self.of_rest(paper, rest, check, row);
            }
        }
    }

    /// Checks that the file answers in a table of their own, and whether every one of these answers is an accept.
    fn by_itself(&self, paper: &PaperAnswers) -> BTreeMap<String, bool> {
        let mut found = BTreeMap::new();
        for answer in &paper.answers {
            let mut reply = answer.reply.clone();
            // One that names nothing has been told already.
            if self.by_code(paper, &mut reply).is_ok() {
                let accepts = found.entry(reply.check).or_insert(true);
                *accepts &= reply.result == Some(Outcome::Accept);
            }
        }
        found
    }

    /// The rows that were left blank.
    fn blank(&mut self, paper: &PaperAnswers, sheet: &ByCode<'_>) -> BTreeSet<String> {
        let Some(word) = paper.plain.blank.as_ref().filter(|word| word.text.trim() != NONE) else {
            return BTreeSet::new();
        };
        let mut blank = BTreeSet::new();
        for one in listed(&word.text) {
            let (from, to) = match one {
                Listed::One(code) => (code, code),
                Listed::Range(from, to) => (from, to),
            };
            match within(sheet, from, to) {
                Ok(codes) => blank.extend(codes),
                Err(message) => self.diagnostics.push(Diagnostic::error(&word.at, message, LISTED)),
            }
        }
        blank
    }

    /// Accepts what is listed. A code by itself is an answer like any other; a range covers only what `rest` could answer.
    /// Gives the last row used.
    fn ticked(
        &mut self,
        paper: &PaperAnswers,
        mut row: u32,
        sheet: &ByCode<'_>,
        by_itself: &BTreeMap<String, bool>,
    ) -> u32 {
        let Some(word) = &paper.plain.accept else { return row };
        let mut ranges = BTreeSet::new();
        for one in listed(&word.text) {
            match one {
                Listed::One(code) => {
                    row += 1;
                    if !self.done.contains(&row) {
                        self.plain_accept(paper, code, &word.at, row);
                    }
                }
                Listed::Range(from, to) => match within(sheet, from, to) {
                    Ok(codes) => ranges.extend(codes),
                    Err(message) => self.diagnostics.push(Diagnostic::error(&word.at, message, LISTED)),
                },
            }
        }
        let mut refused = Vec::new();
        for (code, check) in sheet.iter().filter(|(code, _)| ranges.contains(*code)) {
            if self.done.contains(&self.row_of(check, row)) {
                continue;
            }
            match (by_itself.get(&check.id), self.why_not_range(check)) {
                (Some(true), _) => {}
                (Some(false), _) => refused.push(format!("{code} is answered otherwise in this file")),
                (None, Some(why)) => refused.push(format!("{code} {why}")),
                (None, None) => self.of_rest(paper, &word.at, check, row),
            }
        }
        if !refused.is_empty() {
            let message = format!("a range covers only plain fix and note checks: {}", refused.join(", "));
            let help = "list these one by one, each as its box was ticked, and leave them out of the range";
            self.diagnostics.push(Diagnostic::error(&word.at, message, help));
        }
        row
    }

    /// A plain accept of one code.
    fn plain_accept(&mut self, paper: &PaperAnswers, code: &str, at: &Place, row: u32) {
        let mut reply = Reply::plain(code, Outcome::Accept);
        reply.by = paper.by.clone().or_else(|| self.walk.start.by.clone());
        let found = self.by_code(paper, &mut reply).and_then(|()| {
            let rules = &self.walk.start.rules;
            match rules.check(&reply.check) {
                Some(_) => self.settled(&mut reply),
                None => Err(Objection::new(Wants::Nothing, format!("there is no check {code}"))),
            }
        });
        match found {
            Ok(finding) => self.keep_row(paper, finding, row, false),
            Err(objection) => {
                let message = format!("{code}: {}", objection.message);
                self.refuse(at, &Objection::new(objection.wants, message));
            }
        }
    }

    /// Accepts one of a range or of the rest. What a number or the rule speaks against stays to be answered by itself.
    fn of_rest(&mut self, paper: &PaperAnswers, at: &Place, check: &Check, row: u32) {
        let row = self.row_of(check, row);
        if self.done.contains(&row) {
            return;
        }
        let mut reply = Reply::plain(&check.id, Outcome::Accept);
        reply.by = paper.by.clone().or_else(|| self.walk.start.by.clone());
        match self.settled(&mut reply) {
            Ok(finding) => self.keep_row(paper, finding, row, true),
            Err(objection) => self.refuse(at, &objection),
        }
    }

    fn keep_row(&mut self, paper: &PaperAnswers, finding: Finding, row: u32, rest: bool) {
        let mut sheet = paper.row(row);
        sheet.rest = rest;
        self.keep(Entry::Finding(Box::new(Finding { sheet: Some(sheet), ..finding })), None);
    }

    /// The row of a check that has none of its own on file: by its place in the rules, whatever was kept before.
    fn row_of(&self, check: &Check, row: u32) -> u32 {
        let at = self.walk.start.rules.checks.iter().position(|known| known.id == check.id);
        row.saturating_add(1).saturating_add(at.and_then(|at| u32::try_from(at).ok()).unwrap_or(u32::MAX))
    }

    /// Why a range may not span a check.
    fn why_not_range(&self, check: &Check) -> Option<&'static str> {
        let items = self.walk.evaluator().items(check);
        let standings = self.walk.history.standings_of(&check.id);
        if check.first {
            Some("comes first of all")
        } else if check.severity == Severity::Stop {
            Some("is a stop")
        } else if !check.method.by_answer() {
            Some("has a value")
        } else if items.len() > 1 {
            Some("has several items")
        } else if standings.iter().any(|standing| standing.is_open()) {
            Some("is open")
        } else {
            let accept = Reply::plain(&check.id, Outcome::Accept);
            let settled = settle(&self.walk.evaluator(), &self.walk.history, "", &accept);
            settled.err().map(|_| "is spoken against by its number")
        }
    }

    /// Why the rest does not answer a check: as with a range, and where this walk has answered it already.
    fn why_not_rest(&self, check: &Check) -> Option<&'static str> {
        let answered = self.walk.answered().contains(check.id.as_str());
        if answered { Some("is answered") } else { self.why_not_range(check) }
    }
}

/// The codes of a sheet from one to another.
fn within(sheet: &ByCode<'_>, from: &str, to: &str) -> Result<Vec<String>, String> {
    let (from, to) = (from.to_uppercase(), to.to_uppercase());
    for code in [&from, &to] {
        if !sheet.contains_key(code) {
            return Err(format!("this sheet has no row {code}"));
        }
    }
    let station = |code: &str| code.trim_end_matches(|c: char| c.is_ascii_digit()).to_owned();
    if station(&from) != station(&to) {
        return Err(format!("{from}..{to} goes over two stations: a range stays at one"));
    }
    if from > to {
        return Err(format!("{from}..{to} goes backwards"));
    }
    Ok(sheet.range(from..=to).map(|(code, _)| code.clone()).collect())
}
