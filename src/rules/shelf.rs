//! What was read of rule files before, kept for as long as their text stays the same.

use std::cell::RefCell;
use std::rc::Rc;

use crate::mistake::{Mistake, SourceFile};
use crate::source::{self, Table, Value};

use super::builtin::is_built_in_base;
use super::layers::Loaded;
use super::read::Parts;
use super::read_check::FRONT;

/// A file's tree, and what was wrong with its syntax.
#[derive(Debug)]
pub(super) struct Tree {
    pub file: Rc<SourceFile>,
    pub root: Rc<Table>,
    pub mistakes: Vec<Mistake>,
}

/// A ruleset with the trees it was loaded from, in the order of its files.
type Stacked = (Vec<Rc<Tree>>, Rc<Loaded>);

/// Files parsed once, however many of the rulesets that are loaded build on them, and every part of them read once.
#[derive(Debug, Default)]
pub struct Shelf {
    trust: bool,
    pub(super) parts: Parts,
    trees: RefCell<Vec<Rc<Tree>>>,
    loaded: RefCell<Vec<Stacked>>,
}

impl Shelf {
    /// A shelf for walking by rules: what is compiled in is known to be right, so that its checks are read only when
    /// somebody looks into them.
    pub fn trusting() -> Self {
        Self { trust: true, ..Self::default() }
    }

    /// A file's tree, parsed unless it was before.
    pub(super) fn tree(&self, file: &Rc<SourceFile>) -> Rc<Tree> {
        let same = |tree: &&Rc<Tree>| tree.file.name == file.name && tree.file.text == file.text;
        if let Some(known) = self.trees.borrow().iter().find(same) {
            return Rc::clone(known);
        }
        let folded =
            (self.trust && is_built_in_base(file)).then(|| source::parse_folded(file, "check", &FRONT));
        let (root, mistakes) = match folded.flatten() {
            Some(root) => (root, Vec::new()),
            None => source::parse(file),
        };
        let root = if let Value::Table(table) = root.value { table } else { Rc::default() };
        let tree = Rc::new(Tree { file: Rc::clone(file), root, mistakes });
        self.trees.borrow_mut().push(Rc::clone(&tree));
        tree
    }

    /// The ruleset that was loaded from exactly these trees.
    pub(super) fn known(&self, trees: &[Rc<Tree>]) -> Option<Rc<Loaded>> {
        let loaded = self.loaded.borrow();
        let same = |known: &[Rc<Tree>]| {
            known.len() == trees.len() && known.iter().zip(trees).all(|(a, b)| Rc::ptr_eq(a, b))
        };
        loaded.iter().find(|(known, _)| same(known)).map(|(_, loaded)| Rc::clone(loaded))
    }

    /// Keeps a ruleset beside the trees it was loaded from.
    pub(super) fn keep(&self, trees: Vec<Rc<Tree>>, loaded: &Rc<Loaded>) {
        self.loaded.borrow_mut().push((trees, Rc::clone(loaded)));
    }
}
