//! Pages filled from top to bottom: what is drawn where, and to which part of the document it belongs.

use crate::drawing::Page;

use super::bidi;
use super::fonts::Faces;

/// Space round a page, in points.
pub(super) const MARGIN: f32 = 48.0;
/// Space round a strip of a receipt printer.
pub(super) const THIN: f32 = 10.0;
/// Space that the foot takes off the body.
pub(super) const FOOT: f32 = 20.0;

/// Something drawn; a part of none is decoration.
pub(super) enum Op {
    /// A line of text on its base line.
    Text {
        x: f32,
        y: f32,
        size: f32,
        bold: bool,
        text: String,
        /// Whether its paragraph runs from right to left.
        right: bool,
        part: Option<usize>,
    },
    /// Filled boxes: left, top, width, height.
    Boxes { boxes: Vec<[f32; 4]>, part: Option<usize> },
    /// A drawing with its upper left corner, and how much larger it is than laid out.
    Picture { x: f32, y: f32, scale: f32, page: Page, part: usize },
}

/// What a part of the document is, for readers that do not look at it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Role {
    Heading(u16, String),
    Paragraph,
    List,
    Point,
    Label,
    Body,
    Table,
    Row,
    Head,
    Cell,
    Picture(String),
}

/// A part of the document.
pub(super) struct Part {
    /// What it is.
    pub role: Role,
    /// Parts inside it, in order.
    pub inside: Vec<usize>,
}

/// How a text is set.
#[derive(Clone, Copy)]
pub(super) struct Style {
    /// Size in points.
    pub size: f32,
    /// From one base line to the next.
    pub leading: f32,
    /// Weight.
    pub bold: bool,
}

/// A document under way.
pub(super) struct Flow<'f> {
    /// The faces it is set in.
    pub faces: &'f Faces,
    /// Width of a page.
    pub width: f32,
    /// Height of a page.
    pub height: f32,
    /// Space round a page.
    pub margin: f32,
    /// Pages so far.
    pub pages: Vec<Vec<Op>>,
    /// Parts so far.
    pub parts: Vec<Part>,
    /// Parts that are inside none.
    pub roots: Vec<usize>,
    /// Headings of the outline: text, page and height.
    pub outline: Vec<(String, usize, f32)>,
    /// The next line's top.
    pub y: f32,
}

impl<'f> Flow<'f> {
    /// An empty document with its first page.
    pub fn new(faces: &'f Faces, (width, height): (f32, f32), margin: f32) -> Self {
        Self {
            faces,
            width,
            height,
            margin,
            pages: vec![Vec::new()],
            parts: Vec::new(),
            roots: Vec::new(),
            outline: Vec::new(),
            y: margin,
        }
    }

    /// A new part inside another, or inside none.
    pub fn part(&mut self, role: Role, inside: Option<usize>) -> usize {
        let at = self.parts.len();
        self.parts.push(Part { role, inside: Vec::new() });
        match inside.and_then(|outer| self.parts.get_mut(outer)) {
            Some(outer) => outer.inside.push(at),
            None => self.roots.push(at),
        }
        at
    }

    /// Width between the margins.
    pub fn room(&self) -> f32 {
        self.width - 2.0 * self.margin
    }

    /// Where the body of a page ends.
    pub fn bottom(&self) -> f32 {
        self.height - self.margin - FOOT
    }

    /// Whether it is a strip for a receipt printer.
    pub fn is_strip(&self) -> bool {
        self.width < 300.0
    }

    /// Space left on the page.
    pub fn left(&self) -> f32 {
        self.bottom() - self.y
    }

    /// Begins a page.
    pub fn turn(&mut self) {
        self.pages.push(Vec::new());
        self.y = self.margin;
    }

    /// Begins a page unless so much space is left.
    pub fn need(&mut self, space: f32) {
        if self.left() < space && self.y > self.margin {
            self.turn();
        }
    }

    /// Leaves space, but not at the top of a page.
    pub fn skip(&mut self, space: f32) {
        if self.y > self.margin {
            self.y += space;
        }
    }

    /// Draws on the page in hand.
    pub fn draw(&mut self, op: Op) {
        if let Some(page) = self.pages.last_mut() {
            page.push(op);
        }
    }

    /// One line of text at the height in hand, which does not move.
    pub fn line(&mut self, text: &str, x: f32, style: Style, part: Option<usize>) {
        self.line_of(text.to_owned(), (x, None), style, part);
    }

    /// A line of a paragraph; in one that runs from right to left it ends where the room given ends.
    pub fn line_of(
        &mut self,
        text: String,
        (x, from_right): (f32, Option<f32>),
        style: Style,
        part: Option<usize>,
    ) {
        let Style { size, bold, .. } = style;
        let wide = || bidi::width(self.faces.face(bold), size, &text, true);
        let x = from_right.map_or(x, |room| x + (room - wide()).max(0.0));
        let (y, right) = (self.y + size, from_right.is_some());
        self.draw(Op::Text { x, y, size, bold, text, right, part });
    }

    /// Running text, over as many pages as it takes. Lines but the last keep their space, so that copied text does too.
    pub fn text(&mut self, text: &str, x: f32, room: f32, style: Style, part: usize) {
        let lines = self.faces.face(style.bold).wrap(text, style.size, room);
        let last = lines.len().saturating_sub(1);
        let from_right = bidi::begins_right(text).then_some(room);
        for (at, mut line) in lines.into_iter().enumerate() {
            self.need(style.leading);
            if at < last {
                line.push(' ');
            }
            self.line_of(line, (x, from_right), style, Some(part));
            self.y += style.leading;
        }
    }

    /// A heading; those of the first two levels stand in the outline.
    pub fn heading(&mut self, level: u16, text: &str, style: Style) {
        let part = self.part(Role::Heading(level, text.to_owned()), None);
        if level < 3 {
            self.outline.push((text.to_owned(), self.pages.len() - 1, self.y));
        }
        self.text(text, self.margin, self.room(), style, part);
    }

    /// A rule across the page.
    pub fn rule(&mut self, thick: f32) {
        let rule = [self.margin, self.y, self.room(), thick];
        self.draw(Op::Boxes { boxes: vec![rule], part: None });
        self.y += thick + 3.0;
    }
}
