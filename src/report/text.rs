//! The document as plain text: 76 columns, 42 and ASCII alone for a slip, pages with form feeds for an old printer.

use super::document::{Blank, Block, Document, Item, Section};
use super::item::mark;
use super::letters::{ascii, width};
use super::table::{self, labelled};
use crate::wrap::wrap;

/// Columns of a report.
const COLUMNS: usize = 76;
/// Columns of a slip.
pub(super) const SLIP: usize = 42;
/// Lines of a page on an old printer.
const PAGE: usize = 66;
/// Lines that a page leaves for the body: the foot takes two, and one stays free.
const BODY: usize = PAGE - 3;

/// The document as text without control characters apart from line breaks.
pub fn text(document: &Document) -> String {
    let mut lines = if document.narrow { slip(document) } else { report(document) };
    lines.push(String::new());
    lines.join("\n")
}

/// The same text in pages of 66 lines, a form feed after each, with its number at the foot. A slip has no pages.
pub fn paper(document: &Document) -> String {
    if document.narrow {
        return text(document);
    }
    let lines = report(document);
    let pages: Vec<&[String]> = lines.chunks(BODY).collect();
    let mut out = String::new();
    for (at, page) in pages.iter().enumerate() {
        page.iter().for_each(|line| {
            out.push_str(line);
            out.push('\n');
        });
        out.push_str(&"\n".repeat(BODY - page.len() + 1));
        let foot = format!("{}, {}, {}", document.subject, document.title.to_lowercase(), document.on);
        let number = format!("page {} of {}", at + 1, pages.len());
        let room = COLUMNS.saturating_sub(width(&number) + 2);
        let foot = wrap(&foot, room).into_iter().next().unwrap_or_default();
        let pad = " ".repeat(COLUMNS.saturating_sub(width(&number) + width(&foot)));
        out.push_str(&format!("{foot}{pad}{number}\n\u{c}"));
    }
    out
}

fn report(document: &Document) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    if let Some(shop) = &document.shop {
        lines.extend(wrap(&shop.name, COLUMNS));
        lines.extend(wrap(&shop.address, COLUMNS).into_iter().filter(|line| !line.is_empty()));
        lines.push(String::new());
    }
    lines.extend(wrap(&format!("{}: {}", document.title.to_uppercase(), document.subject), COLUMNS));
    lines.push("=".repeat(COLUMNS));
    for warning in &document.warnings {
        lines.extend(labelled("WARNING", warning, 0, 7, COLUMNS));
    }
    for notice in &document.notices {
        lines.extend(wrap(notice, COLUMNS));
    }
    lines.push(String::new());
    document.head.iter().for_each(|pair| lines.extend(labelled(&pair.label, &pair.text, 0, 11, COLUMNS)));
    for section in document.sections.iter().filter(|section| !is_drawn(section)) {
        heading(section, &mut lines);
        for (at, block) in section.blocks.iter().enumerate() {
            if at > 0 {
                lines.push(String::new());
            }
            lines.extend(block_lines(block, COLUMNS));
        }
    }
    lines.push(String::new());
    lines.push("=".repeat(COLUMNS));
    document.closing.iter().for_each(|text| lines.extend(wrap(text, COLUMNS)));
    if let Some(id) = document.short_id() {
        lines.push(format!("Record {id}: `linewalk log show {}` lists it.", document.car));
    }
    lines
}

/// Whether a section is nothing but drawings.
fn is_drawn(section: &Section) -> bool {
    section.blocks.iter().all(|block| matches!(block, Block::Picture(_)))
}

fn heading(section: &Section, lines: &mut Vec<String>) {
    lines.push(String::new());
    let title = wrap(&section.title.to_uppercase(), COLUMNS);
    let under = title.iter().map(|line| width(line)).max().unwrap_or(0);
    lines.extend(title);
    lines.push("-".repeat(under));
}

fn block_lines(block: &Block, columns: usize) -> Vec<String> {
    match block {
        Block::Paragraph(text) => wrap(text, columns),
        Block::List(points) => points.iter().flat_map(|point| labelled("-", point, 0, 0, columns)).collect(),
        Block::Pairs(pairs) => {
            pairs.iter().flat_map(|pair| labelled(&pair.label, &pair.text, 0, 11, columns)).collect()
        }
        Block::Table(table) => table::lines(table, columns),
        Block::Item(item) => item_lines(item, columns),
        Block::Blank(blank) => blank_lines(blank, columns),
        Block::Typed(lines) => lines.iter().map(|line| format!("    {line}")).collect(),
        Block::Picture(_) => Vec::new(),
        Block::Signatures(lines) => lines
            .iter()
            .flat_map(|line| match &line.signed {
                Some(signed) => labelled(&line.role, &format!("signed: {signed}"), 0, 12, columns),
                None => {
                    vec![String::new(), format!("{}: {}  date {}", line.role, "_".repeat(24), "_".repeat(12))]
                }
            })
            .collect(),
    }
}

