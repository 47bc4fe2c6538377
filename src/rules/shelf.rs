//! What was read of rule files before, kept for as long as their text stays the same.

use std::cell::RefCell;
use std::sync::Arc;

use crate::mistake::{Mistake, SourceFile};
use crate::source::{self, Table, Value};

use super::builtin::{built_in, is_built_in_base};
use super::layers::{Loaded, load_from};
use super::read::Parts;
use super::read_check::FRONT;

/// A file's tree, and what was wrong with its syntax.
#[derive(Debug)]
pub(super) struct Tree {
    pub file: Arc<SourceFile>,
    pub root: Arc<Table>,
    pub mistakes: Vec<Mistake>,
}

/// A ruleset with the trees it was loaded from, in the order of its files.
type Stacked = (Vec<Arc<Tree>>, Arc<Loaded>);

/// Files parsed once, however many of the rulesets that are loaded build on them, and every part of them read once.
#[derive(Debug, Default)]
pub struct Shelf {
    trust: bool,
    pub(super) parts: Parts,
    trees: RefCell<Vec<Arc<Tree>>>,
    loaded: RefCell<Vec<Stacked>>,
}

impl Shelf {
    /// A shelf for walking by rules: what is compiled in is known to be right, so that its checks are read only when
    /// somebody looks into them.
    pub fn trusting() -> Self {
        Self { trust: true, ..Self::default() }
    }

    /// Reads the base rules, for whoever asks for them next.
    pub fn read_base(&self) {
        if let Some(base) = built_in("base") {
            load_from(self, &[base], &|id, _| built_in(id));
        }
    }

    /// A file's tree, parsed unless it was before.
    pub(super) fn tree(&self, file: &Arc<SourceFile>) -> Arc<Tree> {
        if let Some(known) = self.trees.borrow().iter().find(|tree| tree.file == *file) {
            return Arc::clone(known);
        }
        let folded =
            (self.trust && is_built_in_base(file)).then(|| source::parse_folded(file, "check", &FRONT));
        let (root, mistakes) = match folded.flatten() {
            Some(root) => (root, Vec::new()),
            None => source::parse(file),
        };
        let root = if let Value::Table(table) = root.value { table } else { Arc::default() };
        let tree = Arc::new(Tree { file: Arc::clone(file), root, mistakes });
        self.trees.borrow_mut().push(Arc::clone(&tree));
        tree
    }

    /// The ruleset that was loaded from exactly these trees.
    pub(super) fn known(&self, trees: &[Arc<Tree>]) -> Option<Arc<Loaded>> {
        let loaded = self.loaded.borrow();
        let same = |known: &[Arc<Tree>]| {
            known.len() == trees.len() && known.iter().zip(trees).all(|(a, b)| Arc::ptr_eq(a, b))
        };
        loaded.iter().find(|(known, _)| same(known)).map(|(_, loaded)| Arc::clone(loaded))
    }

    /// Keeps a ruleset beside the trees it was loaded from.
    pub(super) fn keep(&self, trees: Vec<Arc<Tree>>, loaded: &Arc<Loaded>) {
        self.loaded.borrow_mut().push((trees, Arc::clone(loaded)));
    }
}
