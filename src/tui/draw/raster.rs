//! A picture made of dots: eight a cell, two a cell, or one plain sign a cell. Lines differ by their dashes, by their sign
//! and by their tone, so that none of the three is needed.

use ratatui::text::{Line, Span};

use crate::drawing::{Flat, dashes};

use super::super::picture::Grain;
use super::super::theme::{Theme, Tone};

/// How a line is drawn.
#[derive(Clone, Copy, Debug)]
pub struct Ink {
    /// Its tone.
    pub tone: Tone,
    /// Its sign where a cell has only one.
    pub sign: char,
    /// On and off, in cells; empty for a whole line.
    pub dash: &'static [f64],
    /// Which line is seen where two share a cell.
    pub rank: u8,
}

#[derive(Clone, Copy, Debug)]
struct Cell {
    dots: u8,
    ink: Option<Ink>,
    sign: Option<(char, Tone)>,
}

/// A picture of some columns and rows. A cell is one wide and two high.
#[derive(Debug)]
pub struct Raster {
    grain: Grain,
    columns: usize,
    cells: Vec<Cell>,
}

impl Raster {
    /// An empty picture.
    pub fn new(grain: Grain, columns: usize, rows: usize) -> Self {
        let empty = Cell { dots: 0, ink: None, sign: None };
        Self { grain, columns, cells: vec![empty; columns * rows] }
    }

    /// Dots in a cell, across and down.
    fn dots(&self) -> (f64, f64) {
        match self.grain {
            Grain::Braille => (2.0, 4.0),
            Grain::Half => (1.0, 2.0),
            Grain::Ascii => (1.0, 1.0),
        }
    }

    /// A line through points, in cells: to the right, and down in half cells' heights so that both count alike.
    pub fn way(&mut self, points: &[Flat], ink: Ink) {
        // One sign a cell tells lines apart already; dashes would only make it harder to follow.
        let pattern = if self.grain == Grain::Ascii { &[] } else { ink.dash };
        for [from, to] in dashes(points, pattern) {
            self.straight(from, to, ink);
        }
    }

    fn straight(&mut self, [ax, ay]: Flat, [bx, by]: Flat, ink: Ink) {
        let (across, down) = self.dots();
        let ([ax, bx], [ay, by]) = ([ax * across, bx * across], [ay * down / 2.0, by * down / 2.0]);
        let steps = (bx - ax).abs().max((by - ay).abs()).ceil().clamp(1.0, 10_000.0);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "held to a small whole number"
        )]
        // The last dot belongs to what comes after, or a gap of one dot would close.
        for step in 0..steps as u32 {
            let share = f64::from(step) / steps;
            self.dot((ax + (bx - ax) * share).floor(), (ay + (by - ay) * share).floor(), ink);
        }
    }

    /// One dot, where it lies inside.
    fn dot(&mut self, x: f64, y: f64, ink: Ink) {
        let (across, down) = self.dots();
        if !(x >= 0.0 && y >= 0.0) {
            return;
        }
        let (column, row) = ((x / across).floor(), (y / down).floor());
        let bit = bit_of(self.grain, x - column * across, y - row * down);
        let Some(cell) = self.cell(column, row) else { return };
        cell.dots |= bit;
        if cell.ink.is_none_or(|known| ink.rank >= known.rank) {
            cell.ink = Some(ink);
        }
    }

    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "inside the picture")]
    fn cell(&mut self, column: f64, row: f64) -> Option<&mut Cell> {
        let inside = column >= 0.0 && row >= 0.0 && (column as usize) < self.columns;
        inside.then(|| self.cells.get_mut(row as usize * self.columns + column as usize)).flatten()
    }

    /// Signs over the picture, the first one at a point given as for [`Self::way`].
    pub fn sign(&mut self, [x, y]: Flat, text: &str, tone: Tone) {
        for (at, c) in text.chars().enumerate() {
            #[expect(clippy::cast_precision_loss, reason = "a sign is short")]
            let column = x.floor() + at as f64;
            if let Some(cell) = self.cell(column, (y / 2.0).floor()) {
                cell.sign = Some((c, tone));
            }
        }
    }

    /// How many cells it is wide.
    pub fn columns(&self) -> usize {
        self.columns
    }

    /// The picture as lines of a screen.
    pub fn lines(&self, theme: Theme) -> Vec<Line<'static>> {
        let rows = self.cells.chunks(self.columns.max(1));
        rows.map(|row| Line::from(self.row(row, theme))).collect()
    }

    fn row(&self, cells: &[Cell], theme: Theme) -> Vec<Span<'static>> {
        let mut spans: Vec<(Tone, String)> = Vec::new();
        for cell in cells {
            let (c, tone) = match (cell.sign, cell.ink) {
                (Some(sign), _) => sign,
                (None, Some(ink)) => (glyph(self.grain, cell.dots, ink.sign), ink.tone),
                (None, None) => (' ', Tone::Plain),
            };
            match spans.last_mut() {
                Some((known, text)) if *known == tone => text.push(c),
                _ => spans.push((tone, c.to_string())),
            }
        }
        spans.into_iter().map(|(tone, text)| Span::styled(text, theme.style(tone))).collect()
    }
}

/// The bit of a dot in its cell; for Braille as Unicode numbers the dots of U+2800.
fn bit_of(grain: Grain, x: f64, y: f64) -> u8 {
    let (right, low) = (x >= 1.0, y >= 1.0);
    match (grain, y) {
        (Grain::Ascii, _) => 1,
        (Grain::Half, _) => 1 << u8::from(low),
        (Grain::Braille, y) if y >= 3.0 => 0x40 << u8::from(right),
        (Grain::Braille, y) => {
            let down = u8::from(y >= 1.0) + u8::from(y >= 2.0);
            1 << (down + if right { 3 } else { 0 })
        }
    }
}

fn glyph(grain: Grain, dots: u8, sign: char) -> char {
    match (grain, dots) {
        (Grain::Ascii, _) => sign,
        (Grain::Half, 1) => '▀',
        (Grain::Half, 2) => '▄',
        (Grain::Half, _) => '█',
        (Grain::Braille, dots) => char::from_u32(0x2800 + u32::from(dots)).unwrap_or(sign),
    }
}
