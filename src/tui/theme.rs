//! Colours by a stated palette, and never colour alone.
//!
//! Colours are numbers 16 to 255 of the 256-colour table that xterm made common, because these, unlike the first
//! sixteen, are the same on every terminal: 16 to 231 a cube of six steps a channel, 232 to 255 a ramp of greys.
//! Ground and text are both set, so that contrast is known.

use ratatui::style::{Color, Modifier, Style};

use crate::model::entry::{Outcome, Severity};

/// A set of colours.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Theme {
    /// Light text on a dark ground.
    #[default]
    Dark,
    /// Dark text on a light ground.
    Light,
    /// Black on white with more room between lines, for a screen in the sun.
    Sun,
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

impl Tone {
    /// Every tone with its word.
    pub const WORDS: &'static [(&'static str, Self)] = &[
        ("plain", Self::Plain),
        ("strong", Self::Strong),
        ("dim", Self::Dim),
        ("bar", Self::Bar),
        ("key", Self::Key),
        ("stop", Self::Stop),
        ("fix", Self::Fix),
        ("note", Self::Note),
        ("good", Self::Good),
    ];

    fn is_bold(self) -> bool {
        !matches!(self, Self::Plain | Self::Dim | Self::Note | Self::Good)
    }
}

impl Theme {
    /// Every theme with its word.
    pub const WORDS: &'static [(&'static str, Self)] =
        &[("dark", Self::Dark), ("light", Self::Light), ("sun", Self::Sun), ("mono", Self::Mono)];

    /// The theme a word names.
    pub fn named(word: &str) -> Option<Self> {
        Self::WORDS.iter().find(|(name, _)| *name == word).map(|(_, theme)| *theme)
    }

    /// The next theme.
    pub fn next(self) -> Self {
        match self {
            Self::Dark => Self::Light,
            Self::Light => Self::Sun,
            Self::Sun => Self::Mono,
            Self::Mono => Self::Dark,
        }
    }

    /// Its words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Dark => "dark ground",
            Self::Light => "light ground",
            Self::Sun => "for the sun: black on white, more room",
            Self::Mono => "no colour",
        }
    }

    /// Whether lines stand further apart.
    pub fn is_roomy(self) -> bool {
        self == Self::Sun
    }

    /// The ground that a screen is filled with.
    pub fn ground(self) -> Style {
        self.style(Tone::Plain)
    }

    /// The style of a tone.
    pub fn style(self, tone: Tone) -> Style {
        let bold = tone.is_bold() || self == Self::Sun;
        let style = if bold { Style::new().add_modifier(Modifier::BOLD) } else { Style::new() };
        match self.colours(tone) {
            Some((text, ground)) => style.fg(Color::Indexed(text)).bg(Color::Indexed(ground)),
            None if tone == Tone::Bar => style.add_modifier(Modifier::REVERSED),
            None => style,
        }
    }

    /// Text and ground of a tone, as numbers of the 256-colour table; none without colour.
    #[rustfmt::skip]
    pub fn colours(self, tone: Tone) -> Option<(u8, u8)> {
        let [dark, light, sun] = match tone {
            Tone::Plain  => [(253, 16), (16, 231), (16, 231)],
            Tone::Strong => [(231, 16), (16, 231), (16, 231)],
            Tone::Dim    => [(248, 16), (240, 231), (234, 231)],
            Tone::Bar    => [(16, 253), (231, 236), (231, 16)],
            Tone::Key    => [(117, 16), (25, 231), (18, 231)],
            Tone::Stop   => [(210, 16), (124, 231), (231, 88)],
            Tone::Fix    => [(221, 16), (94, 231), (53, 231)],
            Tone::Note   => [(111, 16), (55, 231), (18, 231)],
            Tone::Good   => [(120, 16), (22, 231), (22, 231)],
        };
        match self {
            Self::Dark => Some(dark),
            Self::Light => Some(light),
            Self::Sun => Some(sun),
            Self::Mono => None,
        }
    }
}

/// Red, green and blue of a number of the 256-colour table, 0 to 255 each; none for the first sixteen, which every
/// terminal chooses for itself.
pub fn rgb(number: u8) -> Option<[u8; 3]> {
    let step = |at: u8| if at == 0 { 0 } else { 55 + 40 * at };
    match number {
        0..=15 => None,
        16..=231 => {
            let at = number - 16;
            Some([step(at / 36), step(at / 6 % 6), step(at % 6)])
        }
        232..=255 => Some([8 + 10 * (number - 232); 3]),
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
        for (_, tone) in Tone::WORDS {
            let style = Theme::Mono.style(*tone);
            assert_eq!((style.fg, style.bg), (None, None), "{tone:?}");
        }
    }
}
