//! A stack of rule files to the ruleset in force.

use std::sync::{Arc, OnceLock};

use chrono::NaiveDate;

use crate::diagnostic::{self, Diagnostic, Place, SourceFile, any_error};
use crate::model::vocabulary::Declared;
use crate::source::{self, Node, Overrides, ReadState, Reader, Table, Value, Word};
use crate::units::Span;

use super::cache::{RulesetCache, Tree};
use super::dated::{DatedChange, Dates, for_day};
use super::lessens::lessened;
use super::merge::{NAMED, Over, both_set, merge};
use super::ruleset::{Change, Dropped, Layer, Repeat, Ruleset};
use super::words;

/// Rulesets that build on one another are a handful; more is a ring.
const DEEPEST: usize = 32;

/// Finds a ruleset's text by its id, for a file that extends it.
pub type Lookup<'a> = &'a dyn Fn(&str, &SourceFile) -> Option<Arc<SourceFile>>;

/// What loading gives: the rules as far as they could be read, and everything wrong or doubtful.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// The ruleset.
    pub rules: Arc<Ruleset>,
    /// Mistakes of every file in the stack.
    pub diagnostics: Vec<Diagnostic>,
}

/// The head of one file.
#[derive(Clone, Debug, Default)]
pub(super) struct Head {
    id: String,
    title: String,
    edition: String,
    reviewed: Option<NaiveDate>,
    review_every: Option<Span>,
    notice: Option<String>,
    dates: Dates,
    extends: Vec<Word>,
    words: Declared,
}

impl Head {
    pub(super) fn read(r: &Reader<'_>) -> Self {
        let head = Self {
            id: r.plain_id("id", "Name of the ruleset; other files extend it by this."),
            title: r.need_text("title", "What it is called."),
            edition: r.need_text_or_number("edition", "Its edition, such as 2026.1."),
            reviewed: r.date("reviewed", "When somebody last went through it.").map(|dated| dated.day),
            review_every: r
                .span("review_every", "How long that holds; past it every screen and report says so."),
            notice: r.text("notice", "Printed on every report beside the built-in notice."),
            dates: Dates::read(r),
            extends: r.words("extends", "Rulesets it builds on, later ones winning.").unwrap_or_default(),
            words: r
                .table(
                    "words",
                    "Words that its cars and conditions may use besides those known.",
                    words::read,
                )
                .unwrap_or_default(),
        };
        for (key, what, example) in [
            ("reviewed", "when it was reviewed", "reviewed = 2026-11-01"),
            ("review_every", "how often it has to be reviewed", "review_every = \"1 year\""),
        ] {
            r.needs(key);
            if !r.has(key) {
                r.lacks(key, format!("the ruleset does not say {what}"), format!("add {example}"));
            }
        }
        head
    }
}

/// One parsed file.
#[derive(Debug)]
struct Parsed {
    head: Head,
    root: Arc<Table>,
    layer: Layer,
}

/// Loads rule files, each over what it extends and over the files before it, as if every change in them were in force.
pub fn load(files: &[Arc<SourceFile>], lookup: Lookup<'_>) -> Loaded {
    Arc::unwrap_or_clone(load_from(&RulesetCache::default(), files, lookup, None))
}

/// As [`load`], with what was read before, and with a day only what is in force on it.
pub fn load_from(
    cache: &RulesetCache,
    files: &[Arc<SourceFile>],
    lookup: Lookup<'_>,
    on: Option<NaiveDate>,
) -> Arc<Loaded> {
    let mut stack = Stack {
        partial: false,
        adrift: false,
        words_read: true,
        on,
        cache,
        lookup,
        trees: Vec::new(),
        parsed: Vec::new(),
        open: Vec::new(),
        diagnostics: Vec::new(),
    };
    for file in files {
        stack.push(file);
    }
    // What a file lacks beside it shows only in its mistakes.
    let trees = stack.diagnostics.is_empty().then(|| std::mem::take(&mut stack.trees));
    if let Some(known) = trees.as_ref().and_then(|trees| cache.find(trees, on)) {
        return known;
    }
    let loaded = Arc::new(stack.merged(files));
    if let Some(trees) = trees {
        cache.keep(trees, on, &loaded);
    }
    loaded
}

fn read_merged(
    root: Table,
    files: &[Arc<SourceFile>],
    partial: bool,
) -> (Ruleset, Vec<Diagnostic>, Vec<Place>) {
    let file = files.last().cloned().unwrap_or_else(|| SourceFile::new("", ""));
    let node = Node { value: Value::Table(Arc::new(root)), at: Place { file, range: 0..0 } };
    let state = ReadState::of_part(Overrides::new(), partial);
    let rules = Reader::document(&node, &state, super::read::read);
    let lost = state.lost_headings();
    (rules, state.finish(), lost)
}

