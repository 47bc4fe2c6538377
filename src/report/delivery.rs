//! The delivery document: what a shop hands over with a car, for the customer to keep.

use crate::model::entry::Outcome;
use crate::units::{Kind, show};

use super::deficiency;
use super::document::{Block, Section, Table};
use super::due;
use super::facts::{Facts, State};
use super::figures;
use super::full;
use super::item;
use super::limit;
use super::reading;
use super::record::Record;
use super::schedule;

/// Its sections.
pub(super) fn sections(record: &Record<'_>, facts: &Facts) -> Vec<Section> {
    vec![
        deficiency::nothing_checked(record),
        open(record),
        deficiency::against_limit(record),
        deficiency::could_not_see(record),
        deficiency::not_yet(record),
        deficiency::not_reached(record, facts),
        deficiency::not_judged(record, facts),
        deficiency::beside_answers(record),
        schedule::section(record, facts),
        schedule::parts(record, facts),
        measured(record),
        holds(record, facts),
        // Those of a hold test stand in its own table.
        full::readings(record, |key| !reading::is_of_hold(key)),
        serials(record),
        full::remarks(record),
        figures::whole(record, &facts.numbers),
        deficiency::left_out(record, facts),
        due::whole(&facts.due, "To look at again, and when"),
        deficiency::cautions(facts),
        signatures(record),
    ]
}

/// A car may be handed over with open items, but never without saying so.
fn open(record: &Record<'_>) -> Section {
    let mut section = Section::new("Open at hand-over");
    for (at, standing) in
        deficiency::standing_in(record, &[State::Open, State::Repaired]).into_iter().enumerate()
    {
        section.blocks.push(Block::Item(item::whole(record, standing, at + 1)));
    }
    section
}

/// Who did the work and who checked it both sign, whatever way round the car the newest walk was.
fn signatures(record: &Record<'_>) -> Section {
    let both = record.signers().filter(|signers| signers.len() > 1);
    deficiency::signed_by(record, &both.unwrap_or_else(|| vec!["fitter", "checker"]))
}

/// Values that a person measured, counted or read.
fn measured(record: &Record<'_>) -> Section {
    let mut section = Section::new("Measured values");
    let mut table = Table::new(["Check", "Value against the limit", "When", "Who"]);
    let mut told: Vec<&str> = Vec::new();
    for standing in &record.standings {
        let finding = standing.finding;
        let answered = matches!(finding.result, Outcome::Accept | Outcome::Reject | Outcome::Undecided);
        if !answered || finding.is_computed() || told.contains(&standing.kept.id.as_str()) {
            continue;
        }
        let Some(seen) = limit::seen(record, finding) else { continue };
        told.push(&standing.kept.id);
        let of = finding.of.as_deref().map(|of| format!(", {of}")).unwrap_or_default();
        let when = item::time(standing.kept);
        table.push([format!("{}{of}", finding.title), seen, when, item::who(record, finding)]);
    }
    section.table(table);
    section
}

/// Pressure-hold tests: what was read at both ends, and what the numbers make of it.
fn holds(record: &Record<'_>, facts: &Facts) -> Section {
    let mut section = Section::new("Pressure-hold tests");
    let readings = record.input.history.readings();
    let mut table = Table::new(["Circuit", "Test", "Pressure", "Temperature", "Time", "Fall", "When", "Who"]);
    let mut tests: Vec<(&str, &str)> = Vec::new();
    for key in readings.keys() {
        let parts: Vec<&str> = key.split('.').collect();
        if let ["brakes", "circuit", circuit, test @ ("hold" | "hold_low"), _] = parts.as_slice()
            && !tests.contains(&(*circuit, *test))
        {
            tests.push((circuit, test));
        }
    }
    for (circuit, test) in tests {
        let read = |part: &str| readings.get(format!("brakes.circuit.{circuit}.{test}.{part}").as_str());
        let value = |part: &str| read(part).map_or("not read", |(_, reading)| reading.value.as_str());
        let last = read("end_pressure");
        let with = last.and_then(|(_, reading)| reading.instrument.as_deref());
        let with = with.map(|tool| format!(" with {tool}")).unwrap_or_default();
        let pressures = format!("{} to {}{with}", value("start_pressure"), value("end_pressure"));
        let quantity = if test == "hold" { "brake.hold_drop" } else { "brake.hold_drop_low" };
        let figure =
            facts.numbers.iter().find(|f| f.quantity == quantity && f.of.as_deref() == Some(circuit));
        let fall =
            figure.map(|f| f.says.clone().or_else(|| f.refused.clone()).unwrap_or_else(|| f.shown.clone()));
        table.push([
            circuit.to_owned(),
            if test == "hold" { "high" } else { "low" }.to_owned(),
            pressures,
            format!("{} to {}", value("start_temperature"), value("end_temperature")),
            value("time").to_owned(),
            fall.unwrap_or_default(),
            last.map(|(kept, _)| item::time(kept)).unwrap_or_default(),
            last.and_then(|(_, reading)| reading.by.clone()).unwrap_or_default(),
        ]);
    }
    section.table(table);
    section
}

/// Serials and dates of what wears out by the calendar.
fn serials(record: &Record<'_>) -> Section {
    let (car, units) = (record.input.car, record.input.units);
    let mut section = Section::new("Serials and dates");
    let mut table = Table::new(["Part", "Serial", "Agent", "Label mass", "Serviced", "Tested"]);
    let day =
        |dated: Option<crate::source::Dated>| dated.map(|dated| dated.day.to_string()).unwrap_or_default();
    for bottle in &car.suppression.bottles {
        let mass = bottle.charge.agent_mass.map(|mass| show(mass.si(), Kind::Mass, units));
        let agent = bottle.charge.agent.as_ref().map(|word| word.text.clone());
        table.push([
            format!("bottle {}", bottle.id),
            bottle.papers.serial.clone().unwrap_or_default(),
            [agent, mass].into_iter().flatten().collect::<Vec<_>>().join(", "),
            bottle.papers.gross_mass.map(|mass| show(mass.si(), Kind::Mass, units)).unwrap_or_default(),
            day(bottle.papers.serviced),
            day(bottle.papers.tested),
        ]);
    }
    for held in &car.hand_held {
        let part = format!("hand-held extinguisher {}", held.id);
        table.push([part, String::new(), String::new(), String::new(), day(held.serviced), String::new()]);
    }
    section.table(table);
    section
}
