//! The plan, and the discharge as curves and as lines filling.

use ratatui::layout::Rect;
use ratatui::text::Line;

use crate::drawing::{Bounds, Curves, Drawing, Figure, Flat, Mark, Stroke, Style, letter_at};
use crate::units::{Kind, show};

use super::super::keymap::UiAction;
use super::super::picture::{DischargePage, Grain, PlanPage, Shown, explained};
use super::super::state::{Overlay, Screen, State};
use super::super::text::{column, escape_control, fit, severity_word, width};
use super::super::theme::{Theme, Tone, of_severity};
use super::raster::{Ink, Raster};
use super::{Body, Lines, WIDE};

/// Columns of the words beside a picture.
const WORDS: u16 = 44;
/// Columns of the scale beside curves.
const SCALE: usize = 10;

/// The picture and its words, where the screen has one: side by side where there is room, else one above the other.
pub fn split(state: &State, body: Rect) -> Option<(Rect, Rect)> {
    let over = matches!(
        &state.overlay,
        Some(Overlay::Help(..) | Overlay::Text(..) | Overlay::Jump(_) | Overlay::Keys(_))
    );
    if over || !matches!(state.screen, Screen::Plan(_) | Screen::Discharge(_)) {
        return None;
    }
    if body.width >= WIDE {
        let left = body.width - WORDS;
        let picture = Rect { width: left, ..body };
        return Some((picture, Rect { x: body.x + left, width: WORDS, ..body }));
    }
    let low = (body.height / 3).clamp(4, 9).min(body.height);
    let picture = Rect { height: body.height - low, ..body };
    Some((picture, Rect { y: body.y + picture.height, height: low, ..body }))
}

/// The picture of the screen.
pub fn lines(state: &State, theme: Theme, columns: usize, rows: usize) -> Vec<Line<'static>> {
    match &state.screen {
        Screen::Plan(page) => drawn(&page.drawing, page.window(), page.grain, columns, rows).lines(theme),
        Screen::Discharge(page) => discharge(page, theme, columns, rows),
        _ => Vec::new(),
    }
}

/// The plan beside a check: the car, where the person stands, and what is open.
pub fn small(plan: &Drawing, state: &State, theme: Theme, columns: usize, rows: usize) -> Vec<Line<'static>> {
    let edge = ratatui::text::Span::styled("| ", theme.style(Tone::Dim));
    let mut lines = drawn(plan, plan.bounds, state.grain, columns, rows).lines(theme);
    lines.iter_mut().for_each(|line| line.spans.insert(0, edge.clone()));
    lines
}

/// How a style is drawn on screen.
fn ink(style: Style) -> Ink {
    let (tone, sign, dash, rank): (Tone, char, &'static [f64], u8) = match style {
        Style::Wet => (Tone::Strong, 'O', &[], 9),
        Style::BrakeRun => (Tone::Stop, '#', &[], 7),
        Style::SuppressionRun => (Tone::Key, '+', &[2.0, 1.0], 8),
        Style::FlexibleRun => (Tone::Key, '%', &[0.5, 1.0], 8),
        Style::Hose => (Tone::Stop, '~', &[1.0, 1.0], 6),
        Style::Shield => (Tone::Plain, '=', &[], 4),
        Style::Hazard => (Tone::Fix, ':', &[3.0, 1.0, 1.0, 1.0], 3),
        Style::KeepClear => (Tone::Fix, '!', &[1.0, 2.0], 3),
        Style::Wheel => (Tone::Dim, 'o', &[], 2),
        Style::Ground => (Tone::Dim, '_', &[], 1),
        Style::Cone => (Tone::Dim, '.', &[0.5, 1.5], 1),
        _ => (Tone::Dim, '.', &[0.5, 2.0], 0),
    };
    Ink { tone, sign, dash, rank }
}

/// The sign of a mark.
fn sign(mark: &Mark) -> (String, Tone) {
    match mark.style {
        Style::Bottle => ("b".to_owned(), Tone::Key),
        Style::Tee => ("t".to_owned(), Tone::Key),
        Style::Nozzle if mark.text == "*" => ("*".to_owned(), Tone::Good),
        Style::Nozzle => ("n".to_owned(), Tone::Key),
        Style::FrameSleeve => ("s".to_owned(), Tone::Plain),
        Style::Here => ("@".to_owned(), Tone::Strong),
        Style::Finding => (mark.text.clone(), Tone::Bar),
        _ => (mark.text.clone(), Tone::Strong),
    }
}

