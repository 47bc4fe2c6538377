//! The as-built line schedule and the parts of a car, from its file and the numbers.

use crate::model::{Car, Construction, Run, SupplyLine};
use crate::units::{Kind, Units, fraction_inches, show};

use super::document::{Section, Table};
use super::facts::Facts;
use super::record::{Record, count};

/// Every run of line with its tube, length, bends, fittings, supports and sleeves.
pub(super) fn section(record: &Record<'_>, facts: &Facts) -> Section {
    let car = record.input.car;
    let mut section = Section::new("Line schedule, as built");
    let mut table = Table::new([
        "Run",
        "System",
        "Tube",
        "Developed length",
        "Bends",
        "Fittings",
        "Support gap",
        "Inside",
        "Sleeves",
    ]);
    for line in &car.brakes.lines {
        let circuit = line.circuit.as_ref().map(|word| format!(", {}", word.text)).unwrap_or_default();
        table.push(row(record, facts, &line.run, format!("brake{circuit}"), String::new()));
    }
    for line in &car.suppression.lines {
        let flexible = if line.construction == Some(Construction::Flexible) { ", flexible" } else { "" };
        let system = format!("suppression, {} to {}{flexible}", line.from.text, line.to.text);
        table.push(row(record, facts, &line.run, system, fittings(line)));
    }
    section.table(table);
    let hoses = hoses(record);
    section.table(hoses);
    section
}

fn row(record: &Record<'_>, facts: &Facts, run: &Run, system: String, fittings: String) -> [String; 9] {
    let units = record.input.units;
    let length = |given: Option<f64>| given.map(|si| length(si, units)).unwrap_or_default();
    let inside = run.inside.iter().map(|word| word.text.clone()).collect::<Vec<_>>().join(", ");
    [
        run.id.clone(),
        system,
        tube(run, units),
        developed(facts, run, units),
        bends(run, units),
        fittings,
        length(run.support_gap.map(|gap| gap.si())),
        inside,
        sleeves(record.input.car, &run.id),
    ]
}

/// A length as a shop writes it: a fraction of an inch where it is one.
pub(super) fn length(si: f64, units: Units) -> String {
    let fraction = if units == Units::Us { fraction_inches(si) } else { None };
    fraction.unwrap_or_else(|| show(si, Kind::Length, units))
}

pub(super) fn tube(run: &Run, units: Units) -> String {
    let wall = run.tube.wall.map(|wall| show(wall.si(), Kind::Length, units));
    let size = [run.tube.od.map(|od| length(od.si(), units)), wall]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(" x ");
    let material = run.tube.material.as_ref().map(|word| word.text.clone());
    [Some(size), material]
        .into_iter()
        .flatten()
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join(", ")
}

/// The developed length that the numbers worked out, else the one the file gives.
pub(super) fn developed(facts: &Facts, run: &Run, units: Units) -> String {
    let worked = facts
        .numbers
        .iter()
        .find(|figure| figure.quantity == "line.length" && figure.of.as_deref() == Some(&run.id));
    match worked {
        Some(figure) if figure.is_worked() => figure.shown.clone(),
        _ => match run.length {
            Some(given) => format!("{} by tape", length(given.si(), units)),
            None => worked
                .and_then(|figure| figure.refused.clone())
                .map_or_else(|| "not given".to_owned(), |why| format!("not worked: {why}")),
        },
    }
}

