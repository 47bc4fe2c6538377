//! How each value of a car file is known: measured and with what, read off a label, typed, guessed, taken from the trade or
//! from a starting layout. A file that says nothing of it means what it always meant: the values are as typed.

use chrono::NaiveDate;

use crate::diagnostic::{Diagnostic, Place, did_you_mean};
use crate::source::{FieldKind, Reader, Word, is_id, parse_date};

use super::keys::{in_list, is_key, without_id};

/// How a value is known.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Way {
    /// With an instrument, by its id.
    Measured(String),
    /// Read off a label, or a paper that came with the part.
    Label,
    /// Counted.
    Counted,
    /// Looked at: a word, a count or a joint is as the file has it.
    Seen,
    /// As typed, and nothing more is known.
    #[default]
    Typed,
    /// A guess.
    Guess,
    /// What the trade usually has, by a name.
    Trade(String),
    /// From a starting layout, by its name.
    Layout(String),
    /// Meant to be so, not yet on the car.
    Planned,
}

/// Words of the ways that take no name.
const WAYS: [&str; 9] = ["label", "paper", "counted", "seen", "typed", "guess", "trade", "layout", "planned"];

impl Way {
    /// Whether it is only assumed: nobody has measured, read or counted it on this car.
    pub fn is_assumed(&self) -> bool {
        matches!(self, Self::Guess | Self::Trade(_) | Self::Layout(_) | Self::Planned)
    }

    /// The word for it.
    pub fn word(&self) -> String {
        match self {
            Self::Measured(tool) => tool.clone(),
            Self::Label => "label".to_owned(),
            Self::Counted => "counted".to_owned(),
            Self::Seen => "seen".to_owned(),
            Self::Typed => "typed".to_owned(),
            Self::Guess => "guess".to_owned(),
            Self::Trade(name) if name.is_empty() => "trade".to_owned(),
            Self::Trade(name) => format!("trade {name}"),
            Self::Layout(name) if name.is_empty() => "layout".to_owned(),
            Self::Layout(name) => format!("layout {name}"),
            Self::Planned => "planned".to_owned(),
        }
    }

    /// The word of its column: tape, label, typed, assumed.
    pub fn column(&self) -> String {
        if self.is_assumed() { "assumed".to_owned() } else { self.word() }
    }
}

/// How a value is known, since when, and by whom.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Origin {
    /// The way.
    pub way: Way,
    /// The day.
    pub on: Option<NaiveDate>,
    /// Who.
    pub by: Option<String>,
    /// Whether a person said that the value is right although it looks doubtful.
    pub sure: bool,
}

impl Origin {
    /// As it stands in a file: `tape, 2026-11-30, R.N.`
    pub fn text(&self) -> String {
        let on = self.on.map(|on| on.to_string());
        let sure = self.sure.then(|| "sure".to_owned());
        let parts = [Some(self.way.word()), on, self.by.clone(), sure];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }

    /// Reads one.
    ///
    /// # Errors
    /// What is wrong with it, and what to write.
    pub fn read(text: &str) -> Result<Self, (String, String)> {
        let mut parts = text.split(',').map(str::trim);
        let first = parts.next().unwrap_or_default();
        let (word, name) = first.split_once(char::is_whitespace).unwrap_or((first, ""));
        let name = name.trim();
        let mut origin = Self { way: way(word, name)?, ..Self::default() };
        for part in parts.filter(|part| !part.is_empty()) {
            match parse_date(part) {
                _ if part == "sure" => origin.sure = true,
                Some(day) if origin.on.is_none() => origin.on = Some(day),
                _ => match &mut origin.by {
                    Some(by) => by.push_str(&format!(", {part}")),
                    None => origin.by = Some(part.to_owned()),
                },
            }
        }
        Ok(origin)
    }
}

