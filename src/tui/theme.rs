//! Colours: sixteen of the terminal's own, and never colour alone.

use ratatui::style::{Color, Modifier, Style};

use crate::model::entry::{Outcome, Severity};

/// A set of colours.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Theme {
    /// For a dark terminal.
    #[default]
    Dark,
    /// For a light terminal.
    Light,
    /// No colour: bold and reverse only.
    Mono,
}

/// What a piece of text is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// Ordinary text.
    Plain,
    /// What has to be read first.
    Strong,
    /// What may be passed over.
    Dim,
    /// The bar with the car's number, and the chosen row.
    Bar,
    /// A key.
    Key,
    /// Something that hurts, or stops the car.
    Stop,
    /// Before the next event.
    Fix,
    /// Advice.
    Note,
    /// In order.
    Good,
}

impl Theme {
    /// Every theme with its word.
    pub const WORDS: &'static [(&'static str, Self)] =
        &[("dark", Self::Dark), ("light", Self::Light), ("mono", Self::Mono)];

    /// The theme a word names.
    pub fn named(word: &str) -> Option<Self> {
        Self::WORDS.iter().find(|(name, _)| *name == word).map(|(_, theme)| *theme)
    }

    /// The style of a tone.
    pub fn style(self, tone: Tone) -> Style {
        let plain = Style::new();
        let bold = plain.add_modifier(Modifier::BOLD);
        match tone {
            Tone::Plain => plain,
            Tone::Strong => bold,
            Tone::Bar => bold.add_modifier(Modifier::REVERSED),
            Tone::Dim => self.coloured(plain, Color::Gray, Color::DarkGray),
            Tone::Key => self.coloured(bold, Color::LightCyan, Color::Blue),
            Tone::Stop => self.coloured(bold, Color::LightRed, Color::Red),
            Tone::Fix => self.coloured(bold, Color::LightYellow, Color::Magenta),
            Tone::Note => self.coloured(plain, Color::LightBlue, Color::Blue),
            Tone::Good => self.coloured(plain, Color::LightGreen, Color::Green),
        }
    }

    fn coloured(self, style: Style, dark: Color, light: Color) -> Style {
        match self {
            Self::Dark => style.fg(dark),
            Self::Light => style.fg(light),
            Self::Mono => style,
        }
    }
}

/// The tone of a severity.
pub fn of_severity(severity: Severity) -> Tone {
    match severity {
        Severity::Stop => Tone::Stop,
        Severity::Fix => Tone::Fix,
        Severity::Note => Tone::Note,
    }
}

/// The tone of a result.
pub fn of_outcome(outcome: Outcome) -> Tone {
    match outcome {
        Outcome::Accept => Tone::Good,
        Outcome::Reject => Tone::Stop,
        Outcome::Undecided | Outcome::NotYet | Outcome::NotSeen | Outcome::Repaired => Tone::Fix,
        Outcome::NotFitted | Outcome::Refused => Tone::Dim,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mono_has_no_colour_at_all() {
        for tone in [
            Tone::Plain,
            Tone::Strong,
            Tone::Dim,
            Tone::Bar,
            Tone::Key,
            Tone::Stop,
            Tone::Fix,
            Tone::Note,
            Tone::Good,
        ] {
            let style = Theme::Mono.style(tone);
            assert_eq!((style.fg, style.bg), (None, None), "{tone:?}");
        }
    }
}