/// A window of a drawing to scale, in the middle of the cells there are.
fn drawn(drawing: &Drawing, window: Bounds, grain: Grain, columns: usize, rows: usize) -> Raster {
    let mut raster = Raster::new(grain, columns, rows);
    let [across, up] = window.size();
    #[expect(clippy::cast_precision_loss, reason = "a screen is small")]
    let (wide, high) = (columns as f64, rows as f64 * 2.0);
    if across <= 0.0 || up <= 0.0 {
        return raster;
    }
    let scale = (wide / across).min(high / up) * 0.999;
    let ([left, _], [_, top]) = (window.low, window.high);
    let (right, below) = ((wide - across * scale) / 2.0, (high - up * scale) / 2.0);
    let onto = |[x, y]: Flat| [(x - left) * scale + right, (top - y) * scale + below];
    for Stroke { points, closed, style, .. } in
        drawing.strokes.iter().filter(|one| one.style != Style::FrameTube)
    {
        let mut way: Vec<Flat> = points.iter().map(|point| onto(*point)).collect();
        way.extend(way.first().copied().filter(|_| *closed));
        raster.way(&way, ink(*style));
        if *style == Style::Wet {
            // Twice as thick, so that it stands out without colour.
            let beside: Vec<Flat> = way.iter().map(|[x, y]| [*x, y + 0.5]).collect();
            raster.way(&beside, ink(*style));
        }
    }
    for circle in &drawing.circles {
        let [x, y] = circle.centre;
        let rim = (0..=48).map(|step| {
            let turn = std::f64::consts::TAU * f64::from(step) / 48.0;
            onto([x + circle.radius * turn.cos(), y + circle.radius * turn.sin()])
        });
        raster.way(&rim.collect::<Vec<_>>(), ink(circle.style));
    }
    if window != drawing.bounds {
        names(&mut raster, drawing, &onto);
    }
    let is_finding = |mark: &&Mark| mark.style == Style::Finding;
    for mark in drawing.marks.iter().filter(|mark| !is_finding(mark)) {
        let (text, tone) = sign(mark);
        raster.sign(onto(mark.at), &text, tone);
    }
    codes(&mut raster, &drawing.marks, rows, &onto);
    raster
}

/// Codes of open items at what they are of; one that would lie over another, or over a station, goes to the nearest row that
/// is free.
fn codes(raster: &mut Raster, marks: &[Mark], rows: usize, onto: &impl Fn(Flat) -> Flat) {
    #[expect(clippy::cast_precision_loss, reason = "a screen is small")]
    let (high, columns) = (rows as f64, raster.columns() as f64);
    let stations = marks.iter().filter(|mark| mark.style == Style::Station).map(|mark| onto(mark.at));
    let mut taken: Vec<(f64, f64, f64)> =
        stations.map(|[x, y]| ((y / 2.0).floor(), x.floor(), x.floor())).collect();
    for mark in marks.iter().filter(|mark| mark.style == Style::Finding) {
        let (text, tone) = sign(mark);
        let text = escape_control(&text);
        let [x, y] = onto(mark.at);
        // Past the window it is not drawn at all.
        if !(0.0..columns).contains(&x) || !(0.0..high * 2.0).contains(&y) {
            continue;
        }
        #[expect(clippy::cast_precision_loss, reason = "a code is short")]
        let wide = text.chars().count() as f64;
        // Whole on the screen, where it is wide enough.
        let (x, y) = (x.floor().min(columns - wide).max(0.0), (y / 2.0).floor());
        let free = |row: f64| {
            let apart = |(other, from, to): &(f64, f64, f64)| *other != row || x > *to || x + wide <= *from;
            (0.0..high).contains(&row) && taken.iter().all(apart)
        };
        let steps = (0..rows).flat_map(|step| {
            #[expect(clippy::cast_precision_loss, reason = "a screen is small")]
            let step = step as f64;
            [y + step, y - step]
        });
        let row = steps.into_iter().find(|row| free(*row)).unwrap_or(y);
        taken.push((row, x, x + wide));
        raster.sign([x, row * 2.0], &text, tone);
    }
}

