//! What one reading of a document gathers besides the values: mistakes, ids, quantities met, overrides used.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use crate::diagnostic::{Diagnostic, Place, did_you_mean};

use super::describe::Shape;

/// A value that stands in for the one in the file.
#[derive(Clone, Debug)]
pub enum Override {
    /// As typed, after `--set KEY=`.
    Typed(String, Place),
    /// A sampled value in SI.
    Si(f64),
}

/// Values by key path; a path without ids means every element.
pub type Overrides = BTreeMap<String, Override>;

/// Shared by every [`super::Reader`] of one document.
#[derive(Debug, Default)]
pub struct ReadState {
    pub(super) diagnostics: RefCell<Vec<Diagnostic>>,
    /// What is missing, which is told only where it is sure.
    pub(super) missing: RefCell<Vec<Diagnostic>>,
    /// Where a heading seems to be missing.
    pub(super) lost: RefCell<Vec<Place>>,
    pub(super) ids: RefCell<BTreeMap<String, Place>>,
    pub(super) paths: RefCell<BTreeSet<String>>,
    pub(super) used: RefCell<BTreeSet<String>>,
    pub(super) overrides: Overrides,
    pub(super) shape: Option<RefCell<Vec<Shape>>>,
    pub(super) partial: bool,
    /// The most members of one list that are read, where fewer than a document may hold.
    pub(super) most: Option<usize>,
}

impl ReadState {
    /// A plain reading with some values standing in.
    pub fn new(overrides: Overrides) -> Self {
        Self { overrides, ..Self::default() }
    }

    /// As [`Self::new`], of a document that could be parsed in part only: nothing is said to be missing from it.
    pub fn of_part(overrides: Overrides, partial: bool) -> Self {
        Self { overrides, partial, ..Self::default() }
    }

    /// The same, and no list may have more members than this.
    pub fn with_at_most(self, members: usize) -> Self {
        Self { most: Some(members), ..self }
    }

    /// A reading that only notes which keys are asked for, to describe the format.
    pub fn describing() -> Self {
        Self { shape: Some(RefCell::new(vec![Shape::default()])), ..Self::default() }
    }

    /// Adds a mistake.
    pub fn report(&self, diagnostic: Diagnostic) {
        self.diagnostics.borrow_mut().push(diagnostic);
    }

    /// Whether one of the mistakes found so far is such.
    pub(super) fn any(&self, is_such: impl Fn(&Diagnostic) -> bool) -> bool {
        self.diagnostics.borrow().iter().any(&is_such) || self.missing.borrow().iter().any(&is_such)
    }

    /// Where a heading seems to be missing: whatever else is wrong there follows from that.
    pub fn lost_headings(&self) -> Vec<Place> {
        self.lost.borrow().clone()
    }

    /// Everything that was wrong, overrides of keys that do not exist included.
    pub fn finish(self) -> Vec<Diagnostic> {
        let mut diagnostics = self.diagnostics.into_inner();
        diagnostics.extend(self.missing.into_inner());
        for lost in self.lost.into_inner() {
            super::tree::only_at(&lost, &mut diagnostics);
        }
        let used = self.used.into_inner();
        let paths = self.paths.into_inner();
        for (key, value) in &self.overrides {
            if let (false, Override::Typed(_, at)) = (used.contains(key), value) {
                let known = did_you_mean(key, paths.iter().map(String::as_str));
                let help = known.map_or_else(
                    || "name a key of the car file, an array's element by its id: suppression.line.main.tube.od".to_owned(),
                    |path| format!("did you mean {path}?"),
                );
                diagnostics.push(Diagnostic::error(at, format!("there is no key {key} to set"), help));
            }
        }
        crate::diagnostic::sort(&mut diagnostics);
        diagnostics
    }

    /// What a describing reading found.
    pub fn into_shape(self) -> Shape {
        self.shape.and_then(|stack| stack.into_inner().into_iter().next()).unwrap_or_default()
    }
}
