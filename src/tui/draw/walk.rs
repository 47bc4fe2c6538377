//! A check: what to look at first and large, everything else below, the lap beside it where there is room.

use ratatui::text::{Line, Span};

use crate::model::entry::Outcome;
use crate::rules::{Check, ComputeRow, NOT_REACHED, TRACKS, Typed, WordOrFlag, gauge};
use crate::units::Units;
use crate::walk::{Assessment, Origin, RowJudged, Step, Walk, Why};

use super::super::keymap::UiAction;
use super::super::sheet::LapView;
use super::super::state::{State, WalkPage};
use super::super::text::{column, fit, many, result_mark, result_word, severity_word, width};
use super::super::theme::{Theme, Tone, of_outcome, of_severity};
use super::super::typing::{count_limits, limits_in_words, measure_limits, with_worked};
use super::large::code;
use super::{Body, Lines};

/// Least rows of a plan beside a check.
const LEAST_PLAN: usize = 7;

/// The check at hand: what decides is pinned and never scrolls, what helps to look stands below.
pub fn check(page: &WalkPage, state: &State, mut lines: Lines) -> Body {
    strip(&state.sheet.lap, &mut lines);
    lines.gap();
    let Some(walk) = &state.walk else { return Body::plain(lines.out) };
    if let Some(title) = &state.sheet.paused {
        lines.text(Tone::Stop, &format!("# PAUSED. Make this safe before anything else: {title}"));
    }
    let (Some(check), Some(step)) = (walk.check(), walk.current()) else {
        lines.blank();
        lines.text(
            Tone::Strong,
            &format!(
                "Every check of the lap has an answer. {} goes to the end, to sign; {} goes back to any check.",
                state.key(UiAction::EndWalk),
                state.key(UiAction::Jump)
            ),
        );
        return Body::scrolled(lines.out, page.scroll);
    };
    head(state, walk, (check, step), &mut lines);
    wanted(state, walk, check, &mut lines);
    if state.sheet.open_item {
        last_time(state, &mut lines);
    }
    let pinned = lines.out.len();
    said_so_far(page, state, check, &mut lines);
    if !state.sheet.open_item {
        last_time(state, &mut lines);
    }
    detail(state, walk, check, &mut lines);
    Body { pinned, ..Body::scrolled(lines.out, page.scroll) }
}

/// Stations as one strip: their codes with what is worst at each, and where the person stands.
fn strip(lap: &LapView, lines: &mut Lines) {
    // Without codes, or with more stations than fit, the signs alone.
    let coded = lap.stations.iter().all(|station| station.code.is_some())
        && lap.stations.len() * 4 + 2 <= lines.width;
    let mut spans = if coded { Vec::new() } else { vec![lines.span(Tone::Dim, "Lap ")] };
    let mut used = if coded { 0 } else { 4 };
    for (at, station) in lap.stations.iter().enumerate() {
        let mark = station.sign();
        let here = lap.at == Some(at);
        let tone = if station.open {
            Tone::Stop
        } else if here {
            Tone::Strong
        } else {
            Tone::Plain
        };
        let code = station.code.as_deref().filter(|_| coded).unwrap_or("");
        let text = if here { format!("[{code}{mark}]") } else { format!("{code}{mark}") };
        // The brackets take the place of the blanks on both sides.
        let gap = if coded && at > 0 && !here && lap.at.map(|here| here + 1) != Some(at) { " " } else { "" };
        used += width(gap) + width(&text);
        spans.push(lines.span(tone, &format!("{gap}{text}")));
    }
    if let Some(station) = lap.at.and_then(|at| lap.stations.get(at)) {
        let text = format!("  {} of {} here", station.done, station.total);
        if used + width(&text) <= lines.width {
            spans.push(lines.span(Tone::Dim, &text));
        }
    }
    lines.line(spans);
}

