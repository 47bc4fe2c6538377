//! A check to be answered on paper: boxes and rules that a pencil can use.

use crate::document::Blank;
use crate::item::mark;

use super::flow::{Flow, Op, Role, Style};

const TITLE: Style = Style { size: 9.0, leading: 12.0, bold: true };
const SMALL: Style = Style { size: 7.5, leading: 12.0, bold: false };
/// Lines to write on stand farther apart than lines to read.
const WRITE: Style = Style { size: 9.0, leading: 14.0, bold: false };
/// Side of a box.
const BOX: f32 = 8.0;
/// How thick boxes and rules are.
const THICK: f32 = 0.6;
/// How far everything under the title stands in.
const INDENT: f32 = 14.0;
/// From a box to its word, and from a word to the next box.
const GAP: f32 = 4.0;
/// Room for a time.
const TIME: f32 = 44.0;

/// Draws one, never over two pages unless it is taller than one.
pub(super) fn draw(flow: &mut Flow<'_>, blank: &Blank) {
    let room = flow.room() - INDENT;
    let face = flow.faces.face(false);
    let written: usize = blank.lines.iter().map(|line| face.lines(line, WRITE.size, room)).sum();
    flow.need(2.0 * TITLE.leading + (written + 3) as f32 * WRITE.leading);
    title(flow, blank);
    for line in &blank.lines {
        let part = flow.part(Role::Paragraph, None);
        flow.text(line, flow.margin + INDENT, room, WRITE, part);
    }
    flow.y += 3.0;
    boxes(flow);
    note(flow);
    flow.y += 5.0;
}

/// Severity and title, with the id at the right or under it.
fn title(flow: &mut Flow<'_>, blank: &Blank) {
    let text = format!("{}  {}", mark(blank.severity), blank.heading);
    let wide = flow.faces.face(true).width(&text, TITLE.size);
    let id = flow.faces.face(false).width(&blank.code, SMALL.size);
    let part = flow.part(Role::Paragraph, None);
    let top = flow.y;
    flow.text(&format!("{text} "), flow.margin, flow.room(), TITLE, part);
    let after = flow.y;
    let beside = wide + id + 12.0 <= flow.room();
    if beside {
        flow.y = top;
    }
    flow.line(&blank.code, flow.margin + flow.room() - id, SMALL, Some(part));
    flow.y = if beside { after } else { after + SMALL.leading };
}

/// One row of boxes, with the time and the initials.
fn boxes(flow: &mut Flow<'_>) {
    let part = flow.part(Role::Paragraph, None);
    let mut x = flow.margin + INDENT;
    let top = flow.y + WRITE.size - BOX;
    for word in Blank::BOXES {
        let edges = [
            [x, top, BOX, THICK],
            [x, top + BOX - THICK, BOX, THICK],
            [x, top, THICK, BOX],
            [x + BOX - THICK, top, THICK, BOX],
        ];
        flow.draw(Op::Boxes { boxes: edges.to_vec(), part: None });
        x += BOX + GAP;
        flow.line(&format!("{word} "), x, WRITE, Some(part));
        x += flow.faces.face(false).width(word, WRITE.size) + 3.0 * GAP;
    }
    let end = flow.margin + flow.room();
    let x = field(flow, "at", x, x + TIME, part);
    field(flow, "by", x, end, part);
    flow.y += WRITE.leading;
}

fn note(flow: &mut Flow<'_>) {
    flow.y += 2.0;
    let part = flow.part(Role::Paragraph, None);
    let end = flow.margin + flow.room();
    field(flow, "note", flow.margin + INDENT, end, part);
    flow.y += WRITE.leading;
}

/// A word with a rule to write on up to `end`; gives where the next may begin.
fn field(flow: &mut Flow<'_>, word: &str, x: f32, end: f32, part: usize) -> f32 {
    flow.line(&format!("{word} "), x, WRITE, Some(part));
    let from = x + flow.faces.face(false).width(word, WRITE.size) + GAP;
    let rule = [from, flow.y + WRITE.size + 1.5, (end - from).max(0.0), THICK];
    flow.draw(Op::Boxes { boxes: vec![rule], part: None });
    end + 2.0 * GAP
}
