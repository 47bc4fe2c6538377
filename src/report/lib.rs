//! What people hand over: one neutral document built from the record, and one renderer a format.
//! Never disk, never clock: a report is bytes out.

pub use linewalk_engine::{cite, diagnostic, model, numbers, physics, rules, source, units, wrap};

mod build_sheet;
mod changes;
mod deficiency;
mod delivery;
mod document;
pub mod drawing;
mod due;
mod facts;
mod fields;
mod figures;
mod fix_first;
mod full;
mod head;
mod html;
mod ics;
mod input;
mod item;
mod json;
mod keying;
mod letters;
mod limit;
mod pdf;
mod pictures;
mod qr;
mod reading;
mod record;
mod schedule;
mod sheet;
mod slip;
mod status;
mod table;
mod text;

pub use document::{Blank, Block, Document, Item, Pair, Picture, Section, Signature, Table};
pub use due::Due;
pub use facts::{Facts, FindingFact, LeftOut, NotReached, NotSeen, State};
pub use figures::Figure;
pub use html::page as html;
pub use ics::ics;
pub use input::{Input, Kind, Shop};
pub use json::json;
pub use pdf::{FONT_LICENCE, Placed, PlacedPage, Sheet, pdf, pdf_layout, pdf_pages};
pub use sheet::{SheetInput, sheet};
pub use status::exit_status;
pub use text::{paper, text};

/// Builds a report of a kind. The same input gives the same document, to the letter.
pub fn build(input: &Input<'_>, kind: Kind) -> Document {
    let calculated = record::calculated(input);
    let record = record::Record::new(input, &calculated);
    let facts = Facts::gather(&record, kind);
    let mut sections = match kind {
        Kind::Deficiency => deficiency::sections(&record, &facts),
        Kind::Full => full::sections(&record, &facts),
        Kind::Slip => slip::sections(&record, &facts),
        Kind::Delivery => delivery::sections(&record, &facts),
        Kind::Due => due::sections(&record, &facts),
        Kind::FixFirst => fix_first::sections(&record, &facts),
        Kind::Build => build_sheet::sections(&record, &facts),
    };
    // Drawings stand behind the items that are marked on them.
    let is_item = |block: &Block| matches!(block, Block::Item(_));
    let behind = sections.iter().rposition(|section| section.blocks.iter().any(is_item));
    let first = || sections.iter().position(|section| !section.blocks.is_empty());
    let behind = behind.or_else(first).map_or(0, |at| at + 1);
    let drawn = pictures::sections(&record, kind, &sections);
    sections.splice(behind..behind, drawn);
    let mut document = head::document(&record, kind, facts);
    document.sections = sections.into_iter().filter(|section| !section.blocks.is_empty()).collect();
    document.make_harmless();
    document
}
