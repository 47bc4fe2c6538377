//! Breaking text into lines of a width, counted in columns of a terminal.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// Columns that a text takes.
pub(super) fn width(text: &str) -> usize {
    text.width()
}

/// Lines no wider than `columns`, broken at spaces, inside a word only where the word is wider than a line.
pub(super) fn wrap(text: &str, columns: usize) -> Vec<String> {
    let columns = columns.max(1);
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        for piece in pieces(word, columns) {
            let joined = if line.is_empty() { width(&piece) } else { width(&line) + 1 + width(&piece) };
            if joined > columns {
                lines.push(std::mem::take(&mut line));
            } else if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(&piece);
        }
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// A word cut into pieces no wider than a line.
fn pieces(word: &str, columns: usize) -> Vec<String> {
    if width(word) <= columns {
        return vec![word.to_owned()];
    }
    let mut pieces: Vec<String> = Vec::new();
    let mut piece = String::new();
    let mut taken = 0;
    for c in word.chars() {
        let wide = c.width().unwrap_or(0);
        if taken + wide > columns && !piece.is_empty() {
            let rest = seam(&piece).map(|at| piece.split_off(at)).unwrap_or_default();
            pieces.push(std::mem::replace(&mut piece, rest));
            taken = width(&piece);
        }
        piece.push(c);
        taken += wide;
    }
    pieces.push(piece);
    pieces
}

/// Where a piece is best cut: behind a point, stroke or hyphen in its second half.
pub(super) fn seam(piece: &str) -> Option<usize> {
    let at = piece.rfind(['.', '_', '/', '-', ','])? + 1;
    (at < piece.len() && at * 2 >= piece.len()).then_some(at)
}

/// The plain letters of U+00C0 to U+017F, in order.
const LATIN: [&str; 2] = [
    "AAAAAAACEEEEIIIIDNOOOOOxOUUUUYTsaaaaaaaceeeeiiiidnooooo/ouuuuyty",
    "AaAaAaCcCcCcCcDdDdEeEeEeEeEeGgGgGgGgHhHhIiIiIiIiIiIiJjKkkLlLlLlLlLlNnNnNnnNnOoOoOoOoRrRrRrSsSsSsSsTtTtTtUuUuUuUuUuUuWwYyYZzZzZzs",
];

/// A Latin letter without its mark.
fn latin(c: char) -> Option<char> {
    let at = usize::try_from(u32::from(c)).ok()?.checked_sub(0xc0)?;
    LATIN.iter().flat_map(|letters| letters.chars()).nth(at)
}

/// The text in plain ASCII: what has a usual spelling is spelt, the rest stands as `[U+65E5]`, so that nothing is lost.
pub(super) fn ascii(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            ' '..='~' => out.push(c),
            '\u{2010}'..='\u{2015}' | '\u{2212}' => out.push('-'),
            '\u{2018}' | '\u{2019}' | '\u{2032}' => out.push('\''),
            '\u{201c}' | '\u{201d}' | '\u{2033}' => out.push('"'),
            '\u{2026}' => out.push_str("..."),
            '\u{a0}' => out.push(' '),
            '°' => out.push_str(" deg"),
            '×' => out.push('x'),
            '±' => out.push_str("+/-"),
            '≤' => out.push_str("<="),
            '≥' => out.push_str(">="),
            'µ' | 'μ' => out.push('u'),
            '²' => out.push('2'),
            '³' => out.push('3'),
            '½' => out.push_str(" 1/2"),
            '¼' => out.push_str(" 1/4"),
            '¾' => out.push_str(" 3/4"),
            '⅛' => out.push_str(" 1/8"),
            '⅜' => out.push_str(" 3/8"),
            '⅝' => out.push_str(" 5/8"),
            '⅞' => out.push_str(" 7/8"),
            'ä' | 'Ä' => out.push_str("ae"),
            'ö' | 'Ö' | 'ø' | 'Ø' => out.push_str("oe"),
            'ü' | 'Ü' => out.push_str("ue"),
            'ß' => out.push_str("ss"),
            'æ' | 'Æ' => out.push_str("ae"),
            // A mark over the letter before it: the letter stays.
            '\u{300}'..='\u{36f}' => {}
            c => match latin(c) {
                Some(letter) => out.push(letter),
                None => out.push_str(&format!("[U+{:04X}]", u32::from(c))),
            },
        }
    }
    out
}