fn item_lines(item: &Item, columns: usize) -> Vec<String> {
    let number = item.number.map(|number| format!("{number}.")).unwrap_or_default();
    let severity = item.severity.map(mark).unwrap_or_default();
    let mut lines = labelled(&number, &format!("{severity}  {}  {}", item.code, item.heading), 0, 3, columns);
    item.lines.iter().for_each(|pair| lines.extend(labelled(&pair.label, &pair.text, 5, 10, columns)));
    lines
}

/// Title and id, what there is to know and to write, then the boxes with time and initials, then the note.
fn blank_lines(blank: &Blank, columns: usize) -> Vec<String> {
    let title = format!("{} {}", mark(blank.severity), blank.heading);
    let spare = columns.checked_sub(width(&title) + width(&blank.code)).filter(|spare| *spare > 1);
    let mut lines = match spare {
        Some(spare) => vec![format!("{title}{}{}", " ".repeat(spare), blank.code)],
        None => [wrap(&title, columns), labelled("", &blank.code, 2, 0, columns)].concat(),
    };
    let hanging = |text: &str| labelled("", text, 2, 0, columns);
    let boxes: Vec<String> = Blank::BOXES.iter().map(|word| format!("[ ]{word}")).collect();
    blank.lines.iter().for_each(|line| lines.extend(hanging(line)));
    lines.push(format!("  {}  at __:__ by ____", boxes.join(" ")));
    lines.push(format!("  note {}", "_".repeat(columns.saturating_sub(7))));
    lines
}

/// A slip: every line at most 42 columns of ASCII.
fn slip(document: &Document) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let (first, foot) = document.head.split_at(document.head.len().min(2));
    let mut first = first.iter().map(|pair| pair.text.as_str());
    // The car at the left, the time at the right, where both go into one line.
    let (subject, time) = (ascii(&document.subject.to_uppercase()), first.next().unwrap_or_default());
    match SLIP.checked_sub(width(&subject) + time.len()).filter(|gap| *gap > 0) {
        Some(gap) => lines.push(format!("{subject}{}{time}", " ".repeat(gap))),
        None => lines.extend(wrap(&format!("{subject} {time}"), SLIP)),
    }
    let mut say = |text: &str, indent: usize| {
        let pad = " ".repeat(indent);
        lines.extend(
            wrap(&ascii(text), SLIP - indent)
                .into_iter()
                .map(|line| format!("{pad}{line}").trim_end().to_owned()),
        );
    };
    first.for_each(|text| say(text, 0));
    document.warnings.iter().for_each(|warning| say(&format!("WARNING {warning}"), 0));
    say(&"-".repeat(SLIP), 0);
    for section in &document.sections {
        for block in &section.blocks {
            slip_block(block, &mut say);
        }
    }
    say(&"-".repeat(SLIP), 0);
    foot.iter().for_each(|pair| say(&pair.text, 0));
    document.closing.iter().for_each(|text| say(text, 0));
    lines
}

/// The first line of an item on a slip.
pub(super) fn slip_heading(item: &Item) -> String {
    let severity = item.severity.map(|severity| severity.word().to_uppercase()).unwrap_or_default();
    format!("{severity} {} {}", item.code, item.heading)
}

/// A text in the lines that it takes on a slip.
pub(super) fn wrapped(text: &str, columns: usize) -> Vec<String> {
    wrap(&ascii(text), columns)
}

fn slip_block(block: &Block, say: &mut impl FnMut(&str, usize)) {
    match block {
        Block::Paragraph(text) => say(text, 0),
        Block::List(points) => points.iter().for_each(|point| say(point, 0)),
        Block::Pairs(pairs) => pairs.iter().for_each(|pair| say(&format!("{} {}", pair.label, pair.text), 0)),
        Block::Table(table) => table.rows.iter().for_each(|row| say(&row.join(" "), 0)),
        Block::Item(item) => {
            say(&slip_heading(item), 0);
            item.lines.iter().for_each(|pair| say(&pair.text, 2));
        }
        Block::Blank(blank) => {
            say(&format!("{} {}", blank.severity.word().to_uppercase(), blank.heading), 0);
            blank.lines.iter().for_each(|line| say(line, 2));
        }
        Block::Typed(lines) => lines.iter().for_each(|line| say(line, 2)),
        Block::Picture(_) => {}
        Block::Signatures(lines) => lines.iter().for_each(|line| match &line.signed {
            Some(signed) => say(&format!("{} {signed}", line.role), 0),
            None => say(&format!("{} {}", line.role, "_".repeat(14)), 0),
        }),
    }
}
