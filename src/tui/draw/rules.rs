//! The rules in force for the car at hand: each file with its edition, its age and what it did to those before it.

use crate::rules::{Applies, Change, Layer, Ruleset, applies};
use crate::walk::Walk;

use super::super::state::{RulesPage, State};
use super::super::text::many;
use super::super::theme::{Theme, Tone};
use super::{Body, Lines};

/// Every layer, the first extended first.
pub fn rules(page: &RulesPage, state: &State, mut lines: Lines) -> Body {
    if let Some(walk) = &state.walk {
        let rules = &walk.start.rules;
        lines.text(Tone::Strong, "Rules in force for this car");
        if rules.layers.len() > 1 {
            lines.text(Tone::Dim, "A later file goes over the ones before it.");
        }
        lines.pair("This walk", Tone::Plain, &asked(walk));
        for (at, layer) in rules.layers.iter().enumerate() {
            lines.blank();
            head(at, layer, walk, &mut lines);
            changes(layer, walk, &mut lines);
        }
    }
    Body::scrolled(lines.out, page.scroll)
}

/// How many checks are asked of this car, and how many the rules leave out.
fn asked(walk: &Walk) -> String {
    let rules = &walk.start.rules;
    let left_out =
        rules.checks.iter().filter(|check| matches!(applies(check, &walk.start.car), Applies::No(_))).count();
    let profile = walk.profile().map_or("", |profile| profile.title.as_str());
    format!(
        "{} of {} for \"{profile}\"; {left_out} left out for what the car has not",
        many(walk.plan.steps.len(), "check"),
        rules.checks.len()
    )
}

fn head(at: usize, layer: &Layer, walk: &Walk, lines: &mut Lines) {
    lines.text(Tone::Strong, &format!("{} {}: {}", at + 1, layer.id, layer.title));
    lines.pair("Edition", Tone::Plain, &layer.edition);
    let on = walk.start.on;
    if let Some(reviewed) = layer.reviewed {
        let days = (on - reviewed).num_days();
        let age = if days < 0 {
            format!("{} ahead of {on}", many(usize::try_from(-days).unwrap_or(0), "day"))
        } else {
            format!("{} old", many(usize::try_from(days).unwrap_or(0), "day"))
        };
        lines.pair("Reviewed", Tone::Plain, &format!("{reviewed}, {age}"));
    }
    if let Some(day) = layer.stale_after() {
        match layer.is_stale(on) {
            true => lines.pair("Review", Tone::Fix, &format!("! was due {day}: the rules are stale")),
            false => lines.pair("Review", Tone::Plain, &format!("due {day}")),
        }
    }
    if let Some(sentence) = layer.sentence_of_day(on) {
        lines.pair("In force", if layer.off_on(on).is_some() { Tone::Fix } else { Tone::Plain }, &sentence);
    }
    lines.pair("File", Tone::Dim, &layer.file);
    if let Some(notice) = layer.notice.as_ref().filter(|_| at > 0) {
        lines.pair("Notice", Tone::Dim, notice);
    }
}

/// What a layer did: checks switched off with the reason, what is new, and each key it changed.
fn changes(layer: &Layer, walk: &Walk, lines: &mut Lines) {
    let rules = &walk.start.rules;
    for dropped in rules.dropped_by(&layer.id) {
        lines.pair("Off", Tone::Fix, &format!("{} ({})", dropped.title, dropped.id));
        lines.pair("", Tone::Plain, &format!("Why: {}", dropped.reason));
    }
    for less in rules.lessened_by(&layer.id) {
        lines.pair("Less", Tone::Fix, &format!("{} ({}): {}", less.title, less.id, less.words()));
        lines.pair("", Tone::Plain, &format!("Why: {}", less.reason));
    }
    let (new, changed): (Vec<&Change>, Vec<&Change>) =
        rules.changes_of(&layer.id).partition(|change| change.key.is_empty());
    for change in new {
        let what = if change.array == "check" { String::new() } else { format!("{} ", change.array) };
        let text = format!("{what}{} ({})", change.after.as_deref().unwrap_or(""), change.id);
        lines.pair("New", Tone::Good, &format!("{text}{}", absent(rules, change, walk)));
    }
    let mut before = "";
    for change in changed {
        if change.id != before {
            let title = title_of(rules, change);
            lines.pair("Changed", Tone::Note, &format!("{title}{}", absent(rules, change, walk)));
            before = &change.id;
        }
        let from = change.before.as_deref().unwrap_or("not set");
        let to = change.after.as_deref().unwrap_or("taken out");
        lines.pair("", Tone::Plain, &format!("{}: {from} -> {to}", change.key));
    }
}

/// The title and id of what was changed.
fn title_of(rules: &Ruleset, change: &Change) -> String {
    let title = match change.array.as_str() {
        "check" => rules.check(&change.id).map(|check| check.title.clone()),
        "station" => rules.station(&change.id).map(|station| format!("station {}", station.title)),
        "profile" => rules.profile(&change.id).map(|profile| format!("profile {}", profile.title)),
        array => Some(array.to_owned()),
    };
    title.map_or_else(|| change.id.clone(), |title| format!("{title} ({})", change.id))
}

/// Says it where the check is not one for this car.
fn absent(rules: &Ruleset, change: &Change, walk: &Walk) -> &'static str {
    let check = rules.check(&change.id).filter(|_| change.array == "check");
    match check.map(|check| applies(check, &walk.start.car)) {
        Some(Applies::No(_)) => ", not asked of this car",
        _ => "",
    }
}

/// The line under the notice on every screen, where rules are past their review date.
pub fn stale(state: &State, theme: Theme, columns: usize) -> Option<ratatui::text::Line<'static>> {
    let from_walk = state.walk.as_ref().and_then(|walk| walk.start.rules.in_short_of_day(walk.start.on));
    let text = if state.walk.is_some() { from_walk } else { state.stale.clone() }?;
    let text = super::super::text::fit(&super::super::text::escape_control(&format!(" ! {text}")), columns);
    Some(ratatui::text::Line::styled(text, theme.style(Tone::Fix)))
}
