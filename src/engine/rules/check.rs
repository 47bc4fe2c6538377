//! One check of a ruleset.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::NaiveDate;

use crate::diagnostic::Place;
use crate::model::entry::{Finding, Outcome, Severity};
use crate::source::Table;

use super::condition::Condition;
use super::limits::{ComputeRow, RowWords, Typed};
use super::ruleset::Profile;

/// One check.
#[derive(Clone, Debug)]
pub struct Check {
    /// Its id.
    pub id: String,
    /// Its code: two letters of its station and two digits.
    pub code: Option<String>,
    /// What it is about.
    pub topic: Topic,
    /// Its title: the state that is wanted.
    pub title: String,
    /// What is looked at: the part, as a noun.
    pub subject: Option<String>,
    /// What is wrong where it is rejected, in a few words; the title stands in for it where a file gives none.
    pub fault: Option<String>,
    /// The same for a slip or a board, in fewer.
    pub brief: Option<String>,
    /// The first thing to do about it.
    pub first_step: Option<String>,
    /// Its usual ways to fail, which a digit picks.
    pub causes: Vec<RowWords>,
    /// Its station.
    pub station: String,
    /// Asked before any station.
    pub first: bool,
    /// How much a reject weighs.
    pub severity: Severity,
    /// Profiles that walk it.
    pub profiles: Vec<String>,
    /// Seconds it takes in a queue.
    pub seconds: Option<u32>,
    /// Stages of a build that open it.
    pub stage: Vec<String>,
    /// Cars it is for.
    pub when: Option<Condition>,
    /// Cars it is not for.
    pub unless: Option<Condition>,
    /// Where its table stands, in the last file that touches it.
    pub place: Place,
    /// The words shown.
    pub words: Words,
    /// May not be accepted by eye without a value.
    pub no_eye: bool,
    /// How it is done.
    pub method: Method,
    /// Where it comes from.
    pub sources: Vec<Source>,
    /// Its typed value.
    pub typed: Typed,
    /// Numbers beside it.
    pub compute: Vec<ComputeRow>,
    /// Its own tests.
    pub cases: Vec<Case>,
    /// The merged table, for explaining which file set what.
    pub table: Arc<Table>,
}

impl Check {
    /// What is wrong where it is rejected.
    pub fn wrong(&self) -> &str {
        self.fault.as_deref().unwrap_or(&self.title)
    }

    /// What is looked at; the title stands in for it where a file gives none.
    pub fn looked_at(&self) -> &str {
        self.subject.as_deref().unwrap_or(&self.title)
    }

    /// What a limit of this check says of itself, by the id of its row.
    fn row_words(&self, row: &str) -> Option<&RowWords> {
        let computed = self.compute.iter().map(|one| (one.id.as_str(), &one.words));
        let typed: Vec<(&str, &RowWords)> = match &self.typed {
            Typed::Measure(rows) => rows.iter().map(|one| (one.id.as_str(), &one.words)).collect(),
            Typed::Count(rows) => rows.iter().map(|one| (one.id.as_str(), &one.words)).collect(),
            Typed::Date(rows) => rows.iter().map(|one| (one.id.as_str(), &one.words)).collect(),
            Typed::None => Vec::new(),
        };
        typed.into_iter().chain(computed).find(|(id, _)| *id == row).map(|(_, words)| words)
    }

    /// What the limit or the way to fail says of itself that was the cause of a finding. A way that a person picked stands
    /// among the notes.
    fn words_of(&self, finding: &Finding, notes: &[&str]) -> Option<&RowWords> {
        let picked = |cause: &&RowWords| cause.fault.as_deref().is_some_and(|fault| notes.contains(&fault));
        self.limit_of(finding).or_else(|| self.causes.iter().find(picked))
    }

    /// What the limit says of itself that was the cause.
    fn limit_of(&self, finding: &Finding) -> Option<&RowWords> {
        self.row_words(finding.row.as_deref()?)
    }

