//! The slip: state, what is open and what to do about it, short enough for a receipt printer: 24 lines with up to twelve
//! stops. Nothing that stops the car is ever left out; the report says the rest.

use linewalk_engine::model::entry::Severity;
use linewalk_engine::model::history::Standing;
use linewalk_engine::rules::{Check, Tally};

use super::deficiency::{self, standing_in};
use super::document::{Block, Item, Pair, Section};
use super::facts::{Facts, State};
use super::item::{noted, titled, to_do};
use super::limit;
use super::record::{Record, count};
use super::text::{SLIP, wrapped};

/// Lines of what is open; what is no stop and comes after them is a count.
const OPEN_LINES: usize = 11;
/// More stops than these have one line each.
const STOPS_IN_TWO: usize = 6;

/// Notes that are no answer, written out.
const NOTES: usize = 2;

/// Its sections.
pub(super) fn sections(record: &Record<'_>, facts: &Facts) -> Vec<Section> {
    vec![open(record), counts(record, facts), initials(record)]
}

fn open(record: &Record<'_>) -> Section {
    let mut section = Section::new("Open");
    let all = standing_in(record, &[State::Open, State::Repaired]);
    let is_stop = |standing: &Standing<'_>| standing.cause().severity == Severity::Stop;
    let stops = all.iter().filter(|standing| is_stop(standing)).count();
    let (mut used, mut left_out) = (0, Vec::new());
    for (at, standing) in all.into_iter().enumerate() {
        if !is_stop(standing) && used >= OPEN_LINES {
            left_out.push(standing.cause().severity);
            continue;
        }
        let mut item = titled(record, standing.cause(), State::of_standing(standing), at + 1, Vec::new());
        // The code says which it is; a number of its own would be one more to take for it.
        item.number = None;
        let in_two = is_stop(standing) && stops <= STOPS_IN_TWO;
        let said = note(record, standing).filter(|_| in_two);
        if !in_two || said.is_some() {
            shorten(&mut item);
        }
        if in_two && lines_of(&item) == 1 {
            item.lines = beside(record, standing, said).into_iter().collect();
        }
        used += lines_of(&item) + item.lines.len();
        section.blocks.push(Block::Item(item));
    }
    if !left_out.is_empty() {
        let of = |severity| left_out.iter().filter(|known| **known == severity).count();
        let words = [(of(Severity::Fix), "FIX"), (of(Severity::Note), "NOTE")];
        let words: Vec<String> = words
            .iter()
            .filter(|(count, _)| *count > 0)
            .map(|(count, word)| format!("{count} {word}"))
            .collect();
        section.list(vec![format!("and {} more: see the report", words.join(", "))]);
    }
    section
}

/// Takes words off the end of a heading until it is one line: what is looked at stands at its beginning.
fn shorten(item: &mut Item) {
    while lines_of(item) > 1 {
        match cut(&item.heading) {
            Some(shorter) => item.heading = shorter,
            None => break,
        }
    }
}

/// A text without its last word.
fn cut(text: &str) -> Option<String> {
    text.rsplit_once(' ').map(|(shorter, _)| format!("{}..", shorter.trim_end_matches("..")))
}

/// A text in one line of so many columns.
fn one_line(mut text: String, columns: usize) -> String {
    while wrapped(&text, columns).len() > 1 {
        match cut(&text) {
            Some(shorter) => text = shorter,
            None => break,
        }
    }
    text
}

/// What a person wrote about it.
fn note(record: &Record<'_>, standing: &Standing<'_>) -> Option<String> {
    let beside = record.input.history.observations_beside(standing).into_iter().next_back();
    standing.cause().note.clone().or_else(|| beside.map(|(_, observation)| noted(observation)))
}

/// The lines that the first line of an item takes.
fn lines_of(item: &Item) -> usize {
    wrapped(&super::text::slip_heading(item), SLIP).len()
}

