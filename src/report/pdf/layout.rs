//! The document laid out: headings, items, lists, tables and signatures, in reading order.

use crate::document::{Block, Document, Item, Pair, Section, Signature};
use crate::item::mark;
use crate::qr::squares;

use super::blank;
use super::flow::{FOOT, Flow, Op, Role, Style};
use super::{picture, table};

const BODY: Style = Style { size: 9.0, leading: 12.0, bold: false };
const STRONG: Style = Style { bold: true, ..BODY };
const SMALL: Style = Style { size: 8.0, leading: 10.5, bold: false };
const TITLE: Style = Style { size: 15.0, leading: 19.0, bold: true };
const HEADING: Style = Style { size: 11.0, leading: 15.0, bold: true };
const ITEM: Style = Style { size: 10.0, leading: 13.5, bold: true };
/// Width of the column of labels.
const LABELS: f32 = 76.0;
/// The same on a strip.
const SHORT_LABELS: f32 = 40.0;
/// An item no taller than this stays on one page.
const WHOLE: f32 = 190.0;
/// How far the body of an item stands in.
const INDENT: f32 = 14.0;
/// Side of one square of the record's code.
const SQUARE: f32 = 2.2;

/// Lays out a whole document; the foot of each page comes last, when their number is known.
pub(super) fn lay(flow: &mut Flow<'_>, document: &Document) {
    head(flow, document);
    document.sections.iter().for_each(|section| body_section(flow, section));
    closing(flow, document);
    if flow.is_strip() && flow.pages.len() == 1 {
        // A strip is cut behind its last line.
        flow.height = flow.y + FOOT + flow.margin;
    }
    feet(flow, document);
}

/// Width of the column of labels on this page.
fn labels(flow: &Flow<'_>) -> f32 {
    if flow.is_strip() { SHORT_LABELS } else { LABELS }
}

fn paragraph(flow: &mut Flow<'_>, text: &str, style: Style) {
    let part = flow.part(Role::Paragraph, None);
    flow.text(text, flow.margin, flow.room(), style, part);
}

fn head(flow: &mut Flow<'_>, document: &Document) {
    if let Some(shop) = &document.shop {
        paragraph(flow, &shop.name, HEADING);
        if !shop.address.is_empty() {
            paragraph(flow, &shop.address, BODY);
        }
        flow.skip(6.0);
    }
    flow.heading(1, &format!("{}: {}", document.title, document.subject), TITLE);
    flow.rule(1.5);
    document.warnings.iter().for_each(|warning| paragraph(flow, &format!("WARNING: {warning}"), STRONG));
    document.notices.iter().for_each(|notice| paragraph(flow, notice, BODY));
    flow.skip(6.0);
    pairs(flow, &document.head, flow.margin, BODY);
}

fn body_section(flow: &mut Flow<'_>, section: &Section) {
    flow.skip(10.0);
    // What is said of a station stands on the page of its first check.
    let with_blank = section.blocks.iter().any(|block| matches!(block, Block::Blank(_)));
    let first = section.blocks.first().map_or(0.0, |block| match block {
        Block::Picture(picture) => picture::least(flow, picture) + 30.0,
        Block::Item(item) => kept_together(flow, item) + 20.0,
        _ => 0.0,
    });
    flow.need(if with_blank { 180.0 } else { first.max(60.0) });
    flow.heading(2, &section.title, HEADING);
    flow.rule(0.6);
    for block in &section.blocks {
        match block {
            Block::Paragraph(text) => paragraph(flow, text, BODY),
            Block::List(points) => list(flow, points),
            Block::Pairs(list) => pairs(flow, list, flow.margin, BODY),
            Block::Table(data) => table::draw(flow, data, None),
            Block::Item(data) => item(flow, data),
            Block::Blank(data) => blank::draw(flow, data),
            Block::Picture(data) => {
                picture::put(flow, data, STRONG);
                data.notes.iter().for_each(|note| paragraph(flow, note, SMALL));
            }
            Block::Typed(lines) => typed(flow, lines),
            Block::Signatures(lines) => lines.iter().for_each(|line| signature(flow, line)),
        }
        flow.skip(4.0);
    }
}

/// Lines as they stand, on one page where it holds them.
fn typed(flow: &mut Flow<'_>, lines: &[String]) {
    flow.need(lines.len() as f32 * BODY.leading);
    for line in lines {
        let part = flow.part(Role::Paragraph, None);
        flow.text(line, flow.margin + INDENT, flow.room() - INDENT, BODY, part);
    }
}

fn list(flow: &mut Flow<'_>, points: &[String]) {
    let list = flow.part(Role::List, None);
    for point in points {
        let outer = flow.part(Role::Point, Some(list));
        let label = flow.part(Role::Label, Some(outer));
        let body = flow.part(Role::Body, Some(outer));
        flow.need(BODY.leading);
        flow.line("-", flow.margin, BODY, Some(label));
        flow.text(point, flow.margin + 10.0, flow.room() - 10.0, BODY, body);
    }
}

/// Labels in their own column, as a list for readers that do not look.
fn pairs(flow: &mut Flow<'_>, pairs: &[Pair], x: f32, style: Style) {
    if pairs.is_empty() {
        return;
    }
    let column = labels(flow);
    let list = flow.part(Role::List, None);
    let bold = Style { bold: true, ..style };
    for pair in pairs {
        let outer = flow.part(Role::Point, Some(list));
        let label = flow.part(Role::Label, Some(outer));
        let body = flow.part(Role::Body, Some(outer));
        flow.need(style.leading);
        let (page, top) = (flow.pages.len(), flow.y);
        flow.text(&pair.label, x, column - 4.0, bold, label);
        let after = flow.y;
        if flow.pages.len() == page {
            flow.y = top;
        }
        let room = flow.width - flow.margin - x - column;
        flow.text(&pair.text, x + column, room, style, body);
        if flow.pages.len() == page {
            flow.y = flow.y.max(after);
        }
    }
}

