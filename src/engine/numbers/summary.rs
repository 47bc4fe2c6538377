//! Numbers for a person: what is outside or undecided first, then every number by the part of the car it is of, in words.

use std::fmt::Write as _;

use crate::diagnostic::{escape_control, many};
use crate::units::Units;
use crate::wrap::wrap_set_in;

use super::answer::{Against, Answer, Number, Refused};
use super::registry::{quantity, registry};
use super::table::band;

/// The parts, in the order they are printed, each with how the names of its quantities begin.
const PARTS: &[(&str, &[&str])] = &[
    (
        "LINES AND SLEEVES",
        &["line.", "sleeve.", "brake.tube", "brake.bend_tube", "brake.burst", "brake.hold"],
    ),
    ("NOZZLES AND DISCHARGE", &["discharge.", "nozzle.", "hazard."]),
    ("BRAKES", &["brake."]),
    ("HOSES", &["hose."]),
    ("BOTTLES, MOUNTS AND PULLS", &["bottle.", "agent.", "mount.", "pull."]),
    ("ELECTRICS AND OTHERS", &[""]),
];

/// The part that a quantity belongs to: the first whose names fit.
fn part_of(quantity: &str) -> usize {
    let fits = |(_, begins): &(&str, &[&str])| begins.iter().any(|begin| quantity.starts_with(begin));
    PARTS.iter().position(fits).unwrap_or(PARTS.len() - 1)
}

/// The part that a quantity belongs to, and its place among them.
pub fn part_of_car(quantity: &str) -> (usize, &'static str) {
    let place = part_of(quantity);
    (place, PARTS.get(place).map_or("", |(title, _)| title))
}

/// One number with what the limit makes of it.
struct Judged<'a> {
    number: &'a Number,
    against: Option<Against>,
}

impl Judged<'_> {
    /// How it stands against its limit; nothing where it has none, or is well inside.
    fn word(&self) -> Option<&'static str> {
        match self.against.as_ref()? {
            against if against.looks_wrong => Some("LOOKS WRONG"),
            against => match against.verdict {
                "reject" => Some("OUTSIDE"),
                "undecided" => Some("UNDECIDED"),
                _ => None,
            },
        }
    }

    fn value(&self, units: Units) -> String {
        let band = band(self.number, units);
        let band = if band.is_empty() { band } else { format!(" ({band})") };
        format!("{}{band}", self.number.shown(units))
    }
}

/// A summary of every number: counts, what needs a look, then part by part. Lines are no wider than `columns` where a word
/// allows it.
pub fn to_summary(
    answers: &[Answer],
    units: Units,
    columns: usize,
    against: impl Fn(&Answer) -> Option<Against>,
) -> String {
    let judged: Vec<Judged<'_>> = answers
        .iter()
        .filter_map(|answer| Some(Judged { number: answer.number()?, against: against(answer) }))
        .collect();
    let refused: Vec<&Refused> = answers.iter().filter_map(Answer::refused).collect();
    let mut out = counts(&judged, refused.len());
    for word in ["OUTSIDE", "LOOKS WRONG", "UNDECIDED"] {
        open(&judged, word, units, columns, &mut out);
    }
    for (place, (title, _)) in PARTS.iter().enumerate() {
        part(&judged, place, title, units, columns, &mut out);
    }
    not_calculated(&refused, columns, &mut out);
    out
}

