//! A drawing on a page: lines, circles and texts with pens, y down. A renderer needs nothing else.

use super::labels::{Room, text_width};
use super::shape::point_at;
use super::sheet::{Circle, Drawing, Flat, Mark, Stroke, Style};
use crate::units::{INCH, Units};

/// A colour: red, green, blue.
pub type Ink = [u8; 3];

const BLACK: Ink = [0, 0, 0];
const WHITE: Ink = [255, 255, 255];
const RED: Ink = [140, 20, 20];
const BLUE: Ink = [10, 70, 150];
const GREY: Ink = [96, 96, 96];
const PALE: Ink = [205, 205, 205];

/// Size of letters on the page.
pub(super) const LETTERS: f64 = 10.0;
/// Least width, so that letters fit at all.
const LEAST_WIDTH: f64 = 240.0;

/// How a line is drawn. Dashes and widths tell the styles apart in black and white.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pen {
    /// Its colour.
    pub ink: Ink,
    /// Its width.
    pub width: f64,
    /// On, off, on …; empty for a whole line.
    pub dash: &'static [f64],
    /// What fills the inside of a closed shape.
    pub fill: Option<Ink>,
}

impl Pen {
    const fn new(ink: Ink, width: f64, dash: &'static [f64]) -> Self {
        Self { ink, width, dash, fill: None }
    }

    /// The pen of a style.
    pub fn of(style: Style) -> Self {
        match style {
            Style::BrakeRun => Self::new(RED, 2.4, &[]),
            Style::Hose => Self::new(RED, 1.4, &[2.0, 2.0]),
            Style::SuppressionRun => Self::new(BLUE, 2.2, &[8.0, 3.0]),
            Style::FlexibleRun => Self::new(BLUE, 2.6, &[1.5, 2.5]),
            Style::Wet => Self::new(BLUE, 4.5, &[]),
            Style::FrameTube => Self::new(PALE, 8.0, &[]),
            Style::Hazard => Self::new(BLACK, 1.2, &[10.0, 3.0, 2.0, 3.0]),
            Style::Shield => Self::new(BLACK, 1.8, &[]),
            Style::KeepClear => Self::new(BLACK, 1.0, &[1.0, 3.0]),
            Style::Cone => Self::new(GREY, 0.6, &[]),
            Style::Wheel => Self::new(GREY, 1.4, &[]),
            Style::Axle => Self::new(GREY, 0.6, &[12.0, 3.0, 2.0, 3.0]),
            Style::Ground => Self::new(GREY, 1.0, &[]),
            _ => Self::new(BLACK, 1.0, &[]),
        }
    }

    /// A thin line for scales and frames.
    pub(super) const fn thin() -> Self {
        Self::new(GREY, 0.6, &[])
    }

    const fn filled(ink: Ink) -> Self {
        Self { ink: BLACK, width: 1.0, dash: &[], fill: Some(ink) }
    }
}

/// One thing to draw.
#[derive(Clone, Debug, PartialEq)]
pub enum Op {
    /// A line through points.
    Line {
        /// Its points.
        points: Vec<Flat>,
        /// Whether its ends are joined.
        closed: bool,
        /// Its pen.
        pen: Pen,
        /// What a reader that can point at it is told.
        title: String,
    },
    /// A circle.
    Circle {
        /// Its centre.
        centre: Flat,
        /// Its radius.
        radius: f64,
        /// Its pen.
        pen: Pen,
        /// What a reader that can point at it is told.
        title: String,
    },
    /// A text on one line.
    Text {
        /// The left end of its base line; its middle where it is centred.
        at: Flat,
        /// Size of its letters.
        size: f64,
        /// Whether it is centred on `at`.
        centred: bool,
        /// Its colour.
        ink: Ink,
        /// The text.
        text: String,
    },
}

/// A page of a given size.
#[derive(Clone, Debug, PartialEq)]
pub struct Page {
    /// Its width.
    pub width: f64,
    /// Its height.
    pub height: f64,
    /// What is drawn, the first at the back.
    pub ops: Vec<Op>,
}

