//! What is left when a table was read: keys that nobody asked for, and keys that had to be there. One slip makes one
//! mistake: a key that is misspelled is not missing too, and a block without its heading is not a mistake a line.

use crate::diagnostic::{Diagnostic, Place, did_you_mean};

use super::reader::Reader;
use super::tree::Key;

/// A table without its id that lacks more than this may only change one of another file.
const OF_ANOTHER: usize = 3;

/// Names told of keys that are not known or not there.
const MOST_NAMED: usize = 12;

/// A key that had to be there.
#[derive(Clone, Debug)]
pub(super) struct Lacking {
    key: &'static str,
    at: Place,
    message: String,
    help: String,
}

impl Reader<'_> {
    /// Notes that a key has to be there and is not; it is told once the whole table was read.
    pub fn lacks(&self, key: &'static str, message: impl Into<String>, help: impl Into<String>) {
        self.lacks_at(&self.at, key, message, help);
    }

    /// The same, told at another key that asks for it.
    pub fn lacks_at(
        &self,
        at: &Place,
        key: &'static str,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        if self.is_whole() && self.state.shape.is_none() {
            let lacking = Lacking { key, at: at.clone(), message: message.into(), help: help.into() };
            self.lacking.borrow_mut().push(lacking);
        }
    }

    /// Notes keys that belong into a table under a heading of its own: where they stand here, that heading is missing.
    pub fn belong_below(&self, keys: &[&'static str], help: &str) {
        if self.state.shape.is_some() {
            return;
        }
        let here = self.table.iter().flat_map(|table| &table.entries);
        let here: Vec<&Key> =
            here.map(|(key, _)| key).filter(|key| keys.contains(&key.text.as_str())).collect();
        self.below.borrow_mut().extend(keys);
        if let Some(first) = here.first() {
            let verb = if here.len() == 1 { "does" } else { "do" };
            let names = listed(here.iter().map(|key| key.text.as_str()));
            self.report(Diagnostic::error(
                &first.at,
                format!("{names} {verb} not stand here by itself"),
                help,
            ));
        }
    }

    /// Keys that are known here and read elsewhere.
    pub fn read_elsewhere(&self, keys: &[&'static str]) {
        self.asked.borrow_mut().extend(keys);
    }

    /// Says once what nobody asked for, and what is not there.
    pub(super) fn leftovers(&self) {
        if self.finished.replace(true) {
            return;
        }
        let asked = self.asked.borrow();
        let mut lacking = self.lacking.borrow().clone();
        let mut strange: Vec<&Key> = Vec::new();
        for (key, _) in self.table.iter().flat_map(|table| &table.entries) {
            let told = self.below.borrow().iter().any(|below| *below == key.text);
            if told || asked.iter().any(|known| *known == key.text) {
                continue;
            }
            match self.meant(key, &asked, &lacking) {
                Some(known) => {
                    lacking.retain(|one| one.key != known);
                    self.unknown(key, format!("did you mean {known}?"));
                }
                None => strange.push(key),
            }
        }
        if lacking.len() > OF_ANOTHER && self.is_nameless(&asked) {
            lacking.retain(|one| one.key == "id");
            let mut missing = self.state.missing.borrow_mut();
            missing.retain(|one| !self.table.is_some_and(|table| table.holds(&one.at)));
        }
        let meant = lacking.iter().find(|one| lacking.len() == 1 || one.key == "id");
        if let ([key], Some(one)) = (&strange[..], meant) {
            self.unknown(key, format!("did you mean {}? Keys known here: {}", one.key, asked.join(", ")));
            return;
        }
        self.strange(&strange, &asked);
        self.lacking(&lacking);
    }

    /// Whether it ought to have an id and has none that can be read.
    fn is_nameless(&self, asked: &[&str]) -> bool {
        let needs = self.lacking.borrow().iter().any(|one| one.key == "id");
        asked.contains(&"id") && (needs || self.is_wrong_at("id"))
    }

    /// The key that one nobody knows is meant to be: first one that is missing, then one that is not there, then any.
    fn meant(&self, key: &Key, asked: &[&'static str], lacking: &[Lacking]) -> Option<&'static str> {
        let missing = did_you_mean(&key.text, lacking.iter().map(|one| one.key));
        let absent = || did_you_mean(&key.text, asked.iter().copied().filter(|known| !self.has(known)));
        let any = || did_you_mean(&key.text, asked.iter().copied());
        let meant = missing.or_else(absent).or_else(any)?;
        asked.iter().find(|known| **known == meant).copied()
    }

    fn unknown(&self, key: &Key, help: String) {
        self.report(Diagnostic::error(&key.at, format!("unknown key {}", key.text), help));
    }

    /// Keys that look like none of those known. Several together are a block whose heading is lost.
    fn strange(&self, keys: &[&Key], asked: &[&str]) {
        match keys {
            [] => {}
            [key] if key.text == "format" => {
                self.unknown(key, "format = 1 stands at the top of the file, above every [table]".to_owned());
            }
            [key] => self.unknown(key, format!("keys known here: {}", asked.join(", "))),
            [first, ..] => {
                let message = format!("unknown keys {}", listed(keys.iter().map(|key| key.text.as_str())));
                let known = asked.join(", ");
                let help = format!("is a heading in [ ] missing above this line? Keys known here: {known}");
                self.state.lost.borrow_mut().push(first.at.clone());
                self.report(Diagnostic::error(&first.at, message, help));
            }
        }
    }

    /// Keys that are not there, as one mistake.
    fn lacking(&self, keys: &[Lacking]) {
        match keys {
            [] => {}
            [one] => self.miss(Diagnostic::error(&one.at, one.message.clone(), one.help.clone())),
            several => {
                let names = || several.iter().map(|one| one.key);
                let message = format!("{} has no {}", self.way.name(), listed(names()));
                let written: Vec<String> = names().take(MOST_NAMED).map(|key| format!("{key} = …")).collect();
                self.miss(Diagnostic::error(&self.at, message, format!("add {}", written.join(", "))));
            }
        }
    }

    fn miss(&self, missing: Diagnostic) {
        self.state.missing.borrow_mut().push(missing);
    }
}

/// Words as in a sentence, "a, b and c"; of very many only the first.
pub fn listed<'w>(words: impl Iterator<Item = &'w str>) -> String {
    let words: Vec<&str> = words.collect();
    match words.as_slice() {
        [] => String::new(),
        [only] => (*only).to_owned(),
        [first @ .., last] if words.len() <= MOST_NAMED => format!("{} and {last}", first.join(", ")),
        many => {
            let shown = many.get(..MOST_NAMED).unwrap_or_default();
            format!("{} and {} more", shown.join(", "), many.len() - shown.len())
        }
    }
}
