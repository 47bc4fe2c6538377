//! Lines being typed, at the foot of the screen they belong to.

use ratatui::Frame;
use ratatui::layout::{Position, Rect};
use ratatui::text::Line;
use ratatui::widgets::Clear;
use tui_input::Input;

use crate::model::entry::Outcome;

use super::super::keymap::UiAction;
use super::super::state::{Overlay, Slot, State, Typing, Words};
use super::super::text::{column, escape_control, width};
use super::super::theme::{Theme, Tone};
use super::Lines;
use super::walk::{row_says, typed_rows};

/// Least columns of a field.
const FIELD: usize = 16;

/// Lines laid, with the line and column of the cursor.
struct Laid {
    lines: Vec<Line<'static>>,
    cursor: Option<(usize, usize)>,
}

/// Rows that the line wants.
pub fn height(state: &State, theme: Theme, columns: u16) -> usize {
    lay(state, theme, columns).map_or(0, |laid| laid.lines.len())
}

/// Draws it.
pub fn draw(state: &State, theme: Theme, area: Rect, frame: &mut Frame<'_>) {
    let Some(laid) = lay(state, theme, area.width) else { return };
    let room = usize::from(area.height);
    let at = laid.cursor.map_or(0, |(line, _)| line);
    let skip = (at + 3).saturating_sub(room).min(laid.lines.len().saturating_sub(room));
    let shown: Vec<Line<'static>> = laid.lines.into_iter().skip(skip).take(room).collect();
    frame.render_widget(Clear, area);
    frame.buffer_mut().set_style(area, theme.ground());
    super::put(&shown, area, frame);
    if let Some((line, column)) = laid.cursor {
        let to = |n: usize| u16::try_from(n).unwrap_or(u16::MAX);
        let (x, y) =
            (area.x.saturating_add(to(column)), area.y.saturating_add(to(line.saturating_sub(skip))));
        if x < area.right() && y < area.bottom() {
            frame.set_cursor_position(Position::new(x, y));
        }
    }
}

fn lay(state: &State, theme: Theme, columns: u16) -> Option<Laid> {
    let lines = Lines::new(theme, usize::from(columns));
    match &state.overlay {
        Some(Overlay::Words(words)) => Some(words_laid(words, lines)),
        Some(Overlay::Typing(typing)) => Some(typing_laid(typing, state, lines)),
        _ => None,
    }
}

fn rule(lines: &mut Lines) {
    let text = "-".repeat(lines.width);
    lines.text(Tone::Dim, &text);
}

/// The field with its text in sight around the cursor; gives the cursor's column.
fn field(input: &Input, before: &str, after: &str, lines: &mut Lines) -> usize {
    let wide = lines.width.saturating_sub(width(before) + width(after) + 3).clamp(FIELD.min(lines.width), 60);
    let skip = input.visual_scroll(wide.saturating_sub(1));
    let shown: String = inert_scrolled(input.value(), skip);
    let spans = vec![
        lines.span(Tone::Dim, before),
        lines.span(Tone::Plain, "["),
        lines.span(Tone::Strong, &column(&shown, wide)),
        lines.span(Tone::Plain, "] "),
        lines.span(Tone::Dim, after),
    ];
    lines.line(spans);
    width(before) + 1 + input.visual_cursor().saturating_sub(skip)
}

/// The text without its first `skip` columns.
fn inert_scrolled(text: &str, skip: usize) -> String {
    let mut gone = 0;
    let rest: String = text
        .chars()
        .skip_while(|c| {
            let wide = width(c.encode_utf8(&mut [0; 4]));
            let before = gone < skip;
            gone += wide;
            before
        })
        .collect();
    escape_control(&rest)
}

fn words_laid(words: &Words, mut lines: Lines) -> Laid {
    rule(&mut lines);
    lines.text(Tone::Strong, &words.prompt);
    for (at, offer) in words.offers.iter().enumerate() {
        lines.text(Tone::Plain, &format!("{} {offer}", at + 1));
    }
    let line = lines.out.len();
    let column = field(&words.input, "", "", &mut lines);
    if let Some(trouble) = &words.trouble {
        lines.text(Tone::Fix, &format!("! {trouble}"));
    }
    Laid { lines: lines.out, cursor: Some((line, column)) }
}

fn typing_laid(typing: &Typing, state: &State, mut lines: Lines) -> Laid {
    rule(&mut lines);
    let mut cursor = None;
    for (at, slot) in typing.slots.iter().enumerate() {
        let here = at == typing.at;
        if let Some(found) = slot_laid(slot, here, typing, &mut lines)
            && here
            && !typing.deciding
        {
            cursor = Some(found);
        }
    }
    if typing.instruments.len() > 1 {
        let chosen = typing.instruments.iter().find(|(id, _)| Some(id) == typing.instrument.as_ref());
        let text = chosen.map_or("not said (Tab chooses)", |(_, title)| title.as_str());
        lines.pair("With", Tone::Plain, text);
    }
    for row in typed_rows(&typing.assessment) {
        let tone = if row.judges { super::super::theme::of_outcome(row.judged.outcome) } else { Tone::Plain };
        lines.text(tone, &row_says(row));
        if let Some(remedy) = &row.judged.remedy {
            lines.indented(2, Tone::Fix, remedy);
        }
    }
    if typing.deciding {
        let (accept, reject) = (state.key(UiAction::Accept), state.key(UiAction::Reject));
        let why = undecided_because(typing);
        let text = format!("{why}: {accept} accept / {reject} reject");
        lines.text(Tone::Strong, &text);
    }
    if let Some(trouble) = &typing.trouble {
        lines.text(Tone::Fix, &format!("! {trouble}"));
    }
    Laid { lines: lines.out, cursor }
}

/// Why the person has the last word.
fn undecided_because(typing: &Typing) -> &'static str {
    let unknown = typing.assessment.without_limit().next().is_some();
    match typing.assessment.verdict() {
        Some(Outcome::Accept) if !unknown => "Inside its limit, but there is something to look at",
        Some(Outcome::Refused) => "The number behind it is not calculated, you decide",
        _ => "No limit known, you decide",
    }
}

fn slot_laid(slot: &Slot, here: bool, typing: &Typing, lines: &mut Lines) -> Option<(usize, usize)> {
    let mark = if here { ">" } else { " " };
    let limits = if slot.limits.is_empty() { String::new() } else { format!(" ({})", slot.limits) };
    let known = slot.known.as_ref().map_or_else(String::new, |known| format!(" now {known}"));
    let label = if slot.label.is_empty() { "Value" } else { slot.label.as_str() };
    let several = typing.slots.len() > 1;
    if here || several {
        lines.text(if here { Tone::Strong } else { Tone::Plain }, &format!("{mark} {label}{limits}{known}"));
    }
    if !here {
        let text = slot.echo.as_deref().unwrap_or(slot.input.value());
        if !text.is_empty() {
            lines.indented(4, Tone::Plain, text);
        }
        return None;
    }
    let unit = if slot.unit == "1" { "" } else { slot.unit.as_str() };
    let read = match (&slot.echo, &slot.unread) {
        (Some(echo), _) => format!("{unit}  read as {echo}"),
        _ => unit.to_owned(),
    };
    let line = lines.out.len();
    let column = field(&slot.input, "  ", &read, lines);
    if let Some(unread) = &slot.unread {
        lines.indented(2, Tone::Fix, &format!("! {unread}"));
    }
    Some((line, column))
}