impl Page {
    pub(super) fn text(&mut self, at: Flat, text: impl Into<String>) {
        self.ops.push(Op::Text { at, size: LETTERS, centred: false, ink: BLACK, text: text.into() });
    }

    fn sign(&mut self, [x, y]: Flat, ink: Ink, text: &str) {
        let at = [x, y + LETTERS * 0.35];
        self.ops.push(Op::Text { at, size: LETTERS, centred: true, ink, text: text.to_owned() });
    }

    pub(super) fn line(&mut self, points: Vec<Flat>, pen: Pen, title: &str) {
        self.ops.push(Op::Line { points, closed: false, pen, title: title.to_owned() });
    }

    fn circle(&mut self, centre: Flat, radius: f64, pen: Pen, title: &str) {
        self.ops.push(Op::Circle { centre, radius, pen, title: title.to_owned() });
    }
}

/// A drawing on a page of this width, with its scale, its legend and its notes below.
pub fn plan_page(drawing: &Drawing, width: f64, units: Units) -> Page {
    let width = width.max(LEAST_WIDTH);
    let [across, up] = drawing.bounds.size();
    let scale = width / across;
    let height = up * scale;
    let ([left, _], [_, top]) = (drawing.bounds.low, drawing.bounds.high);
    let onto = |[x, y]: Flat| [(x - left) * scale, (top - y) * scale];
    let mut page = Page { width, height, ops: Vec::new() };
    let tubes = |stroke: &&Stroke| stroke.style == Style::FrameTube;
    for stroke in drawing.strokes.iter().filter(tubes) {
        draw_stroke(&mut page, stroke, &onto);
    }
    for stroke in drawing.strokes.iter().filter(|stroke| !tubes(stroke)) {
        draw_stroke(&mut page, stroke, &onto);
    }
    for Circle { centre, radius, style, label } in &drawing.circles {
        page.circle(onto(*centre), radius * scale, Pen::of(*style), label);
    }
    for mark in &drawing.marks {
        draw_mark(&mut page, mark, onto(mark.at));
    }
    names(&mut page, drawing, &onto);
    scale_bar(&mut page, scale, units);
    legend(&mut page, drawing);
    page
}

fn draw_stroke(page: &mut Page, stroke: &Stroke, onto: &impl Fn(Flat) -> Flat) {
    let mut pen = Pen::of(stroke.style);
    if stroke.straight && super::parts::is_run(stroke.style) {
        pen.dash = &[2.0, 5.0];
    }
    page.ops.push(Op::Line {
        points: stroke.points.iter().map(|point| onto(*point)).collect(),
        closed: stroke.closed,
        pen,
        title: stroke.label.clone(),
    });
}

fn draw_mark(page: &mut Page, mark: &Mark, at: Flat) {
    let [x, y] = at;
    let title = &mark.label;
    match mark.style {
        Style::Bottle => {
            page.circle(at, 6.0, Pen::filled(WHITE), title);
            page.circle(at, 3.0, Pen::filled(BLACK), title);
        }
        Style::Tee => page.circle(at, 2.5, Pen::filled(BLACK), title),
        Style::Nozzle => {
            let points = vec![[x, y - 5.0], [x + 4.5, y + 3.5], [x - 4.5, y + 3.5]];
            page.ops.push(Op::Line { points, closed: true, pen: Pen::filled(WHITE), title: title.clone() });
        }
        Style::FrameSleeve => {
            let points = vec![[x - 2.0, y - 5.0], [x + 2.0, y - 5.0], [x + 2.0, y + 5.0], [x - 2.0, y + 5.0]];
            page.ops.push(Op::Line { points, closed: true, pen: Pen::filled(WHITE), title: title.clone() });
        }
        Style::Finding => {
            page.circle(at, 7.5, Pen::filled(BLACK), title);
            page.sign(at, WHITE, &mark.text);
        }
        Style::Here => page.circle(at, 11.0, Pen::new(BLACK, 2.0, &[]), title),
        _ => {
            page.circle(at, 8.0, Pen::filled(WHITE), title);
            page.sign(at, BLACK, &mark.text);
        }
    }
}

