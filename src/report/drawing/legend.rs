//! What the lines and signs of drawings mean.

use super::page::{LETTERS, Page, Pen, draw_mark};
use super::sheet::{Drawing, Mark, Style};

/// Width of a column.
const COLUMN: f64 = 165.0;
/// From one row to the next.
const ROW: f64 = LETTERS * 1.7;

/// The styles of several drawings, each once, in the order of a legend. Where the person is stands in none.
pub fn styles_of(drawings: &[Drawing]) -> Vec<Style> {
    let all = Style::ALL.iter().map(|(style, _)| *style).filter(|style| *style != Style::Here);
    all.filter(|style| drawings.iter().any(|drawing| drawing.styles().contains(style))).collect()
}

/// A legend of some styles on a page of this width, in as many columns as fit.
pub fn legend_page(styles: &[Style], width: f64) -> Page {
    let mut page = Page { width: width.max(COLUMN), height: 0.0, ops: Vec::new() };
    let (mut x, mut y) = (4.0, LETTERS * 1.2);
    for style in styles {
        if x + COLUMN > page.width && x > 4.0 {
            (x, y) = (4.0, y + ROW);
        }
        let middle = [x + 13.0, y - LETTERS * 0.35];
        let sign = |text: &str| Mark {
            at: middle,
            style: *style,
            text: text.to_owned(),
            id: String::new(),
            label: String::new(),
        };
        match style {
            Style::Bottle | Style::Tee | Style::Nozzle | Style::FrameSleeve => {
                draw_mark(&mut page, &sign(""), middle);
            }
            Style::Station => draw_mark(&mut page, &sign("A"), middle),
            Style::Finding => draw_mark(&mut page, &sign("TL12"), middle),
            _ => page.line(vec![[x, middle[1]], [x + 26.0, middle[1]]], Pen::of(*style), ""),
        }
        page.text([x + 32.0, y], style.words());
        x += COLUMN;
    }
    page.height = y + LETTERS;
    page
}

/// Which letter is which station, and what the reader of the drawings should know, each once.
pub fn notes_of(drawings: &[Drawing]) -> Vec<String> {
    let mut notes: Vec<String> = Vec::new();
    for drawing in drawings {
        let stations: Vec<String> = drawing
            .marks
            .iter()
            .filter(|mark| mark.style == Style::Station)
            .map(|mark| format!("{} {}", mark.text, mark.label))
            .collect();
        let stations = (!stations.is_empty()).then(|| format!("Stations: {}.", stations.join(", ")));
        for note in stations.into_iter().chain(drawing.notes.iter().cloned()) {
            if !notes.contains(&note) {
                notes.push(note);
            }
        }
    }
    notes
}
