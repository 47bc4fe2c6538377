//! Tables of a long document that stay folded until somebody looks into them.
//!
//! A start looks only at the few keys with which each check begins, and reading all the rest of the shipped rules took
//! most of it. Only text that is known to be right is folded: a mistake further in would be told too late.

use std::ops::Range;
use std::sync::{Arc, OnceLock};

use memchr::memmem::find_iter;

use crate::mistake::{Place, SourceFile};

use super::plain;
use super::reader::Reader;
use super::state::ReadState;
use super::tree::{Key, Node, Table, Value, parse_part};
use super::way::Way;

/// A table of an array, of which nothing has been read but its id.
#[derive(Debug)]
pub struct Fold {
    at: Place,
    /// All of its text, from its header to the next one of its array.
    text: Range<usize>,
    id: Range<usize>,
    /// The lines with which it begins, behind its header.
    front: Range<usize>,
    whole: OnceLock<Arc<Table>>,
}

impl PartialEq for Fold {
    fn eq(&self, other: &Self) -> bool {
        self.at == other.at
    }
}

impl Fold {
    /// Its id.
    pub fn id(&self) -> &str {
        self.at.file.text.get(self.id.clone()).unwrap_or_default()
    }

    /// The keys it begins with, read anew by each who asks: whoever reads a hundred such tables one by one needs the
    /// memory of one. `None` where they are no TOML.
    pub fn front(&self) -> Option<Table> {
        let file = &self.at.file;
        plain::table(file, self.front.clone()).or_else(|| parsed(file, self.front.clone()))
    }

    /// All of it.
    pub fn whole(&self) -> &Arc<Table> {
        self.whole.get_or_init(|| {
            let (document, _) = parse_part(&self.at.file, self.text.clone());
            let item = match document.entries.first().map(|(_, node)| &node.value) {
                Some(Value::Array(items)) => items.first(),
                _ => None,
            };
            match item.map(|item| &item.value) {
                Some(Value::Table(table)) => Arc::clone(table),
                _ => Arc::default(),
            }
        })
    }

    /// Reads some of it. What is not asked for is no mistake here: somebody else has asked for it.
    pub fn read<T>(&self, read: impl FnOnce(&Reader<'_>) -> T) -> T {
        let state = ReadState::default();
        read(&Reader::over(&state, Some(self.whole()), self.at.clone(), Way::default()))
    }
}

/// Parses a document with the tables of one array folded, each but for those of the keys `front` with which it begins.
/// The array has to be the last thing in the document, each table has to begin with its id, and those keys stand nowhere
/// else in it: nobody looks. `None` where it has no such array, or what is parsed of it is no TOML.
pub fn parse_folded(file: &Arc<SourceFile>, array: &str, front: &[&str]) -> Option<Node> {
    let header = format!("\n[[{array}]]");
    let starts: Vec<usize> = find_iter(file.text.as_bytes(), &header).map(|at| at + 1).collect();
    let first = *starts.first()?;
    let ends = starts.iter().skip(1).copied().chain([file.text.len()]);
    let items: Vec<Node> = starts
        .iter()
        .zip(ends)
        .map(|(start, end)| fold(file, *start..end, header.len() - 1, front))
        .collect::<Option<_>>()?;
    let mut root = plain::document(file, 0..first).or_else(|| parsed(file, 0..first))?;
    let place = |range: Range<usize>| Place { file: Arc::clone(file), range };
    let key = Key { text: array.to_owned(), at: place(first + 2..first + 2 + array.len()) };
    let at = place(first..first + header.len() - 1);
    root.entries.push((key, Node { value: Value::Array(Arc::new(items)), at }));
    Some(Node { value: Value::Table(Arc::new(root)), at: place(0..file.text.len()) })
}

/// What the whole parser makes of a stretch of a file that is a document by itself.
fn parsed(file: &Arc<SourceFile>, range: Range<usize>) -> Option<Table> {
    let (table, errors) = parse_part(file, range);
    errors.is_empty().then_some(table)
}

fn fold(file: &Arc<SourceFile>, text: Range<usize>, header: usize, front: &[&str]) -> Option<Node> {
    const ID: &str = "id = \"";
    let own = text.start + header..text.end;
    let inside = file.text.get(own.clone())?;
    let id = inside.strip_prefix('\n')?.strip_prefix(ID)?.split(['"', '\n']).next()?;
    let id_at = own.start + 1 + ID.len();
    let in_front = |line: &&str| {
        let key = line.split(['=', ' ', '\n']).next().unwrap_or_default();
        key.is_empty() || front.contains(&key)
    };
    let known: usize = inside.split_inclusive('\n').take_while(in_front).map(str::len).sum();
    let at = Place { file: Arc::clone(file), range: text.start..own.start };
    let (id, front) = (id_at..id_at + id.len(), own.start..own.start + known);
    let fold = Fold { at: at.clone(), text, id, front, whole: OnceLock::new() };
    Some(Node { value: Value::Folded(Arc::new(fold)), at })
}

impl<'a> Reader<'a> {
    /// The table itself, where it is folded and only its first keys can be asked for here.
    pub fn folded(&self) -> Option<&'a Arc<Fold>> {
        self.folded
    }
}
