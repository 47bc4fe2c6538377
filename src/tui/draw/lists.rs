//! Lists: stations and checks, open items, numbers, and the report as text.

use crate::model::entry::Outcome;

use super::super::figures::counted;
use super::super::sheet::NumberLine;
use super::super::state::{FindingsPage, JumpList, NumbersPage, ReportPage, State};
use super::super::text::{column, escape_control, fit, many, result_mark, severity_word, when, width};
use super::super::theme::{Tone, of_outcome, of_severity};
use super::{Body, Lines};

/// Stations and checks.
pub fn jump(list: &JumpList, mut lines: Lines) -> Body {
    let typed = list.filter.value();
    let asked = if typed.is_empty() { "a few letters find a check".to_owned() } else { format!("{typed}_") };
    lines.pair("Find", Tone::Strong, &asked);
    lines.blank();
    let mut chosen = None;
    for (at, row) in list.rows.iter().enumerate() {
        if at == list.at {
            chosen = Some((lines.out.len(), lines.out.len()));
        }
        let tone = if row.station { Tone::Strong } else { Tone::Plain };
        lines.row(at == list.at, tone, &format!("{} {}", row.mark, row.title));
    }
    if list.rows.is_empty() {
        lines.text(Tone::Plain, "Nothing on this lap has those letters.");
    }
    Body::listed(lines.out, chosen)
}

/// Open items, the chosen one laid open.
pub fn findings(page: &FindingsPage, mut lines: Lines) -> Body {
    if page.items.is_empty() {
        lines.blank();
        lines.text(Tone::Strong, "Nothing is open.");
        noted(page, &mut lines);
        return Body::plain(lines.out);
    }
    lines.text(
        Tone::Dim,
        "Open items, the worst first. A repair stays open until someone looks again and accepts.",
    );
    let mut chosen = None;
    for (at, item) in page.items.iter().enumerate() {
        let first = lines.out.len();
        let of = item.of.as_ref().map_or_else(String::new, |of| format!(" ({of})"));
        let text = format!(
            "{:<7} {} {} {}{of}",
            severity_word(item.severity),
            result_mark(item.result),
            item.code,
            item.title
        );
        let is_chosen = page.at == Some(at);
        lines.row(is_chosen, of_severity(item.severity), &text);
        if is_chosen {
            lines.pair("  Where", Tone::Plain, &item.station);
            lines.pair("  Found", of_outcome(item.result), &item.found);
            // What a number alone shows is open since nobody looked.
            if let Some(since) = item.since {
                lines.pair("  Open", Tone::Plain, &format!("since {}", when(since)));
            }
            lines.pair("  Why", Tone::Plain, &item.why);
            lines.pair("  Remedy", Tone::Plain, &item.remedy);
            for noted in &item.noted {
                lines.pair("  Noted", Tone::Note, noted);
            }
            for remark in &item.remarks {
                lines.pair("  Remark", Tone::Note, remark);
            }
            chosen = Some((first, lines.out.len().saturating_sub(1)));
        }
    }
    noted(page, &mut lines);
    Body::listed(lines.out, chosen)
}

/// Notes beside checks that nobody answered: they are no open items, and nothing is settled while they stand.
fn noted(page: &FindingsPage, lines: &mut Lines) {
    if !page.noted.is_empty() {
        lines.blank();
        lines.text(Tone::Strong, &format!("{}, not judged:", many(page.noted.len(), "note")));
    }
    for noted in &page.noted {
        lines.indented(2, Tone::Note, noted);
    }
}

/// Columns of a value in the list of numbers.
const VALUE: usize = 11;

/// Numbers, one line each; the chosen one may be laid open.
pub fn numbers(page: &NumbersPage, state: &State, mut lines: Lines) -> Body {
    if let Some(walk) = state.walk.as_ref().filter(|_| !page.open) {
        lines.pair("File", Tone::Dim, &walk.start.car.file);
    }
    if page.lines.is_empty() {
        lines.blank();
        lines.text(Tone::Strong, "No number is calculated for this car.");
        return Body::plain(lines.out);
    }
    if let (true, Some(line)) = (page.open, page.lines.get(page.at)) {
        lines.text(Tone::Strong, &named(&line.title, &line.of));
        lines.text(Tone::Plain, &line.shown);
        if let Some((outcome, says)) = &line.margin {
            lines.text(of_outcome(*outcome), &format!("{} {says}", result_mark(*outcome)));
        }
        if let Some(track) = line.track.as_ref().filter(|_| !state.plain) {
            lines.text(Tone::Plain, track);
        }
        lines.blank();
        for (label, text) in &line.behind {
            lines.pair(label, Tone::Plain, text);
        }
        return Body::scrolled(lines.out, page.scroll);
    }
    lines.text(Tone::Strong, &counted(&page.lines));
    let mut chosen = None;
    for (at, line) in page.lines.iter().enumerate() {
        if at == 0 || page.lines.get(at - 1).is_some_and(|above| above.group.0 != line.group.0) {
            lines.blank();
            lines.text(Tone::Strong, line.group.1);
        }
        let begun = lines.out.len();
        number(line, at == page.at, state.plain, &mut lines);
        if at == page.at {
            // The heading above it stays in sight with it.
            let first = if at == 0 { 0 } else { begun };
            chosen = Some((first, lines.out.len() - 1));
        }
    }
    Body::listed(lines.out, chosen)
}

/// One number: what needs a look with its limit and its track, the rest in a line.
fn number(line: &NumberLine, chosen: bool, plain: bool, lines: &mut Lines) {
    let (mark, tone) = match &line.margin {
        Some((outcome, _)) => (result_mark(*outcome), of_outcome(*outcome)),
        None if line.worked => (' ', Tone::Plain),
        None => (result_mark(Outcome::Refused), Tone::Dim),
    };
    let open = line.margin.as_ref().filter(|(outcome, _)| *outcome != Outcome::Accept);
    let value = if open.is_none() && line.worked { column(&line.value, VALUE) + " " } else { String::new() };
    // Which part it is of tells one row from the next: a long title gives way to it.
    let of = if line.of.is_empty() { 0 } else { 2 + width(&line.of) };
    let room = lines.width.saturating_sub(4 + width(&value) + of);
    lines.row(chosen, tone, &format!("{mark} {value}{}", named(&fit(&line.title, room), &line.of)));
    if !line.worked {
        lines.indented(4, tone, &line.shown);
    }
    if let Some((_, says)) = open {
        lines.indented(4, tone, &format!("{} | {says}", line.shown));
        if let Some(track) = line.track.as_ref().filter(|_| !plain) {
            lines.indented(4, tone, track);
        }
    }
}

fn named(title: &str, of: &str) -> String {
    if of.is_empty() { title.to_owned() } else { format!("{title}: {of}") }
}

/// The report as it would be printed; its lines are not wrapped anew where they fit.
pub fn report(page: &ReportPage, mut lines: Lines) -> Body {
    for line in page.text.lines() {
        let line = escape_control(line);
        if width(&line) <= lines.width {
            let span = lines.span(Tone::Plain, &line);
            lines.line(vec![span]);
        } else {
            let indent = line.chars().take_while(|c| *c == ' ').count().min(lines.width / 2);
            lines.indented(indent, Tone::Plain, &line);
        }
    }
    Body::scrolled(lines.out, page.scroll)
}