fn item(flow: &mut Flow<'_>, item: &Item) {
    let together = kept_together(flow, item);
    flow.need(together);
    flow.heading(3, &item_title(item), ITEM);
    pairs(flow, &item.lines, flow.margin + INDENT, BODY);
}

fn item_title(item: &Item) -> String {
    let number = item.number.map(|number| format!("{number}. ")).unwrap_or_default();
    let severity = item.severity.map(|severity| format!("{}  ", mark(severity))).unwrap_or_default();
    format!("{number}{severity}{}  {}", item.code, item.heading)
}

/// How much of an item stands on one page: a short one whole, of a long one its beginning.
fn kept_together(flow: &Flow<'_>, item: &Item) -> f32 {
    let high = item_height(flow, &item_title(item), &item.lines);
    if high <= WHOLE { high } else { 50.0 }
}

/// The height of an item under its title.
fn item_height(flow: &Flow<'_>, title: &str, lines: &[Pair]) -> f32 {
    let column = labels(flow);
    let (regular, bold) = (flow.faces.face(false), flow.faces.face(true));
    let body = lines.iter().map(|pair| {
        let text = regular.lines(&pair.text, BODY.size, flow.room() - INDENT - column);
        text.max(bold.lines(&pair.label, BODY.size, column - 4.0))
    });
    bold.lines(title, ITEM.size, flow.room()) as f32 * ITEM.leading
        + body.sum::<usize>() as f32 * BODY.leading
}

fn signature(flow: &mut Flow<'_>, line: &Signature) {
    flow.skip(12.0);
    flow.need(2.0 * BODY.leading);
    let Some(signed) = &line.signed else { return to_sign(flow, &line.role) };
    paragraph(flow, &format!("{}: signed {signed}", line.role), BODY);
}

/// A role with a rule to sign on and one for the date.
fn to_sign(flow: &mut Flow<'_>, role: &str) {
    let part = flow.part(Role::Paragraph, None);
    let (x, end) = (flow.margin + labels(flow), flow.margin + flow.room());
    let long = ((end - x) * 0.45).min(200.0);
    let date = x + long + 8.0;
    let from = date + flow.faces.face(false).width("date ", BODY.size) + 4.0;
    let base = flow.y + BODY.size + 1.5;
    let short = (end - from).min(90.0);
    flow.draw(Op::Boxes { boxes: vec![[x, base, long, 0.6], [from, base, short, 0.6]], part: None });
    flow.line("date", date, BODY, Some(part));
    flow.text(role, flow.margin, labels(flow) - 4.0, BODY, part);
}

/// The last words with the code of the record beside them, under them on a strip; all on one page.
fn closing(flow: &mut Flow<'_>, document: &Document) {
    let code = document.record.as_deref().and_then(squares);
    let side = code.as_ref().map_or(0.0, |code| (code.side + 8) as f32 * SQUARE);
    let room = if flow.is_strip() { flow.room() } else { flow.room() - side };
    let record = document.record.iter().map(|record| format!("Record {record}"));
    let words: Vec<String> = document.closing.iter().cloned().chain(record).collect();
    let face = flow.faces.face(false);
    let lines: usize = words.iter().map(|text| face.lines(text, SMALL.size, room)).sum();
    let high = lines as f32 * SMALL.leading;
    flow.skip(14.0);
    flow.need(6.0 + if flow.is_strip() { high + side } else { high.max(side) });
    flow.rule(1.5);
    let (page, top) = (flow.pages.len(), flow.y);
    for text in &words {
        let part = flow.part(Role::Paragraph, None);
        flow.text(text, flow.margin, room, SMALL, part);
    }
    let (Some(code), Some(record)) = (code, &document.record) else { return };
    let under = flow.y;
    let mut x = flow.margin + room;
    if flow.is_strip() || flow.pages.len() > page {
        flow.need(side);
        x = flow.margin;
    } else {
        flow.y = top;
    }
    let part = flow.part(Role::Picture(format!("Code of the record {record}")), None);
    let boxes = code.runs().into_iter().map(|(column, row, long)| {
        let at = |square: usize| (square + 4) as f32 * SQUARE;
        [x + at(column), flow.y + at(row), long as f32 * SQUARE, SQUARE]
    });
    let boxes = boxes.collect();
    flow.draw(Op::Boxes { boxes, part: Some(part) });
    flow.y = (flow.y + side).max(under);
}

/// Page n of m, and what it is a page of.
fn feet(flow: &mut Flow<'_>, document: &Document) {
    let count = flow.pages.len();
    // The day comes first: a number behind a name from the right would move to its other side.
    let what = format!("{}, {}: {}", document.title, document.on, document.subject);
    let face = flow.faces.face(false);
    let y = flow.height - flow.margin + 4.0;
    for (at, page) in flow.pages.iter_mut().enumerate() {
        let number = format!("page {} of {count}", at + 1);
        let wide = face.width(&number, SMALL.size);
        let room = flow.width - 2.0 * flow.margin - wide - 12.0;
        let what = face.wrap(&what, SMALL.size, room).into_iter().next().unwrap_or_default();
        let foot = |x, text| Op::Text { x, y, size: SMALL.size, bold: false, text, right: false, part: None };
        page.push(foot(flow.margin, what));
        page.push(foot(flow.width - flow.margin - wide, number));
    }
}
