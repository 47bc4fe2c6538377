//! A drawing on a page of the PDF: strokes with their dashes, filled signs, words.

use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Rect};
use krilla::paint::{Fill, Stroke, StrokeDash};
use krilla::surface::Surface;

use crate::document::Picture;
use crate::drawing::{Op, Page, Pen};

use super::bidi;
use super::flow::{Flow, Op as OnPage, Role, Style};
use super::fonts::Faces;

/// The embedded face runs wider than the one that the places of words were worked out for.
const LETTERS: f32 = 0.85;
/// What the headings over a drawing take.
const HEADINGS: f32 = 40.0;
/// The share of its size that a drawing is printed at, at least, rather than leave the rest of a page white.
const LEAST: f32 = 0.75;
/// How far the handles of a curve stand for a quarter circle: 4/3 (sqrt 2 - 1).
const QUARTER: f32 = 0.552_285;

/// How large a drawing is printed: as wide as the text, smaller where it would be too tall for a page with its heading.
fn scale(flow: &Flow<'_>, picture: &Picture) -> f32 {
    let (wide, high) = (picture.page.width as f32, picture.page.height as f32);
    let body = flow.bottom() - flow.margin - HEADINGS;
    (flow.room() / wide.max(1.0)).min(body / high.max(1.0))
}

/// The height that a drawing takes where nothing hems it in.
fn height(flow: &Flow<'_>, picture: &Picture) -> f32 {
    picture.page.height as f32 * scale(flow, picture)
}

/// The height under which a drawing goes to the next page.
pub(super) fn least(flow: &Flow<'_>, picture: &Picture) -> f32 {
    LEAST * height(flow, picture)
}

/// Puts a drawing with its title on the page in hand, a little smaller where that makes it fit, else on the next; never
/// over two.
pub(super) fn put(flow: &mut Flow<'_>, picture: &Picture, title: Style) {
    flow.need(title.leading + least(flow, picture));
    let whole = height(flow, picture);
    let high = whole.min(flow.left() - title.leading);
    let scale = scale(flow, picture) * high / whole.max(1.0);
    let words = flow.part(Role::Paragraph, None);
    flow.text(&picture.title, flow.margin, flow.room(), title, words);
    let part = flow.part(Role::Picture(format!("{}. {}", picture.title, picture.words)), None);
    let (x, y) = (flow.margin, flow.y);
    flow.draw(OnPage::Picture { x, y, scale, page: picture.page.clone(), part });
    flow.y += high;
}

/// The texts of a drawing: what is printed, where its base line begins, and its size.
pub(super) fn texts(faces: &Faces, page: &Page, at: [f32; 2], scale: f32) -> Vec<(String, [f32; 2], f32)> {
    page.ops.iter().filter_map(|op| text_of(faces, op, at, scale)).collect()
}

fn text_of(faces: &Faces, op: &Op, origin: [f32; 2], scale: f32) -> Option<(String, [f32; 2], f32)> {
    let Op::Text { at: [x, y], size, centred, text, .. } = op else { return None };
    let size = *size as f32 * scale * LETTERS;
    let text = faces.face(false).printable(text).into_owned();
    let back = if *centred { faces.face(false).width(&text, size) / 2.0 } else { 0.0 };
    Some((text, [origin[0] + *x as f32 * scale - back, origin[1] + *y as f32 * scale], size))
}

/// Draws it, with its upper left corner at a point.
pub(super) fn draw(surface: &mut Surface<'_>, faces: &Faces, page: &Page, at: [f32; 2], scale: f32) {
    let onto = |[x, y]: [f64; 2]| (at[0] + x as f32 * scale, at[1] + y as f32 * scale);
    for op in &page.ops {
        match op {
            Op::Line { points, closed, pen, .. } => {
                let mut path = PathBuilder::new();
                for (at, point) in points.iter().enumerate() {
                    let (x, y) = onto(*point);
                    if at == 0 { path.move_to(x, y) } else { path.line_to(x, y) }
                }
                if *closed {
                    path.close();
                }
                stroke(surface, path.finish(), pen, scale);
            }
            Op::Circle { centre, radius, pen, .. } => {
                stroke(surface, circle(onto(*centre), *radius as f32 * scale), pen, scale);
            }
            Op::Text { centred, ink, .. } => {
                let Some((text, [x, y], size)) = text_of(faces, op, at, scale) else { continue };
                let wide = faces.face(false).width(&text, size);
                surface.set_stroke(None);
                if !*centred {
                    // A word stays legible where a line runs under it.
                    surface.set_fill(Some(fill([255, 255, 255])));
                    let back = Rect::from_xywh(x - 1.0, y - size * 0.8, wide + 2.0, size);
                    box_path(back).iter().for_each(|path| surface.draw_path(path));
                }
                surface.set_fill(Some(fill(*ink)));
                let right = bidi::begins_right(&text);
                super::words(surface, faces.face(false), [x, y], size, &text, right);
            }
        }
    }
    surface.set_stroke(None);
    surface.set_fill(Some(fill([0, 0, 0])));
}

fn box_path(rect: Option<Rect>) -> Option<Path> {
    let mut path = PathBuilder::new();
    path.push_rect(rect?);
    path.finish()
}

fn fill([red, green, blue]: [u8; 3]) -> Fill {
    Fill { paint: rgb::Color::new(red, green, blue).into(), ..Fill::default() }
}

fn stroke(surface: &mut Surface<'_>, path: Option<Path>, pen: &Pen, scale: f32) {
    let Some(path) = path else { return };
    let array: Vec<f32> = pen.dash.iter().map(|part| *part as f32 * scale).collect();
    surface.set_fill(pen.fill.map(fill));
    surface.set_stroke(Some(Stroke {
        paint: fill(pen.ink).paint,
        width: pen.width as f32 * scale,
        dash: (!array.is_empty()).then_some(StrokeDash { array, offset: 0.0 }),
        ..Stroke::default()
    }));
    surface.draw_path(&path);
}

/// A circle of four curves.
fn circle((x, y): (f32, f32), r: f32) -> Option<Path> {
    let h = r * QUARTER;
    let mut path = PathBuilder::new();
    path.move_to(x + r, y);
    path.cubic_to(x + r, y + h, x + h, y + r, x, y + r);
    path.cubic_to(x - h, y + r, x - r, y + h, x - r, y);
    path.cubic_to(x - r, y - h, x - h, y - r, x, y - r);
    path.cubic_to(x + h, y - r, x + r, y - h, x + r, y);
    path.close();
    path.finish()
}
