//! The two embedded faces: how wide a text is, where it breaks, and what they can print.

use krilla::text::{Font, GlyphId, KrillaGlyph};
use rustybuzz::{Direction, Face as Metrics, UnicodeBuffer, shape};
use unicode_width::UnicodeWidthChar;

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
    /// The glyphs of the letters that nearly every text is made of, by their code points.
    near: Vec<Option<Glyph>>,
}

/// A glyph's number in the face, and how far it leads on in the face's units.
#[derive(Clone, Copy)]
struct Glyph {
    id: u16,
    advance: u16,
}

/// Code points below this have their glyphs looked up once: Latin with its accents.
const NEAR: u32 = 0x180;

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
        let metrics = Metrics::from_slice(bytes, 0).ok_or_else(unreadable)?;
        let mut face = Self { font, metrics, near: Vec::new() };
        face.near = (0..NEAR).map(|code| face.looked_up(char::from_u32(code)?)).collect();
        Ok(face)
    }

    fn looked_up(&self, c: char) -> Option<Glyph> {
        let id = self.metrics.glyph_index(c)?;
        Some(Glyph { id: id.0, advance: self.metrics.glyph_hor_advance(id).unwrap_or(0) })
    }

    fn glyph(&self, c: char) -> Option<Glyph> {
        self.near.get(c as usize).map_or_else(|| self.looked_up(c), |known| *known)
    }

    fn advance(&self, c: char, size: f32) -> f32 {
        let advance = self.glyph(c).map_or(0, |glyph| glyph.advance);
        f32::from(advance) * size / self.units()
    }

    /// The glyphs of a text from left to right whose letters stand side by side, which need no shaping; shaping reads the
    /// whole face anew for every piece of text. `None` where marks stand over letters.
    pub fn glyphs(&self, text: &str) -> Option<Vec<KrillaGlyph>> {
        let em = self.units();
        let glyph = |(at, c): (usize, char)| {
            let glyph = self.glyph(c).filter(|_| c.width() != Some(0))?;
            let advance = f32::from(glyph.advance) / em;
            let id = GlyphId::new(glyph.id.into());
            Some(KrillaGlyph::new(id, advance, 0.0, 0.0, 0.0, at..at + c.len_utf8(), None))
        };
        text.char_indices().map(glyph).collect()
    }

    /// How far letters of a size reach over and under the base line, as the face says.
    pub fn heights(&self, size: f32) -> (f32, f32) {
        let of = |units: i16| f32::from(units) * size / self.units();
        (of(self.metrics.ascender()), -of(self.metrics.descender()))
    }

    /// Width in points, kerning not counted: never too small.
    pub fn width(&self, text: &str, size: f32) -> f32 {
        text.chars().map(|c| self.advance(c, size)).sum()
    }

    /// Width of a text that runs from right to left, its letters joined as they are printed.
    pub fn width_from_right(&self, text: &str, size: f32) -> f32 {
        let mut letters = UnicodeBuffer::new();
        letters.push_str(text);
        letters.guess_segment_properties();
        letters.set_direction(Direction::RightToLeft);
        let set = shape(&self.metrics, &[], letters);
        let units: i32 = set.glyph_positions().iter().map(|glyph| glyph.x_advance).sum();
        units as f32 * size / self.units()
    }

    fn units(&self) -> f32 {
        self.metrics.units_per_em() as f32
    }

    /// The text with every character that the face lacks written as `[U+65E5]`, so that nothing prints as a blank box.
    pub fn printable(&self, text: &str) -> String {
        let mut out = String::with_capacity(text.len());
        for c in text.chars() {
            if self.glyph(c).is_some() {
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
