//! One item of a report: where, what was seen, why it matters, what to do, on whose word.

use crate::model::entry::{Entry, Finding, Kept, Observation, Outcome, Severity};
use crate::model::history::Standing;
use crate::rules::Check;

use super::document::{Item, Pair};
use super::facts::State;
use super::limit;
use super::record::{Record, moment};

/// The mark that stands beside a severity, so that colour never carries it alone.
pub(super) fn mark(severity: Severity) -> &'static str {
    match severity {
        Severity::Stop => "# STOP",
        Severity::Fix => "= FIX",
        Severity::Note => "- NOTE",
    }
}

/// Lines of an item under making.
#[derive(Default)]
struct Lines(Vec<Pair>);

impl Lines {
    fn add(&mut self, label: &str, text: impl Into<String>) {
        let text = text.into();
        if !text.trim().is_empty() {
            self.0.push(Pair::new(label, text));
        }
    }
}

/// An item under what is wrong with it, or under the title of its check where nothing is.
pub(super) fn titled(
    record: &Record<'_>,
    finding: &Finding,
    state: State,
    number: usize,
    lines: Vec<Pair>,
) -> Item {
    Item {
        number: Some(number),
        check: finding.check.clone(),
        code: record.code(&finding.check, finding.of.as_deref()),
        of: finding.of.clone(),
        severity: Some(finding.severity),
        state,
        heading: record.rules().listed(finding),
        lines,
    }
}

/// The item of something that stands open, or that needs saying as fully.
pub(super) fn whole(record: &Record<'_>, standing: &Standing<'_>, number: usize) -> Item {
    let cause = standing.cause();
    let cause_kept = match (standing.finding.result, standing.opened) {
        (Outcome::Repaired, Some(opened)) => opened,
        _ => standing.kept,
    };
    let check = record.check(&cause.check);
    let mut lines = Lines::default();
    lines.add("Wanted", wanted(record, check, cause));
    lines.add("Where", whereabouts(record, cause));
    lines.add(
        "Seen",
        limit::seen(record, cause)
            .or_else(|| cause.note.clone())
            .unwrap_or_else(|| plainly(record, standing, cause)),
    );
    if cause.has_value() {
        lines.add("Noted", cause.note.clone().unwrap_or_default());
    }
    observations(record, standing, &mut lines);
    lines.add("Chance", cause.chance.map(chance).unwrap_or_default());
    lines.add("To decide", limit::to_decide(record, cause).unwrap_or_default());
    limits(record, check, cause, &mut lines);
    disagreement(cause, &mut lines);
    if let Some(check) = check {
        lines.add("Why", &check.words.why);
    }
    mend(check, standing, &record.input.history.notes_on(standing), &mut lines);
    lines.add("Weight", weight(check, cause));
    repair(record, standing, &mut lines);
    lines.add("Rule", rule(record, check, cause));
    if let Some(reason) = record.no_longer_asked(&cause.check) {
        lines.add("Still open", format!("this checklist no longer asks it: {reason}"));
    }
    lines.add("When", when(cause_kept, cause));
    lines.add("Who", who(record, cause));
    lines.add("Photo", photos(cause));
    remarks(record, standing, &mut lines);
    titled(record, cause, State::of_standing(standing), number, lines.0)
}

/// The title of a check whose item is listed by what is wrong.
pub(super) fn wanted(record: &Record<'_>, check: Option<&Check>, finding: &Finding) -> String {
    let title = check.map(|check| check.title.clone()).unwrap_or_default();
    if record.rules().listed(finding).ends_with(&title) { String::new() } else { title }
}

/// What to do: nothing is mended, and no part is bought, before somebody has seen that it is wrong.
fn mend(check: Option<&Check>, standing: &Standing<'_>, notes: &[&str], lines: &mut Lines) {
    let to_do = to_do(check, standing, notes);
    lines.add("Remedy", to_do.unwrap_or_default());
    if is_seen_wrong(standing) {
        let parts = check.map(|check| check.parts_of(standing.cause(), notes).join("; "));
        lines.add("Parts", parts.unwrap_or_default());
    }
}

