//! The build sheet: each hard line as the bender works it, what to buy, torques, and records to fill in at the bench.

use std::collections::BTreeMap;

use crate::model::{Construction, Run};
use crate::physics::flare_nut::{NutTube, ROWS, nut_torque};
use crate::physics::path::{Bend, bend_table, developed_length};
use crate::units::{Kind, Length, Units, show};

use super::document::{Block, Pair, Section, Table};
use super::facts::Facts;
use super::record::Record;
use super::schedule::{developed, length, sleeves, tube};

/// Room for a hand to write in.
const BLANK: &str = "________";
/// A stick of tube as sold, m: 20 ft.
const STICK: f64 = 20.0 * 0.3048;
/// What is bought over what is developed.
const WASTE: f64 = 1.10;

/// One section a line, then totals, torques and records.
pub(super) fn sections(record: &Record<'_>, facts: &Facts) -> Vec<Section> {
    let car = record.input.car;
    let mut sections = vec![how_to_read()];
    for line in &car.brakes.lines {
        let circuit = line.circuit.as_ref().map(|word| format!(", {}", word.text)).unwrap_or_default();
        sections.push(one_line(record, facts, &line.run, &format!("brake{circuit}")));
    }
    for line in car.suppression.lines.iter().filter(|line| line.construction != Some(Construction::Flexible))
    {
        let system = format!("suppression, {} to {}", line.from.text, line.to.text);
        sections.push(one_line(record, facts, &line.run, &system));
    }
    if sections.len() == 1 {
        let mut none = Section::new("Lines");
        none.say("The car file has no hard line.");
        return vec![none];
    }
    sections.extend([to_buy(record), torques(record), records()]);
    sections
}

fn how_to_read() -> Section {
    let mut section = Section::new("How to read this");
    section.list(vec![
        "Feed is straight tube before the bend begins. Turn is how far the tube is turned about its own axis after the bend \
         before, looking along the feed, away from the bender: cw clockwise, ccw counterclockwise."
            .to_owned(),
        "Feeds and arcs add up to the developed length. Flares and trim come on top: set them for your own flaring tool."
            .to_owned(),
        "Springback differs with tube and bender: bend a test piece and set it before the first line.".to_owned(),
    ]);
    section
}

fn one_line(record: &Record<'_>, facts: &Facts, run: &Run, system: &str) -> Section {
    let units = record.input.units;
    let name = tube(run, units);
    let tube = if name.is_empty() { "tube not given".to_owned() } else { name };
    let mut section = Section::new(format!("{}: {system}, {tube}", run.id));
    section.blocks.push(Block::Pairs(vec![Pair::new(
        "Cut",
        format!(
            "developed {} + end A {BLANK} + end B {BLANK} + trim {BLANK} = {BLANK}",
            developed(facts, run, units)
        ),
    )]));
    match bends(run) {
        Ok(table) => {
            section.table(rows(&table.0, table.1, units));
        }
        Err(why) => section.say(why),
    }
    let carried = sleeves(record.input.car, &run.id);
    let inside: Vec<&str> = run.inside.iter().map(|word| word.text.as_str()).collect();
    let gap = run.support_gap.map_or_else(|| BLANK.to_owned(), |gap| length(gap.si(), units));
    let mut pairs = vec![
        Pair::new("Bender", format!("springback set {BLANK}, first one checked against {BLANK} by {BLANK}")),
        Pair::new("End A", format!("flare {BLANK} nut {BLANK} sleeve {BLANK}")),
        Pair::new("End B", format!("flare {BLANK} nut {BLANK} sleeve {BLANK}")),
        Pair::new("Clamps", format!("widest gap {gap}, at {BLANK} {BLANK} {BLANK} {BLANK}")),
    ];
    if !inside.is_empty() {
        pairs.push(Pair::new("Through", format!("frame tube {}", inside.join(", "))));
    }
    if !carried.is_empty() {
        pairs.push(Pair::new("Sleeves", format!("{carried}; weld {BLANK} by {BLANK} date {BLANK}")));
    }
    section.blocks.push(Block::Pairs(pairs));
    section
}

/// The bends of a run and the straight tube behind them, or why there are none.
fn bends(run: &Run) -> Result<(Vec<Bend>, Length), String> {
    if run.path.len() < 2 {
        return Err("The car file does not say which way it goes: no bends can be listed.".to_owned());
    }
    let Some(radius) = run.bend_radius else {
        return match developed_length(&run.path, None) {
            Ok(straight) if run.path.len() == 2 => Ok((Vec::new(), straight)),
            _ => {
                Err("The car file gives no bend radius: feeds and arcs stay blank until it does.".to_owned())
            }
        };
    };
    bend_table(&run.path, Length::from_si(radius.si()))
        .map(|table| (table.bends, table.end))
        .map_err(|why| format!("Not calculated: {why}."))
}

fn rows(bends: &[Bend], end: Length, units: Units) -> Table {
    let mut table = Table::new(["Bend", "Feed", "Turn", "Angle", "Arc", "Done"]);
    let tape = |length: Length| tape(length.si(), units);
    for (at, bend) in bends.iter().enumerate() {
        let turn = bend.rotation.map_or_else(|| "-".to_owned(), |angle| turned(angle.si().to_degrees()));
        table.push([
            (at + 1).to_string(),
            tape(bend.feed),
            turn,
            format!("{:.1} deg", bend.angle.si().to_degrees()),
            tape(bend.arc),
            "[ ]".to_owned(),
        ]);
    }
    let arcs: f64 = bends.iter().map(|bend| bend.arc.si() + bend.feed.si()).sum();
    let sum = Length::from_si(arcs + end.si());
    table.push([
        "end".to_owned(),
        tape(end),
        format!("sum {}", tape(sum)),
        String::new(),
        String::new(),
        "[ ]".to_owned(),
    ]);
    table
}