/// Weight, code and place; what is wrong, where something is.
fn head(state: &State, walk: &Walk, (check, step): (&Check, &Step), lines: &mut Lines) {
    let station = walk.start.rules.station(&check.station);
    let title = station.map_or(check.station.as_str(), |station| station.title.as_str());
    let here: Vec<&str> = walk.plan.at_station(&check.station).map(|step| step.check.as_str()).collect();
    let at = here.iter().position(|id| *id == check.id).map_or(0, |at| at + 1);
    let why = match step.why {
        Why::First => " | before anything else",
        Why::OpenLastTime => " | open from before",
        Why::Lap => "",
    };
    let weight = lines.span(of_severity(check.severity), &severity_word(check.severity));
    let named = check.code.as_ref().map_or_else(String::new, |code| format!("{code}  "));
    let place = lines
        .span(Tone::Plain, &format!("  {named}{title} {at}/{} | {}{why}", here.len(), check.method.word()));
    match state.sheet.code.as_ref().filter(|_| state.call_out) {
        Some(code) => called(state, code, vec![weight, place], lines),
        None => lines.line(vec![weight, place]),
    }
    // On a small screen the row is wanted for what decides.
    if lines.rows >= 18 {
        lines.blank();
    }
    if let Some((fault, seen)) = &state.sheet.wrong {
        lines.pair("FAULT", Tone::Stop, &format!("{fault} ({seen})"));
    }
}

/// What is wanted and what would be wrong, the limit and the number that decide, and what can hurt.
fn wanted(state: &State, walk: &Walk, check: &Check, lines: &mut Lines) {
    lines.pair("Want", Tone::Strong, &check.title);
    if state.sheet.wrong.is_none() && check.fault.is_some() {
        lines.pair("Else", Tone::Fix, check.wrong());
    }
    verdicts(state, check, lines);
    limits_pinned(walk, check, lines);
    if let Some(caution) = &state.sheet.caution {
        lines.pair("CAUTION", Tone::Stop, caution);
    }
}

fn last_time(state: &State, lines: &mut Lines) {
    let last = state.sheet.last.as_deref().unwrap_or("never answered before");
    let same =
        state.sheet.same.as_ref().map(|_| format!(". Looked, the same: {}", state.key(UiAction::SameAsLast)));
    lines.pair("Before", Tone::Plain, &format!("{last}{}", same.unwrap_or_default()));
}

/// The code of the check in large digits, with the line of its station beside it.
fn called(state: &State, (station, named): &(usize, String), head: Vec<Span<'static>>, lines: &mut Lines) {
    let [top, middle, bottom] = code(named, state.grain);
    let large = |text: &str| Span::styled(format!(" {text} "), lines.theme.style(Tone::Bar));
    let said = lines.span(Tone::Plain, &format!("  CODE {named}, station {station:02}: read it aloud,"));
    let then = lines.span(Tone::Plain, "  then the letter of the answer");
    let first: Vec<Span<'static>> = [large(&top), Span::raw("  ")].into_iter().chain(head).collect();
    let (second, third) = (vec![large(&middle), said], vec![large(&bottom), then]);
    [first, second, third].into_iter().for_each(|spans| lines.line(spans));
}

/// What was answered, and what waits for the answer.
fn said_so_far(page: &WalkPage, state: &State, check: &Check, lines: &mut Lines) {
    if let Some((outcome, told)) = &state.sheet.here {
        lines.pair("Answered", of_outcome(*outcome), &format!("{} {told}", result_mark(*outcome)));
    }
    for noted in &state.sheet.noted {
        lines.pair("Noted", Tone::Note, noted);
    }
    if let Some((_, severity)) = page.weight.as_ref().filter(|(known, _)| *known == check.id) {
        lines.pair("Weighs", Tone::Note, &format!("{} if rejected", severity_word(*severity)));
    }
    let drafts = state.drafts_of(&check.id);
    if !drafts.is_empty() {
        lines.pair("Draft", Tone::Note, &format!("{} (not in the record)", drafts.join("; ")));
    }
}

