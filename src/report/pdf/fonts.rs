//! The two embedded faces: how wide a text is, where it breaks, and what they can print.

use krilla::text::Font;
use ttf_parser::Face as Metrics;

use crate::report::wrap::seam;

/// DejaVu Sans 2.37, unchanged; its licence stands beside it.
const REGULAR: &[u8] = include_bytes!("../fonts/DejaVuSans.ttf");
/// DejaVu Sans Bold 2.37, unchanged.
const BOLD: &[u8] = include_bytes!("../fonts/DejaVuSans-Bold.ttf");

/// One face.
pub(super) struct Face {
    /// The face as it is embedded.
    pub font: Font,
    metrics: Metrics<'static>,
}

/// Both faces.
pub(super) struct Faces {
    regular: Face,
    bold: Face,
}

impl Faces {
    /// Reads both.
    ///
    /// # Errors
    /// A font file that cannot be read, which would be a fault of the build.
    pub fn load() -> Result<Self, String> {
        Ok(Self { regular: Face::load(REGULAR)?, bold: Face::load(BOLD)? })
    }

    /// The face of a weight.
    pub fn face(&self, bold: bool) -> &Face {
        if bold { &self.bold } else { &self.regular }
    }
}

impl Face {
    fn load(bytes: &'static [u8]) -> Result<Self, String> {
        let unreadable = || "the embedded font cannot be read".to_owned();
        let font = Font::new(bytes.into(), 0).ok_or_else(unreadable)?;
        let metrics = Metrics::parse(bytes, 0).map_err(|_| unreadable())?;
        Ok(Self { font, metrics })
    }

    fn advance(&self, c: char, size: f32) -> f32 {
        let glyph = self.metrics.glyph_index(c);
        let advance = glyph.and_then(|glyph| self.metrics.glyph_hor_advance(glyph)).unwrap_or(0);
        f32::from(advance) * size / f32::from(self.metrics.units_per_em())
    }

    /// How far letters of a size reach over and under the base line, as the face says.
    pub fn heights(&self, size: f32) -> (f32, f32) {
        let of = |units: i16| f32::from(units) * size / f32::from(self.metrics.units_per_em());
        (of(self.metrics.ascender()), -of(self.metrics.descender()))
    }

    /// Width in points, kerning not counted: never too small.
    pub fn width(&self, text: &str, size: f32) -> f32 {
        text.chars().map(|c| self.advance(c, size)).sum()
    }

    /// The text with every character that the face lacks written as `[U+65E5]`, so that nothing prints as a blank box.
    pub fn printable(&self, text: &str) -> String {
        let mut out = String::with_capacity(text.len());
        for c in text.chars() {
            if self.metrics.glyph_index(c).is_some() {
                out.push(c);
            } else {
                out.push_str(&format!("[U+{:04X}]", u32::from(c)));
            }
        }
        out
    }

    /// Lines no wider than `room` points; a word wider than that is cut.
    pub fn wrap(&self, text: &str, size: f32, room: f32) -> Vec<String> {
        let text = self.printable(text);
        let space = self.advance(' ', size);
        let mut lines: Vec<String> = Vec::new();
        let (mut line, mut taken) = (String::new(), 0.0);
        for word in text.split(' ').filter(|word| !word.is_empty()) {
            for piece in self.pieces(word, size, room) {
                let wide = self.width(&piece, size);
                if !line.is_empty() && taken + space + wide > room {
                    lines.push(std::mem::take(&mut line));
                    taken = 0.0;
                }
                if !line.is_empty() {
                    line.push(' ');
                    taken += space;
                }
                line.push_str(&piece);
                taken += wide;
            }
        }
        if !line.is_empty() || lines.is_empty() {
            lines.push(line);
        }
        lines
    }

    fn pieces(&self, word: &str, size: f32, room: f32) -> Vec<String> {
        let mut pieces: Vec<String> = Vec::new();
        let (mut piece, mut taken) = (String::new(), 0.0);
        for c in word.chars() {
            let wide = self.advance(c, size);
            if taken + wide > room && !piece.is_empty() {
                let rest = seam(&piece).map(|at| piece.split_off(at)).unwrap_or_default();
                taken = self.width(&rest, size);
                pieces.push(std::mem::replace(&mut piece, rest));
            }
            piece.push(c);
            taken += wide;
        }
        pieces.push(piece);
        pieces
    }
}

/// Whether a letter is written from right to left: Hebrew, Arabic and their neighbours.
fn is_right_to_left(c: char) -> bool {
    matches!(c, '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{fefe}')
}

/// Whether a letter is written from left to right whatever stands round it.
fn is_left_to_right(c: char) -> bool {
    c.is_alphabetic() && !is_right_to_left(c)
}

/// The stretches of a line with their direction and their distance from its left end. Between two right-to-left words
/// figures and signs go with them: the words then follow each other from the right (UAX #9, rules N1 and L2).
pub(super) fn set<'t>(face: &Face, size: f32, line: &'t str) -> Vec<(bool, f32, &'t str)> {
    let stretches = stretches(line);
    let mut placed: Vec<(bool, f32, &str)> = Vec::new();
    let mut x = 0.0;
    let mut rest = stretches.as_slice();
    while !rest.is_empty() {
        let ends = rest.iter().position(|(_, text)| text.contains(is_left_to_right)).unwrap_or(rest.len());
        let right = |(right, _): &(bool, &str)| *right;
        let last = rest.iter().take(ends).rposition(right);
        let count = match (rest.first(), last) {
            (Some((true, _)), Some(last)) => last + 1,
            _ => 1,
        };
        let (group, after) = rest.split_at(count);
        let wide: f32 = group.iter().map(|(_, text)| face.width(text, size)).sum();
        let mut end = x + wide;
        for (right, text) in group {
            end -= face.width(text, size);
            placed.push((*right, end, text));
        }
        x += wide;
        rest = after;
    }
    placed
}

/// A line cut into stretches of one direction; spaces between two right-to-left words go with them.
fn stretches(line: &str) -> Vec<(bool, &str)> {
    let mut cuts: Vec<(bool, usize)> = Vec::new();
    let mut spaces = None;
    for (at, c) in line.char_indices() {
        let right = is_right_to_left(c);
        match cuts.last() {
            Some((true, _)) if c == ' ' => {
                spaces = spaces.or(Some(at));
                continue;
            }
            Some((known, _)) if *known == right => {}
            Some((true, _)) => cuts.push((false, spaces.unwrap_or(at))),
            _ => cuts.push((right, at)),
        }
        spaces = None;
    }
    if let (Some(at), Some((true, _))) = (spaces, cuts.last()) {
        cuts.push((false, at));
    }
    let ends = cuts.iter().skip(1).map(|(_, at)| *at).chain([line.len()]);
    cuts.iter().zip(ends).filter_map(|((right, from), to)| Some((*right, line.get(*from..to)?))).collect()
}
