//! What every screen has: the car's number, the notice, the line of what was said, and the keys.

use ratatui::text::{Line, Span};

use crate::rules::NOTICE;

use super::super::keymap::{Place, UiAction};
use super::super::state::{Overlay, Purpose, Screen, State};
use super::super::text::{escape_control, fit, width, wrap};
use super::super::theme::{Theme, Tone};

/// The notice where a line is too short for the whole of it.
const SHORT_NOTICE: &str = "Check rulebook; official decides. Not a certification.";

/// The car's number, where the walk stands, and the notice.
pub fn header(state: &State, theme: Theme, columns: u16) -> Vec<Line<'static>> {
    let columns = usize::from(columns);
    let left = match (&state.walk, &state.screen) {
        (Some(walk), _) => {
            let car = &walk.start.car;
            let name = car.name.as_ref().map_or_else(String::new, |name| format!(" {name}"));
            let profile = walk.profile().map_or("", |profile| profile.title.as_str());
            let stage = walk.start.stage.as_ref().map_or_else(String::new, |stage| format!(", {stage}"));
            format!(" CAR {}{name} | {profile}{stage}", car.number)
        }
        (None, Screen::Person(_)) => " linewalk | first use".to_owned(),
        (None, Screen::NewCar(page)) => format!(" CAR {} | new car", page.number),
        (None, Screen::Profile(page)) => format!(" CAR {} | which way round", page.number),
        _ => " linewalk | cars".to_owned(),
    };
    let left = if state.playing { format!(" PLAY |{left}") } else { left };
    let mark = state.mark.as_ref().map_or_else(String::new, |mark| format!("[{}] ", escape_control(mark)));
    let right = format!("{mark}{}", right_side(state, columns));
    let left = fit(&escape_control(&left), columns.saturating_sub(width(&right) + 1));
    let gap = columns.saturating_sub(width(&left) + width(&right));
    let bar = format!("{left}{}{right}", " ".repeat(gap));
    let notice = if columns > width(NOTICE) { NOTICE } else { SHORT_NOTICE };
    let notice = Span::styled(format!(" {notice}"), theme.style(Tone::Dim));
    let mut lines = vec![Line::from(Span::styled(bar, theme.style(Tone::Bar))), Line::from(notice)];
    lines.extend(super::rules::stale(state, theme, columns));
    lines
}

/// Checks, minutes and what is open, as much as fits.
fn right_side(state: &State, columns: usize) -> String {
    if state.walk.is_none() {
        return String::new();
    }
    let lap = &state.sheet.lap;
    let [stop, fix, note] = lap.open;
    let minutes = lap.seconds.div_ceil(60);
    let ended = matches!(&state.screen, Screen::End(page) if page.ended);
    let progress =
        if ended { String::new() } else { format!("{} of {} | {minutes} min | ", lap.done, lap.total) };
    // A zero that may not last is not shown.
    if lap.being_worked && stop == 0 {
        return format!("{progress}numbers being worked ");
    }
    let state = lap.state.as_ref().map_or("", |(state, _)| state.word());
    if columns >= 100 {
        format!("{progress}{state} | STOP {stop} FIX {fix} NOTE {note} ")
    } else if columns >= 80 {
        format!("{progress}STOP {stop} FIX {fix} NOTE {note} ")
    } else {
        format!("{progress}STOP {stop} ")
    }
}

/// The line above the keys.
pub fn message(state: &State, theme: Theme, columns: u16) -> Vec<Line<'static>> {
    let Some(said) = &state.message else { return vec![Line::default()] };
    let (mark, tone) = if said.trouble { ("! ", Tone::Fix) } else { ("", Tone::Good) };
    let text = format!("{mark}{}", escape_control(said.text.trim()));
    let lines = wrap(&text, usize::from(columns)).into_iter().take(4);
    lines.map(|line| Line::from(Span::styled(line, theme.style(tone)))).collect()
}

/// Keys at the foot: as many as are taken in at a glance.
const MOST_KEYS: usize = 8;

/// The keys of this place that matter most; help shows all.
pub fn footer(state: &State, theme: Theme, columns: u16) -> Vec<Line<'static>> {
    laid(&at_the_foot(state, columns), theme, usize::from(columns))
}

/// Each key at the foot with its words.
pub fn foot(state: &State, columns: u16) -> Vec<String> {
    at_the_foot(state, columns).into_iter().map(|(_, key, label)| format!("{key} {label}")).collect()
}

fn at_the_foot(state: &State, columns: u16) -> Vec<(UiAction, String, String)> {
    let most = if columns >= 80 { 1 } else { 2 };
    let mut keys = keys_of(state);
    // Colours change on every screen; said where there is room, and in help.
    let said = matches!(state.place(), Place::Person | Place::Cars | Place::Start);
    keys.retain(|(action, ..)| said || *action != UiAction::Colours);
    loop {
        let lines = laid(&keys, Theme::Mono, usize::from(columns)).len();
        let fits = keys.len() <= MOST_KEYS && lines <= most;
        let Some(least) = dropped_next(&keys).filter(|_| !fits) else { return keys };
        keys.remove(least);
    }
}

/// What does not fit is dropped from the foot in this order; help still names it.
fn dropped_next(keys: &[(UiAction, String, String)]) -> Option<usize> {
    let order = [
        UiAction::Colours,
        UiAction::Bottom,
        UiAction::PageDown,
        UiAction::CallOut,
        UiAction::OtherProfile,
        UiAction::Quit,
        UiAction::Heavier,
        UiAction::Rules,
        UiAction::NextStation,
        UiAction::Plan,
        UiAction::Numbers,
        UiAction::Photo,
        UiAction::Down,
        UiAction::NextLap,
        UiAction::NextStage,
        UiAction::SayWho,
        UiAction::Back,
        UiAction::Report,
        UiAction::Findings,
        UiAction::Jump,
        UiAction::EndWalk,
        UiAction::Note,
        UiAction::Withdraw,
        UiAction::AcceptStation,
        UiAction::NotYet,
    ];
    let first = order.iter().find_map(|action| keys.iter().position(|(known, ..)| known == action));
    first.or_else(|| keys.iter().rposition(|(action, ..)| *action != UiAction::Help))
}

