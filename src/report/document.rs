//! The neutral document: what is said and in which order, without a word about how it looks.

use chrono::NaiveDate;

use crate::diagnostic;
use crate::drawing::{Op, Page};
use crate::model::entry::{Moment, Severity, short_id};

use super::facts::{Facts, State};
use super::input::Shop;

/// A label and what stands beside it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Pair {
    /// One or two words.
    pub label: String,
    /// The text.
    pub text: String,
}

impl Pair {
    /// A label and its text.
    pub fn new(label: impl Into<String>, text: impl Into<String>) -> Self {
        Self { label: label.into(), text: text.into() }
    }
}

/// A table with a header row.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Table {
    /// Header cells.
    pub head: Vec<String>,
    /// Rows, each as long as the header.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    /// A table with its header.
    pub fn new<const N: usize>(head: [&str; N]) -> Self {
        Self { head: head.map(str::to_owned).to_vec(), rows: Vec::new() }
    }

    /// Adds a row.
    pub fn push<const N: usize>(&mut self, row: [String; N]) {
        self.rows.push(row.to_vec());
    }
}

/// One check with what was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// Its number in the report.
    pub number: Option<usize>,
    /// The check's id.
    pub check: String,
    /// The code it goes by.
    pub code: String,
    /// The part of the car it is of.
    pub of: Option<String>,
    /// What it weighs.
    pub severity: Option<Severity>,
    /// Where it stands.
    pub state: State,
    /// The check's title.
    pub heading: String,
    /// What is said of it.
    pub lines: Vec<Pair>,
}

/// A check to be answered on paper: boxes to tick, a time, initials and a note, and what else there is to write.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Blank {
    /// The check's id.
    pub check: String,
    /// The code it goes by.
    pub code: String,
    /// What a reject weighs.
    pub severity: Severity,
    /// The check's title.
    pub heading: String,
    /// What was open last time, cautions, values to write in.
    pub lines: Vec<String>,
}

impl Blank {
    /// What may be ticked.
    pub const BOXES: [&'static str; 5] = ["accept", "reject", "not fitted", "not yet", "not seen"];
}

/// A drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// What it shows, in a few words.
    pub title: String,
    /// What there is to see, for readers that do not see it.
    pub words: String,
    /// The drawing.
    pub page: Page,
    /// What a reader of it should know, in words below it.
    pub notes: Vec<String>,
}

/// A line to sign on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Signature {
    /// In which part.
    pub role: String,
    /// Who signed and when, where somebody did.
    pub signed: Option<String>,
}

/// A part of a section.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// Running text.
    Paragraph(String),
    /// Points.
    List(Vec<String>),
    /// Labelled facts.
    Pairs(Vec<Pair>),
    /// A table.
    Table(Table),
    /// A check with what was found.
    Item(Item),
    /// A check to be answered on paper.
    Blank(Blank),
    /// Lines to be typed as they stand.
    Typed(Vec<String>),
    /// A drawing, which text alone has no place for.
    Picture(Picture),
    /// Lines to sign on.
    Signatures(Vec<Signature>),
}

/// A part of the document under a heading.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Section {
    /// The heading.
    pub title: String,
    /// What stands under it.
    pub blocks: Vec<Block>,
}

impl Section {
    /// An empty section; one that stays empty is left out.
    pub fn new(title: impl Into<String>) -> Self {
        Self { title: title.into(), blocks: Vec::new() }
    }

    /// Adds a paragraph.
    pub fn say(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Paragraph(text.into()));
    }

    /// Adds a list unless it is empty.
    pub fn list(&mut self, points: Vec<String>) {
        if !points.is_empty() {
            self.blocks.push(Block::List(points));
        }
    }

    /// Adds a table unless it has no row.
    pub fn table(&mut self, table: Table) {
        if !table.rows.is_empty() {
            self.blocks.push(Block::Table(table));
        }
    }
}

