//! Letters as a printer or a face has them, and how wide they are.

use unicode_width::UnicodeWidthStr;

/// Columns that a text takes.
pub(super) fn width(text: &str) -> usize {
    text.width()
}

/// The text in plain ASCII: trade signs as they are spoken, other letters by their usual spelling, and `[?]` for what has
/// none.
pub(super) fn ascii(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            ' '..='~' => out.push(c),
            '°' => out.push_str(" deg"),
            '±' => out.push_str("+/-"),
            // A fraction stands behind its whole number.
            '½' | '¼' | '¾' | '⅛' | '⅜' | '⅝' | '⅞' => {
                out.push(' ');
                out.push_str(deunicode::deunicode_char(c).unwrap_or_default().trim());
            }
            // The usual spelling of the languages that have them.
            'ä' | 'Ä' | 'æ' | 'Æ' => out.push_str("ae"),
            'ö' | 'Ö' | 'ø' | 'Ø' => out.push_str("oe"),
            'ü' | 'Ü' => out.push_str("ue"),
            // A mark over the letter before it: the letter stays.
            '\u{300}'..='\u{36f}' => {}
            c => out.push_str(spelled(c)),
        }
    }
    out
}

/// A character in plain letters: its usual spelling, or `[?]` where it has none.
pub(super) fn spelled(c: char) -> &'static str {
    deunicode::deunicode_char(c).unwrap_or("[?]")
}
