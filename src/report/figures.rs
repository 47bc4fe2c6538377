//! The numbers of a report: those that a rule judges first, with what the rule makes of them.

use serde::Serialize;
use serde_json::Value;

use crate::model::entry::Outcome;
use crate::numbers::{Answer, Number, NumberValue, Refused, quantity};
use crate::rules::{Held, Terms, judge};
use crate::units::Units;

use super::document::{Section, Table};
use super::record::{Record, count};

/// A number, or why it could not be worked out.
#[derive(Clone, Debug, Serialize)]
pub struct Figure {
    /// Its name.
    pub quantity: String,
    /// What it is in a few words.
    #[serde(skip)]
    pub title: String,
    /// What it is of.
    pub of: Option<String>,
    /// Its value in SI, true or false, or one word.
    pub value: Value,
    /// Its SI unit.
    pub unit: String,
    /// Lower end of its band.
    pub low: Option<f64>,
    /// Upper end of its band.
    pub high: Option<f64>,
    /// As people read it.
    pub shown: String,
    /// The band as people read it.
    #[serde(skip)]
    pub band: Option<String>,
    /// The check that judges it.
    pub check: Option<String>,
    /// The limit it is held to, in words.
    #[serde(skip)]
    pub limit: Option<String>,
    /// Inside its limit by less than a tenth of it.
    #[serde(skip)]
    pub near: bool,
    /// Outside its limit, but only by what the car file assumes.
    pub looks_wrong: bool,
    /// Resting more on assumptions than on the car file.
    #[serde(skip)]
    pub rough: bool,
    /// What that check makes of it.
    pub verdict: Option<Outcome>,
    /// Where it stands against the limit.
    pub says: Option<String>,
    /// Why it could not be worked out.
    pub refused: Option<String>,
    /// What is missing for it.
    pub needs: Vec<String>,
    /// What was assumed.
    pub assumed: Vec<String>,
    /// What the reader should know beside it.
    pub notes: Vec<String>,
    /// Formula and source.
    pub source: String,
}

impl Figure {
    /// Whether it was worked out.
    pub fn is_worked(&self) -> bool {
        self.refused.is_none()
    }

    /// Whether a reader should see it before all others: judged, and not plainly inside its limit.
    fn stands_out(&self) -> bool {
        self.check.is_some() && (self.near || self.rough || self.verdict != Some(Outcome::Accept))
    }

    /// Title and what it is of.
    pub fn name(&self) -> String {
        match &self.of {
            Some(of) if !of.is_empty() => format!("{}, {of}", self.title),
            _ => self.title.clone(),
        }
    }
}

/// Every number: judged ones first, of those the rejected first.
pub(super) fn list(record: &Record<'_>) -> Vec<Figure> {
    let mut figures: Vec<Figure> = record.input.numbers.iter().map(|answer| figure(record, answer)).collect();
    let rank = |figure: &Figure| match (figure.check.is_some(), figure.verdict) {
        (true, Some(Outcome::Reject)) => 0,
        (true, Some(Outcome::Undecided)) if figure.looks_wrong => 1,
        (true, Some(Outcome::Undecided)) => 2,
        (true, Some(_)) => 3,
        (true, None) => 4,
        (false, _) => 5,
    };
    figures.sort_by_key(rank);
    figures
}

fn figure(record: &Record<'_>, answer: &Answer) -> Figure {
    let units = record.input.units;
    let terms = record.input.terms();
    let held = judge(record.asked.iter().copied(), &terms, answer, units);
    match answer {
        Answer::Number(number) => worked(number, held.first(), &terms, units),
        Answer::Refused(refused) => unworked(refused, held.first().map(|held| held.check.id.clone())),
    }
}

