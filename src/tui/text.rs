//! Text made fit for a screen: escaped, wrapped, cut.

use unicode_width::UnicodeWidthStr;

pub use crate::diagnostic::{escape_control, many};
use crate::model::entry::{Moment, Outcome, Severity};
pub use crate::rules::outcome_sign as result_mark;
use crate::rules::severity_sign;
pub use crate::wrap::wrap;

/// Width in columns.
pub fn width(text: &str) -> usize {
    UnicodeWidthStr::width(text)
}

/// The text, cut to `columns` with a mark where something is cut off.
pub fn fit(text: &str, columns: usize) -> String {
    if width(text) <= columns {
        return text.to_owned();
    }
    let mut out = String::new();
    for c in text.chars() {
        out.push(c);
        if width(&out) + 1 > columns {
            out.pop();
            break;
        }
    }
    if columns > 0 {
        out.push('…');
    }
    out
}

/// The text, cut or padded to exactly `columns`.
pub fn column(text: &str, columns: usize) -> String {
    let mut out = fit(text, columns);
    out.push_str(&" ".repeat(columns.saturating_sub(width(&out))));
    out
}

/// A severity as a mark and a word, so that colour says nothing alone.
pub fn severity_word(severity: Severity) -> String {
    format!("{} {}", severity_sign(severity), severity.word().to_uppercase())
}

/// A result in words.
pub fn result_word(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Accept => "accepted",
        Outcome::Reject => "REJECTED",
        Outcome::Undecided => "undecided",
        Outcome::NotFitted => "not fitted",
        Outcome::NotYet => "not yet",
        Outcome::NotSeen => "not seen",
        Outcome::Repaired => "said to be repaired",
        Outcome::Refused => "not worked out",
    }
}

/// A moment as people read it.
pub fn when(at: Moment) -> String {
    at.format("%Y-%m-%d %H:%M").to_string()
}

/// Minutes and seconds.
pub fn clock(seconds: f64) -> String {
    let seconds = seconds.round() as i64;
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

/// The row of a list that a digit names, counted from one.
pub fn row_of_digit(c: char, rows: usize) -> Option<usize> {
    let digit = usize::try_from(c.to_digit(10)?).ok()?;
    digit.checked_sub(1).filter(|at| *at < rows)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_never_wider_than_asked() {
        for columns in 1..30 {
            let lines = wrap("the line lies in a sleeve — see überlongwordwithoutanybreak", columns);
            assert!(lines.iter().all(|line| width(line) <= columns.max(1)), "{columns}: {lines:?}");
        }
    }

    #[test]
    fn cut_text_says_that_it_is_cut() {
        assert_eq!(fit("left front", 6), "left …");
        assert_eq!(fit("left", 4), "left");
        assert_eq!(fit("left", 0), "");
    }
}