/// What to do about something open.
pub(super) fn to_do(check: Option<&Check>, standing: &Standing<'_>, notes: &[&str]) -> Option<String> {
    match standing.finding.result {
        Outcome::NotSeen => Some("Go and look.".to_owned()),
        Outcome::Repaired => Some("Look again and say what you see.".to_owned()),
        // What would decide stands on its own line.
        Outcome::Undecided => Some("Measure it so that it can be decided.".to_owned()),
        _ => check.map(|check| check.remedy_of(standing.cause(), notes).to_owned()),
    }
}

/// Whether somebody or a number says that it is wrong, or that it is to be fitted.
pub(super) fn is_seen_wrong(standing: &Standing<'_>) -> bool {
    matches!(standing.finding.result, Outcome::Reject | Outcome::NotYet)
}

/// Station and part.
pub(super) fn whereabouts(record: &Record<'_>, finding: &Finding) -> String {
    let station = record.station_title(&finding.check);
    [station, finding.of.as_deref()].into_iter().flatten().collect::<Vec<_>>().join("; ")
}

/// The result in words, where neither a value nor a note says more.
fn plainly(record: &Record<'_>, standing: &Standing<'_>, finding: &Finding) -> String {
    let noted = !record.input.history.observations_beside(standing).is_empty();
    match finding.result {
        Outcome::Reject if noted => "rejected, see the note",
        Outcome::Reject => "rejected, without a value or a note",
        Outcome::Undecided => "the measurement cannot decide",
        Outcome::NotSeen => "could not be seen",
        Outcome::NotYet => "to be fitted",
        _ => "",
    }
    .to_owned()
}

fn chance(chance: f64) -> String {
    let percent = chance * 100.0;
    let shown = match percent {
        p if p < 0.1 => "under 0.1 %".to_owned(),
        p if p > 99.9 => "over 99.9 %".to_owned(),
        p => format!("{} %", crate::units::significant(p, 2)),
    };
    format!("{shown} that the true value is inside the limit, by the accuracy of the instrument")
}

/// The limit, and for a reject what the check rejects.
fn limits(record: &Record<'_>, check: Option<&Check>, cause: &Finding, lines: &mut Lines) {
    let Some(check) = check else {
        lines.add("Limit", "the rules in force no longer have this check");
        return;
    };
    lines.add("Limit", limit::words(record, check));
    if matches!(cause.result, Outcome::Reject | Outcome::Undecided) {
        lines.add("Reject", &check.words.reject);
    } else {
        lines.add("Accept", &check.words.accept);
    }
}

fn disagreement(finding: &Finding, lines: &mut Lines) {
    if let Some(verdict) = finding.verdict.filter(|verdict| *verdict != finding.result) {
        lines.add(
            "Verdict",
            format!("the person says {}, the program says {}", finding.result.word(), verdict.word()),
        );
    }
}

/// Said where a person weighed it otherwise than the rule does.
pub(super) fn weight(check: Option<&Check>, finding: &Finding) -> String {
    let Some(check) = check.filter(|check| check.severity != finding.severity) else { return String::new() };
    // Stop sorts first, so a smaller severity is a heavier one.
    let moved = if finding.severity < check.severity { "raised" } else { "lowered" };
    format!("{moved} from {} to {} by a person", check.severity.word(), finding.severity.word())
}

fn repair(record: &Record<'_>, standing: &Standing<'_>, lines: &mut Lines) {
    if standing.finding.result != Outcome::Repaired {
        return;
    }
    let by = record.who(standing.finding).unwrap_or_else(|| "a person not named".to_owned());
    let note = standing.finding.note.as_deref().map(|note| format!(": {note}")).unwrap_or_default();
    let at = time(standing.kept);
    lines.add("Repair", format!("said to be repaired by {by}, {at}, not looked at again{note}"));
}

/// Check, rules and edition it was answered under, and where the rule comes from.
pub(super) fn rule(record: &Record<'_>, check: Option<&Check>, finding: &Finding) -> String {
    let mut text = finding.check.clone();
    let mark = &finding.rules;
    if !mark.id.is_empty() {
        text = format!("{text}, {} {}", mark.id, mark.edition);
    }
    let now = record.rules().mark();
    if mark.sha256 != now.sha256 || mark.edition != now.edition {
        text = format!("{text} (answered under other rules than those in force)");
    }
    let sources: Vec<String> = check.map_or_else(Vec::new, |check| {
        check.sources.iter().map(|source| labelled_source(&source.supports, &source.to_string())).collect()
    });
    if sources.is_empty() { text } else { format!("{text}. Source: {}", sources.join("; ")) }
}

