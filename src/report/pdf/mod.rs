//! The document as a PDF: fonts embedded, text that can be copied, tagged, page n of m, the same bytes for the same
//! document.

mod bidi;
mod blank;
mod flow;
mod fonts;
mod layout;
mod picture;
mod table;

use std::num::NonZeroU16;

use chrono::{Datelike, Timelike, Utc};
use krilla::SerializeSettings;
use krilla::color::luma;
use krilla::configure::{Accessibility, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::{PathBuilder, Point, Rect};
use krilla::metadata::{DateTime, Metadata};
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::Fill;
use krilla::surface::Surface;
use krilla::tagging::Artifact;
use krilla::tagging::{
    ArtifactType, ContentTag, Identifier, ListNumbering, SpanTag, TableHeaderScope, Tag, TagGroup, TagKind,
    TagTree,
};
use krilla::text::TextDirection;

use super::document::Document;
use bidi::Stretch;
use flow::{Flow, Op, Part, Role};
use fonts::{Face, Faces};

/// The licence of the embedded fonts.
pub const FONT_LICENCE: &str = include_str!("../fonts/LICENSE-DejaVu.txt");

/// The sheet a PDF is laid out for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Sheet {
    /// 210 mm by 297 mm (ISO 216).
    A4,
    /// 8 1/2 in by 11 in.
    #[default]
    Letter,
}

impl Sheet {
    /// Width and height in points, 72 to the inch.
    fn size(self) -> (f32, f32) {
        match self {
            Self::A4 => (595.276, 841.89),
            Self::Letter => (612.0, 792.0),
        }
    }
}

/// A strip of a receipt printer: 80 mm, and the longest page that every reader opens.
const STRIP: (f32, f32) = (226.772, 14_400.0);

/// The document as a PDF. It has the structure that PDF/UA-1 asks for; a text that stands in the way of that is printed
/// all the same, in a file that does not claim it.
///
/// # Errors
/// In one sentence, where the file could not be put together.
pub fn pdf(document: &Document, sheet: Sheet) -> Result<Vec<u8>, String> {
    let accessible = ConfigurationBuilder::new().with_accessibility_validator(Accessibility::UA1).finish();
    let configuration = accessible.map_err(|error| format!("the PDF cannot be set up: {error:?}"))?;
    let plain = || SerializeSettings { enable_tagging: true, ..SerializeSettings::default() };
    write(document, sheet, SerializeSettings { configuration, ..plain() })
        .or_else(|_| write(document, sheet, plain()))
}

/// A line of text where it is printed, in points from the upper left corner of its page.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed {
    /// The text.
    pub text: String,
    /// Its stretches from left to right, each with its left end and whether it runs from right to left.
    pub stretches: Vec<(f32, bool, String)>,
    /// Left, top, right and bottom of its letters: ascent and descent as the face has them.
    pub area: [f32; 4],
    /// Whether it stands on a drawing, where a name may lie over a line.
    pub on_drawing: bool,
}

/// A page with its text.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedPage {
    /// Width and height.
    pub size: [f32; 2],
    /// Its lines of text, in reading order.
    pub lines: Vec<Placed>,
}

/// Every line of text of the PDF where it is printed.
///
/// # Errors
/// As [`pdf`].
pub fn pdf_layout(document: &Document, sheet: Sheet) -> Result<Vec<PlacedPage>, String> {
    let faces = Faces::load()?;
    let flow = laid(&faces, document, sheet);
    let size = [flow.width, flow.height];
    let page =
        |ops: &Vec<Op>| PlacedPage { size, lines: ops.iter().flat_map(|op| placed(&faces, op)).collect() };
    Ok(flow.pages.iter().map(page).collect())
}

fn placed(faces: &Faces, op: &Op) -> Vec<Placed> {
    match op {
        Op::Text { x, y, size, bold, text, right, .. } => {
            vec![line(faces.face(*bold), [*x, *y], *size, text.clone(), *right, false)]
        }
        Op::Boxes { .. } => Vec::new(),
        Op::Picture { x, y, scale, page, .. } => picture::texts(faces, page, [*x, *y], *scale)
            .into_iter()
            .map(|(text, at, size)| {
                let right = bidi::begins_right(&text);
                line(faces.face(false), at, size, text, right, true)
            })
            .collect(),
    }
}

