//! What was read of a table before: most rule files change little of those they extend, and the rest is the same table.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::sync::Arc;

use super::reader::Reader;
use super::tree::Table;

/// Values by the addresses of the very tables they were read from, where nothing was wrong with them. The tables are
/// held, so that none is changed in place and no other takes its address.
#[derive(Debug)]
pub struct Known<T>(RefCell<BTreeMap<usize, (Arc<Table>, T)>>);

impl<T> Default for Known<T> {
    fn default() -> Self {
        Self(RefCell::default())
    }
}

impl<T: Clone> Known<T> {
    /// Reads a table, unless it was read before.
    pub fn read(&self, r: &Reader<'_>, read: impl FnOnce(&Reader<'_>) -> T) -> T {
        // Of one that is folded a few lines are read, which is sooner done again than kept.
        let Some(table) = r.table.filter(|_| r.is_whole() && r.folded.is_none()) else { return read(r) };
        let address = Arc::as_ptr(table).addr();
        if let Some((_, value)) = self.0.borrow().get(&address) {
            r.finish();
            return value.clone();
        }
        let before = r.mistakes();
        let value = read(r);
        r.leftovers();
        if r.mistakes() == before {
            self.0.borrow_mut().insert(address, (Arc::clone(table), value.clone()));
        }
        value
    }
}

impl Reader<'_> {
    /// How much was wrong so far with the document.
    fn mistakes(&self) -> usize {
        self.state.mistakes.borrow().len()
    }
}
