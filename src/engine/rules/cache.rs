//! What was read of rule files before, kept for as long as their text stays the same.

use std::cell::RefCell;
use std::sync::Arc;

use chrono::NaiveDate;

use crate::diagnostic::{Diagnostic, SourceFile};
use crate::source::{self, Key, Node, Table, Value};

use super::layers::Loaded;
use super::merge::NAMED;
use super::ruleset::Ruleset;

/// The tree of a ruleset's text, and what was wrong with its syntax.
#[derive(Debug)]
pub(super) struct Tree {
    pub file: Arc<SourceFile>,
    pub root: Arc<Table>,
    pub diagnostics: Vec<Diagnostic>,
}

/// A ruleset with the trees it was loaded from, in the order of its files.
type Stacked = (Vec<Arc<Tree>>, Option<NaiveDate>, Arc<Loaded>);

/// A ruleset without a mistake, with the names that it was loaded by.
type Good = (Vec<String>, Option<NaiveDate>, Arc<Ruleset>);

/// Files parsed once, however many of the rulesets that are loaded build on them.
#[derive(Debug, Default)]
pub struct RulesetCache {
    trees: RefCell<Vec<Arc<Tree>>>,
    loaded: RefCell<Vec<Stacked>>,
    good: RefCell<Vec<Good>>,
}

impl RulesetCache {
    /// A file's tree, parsed unless it was before.
    pub(super) fn tree(&self, file: &Arc<SourceFile>) -> Arc<Tree> {
        if let Some(known) = self.trees.borrow().iter().find(|tree| tree.file == *file) {
            return Arc::clone(known);
        }
        let tree = Arc::new(parse(file));
        self.trees.borrow_mut().push(Arc::clone(&tree));
        tree
    }

    /// The ruleset that was loaded from exactly these trees for a day.
    pub(super) fn find(&self, trees: &[Arc<Tree>], on: Option<NaiveDate>) -> Option<Arc<Loaded>> {
        let loaded = self.loaded.borrow();
        let same = |known: &[Arc<Tree>]| {
            known.len() == trees.len() && known.iter().zip(trees).all(|(a, b)| Arc::ptr_eq(a, b))
        };
        loaded
            .iter()
            .find(|(known, day, _)| *day == on && same(known))
            .map(|(_, _, loaded)| Arc::clone(loaded))
    }

    /// The ruleset that was last loaded by these names for a day without a mistake.
    pub fn last_good(&self, names: &[String], on: Option<NaiveDate>) -> Option<Arc<Ruleset>> {
        let good = self.good.borrow();
        let known = good.iter().find(|(known, day, _)| known == names && *day == on);
        known.map(|(_, _, rules)| Arc::clone(rules))
    }

    /// Keeps a ruleset that was loaded by these names without a mistake.
    pub fn keep_good(&self, names: &[String], on: Option<NaiveDate>, rules: &Arc<Ruleset>) {
        let mut good = self.good.borrow_mut();
        good.retain(|(known, day, _)| known != names || *day != on);
        good.push((names.to_vec(), on, Arc::clone(rules)));
    }

    /// Keeps a ruleset beside the trees it was loaded from.
    pub(super) fn keep(&self, trees: Vec<Arc<Tree>>, on: Option<NaiveDate>, loaded: &Arc<Loaded>) {
        self.loaded.borrow_mut().push((trees, on, Arc::clone(loaded)));
    }
}

/// The tree of a file with those of its parts: a ruleset that is kept in several files reads as one.
fn parse(file: &Arc<SourceFile>) -> Tree {
    let (node, mut diagnostics) = source::parse(file);
    let mut root = into_table(node);
    for part in &file.parts {
        let (node, found) = source::parse(part);
        diagnostics.extend(found);
        let mut astray = Vec::new();
        for (key, node) in into_table(node).entries {
            if NAMED.contains(&key.text.as_str()) && matches!(node.value, Value::Array(_)) {
                append(&mut root, key, node);
            } else {
                astray.push(key);
            }
        }
        diagnostics.extend(not_of_a_part(file, &astray));
    }
    Tree { file: Arc::clone(file), root: Arc::new(root), diagnostics }
}

/// What stands in a part beside checks, stations and what else a ruleset has several of.
fn not_of_a_part(file: &SourceFile, keys: &[Key]) -> Option<Diagnostic> {
    let first = keys.first()?;
    let names = source::listed(keys.iter().map(|key| key.text.as_str()));
    let (verb, help) = match keys {
        [_] => ("does", format!("put it into {}, or take it out", file.name)),
        _ => ("do", "is a heading in [[ ]] missing above this line?".to_owned()),
    };
    let message = format!("{names} {verb} not belong in a part of a ruleset");
    Some(Diagnostic::error(&first.at, message, help))
}

fn into_table(node: Node) -> Table {
    if let Value::Table(table) = node.value { Arc::unwrap_or_clone(table) } else { Table::default() }
}

/// Puts the elements of a part's array behind those of the ruleset.
fn append(root: &mut Table, key: Key, node: Node) {
    let known = root.get_mut(&key.text).map(|node| &mut node.value);
    match (known, node.value) {
        (Some(Value::Array(items)), Value::Array(more)) => {
            Arc::make_mut(items).extend(more.iter().cloned());
        }
        (None, value) => root.entries.push((key, Node { value, at: node.at })),
        // The head's own mistake, told where it is read.
        (Some(_), _) => {}
    }
}