fn way(word: &str, name: &str) -> Result<Way, (String, String)> {
    let named = |way: Way| match name {
        "" => Ok(way),
        _ => Err((format!("{word} takes no name"), format!("write \"{word}\", or \"{word}, {name}\""))),
    };
    match word {
        "label" | "paper" => named(Way::Label),
        "counted" => named(Way::Counted),
        "seen" => named(Way::Seen),
        "typed" => named(Way::Typed),
        "guess" => named(Way::Guess),
        "planned" => named(Way::Planned),
        "trade" => Ok(Way::Trade(name.to_owned())),
        "layout" => Ok(Way::Layout(name.to_owned())),
        "" => Err(("it is not said how this is known".to_owned(), ways_known())),
        tool if !is_id(tool) => Err((format!("{tool} is no way to know a value"), ways_known())),
        tool => match did_you_mean(tool, WAYS) {
            Some(near) => Err((format!("{tool} is no way to know a value"), format!("did you mean {near}?"))),
            None => named(Way::Measured(tool.to_owned())),
        },
    }
}

fn ways_known() -> String {
    format!("write the tool it was measured with (tape, caliper and the like), or one of {}", WAYS.join(", "))
}

/// How the values of one file are known, by key path.
#[derive(Clone, Debug, Default)]
pub struct Known {
    entries: Vec<(String, Origin)>,
    /// Values that stand in for the file's, as measured since or typed: they are not what the file says of them.
    replaced: Vec<String>,
}

impl Known {
    /// Whether the file says nothing of it.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// Every entry, in the order of the file.
    pub fn entries(&self) -> impl Iterator<Item = (&str, &Origin)> {
        self.entries.iter().map(|(path, origin)| (path.as_str(), origin))
    }

    /// How a number, a date or a point is known: by the longest path that fits. That a part was looked at says nothing of
    /// its sizes.
    pub fn of(&self, path: &str) -> Option<&Origin> {
        self.longest(path, |known, origin| origin.way != Way::Seen || known == path)
    }

    /// How a word, a count or a joint is known.
    pub fn of_word(&self, path: &str) -> Option<&Origin> {
        self.longest(path, |_, _| true)
    }

    /// Other values stand in for some, by key path, with or without ids.
    pub(super) fn replace<'p>(&mut self, paths: impl Iterator<Item = &'p String>) {
        self.replaced.extend(paths.cloned());
    }

    fn longest(&self, path: &str, counts: impl Fn(&str, &Origin) -> bool) -> Option<&Origin> {
        let generic = if self.replaced.is_empty() { String::new() } else { without_id(path) };
        if self.replaced.iter().any(|replaced| replaced == path || *replaced == generic) {
            return None;
        }
        let fits = |known: &str| {
            path.strip_prefix(known).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
        };
        let fitting = self.entries.iter().filter(|(known, origin)| fits(known) && counts(known, origin));
        fitting.max_by_key(|(known, _)| known.len()).map(|(_, origin)| origin)
    }

    /// Reads `[known]`. What cannot be read there counts as a guess, and never locks a file.
    pub(super) fn read(r: &Reader<'_>) -> Self {
        const DOC: &str = "How each value is known, by key path: tool, label, counted, seen, typed, guess, trade, layout or \
                           planned, then the day and who, as \"tape, 2026-11-30, R.N.\". The longest path that fits holds.";
        let text = |node: &crate::source::Node| match &node.value {
            crate::source::Value::Text(text) => Ok((text.clone(), node.at.clone())),
            _ => Ok((String::new(), node.at.clone())),
        };
        let read = r.map("known", DOC, FieldKind::Text, text).unwrap_or_default();
        let entries = read.into_iter().map(|(path, (text, at))| {
            if !names_something(&path) {
                let help = "name a key of the file, or the beginning of one: suppression.line.main";
                let message = format!("{} names nothing in a car file", path.text);
                r.report(Diagnostic::warning(&path.at, message, help));
            }
            let guess = || Origin { way: Way::Guess, ..Origin::default() };
            let origin = Origin::read(&text).unwrap_or_else(|(message, help)| {
                r.report(unreadable(&at, &message, &help));
                guess()
            });
            (path.text, origin)
        });
        Self { entries: entries.collect(), replaced: Vec::new() }
    }
}

fn unreadable(at: &Place, message: &str, help: &str) -> Diagnostic {
    Diagnostic::warning(at, format!("{message}: it counts as a guess"), help)
}

/// Whether a key path, or the beginning of one, is of the format; ids are not looked up.
fn names_something(path: &Word) -> bool {
    let text = path.as_str();
    is_key(text) || in_list(text).is_some_and(|(_, id)| is_id(id))
}
