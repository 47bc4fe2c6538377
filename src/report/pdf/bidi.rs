//! Lines with words that run from right to left: in which order their stretches stand, and how wide each is (UAX #9, by
//! its library). Signs that command a direction never come this far.

use unicode_bidi::{BidiClass, Direction, Level, ParagraphBidiInfo, bidi_class, get_base_direction};

use super::fonts::Face;

/// A stretch of a line in one direction.
pub(super) struct Stretch<'t> {
    /// Whether it runs from right to left.
    pub right_to_left: bool,
    /// Its distance from the left end of the line.
    pub from: f32,
    /// The text.
    pub text: &'t str,
}

/// Whether a paragraph runs from right to left: its first letter says so.
pub(super) fn begins_right(text: &str) -> bool {
    !text.is_ascii() && get_base_direction(text) == Direction::Rtl
}

/// Letters and numbers of Hebrew, Arabic and their neighbours; without them a line is one stretch.
fn has_right(line: &str) -> bool {
    let from_right = |c| matches!(bidi_class(c), BidiClass::R | BidiClass::AL | BidiClass::AN);
    !line.is_ascii() && line.contains(from_right)
}

/// How wide a line is printed, without the space at its end.
pub(super) fn width(face: &Face, size: f32, line: &str, right: bool) -> f32 {
    runs(line.trim_end(), right).iter().map(|(right, text)| run_width(face, size, *right, text)).sum()
}

/// The stretches of a line of a paragraph, from left to right. A space at the end is there to be copied only.
pub(super) fn set<'t>(face: &Face, size: f32, line: &'t str, right: bool) -> Vec<Stretch<'t>> {
    if !right && !has_right(line) {
        return vec![Stretch { right_to_left: false, from: 0.0, text: line }];
    }
    let (said, space) = line.split_at(line.trim_end().len());
    let mut from = 0.0;
    let mut placed = Vec::new();
    for (right_to_left, text) in runs(said, right) {
        placed.push(Stretch { right_to_left, from, text });
        from += run_width(face, size, right_to_left, text);
    }
    if !space.is_empty() {
        let from = if right { -face.width(space, size) } else { from };
        placed.push(Stretch { right_to_left: false, from, text: space });
    }
    placed
}

fn run_width(face: &Face, size: f32, right: bool, text: &str) -> f32 {
    if right { face.width_from_right(text, size) } else { face.width(text, size) }
}

/// The stretches of a line as they stand from left to right, each with whether it runs from right to left.
fn runs(line: &str, right: bool) -> Vec<(bool, &str)> {
    if !has_right(line) {
        return vec![(false, line)];
    }
    let base = if right { Level::rtl() } else { Level::ltr() };
    let info = ParagraphBidiInfo::new(line, Some(base));
    let (levels, runs) = info.visual_runs(0..line.len());
    let stretch = |run: std::ops::Range<usize>| {
        Some((levels.get(run.start).is_some_and(Level::is_rtl), line.get(run)?))
    };
    runs.into_iter().filter_map(stretch).collect()
}