/// Names of runs, bottles, nozzles and boxes, where there is room.
fn names(page: &mut Page, drawing: &Drawing, onto: &impl Fn(Flat) -> Flat) {
    let mut room = Room::new(page.width, page.height);
    for mark in &drawing.marks {
        let half =
            if matches!(mark.style, Style::Station | Style::Here | Style::Finding) { 8.0 } else { 5.0 };
        room.take(onto(mark.at), half);
    }
    let mut placed = Vec::new();
    for mark in drawing.marks.iter().filter(|mark| matches!(mark.style, Style::Bottle | Style::Nozzle)) {
        placed.extend(room.place(onto(mark.at), 7.0, LETTERS, &mark.id));
    }
    let named = |stroke: &&Stroke| {
        !stroke.id.is_empty() && !matches!(stroke.style, Style::Cone | Style::Wet | Style::FrameTube)
    };
    for stroke in drawing.strokes.iter().filter(named) {
        let at = if stroke.closed { stroke.points.first().copied() } else { point_at(&stroke.points, 0.5) };
        placed.extend(at.and_then(|at| room.place(onto(at), 4.0, LETTERS * 0.85, &stroke.id)));
    }
    for one in placed {
        page.text(one.at, one.text);
    }
}

/// A bar of a foot or of half a metre.
fn scale_bar(page: &mut Page, scale: f64, units: Units) {
    let (long, words) = match units {
        Units::Us => (12.0 * INCH, "12 in"),
        Units::Metric => (0.5, "500 mm"),
    };
    page.height += LETTERS * 2.0;
    let y = page.height - LETTERS * 0.8;
    let [left, right] = [4.0, 4.0 + long * scale];
    page.line(
        vec![[left, y - 3.0], [left, y + 3.0], [left, y], [right, y], [right, y - 3.0], [right, y + 3.0]],
        Pen::new(BLACK, 1.0, &[]),
        "scale",
    );
    page.text([right + 6.0, y + 3.0], words);
}

/// What each line style and sign means, the stations, and the notes.
fn legend(page: &mut Page, drawing: &Drawing) {
    const COLUMN: f64 = 190.0;
    let (mut x, mut y) = (4.0, page.height + LETTERS * 1.4);
    for style in drawing.styles().into_iter().filter(|style| *style != Style::Here) {
        if x + COLUMN > page.width && x > 4.0 {
            (x, y) = (4.0, y + LETTERS * 1.7);
        }
        let middle = [x + 13.0, y - LETTERS * 0.35];
        let sign = |text: &str| Mark {
            at: middle,
            style,
            text: text.to_owned(),
            id: String::new(),
            label: String::new(),
        };
        match style {
            Style::Bottle | Style::Tee | Style::Nozzle | Style::FrameSleeve => {
                draw_mark(page, &sign(""), middle);
            }
            Style::Station => draw_mark(page, &sign("A"), middle),
            Style::Finding => draw_mark(page, &sign("1"), middle),
            _ => page.line(vec![[x, middle[1]], [x + 26.0, middle[1]]], Pen::of(style), ""),
        }
        page.text([x + 32.0, y], style.words());
        x += COLUMN;
    }
    y += LETTERS * 1.7;
    let stations: Vec<String> = drawing
        .marks
        .iter()
        .filter(|mark| mark.style == Style::Station)
        .map(|mark| format!("{} {}", mark.text, mark.label))
        .collect();
    let mut lines = wrapped(&stations.join(", "), page.width - 8.0);
    for note in &drawing.notes {
        lines.extend(wrapped(note, page.width - 8.0));
    }
    for line in lines {
        page.text([4.0, y], line);
        y += LETTERS * 1.3;
    }
    page.height = y;
}

/// Lines no wider than a width, broken at spaces.
pub(super) fn wrapped(text: &str, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if text_width(line, LETTERS) + text_width(word, LETTERS) + 4.0 <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
