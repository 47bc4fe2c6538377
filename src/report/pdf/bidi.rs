//! Lines with words that run from right to left: in which order their stretches stand, and how wide each is.
//!
//! Of UAX #9 it has what a line of a report needs: the direction of the paragraph by its first letter (P2, P3), numbers with
//! their signs (W2, W4, W5, W7), what stands between two words (N1, N2), the order (I1, I2, L1, L2); brackets turn with
//! their stretch (L4). Signs that command a direction never come this far.

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

/// What a letter or sign is for its direction.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Class {
    Left,
    Right,
    Number,
    Other,
}

/// Hebrew, Arabic and their neighbours.
fn is_right_to_left(c: char) -> bool {
    matches!(c, '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{fefe}')
}

fn class(c: char) -> Class {
    match c {
        '0'..='9' | '\u{660}'..='\u{669}' | '\u{66b}' | '\u{66c}' | '\u{6f0}'..='\u{6f9}' => Class::Number,
        '\u{60c}' | '\u{66a}' => Class::Other,
        c if is_right_to_left(c) => Class::Right,
        c if c.is_alphabetic() => Class::Left,
        _ => Class::Other,
    }
}

/// Whether a paragraph runs from right to left: its first letter says so.
pub(super) fn begins_right(text: &str) -> bool {
    text.chars().map(class).find(|class| matches!(class, Class::Left | Class::Right)) == Some(Class::Right)
}

/// How wide a line is printed, without the space at its end.
pub(super) fn width(face: &Face, size: f32, line: &str, right: bool) -> f32 {
    let line = line.trim_end();
    if !line.contains(is_right_to_left) {
        return face.width(line, size);
    }
    runs(line, right).iter().map(|(level, text)| run_width(face, size, *level, text)).sum()
}

/// The stretches of a line of a paragraph, from left to right. A space at the end is there to be copied only.
pub(super) fn set<'t>(face: &Face, size: f32, line: &'t str, right: bool) -> Vec<Stretch<'t>> {
    if !right && !line.contains(is_right_to_left) {
        return vec![Stretch { right_to_left: false, from: 0.0, text: line }];
    }
    let (said, space) = line.split_at(line.trim_end().len());
    let mut from = 0.0;
    let mut placed = Vec::new();
    for (level, text) in in_order(runs(said, right)) {
        placed.push(Stretch { right_to_left: level % 2 == 1, from, text });
        from += run_width(face, size, level, text);
    }
    if !space.is_empty() {
        let from = if right { -face.width(space, size) } else { from };
        placed.push(Stretch { right_to_left: false, from, text: space });
    }
    placed
}

fn run_width(face: &Face, size: f32, level: u8, text: &str) -> f32 {
    if level % 2 == 1 { face.width_from_right(text, size) } else { face.width(text, size) }
}

/// A line cut where its level changes, as it is written.
fn runs(line: &str, right: bool) -> Vec<(u8, &str)> {
    let levels = levels(line, right);
    let mut cuts: Vec<(u8, usize)> = Vec::new();
    for ((at, _), level) in line.char_indices().zip(levels) {
        if cuts.last().is_none_or(|(known, _)| *known != level) {
            cuts.push((level, at));
        }
    }
    let ends = cuts.iter().skip(1).map(|(_, at)| *at).chain([line.len()]);
    cuts.iter().zip(ends).filter_map(|((level, from), to)| Some((*level, line.get(*from..to)?))).collect()
}

/// The level of every letter: even ones run from left to right.
fn levels(line: &str, right: bool) -> Vec<u8> {
    let classes = classes(line, right);
    let base = if right { Class::Right } else { Class::Left };
    // To what stands between, a number is a word of the right (N1).
    let side = |class: Class| if class == Class::Number { Class::Right } else { class };
    let mut before = base;
    let mut levels = Vec::with_capacity(classes.len());
    for (at, class) in classes.iter().enumerate() {
        let class = match class {
            Class::Other => {
                let after = classes.iter().skip(at).find(|class| **class != Class::Other);
                let after = after.map_or(base, |class| side(*class));
                if before == after { after } else { base }
            }
            known => {
                before = side(*known);
                *known
            }
        };
        levels.push(match (class, right) {
            (Class::Right, _) => 1,
            (Class::Left | Class::Other, false) => 0,
            (Class::Left | Class::Other, true) | (Class::Number, _) => 2,
        });
    }
    levels
}

/// Classes once signs have joined their numbers, and numbers behind a word of the left have joined that.
fn classes(line: &str, right: bool) -> Vec<Class> {
    let chars: Vec<char> = line.chars().collect();
    let mut classes: Vec<Class> = chars.iter().copied().map(class).collect();
    let number =
        |at: Option<usize>| at.and_then(|at| chars.get(at)).is_some_and(|c| class(*c) == Class::Number);
    for (at, c) in chars.iter().enumerate() {
        let (before, after) = (number(at.checked_sub(1)), number(Some(at + 1)));
        let joins = match c {
            '.' | ',' | ':' | '/' | '+' | '-' => before && after,
            '%' | '#' | '$' | '\u{b0}' | '\u{66a}' => before || after,
            _ => false,
        };
        if let (true, Some(class)) = (joins, classes.get_mut(at)) {
            *class = Class::Number;
        }
    }
    let mut strong = if right { Class::Right } else { Class::Left };
    for class in &mut classes {
        match class {
            Class::Left | Class::Right => strong = *class,
            Class::Number if strong == Class::Left => *class = Class::Left,
            Class::Number | Class::Other => {}
        }
    }
    classes
}

/// Runs as they stand from left to right: from the highest level down, what is at it or above is turned round (L2).
fn in_order(mut runs: Vec<(u8, &str)>) -> Vec<(u8, &str)> {
    for level in [2, 1] {
        runs.chunk_by_mut(|(one, _), (next, _)| (*one >= level) == (*next >= level))
            .filter(|chunk| chunk.first().is_some_and(|(first, _)| *first >= level))
            .for_each(<[_]>::reverse);
    }
    runs
}
