//! The letter that stands behind a check's code for one of its items: `b` of `TL12-b`. It belongs to the item's id, is given
//! when the record first has the item, and is never given to another.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::entry::Entry;
use super::history::History;

/// A letter given to an item of a check when a walk began.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lettered {
    /// The check.
    pub check: String,
    /// The item.
    pub of: String,
    /// Its letter.
    pub letter: String,
}

/// Which letter each item of each check has, as a record gave them.
#[derive(Clone, Debug, Default)]
pub struct Letters(BTreeMap<String, Vec<(String, String)>>);

impl Letters {
    /// Reads a record in the order in which it was kept. Where two machines gave one letter to two items, the earlier
    /// keeps it and the other gets the next.
    pub fn of(history: &History) -> Self {
        let mut letters = Self::default();
        history.all().iter().for_each(|kept| letters.read(&kept.entry));
        letters
    }

    /// The letters as they stood when the last walk of an edition of the car file began, the edition named by the first
    /// digits of its checksum. None where no walk began with it: what a letter meant in it is then not known.
    pub fn of_edition(history: &History, edition: &str) -> Option<Self> {
        let (mut letters, mut then) = (Self::default(), None);
        for kept in history.all() {
            letters.read(&kept.entry);
            if let Entry::WalkStarted(started) = &kept.entry
                && started.car_sha256.as_ref().is_some_and(|sum| sum.starts_with(edition))
            {
                then = Some(letters.clone());
            }
        }
        then
    }

    fn read(&mut self, entry: &Entry) {
        match entry {
            Entry::WalkStarted(started) => {
                started.letters.iter().for_each(|one| self.bind(&one.check, &one.of, Some(&one.letter)));
            }
            Entry::Finding(one) => self.seen(&one.check, one.of.as_deref(), one.code.as_deref()),
            Entry::Observation(one) => self.seen(&one.check, one.of.as_deref(), one.code.as_deref()),
            _ => {}
        }
    }

    fn seen(&mut self, check: &str, of: Option<&str>, code: Option<&str>) {
        if let Some(of) = of {
            self.bind(check, of, code.and_then(|code| code.split_once('-')).map(|(_, letter)| letter));
        }
    }

    fn bind(&mut self, check: &str, of: &str, letter: Option<&str>) {
        let known = self.0.entry(check.to_owned()).or_default();
        if known.iter().any(|(item, _)| item == of) {
            return;
        }
        let free = |letter: &&str| known.iter().all(|(_, given)| given != letter);
        let letter = letter.filter(free).map_or_else(|| next(known), str::to_owned);
        known.push((of.to_owned(), letter));
    }

    /// Every item of a check with its letter: those of the record, and those of the car as it is now, which get the next
    /// letters in the order of their ids. None where there is one item at most: it needs no letter.
    pub fn of_check(&self, check: &str, items: &BTreeSet<&str>) -> Vec<(String, String)> {
        let mut known = self.0.get(check).cloned().unwrap_or_default();
        for item in items {
            if known.iter().all(|(of, _)| of != item) {
                let letter = next(&known);
                known.push(((*item).to_owned(), letter));
            }
        }
        if known.len() < 2 { Vec::new() } else { known }
    }

    /// Whether the record has given an item its letter.
    pub fn has(&self, check: &str, of: &str) -> bool {
        self.0.get(check).is_some_and(|known| known.iter().any(|(item, _)| item == of))
    }
}

/// The first letter that no item has: a to z, then aa.
fn next(known: &[(String, String)]) -> String {
    let taken = |letter: &String| known.iter().any(|(_, given)| given == letter);
    let single = ('a'..='z').map(|letter| letter.to_string());
    let double = ('a'..='z').flat_map(|first| ('a'..='z').map(move |second| format!("{first}{second}")));
    single.chain(double).find(|letter| !taken(letter)).unwrap_or_default()
}