/// A whole report.
#[derive(Clone, Debug)]
pub struct Document {
    /// What kind of document it is, in one word.
    pub word: &'static str,
    /// Whether it is a strip for a receipt printer.
    pub narrow: bool,
    /// The heading.
    pub title: String,
    /// The car in one line.
    pub subject: String,
    /// The shop that hands it over.
    pub shop: Option<Shop>,
    /// What the reader has to know before anything else.
    pub warnings: Vec<String>,
    /// The notice and those of the rule files.
    pub notices: Vec<String>,
    /// The title block.
    pub head: Vec<Pair>,
    /// The body.
    pub sections: Vec<Section>,
    /// The last words: the notice again, and what a report is not.
    pub closing: Vec<String>,
    /// The newest record behind it, to find it again.
    pub record: Option<String>,
    /// When that record was written.
    pub record_at: Option<Moment>,
    /// The car's id.
    pub car: String,
    /// The day that dates count to.
    pub on: NaiveDate,
    /// The same facts for machines; a blank sheet has none.
    pub facts: Facts,
}

impl Document {
    /// The last eight digits of the newest record's id, as `log show` prints them.
    pub fn short_id(&self) -> Option<&str> {
        self.record.as_deref().map(short_id)
    }

    /// Every item in it, in order.
    pub fn items(&self) -> impl Iterator<Item = &Item> {
        self.sections.iter().flat_map(|section| &section.blocks).filter_map(|block| match block {
            Block::Item(item) => Some(item),
            _ => None,
        })
    }

    /// Makes every text of it harmless for a terminal, a page and a reader's eye. The facts stay as they are.
    pub(super) fn make_harmless(&mut self) {
        for text in [&mut self.title, &mut self.subject, &mut self.car] {
            clean(text);
        }
        if let Some(shop) = &mut self.shop {
            clean(&mut shop.name);
            clean(&mut shop.address);
        }
        self.warnings.iter_mut().chain(&mut self.notices).chain(&mut self.closing).for_each(clean);
        self.record.iter_mut().for_each(clean);
        self.head.iter_mut().for_each(clean_pair);
        for section in &mut self.sections {
            clean(&mut section.title);
            section.blocks.iter_mut().for_each(clean_block);
        }
    }
}

/// One line without control characters; line breaks become spaces.
pub(super) fn harmless(text: &str) -> String {
    diagnostic::escape_control(&text.split_whitespace().collect::<Vec<_>>().join(" "))
}

fn clean(text: &mut String) {
    if !is_clean(text) {
        *text = harmless(text);
    }
}

/// Whether a text is one line of ASCII with single spaces between its words, as nearly every text is: it need not be
/// written anew.
fn is_clean(text: &str) -> bool {
    let edge = text.starts_with(' ') || text.ends_with(' ');
    !edge && !text.contains("  ") && text.bytes().all(|byte| matches!(byte, b' '..=b'~'))
}

fn clean_pair(pair: &mut Pair) {
    clean(&mut pair.label);
    clean(&mut pair.text);
}

fn clean_picture(picture: &mut Picture) {
    clean(&mut picture.title);
    clean(&mut picture.words);
    picture.notes.iter_mut().for_each(clean);
    picture.page.ops.iter_mut().for_each(|op| match op {
        Op::Line { title, .. } | Op::Circle { title, .. } => clean(title),
        Op::Text { text, .. } => clean(text),
    });
}

fn clean_block(block: &mut Block) {
    match block {
        Block::Paragraph(text) => clean(text),
        Block::List(points) => points.iter_mut().for_each(clean),
        Block::Pairs(pairs) => pairs.iter_mut().for_each(clean_pair),
        Block::Table(table) => table.head.iter_mut().chain(table.rows.iter_mut().flatten()).for_each(clean),
        Block::Item(item) => {
            clean(&mut item.heading);
            clean(&mut item.check);
            clean(&mut item.code);
            item.of.iter_mut().for_each(clean);
            item.lines.iter_mut().for_each(clean_pair);
        }
        Block::Blank(blank) => {
            clean(&mut blank.heading);
            clean(&mut blank.check);
            clean(&mut blank.code);
            blank.lines.iter_mut().for_each(clean);
        }
        Block::Typed(lines) => lines.iter_mut().for_each(clean),
        Block::Picture(picture) => clean_picture(picture),
        Block::Signatures(lines) => lines.iter_mut().for_each(|line| {
            clean(&mut line.role);
            line.signed.iter_mut().for_each(clean);
        }),
    }
}