fn worked(number: &Number, held: Option<&Held<'_>>, terms: &Terms<'_>, units: Units) -> Figure {
    let judged = held.and_then(|held| held.judged.as_ref());
    let show = |si| number.shown_as.show(si, units);
    let band = number.low.zip(number.high).map(|(low, high)| (show(low), show(high)));
    // A band too narrow to be seen in the figures shown says nothing.
    let band = band.filter(|(low, high)| low != high).map(|(low, high)| format!("{low} to {high}"));
    Figure {
        quantity: number.quantity.to_owned(),
        title: title(number.quantity),
        of: Some(number.of.clone()),
        value: match &number.value {
            NumberValue::Number(si) => serde_json::Number::from_f64(*si).map_or(Value::Null, Value::Number),
            NumberValue::Flag(flag) => Value::Bool(*flag),
            NumberValue::Word(word) => Value::String(word.clone()),
        },
        unit: number.shown_as.unit().to_owned(),
        low: number.low,
        high: number.high,
        shown: number.shown(units),
        band,
        check: held.map(|held| held.check.id.clone()),
        limit: held.and_then(|held| held.row.limit(units, Some((terms, &number.of)))),
        near: judged.is_some_and(|judged| judged.near),
        looks_wrong: judged.is_some_and(|judged| judged.looks_wrong),
        rough: number.rough(),
        verdict: judged.map(|judged| judged.outcome),
        says: judged.map(|judged| judged.says.clone()),
        refused: None,
        needs: Vec::new(),
        assumed: number.assumed.clone(),
        notes: number.notes.clone(),
        source: number.source.clone(),
    }
}

fn unworked(refused: &Refused, check: Option<String>) -> Figure {
    Figure {
        quantity: refused.quantity.to_owned(),
        title: title(refused.quantity),
        of: refused.of.clone(),
        value: Value::Null,
        unit: quantity(refused.quantity).map_or("", |known| known.shown.unit()).to_owned(),
        low: None,
        high: None,
        shown: "not worked".to_owned(),
        band: None,
        check,
        limit: None,
        near: false,
        looks_wrong: false,
        rough: false,
        verdict: None,
        says: None,
        refused: Some(refused.reason.clone()),
        needs: refused.needs.clone(),
        assumed: Vec::new(),
        notes: Vec::new(),
        source: quantity(refused.quantity).map_or_else(String::new, |known| known.source.to_string()),
    }
}

fn title(id: &str) -> String {
    quantity(id).map_or_else(|| id.to_owned(), |known| known.title.to_owned())
}

/// The numbers that matter: judged, and rejected, undecided, near their limit, rough or not worked; how many more there
/// are.
pub(super) fn section(record: &Record<'_>, figures: &[Figure]) -> Section {
    let mut section = Section::new("Numbers at or near their limit");
    let shown: Vec<&Figure> =
        figures.iter().filter(|figure| figure.is_worked() && figure.stands_out()).collect();
    section.table(short_table(record, &shown));
    section.list(meanings(record, &shown, false));
    section.list(refusals(figures.iter().filter(|figure| figure.check.is_some())));
    let inside = figures.iter().filter(|figure| figure.check.is_some() && !figure.stands_out()).count();
    let free = figures.iter().filter(|figure| figure.check.is_none() && figure.is_worked()).count();
    let mut more: Vec<String> = Vec::new();
    if inside > 0 {
        let one = "more number is well inside its limit";
        more.push(count(inside, one, "more numbers are well inside their limits"));
    }
    if free > 0 {
        more.push(count(free, "more number is judged by no rule", "more numbers are judged by no rule"));
    }
    if !more.is_empty() {
        section.say(format!("{}: see the full record.", more.join(" and ")));
    }
    section
}

/// A line a number.
fn short_table(record: &Record<'_>, shown: &[&Figure]) -> Table {
    let with_band = shown.iter().any(|figure| figure.band.is_some());
    let head = ["Number", "Value", "95 % band", "Limit", "Verdict"];
    let row = |figure: &&Figure| {
        let verdict = match figure.verdict {
            Some(Outcome::Reject) => "REJECT",
            Some(Outcome::Undecided) if figure.looks_wrong => "LOOKS WRONG",
            Some(Outcome::Undecided) => "UNDECIDED",
            Some(Outcome::Accept) if figure.near => "near",
            Some(Outcome::Accept) => "inside",
            Some(_) => "not judged",
            None => "",
        };
        let (band, limit) = (figure.band.clone(), figure.limit.as_deref().map(shortened));
        let value = figure.shown.clone();
        [
            short_name(record, figure),
            value,
            band.unwrap_or_default(),
            limit.unwrap_or_default(),
            verdict.into(),
        ]
    };
    let keep = |cells: [String; 5]| {
        let kept = cells.into_iter().enumerate().filter(|(at, _)| with_band || *at != 2);
        kept.map(|(_, cell)| cell).collect()
    };
    Table { head: keep(head.map(str::to_owned)), rows: shown.iter().map(row).map(keep).collect() }
}