/// The action whose key stands beside that of another, so that both take one place.
fn partner(action: UiAction) -> Option<UiAction> {
    Some(match action {
        UiAction::NextCheck => UiAction::PreviousCheck,
        UiAction::NextStation => UiAction::PreviousStation,
        UiAction::NextPlace => UiAction::PreviousPlace,
        UiAction::NextRun => UiAction::PreviousRun,
        UiAction::Later => UiAction::Earlier,
        UiAction::MuchLater => UiAction::MuchEarlier,
        UiAction::Last => UiAction::First,
        UiAction::Bottom => UiAction::Top,
        UiAction::Down => UiAction::Up,
        UiAction::PageDown => UiAction::PageUp,
        UiAction::StartLater => UiAction::StartEarlier,
        UiAction::Heavier => UiAction::Lighter,
        _ => return None,
    })
}

/// Each key with its words; keys that go together stand as one.
fn keys_of(state: &State) -> Vec<(UiAction, String, String)> {
    let offered = state.offered();
    let key = |action: UiAction| {
        let found = offered.iter().find(|binding| binding.action == action)?;
        state.keys.keys(found).first().map(|key| key.word())
    };
    let second = |action: UiAction| offered.iter().any(|binding| partner(binding.action) == Some(action));
    let mut keys = Vec::new();
    for binding in offered.iter().filter(|binding| !second(binding.action)) {
        let first = key(binding.action).unwrap_or_default();
        let label = label_of(state, binding.action, binding.label);
        match partner(binding.action).and_then(key) {
            Some(other) => keys.push((binding.action, format!("{other}/{first}"), label)),
            None => keys.push((binding.action, first, label)),
        }
    }
    keys
}

fn laid(keys: &[(UiAction, String, String)], theme: Theme, columns: usize) -> Vec<Line<'static>> {
    let mut lines: Vec<Line<'static>> = Vec::new();
    let mut line: Vec<Span<'static>> = Vec::new();
    let mut used = 0;
    for (_, key, label) in keys {
        let wide = width(key) + width(label) + 3;
        if used + wide > columns {
            lines.push(Line::from(std::mem::take(&mut line)));
            used = 0;
        }
        line.push(Span::styled(format!(" {key}"), theme.style(Tone::Key)));
        line.push(Span::styled(format!(" {label} "), theme.style(Tone::Plain)));
        used += wide;
    }
    lines.push(Line::from(line));
    lines
}

/// Whether the words typed are only tried.
fn tries(state: &State) -> bool {
    matches!(&state.overlay, Some(Overlay::Words(words)) if matches!(words.purpose, Purpose::WhatIf(_)))
}

/// What Enter, Esc and scrolling do, in the words of the place.
fn label_of(state: &State, action: UiAction, label: &str) -> String {
    let words = match (state.place(), action) {
        (Place::Cars, UiAction::Go) => "open",
        (Place::Cars, UiAction::Back) => "clear, leave",
        (Place::NewCar, UiAction::Go) => "make the car",
        (Place::Profile | Place::Jump, UiAction::Go) => "take it",
        (Place::Start, UiAction::Go) if state.walk.as_ref().is_some_and(|walk| walk.id.is_some()) => "resume",
        (Place::Start, UiAction::Go) => "walk",
        (Place::Words, UiAction::Go) if tries(state) => "see what it does",
        (Place::Typing | Place::Words, UiAction::Go) => "keep",
        (Place::Ask, UiAction::Go) => "yes",
        (Place::Ask, UiAction::Back) => "no",
        (Place::Ask, UiAction::Down) => "scroll",
        (Place::Findings, UiAction::Go) => "go to check",
        (Place::Numbers, UiAction::Go) if matches!(&state.screen, Screen::Numbers(page) if page.open) => {
            "close"
        }
        (Place::Numbers, UiAction::Go) => "what is behind",
        (Place::WhatIf, UiAction::Go) => "change a value",
        (Place::Keys, UiAction::Go) => "take it",
        (Place::Plan, UiAction::Zoom) if matches!(&state.screen, Screen::Plan(page) if page.zoomed) => {
            "whole car"
        }
        (_, UiAction::Last) => "start, end",
        (_, UiAction::NextCheck) => "check",
        (_, UiAction::NextStation) => "station",
        (_, UiAction::StartLater) => "start at",
        (_, UiAction::Heavier) => "weight",
        (
            Place::Walk
            | Place::Start
            | Place::MeasureNext
            | Place::Report
            | Place::Rules
            | Place::Plan
            | Place::Discharge
            | Place::WhatIf
            | Place::End
            | Place::Ended
            | Place::Help,
            UiAction::Down,
        ) => "scroll",
        (_, UiAction::Down) => "choose",
        (Place::End, UiAction::Go) => "sign and end",
        (Place::Ended, UiAction::Go) => "next car",
        (Place::Walk | Place::Start | Place::Ended | Place::NewCar | Place::Profile, UiAction::Back) => {
            "cars"
        }
        (Place::Findings, UiAction::Note) => "owner's remark",
        (Place::Findings, UiAction::Accept) => "looked again: accept",
        _ => label,
    };
    words.to_owned()
}
