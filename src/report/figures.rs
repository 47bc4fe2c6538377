//! The numbers of a report: those that a rule judges first, with what the rule makes of them.

use serde::Serialize;
use serde_json::Value;

use crate::model::entry::Outcome;
use crate::model::{Car, Corner};
use crate::numbers::{Answer, Number, NumberValue, Refused, quantity};
use crate::rules::{Check, ComputeRow, OfFilter, judge_compute};

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
        (true, Some(Outcome::Undecided)) => 1,
        (true, Some(_)) => 2,
        (true, None) => 3,
        (false, _) => 4,
    };
    figures.sort_by_key(rank);
    figures
}

fn figure(record: &Record<'_>, answer: &Answer) -> Figure {
    let rows = rows_for(record, answer);
    match answer {
        Answer::Number(number) => worked(record, number, &rows),
        Answer::Refused(refused) => unworked(refused, rows.first().map(|(check, _)| check.id.clone())),
    }
}

/// Rows of checks asked that judge a number.
fn rows_for<'a>(record: &Record<'a>, answer: &Answer) -> Vec<(&'a Check, &'a ComputeRow)> {
    let wanted = |row: &ComputeRow| {
        row.judges()
            && row.quantity.id == answer.quantity()
            && answer.of().is_none_or(|of| goes_over(record.input.car, &row.of, of))
    };
    record
        .asked
        .iter()
        .flat_map(|check| check.compute.iter().filter(|row| wanted(row)).map(|row| (*check, row)))
        .collect()
}

/// Whether an item is one of those a row goes over.
fn goes_over(car: &Car, filter: &OfFilter, of: &str) -> bool {
    match filter {
        OfFilter::All => true,
        OfFilter::Id(id) => id == of,
        OfFilter::Corner(corner) => corner_of(car, of) == Some(*corner),
    }
}

/// The corner that a part with this id belongs to.
fn corner_of(car: &Car, id: &str) -> Option<Corner> {
    let hose = car.brakes.hoses.iter().find(|hose| hose.id == id).and_then(|hose| hose.corner);
    let run = || car.runs().find(|run| run.id == id).and_then(|run| run.corner);
    let bottle =
        || car.suppression.bottles.iter().find(|bottle| bottle.id == id).and_then(|bottle| bottle.corner);
    hose.or_else(run).or_else(bottle).or_else(|| Corner::named(id))
}

fn worked(record: &Record<'_>, number: &Number, rows: &[(&Check, &ComputeRow)]) -> Figure {
    let units = record.input.units;
    let judged = rows.iter().map(|(check, row)| (check, judge_compute(row, number, units)));
    // The severest of several limits speaks for the number.
    let judged = judged.min_by_key(|(_, judged)| match judged.outcome {
        Outcome::Reject => 0,
        Outcome::Undecided => 1,
        Outcome::Refused => 2,
        _ => 3,
    });
    let band = number.low.zip(number.high).map(|(low, high)| {
        format!("{} to {}", number.shown_as.show(low, units), number.shown_as.show(high, units))
    });
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
        check: judged.as_ref().map(|(check, _)| check.id.clone()),
        verdict: judged.as_ref().map(|(_, judged)| judged.outcome),
        says: judged.map(|(_, judged)| judged.says),
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

/// The numbers that a rule judges, refusals in short, and how many more there are.
pub(super) fn section(figures: &[Figure]) -> Section {
    let mut section = Section::new("Numbers that a rule judges");
    let judged = || figures.iter().filter(|figure| figure.check.is_some());
    let mut table = Table::new(["Number", "Value", "Band, 95 in 100", "Against the limit"]);
    for figure in judged().filter(|figure| figure.is_worked()) {
        let verdict = figure.verdict.map_or("", |verdict| match verdict {
            Outcome::Reject => "REJECT: ",
            Outcome::Undecided => "UNDECIDED: ",
            _ => "",
        });
        let says = figure.says.as_deref().unwrap_or("");
        let notes: String = figure.notes.iter().map(|note| format!(" ({note})")).collect();
        let against = format!("{verdict}{says}{notes}");
        table.push([figure.name(), figure.shown.clone(), figure.band.clone().unwrap_or_default(), against]);
    }
    section.table(table);
    section.list(refusals(judged()));
    let more = figures.iter().filter(|figure| figure.check.is_none() && figure.is_worked()).count();
    if more > 0 {
        let numbers = count(more, "more number is", "more numbers are");
        section.say(format!("{numbers} worked out that no rule judges: the full record has them."));
    }
    section
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

/// Every number with its source, for the full record and the delivery.
pub(super) fn whole(figures: &[Figure]) -> Section {
    let mut section = Section::new("Numbers");
    let mut table =
        Table::new(["Number", "Value", "Band, 95 in 100", "Against the limit", "Assumed", "Source"]);
    for figure in figures.iter().filter(|figure| figure.is_worked()) {
        let says = figure.says.clone().unwrap_or_default();
        let notes: String = figure.notes.iter().map(|note| format!(" ({note})")).collect();
        table.push([
            figure.name(),
            figure.shown.clone(),
            figure.band.clone().unwrap_or_default(),
            format!("{says}{notes}"),
            figure.assumed.join("; "),
            figure.source.clone(),
        ]);
    }
    section.table(table);
    section.list(refusals(figures.iter()));
    section
}