/// "min 1" for "at least 1".
fn shortened(limit: &str) -> String {
    let words = [("at least ", "min "), ("at most ", "max ")];
    let short = words.iter().find_map(|(long, short)| Some(format!("{short}{}", limit.strip_prefix(long)?)));
    short.unwrap_or_else(|| limit.to_owned())
}

/// Quantity and what it is of, the car itself left out.
fn short_name(record: &Record<'_>, figure: &Figure) -> String {
    match figure.of.as_deref().filter(|of| !of.is_empty() && *of != record.input.car.id) {
        Some(of) => format!("{} {of}", figure.quantity),
        None => figure.quantity.clone(),
    }
}

/// What each quantity of the table means, and what goes with its numbers, each said once: notes, doubts, and for the
/// whole record what was assumed and the source.
fn meanings(record: &Record<'_>, shown: &[&Figure], whole: bool) -> Vec<String> {
    let mut points: Vec<String> = Vec::new();
    let mut told: Vec<&str> = Vec::new();
    for figure in shown {
        if told.contains(&figure.quantity.as_str()) {
            continue;
        }
        told.push(&figure.quantity);
        let alike: Vec<&Figure> =
            shown.iter().copied().filter(|other| other.quantity == figure.quantity).collect();
        let mut point = format!("{}: {}", figure.quantity, figure.title);
        let doubt = |other: &Figure| other.says.clone().filter(|_| other.verdict == Some(Outcome::Undecided));
        for note in by_part(record, &alike, |other| {
            [other.notes.clone(), doubt(other).into_iter().collect()].concat()
        }) {
            point.push_str(&format!("; {note}"));
        }
        let assumed = by_part(record, &alike, |other| other.assumed.clone());
        if whole && !assumed.is_empty() {
            point.push_str(&format!(". Assumed: {}", assumed.join("; ")));
        }
        if whole {
            let sources = by_part(record, &alike, |other| vec![other.source.clone()]);
            point.push_str(&format!(". By: {}", sources.join("; ")));
        }
        points.push(format!("{point}."));
    }
    points
}

/// Texts that go with numbers of one quantity, each once, with the parts it is of where it is not of all.
fn by_part(record: &Record<'_>, alike: &[&Figure], texts: impl Fn(&Figure) -> Vec<String>) -> Vec<String> {
    let mut known: Vec<(String, Vec<&str>)> = Vec::new();
    for figure in alike {
        let of = figure.of.as_deref().unwrap_or_default();
        for text in texts(figure) {
            match known.iter_mut().find(|(one, _)| *one == text) {
                Some((_, parts)) => parts.push(of),
                None => known.push((text, vec![of])),
            }
        }
    }
    let of_all = |parts: &[&str]| parts.len() == alike.len() || parts.contains(&record.input.car.id.as_str());
    known
        .into_iter()
        .map(|(text, parts)| if of_all(&parts) { text } else { format!("{}: {text}", parts.join(", ")) })
        .collect()
}

/// "Not worked: …", one point for each reason.
pub(super) fn refusals<'f>(figures: impl Iterator<Item = &'f Figure>) -> Vec<String> {
    let mut reasons: Vec<(&str, Vec<String>)> = Vec::new();
    for figure in figures {
        let Some(reason) = figure.refused.as_deref() else { continue };
        match reasons.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, names)) => names.push(figure.name()),
            None => reasons.push((reason, vec![figure.name()])),
        }
    }
    reasons
        .into_iter()
        .map(|(reason, names)| match names.as_slice() {
            [first, second, third, rest @ ..] if !rest.is_empty() => {
                format!("Not worked: {first}; {second}; {third}; {} more: {reason}.", rest.len())
            }
            names => format!("Not worked: {}: {reason}.", names.join("; ")),
        })
        .collect()
}

/// Every number in short, with what each rests on and its source, for the full record and the delivery.
pub(super) fn whole(record: &Record<'_>, figures: &[Figure]) -> Section {
    let mut section = Section::new("Numbers");
    let worked: Vec<&Figure> = figures.iter().filter(|figure| figure.is_worked()).collect();
    section.table(short_table(record, &worked));
    section.list(meanings(record, &worked, true));
    section.list(refusals(figures.iter()));
    section
}