/// What stands under a stop, as much as goes into one line: a person's note, the value with its limit, the clause, what to do.
fn beside(record: &Record<'_>, standing: &Standing<'_>, note: Option<String>) -> Option<Pair> {
    let cause = standing.cause();
    let check = record.check(&cause.check);
    let gone = record.no_longer_asked(&cause.check).map(|_| "no longer asked, and still open".to_owned());
    let again = (State::of_standing(standing) == State::Repaired).then(|| "look again".to_owned());
    let room = SLIP - 2 - again.as_ref().map_or(0, |again| again.len() + 2);
    let note = note.map(|note| one_line(note, room));
    let seen = limit::briefly(record, cause);
    let clause = check.and_then(Check::clause);
    let to_do = to_do(check, standing, &record.input.history.notes_on(standing));
    let looked = cause.is_computed().then(|| "nobody has looked yet".to_owned());
    let mut line = String::new();
    for part in [gone, again, note, seen, clause, to_do, looked].into_iter().flatten() {
        let longer = if line.is_empty() { part } else { format!("{line}; {part}") };
        if wrapped(&longer, SLIP - 2).len() == 1 {
            line = longer;
        }
    }
    (!line.is_empty()).then(|| Pair::new("", line))
}

/// What was not settled, in counts and codes.
fn counts(record: &Record<'_>, facts: &Facts) -> Section {
    let mut section = Section::new("Also");
    let mut points: Vec<String> = Vec::new();
    let written = facts.noted.iter().map(|one| {
        let observation = &one.observation;
        let code = observation.code.clone().unwrap_or_else(|| observation.title.clone());
        format!("note: {code} {}", noted(observation))
    });
    let mut notes: Vec<String> = written.chain(deficiency::beside_points(record)).collect();
    if record.input.history.findings().is_empty() {
        points.push("NOTHING HAS BEEN CHECKED".to_owned());
    } else if notes.is_empty()
        && facts.in_state(&[State::Open, State::Repaired, State::NotYet, State::NotSeen]).next().is_none()
    {
        points.push("no item noted as open".to_owned());
    }
    let codes =
        |states: &[State]| facts.in_state(states).map(|fact| fact.code().to_owned()).collect::<Vec<_>>();
    let unseen = facts.not_seen.iter().map(|unseen| unseen.code.clone()).collect();
    let lists = [
        ("not seen", unseen),
        ("not fitted yet", codes(&[State::NotYet])),
        ("accepted against the limit", codes(&[State::AcceptedAgainstLimit])),
    ];
    let lists = lists.into_iter().filter(|(_, codes): &(_, Vec<String>)| !codes.is_empty());
    let lists: Vec<String> = lists.map(|(what, codes)| format!("{what} {}", codes.join(", "))).collect();
    if !lists.is_empty() {
        points.push(lists.join("; "));
    }
    if !facts.noted.is_empty() {
        points.push(deficiency::noted(facts));
    }
    let more = notes.split_off(notes.len().min(NOTES)).len();
    // Two lines each.
    points.extend(notes.into_iter().map(|note| one_line(note, 2 * SLIP - 10)));
    if more > 0 {
        points.push(format!("{} more: see the report", count(more, "note", "notes")));
    }
    let ran_out = facts.due.iter().filter(|due| due.days.is_some_and(|days| days < 0)).count();
    if ran_out > 0 {
        points.push(format!("{} ran out: see the report", count(ran_out, "date", "dates")));
    }
    points.push(asked(&facts.checks));
    section.list(points);
    section
}

/// "asked 62, answered 13, NOT REACHED 49": what adds up to what was asked.
fn asked(checks: &Tally) -> String {
    let parts = [
        (checks.by_person, "answered"),
        (checks.by_number, "by number"),
        (checks.not_seen, "not seen"),
        (checks.not_reached, "NOT REACHED"),
    ];
    let parts = parts.iter().filter(|(count, _)| *count > 0).map(|(count, what)| format!(", {what} {count}"));
    format!("asked {}{}", checks.asked, parts.collect::<String>())
}

fn initials(record: &Record<'_>) -> Section {
    let mut section = super::deficiency::signatures(record);
    "Initials".clone_into(&mut section.title);
    for block in &mut section.blocks {
        let Block::Signatures(lines) = block else { continue };
        // The column of a strip is too narrow for the whole word.
        lines
            .iter_mut()
            .filter(|line| line.role == "signature")
            .for_each(|line| line.role = "sign".to_owned());
    }
    if section.blocks.is_empty() {
        section.blocks.push(Block::Signatures(vec![super::document::Signature {
            role: "initials".to_owned(),
            signed: None,
        }]));
    }
    section
}
