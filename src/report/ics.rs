//! What falls due as an iCalendar file (RFC 5545): one all-day event for each date, the same UID for the same thing
//! each time, so that a calendar moves the event instead of doubling it.

use std::collections::BTreeMap;

use chrono::{Days, Utc};

use crate::rules::NOTICE;

use super::document::{Document, harmless};
use super::due::Due;

/// Octets of a content line, its break not counted (RFC 5545, 3.1).
const OCTETS: usize = 75;

/// The calendar. What has no date is not in it.
pub fn ics(document: &Document) -> String {
    let mut out = String::new();
    for line in ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//linewalk//report//EN", "CALSCALE:GREGORIAN"] {
        fold(line, &mut out);
    }
    let name = format!("X-WR-CALNAME:{}", escape(&format!("{}: what falls due", document.subject)));
    fold(&name, &mut out);
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    for due in &document.facts.due {
        let uid = uid(document, due);
        let times = seen.entry(uid.clone()).or_default();
        *times += 1;
        let uid = if *times > 1 { format!("{uid}-{times}") } else { uid };
        event(document, due, &uid, &mut out);
    }
    if document.facts.due.iter().all(|due| due.due.is_none()) {
        nothing(document, &mut out);
    }
    fold("END:VCALENDAR", &mut out);
    out
}

/// A calendar must hold something (RFC 5545, 3.4): a task that says that no date is given.
fn nothing(document: &Document, out: &mut String) {
    let car = format!("{}: no date is given", document.subject);
    let lines = [
        "BEGIN:VTODO".to_owned(),
        format!("UID:{}-no-date@linewalk", id_part(&document.car)),
        format!("DTSTAMP:{}", stamp(document)),
        format!("SUMMARY:{}", escape(&car)),
        format!("DESCRIPTION:{}", escape(&format!("Nothing of this car has a date to count from. {NOTICE}"))),
        "END:VTODO".to_owned(),
    ];
    lines.iter().for_each(|line| fold(line, out));
}

/// The stamp is that of the newest record, so that the same record gives the same file.
fn stamp(document: &Document) -> String {
    let stamp = document.record_at.map(|at| at.with_timezone(&Utc).format("%Y%m%dT%H%M%SZ").to_string());
    stamp.unwrap_or_else(|| document.on.format("%Y%m%dT000000Z").to_string())
}

fn event(document: &Document, due: &Due, uid: &str, out: &mut String) {
    let Some(day) = due.due else { return };
    let next = day.checked_add_days(Days::new(1)).unwrap_or(day);
    let from = due.from.map(|from| format!("counted from {from}")).unwrap_or_default();
    let span = due.span.as_deref().map(|span| format!(", {span}")).unwrap_or_default();
    let words = format!("{}: {from}{span}. {NOTICE}", due.name());
    let lines = [
        "BEGIN:VEVENT".to_owned(),
        format!("UID:{uid}@linewalk"),
        format!("DTSTAMP:{}", stamp(document)),
        format!("DTSTART;VALUE=DATE:{}", day.format("%Y%m%d")),
        format!("DTEND;VALUE=DATE:{}", next.format("%Y%m%d")),
        format!("SUMMARY:{}", escape(&format!("{}: {}", document.subject, due.name()))),
        format!("DESCRIPTION:{}", escape(&words)),
        "TRANSP:TRANSPARENT".to_owned(),
        "END:VEVENT".to_owned(),
    ];
    lines.iter().for_each(|line| fold(line, out));
}

/// Car, key and part: the thing itself, not its date.
fn uid(document: &Document, due: &Due) -> String {
    let parts = [Some(document.car.as_str()), Some(due.field.as_str()), due.of.as_deref()];
    id_part(&parts.into_iter().flatten().collect::<Vec<_>>().join("-"))
}

fn id_part(text: &str) -> String {
    text.chars().map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' }).collect()
}

/// A TEXT value (RFC 5545, 3.3.11).
fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in harmless(text).chars() {
        if matches!(c, '\\' | ';' | ',') {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

/// A content line, folded between characters so that no line has more than 75 octets.
fn fold(line: &str, out: &mut String) {
    let mut octets = 0;
    for c in line.chars() {
        if octets + c.len_utf8() > OCTETS {
            out.push_str("\r\n ");
            octets = 1;
        }
        out.push(c);
        octets += c.len_utf8();
    }
    out.push_str("\r\n");
}
