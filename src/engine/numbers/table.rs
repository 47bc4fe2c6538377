//! Numbers as a text table for people and as CSV for spreadsheets.

use std::fmt::Write as _;

use unicode_width::UnicodeWidthStr;

use crate::diagnostic::escape_control;
use crate::model::keys::without_id;
use crate::units::Units;

use super::answer::{Against, Answer, Number, Refused};
use super::defaults::measured_by;

/// A table of the numbers with what the limits make of each, what it assumes and what to know beside it; then what was
/// refused and why.
pub fn to_text(answers: &[Answer], units: Units, against: impl Fn(&Answer) -> Option<Against>) -> String {
    let numbers: Vec<&Number> = answers.iter().filter_map(Answer::number).collect();
    let refused: Vec<&Refused> = answers.iter().filter_map(Answer::refused).collect();
    let mut out = String::new();
    let said = answers.iter().filter(|answer| answer.number().is_some()).map(&against);
    let said =
        said.map(|against| against.map_or_else(String::new, |against| escape_control(&against.words())));
    let rows: Vec<Cells> = numbers.iter().zip(said).map(|(number, said)| row(number, units, said)).collect();
    let widths = widths(&rows);
    for (place, (number, cells)) in numbers.iter().zip(&rows).enumerate() {
        push_line(&mut out, cells, &widths);
        // What rows of one quantity share is said once, below the last of them.
        let below = beside(number);
        let next = numbers.get(place + 1).filter(|next| next.quantity == number.quantity);
        if next.is_none_or(|next| beside(next) != below) {
            below.iter().for_each(|text| push_indented(&mut out, text));
        }
    }
    if !refused.is_empty() {
        out.push_str(if numbers.is_empty() { "Not worked out:\n" } else { "\nNot worked out:\n" });
        let rows: Vec<Cells> = refused.iter().map(|refused| refused_row(refused)).collect();
        let widths = self::widths(&rows);
        rows.iter().for_each(|cells| push_line(&mut out, cells, &widths));
    }
    out
}

/// What a number assumes, and what to know beside it.
fn beside(number: &Number) -> Vec<String> {
    let mut texts = Vec::new();
    if !number.assumed.is_empty() {
        texts.push(format!("assumed: {}", number.assumed.join("; ")));
    }
    // A note may be one of the assumptions again.
    texts.extend(number.notes.iter().filter(|note| !number.assumed.contains(note)).cloned());
    texts.extend(hint(number));
    texts
}

/// What to measure, where one input decides more than half of the band.
fn hint(number: &Number) -> Option<String> {
    let (path, share) = number.drivers.first()?;
    // That a length hangs on its own length helps nobody.
    let own = number.quantity == "line.length";
    let percent = crate::units::significant(100.0 * share, 2);
    if *share <= 0.5 || own || number.unknown.is_some() {
        return None;
    }
    Some(match measured_by(&without_id(path)) {
        Some(reading) => format!("{path} is {percent} % of what is not known: measure {reading} instead"),
        None => format!("{path} is {percent} % of what is not known: measure this first"),
    })
}

/// Name, what it is of, value, band, what the limit makes of it.
type Cells = [String; 5];

fn row(number: &Number, units: Units, said: String) -> Cells {
    [
        number.quantity.to_owned(),
        escape_control(&number.of),
        escape_control(&number.shown(units)),
        band(number, units),
        said,
    ]
}

fn refused_row(refused: &Refused) -> Cells {
    let of = refused.of.as_deref().unwrap_or("-");
    [
        refused.quantity.to_owned(),
        escape_control(of),
        escape_control(&refused.reason),
        String::new(),
        String::new(),
    ]
}

/// "low to high", one end where the other is not known, or nothing where no band was worked.
pub(super) fn band(number: &Number, units: Units) -> String {
    let show = |si| number.shown_as.show(si, units);
    match (number.low, number.high) {
        (Some(low), Some(high)) => format!("{} to {}", show(low), show(high)),
        (Some(low), None) => format!("{} or more", show(low)),
        (None, Some(high)) => format!("{} or less", show(high)),
        (None, None) => String::new(),
    }
}

fn widths(rows: &[Cells]) -> [usize; 5] {
    let mut widths = [0; 5];
    for row in rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = (*width).max(cell.width());
        }
    }
    widths
}

fn push_line(out: &mut String, cells: &Cells, widths: &[usize; 5]) {
    let mut line = String::new();
    for (cell, width) in cells.iter().zip(widths) {
        line.push_str(cell);
        line.extend(std::iter::repeat_n(' ', width.saturating_sub(cell.width()) + 2));
    }
    out.push_str(line.trim_end());
    out.push('\n');
}

fn push_indented(out: &mut String, text: &str) {
    out.push_str("    ");
    out.push_str(&escape_control(text));
    out.push('\n');
}

/// The first line of [`to_csv`].
const HEADER: &str =
    "quantity,of,value,unit,low,high,convergence,shown,rough,assumed,source,needs,reason,check,limit,verdict";

/// Every number and every refusal as CSV (RFC 4180): lines end in CR LF, texts that a spreadsheet would take as a
/// formula start with an apostrophe.
pub fn to_csv(answers: &[Answer], units: Units, against: impl Fn(&Answer) -> Option<Against>) -> String {
    let mut out = format!("{HEADER}\r\n");
    for answer in answers {
        let mut cells = match answer {
            Answer::Number(number) => number_cells(number, units),
            Answer::Refused(refused) => refused_cells(refused),
        };
        cells.extend(against(answer).map_or_else(
            || vec![String::new(); 3],
            |against| [&against.check, &against.limit, against.verdict].map(text_cell).to_vec(),
        ));
        let _ = write!(out, "{}\r\n", cells.join(","));
    }
    out
}

fn number_cells(number: &Number, units: Units) -> Vec<String> {
    let plain_number = |si: Option<f64>| si.map_or_else(String::new, |si| si.to_string());
    let value = match number.si() {
        Some(si) => si.to_string(),
        None => text_cell(&number.shown_as_word()),
    };
    vec![
        text_cell(number.quantity),
        text_cell(&number.of),
        value,
        text_cell(number.shown_as.unit()),
        plain_number(number.low),
        plain_number(number.high),
        plain_number(number.convergence),
        text_cell(&number.shown(units)),
        (if number.rough() { "yes" } else { "no" }).to_owned(),
        text_cell(&number.assumed.join("; ")),
        text_cell(&number.source),
        String::new(),
        String::new(),
    ]
}

fn refused_cells(refused: &Refused) -> Vec<String> {
    let mut cells = vec![String::new(); 13];
    let texts = [
        (0, refused.quantity.to_owned()),
        (1, refused.of.clone().unwrap_or_default()),
        (11, refused.needs.join("; ")),
        (12, refused.reason.clone()),
    ];
    for (place, text) in texts {
        if let Some(cell) = cells.get_mut(place) {
            *cell = text_cell(&text);
        }
    }
    cells
}

/// A text as a cell: no formula, quoted where it holds a comma, a quote or a line end.
fn text_cell(text: &str) -> String {
    let formula = text.starts_with(['=', '+', '-', '@', '\t', '\r']);
    let text = if formula { format!("'{text}") } else { text.to_owned() };
    if text.contains([',', '"', '\n', '\r']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text }
}