fn counts(judged: &[Judged<'_>], refused: usize) -> String {
    let of = |word: Option<&str>, limited: bool| {
        judged.iter().filter(|one| one.word() == word && one.against.is_some() == limited).count()
    };
    let wrong = match of(Some("LOOKS WRONG"), true) {
        0 => String::new(),
        count => format!("{count} looks wrong, "),
    };
    format!(
        "{} outside, {wrong}{} undecided, {} inside, {} without limit, {refused} not calculated\n",
        of(Some("OUTSIDE"), true),
        of(Some("UNDECIDED"), true),
        of(None, true),
        of(None, false),
    )
}

fn open(judged: &[Judged<'_>], word: &str, units: Units, columns: usize, out: &mut String) {
    let mine: Vec<&Judged<'_>> = judged.iter().filter(|one| one.word() == Some(word)).collect();
    if mine.is_empty() {
        return;
    }
    let _ = write!(out, "\n{word}\n");
    // Items of one number that come to the same are said once.
    let said = grouped(mine.into_iter().map(|one| {
        let limit = one.against.as_ref().map_or("", |against| against.limit.as_str());
        ((one.number.quantity, format!("{}, {limit}", one.value(units))), one.number.of.as_str())
    }));
    for ((quantity, value), items) in said {
        push(out, &format!("{}, {}: {value}", title_of(quantity), items.join(", ")), columns);
    }
}

fn part(judged: &[Judged<'_>], place: usize, title: &str, units: Units, columns: usize, out: &mut String) {
    let mut begun = false;
    for quantity in registry().filter(|quantity| part_of(quantity.id) == place) {
        let mine: Vec<&Judged<'_>> = judged.iter().filter(|one| one.number.quantity == quantity.id).collect();
        if mine.is_empty() {
            continue;
        }
        if !begun {
            let _ = write!(out, "\n{title}\n");
            begun = true;
        }
        let mut limits: Vec<&str> = mine
            .iter()
            .filter_map(|one| one.against.as_ref())
            .map(|against| against.limit.as_str())
            .collect();
        limits.sort_unstable();
        limits.dedup();
        let limit = match limits[..] {
            [] => String::new(),
            _ => format!(" ({})", limits.join("; ")),
        };
        push(out, &format!("{}{limit}: {}", quantity.title, values(&mine, units)), columns);
    }
}

/// Items of one value are named together. What is open was given with its band above; of the rest it is with what is behind.
fn values(mine: &[&Judged<'_>], units: Units) -> String {
    let alike = grouped(mine.iter().map(|one| {
        let word = one.word().map_or_else(String::new, |word| format!(" {word}"));
        (format!("{}{word}", one.number.shown(units)), one.number.of.as_str())
    }));
    let parts = alike.iter().map(|(value, items)| format!("{} {value}", items.join(", ")));
    parts.collect::<Vec<_>>().join("; ")
}

fn not_calculated(refused: &[&Refused], columns: usize, out: &mut String) {
    if refused.is_empty() {
        return;
    }
    let _ = write!(out, "\nNOT CALCULATED: {}\n", many(refused.len(), "number"));
    let (some, none): (Vec<&Refused>, Vec<&Refused>) = refused.iter().partition(|one| one.of.is_some());
    // What the whole car lacks is said once, with how many numbers would need it where they are several.
    let lacks = grouped(none.iter().map(|one| (one.needs.join(" or "), one)));
    let lacks = lacks.iter().map(|(table, all)| match all.len() {
        1 => table.clone(),
        count => format!("{table} ({})", many(count, "number")),
    });
    let lacks = lacks.collect::<Vec<_>>().join(", ");
    if !lacks.is_empty() {
        push(out, &format!("The car file has no {lacks}"), columns);
    }
    for (quantity, all) in grouped(some.iter().map(|one| (one.quantity, one))) {
        let items: Vec<&str> = all.iter().map(|one| one.of.as_deref().unwrap_or("the car")).collect();
        let reason = all.first().map_or_else(String::new, |one| shortened(&one.reason));
        push(out, &format!("{}, {}: {reason}", title_of(quantity), items.join(", ")), columns);
    }
}

/// A reason in which keys of one table name it once: "a.b.c, d and e are not given".
fn shortened(reason: &str) -> String {
    let mut table: Option<&str> = None;
    let words = reason.split(' ').map(|word| {
        let known = table.and_then(|table| word.strip_prefix(table)?.strip_prefix('.'));
        let key = known.filter(|key| !key.trim_end_matches(',').contains('.'));
        if key.is_none() && word.contains('.') {
            table = word.rsplit_once('.').map(|(table, _)| table);
        }
        key.unwrap_or(word)
    });
    words.collect::<Vec<_>>().join(" ")
}

fn title_of(id: &str) -> &str {
    quantity(id).map_or(id, |known| known.title)
}

/// What belongs together under one key, in the order in which each key first comes.
fn grouped<K: PartialEq, V>(pairs: impl IntoIterator<Item = (K, V)>) -> Vec<(K, Vec<V>)> {
    let mut groups: Vec<(K, Vec<V>)> = Vec::new();
    for (key, value) in pairs {
        match groups.iter_mut().find(|(known, _)| *known == key) {
            Some((_, values)) => values.push(value),
            None => groups.push((key, vec![value])),
        }
    }
    groups
}

/// One entry, wrapped, the lines after its first set in.
fn push(out: &mut String, text: &str, columns: usize) {
    let lines = wrap_set_in(&escape_control(text), columns.max(20), "  ", "      ");
    let _ = writeln!(out, "{}", lines.join("\n"));
}
