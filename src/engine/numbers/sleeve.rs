//! Sleeves: room around the lines they carry.

use crate::cite::{Basis, Cite};
use crate::model::{Car, Run, Sleeve};
use crate::physics::circles::enclosing_diameter;
use crate::units::{Kind, Length};

use super::inputs::{Inputs, NoValue, Worked};
use super::parts::{all, each};
use super::registry::{Quantity, Shown};
use super::situation::Situation;

pub(super) const QUANTITIES: &[Quantity] = &[Quantity {
    id: "sleeve.clearance",
    title: "Sleeve bore less the smallest circle around its lines",
    of: "sleeve",
    table: "frame.sleeve",
    shown: Shown::Kind(Kind::Length),
    formula: "bore - diameter of the smallest circle around the lines",
    source: Cite::new("Descartes' circle theorem", "packing of circles in a circle", Basis::FromMemory),
    work: |q, s| {
        let sleeves = s.car.sleeves.iter().map(|sleeve| (sleeve.id.as_str(), sleeve));
        each(q, s, sleeves, |inputs, sleeve| clearance(inputs, s, sleeve))
    },
}];

/// A line of either system by its id, with the key path of its table.
pub(super) fn run_named<'c>(car: &'c Car, id: &str) -> Option<(String, &'c Run)> {
    let brakes = car.brakes.lines.iter().map(|line| ("brakes.line", &line.run));
    let supply = car.suppression.lines.iter().map(|line| ("suppression.line", &line.run));
    let (table, run) = brakes.chain(supply).find(|(_, run)| run.id == id)?;
    Some((format!("{table}.{id}"), run))
}

fn clearance(inputs: &mut Inputs<'_>, s: &Situation<'_>, sleeve: &Sleeve) -> Worked<f64> {
    let key = |name: &str| format!("frame.sleeve.{}.{name}", sleeve.id);
    let od = inputs.need(key("od"), sleeve.od);
    let wall = inputs.need(key("wall"), sleeve.wall);
    if sleeve.carries.is_empty() {
        inputs.miss(key("carries"));
    }
    let lines = all(sleeve.carries.iter().map(|word| {
        let (path, run) = run_named(s.car, &word.text)
            .ok_or_else(|| NoValue::Because(format!("there is no line {}", word.text)))?;
        inputs.need(format!("{path}.tube.od"), run.tube.od).map(Length::from_si).ok_or(NoValue::MissingInput)
    }));
    let lines = lines?;
    let (Some(od), Some(wall), false) = (od, wall, lines.is_empty()) else {
        return Err(NoValue::MissingInput);
    };
    inputs.note(match lines.len() {
        1 => "one line through it".to_owned(),
        count => format!("{count} lines side by side"),
    });
    Ok(od - 2.0 * wall - enclosing_diameter(&lines)?.si())
}
