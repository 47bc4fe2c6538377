//! Tables over pages: cells wrapped, the header repeated, a row taller than a page carried on.

use crate::document::Table;

use super::bidi;
use super::flow::{Flow, Op, Role, Style};

/// Space inside a cell.
const PAD: f32 = 3.0;
/// Set for the cells.
const CELL: Style = Style { size: 8.0, leading: 10.0, bold: false };
/// Set for the header.
const HEAD: Style = Style { size: 8.0, leading: 10.0, bold: true };
/// A column is not made narrower than this, unless it is narrower by itself.
const LEAST: f32 = 40.0;

/// One row ready to be drawn.
struct Row {
    lines: Vec<Vec<String>>,
    /// For each cell whether it runs from right to left.
    right: Vec<bool>,
    parts: Vec<Option<usize>>,
    style: Style,
}

impl Row {
    fn height(&self) -> f32 {
        let most = self.lines.iter().map(Vec::len).max().unwrap_or(1);
        most as f32 * self.style.leading + 2.0 * PAD
    }
}

/// Draws a table.
pub(super) fn draw(flow: &mut Flow<'_>, table: &Table, outer: Option<usize>) {
    let widths = widths(flow, table);
    let part = flow.part(Role::Table, outer);
    let head = row(flow, &table.head, &widths, HEAD, Some((part, Role::Head)));
    // A header at the very foot of a page would stand alone.
    let first = table.rows.first().map_or(0.0, |_| CELL.leading + 2.0 * PAD);
    flow.need(head.height() + first);
    let top = head.height();
    put(flow, head, &widths, None);
    for cells in &table.rows {
        let cells = row(flow, cells, &widths, CELL, Some((part, Role::Cell)));
        let body = flow.bottom() - flow.margin - top;
        if cells.height() > flow.left() && (cells.height() <= body || flow.left() < CELL.leading + 2.0 * PAD)
        {
            flow.turn();
            repeat(flow, table, &widths);
        }
        put(flow, cells, &widths, Some(table));
    }
    flow.y += 4.0;
}

/// The header again: decoration on every page but the first.
fn repeat(flow: &mut Flow<'_>, table: &Table, widths: &[f32]) {
    let head = row(flow, &table.head, widths, HEAD, None);
    put(flow, head, widths, None);
}

fn row(
    flow: &mut Flow<'_>,
    cells: &[String],
    widths: &[f32],
    style: Style,
    tagged: Option<(usize, Role)>,
) -> Row {
    let face = flow.faces.face(style.bold);
    let lines = cells
        .iter()
        .zip(widths)
        .map(|(cell, width)| face.wrap(cell, style.size, width - 2.0 * PAD))
        .collect();
    let parts = match tagged {
        Some((table, role)) => {
            let row = flow.part(Role::Row, Some(table));
            cells.iter().map(|_| Some(flow.part(role.clone(), Some(row)))).collect()
        }
        None => cells.iter().map(|_| None).collect(),
    };
    let right = cells.iter().map(|cell| bidi::begins_right(cell)).collect();
    Row { lines, right, parts, style }
}

/// Draws a row, carrying it on over pages where it is taller than one; `table` gives the header to repeat.
fn put(flow: &mut Flow<'_>, row: Row, widths: &[f32], table: Option<&Table>) {
    let most = row.lines.iter().map(Vec::len).max().unwrap_or(1);
    let mut from = 0;
    loop {
        let fits = (((flow.left() - 2.0 * PAD) / row.style.leading).max(1.0)) as usize;
        let to = most.min(from + fits);
        slice(flow, &row, widths, from, to);
        from = to;
        if from >= most {
            return;
        }
        flow.turn();
        if let Some(table) = table {
            repeat(flow, table, widths);
        }
    }
}

/// Some lines of a row, in their frame.
fn slice(flow: &mut Flow<'_>, row: &Row, widths: &[f32], from: usize, to: usize) {
    let height = (to - from) as f32 * row.style.leading + 2.0 * PAD;
    let top = flow.y;
    let mut x = flow.margin;
    let mut frame = vec![
        [flow.margin, top, widths.iter().sum::<f32>(), 0.6],
        [flow.margin, top + height, widths.iter().sum::<f32>(), 0.6],
    ];
    let cells = row.lines.iter().zip(&row.right).zip(&row.parts).zip(widths);
    for (((lines, right), part), width) in cells {
        let from_right = right.then_some(width - 2.0 * PAD);
        frame.push([x, top, 0.6, height]);
        for (at, line) in lines.iter().enumerate().skip(from).take(to - from) {
            flow.y = top + PAD + (at - from) as f32 * row.style.leading;
            let line = if at + 1 < lines.len() { format!("{line} ") } else { line.clone() };
            flow.line_of(line, (x + PAD, from_right), row.style, *part);
        }
        x += width;
    }
    frame.push([x, top, 0.6, height]);
    flow.draw(Op::Boxes { boxes: frame, part: None });
    flow.y = top + height;
}

/// How wide each column is: as wide as its text where that fits, else its share of what is left over the least.
fn widths(flow: &Flow<'_>, table: &Table) -> Vec<f32> {
    let room = flow.room();
    let text = |cell: &str, bold: bool| flow.faces.face(bold).width(cell, CELL.size) + 2.0 * PAD + 1.0;
    let measure = |at: usize, of: &dyn Fn(&str, bool) -> f32| {
        let head = table.head.get(at).map_or(0.0, |cell| of(cell, true));
        table.rows.iter().filter_map(|row| row.get(at)).map(|cell| of(cell, false)).fold(head, f32::max)
    };
    let longest = |cell: &str, bold: bool| cell.split(' ').map(|word| text(word, bold)).fold(0.0, f32::max);
    let columns = 0..table.head.len();
    let natural: Vec<f32> = columns.clone().map(|at| measure(at, &text)).collect();
    if natural.iter().sum::<f32>() <= room {
        return natural;
    }
    let share = room / table.head.len().max(1) as f32;
    let least: Vec<f32> = columns
        .map(|at| measure(at, &longest))
        .zip(&natural)
        .map(|(word, natural)| word.clamp(LEAST, share.max(LEAST)).min(*natural))
        .collect();
    let spare = (room - least.iter().sum::<f32>()).max(0.0);
    let wanted: Vec<f32> =
        natural.iter().zip(&least).map(|(natural, least)| (natural - least).max(0.0).sqrt()).collect();
    let all = wanted.iter().sum::<f32>().max(1.0);
    let widths = least.iter().zip(&wanted).map(|(least, wanted)| least + spare * wanted / all);
    let widths: Vec<f32> = widths.collect();
    let scale = (room / widths.iter().sum::<f32>()).min(1.0);
    widths.into_iter().map(|width| width * scale).collect()
}
