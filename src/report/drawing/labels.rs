//! Words on a page that do not lie over each other: each tries places round its point, and goes without where none is free.

use super::sheet::Flat;

/// Mean width of a letter, of its size: a plain face without serifs.
pub(super) const LETTER: f64 = 0.55;

/// A text placed: its lower left corner, y down.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Placed {
    pub at: Flat,
    pub text: String,
}

/// Boxes taken so far: left, top, right, bottom.
#[derive(Debug, Default)]
pub(super) struct Room {
    taken: Vec<[f64; 4]>,
    width: f64,
    height: f64,
}

impl Room {
    pub fn new(width: f64, height: f64) -> Self {
        Self { taken: Vec::new(), width, height }
    }

    /// Takes a box round a point, of half its width and half its height.
    pub fn take(&mut self, [x, y]: Flat, wide: f64, high: f64) {
        self.taken.push([x - wide, y - high, x + wide, y + high]);
    }

    /// Places a text near a point; none where every place is taken.
    pub fn place(&mut self, [x, y]: Flat, gap: f64, size: f64, text: &str) -> Option<Placed> {
        let wide = text_width(text, size);
        let tries = [
            [x + gap, y + size * 0.35],
            [x - gap - wide, y + size * 0.35],
            [x - wide / 2.0, y - gap],
            [x - wide / 2.0, y + gap + size * 0.8],
            [x + gap, y - gap],
            [x + gap, y + gap + size * 0.8],
            [x - gap - wide, y - gap],
            [x - gap - wide, y + gap + size * 0.8],
        ];
        let found = tries.into_iter().find_map(|[left, base]| {
            let area = [left - 1.0, base - size, left + wide + 1.0, base + size * 0.25];
            self.is_free(area).then_some((area, [left, base]))
        });
        let (area, at) = found?;
        self.taken.push(area);
        Some(Placed { at, text: text.to_owned() })
    }

    fn is_free(&self, [a, b, c, d]: [f64; 4]) -> bool {
        let inside = a >= 0.0 && b >= 0.0 && c <= self.width && d <= self.height;
        inside && self.taken.iter().all(|[e, f, g, h]| c <= *e || a >= *g || d <= *f || b >= *h)
    }
}

/// How wide a text is, near enough to place it.
#[expect(clippy::cast_precision_loss, reason = "a label is short")]
pub(super) fn text_width(text: &str, size: f64) -> f64 {
    unicode_width::UnicodeWidthStr::width(text) as f64 * LETTER * size
}
