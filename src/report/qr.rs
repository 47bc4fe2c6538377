//! A square code with the newest record's id, to find the record again from paper.

use qrcode::{Color, EcLevel, QrCode};

/// The dark squares of a code, row by row, with the width of a row.
pub(super) struct Squares {
    /// Squares to a side.
    pub side: usize,
    /// Column and row of each dark square.
    pub dark: Vec<(usize, usize)>,
}

impl Squares {
    /// Dark squares that touch in their row as one: column and row of the first, and how many.
    pub fn runs(&self) -> Vec<(usize, usize, usize)> {
        let touch = |one: &(usize, usize), next: &(usize, usize)| (one.0 + 1, one.1) == *next;
        let runs = self.dark.chunk_by(touch);
        runs.filter_map(|run| run.first().map(|(column, row)| (*column, *row, run.len()))).collect()
    }
}

/// The code of a text; none where the text is too long for one.
pub(super) fn squares(text: &str) -> Option<Squares> {
    let code = QrCode::with_error_correction_level(text.as_bytes(), EcLevel::M).ok()?;
    let side = code.width();
    let colours = code.to_colors();
    let dark = colours.iter().enumerate().filter(|(_, colour)| **colour == Color::Dark);
    Some(Squares { side, dark: dark.map(|(at, _)| (at % side, at / side)).collect() })
}
