//! Tables of a long document that stay folded until somebody looks into them.
//!
//! A start looks only at the few keys with which each check begins, and reading all the rest of the shipped rules took
//! most of it. Only text that is known to be right is folded: a mistake further in would be told too late.

use std::cell::OnceCell;
use std::ops::Range;
use std::rc::Rc;

use crate::mistake::{Place, SourceFile};

use super::reader::Reader;
use super::state::ReadState;
use super::tree::{Key, Node, Table, Value, parse_part};
use super::way::Way;

/// A table of an array, of which only the first keys have been read.
#[derive(Debug)]
pub struct Fold {
    at: Place,
    /// All of its text, from its header to the next one of its array.
    text: Range<usize>,
    front: Rc<Table>,
    whole: OnceCell<Rc<Table>>,
}

impl PartialEq for Fold {
    fn eq(&self, other: &Self) -> bool {
        self.at == other.at
    }
}

impl Fold {
    /// The keys it begins with.
    pub fn front(&self) -> &Rc<Table> {
        &self.front
    }

    /// All of it.
    pub fn whole(&self) -> &Rc<Table> {
        self.whole.get_or_init(|| {
            let (document, _) = parse_part(&self.at.file, self.text.clone());
            let array = document.entries.into_iter().next().map(|(_, node)| node.value);
            match array {
                Some(Value::Array(items)) => match items.first().map(|item| &item.value) {
                    Some(Value::Table(table)) => Rc::clone(table),
                    _ => Rc::default(),
                },
                _ => Rc::default(),
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
/// `None` where it is not laid out for that: the array has to be the last thing in it, and those keys stand nowhere else.
pub fn parse_folded(file: &Rc<SourceFile>, array: &str, front: &[&str]) -> Option<Node> {
    let header = format!("[[{array}]]");
    let starts: Vec<usize> = file
        .text
        .match_indices(&header)
        .map(|(at, _)| at)
        .filter(|at| *at == 0 || file.text.as_bytes().get(at - 1) == Some(&b'\n'))
        .collect();
    let ends = starts.iter().skip(1).copied().chain([file.text.len()]);
    let first = *starts.first()?;
    let inside = [format!("[[{array}."), format!("[{array}.")];
    let items: Vec<Node> = starts
        .iter()
        .zip(ends)
        .map(|(start, end)| fold(file, *start..end, header.len(), &inside, front))
        .collect::<Option<_>>()?;
    let (mut root, errors) = parse_part(file, 0..first);
    if !errors.is_empty() {
        return None;
    }
    let at = Place { file: Rc::clone(file), range: first..first + header.len() };
    let name = first + 2..first + 2 + array.len();
    let key = Key { text: array.to_owned(), at: Place { file: Rc::clone(file), range: name } };
    root.entries.push((key, Node { value: Value::Array(Rc::new(items)), at }));
    Some(Node {
        value: Value::Table(Rc::new(root)),
        at: Place { file: Rc::clone(file), range: 0..file.text.len() },
    })
}

fn fold(
    file: &Rc<SourceFile>,
    text: Range<usize>,
    header: usize,
    inside: &[String],
    front: &[&str],
) -> Option<Node> {
    let own = file.text.get(text.start + header..text.end)?;
    let (mut known, mut in_front, mut in_itself) = (0, true, true);
    for line in own.split_inclusive('\n') {
        if line.starts_with('[') {
            inside.iter().find(|within| line.starts_with(within.as_str()))?;
            in_itself = false;
        }
        let key = line.split(['=', ' ', '\n']).next().unwrap_or("");
        let of_front = in_itself && front.contains(&key);
        if of_front && !in_front {
            return None;
        }
        in_front &= of_front || key.is_empty();
        known += if in_front { line.len() } else { 0 };
    }
    let start = text.start + header;
    let (table, errors) = parse_part(file, start..start + known);
    let at = Place { file: Rc::clone(file), range: text.start..start };
    errors.is_empty().then(|| Node {
        value: Value::Folded(Rc::new(Fold {
            at: at.clone(),
            text,
            front: Rc::new(table),
            whole: OnceCell::new(),
        })),
        at,
    })
}

impl<'a> Reader<'a> {
    /// The table itself, where it is folded and only its first keys can be asked for here.
    pub fn folded(&self) -> Option<&'a Rc<Fold>> {
        self.folded
    }
}
