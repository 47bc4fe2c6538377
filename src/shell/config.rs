//! The settings file: `<config>/linewalk/config.toml`. Every key may be left out.

use crate::mistake::Mistake;
use crate::source::{self, FieldKind, Overrides, ReadState, Reader, text_or_number};
use crate::units::Units;

use super::paths::{Paths, read_text};

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
    /// Keys by action name.
    pub keys: Vec<(String, String)>,
}

/// The words for units.
pub const UNITS: &[(&str, Units)] = &[("us", Units::Us), ("metric", Units::Metric)];

/// Reads the settings; none where there is no file.
///
/// # Errors
/// Why the file cannot be used, with every mistake in it.
pub fn read_config(paths: &Paths) -> Result<Config, String> {
    let path = paths.config.join("config.toml");
    if !path.exists() {
        return Ok(Config::default());
    }
    let file = crate::mistake::SourceFile::new(path.display().to_string(), read_text(&path)?);
    let (root, mut mistakes) = source::parse(&file);
    let state = ReadState::new(Overrides::new());
    let config = Reader::document(&root, &state, read);
    mistakes.extend(state.finish().0);
    if mistakes.is_empty() {
        return Ok(config);
    }
    Err(mistakes.iter().map(Mistake::render).collect::<Vec<_>>().join("\n"))
}

fn read(r: &Reader<'_>) -> Config {
    let themes = [("dark", "dark"), ("light", "light"), ("sun", "sun"), ("mono", "mono")];
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
        keys: r
            .map("keys", "Keys by action name.", FieldKind::TextOrNumber, text_or_number)
            .unwrap_or_default()
            .into_iter()
            .map(|(word, key)| (word.text, key))
            .collect(),
    }
}
