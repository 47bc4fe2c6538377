//! What is known before the first check.

use crate::model::Answer3;
use crate::model::entry::Severity;
use crate::walk::Walk;

use super::super::keymap::UiAction;
use super::super::sheet::open_items;
use super::super::state::{StartPage, State};
use super::super::text::{many, severity_word};
use super::super::theme::{Tone, of_severity};
use super::{Body, Lines};

/// What was open last time, the lap and why, where it starts.
pub fn start(page: &StartPage, state: &State, mut lines: Lines) -> Body {
    let Some(walk) = &state.walk else {
        return Body::plain(lines.out);
    };
    for note in &state.notes {
        lines.text(Tone::Fix, &format!("! {note}"));
    }
    let lap = &state.sheet.lap;
    let left = lap.total.saturating_sub(lap.done);
    if walk.id.is_some() {
        let next = walk.check().map_or_else(|| "the end of the lap".to_owned(), |check| check.title.clone());
        lines.pair("Resume", Tone::Strong, &format!("{} answered, {} left. Next: {next}", lap.done, left));
    } else {
        lines.pair(
            "Walk",
            Tone::Strong,
            &format!("{}, about {} min", many(left, "check"), lap.seconds.div_ceil(60)),
        );
    }
    if let Some((_, words)) = &lap.state {
        lines.pair("State", Tone::Strong, words);
    }
    let unsure = walk.start.lap.is_none()
        && walk.lap().is_some_and(|lap| lap.when.holds(&walk.start.car) != Answer3::Yes);
    let other =
        if unsure { format!(". {} takes another", state.key(UiAction::NextLap)) } else { String::new() };
    lines.pair("Lap", Tone::Plain, &format!("{}{other}", lap_and_why(walk)));
    if let Some(station) = walk.plan.stations.first().and_then(|id| walk.start.rules.station(id)) {
        lines.pair("Start at", Tone::Plain, &station.title);
    }
    let stages = walk.profile().map(|profile| profile.stages.clone()).unwrap_or_default();
    if !stages.is_empty() {
        let stage =
            walk.start.stage.clone().unwrap_or_else(|| format!("every stage (of: {})", stages.join(", ")));
        lines.pair("Stage", Tone::Plain, &stage);
    }
    lines.pair("File", Tone::Plain, &walk.start.car.file);
    for join in walk.history.joined() {
        lines.pair("With", Tone::Plain, &format!("the record of {}, which is the same car", join.car));
    }
    let key = state.key(UiAction::SayWho);
    let by = match &walk.start.by {
        Some(by) => format!("{by} ({key} changes it)"),
        None => format!("not said ({key} says it; else it is asked when you sign)"),
    };
    lines.pair("By", Tone::Plain, &by);
    let layers = &walk.start.rules.layers;
    let editions: Vec<String> =
        layers.iter().map(|layer| format!("{} {}", layer.title, layer.edition)).collect();
    lines.pair("Rules", Tone::Plain, &editions.join("; "));
    lines.blank();
    open_from_last_time(walk, &mut lines);
    for notice in layers.iter().filter_map(|layer| layer.notice.as_ref()) {
        lines.blank();
        lines.text(Tone::Dim, notice);
    }
    Body::scrolled(lines.out, page.scroll)
}

fn open_from_last_time(walk: &Walk, lines: &mut Lines) {
    let mut items = open_items(walk);
    items.retain(|item| !walk.recheck || item.severity == Severity::Stop);
    if items.is_empty() {
        let text = if walk.history.is_empty() {
            "Nothing was ever kept of this car."
        } else {
            "Nothing is open from before."
        };
        lines.text(Tone::Plain, text);
        return;
    }
    // What this very walk left open is not asked first again.
    let heading = if walk.id.is_some() { "Open so far" } else { "Open from before, asked first" };
    lines.text(Tone::Strong, &format!("{heading}: {}", items.len()));
    for item in items {
        lines.text(of_severity(item.severity), &format!("{}  {}", severity_word(item.severity), item.title));
        lines.indented(4, Tone::Plain, &item.found);
    }
}

/// The lap order and why it was taken.
fn lap_and_why(walk: &Walk) -> String {
    let Some(lap) = walk.lap() else { return "stations in the order of the rules".to_owned() };
    let why = match (walk.start.lap.is_some(), lap.when.holds(&walk.start.car)) {
        (true, _) if walk.id.is_some() => "as this walk began",
        (true, _) => "chosen",
        (false, Answer3::Yes) => "it fits what the car file says",
        (false, Answer3::Unknown) => "the car file does not say, so the first that may fit",
        (false, Answer3::No) => "none fits, so the first",
    };
    format!("{} ({why})", lap.title)
}
