//! The settings file: `<config>/linewalk/config.toml`. Every key may be left out.

use std::path::Path;

use crate::diagnostic::{self, Diagnostic, shown};
use crate::source::{self, FieldKind, Node, Overrides, ReadState, Reader, Value, Word, text_or_number};
use crate::units::Units;

use super::paths::{Paths, read_text, text_of, write_whole};

/// Settings.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Config {
    /// Units shown.
    pub units: Option<Units>,
    /// Theme: dark, light, sun, mono.
    pub theme: Option<String>,
    /// Hand that the keys are laid out for: left or right.
    pub hand: Option<String>,
    /// Name and address that a shop prints on its delivery document.
    pub shop: Option<(String, String)>,
    /// Who walks.
    pub by: Option<String>,
    /// Which of the three kinds of person this is: owner, inspector, shop.
    pub person: Option<String>,
    /// What pictures are made of: auto, fine, half or plain.
    pub pictures: Option<String>,
    /// Milliseconds in which the same answer key again answers nothing: 0 to 1,000.
    pub repeat_guard: Option<u32>,
    /// Keys by action name, each with its place in the file.
    pub keys: Vec<(Word, Vec<Word>)>,
}

/// The words for units.
pub const UNITS: &[(&str, Units)] = &[("us", Units::Us), ("metric", Units::Metric)];

/// Reads the settings; none where there is no file.
///
/// # Errors
/// Why the file cannot be used, with every mistake in it.
pub fn read_config(paths: &Paths) -> Result<Config, String> {
    Ok(settings_in(&paths.config.join("config.toml"), read)?.unwrap_or_default())
}

/// A file of settings; `None` where there is none.
///
/// # Errors
/// Why it cannot be used, with every mistake in it.
pub(super) fn settings_in<T>(path: &Path, read: impl Fn(&Reader<'_>) -> T) -> Result<Option<T>, String> {
    if !path.exists() {
        return Ok(None);
    }
    let file = diagnostic::SourceFile::new(text_of(path), read_text(path)?);
    let (root, mut diagnostics) = source::parse(&file);
    let state = ReadState::new(Overrides::new());
    let settings = Reader::document(&root, &state, read);
    diagnostics.extend(state.finish());
    if diagnostics.is_empty() { Ok(Some(settings)) } else { Err(diagnostic::render_all(&diagnostics)) }
}

const PERSONS: [(&str, &str); 3] = [("owner", "owner"), ("inspector", "inspector"), ("shop", "shop")];

/// One key, or an array of them.
fn key_words(node: &Node) -> Result<Vec<Word>, Diagnostic> {
    match &node.value {
        Value::Array(nodes) => {
            nodes.iter().map(|node| Ok(Word { text: text_or_number(node)?, at: node.at.clone() })).collect()
        }
        _ => Ok(vec![Word { text: text_or_number(node)?, at: node.at.clone() }]),
    }
}

/// Keeps one setting in the settings file, above everything else in it, in place of what it said before. The rest of the
/// file stays as the person wrote it.
///
/// # Errors
/// Why the file could not be read or written, or that it is written in a way that this cannot change.
pub fn keep(paths: &Paths, key: &str, word: &str) -> Result<(), String> {
    let path = paths.config.join("config.toml");
    let before = if path.exists() { read_text(&path)? } else { String::new() };
    let line = format!("{key} = {}", toml::Value::String(word.to_owned()));
    let mut in_table = false;
    let others = before.split_inclusive('\n').filter(|text| {
        in_table |= text.trim_start().starts_with('[');
        let sets = text.split_once('=').is_some_and(|(name, _)| name.trim() == key);
        in_table || !sets
    });
    let after = format!("{line}\n{}", others.collect::<String>());
    // A value over several lines, or a key in quotes, is for the person to change.
    let read = |text: &str| text.parse::<toml::Table>();
    let wanted = read(&before).map(|mut table| {
        table.insert(key.to_owned(), word.into());
        table
    });
    if wanted.is_err() || read(&after) != wanted {
        return Err(format!("{} was left as it is: write {line} into it", shown(&path)));
    }
    write_whole(&path, after.as_bytes())
}

/// Longest guard against a repeated key, in milliseconds.
const LONGEST_GUARD: u32 = 1000;

/// A guard in its range; another number is a mistake at its place.
fn repeat_guard(r: &Reader<'_>) -> Option<u32> {
    let doc = "Milliseconds in which the same answer key again answers nothing, 0 to 1000; 300 where silent.";
    let within = r.count("repeat_guard", doc)?;
    if within > LONGEST_GUARD {
        let help = "write milliseconds from 0 to 1000: repeat_guard = 300";
        r.report(Diagnostic::error(
            &r.place("repeat_guard"),
            format!("{within} ms is too long a guard"),
            help,
        ));
        return None;
    }
    Some(within)
}

fn read(r: &Reader<'_>) -> Config {
    let themes = [("dark", "dark"), ("light", "light"), ("sun", "sun"), ("mono", "mono")];
    let pictures = [("auto", "auto"), ("fine", "fine"), ("half", "half"), ("plain", "plain")];
    let shop = r.table("shop", "Printed on the delivery document.", |r| {
        (
            r.text("name", "Name of the shop.").unwrap_or_default(),
            r.text("address", "Its address.").unwrap_or_default(),
        )
    });
    Config {
        units: r.choice("units", "us or metric.", UNITS),
        theme: r.choice("theme", "dark, light, sun or mono.", &themes).map(str::to_owned),
        hand: r.choice("hand", "left or right.", &[("left", "left"), ("right", "right")]).map(str::to_owned),
        shop,
        by: r.text("by", "Who walks."),
        person: r.choice("person", "owner, inspector or shop.", &PERSONS).map(str::to_owned),
        pictures: r.choice("pictures", "auto, fine, half or plain.", &pictures).map(str::to_owned),
        repeat_guard: repeat_guard(r),
        keys: r.map("keys", "Keys by action name.", FieldKind::Any, key_words).unwrap_or_default(),
    }
}
