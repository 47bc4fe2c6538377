//! Numbers for a person: what is outside or undecided first, then every number by the part of the car it is of, in words.

use std::fmt::Write as _;

use crate::diagnostic::{escape_control, many};
use crate::units::Units;

use super::answer::{Against, Answer, Number, Refused};
use super::registry::registry;
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
    ("BOTTLES, MOUNTS AND PULLS", &["bottle.", "mount.", "pull."]),
    ("ELECTRICS AND OTHERS", &[""]),
];

/// The part that a quantity belongs to: the first whose names fit.
fn part_of(quantity: &str) -> usize {
    let fits = |(_, begins): &(&str, &[&str])| begins.iter().any(|begin| quantity.starts_with(begin));
    PARTS.iter().position(fits).unwrap_or(PARTS.len() - 1)
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
    let refused: Vec<&Refused> = answers
        .iter()
        .filter_map(|answer| match answer {
            Answer::Refused(refused) => Some(refused),
            Answer::Number(_) => None,
        })
        .collect();
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
    let mut said: Vec<(&str, String, Vec<&str>)> = Vec::new();
    for one in mine {
        let limit = one.against.as_ref().map_or("", |against| against.limit.as_str());
        let value = format!("{}, {limit}", one.value(units));
        match said.iter_mut().find(|(quantity, known, _)| *quantity == one.number.quantity && *known == value)
        {
            Some((_, _, items)) => items.push(&one.number.of),
            None => said.push((one.number.quantity, value, vec![&one.number.of])),
        }
    }
    for (quantity, value, items) in said {
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
    let mut alike: Vec<(String, Vec<&str>)> = Vec::new();
    for one in mine {
        let word = one.word().map_or_else(String::new, |word| format!(" {word}"));
        let value = format!("{}{word}", one.number.shown(units));
        match alike.iter_mut().find(|(known, _)| *known == value) {
            Some((_, items)) => items.push(&one.number.of),
            None => alike.push((value, vec![&one.number.of])),
        }
    }
    let parts = alike.iter().map(|(value, items)| format!("{} {value}", items.join(", ")));
    parts.collect::<Vec<_>>().join("; ")
}

fn not_calculated(refused: &[&Refused], columns: usize, out: &mut String) {
    if refused.is_empty() {
        return;
    }
    let _ = write!(out, "\nNOT CALCULATED: {}\n", many(refused.len(), "number"));
    let mut said: Vec<(&str, Vec<&str>, &str)> = Vec::new();
    for one in refused {
        let of = one.of.as_deref().unwrap_or("the car");
        match said.iter_mut().find(|(quantity, _, _)| *quantity == one.quantity) {
            Some((_, items, _)) => items.push(of),
            None => said.push((one.quantity, vec![of], &one.reason)),
        }
    }
    for (quantity, items, reason) in said {
        push(out, &format!("{}, {}: {reason}", title_of(quantity), items.join(", ")), columns);
    }
}

fn title_of(quantity: &str) -> &str {
    registry().find(|known| known.id == quantity).map_or(quantity, |known| known.title)
}

/// One entry, wrapped, the lines after its first set in.
fn push(out: &mut String, text: &str, columns: usize) {
    let text = escape_control(text);
    let room = columns.max(20) - 2;
    let (mut line, mut indent) = (String::new(), "  ");
    for word in text.split(' ') {
        if !line.is_empty() && line.chars().count() + 1 + word.chars().count() + indent.len() - 2 > room {
            let _ = writeln!(out, "{indent}{line}");
            line.clear();
            indent = "      ";
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    let _ = writeln!(out, "{indent}{line}");
}
