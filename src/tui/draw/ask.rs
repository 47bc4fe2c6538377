//! A question, and what it is about.

use super::super::asking::Question;
use super::super::text::severity_word;
use super::super::theme::{Tone, of_severity};
use super::{Body, Lines};

/// The question first, then each line with its severity.
pub fn body(question: &Question, mut lines: Lines) -> Body {
    lines.text(Tone::Strong, &question.title);
    lines.blank();
    for (severity, text) in &question.lines {
        match severity {
            Some(severity) => lines.pair(&severity_word(*severity), of_severity(*severity), text),
            None => lines.text(Tone::Plain, text),
        }
    }
    lines.blank();
    lines.text(Tone::Strong, &format!("Enter: {}. Esc: {}.", question.yes, question.no));
    Body::scrolled(lines.out, question.scroll)
}