    /// What is wrong by a finding that rejects: what the limit says that failed, else what the check says. A way to fail
    /// stands beside it, as the note.
    pub fn fault_of(&self, finding: &Finding) -> &str {
        let own = self.limit_of(finding).and_then(|words| words.fault.as_deref());
        own.unwrap_or_else(|| self.wrong())
    }

    /// What is wrong where a limit fails, by the id of its row.
    pub fn fault_of_limit(&self, row: &str) -> &str {
        self.row_words(row).and_then(|words| words.fault.as_deref()).unwrap_or_else(|| self.wrong())
    }

    /// The same in fewer words, where there are any.
    pub fn brief_of(&self, finding: &Finding) -> &str {
        match self.limit_of(finding) {
            Some(limit) if limit.fault.is_some() => limit.brief.as_deref(),
            _ => self.brief.as_deref(),
        }
        .unwrap_or_else(|| self.fault_of(finding))
    }

    /// What to do about a finding that rejects, with what was noted on it.
    pub fn remedy_of(&self, finding: &Finding, notes: &[&str]) -> &str {
        let own = self.words_of(finding, notes).and_then(|words| words.remedy.as_deref());
        own.unwrap_or(&self.words.remedy)
    }

    /// Parts that this takes. A limit or a way to fail with a remedy of its own takes only the parts that it names.
    pub fn parts_of(&self, finding: &Finding, notes: &[&str]) -> &[String] {
        match self.words_of(finding, notes) {
            Some(RowWords { parts: Some(parts), .. }) => parts,
            Some(RowWords { remedy: Some(_), .. }) => &[],
            _ => &self.words.parts,
        }
    }

    /// Document and place that it rests on, where one of its sources names a place.
    pub fn clause(&self) -> Option<String> {
        let named = |source: &&Source| !source.clause.is_empty() || source.page.is_some();
        self.sources.iter().find(named).map(Source::cited)
    }

    /// Whether a number alone may close it: only where there is nothing to look at.
    pub fn closes_by_number(&self) -> bool {
        self.words.look.is_none() && !self.method.by_answer()
    }

    /// Whether what it says hangs on worked-out numbers.
    pub fn needs_numbers(&self) -> bool {
        let works_limits = match &self.typed {
            Typed::Measure(rows) => rows.iter().any(|row| !row.worked.is_empty()),
            _ => false,
        };
        works_limits || !self.compute.is_empty()
    }

    /// Whether a plain accept needs a value: a typed method whose value may not be judged by eye.
    pub fn needs_value(&self) -> bool {
        self.no_eye && matches!(self.method, Method::Count | Method::Measure | Method::Date)
    }

    /// Whether it belongs to a stage of a build; every check does where none is walked.
    pub fn in_stage(&self, stage: Option<&str>) -> bool {
        stage.is_none_or(|stage| self.stage.is_empty() || self.stage.iter().any(|known| known == stage))
    }

    /// Whether the check is one of a profile's.
    pub fn in_profile(&self, profile: &Profile) -> bool {
        let from = profile.from.as_deref().unwrap_or(&profile.id);
        self.profiles.iter().any(|id| id == from) && profile.only.contains(&self.severity)
    }
}

/// The words of a check.
#[derive(Clone, Debug, Default)]
pub struct Words {
    /// What to look at; none for a pure number.
    pub look: Option<String>,
    /// Accept when.
    pub accept: String,
    /// Reject when.
    pub reject: String,
    /// Why it matters.
    pub why: String,
    /// What to do.
    pub remedy: String,
    /// Parts for it.
    pub parts: Vec<String>,
    /// What can hurt.
    pub caution: Option<String>,
    /// The rest of it.
    pub caution_more: Option<String>,
    /// Where rulebooks differ.
    pub rulebooks_differ: Option<String>,
}

