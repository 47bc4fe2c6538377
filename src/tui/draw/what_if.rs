//! What if: changes, and every number that changed, before and after side by side.

use crate::walk::set_arguments;

use super::super::state::State;
use super::super::text::{column, result_mark, width};
use super::super::theme::{Tone, of_outcome};
use super::super::trying::{ChangedNumber, KeyList, RunTable, Standing, WhatIfPage, row_texts};
use super::{Body, Lines};

/// From this width on before and after stand beside the title.
const BESIDE: usize = 100;

/// Keys to choose from.
pub fn keys(list: &KeyList, mut lines: Lines) -> Body {
    let typed = list.filter.value();
    let asked = if typed.is_empty() {
        "a few letters find a key: main od, temperature, leaves".to_owned()
    } else {
        format!("{typed}_")
    };
    lines.pair("Change", Tone::Strong, &asked);
    lines.blank();
    let mut chosen = None;
    for (at, (path, now)) in list.rows.iter().enumerate() {
        if at == list.at {
            chosen = Some((lines.out.len(), lines.out.len()));
        }
        let now = now.as_deref().unwrap_or("not given");
        lines.row(at == list.at, Tone::Plain, &format!("{path} = {now}"));
    }
    if list.rows.is_empty() {
        lines.text(Tone::Plain, "The car file has no key with those letters.");
    }
    Body::listed(lines.out, chosen)
}

/// The changes and what they come to, or the ready-made table.
pub fn body(page: &WhatIfPage, state: &State, mut lines: Lines) -> Body {
    lines.text(Tone::Dim, "What if. The car file stays as it is; nothing here is kept unless you save it.");
    changes(page, &mut lines);
    if let Some(table) = &page.table {
        run_table(table, state, &mut lines);
    } else if page.changes.is_empty() {
        lines.blank();
        lines.text(
            Tone::Plain,
            "Enter changes a value: a tube, an orifice, a length, a tee, a temperature, a charge. t shows the main run in three tube sizes.",
        );
    } else {
        numbers(page, &mut lines);
    }
    Body::scrolled(lines.out, page.scroll)
}

fn changes(page: &WhatIfPage, lines: &mut Lines) {
    for (at, change) in page.changes.iter().enumerate() {
        let text = format!("{} = {} (the file: {})", change.key, change.text, page.file_says(&change.key));
        lines.row(at == page.at && page.table.is_none(), Tone::Strong, &text);
    }
    if !page.changes.is_empty() {
        lines.pair(
            "Repeat",
            Tone::Dim,
            &format!("linewalk numbers … {}", set_arguments(&page.changes).join(" ")),
        );
    }
}

fn numbers(page: &WhatIfPage, lines: &mut Lines) {
    lines.blank();
    if page.rows.is_empty() {
        lines.text(Tone::Strong, "No number changed.");
        return;
    }
    let side = lines.width.saturating_sub(2) / 4;
    let title = lines.width.saturating_sub(2 * side);
    if lines.width >= BESIDE {
        let head = format!("{}{}{}", column("", title), column("before", side), column("after", side));
        lines.text_as_is(Tone::Strong, &head);
    }
    for row in &page.rows {
        let named = if row.of.is_empty() { row.title.clone() } else { format!("{}: {}", row.of, row.title) };
        let (before, after) = (stands(&row.before), stands(&row.after));
        let fits = width(&named) < title && width(&before) < side && width(&after) <= side;
        if lines.width >= BESIDE && fits {
            let spans = vec![
                lines.span(Tone::Plain, &column(&named, title)),
                lines.span(Tone::Plain, &column(&before, side)),
                lines.span(tone(row), &after),
            ];
            lines.line(spans);
            continue;
        }
        lines.text(Tone::Plain, &named);
        let half = lines.width.saturating_sub(4) / 2;
        let (before, after) = (format!("before {before}"), format!("after {after}"));
        if width(&before) < half && width(&after) <= half {
            let spans = vec![
                lines.span(Tone::Plain, &format!("    {}", column(&before, half))),
                lines.span(tone(row), &after),
            ];
            lines.line(spans);
        } else {
            lines.indented(4, Tone::Plain, &before);
            lines.indented(4, tone(row), &after);
        }
    }
}

fn stands(standing: &Standing) -> String {
    standing.outcome.map_or_else(
        || standing.text.clone(),
        |outcome| format!("{} {}", result_mark(outcome), standing.text),
    )
}

fn tone(row: &ChangedNumber) -> Tone {
    row.after.outcome.map_or(Tone::Strong, of_outcome)
}

fn run_table(table: &RunTable, state: &State, lines: &mut Lines) {
    let Some(walk) = &state.walk else { return };
    let title = table.runs.get(table.at).map_or("", |run| run.title.as_str());
    lines.blank();
    lines.text(Tone::Strong, &format!("{title} ({} of {})", table.at + 1, table.runs.len()));
    let beside = lines.width >= BESIDE;
    let part = lines.width / 4;
    if beside {
        let heads = ["tube", "latest arrival", "worst split", "hold-up"];
        let head: String = heads.iter().map(|head| column(head, part)).collect();
        lines.text_as_is(Tone::Strong, &head);
    }
    for row in &table.rows {
        let [arrival, fair, holdup] = row_texts(row, walk.start.units);
        if beside {
            let text: String =
                [&row.tube, &arrival, &fair, &holdup].iter().map(|text| column(text, part)).collect();
            lines.text_as_is(Tone::Plain, &text);
        } else {
            lines.text(Tone::Strong, &row.tube);
            lines.indented(2, Tone::Plain, &format!("latest arrival {arrival}"));
            lines.indented(2, Tone::Plain, &format!("worst split {fair}; hold-up {holdup}"));
        }
    }
    lines.blank();
    lines.text(
        Tone::Dim,
        "Arrival from the valve being open. Split: the least share of a nozzle over an even share. Hold-up: of all agent.",
    );
}