/// A length to a hundredth of an inch or a tenth of a millimeter: what a tape on a bench can hold.
fn tape(si: f64, units: Units) -> String {
    match units {
        Units::Us => format!("{:.2} in", si / crate::units::INCH),
        Units::Metric => format!("{:.1} mm", si * 1000.0),
    }
}

/// A turn about the tube as it looks from the bender, along the feed: what is counter-clockwise looking back at it is
/// clockwise from there.
fn turned(degrees: f64) -> String {
    match degrees {
        _ if degrees.abs() < 0.05 => "0.0 deg".to_owned(),
        _ if degrees.abs() > 179.95 => "180.0 deg".to_owned(),
        _ if degrees > 0.0 => format!("{degrees:.1} deg cw"),
        _ => format!("{:.1} deg ccw", -degrees),
    }
}

fn to_buy(record: &Record<'_>) -> Section {
    let units = record.input.units;
    let mut section = Section::new("Tube to buy");
    let mut sizes: BTreeMap<String, (f64, usize, usize)> = BTreeMap::new();
    for run in hard_runs(record) {
        let name = tube(run, units);
        let size = sizes.entry(if name.is_empty() { "tube not given".to_owned() } else { name }).or_default();
        size.1 += 1;
        match run.length.map(|given| given.si()).or_else(|| worked_length(run)) {
            Some(developed) => size.0 += developed,
            None => size.2 += 1,
        }
    }
    let mut table =
        Table::new(["Tube", "Lines", "Developed", "With 10 % over", "Sticks of 20 ft", "Without a length"]);
    for (name, (developed, lines, without)) in sizes {
        let over = developed * WASTE;
        table.push([
            name,
            lines.to_string(),
            show(developed, Kind::Length, units),
            show(over, Kind::Length, units),
            format!("{:.0}", (over / STICK).ceil()),
            without.to_string(),
        ]);
    }
    section.table(table);
    section.say(
        "A line longer than a stick needs a union, and a union is a joint to be looked at: plan where it is.",
    );
    section
}

fn hard_runs<'c>(record: &Record<'c>) -> Vec<&'c Run> {
    let car = record.input.car;
    let brakes = car.brakes.lines.iter().map(|line| &line.run);
    let suppression = car
        .suppression
        .lines
        .iter()
        .filter(|line| line.construction != Some(Construction::Flexible))
        .map(|line| &line.run);
    brakes.chain(suppression).collect()
}

fn worked_length(run: &Run) -> Option<f64> {
    let radius = run.bend_radius.map(|radius| Length::from_si(radius.si()));
    developed_length(&run.path, radius).ok().map(|length| length.si())
}

fn torques(record: &Record<'_>) -> Section {
    let units = record.input.units;
    let mut section = Section::new("Flare nut torque, 37 degrees");
    let mut table = Table::new(["Tube", "Least", "Most", "Source"]);
    let mut seen = Vec::new();
    for run in hard_runs(record) {
        let Some(od) = run.tube.od.map(|od| od.si()) else { continue };
        let aluminum =
            run.tube.material.as_ref().is_some_and(|word| word.text.to_lowercase().contains("alumin"));
        let metal = if aluminum { NutTube::Aluminum } else { NutTube::Steel };
        if seen.iter().any(|(known, of): &(f64, NutTube)| (known - od).abs() < 1e-6 && *of == metal) {
            continue;
        }
        seen.push((od, metal));
        let name = format!("{} {}", length(od, units), if aluminum { "aluminum" } else { "steel" });
        match nut_torque(Length::from_si(od), metal, ROWS) {
            Some(torque) => {
                let sources: Vec<String> = torque.sources.iter().map(ToString::to_string).collect();
                table.push([
                    name,
                    show(torque.least.si(), Kind::Torque, units),
                    show(torque.most.si(), Kind::Torque, units),
                    sources.join("; "),
                ]);
            }
            None => table.push([
                name,
                BLANK.to_owned(),
                BLANK.to_owned(),
                "no document seen prints this size".to_owned(),
            ]),
        }
    }
    section.table(table);
    section.say(
        "Documents differ by a factor of two. The figure of the fitting's maker goes before this range; half of it where fitting \
         or port is no steel.",
    );
    section
}

fn records() -> Section {
    let mut section = Section::new("Records to fill in");
    let mut blank = |head: [&str; 6], rows: usize| {
        let mut table = Table::new(head);
        (0..rows).for_each(|_| table.push([BLANK; 6].map(str::to_owned)));
        section.table(table);
    };
    blank(["Joint", "Torque asked", "Torque set", "Wrench no.", "By", "Date"], 4);
    blank(["Pressure hold", "Start", "End", "Degrees, start and end", "Gauge no.", "Seen by"], 2);
    blank(["Bleed, corner", "Order", "Fluid", "Until clear", "By", "Date"], 4);
    blank(["Weld, place", "Process", "Filler", "By", "Looked at by", "Date"], 3);
    blank(["Blown through, line", "From", "To", "With", "By", "Date"], 3);
    section
}
