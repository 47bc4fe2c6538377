//! A text of several lines, as it came: a file's mistakes, with the lines they stand in.

use super::super::text::width;
use super::super::theme::Tone;
use super::{Body, Lines};

/// Quoted lines of a file keep their spaces, since the mark below stands under its place; the rest is wrapped.
pub fn body(text: &str, scroll: usize, mut lines: Lines) -> Body {
    let mut rest = text.lines().peekable();
    while let Some(line) = rest.next() {
        if let Some(gutter) = gutter(line) {
            let marks = rest.next_if(|next| next.contains('^') && self::gutter(next) == Some(gutter));
            quoted(line, gutter, marks.unwrap_or_default(), &mut lines);
        } else {
            let indent = line.chars().take_while(|c| *c == ' ').count().min(lines.width / 2);
            lines.indented(indent, Tone::Plain, line);
        }
    }
    Body::scrolled(lines.out, scroll)
}

/// Columns before the text of a quoted line: its number, or none, and a bar.
fn gutter(line: &str) -> Option<usize> {
    let number = line.trim_start_matches(' ').trim_start_matches(|c: char| c.is_ascii_digit());
    let text = number.trim_start_matches(' ').strip_prefix('|')?;
    let text = text.strip_prefix(' ').unwrap_or(text);
    Some(line.len() - text.len())
}

/// A line that is wider than the screen goes on in the next row, and its marks stand under the row of their place.
fn quoted(line: &str, gutter: usize, marks: &str, lines: &mut Lines) {
    let (before, text) = line.split_at(gutter);
    let below = format!("{:>1$}", "| ", gutter);
    // A mark may stand one column past the end.
    let pieces = pieces(text, lines.width.saturating_sub(gutter + 1).max(2));
    let mut marks = marks.get(gutter..).unwrap_or_default();
    for (at, piece) in pieces.iter().enumerate() {
        let edge = if at + 1 == pieces.len() { marks.len() } else { width(piece).min(marks.len()) };
        let (here, later) = marks.split_at(edge);
        lines.text_as_is(Tone::Plain, &format!("{}{piece}", if at == 0 { before } else { &below }));
        if here.contains('^') {
            lines.text_as_is(Tone::Plain, &format!("{below}{here}"));
        }
        marks = later;
    }
}

/// The text in pieces of so many columns, at least one.
fn pieces(text: &str, columns: usize) -> Vec<String> {
    let mut pieces = vec![String::new()];
    for c in text.chars() {
        if let Some(piece) = pieces.last_mut() {
            piece.push(c);
            if width(piece) > columns {
                piece.pop();
                pieces.push(c.to_string());
            }
        }
    }
    pieces
}