/// Names beside what they name, where the plan is zoomed; the signs are drawn after them.
fn names(raster: &mut Raster, drawing: &Drawing, onto: &impl Fn(Flat) -> Flat) {
    for stroke in drawing.strokes.iter().filter(|stroke| !stroke.closed && !stroke.id.is_empty()) {
        let [from, to] = match stroke.points.as_slice() {
            [first, .., last] if stroke.style != Style::FrameTube => [onto(*first), onto(*last)],
            _ => continue,
        };
        let middle = stroke.points.get(stroke.points.len() / 2).map_or(from, |point| onto(*point));
        let [x, y] =
            if stroke.points.len() > 2 { middle } else { [(from[0] + to[0]) / 2.0, (from[1] + to[1]) / 2.0] };
        raster.sign([x + 1.0, y + 2.0], &escape_control(&stroke.id), Tone::Dim);
    }
    let parts = [Style::Bottle, Style::Nozzle];
    for mark in drawing.marks.iter().filter(|mark| parts.contains(&mark.style)) {
        let [x, y] = onto(mark.at);
        raster.sign([x + 2.0, y], &escape_control(&mark.id), Tone::Plain);
    }
}

/// What stands on the plan, in words.
pub fn plan_words(page: &PlanPage, state: &State, mut lines: Lines) -> Body {
    let station = page.stations.get(page.at).map_or("", |(_, title)| title.as_str());
    let letter = |id: &str| page.drawing.station(id).map_or("", |mark| mark.text.as_str());
    let shown = if page.zoomed { format!("around {station}") } else { "the whole car".to_owned() };
    lines.pair("Plan", Tone::Strong, &format!("{shown}, {}", page.view.title()));
    let chosen = page.stations.get(page.at).map_or("", |(id, _)| letter(id));
    let key = |action| state.key(action);
    let (before, next) = (key(UiAction::PreviousPlace), key(UiAction::NextPlace));
    let keys = format!("{before} and {next} choose, {} zooms", key(UiAction::Zoom));
    lines.pair("Station", Tone::Plain, &format!("{chosen} {station} ({keys})"));
    for (finding, severity) in &page.findings {
        let text = format!("{} {}", severity_word(*severity), finding.label);
        lines.pair(&finding.code, of_severity(*severity), &text);
    }
    legend(&page.drawing, page.grain, &mut lines);
    let stations: Vec<String> =
        page.stations.iter().map(|(id, title)| format!("{} {title}", letter(id))).collect();
    lines.pair("Stations", Tone::Plain, &stations.join(", "));
    for note in &page.drawing.notes {
        lines.pair("Note", Tone::Dim, note);
    }
    Body::scrolled(lines.out, page.scroll)
}

/// Each line style and sign with its words.
fn legend(drawing: &Drawing, grain: Grain, lines: &mut Lines) {
    for style in explained(drawing) {
        let mark = Mark {
            at: [0.0, 0.0],
            style,
            text: if style == Style::Station { "A".to_owned() } else { "TL12".to_owned() },
            id: String::new(),
            label: String::new(),
        };
        let mut sample = Raster::new(grain, 7, 1);
        let signs = [
            Style::Bottle,
            Style::Tee,
            Style::Nozzle,
            Style::FrameSleeve,
            Style::Station,
            Style::Here,
            Style::Finding,
        ];
        if signs.contains(&style) {
            let (text, tone) = sign(&mark);
            sample.sign([3.0, 0.0], &text, tone);
        } else {
            sample.way(&[[0.0, 1.0], [6.9, 1.0]], ink(style));
        }
        let Some(mut line) = sample.lines(lines.theme).into_iter().next() else { continue };
        line.spans.push(lines.span(Tone::Plain, &format!("   {}", style.words())));
        lines.line(line.spans);
    }
}

fn discharge(page: &DischargePage, theme: Theme, columns: usize, rows: usize) -> Vec<Line<'static>> {
    let filling = |rows: usize| {
        let title = Line::styled(fit(Shown::Filling.title(), columns), theme.style(Tone::Strong));
        let picture = drawn(&page.drawing, page.drawing.bounds, page.grain, columns, rows.saturating_sub(1));
        std::iter::once(title).chain(picture.lines(theme)).collect::<Vec<_>>()
    };
    match (page.shown, page.curves()) {
        (Shown::Curves(figure), Some(curves)) if rows >= 22 => {
            let high = rows / 2;
            let mut lines = curves_drawn(page, curves, figure, theme, (columns, high));
            lines.extend(filling(rows - high));
            lines
        }
        (Shown::Curves(figure), Some(curves)) => curves_drawn(page, curves, figure, theme, (columns, rows)),
        _ => filling(rows),
    }
}