fn detail(state: &State, walk: &Walk, check: &Check, lines: &mut Lines) {
    let words = &check.words;
    let station = walk.start.rules.station(&check.station);
    lines.pair("Look", Tone::Plain, words.look.as_deref().unwrap_or(""));
    lines.pair("Reject if", Tone::Fix, &words.reject);
    lines.pair("Accept if", Tone::Good, &words.accept);
    numbers_left(state, lines);
    limits(walk, check, lines);
    lines.pair("Why", Tone::Plain, &words.why);
    lines.pair("Remedy", Tone::Plain, &words.remedy);
    lines.pair("Parts", Tone::Plain, &words.parts.join(", "));
    lines.pair("Caution", Tone::Plain, words.caution_more.as_deref().unwrap_or(""));
    lines.pair("Differs", Tone::Plain, words.rulebooks_differ.as_deref().unwrap_or(""));
    for source in &check.sources {
        lines.pair("Source", Tone::Dim, &format!("{}: {source}", source.supports));
    }
    if let Some(station) = station {
        lines.pair("Stand", Tone::Dim, station.stand.as_deref().unwrap_or(""));
        lines.pair("In hand", Tone::Dim, station.hold.as_deref().unwrap_or(""));
    }
    lines.pair("Check", Tone::Dim, &check.id);
}

/// How many limits of typed values are pinned.
fn most_limits(lines: &Lines) -> usize {
    if lines.rows < 18 { 1 } else { 2 }
}

/// The limits of typed values: what a person measures, counts or reads is held to them.
fn typed_limits(walk: &Walk, check: &Check) -> Vec<String> {
    let rows: Vec<(&str, String)> = match &check.typed {
        Typed::None => Vec::new(),
        Typed::Measure(rows) => rows
            .iter()
            .map(|row| {
                let tool = row.instrument.as_deref().and_then(|id| walk.start.rules.instrument(id));
                let tool = tool.map_or_else(String::new, |tool| format!(" ({})", tool.title.to_lowercase()));
                (row.label.as_str(), format!("{}{tool}", measure_limits(row, walk.start.units)))
            })
            .collect(),
        Typed::Count(rows) => {
            rows.iter().map(|row| (row.label.as_str(), count_limits(row, &walk.start.car))).collect()
        }
        Typed::Date(rows) => rows
            .iter()
            .map(|row| {
                (row.label.as_str(), row.every.map_or_else(String::new, |span| format!("every {span}")))
            })
            .collect(),
    };
    rows.into_iter().filter_map(labelled).collect()
}

fn labelled((label, text): (&str, String)) -> Option<String> {
    match (label.is_empty(), text.is_empty()) {
        (_, true) => None,
        (true, _) => Some(text),
        _ => Some(format!("{label}: {text}")),
    }
}

/// Limits that stay in sight, and how many more there are.
fn limits_pinned(walk: &Walk, check: &Check, lines: &mut Lines) {
    let (limits, most) = (typed_limits(walk, check), most_limits(lines));
    for limit in limits.iter().take(most) {
        lines.pair("Limit", Tone::Strong, limit);
    }
    if limits.len() > most {
        lines.pair("", Tone::Dim, &format!("{} below", many(limits.len() - most, "more limit")));
    }
}

/// The other limits.
fn limits(walk: &Walk, check: &Check, lines: &mut Lines) {
    let computed =
        check.compute.iter().filter_map(|row| labelled((&row.label, compute_limits(row, walk.start.units))));
    for limit in typed_limits(walk, check).into_iter().skip(most_limits(lines)).chain(computed) {
        lines.pair("Limit", Tone::Strong, &limit);
    }
}