fn labelled_source(supports: &str, source: &str) -> String {
    if supports.is_empty() { source.to_owned() } else { format!("{supports}: {source}") }
}

/// When it was seen, and when it was entered where that is not the same.
pub(super) fn when(kept: &Kept, finding: &Finding) -> String {
    if kept.seq == 0 {
        return "worked out for this report".to_owned();
    }
    match finding.seen_at {
        Some(seen) if seen != kept.at => format!("seen {}, entered {}", moment(seen), moment(kept.at)),
        _ => time(kept),
    }
}

/// The one time that is known of a record: when it was seen, else when it was entered, and which of them it is.
pub(super) fn time(kept: &Kept) -> String {
    match kept.written_at() {
        Some(seen) => format!("seen {}", moment(seen)),
        None => format!("entered {}", moment(kept.at)),
    }
}

/// Who answered, and whether it was one of a whole station's.
pub(super) fn who(record: &Record<'_>, finding: &Finding) -> String {
    let by = match (finding.is_computed(), finding.result) {
        (true, Outcome::Undecided) => "calculated; its number cannot decide".to_owned(),
        (true, _) => "calculated; nobody has looked yet".to_owned(),
        (false, _) => record.who(finding).unwrap_or_else(|| "not named".to_owned()),
    };
    match (finding.by_station, finding.is_of_rest()) {
        (true, _) => format!("{by}, with its whole station by one key"),
        (_, true) => format!("{by}, as rest of a sheet"),
        _ => by,
    }
}

pub(super) fn photos(finding: &Finding) -> String {
    finding.photos.iter().map(|photo| photo.file.as_str()).collect::<Vec<_>>().join("; ")
}

/// Remarks beside any record of the item, the owner's first named as such.
fn remarks(record: &Record<'_>, standing: &Standing<'_>, lines: &mut Lines) {
    let mut ids: Vec<&str> = Vec::new();
    for kept in [standing.opened, standing.before, Some(standing.kept)].into_iter().flatten() {
        if !ids.contains(&kept.id.as_str()) {
            ids.push(&kept.id);
        }
    }
    for kept in record.input.history.standing_entries() {
        let Entry::Remark { record: Some(about_record), about, text, by, .. } = &kept.entry else { continue };
        if ids.contains(&about_record.as_str()) {
            let label = if about.as_deref() == Some("owner") { "Owner says" } else { "Remark" };
            let by = by.as_deref().map(|by| format!("{by}, ")).unwrap_or_default();
            lines.add(label, format!("{text} ({by}{})", moment(kept.at)));
        }
    }
}

/// What was noted: words, then photos.
pub(super) fn noted(observation: &Observation) -> String {
    let photos = observation.photos.iter().map(|photo| format!("photo {}", photo.file));
    observation.note.iter().cloned().chain(photos).collect::<Vec<_>>().join("; ")
}

/// Notes and photos that stand beside the item: of the item, and of its check as a whole.
fn observations(record: &Record<'_>, standing: &Standing<'_>, lines: &mut Lines) {
    for (kept, observation) in record.input.history.observations_beside(standing) {
        lines.add("Note", noted_fully(record, kept, observation));
    }
}

/// What was noted, by whom and when.
pub(super) fn noted_fully(record: &Record<'_>, kept: &Kept, observation: &Observation) -> String {
    let by = observation.by.as_deref().map(|by| format!("{by}, ")).unwrap_or_default();
    let late = record.input.history.is_after_signing(kept, &observation.walk);
    let late = if late { ", after signing" } else { "" };
    format!("{} ({by}{}{late})", noted(observation), moment(kept.at))
}

/// One line for something that needs no whole item.
pub(super) fn short(record: &Record<'_>, standing: &Standing<'_>) -> String {
    let finding = standing.finding;
    let place = whereabouts(record, finding);
    let note = finding.note.as_deref().map(|note| format!(": {note}")).unwrap_or_default();
    let by = who(record, finding);
    format!(
        "{} [{}] {} ({place}){note} - {by}, {}",
        record.code(&finding.check, standing.of),
        finding.severity.word(),
        finding.title,
        when(standing.kept, finding)
    )
}