/// Dashes and signs of curves, in turn.
const CURVES: &[(&[f64], char)] =
    &[(&[], '#'), (&[2.0, 1.0], '+'), (&[0.5, 0.5], '.'), (&[3.0, 1.0, 0.5, 1.0], '~')];

/// Curves with their scale, the moment as an upright line.
fn curves_drawn(
    page: &DischargePage,
    curves: &Curves,
    figure: Figure,
    theme: Theme,
    (columns, rows): (usize, usize),
) -> Vec<Line<'static>> {
    let rows = rows.saturating_sub(2).max(1);
    let plot = columns.saturating_sub(SCALE + 1).max(1);
    let mut raster = Raster::new(page.grain, plot, rows);
    #[expect(clippy::cast_precision_loss, reason = "a screen is small")]
    let (wide, high) = (plot as f64 - 1.0, rows as f64 * 2.0 - 0.5);
    let top = figure.top(curves);
    let long = if curves.duration > 0.0 { curves.duration } else { 1.0 };
    let onto =
        |time: f64, value: f64| [time / long * wide, 0.25 + high * (1.0 - (value / top).clamp(0.0, 1.0))];
    let moment = Ink { tone: Tone::Good, sign: '|', dash: &[0.5, 0.5], rank: 1 };
    raster.way(&[onto(page.time(), top), onto(page.time(), 0.0)], moment);
    let series = figure.series(curves);
    for (at, one) in series.iter().enumerate() {
        let (dash, sign) = CURVES.get(at % CURVES.len()).copied().unwrap_or((&[], '#'));
        let way: Vec<Flat> =
            curves.times.iter().zip(one.values).map(|(time, value)| onto(*time, *value)).collect();
        raster.way(&way, Ink { tone: Tone::Key, sign, dash, rank: 2 });
    }
    for (at, one) in series.iter().enumerate() {
        let time = long * letter_at(at, series.len());
        raster.sign(onto(time, curves.at(one.values, time)), &one.letter, Tone::Strong);
    }
    let names: Vec<String> = series.iter().map(|one| format!("{} {}", one.letter, one.id)).collect();
    let head = fit(&format!("{}: {}", figure.title(), names.join(", ")), columns);
    let mut lines = vec![Line::styled(head, theme.style(Tone::Strong))];
    for (at, mut line) in raster.lines(theme).into_iter().enumerate() {
        let text = match at {
            0 => figure.show(top, page.units),
            at if at + 1 == rows => figure.show(0.0, page.units),
            _ => String::new(),
        };
        line.spans.insert(0, ratatui::text::Span::raw(format!("{}|", column(&text, SCALE))));
        lines.push(line);
    }
    lines.push(Line::raw(time_axis(page, long, plot)));
    lines
}

/// The two ends of the time axis, and the moment where there is room between them.
fn time_axis(page: &DischargePage, long: f64, plot: usize) -> String {
    let (start, end) = ("0 s".to_owned(), show(long, Kind::Time, page.units));
    let now = format!("at {}", show(page.time(), Kind::Time, page.units));
    let room = plot.saturating_sub(width(&start) + width(&end));
    let middle = if room > width(&now) + 2 { now } else { String::new() };
    let left = room.saturating_sub(width(&middle)) / 2;
    let right = room.saturating_sub(width(&middle) + left);
    format!("{} {start}{}{middle}{}{end}", " ".repeat(SCALE), " ".repeat(left), " ".repeat(right))
}

/// What the moment shows, in words.
pub fn discharge_words(page: &DischargePage, mut lines: Lines) -> Body {
    for (label, text) in &page.words {
        let tone = if text.contains("AGENT") { Tone::Good } else { Tone::Plain };
        lines.pair(label, tone, text);
    }
    legend(&page.drawing, page.grain, &mut lines);
    Body::scrolled(lines.out, page.scroll)
}
