//! The document as one HTML file: no script, nothing fetched, readable on a phone and printed on A4 or Letter.

use std::fmt::Write as _;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::drawing::svg;
use crate::model::entry::Severity;

use super::document::{Blank, Block, Document, Item, Pair, Picture, Section, Signature, Table};
use super::item::mark;
use super::qr::{Squares, squares};

/// The style sheet; no text of a file ever goes into it.
const STYLE: &str = include_str!("report.css");

/// The document as HTML. Every text of it is escaped by the template.
pub fn page(document: &Document) -> String {
    let title = format!("{}: {}", document.title, document.subject);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body class=[document.narrow.then_some("narrow")] {
                (header(document))
                main { @for section in &document.sections { (body_section(section)) } }
                (footer(document))
            }
        }
    };
    in_lines(&page.into_string())
}

/// Breaks the page into lines behind whole parts, for people who read the source. Texts hold no tag, so none changes.
fn in_lines(page: &str) -> String {
    const ENDS: [&str; 9] =
        ["</header>", "</section>", "</article>", "</tr>", "</li>", "</p>", "</dl>", "</h2>", "</html>"];
    ENDS.iter().fold(page.to_owned(), |page, end| page.replace(end, &format!("{end}\n")))
}

fn header(document: &Document) -> Markup {
    html! {
        header {
            @if let Some(shop) = &document.shop {
                p.shop { strong { bdi { (shop.name) } } @if !shop.address.is_empty() { br; bdi { (shop.address) } } }
            }
            h1 { (document.title) ": " bdi { (document.subject) } }
            @for warning in &document.warnings { p.warning { strong { "Warning: " } (warning) } }
            @for notice in &document.notices { p.notice { (notice) } }
            (pairs(&document.head))
        }
    }
}

fn footer(document: &Document) -> Markup {
    html! {
        footer {
            @for text in &document.closing { p { (text) } }
            @if let Some(record) = &document.record {
                div.record {
                    @if let Some(code) = squares(record) { (square_code(&code)) }
                    p { "Record " code { (record) } }
                }
            }
        }
    }
}

/// One path for all dark squares, with the four clear squares round it that a reader needs.
fn square_code(code: &Squares) -> Markup {
    let side = code.side + 8;
    let mut path = String::new();
    for (x, y) in &code.dark {
        // Writing to a string cannot fail.
        let _ = write!(path, "M{} {}h1v1h-1z", x + 4, y + 4);
    }
    html! {
        svg viewBox=(format!("0 0 {side} {side}")) width="112" height="112" role="img" aria-label="Code of the record" {
            rect width=(side) height=(side) fill="#fff" {}
            path d=(path) fill="#000" {}
        }
    }
}

fn pairs(pairs: &[Pair]) -> Markup {
    html! {
        @if !pairs.is_empty() {
            // A label that comes several times in a row is said once.
            dl {
                @for same in pairs.chunk_by(|one, next| one.label == next.label) {
                    div {
                        @if let Some(first) = same.first() { dt { (first.label) } }
                        @for pair in same { dd dir="auto" { (pair.text) } }
                    }
                }
            }
        }
    }
}

fn body_section(section: &Section) -> Markup {
    html! {
        section {
            h2 { (section.title) }
            @for block in &section.blocks { (body_block(block)) }
        }
    }
}

fn body_block(block: &Block) -> Markup {
    match block {
        Block::Paragraph(text) => html! { p dir="auto" { (text) } },
        Block::List(points) => html! { ul { @for point in points { li dir="auto" { (point) } } } },
        Block::Pairs(list) => pairs(list),
        Block::Table(data) => table(data),
        Block::Item(data) => item(data),
        Block::Blank(data) => blank(data),
        Block::Picture(data) => picture(data),
        Block::Typed(lines) => html! { pre { (lines.join("\n")) } },
        Block::Signatures(lines) => html! { ul.signatures { @for line in lines { (signature(line)) } } },
    }
}

fn table(table: &Table) -> Markup {
    html! {
        table {
            thead { tr { @for head in &table.head { th scope="col" { (head) } } } }
            tbody {
                @for row in &table.rows {
                    tr { @for (head, cell) in table.head.iter().zip(row) { td dir="auto" class=[has_long_word(cell).then_some("long")] data-label=(head) { (cell) } } }
                }
            }
        }
    }
}

/// Letters of a word that may stand whole in a narrow column; a longer one is broken rather than push the table off the
/// sheet.
const LONG: usize = 14;

fn has_long_word(cell: &str) -> bool {
    cell.split(' ').any(|word| word.chars().count() > LONG)
}

fn item(item: &Item) -> Markup {
    let class = match item.severity {
        Some(Severity::Stop) => "item stop",
        Some(Severity::Fix) => "item fix",
        _ => "item note",
    };
    html! {
        article class=(class) {
            h3 {
                @if let Some(number) = item.number { (number) ". " }
                @if let Some(severity) = item.severity { span.mark { (mark(severity)) } " " }
                span.code { (item.code) } " "
                bdi { (item.heading) }
            }
            (pairs(&item.lines))
        }
    }
}

/// Inline in HTML an SVG needs no name of its language.
fn picture(picture: &Picture) -> Markup {
    let svg = svg(&picture.page, &picture.title, &picture.words);
    let svg = svg.replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1);
    html! {
        figure {
            figcaption { (picture.title) }
            div.drawing { (PreEscaped(svg)) }
            @for note in &picture.notes { p.key { (note) } }
        }
    }
}

fn blank(blank: &Blank) -> Markup {
    html! {
        article.blank {
            h3 { span.mark { (mark(blank.severity)) } " " (blank.heading) " (" (blank.code) ")" }
            @for line in &blank.lines { p { (line) } }
            p { @for word in Blank::BOXES { "[ ] " (word) "  " } " at __:__ by ____" }
        }
    }
}

fn signature(line: &Signature) -> Markup {
    html! {
        li {
            span.role { (line.role) }
            @match &line.signed {
                Some(signed) => { " signed: " (signed) }
                None => { span.line { } " date " span.line.short { } }
            }
        }
    }
}