struct Stack<'a> {
    /// Whether a file could be parsed in part only.
    partial: bool,
    /// Whether something that it builds on is not there: what a file changes of it, or names in it, cannot be known.
    adrift: bool,
    /// Whether the words that the files declare could be read.
    words_read: bool,
    on: Option<NaiveDate>,
    cache: &'a RulesetCache,
    lookup: Lookup<'a>,
    /// The trees of all files, also of those that were on it already.
    trees: Vec<Arc<Tree>>,
    parsed: Vec<Parsed>,
    open: Vec<String>,
    diagnostics: Vec<Diagnostic>,
}

impl Stack<'_> {
    /// The ruleset of everything on it.
    fn merged(mut self, files: &[Arc<SourceFile>]) -> Loaded {
        let mut root = Table::default();
        let mut dropped: Vec<Dropped> = Vec::new();
        let mut repeats: Vec<Repeat> = Vec::new();
        let mut changes: Vec<Change> = Vec::new();
        let mut laid = Vec::new();
        let mut dated: Vec<DatedChange> = Vec::new();
        for (at, parsed) in self.parsed.iter().enumerate() {
            let (tree, of_layer) = for_day(&root, &parsed.root, &parsed.layer, self.on);
            dated.extend(of_layer);
            let off = |id: &str| dated.iter().any(|change| change.check == id && change.off.is_some());
            let adrift = self.adrift || self.partial;
            let over = Over { layer: &parsed.layer.id, first: at == 0, off: &off, adrift };
            let merged = merge(&mut root, &tree, &over);
            let found = source::beside(&self.diagnostics, merged.diagnostics);
            self.diagnostics.extend(found);
            dropped.extend(merged.dropped);
            repeats.extend(merged.repeats);
            changes.extend(merged.changes);
            laid.extend(merged.laid);
        }
        self.warn_both_set();
        let unsure = self.partial || self.adrift;
        let (mut rules, found, lost) = read_merged(root, files, unsure);
        self.parsed.iter().for_each(|parsed| rules.words.extend(&parsed.head.words));
        rules.layers = self.parsed.into_iter().map(|parsed| parsed.layer).collect();
        words::tell(&mut rules);
        rules.dropped = dropped;
        rules.repeats = repeats;
        rules.changes = changes;
        rules.dated = dated;
        let mut diagnostics = self.diagnostics;
        if !unsure {
            diagnostics.extend(super::codes::diagnostics(&rules));
        }
        // The mistakes of the last file's head come twice.
        let before = diagnostics.clone();
        let undeclared = if self.words_read { words::undeclared(&rules) } else { Vec::new() };
        let found = source::beside(&before, found).into_iter().chain(undeclared);
        diagnostics.extend(found.filter(|diagnostic| !before.contains(diagnostic)));
        let (lessened, without_reason) = lessened(&rules, &laid, &diagnostics);
        rules.lessened = lessened;
        if !unsure {
            diagnostics.extend(without_reason);
        }
        lost.iter().for_each(|place| source::only_at(place, &mut diagnostics));
        diagnostic::sort(&mut diagnostics);
        Loaded { rules: Arc::new(rules), diagnostics }
    }

    /// Puts a file on, after everything it extends.
    fn push(&mut self, file: &Arc<SourceFile>) {
        let tree = self.cache.tree(file);
        self.trees.push(Arc::clone(&tree));
        let table = &tree.root;
        self.partial |= !tree.diagnostics.is_empty();
        self.diagnostics.extend(tree.diagnostics.iter().cloned());
        let head = self.head(file, table);
        if let Some(known) = self.parsed.iter().find(|parsed| parsed.layer.id == head.id) {
            if known.layer.place.file.sha256() != tree.file.sha256() && !head.id.is_empty() {
                let at = place_of(table, "id").unwrap_or(Place { file: Arc::clone(file), range: 0..0 });
                let help = format!("{} has this id too: give one of them another", known.layer.file);
                self.diagnostics.push(Diagnostic::error(
                    &at,
                    format!("two rule files are called {}", head.id),
                    help,
                ));
            }
            return;
        }
        self.open.push(head.id.clone());
        for parent in &head.extends {
            self.push_parent(file, parent);
        }
        self.open.pop();
        let layer = Layer {
            id: head.id.clone(),
            title: head.title.clone(),
            edition: head.edition.clone(),
            reviewed: head.reviewed,
            review_every: head.review_every,
            notice: head.notice.clone(),
            dates: head.dates,
            is_root: head.extends.is_empty(),
            file: file.name.clone(),
            sha256: OnceLock::new(),
            place: place_of(table, "reviewed").unwrap_or(Place { file: Arc::clone(file), range: 0..0 }),
        };
        self.parsed.push(Parsed { head, root: Arc::clone(table), layer });
    }

    /// Reads the head alone; its mistakes come again with the merged reading where it is the last file.
    fn head(&mut self, file: &Arc<SourceFile>, table: &Table) -> Head {
        let of_head = |key: &str| !NAMED.contains(&key);
        let only: Vec<_> = table.entries.iter().filter(|(key, _)| of_head(&key.text)).cloned().collect();
        let at = Place { file: Arc::clone(file), range: 0..0 };
        let has_head = table.get("ruleset").is_some();
        // A head whose heading is lost or misspelled is told by the keys that nobody knows.
        if !has_head && !self.partial && only.iter().all(|(key, _)| key.text == "format") {
            let help = "add [ruleset] with id, title, edition, reviewed and review_every";
            self.diagnostics.push(Diagnostic::error(&at, "the file has no [ruleset] table", help));
        }
        let node = Node { value: Value::Table(Arc::new(Table { entries: only })), at };
        let state = ReadState::of_part(Overrides::new(), self.partial);
        let head = Reader::document(&node, &state, |r| {
            r.format_number();
            let head = r.table("ruleset", "", Head::read);
            r.read_elsewhere(&NAMED);
            head
        });
        let found = source::beside(&self.diagnostics, state.finish());
        let head = head.unwrap_or_default();
        let is_wrong = any_error(&found);
        self.diagnostics.extend(found);
        self.words_read &= !is_wrong || !head.words.is_empty();
        self.founded(table, &head, is_wrong || !has_head);
        head
    }

    /// Rules that extend none have to have stations of their own; without them nothing in them can be placed.
    fn founded(&mut self, table: &Table, head: &Head, is_wrong: bool) {
        let stands = !self.parsed.is_empty()
            || !head.extends.is_empty()
            || table.get("station").is_some()
            || table.get("check").is_none();
        if stands {
            return;
        }
        self.adrift = true;
        if let Some(at) = place_of(table, "id").filter(|_| !is_wrong && !self.partial) {
            let message = format!("{} extends no rules and has no stations of its own", head.id);
            let help = "add extends = [\"base\"] under [ruleset], or [[station]] tables";
            self.diagnostics.push(Diagnostic::error(&at, message, help));
        }
    }

    fn push_parent(&mut self, file: &Arc<SourceFile>, parent: &Word) {
        // A file may be found under another name than its id, so that a ring shows only by its depth.
        if self.open.contains(&parent.text) || self.open.len() > DEEPEST {
            self.adrift = true;
            let help = "take the extends out of one of them";
            self.diagnostics.push(Diagnostic::error(
                &parent.at,
                format!("{} extends itself through this", parent.text),
                help,
            ));
            return;
        }
        if let Some(found) = (self.lookup)(&parent.text, file) {
            self.push(&found);
            return;
        }
        self.adrift = true;
        let help =
            diagnostic::near_or(&parent.text, super::builtin::BUILT_IN.iter().map(|(id, _)| *id), || {
                "put it beside this file, or in the data folder's rulesets, or name one that is built in"
                    .to_owned()
            });
        self.diagnostics.push(Diagnostic::error(
            &parent.at,
            format!("there is no ruleset {}", parent.text),
            help,
        ));
    }

    /// One key set by two parents of one file.
    fn warn_both_set(&mut self) {
        let by_id = |id: &str| self.parsed.iter().find(|parsed| parsed.layer.id == id);
        let mut found = Vec::new();
        for parsed in &self.parsed {
            for (at, later) in parsed.head.extends.iter().take(DEEPEST).enumerate() {
                for earlier in parsed.head.extends.iter().take(at) {
                    if let (Some(first), Some(second)) = (by_id(&earlier.text), by_id(&later.text)) {
                        // A reason goes with what it is the reason of, which is named.
                        let twice = both_set(&first.root, &second.root).into_iter();
                        for both in twice.filter(|both| both.key != "reason") {
                            let message = format!(
                                "{} of {} is set by {} too; this one wins",
                                both.key, both.what, earlier.text
                            );
                            let help = format!("say in {} which of the two holds", parsed.layer.file);
                            found.push(Diagnostic::warning(&both.at, message, help));
                        }
                    }
                }
            }
        }
        self.diagnostics.extend(found);
    }
}

/// Where a key of the file's head has its value.
fn place_of(root: &Table, key: &str) -> Option<Place> {
    root.get("ruleset")?.value.as_table()?.get(key).map(|node| node.at.clone())
}