/// What a check is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the words are the trade's own")]
pub enum Topic {
    BrakeLines,
    BrakeHydraulics,
    SuppressionLines,
    Nozzles,
    Bottles,
    PullCables,
    Electrics,
    Paperwork,
}

impl Topic {
    /// The words of files.
    pub const WORDS: &'static [(&'static str, Self)] = &[
        ("brake-lines", Self::BrakeLines),
        ("brake-hydraulics", Self::BrakeHydraulics),
        ("suppression-lines", Self::SuppressionLines),
        ("nozzles", Self::Nozzles),
        ("bottles", Self::Bottles),
        ("pull-cables", Self::PullCables),
        ("electrics", Self::Electrics),
        ("paperwork", Self::Paperwork),
    ];
}

/// How a check is done, mainly.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the words say it")]
pub enum Method {
    Look,
    Feel,
    Ask,
    Count,
    Measure,
    Date,
    Compute,
}

impl Method {
    /// The words of files.
    pub const WORDS: &'static [(&'static str, Self)] = &[
        ("look", Self::Look),
        ("feel", Self::Feel),
        ("ask", Self::Ask),
        ("count", Self::Count),
        ("measure", Self::Measure),
        ("date", Self::Date),
        ("compute", Self::Compute),
    ];

    /// The word of files.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, method)| *method == self).map_or("", |(word, _)| word)
    }

    /// Whether a value is never demanded: the answer alone is enough.
    pub fn by_answer(self) -> bool {
        matches!(self, Self::Look | Self::Feel | Self::Ask)
    }
}

/// How far a source was seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SourceBasis {
    /// Published, read in the original or in a reprint.
    Published,
    /// Recalled or only quoted.
    FromMemory,
    /// A rule of the trade.
    CommonPractice,
}

/// Where a part of a check comes from.
#[derive(Clone, Debug)]
pub struct Source {
    /// What it supports.
    pub supports: String,
    /// The document.
    pub document: String,
    /// Which edition of it.
    pub edition: Option<String>,
    /// The place in it.
    pub clause: String,
    /// The page.
    pub page: Option<String>,
    /// How far it was seen.
    pub basis: SourceBasis,
    /// `original` or `reprint`.
    pub seen: Option<String>,
}

impl Source {
    /// Document, edition, clause and page.
    pub fn cited(&self) -> String {
        let edition = self.edition.as_ref().map(|edition| format!("edition {edition}"));
        let page = self.page.as_ref().map(|page| format!("page {page}"));
        let clause = Some(self.clause.clone()).filter(|clause| !clause.is_empty());
        let parts = [Some(self.document.clone()), edition, clause, page].into_iter().flatten();
        parts.filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
    }
}

impl std::fmt::Display for Source {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.basis == SourceBasis::CommonPractice {
            return f.write_str("common practice, no source");
        }
        f.write_str(&self.cited())?;
        match (self.basis, self.seen.as_deref()) {
            (SourceBasis::FromMemory, _) => f.write_str(" (cited; original not checked)"),
            (_, Some(seen)) => write!(f, " (published, seen in {seen})"),
            _ => f.write_str(" (published)"),
        }
    }
}

/// The rule's own test.
#[derive(Clone, Debug)]
pub struct Case {
    /// Where it stands.
    pub place: Place,
    /// What is given.
    pub given: Given,
    /// What is expected: an outcome, `asked` or `left-out`.
    pub expect: String,
}

/// What a case gives.
#[derive(Clone, Debug, Default)]
pub struct Given {
    /// The typed value.
    pub value: Option<String>,
    /// Values by row id, quantity or key.
    pub values: BTreeMap<String, String>,
    /// Readings by key.
    pub readings: BTreeMap<String, String>,
    /// Instrument.
    pub instrument: Option<String>,
    /// What the person says.
    pub result: Option<Outcome>,
    /// The day.
    pub on: Option<NaiveDate>,
    /// The car's facts.
    pub car: Option<crate::model::car::Facts>,
}
