//! The two embedded faces: how wide a text is, where it breaks, and what they can print.

use std::borrow::Cow;
use std::io::Read;
use std::sync::LazyLock;

use flate2::read::GzDecoder;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use rustybuzz::{Direction, Face as Metrics, UnicodeBuffer, shape};
use unicode_width::UnicodeWidthChar;

use crate::letters::spelled;

/// DejaVu Sans 2.37, unchanged but for being packed; its licence stands beside it.
static REGULAR: Packed = Packed::new(|| unpacked(include_bytes!("../fonts/DejaVuSans.ttf.gz")));
/// DejaVu Sans Bold 2.37, the same.
static BOLD: Packed = Packed::new(|| unpacked(include_bytes!("../fonts/DejaVuSans-Bold.ttf.gz")));

/// A font file that is unpacked where it is wanted first: packed, the two are half as large, a fifteenth of the program.
type Packed = LazyLock<Vec<u8>>;

/// Unpacks a font file. What cannot be unpacked ends early, and is then no font.
fn unpacked(packed: &[u8]) -> Vec<u8> {
    // Its last four bytes are its length unpacked (RFC 1952, ISIZE).
    let length = packed.last_chunk().map_or(0, |length| u32::from_le_bytes(*length));
    let mut bytes = Vec::with_capacity(length as usize);
    let _ = GzDecoder::new(packed).read_to_end(&mut bytes);
    bytes
}

/// One face.
pub(super) struct Face {
    /// The face as it is embedded.
    pub font: Font,
    metrics: Metrics<'static>,
    /// Its units in one em.
    units: f32,
    /// The glyphs of the letters that nearly every text is made of, by their code points.
    near: Vec<Option<Glyph>>,
}

/// A letter's glyph.
#[derive(Clone, Copy)]
struct Glyph {
    /// Its number in the face.
    id: u16,
    /// How far it leads on, in the face's units.
    advance: u16,
    /// Whether it stands beside the letter before it, not over that.
    beside: bool,
}

/// Code points below this have their glyphs looked up once: Latin with its accents.
const NEAR: u32 = 0x180;

/// Room for the letters of a line on a page, in bytes.
const USUAL: usize = 128;

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
        Ok(Self { regular: Face::load(&REGULAR)?, bold: Face::load(&BOLD)? })
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
        let units = metrics.units_per_em() as f32;
        let mut face = Self { font, metrics, units, near: Vec::new() };
        face.near = (0..NEAR).map(|code| face.looked_up(char::from_u32(code)?)).collect();
        Ok(face)
    }

    fn looked_up(&self, c: char) -> Option<Glyph> {
        let id = self.metrics.glyph_index(c)?;
        let advance = self.metrics.glyph_hor_advance(id).unwrap_or(0);
        Some(Glyph { id: id.0, advance, beside: c.width() != Some(0) })
    }

    fn glyph(&self, c: char) -> Option<Glyph> {
        self.near.get(c as usize).map_or_else(|| self.looked_up(c), |known| *known)
    }

    fn advance(&self, c: char, size: f32) -> f32 {
        let advance = self.glyph(c).map_or(0, |glyph| glyph.advance);
        f32::from(advance) * size / self.units
    }

    /// The glyphs of a text from left to right whose letters stand side by side, which need no shaping; shaping reads the
    /// whole face anew for every piece of text. `None` where marks stand over letters.
    pub fn glyphs(&self, text: &str) -> Option<Vec<KrillaGlyph>> {
        let mut glyphs = Vec::with_capacity(text.len());
        for (at, c) in text.char_indices() {
            let glyph = self.glyph(c).filter(|glyph| glyph.beside)?;
            let advance = f32::from(glyph.advance) / self.units;
            let id = GlyphId::new(glyph.id.into());
            glyphs.push(KrillaGlyph::new(id, advance, 0.0, 0.0, 0.0, at..at + c.len_utf8(), None));
        }
        Some(glyphs)
    }

    /// How far letters of a size reach over and under the base line, as the face says.
    pub fn heights(&self, size: f32) -> (f32, f32) {
        let of = |units: i16| f32::from(units) * size / self.units;
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
        units as f32 * size / self.units
    }

    /// The text with every character that the face lacks spelled in plain letters, so that nothing prints as a blank box.
    pub fn printable<'t>(&self, text: &'t str) -> Cow<'t, str> {
        if text.chars().all(|c| self.glyph(c).is_some()) {
            return Cow::Borrowed(text);
        }
        let mut out = String::with_capacity(text.len());
        for c in text.chars() {
            if self.glyph(c).is_some() {
                out.push(c);
            } else {
                out.push_str(spelled(c));
            }
        }
        Cow::Owned(out)
    }

    /// Lines no wider than `room` points; a word wider than that is cut.
    pub fn wrap(&self, text: &str, size: f32, room: f32) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        self.broken(text, size, room, |piece, begins| match lines.last_mut() {
            Some(line) if !begins => {
                line.push(' ');
                line.push_str(piece);
            }
            _ => {
                let mut line = String::with_capacity(text.len().min(USUAL));
                line.push_str(piece);
                lines.push(line);
            }
        });
        lines
    }

    /// How many lines [`Self::wrap`] gives.
    pub fn lines(&self, text: &str, size: f32, room: f32) -> usize {
        let mut lines = 0;
        self.broken(text, size, room, |_, begins| lines += usize::from(begins));
        lines
    }

    /// Gives every piece of a text that stands between two spaces or line ends, and whether a line begins with it. A text
    /// of nothing is one piece of nothing.
    fn broken(&self, text: &str, size: f32, room: f32, mut put: impl FnMut(&str, bool)) {
        let text = self.printable(text);
        let space = self.advance(' ', size);
        // The line's width so far; none before the first.
        let mut taken: Option<f32> = None;
        for word in text.split(' ').filter(|word| !word.is_empty()) {
            let mut rest = word;
            while !rest.is_empty() {
                let (piece, wide, after) = self.piece(rest, size, room);
                let joined = taken.map(|taken| taken + space + wide).filter(|joined| *joined <= room);
                put(piece, joined.is_none());
                taken = Some(joined.unwrap_or(wide));
                rest = after;
            }
        }
        if taken.is_none() {
            put("", true);
        }
    }

    /// As much of a word as a line holds, one letter at least, its width, and what is left of the word.
    fn piece<'t>(&self, word: &'t str, size: f32, room: f32) -> (&'t str, f32, &'t str) {
        let mut wide = 0.0;
        for (at, c) in word.char_indices() {
            let with = wide + self.advance(c, size);
            if with > room && at > 0 {
                let (whole, _) = word.split_at(at);
                let (piece, rest) = word.split_at(seam(whole).unwrap_or(at));
                return (piece, self.width(piece, size), rest);
            }
            wide = with;
        }
        (word, wide, "")
    }
}

/// Where a piece is best cut: behind a point, stroke or hyphen in its second half.
fn seam(piece: &str) -> Option<usize> {
    let at = piece.rfind(['.', '_', '/', '-', ','])? + 1;
    (at < piece.len() && at * 2 >= piece.len()).then_some(at)
}
