//! Drawing: reads the state and nothing else.

mod ask;
mod cars;
mod end;
mod frame;
mod help;
mod large;
mod lines;
mod lists;
mod overlay;
mod picture;
mod raster;
mod rules;
mod same_car;
mod start;
mod text;
mod walk;
mod what_if;

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::keymap::Place;
use super::state::{Overlay, Screen, State};
use super::theme::{Theme, Tone};
pub use frame::foot;
use lines::Lines;

/// Least size that everything fits in.
const LEAST: (u16, u16) = (60, 20);

/// From this width on the lap stands beside the check.
const WIDE: u16 = 110;

/// Columns of the lap beside the check.
const SIDE: u16 = 38;

/// From this width on the lap has more room.
const WIDER: u16 = 160;

/// Columns of the lap there.
const SIDE_WIDER: u16 = 64;

/// What fills the middle of a screen.
struct Body {
    lines: Vec<Line<'static>>,
    /// Lines at the top that stay where they are.
    pinned: usize,
    /// First and last line of the chosen row, kept in sight.
    chosen: Option<(usize, usize)>,
    /// First line shown, where nothing is chosen.
    scroll: usize,
}

impl Body {
    fn plain(lines: Vec<Line<'static>>) -> Self {
        Self { lines, pinned: 0, chosen: None, scroll: 0 }
    }

    fn scrolled(lines: Vec<Line<'static>>, scroll: usize) -> Self {
        Self { scroll, ..Self::plain(lines) }
    }

    fn listed(lines: Vec<Line<'static>>, chosen: Option<(usize, usize)>) -> Self {
        Self { chosen, ..Self::plain(lines) }
    }

    fn offset(&self, height: usize) -> usize {
        let most = self.lines.len().saturating_sub(height);
        match self.chosen {
            Some((first, last)) => (last + 1).saturating_sub(height).min(first).min(most),
            None => self.scroll.min(most),
        }
    }
}

/// Draws a frame.
pub fn draw(state: &State, theme: Theme, frame: &mut Frame<'_>) {
    let area = frame.area();
    frame.buffer_mut().set_style(area, theme.ground());
    if area.width < LEAST.0 || area.height < LEAST.1 {
        too_small(theme, frame);
    } else {
        screen(state, theme, frame);
    }
    if state.plain {
        large::plainly(frame.buffer_mut());
    }
}

fn screen(state: &State, theme: Theme, frame: &mut Frame<'_>) {
    let area = frame.area();
    let parts = Parts::of(state, theme, area);
    put(&frame::header(state, theme, area.width), parts.header, frame);
    let side = side_of(state, area.width);
    let main = main_of(state, parts.body);
    let body = body(state, theme, main);
    let height = usize::from(main.height);
    let offset = body.offset(height);
    let (above, below) = (offset > 0, body.lines.len() > offset + height);
    let pinned = body.pinned.min(height);
    let mut shown: Vec<Line<'static>> = body.lines;
    shown.drain(pinned..(pinned + offset).min(shown.len()));
    put(&shown, main, frame);
    let scrolled = u16::try_from(pinned).unwrap_or(main.height);
    let below_pinned = Rect { y: main.y + scrolled, height: main.height.saturating_sub(scrolled), ..main };
    more(theme, below_pinned, above, below, frame);
    if let Some((area, _)) = picture::split(state, parts.body) {
        let lines = picture::lines(state, theme, usize::from(area.width), usize::from(area.height));
        put(&lines, area, frame);
    }
    if side > 0 {
        let lap = Rect { x: main.width + 1, width: side.saturating_sub(1), ..parts.body };
        let lines = walk::side(state, theme, usize::from(lap.width), usize::from(lap.height));
        put(&lines, lap, frame);
    }
    if let Some(over) = parts.over {
        overlay::draw(state, theme, over, frame);
    }
    put(&frame::message(state, theme, area.width), parts.said, frame);
    put(&frame::footer(state, theme, area.width), parts.footer, frame);
}

/// Writes lines into an area, each into its row. A paragraph would measure every letter twice and style every cell
/// again.
fn put(lines: &[Line<'static>], area: Rect, frame: &mut Frame<'_>) {
    let area = area.intersection(frame.area());
    for (line, row) in lines.iter().zip(area.rows()) {
        frame.buffer_mut().set_line(row.x, row.y, line, row.width);
    }
}

/// Where the lines of a screen stand: beside the lap, beside or below a picture, or all over.
fn main_of(state: &State, body: Rect) -> Rect {
    match picture::split(state, body) {
        Some((_, words)) => words,
        None => Rect { width: body.width.saturating_sub(side_of(state, body.width)), ..body },
    }
}

/// Marks in the last column where there is more above or below.
fn more(theme: Theme, area: Rect, above: bool, below: bool, frame: &mut Frame<'_>) {
    let x = area.right().saturating_sub(1);
    let mut mark = |y: u16, text: &'static str| {
        let at = Rect { x, y, width: 1, height: 1 }.intersection(area);
        put(&[Line::styled(text, theme.style(Tone::Key))], at, frame);
    };
    if above {
        mark(area.y, "^");
    }
    if below {
        mark(area.bottom().saturating_sub(1), "v");
    }
}

/// Where the parts of a screen lie.
struct Parts {
    header: Rect,
    body: Rect,
    over: Option<Rect>,
    said: Rect,
    footer: Rect,
}