fn bends(run: &Run, units: Units) -> String {
    let turns = run.path.len().saturating_sub(2);
    let radius = run.bend_radius.map(|radius| format!("radius {}", length(radius.si(), units)));
    let turns = (run.path.len() > 1).then(|| count(turns, "turn", "turns"));
    [turns, radius].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn fittings(line: &SupplyLine) -> String {
    let Some(fittings) = line.fittings else { return String::new() };
    let counts = [
        (fittings.elbow_90, "elbow-90"),
        (fittings.elbow_45, "elbow-45"),
        (fittings.bend_90, "bend-90"),
        (fittings.union, "union"),
    ];
    let some = counts.iter().filter(|(count, _)| *count > 0);
    some.map(|(count, name)| format!("{count} {name}")).collect::<Vec<_>>().join(", ")
}

/// Sleeves that carry a run, each with its frame tube.
pub(super) fn sleeves(car: &Car, run: &str) -> String {
    let carrying = car.sleeves.iter().filter(|sleeve| sleeve.carries.iter().any(|word| word.text == run));
    let named = carrying.map(|sleeve| match &sleeve.tube {
        Some(tube) => format!("{} in {}", sleeve.id, tube.text),
        None => sleeve.id.clone(),
    });
    named.collect::<Vec<_>>().join(", ")
}

fn hoses(record: &Record<'_>) -> Table {
    let units = record.input.units;
    let given = |si: Option<f64>| si.map(|si| length(si, units)).unwrap_or_default();
    let mut table = Table::new(["Hose", "Circuit", "Corner", "Free length", "Bore", "Least bend radius"]);
    for hose in &record.input.car.brakes.hoses {
        table.push([
            hose.id.clone(),
            hose.circuit.as_ref().map(|word| word.text.clone()).unwrap_or_default(),
            hose.corner.map_or("", |corner| corner.word()).to_owned(),
            given(hose.length.map(|length| length.si())),
            given(hose.bore.map(|bore| bore.si())),
            given(hose.min_bend_radius.map(|radius| radius.si())),
        ]);
    }
    table
}

/// How many of each part, as the car file has them.
pub(super) fn parts(record: &Record<'_>, facts: &Facts) -> Section {
    let (car, units) = (record.input.car, record.input.units);
    let mut section = Section::new("Parts");
    let mut table = Table::new(["Part", "Count"]);
    let mut tubes: Vec<(String, usize, Vec<String>)> = Vec::new();
    for run in car.runs() {
        let name = tube(run, units);
        let developed = developed(facts, run, units);
        match tubes.iter_mut().find(|(known, _, _)| *known == name) {
            Some((_, count, lengths)) => {
                *count += 1;
                lengths.push(developed);
            }
            None => tubes.push((name, 1, vec![developed])),
        }
    }
    for (name, count, lengths) in tubes {
        let name = if name.is_empty() { "tube not given".to_owned() } else { name };
        table.push([format!("Run of tube {name} ({})", lengths.join(" + ")), count.to_string()]);
    }
    for (part, count) in counts(car) {
        if count > 0 {
            table.push([part.to_owned(), count.to_string()]);
        }
    }
    section.table(table);
    section
}

fn counts(car: &Car) -> Vec<(&'static str, u64)> {
    let len = |len: usize| u64::try_from(len).unwrap_or(u64::MAX);
    let (brakes, suppression) = (&car.brakes, &car.suppression);
    let fitted = |of: fn(&crate::model::Fittings) -> u32| -> u64 {
        suppression
            .lines
            .iter()
            .filter_map(|line| line.fittings.as_ref())
            .map(|fittings| u64::from(of(fittings)))
            .sum()
    };
    vec![
        ("Frame tube with lines inside", len(car.tubes.len())),
        ("Welded sleeve", len(car.sleeves.len())),
        ("Master cylinder", len(brakes.masters.len())),
        ("Brake hose", len(brakes.hoses.len())),
        ("Brake valve", len(brakes.valves.len())),
        ("Wheel brake", len(brakes.wheel_brakes.len())),
        ("Bottle", len(suppression.bottles.len())),
        ("Tee", len(suppression.tees.len())),
        ("Nozzle", len(suppression.nozzles.len())),
        ("Pull", len(suppression.pulls.len())),
        ("Elbow, 90 deg", fitted(|fittings| fittings.elbow_90)),
        ("Elbow, 45 deg", fitted(|fittings| fittings.elbow_45)),
        ("Union", fitted(|fittings| fittings.union)),
        ("Hand-held extinguisher", len(car.hand_held.len())),
    ]
}