fn line(face: &Face, [x, y]: [f32; 2], size: f32, text: String, right: bool, on_drawing: bool) -> Placed {
    let (up, down) = face.heights(size);
    let area = [x, y - up, x + bidi::width(face, size, &text, right), y + down];
    let stretches = bidi::set(face, size, &text, right).into_iter();
    let stretches = stretches.map(|one| (x + one.from, one.right_to_left, one.text.to_owned())).collect();
    Placed { text, stretches, area, on_drawing }
}

/// The text of each page as it is printed, line by line: what a reader can copy out of the PDF.
///
/// # Errors
/// As [`pdf`].
pub fn pdf_pages(document: &Document, sheet: Sheet) -> Result<Vec<String>, String> {
    let texts =
        |page: PlacedPage| page.lines.into_iter().map(|line| line.text).collect::<Vec<_>>().join("\n");
    Ok(pdf_layout(document, sheet)?.into_iter().map(texts).collect())
}

/// The document on its pages. A narrow one is a strip as long as it takes.
fn laid<'f>(faces: &'f Faces, document: &Document, sheet: Sheet) -> Flow<'f> {
    let mut flow = if document.narrow {
        Flow::new(faces, STRIP, flow::THIN)
    } else {
        Flow::new(faces, sheet.size(), flow::MARGIN)
    };
    layout::lay(&mut flow, document);
    flow
}

fn write(document: &Document, sheet: Sheet, settings: SerializeSettings) -> Result<Vec<u8>, String> {
    let faces = Faces::load()?;
    let flow = laid(&faces, document, sheet);
    let mut file = krilla::Document::new_with(settings);
    file.set_metadata(metadata(document));
    let mut marks: Vec<Vec<Identifier>> = flow.parts.iter().map(|_| Vec::new()).collect();
    for ops in &flow.pages {
        let settings = PageSettings::from_wh(flow.width, flow.height).ok_or("the sheet has no size")?;
        let mut page = file.start_page_with(settings);
        let mut surface = page.surface();
        surface.set_fill(Some(Fill { paint: luma::Color::black().into(), ..Fill::default() }));
        ops.iter().for_each(|op| draw(&mut surface, &faces, op, &mut marks));
        surface.finish();
        page.finish();
    }
    let mut tree = TagTree::new().with_lang(Some("en".to_owned()));
    for root in &flow.roots {
        if let Some(group) = group(&flow.parts, &mut marks, *root) {
            tree.push(group);
        }
    }
    file.set_tag_tree(tree);
    let mut outline = Outline::new();
    for (text, page, y) in &flow.outline {
        let there = XyzDestination::new(*page, Point::from_xy(0.0, *y));
        outline.push_child(OutlineNode::new(text.clone(), there));
    }
    file.set_outline(outline);
    file.finish().map_err(|error| format!("the PDF could not be written: {error:?}"))
}

/// Title, language and the time of the newest record; never the time of printing.
fn metadata(document: &Document) -> Metadata {
    let metadata = Metadata::new()
        .title(format!("{}: {}", document.title, document.subject))
        .language("en".to_owned())
        .creator("linewalk".to_owned())
        .document_id(format!(
            "{} {} {} {}",
            document.car,
            document.word,
            document.on,
            document.record.as_deref().unwrap_or("no record")
        ));
    let two = |number: u32| u8::try_from(number).unwrap_or(0);
    let at = document
        .record_at
        .map(|at| at.with_timezone(&Utc).naive_utc())
        .or_else(|| document.on.and_hms_opt(0, 0, 0));
    match at.and_then(|at| Some((at, u16::try_from(at.year()).ok()?))) {
        Some((at, year)) => metadata.creation_date(
            DateTime::new(year)
                .month(two(at.month()))
                .day(two(at.day()))
                .hour(two(at.hour()))
                .minute(two(at.minute()))
                .second(two(at.second()))
                .utc_offset_hour(0)
                .utc_offset_minute(0),
        ),
        None => metadata,
    }
}

