//! Every key of a place, from the list the keys are read from.

use super::super::keymap::{Place, at};
use super::super::layout::Keymap;
use super::super::text::column;
use super::super::theme::Tone;
use super::{Body, Lines};

/// The keys of a place.
pub fn body(place: Place, scroll: usize, keymap: &Keymap, mut lines: Lines) -> Body {
    lines.text(Tone::Strong, &super::title_of(place));
    for binding in at(place) {
        let keys: Vec<String> = keymap.keys(binding).iter().map(|key| key.word()).collect();
        let before = lines.out.len();
        lines.indented(12, Tone::Plain, binding.help);
        if let Some(line) = lines.out.get_mut(before) {
            line.spans.insert(
                0,
                ratatui::text::Span::styled(column(&keys.join(" "), 12), lines.theme.style(Tone::Key)),
            );
            line.spans.remove(1);
        }
    }
    if let Some(same) = keymap.space_at(place) {
        let text = format!("Space does the same here as {}: {}", keymap.shown(same), same.help);
        lines.text(Tone::Plain, &text);
    }
    if place == Place::Walk {
        lines.blank();
        lines.text(
            Tone::Plain,
            "A digit begins to type the value of the check. Capitals and small letters are the same.",
        );
    }
    lines.blank();
    lines.text(Tone::Strong, "Marks");
    lines.text(Tone::Plain, "+ accepted   x rejected   ~ undecided   ? not seen   _ not yet   / not fitted   * said to be repaired   : not calculated   . not answered");
    lines.text(Tone::Plain, "# STOP: the car does not run   = FIX: before the next event   - NOTE: advice");
    Body::scrolled(lines.out, scroll)
}
