//! Tables in plain text: columns where they fit, else one small block a row.

use super::document::Table;
use super::letters::width;
use crate::wrap::wrap;

/// Spaces between two columns.
const GAP: usize = 2;
/// A column no wider than this by itself is not made narrower where there is room.
const SHORT: usize = 13;
/// A column is not made narrower than this, unless it is narrower by itself.
const LEAST: usize = 9;

/// The lines of a table in so many columns.
pub(super) fn lines(table: &Table, columns: usize) -> Vec<String> {
    match widths(table, columns) {
        Some(widths) => grid(table, &widths),
        None => records(table, columns),
    }
}

/// How wide each column is, where the table fits: first without breaking a short cell, else without breaking a word.
fn widths(table: &Table, columns: usize) -> Option<Vec<usize>> {
    widths_with(table, columns, SHORT).or_else(|| widths_with(table, columns, 0))
}

fn widths_with(table: &Table, columns: usize, short: usize) -> Option<Vec<usize>> {
    let room = columns.checked_sub(GAP * table.head.len().saturating_sub(1))?;
    let column = |at: usize| table.rows.iter().filter_map(move |row| row.get(at)).chain(table.head.get(at));
    let natural: Vec<usize> =
        (0..table.head.len()).map(|at| column(at).map(|cell| width(cell)).max().unwrap_or(0)).collect();
    let longest = |cell: &String| cell.split(' ').map(width).max().unwrap_or(0);
    let least: Vec<usize> = (0..table.head.len())
        .zip(&natural)
        .map(|(at, natural)| {
            if *natural <= short {
                return *natural;
            }
            column(at).map(longest).max().unwrap_or(0).max(LEAST).min(*natural).min(24)
        })
        .collect();
    let mut spare = room.checked_sub(least.iter().sum())?;
    let mut widths = least;
    // Room goes a column at a time to the one whose text would be the tallest.
    while spare > 0 {
        let lacking = widths.iter_mut().zip(&natural).filter(|(width, natural)| **width < **natural);
        let tallest = lacking.max_by_key(|(width, natural)| **natural * 100 / (**width).max(1));
        let Some((width, _)) = tallest else { break };
        *width += 1;
        spare -= 1;
    }
    Some(widths)
}

fn grid(table: &Table, widths: &[usize]) -> Vec<String> {
    let mut lines = row(&table.head, widths);
    lines.push(widths.iter().map(|width| "-".repeat(*width)).collect::<Vec<_>>().join(&" ".repeat(GAP)));
    for cells in &table.rows {
        lines.extend(row(cells, widths));
    }
    lines
}

fn row(cells: &[String], widths: &[usize]) -> Vec<String> {
    let wrapped: Vec<Vec<String>> =
        cells.iter().zip(widths).map(|(cell, width)| wrap(cell, *width)).collect();
    let height = wrapped.iter().map(Vec::len).max().unwrap_or(0);
    (0..height)
        .map(|at| {
            let mut line = String::new();
            let mut target = 0;
            for (cell, column) in wrapped.iter().zip(widths) {
                line.push_str(&" ".repeat(target - width(&line).min(target)));
                line.push_str(cell.get(at).map_or("", String::as_str));
                target += column + GAP;
            }
            line.trim_end().to_owned()
        })
        .collect()
}

/// Each row as labelled lines, the first cell leading.
fn records(table: &Table, columns: usize) -> Vec<String> {
    let label = table.head.iter().skip(1).map(|head| width(head)).max().unwrap_or(0).min(columns / 3);
    let mut lines: Vec<String> = Vec::new();
    for cells in &table.rows {
        if !lines.is_empty() {
            lines.push(String::new());
        }
        let mut cells = cells.iter().zip(&table.head);
        if let Some((cell, head)) = cells.next() {
            lines.extend(wrap(&format!("{head}: {cell}"), columns));
        }
        for (cell, head) in cells.filter(|(cell, _)| !cell.is_empty()) {
            lines.extend(labelled(head, cell, 2, label, columns));
        }
    }
    lines
}

/// A label in its own column with the text hanging beside it.
pub(super) fn labelled(label: &str, text: &str, indent: usize, column: usize, columns: usize) -> Vec<String> {
    let hang = indent + column + 2;
    let mut lines: Vec<String> = Vec::new();
    let names = wrap(label, column.max(1));
    let texts = wrap(text, columns.saturating_sub(hang).max(8));
    for at in 0..names.len().max(texts.len()) {
        let name = names.get(at).map_or("", String::as_str);
        let pad = " ".repeat((column + 2).saturating_sub(width(name)));
        let text = texts.get(at).map_or("", String::as_str);
        lines.push(format!("{}{name}{pad}{text}", " ".repeat(indent)).trim_end().to_owned());
    }
    lines
}