fn compute_limits(row: &ComputeRow, units: Units) -> String {
    let exact = match &row.equals {
        Some(WordOrFlag::Flag(flag)) => return format!("has to be {}", if *flag { "yes" } else { "no" }),
        Some(WordOrFlag::Word(word)) => return format!("has to be {word}"),
        Some(WordOrFlag::Number(limit)) => Some(limit),
        None => None,
    };
    let kind = row.quantity.shown.kind();
    let fixed = limits_in_words(
        (kind, units),
        row.min.as_ref(),
        row.max.as_ref(),
        exact,
        row.aim_min.as_ref(),
        row.aim_max.as_ref(),
    );
    with_worked(&row.worked, fixed)
}

/// Numbers of the check, the worst first.
fn by_weight(assessment: &Assessment) -> Vec<&RowJudged> {
    let mut rows: Vec<&RowJudged> = assessment.rows.iter().collect();
    rows.sort_by_key(|row| match row.judged.outcome {
        _ if !row.judges => 3,
        Outcome::Reject => 0,
        Outcome::Undecided => 1,
        _ => 2,
    });
    rows
}

/// How many numbers are pinned.
fn most_pinned(lines: &Lines) -> usize {
    if lines.rows < 20 { 1 } else { 3 }
}

/// The numbers that decide, each against its limit, and how many more there are.
fn verdicts(state: &State, check: &Check, lines: &mut Lines) {
    let assessment = &state.sheet.assessment;
    if assessment.being_worked {
        lines.pair("Number", Tone::Dim, "being worked out");
    }
    let rows = by_weight(assessment);
    let most = most_pinned(lines);
    for row in rows.iter().take(most) {
        number(state, row, lines);
    }
    if rows.len() > most {
        let outside =
            rows.iter().skip(most).filter(|row| row.judges && row.judged.outcome == Outcome::Reject);
        let outside = match outside.count() {
            0 => String::new(),
            outside => format!(", {outside} of them outside"),
        };
        lines.pair("", Tone::Dim, &format!("{} more below{outside}", many(rows.len() - most, "number")));
    }
    lacks(state, most, lines);
    if check.words.look.is_some()
        && assessment.rows.iter().any(|row| row.judges && row.origin == Origin::Computed)
        && lines.rows >= 20
    {
        lines.pair("", Tone::Dim, "A number does not accept this check: look, then answer.");
    }
}

/// A number in words, and as a mark on a track.
fn number(state: &State, row: &RowJudged, lines: &mut Lines) {
    let says = row_says(row);
    if row.origin == Origin::File {
        let accept = state.key(UiAction::Accept);
        let says = format!("{says}. Same on the car? {accept} confirms it");
        lines.pair("File says", Tone::Strong, &says);
    } else {
        lines.pair("Number", verdict_tone(row), &says);
    }
    let columns = match lines.width {
        0..70 => TRACKS[0],
        70..100 => TRACKS[1],
        _ => TRACKS[2],
    };
    let band = row.low.zip(row.high).map(|(low, high)| [low, high]);
    let track = row.si.filter(|_| row.judges && !state.plain);
    if let Some(track) = track.and_then(|si| gauge(columns, si, band, row.ends)) {
        lines.pair("", verdict_tone(row), &track);
    }
    lines.pair("", Tone::Fix, row.judged.remedy.as_deref().unwrap_or(""));
}

/// Numbers below the pinned ones, and what they lack.
fn numbers_left(state: &State, lines: &mut Lines) {
    let most = most_pinned(lines);
    for row in by_weight(&state.sheet.assessment).into_iter().skip(most) {
        number(state, row, lines);
    }
    lacks(state, usize::MAX, lines);
}

fn lacks(state: &State, most: usize, lines: &mut Lines) {
    let missing = &state.sheet.assessment.missing;
    let (from, to) = if most == usize::MAX { (most_pinned(lines), missing.len()) } else { (0, most) };
    for missing in missing.iter().take(to).skip(from) {
        let of = missing.of.as_ref().map_or_else(String::new, |of| format!(" of {of}"));
        let inputs = state.key(UiAction::TypeInputs);
        let typed = if state.sheet.asks.is_empty() { String::new() } else { format!(" ({inputs} types it)") };
        lines.pair("Lacks", Tone::Dim, &format!("{}{of}: {}{typed}", missing.label, missing.reason));
    }
}

