//! A drawing on a page: lines, circles and texts with pens, y down. A renderer needs nothing else.

use super::labels::{Room, text_width};
use super::shape::{apart, point_at};
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

/// A drawing on a page of this width, with its scale below. What its signs mean is a page of its own.
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
    let placed = placed(drawing, [width, height], &onto);
    for (mark, at) in &placed {
        let from = onto(mark.at);
        if apart(from, *at) > 1.0 {
            page.line(vec![from, *at], Pen::new(BLACK, 0.8, &[]), "");
        }
    }
    for (mark, at) in &placed {
        draw_mark(&mut page, mark, *at);
    }
    names(&mut page, drawing, &placed, &onto);
    scale_bar(&mut page, scale, units);
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

/// How far apart the middles of two signs with a letter or a code in them stand, one above the other.
const SIGNS: f64 = 17.0;
/// Half of the width of a station's sign.
const STATION: f64 = 8.0;
/// How far a sign with a code stands from the edge of the page.
const EDGE: f64 = 9.0;

/// Findings at one thing that are drawn each by itself; the rest share a sign.
const AT_ONE_THING: usize = 6;

/// Where each mark is drawn: where it is, but a finding beside it where another sign stands already.
fn placed(drawing: &Drawing, size: Flat, onto: &impl Fn(Flat) -> Flat) -> Vec<(Mark, Flat)> {
    let with_sign = |mark: &&Mark| mark.style == Style::Station;
    let stations = drawing.marks.iter().filter(with_sign);
    let mut taken: Vec<(Flat, f64)> = stations.map(|mark| (onto(mark.at), STATION)).collect();
    let others = drawing.marks.iter().filter(|mark| mark.style != Style::Finding);
    let mut placed: Vec<(Mark, Flat)> = others.map(|mark| (mark.clone(), onto(mark.at))).collect();
    for mark in gathered(drawing) {
        let at = onto(mark.at);
        let half = half_width(&mark.text);
        let at = free_place(at, half, size, &taken).unwrap_or(at);
        taken.push((at, half));
        placed.push((mark, at));
    }
    placed
}

/// Findings at what they are of; where there are many at one thing the last sign says how many more there are.
fn gathered(drawing: &Drawing) -> Vec<Mark> {
    let mut groups: Vec<(Flat, Vec<&Mark>)> = Vec::new();
    for mark in drawing.marks.iter().filter(|mark| mark.style == Style::Finding) {
        let at = anchor(drawing, mark);
        match groups.iter_mut().find(|(known, _)| *known == at) {
            Some((_, group)) => group.push(mark),
            None => groups.push((at, vec![mark])),
        }
    }
    let mut all = Vec::new();
    for (at, group) in groups {
        let alone = if group.len() > AT_ONE_THING { AT_ONE_THING - 1 } else { group.len() };
        let (first, rest) = group.split_at(alone);
        all.extend(first.iter().map(|mark| Mark { at, ..(*mark).clone() }));
        if let Some(one) = rest.first() {
            let numbers: Vec<&str> = rest.iter().map(|mark| mark.text.as_str()).collect();
            let label = format!("items {}", numbers.join(", "));
            all.push(Mark { at, text: format!("+{}", rest.len()), label, ..(*one).clone() });
        }
    }
    all
}

/// What a sign belongs to: a finding to its station or to what the first one of the same thing stands at.
fn anchor(drawing: &Drawing, mark: &Mark) -> Flat {
    let same = |other: &&Mark| {
        other.id == mark.id && (other.style == Style::Station || other.style == Style::Finding)
    };
    drawing.marks.iter().find(same).map_or(mark.at, |other| other.at)
}

/// The nearest place on rings round a point that is clear of others and on the page.
fn free_place([x, y]: Flat, half: f64, [width, height]: Flat, taken: &[(Flat, f64)]) -> Option<Flat> {
    let side = half + EDGE - STATION;
    let free = |place: &Flat| {
        let [across, down] = *place;
        let inside = (side..=width - side).contains(&across) && (EDGE..=height - EDGE).contains(&down);
        let clear = |([x, y], wide): &(Flat, f64)| {
            (x - across).abs() >= wide + half + 1.0 || (y - down).abs() >= SIGNS
        };
        inside && taken.iter().all(clear)
    };
    let ring = |ring: u32| {
        let count = 8 * ring.max(1);
        (0..count).map(move |step| {
            let turn = f64::from(step) / f64::from(count) * std::f64::consts::TAU;
            let far = f64::from(ring) * SIGNS;
            [x + far * turn.cos(), y + far * turn.sin()]
        })
    };
    (0..30).flat_map(ring).find(free)
}

/// Half of the width of an open item's sign.
fn half_width(code: &str) -> f64 {
    (text_width(code, LETTERS) / 2.0 + 3.0).max(STATION)
}

pub(super) fn draw_mark(page: &mut Page, mark: &Mark, at: Flat) {
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
            let half = half_width(&mark.text) - 0.5;
            let (left, right, above, below) = (x - half, x + half, y - 7.5, y + 7.5);
            let points = vec![[left, above], [right, above], [right, below], [left, below]];
            page.ops.push(Op::Line { points, closed: true, pen: Pen::filled(BLACK), title: title.clone() });
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
fn names(page: &mut Page, drawing: &Drawing, placed: &[(Mark, Flat)], onto: &impl Fn(Flat) -> Flat) {
    let mut room = Room::new(page.width, page.height);
    for (mark, at) in placed {
        let half =
            if matches!(mark.style, Style::Station | Style::Here | Style::Finding) { STATION } else { 5.0 };
        let wide = if mark.style == Style::Finding { half_width(&mark.text) } else { half };
        room.take(*at, wide, half);
    }
    let mut named_at = Vec::new();
    for mark in drawing.marks.iter().filter(|mark| matches!(mark.style, Style::Bottle | Style::Nozzle)) {
        named_at.extend(room.place(onto(mark.at), 7.0, LETTERS, &mark.id));
    }
    let named = |stroke: &&Stroke| {
        !stroke.id.is_empty() && !matches!(stroke.style, Style::Cone | Style::Wet | Style::FrameTube)
    };
    for stroke in drawing.strokes.iter().filter(named) {
        let at = if stroke.closed { stroke.points.first().copied() } else { point_at(&stroke.points, 0.5) };
        named_at.extend(at.and_then(|at| room.place(onto(at), 4.0, LETTERS * 0.85, &stroke.id)));
    }
    for one in named_at {
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