fn draw(surface: &mut Surface<'_>, faces: &Faces, op: &Op, marks: &mut [Vec<Identifier>]) {
    let part = match op {
        Op::Text { part, .. } | Op::Boxes { part, .. } => *part,
        Op::Picture { part, .. } => Some(*part),
    };
    let tag = match (op, part) {
        (_, None) => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Other)),
        (Op::Text { .. }, Some(_)) => ContentTag::Span(SpanTag::empty()),
        (Op::Boxes { .. } | Op::Picture { .. }, Some(_)) => ContentTag::Other,
    };
    let mark = surface.start_tagged(tag);
    match op {
        Op::Text { x, y, size, bold, text, right, .. } => {
            words(surface, faces.face(*bold), [*x, *y], *size, text, *right);
        }
        Op::Picture { x, y, scale, page, .. } => picture::draw(surface, faces, page, [*x, *y], *scale),
        Op::Boxes { boxes, .. } => {
            let mut path = PathBuilder::new();
            boxes
                .iter()
                .filter_map(|[x, y, w, h]| Rect::from_xywh(*x, *y, *w, *h))
                .for_each(|rect| path.push_rect(rect));
            if let Some(path) = path.finish() {
                surface.draw_path(&path);
            }
        }
    }
    surface.end_tagged();
    if let Some(of_part) = part.and_then(|part| marks.get_mut(part)) {
        of_part.push(mark);
    }
}

/// One line of text, its stretches each in its own direction and at its own place.
fn words(surface: &mut Surface<'_>, face: &Face, [x, y]: [f32; 2], size: f32, text: &str, right: bool) {
    for Stretch { right_to_left, from, text } in bidi::set(face, size, text, right) {
        let at = Point::from_xy(x + from, y);
        // From the right letters join and brackets turn.
        let side_by_side = if right_to_left { None } else { face.glyphs(text) };
        if let Some(glyphs) = side_by_side {
            surface.draw_glyphs(at, &glyphs, face.font.clone(), text, size, false);
            continue;
        }
        let direction = if right_to_left { TextDirection::RightToLeft } else { TextDirection::LeftToRight };
        surface.draw_text(at, face.font.clone(), size, text, false, direction);
    }
}

/// A part with what is inside it; none where it holds nothing.
fn group(parts: &[Part], marks: &mut [Vec<Identifier>], at: usize) -> Option<TagGroup> {
    let part = parts.get(at)?;
    let mut group = TagGroup::new(kind(&part.role));
    for mark in marks.get_mut(at).map(std::mem::take).unwrap_or_default() {
        group.push(mark);
    }
    for inner in &part.inside {
        if let Some(inner) = self::group(parts, marks, *inner) {
            group.push(inner);
        }
    }
    // An empty cell still is a cell: without it the columns would shift.
    let keep = !group.children.is_empty() || matches!(part.role, Role::Cell | Role::Head);
    keep.then_some(group)
}

fn kind(role: &Role) -> TagKind {
    match role {
        Role::Heading(level, title) => {
            Tag::Hn(NonZeroU16::new(*level).unwrap_or(NonZeroU16::MIN), Some(title.clone())).into()
        }
        Role::Paragraph => Tag::P.into(),
        Role::List => Tag::L(ListNumbering::None).into(),
        Role::Point => Tag::LI.into(),
        Role::Label => Tag::Lbl.into(),
        Role::Body => Tag::LBody.into(),
        Role::Table => Tag::Table.into(),
        Role::Row => Tag::TR.into(),
        Role::Head => Tag::TH(TableHeaderScope::Column).into(),
        Role::Cell => Tag::TD.into(),
        Role::Picture(words) => Tag::Figure(Some(words.clone())).into(),
    }
}