/// A row in words: mark, verdict, what it is, where it stands, and how sure that is.
pub fn row_says(row: &RowJudged) -> String {
    let of = row.of.as_ref().map_or_else(String::new, |of| format!(" of {of}"));
    let chance = row
        .judged
        .chance
        .map_or_else(String::new, |chance| format!(", {:.0} % chance that it is inside", chance * 100.0));
    let aim = if row.judged.short_of_aim { ", short of what is aimed at" } else { "" };
    let label = if row.label.is_empty() { "value" } else { row.label.as_str() };
    let shown =
        if row.judged.says.contains(&row.shown) { String::new() } else { format!("{} — ", row.shown) };
    let verdict = if row.judges {
        format!("{} {}: ", result_mark(row.judged.outcome), verdict_word(row.judged.outcome))
    } else {
        String::new()
    };
    format!("{verdict}{label}{of}: {shown}{}{chance}{aim}", row.judged.says)
}

fn verdict_word(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Accept => "inside",
        Outcome::Reject => "OUTSIDE",
        Outcome::Undecided => "cannot tell",
        other => result_word(other),
    }
}

fn verdict_tone(row: &RowJudged) -> Tone {
    if row.judges { of_outcome(row.judged.outcome) } else { Tone::Plain }
}

/// Rows of a value being typed.
pub fn typed_rows(assessment: &Assessment) -> impl Iterator<Item = &RowJudged> {
    assessment.rows.iter().filter(|row| row.origin == Origin::Typed)
}

/// The lap beside the check: stations, and under the one at hand its checks.
pub fn side(state: &State, theme: Theme, width: usize, height: usize) -> Vec<Line<'static>> {
    let lap = &state.sheet.lap;
    let lines = Lines::new(theme, width);
    let rule = |text: String, tone: Tone| {
        Line::from(vec![Span::styled("| ", theme.style(Tone::Dim)), lines.span(tone, &text)])
    };
    let room = width.saturating_sub(2);
    let mut out = Vec::new();
    let mut here = 0;
    for (at, station) in lap.stations.iter().enumerate() {
        let mark = station.sign();
        let count = format!("{:>2}/{:<2}", station.done, station.total);
        let text = format!("{mark} {count} {}", station.title);
        if lap.at == Some(at) {
            here = out.len();
            out.push(rule(column(&text, room), Tone::Bar));
            for (title, result, current) in &lap.checks {
                let mark = result.map_or(NOT_REACHED, result_mark);
                let tone = if *current { Tone::Strong } else { result.map_or(Tone::Plain, of_outcome) };
                let arrow = if *current { '>' } else { ' ' };
                out.push(rule(fit(&format!("  {arrow}{mark} {title}"), room), tone));
            }
        } else {
            let tone = if station.open { Tone::Stop } else { Tone::Plain };
            out.push(rule(fit(&text, room), tone));
        }
    }
    // The station at hand stays in sight with all of its checks, where they fit.
    let last = here + lap.checks.len();
    let skip = (last + 1).saturating_sub(height).min(here);
    let mut out: Vec<Line<'static>> = out.into_iter().skip(skip).take(height).collect();
    let rows = height.saturating_sub(out.len() + 2);
    if let (Some(plan), true) = (&state.sheet.plan, rows >= LEAST_PLAN) {
        let head = format!("Plan from above: @ is you. {} opens it", state.key(UiAction::Plan));
        out.push(rule(String::new(), Tone::Dim));
        out.push(rule(fit(&head, room), Tone::Dim));
        out.extend(super::picture::small(plan, state, theme, room, rows));
    }
    out
}