impl Parts {
    fn of(state: &State, theme: Theme, area: Rect) -> Self {
        let rows = |lines: usize| u16::try_from(lines).unwrap_or(u16::MAX);
        let footer = rows(frame::footer(state, theme, area.width).len());
        let said = rows(frame::message(state, theme, area.width).len());
        let header = rows(frame::header(state, theme, area.width).len());
        let middle = area.height.saturating_sub(header + said + footer);
        let wanted = rows(overlay::height(state, theme, area.width));
        let over = wanted.min(middle.saturating_sub(3));
        let at = |y: u16, height: u16| Rect { x: 0, y, width: area.width, height };
        Self {
            header: at(0, header),
            body: at(header, middle - over),
            over: (over > 0).then(|| at(header + middle - over, over)),
            said: at(header + middle, said),
            footer: at(header + middle + said, footer),
        }
    }
}

fn side_of(state: &State, width: u16) -> u16 {
    let beside = matches!(state.screen, Screen::Walk(_))
        && !matches!(
            state.overlay,
            Some(
                Overlay::Help(..) | Overlay::Text(..) | Overlay::Ask(_) | Overlay::Jump(_) | Overlay::Keys(_)
            )
        );
    match width {
        _ if !beside => 0,
        WIDER.. => SIDE_WIDER,
        WIDE.. => SIDE,
        _ => 0,
    }
}

fn body(state: &State, theme: Theme, area: Rect) -> Body {
    // The last column is the mark of more text, the one before it keeps the text away from it.
    let mut lines = Lines::new(theme, usize::from(area.width.saturating_sub(2)));
    lines.rows = usize::from(area.height);
    match (&state.overlay, &state.screen) {
        (Some(Overlay::Help(place, scroll)), _) => help::body(*place, *scroll, &state.keys, lines),
        (Some(Overlay::Text(text, scroll)), _) => text::body(text, *scroll, lines),
        (Some(Overlay::Ask(question)), _) => ask::body(question, lines),
        (Some(Overlay::Jump(list)), _) => lists::jump(list, lines),
        (Some(Overlay::Keys(list)), _) => what_if::keys(list, lines),
        (_, Screen::Person(page)) => cars::person(page, lines),
        (_, Screen::Clock(why)) => cars::clock(why, state, lines),
        (_, Screen::SameCar(page)) => same_car::same_car(page, state, lines),
        (_, Screen::Cars(page)) => cars::cars(page, state, lines),
        (_, Screen::NewCar(page)) => cars::new_car(page, lines),
        (_, Screen::Profile(page)) => cars::profile(page, lines),
        (_, Screen::Start(page)) => start::start(page, state, lines),
        (_, Screen::Walk(page)) => walk::check(page, state, lines),
        (_, Screen::Findings(page)) => lists::findings(page, lines),
        (_, Screen::Numbers(page)) => lists::numbers(page, state, lines),
        (_, Screen::Report(page) | Screen::MeasureNext(page)) => lists::report(page, lines),
        (_, Screen::Rules(page)) => rules::rules(page, state, lines),
        (_, Screen::Plan(page)) => picture::plan_words(page, state, lines),
        (_, Screen::Discharge(page)) => picture::discharge_words(page, lines),
        (_, Screen::WhatIf(page)) => what_if::body(page, state, lines),
        (_, Screen::Hold(page)) => end::hold(page, state, lines),
        (_, Screen::End(page)) => end::end(page, state, lines),
    }
}

/// Keeps every scroll inside what there is to scroll.
pub(super) fn clamp(state: &mut State, theme: Theme, size: (u16, u16)) {
    if size.0 < LEAST.0 || size.1 < LEAST.1 || scroll_of(state).is_none_or(|scroll| *scroll == 0) {
        return;
    }
    let parts = Parts::of(state, theme, Rect::new(0, 0, size.0, size.1));
    let main = main_of(state, parts.body);
    let body = body(state, theme, main);
    let most = body.lines.len().saturating_sub(usize::from(main.height));
    if let Some(scroll) = scroll_of(state) {
        *scroll = (*scroll).min(most);
    }
}

/// How far what is shown is scrolled, where it can be.
pub(super) fn scroll_of(state: &mut State) -> Option<&mut usize> {
    Some(match (&mut state.overlay, &mut state.screen) {
        (Some(Overlay::Help(_, scroll) | Overlay::Text(_, scroll)), _) => scroll,
        (Some(Overlay::Ask(question)), _) => &mut question.scroll,
        (Some(Overlay::Jump(_) | Overlay::Keys(_)), _) => return None,
        (_, Screen::SameCar(page)) => &mut page.scroll,
        (_, Screen::Start(page)) => &mut page.scroll,
        (_, Screen::Walk(page)) => &mut page.scroll,
        (_, Screen::Numbers(page)) if page.open => &mut page.scroll,
        (_, Screen::Report(page) | Screen::MeasureNext(page)) => &mut page.scroll,
        (_, Screen::Rules(page)) => &mut page.scroll,
        (_, Screen::Plan(page)) => &mut page.scroll,
        (_, Screen::Discharge(page)) => &mut page.scroll,
        (_, Screen::WhatIf(page)) => &mut page.scroll,
        (_, Screen::End(page)) => &mut page.scroll,
        _ => return None,
    })
}

fn too_small(theme: Theme, frame: &mut Frame<'_>) {
    let area = frame.area();
    let text =
        format!("Too small: {}x{}, needs {}x{}. Nothing is lost.", area.width, area.height, LEAST.0, LEAST.1);
    let mut lines = Lines::new(theme, usize::from(area.width));
    lines.text(Tone::Strong, &text);
    put(&lines.out, area, frame);
}

/// What the place is called, above its keys in help.
fn title_of(place: Place) -> String {
    format!("Keys: {}", place.title())
}
