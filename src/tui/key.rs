//! One key of the keyboard, and the word for it on screen and in the settings.

use crossterm::event::{KeyCode, KeyEvent};

/// A key, without its case.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is the word on the key")]
pub enum Key {
    Char(char),
    Enter,
    Esc,
    Tab,
    Up,
    Down,
    Left,
    Right,
    PageUp,
    PageDown,
    Home,
    End,
    F(u8),
}

impl Key {
    /// The key of an event; letters lose their case.
    pub fn of(event: KeyEvent) -> Option<Self> {
        Some(match event.code {
            KeyCode::Char(c) => Self::Char(c.to_ascii_lowercase()),
            KeyCode::Enter => Self::Enter,
            KeyCode::Esc => Self::Esc,
            KeyCode::Tab => Self::Tab,
            KeyCode::Up => Self::Up,
            KeyCode::Down => Self::Down,
            KeyCode::Left => Self::Left,
            KeyCode::Right => Self::Right,
            KeyCode::PageUp => Self::PageUp,
            KeyCode::PageDown => Self::PageDown,
            KeyCode::Home => Self::Home,
            KeyCode::End => Self::End,
            KeyCode::F(number) => Self::F(number),
            _ => return None,
        })
    }

    /// The word for it on screen.
    pub fn word(self) -> String {
        match self {
            Self::Char(' ') => "Space".to_owned(),
            Self::Char(c) => c.to_string(),
            Self::Up => "Up".to_owned(),
            Self::Down => "Down".to_owned(),
            Self::Left => "Left".to_owned(),
            Self::Right => "Right".to_owned(),
            Self::PageUp => "PgUp".to_owned(),
            Self::PageDown => "PgDn".to_owned(),
            Self::Home => "Home".to_owned(),
            Self::End => "End".to_owned(),
            Self::Enter => "Enter".to_owned(),
            Self::Esc => "Esc".to_owned(),
            Self::Tab => "Tab".to_owned(),
            Self::F(number) => format!("F{number}"),
        }
    }

    /// The key that a word names, as [`Self::word`] says it; letters in either case.
    pub fn named(word: &str) -> Option<Self> {
        let mut chars = word.chars();
        if let (Some(one), None) = (chars.next(), chars.next()) {
            return Some(Self::Char(one.to_ascii_lowercase())).filter(|_| !one.is_control());
        }
        let function = word.strip_prefix(['F', 'f']).and_then(|number| number.parse().ok());
        if let Some(number @ 1..=12) = function {
            return Some(Self::F(number));
        }
        Self::NAMED.iter().copied().find(|key| key.word().eq_ignore_ascii_case(word))
    }

    /// Keys that have a word of more than one letter, beside F1 to F12.
    pub const NAMED: &'static [Self] = &[
        Self::Char(' '),
        Self::Enter,
        Self::Esc,
        Self::Tab,
        Self::Up,
        Self::Down,
        Self::Left,
        Self::Right,
        Self::PageUp,
        Self::PageDown,
        Self::Home,
        Self::End,
    ];
}
