//! The way agent goes from bottle to nozzle: walks over the lines, without any physics.

use std::collections::BTreeSet;

use crate::cite::{Basis, Cite};
use crate::model::{Bottle, Car, Construction, LeavesBy, SupplyLine};
use crate::units::Kind;

use super::answer::Answer;
use super::inputs::{Inputs, NoValue, Worked};
use super::line::line_length;
use super::parts::{each, total};
use super::registry::{Quantity, Shown};
use super::situation::Situation;

const WALK: Cite = Cite::new("the car file's lines", "each counted once", Basis::Computed);

pub(super) const QUANTITIES: &[Quantity] = &[
    Quantity {
        id: "nozzle.flexible_length",
        title: "Flexible line on the way from the bottles to the nozzle",
        of: "nozzle",
        table: "suppression.nozzle",
        shown: Shown::Kind(Kind::Length),
        formula: "sum of the flexible lines on its ways",
        source: WALK,
        work: |q, s| nozzles(q, s, flexible_length),
    },
    Quantity {
        id: "nozzle.branch_turns",
        title: "Tees left by the branch on the way to the nozzle",
        of: "nozzle",
        table: "suppression.nozzle",
        shown: Shown::Kind(Kind::Ratio),
        formula: "count of the lines on its ways that leave a tee by the branch",
        source: WALK,
        work: |q, s| nozzles(q, s, branch_turns),
    },
];

fn nozzles(
    quantity: &Quantity,
    s: &Situation<'_>,
    work: impl Fn(&mut Inputs<'_>, &Car, &[Step<'_>]) -> Worked<f64>,
) -> Vec<Answer> {
    let nozzles =
        s.car.suppression.nozzles.iter().map(|nozzle| (nozzle.id.as_str(), ways(s.car, &nozzle.id)));
    each(quantity, s, nozzles, |inputs, steps| match steps.as_slice() {
        [] => Err(NoValue::because("no line leads to it from a bottle")),
        steps => work(inputs, s.car, steps),
    })
}

/// One line of a way, and the node that agent enters it from.
struct Step<'c> {
    line: &'c SupplyLine,
    enters: &'c str,
}

fn is_bottle(car: &Car, node: &str) -> bool {
    car.suppression.bottles.iter().any(|bottle| bottle.id == node)
}

/// Every node joined to one by lines, itself included; bottles end the walk.
pub(super) fn nodes_reached<'c>(car: &'c Car, start: &'c str) -> BTreeSet<&'c str> {
    let mut reached = BTreeSet::from([start]);
    let mut open = vec![start];
    while let Some(node) = open.pop() {
        for line in &car.suppression.lines {
            let (from, to) = (line.from.text.as_str(), line.to.text.as_str());
            let next = if from == node { to } else { from };
            if (from == node || to == node)
                && (node == start || !is_bottle(car, node))
                && reached.insert(next)
            {
                open.push(next);
            }
        }
    }
    reached
}

/// The bottles among some nodes, in file order.
pub(super) fn bottles_of<'c>(car: &'c Car, nodes: &BTreeSet<&str>) -> impl Iterator<Item = &'c Bottle> {
    car.suppression.bottles.iter().filter(|bottle| nodes.contains(bottle.id.as_str()))
}

/// Every line on the ways from all bottles to a node, each once.
fn ways<'c>(car: &'c Car, nozzle: &'c str) -> Vec<Step<'c>> {
    let mut steps = Vec::new();
    let mut seen = BTreeSet::from([nozzle]);
    walk(car, nozzle, &mut seen, &mut steps);
    steps
}

/// Walks up from a node; true where a bottle lies that way. A tree has one way to each bottle.
fn walk<'c>(car: &'c Car, node: &'c str, seen: &mut BTreeSet<&'c str>, steps: &mut Vec<Step<'c>>) -> bool {
    if is_bottle(car, node) {
        return true;
    }
    let mut found = false;
    for line in &car.suppression.lines {
        let (from, to) = (line.from.text.as_str(), line.to.text.as_str());
        let enters = if to == node { from } else { to };
        if (from == node || to == node) && seen.insert(enters) && walk(car, enters, seen, steps) {
            steps.push(Step { line, enters });
            found = true;
        }
    }
    found
}

fn flexible_length(inputs: &mut Inputs<'_>, _: &Car, steps: &[Step<'_>]) -> Worked<f64> {
    total(steps.iter().map(|step| {
        let path = format!("suppression.line.{}", step.line.run.id);
        let made = inputs
            .need_some(format!("{path}.construction"), step.line.construction)
            .ok_or(NoValue::MissingInput)?;
        match made {
            Construction::Hard => Ok(0.0),
            Construction::Flexible => {
                inputs.note(format_args!("{} is flexible", step.line.run.id));
                line_length(inputs, &path, &step.line.run)
            }
        }
    }))
}

fn branch_turns(inputs: &mut Inputs<'_>, car: &Car, steps: &[Step<'_>]) -> Worked<f64> {
    let mut turns = 0_u32;
    for step in steps.iter().filter(|step| car.suppression.tees.iter().any(|tee| tee.id == step.enters)) {
        // leaves_by speaks of the end named in `from`; entered from its other end the line is silent about it.
        let said = step.line.leaves_by.filter(|_| step.line.from.text == step.enters);
        let path = format!("suppression.line.{}.leaves_by", step.line.run.id);
        turns += u32::from(inputs.some_or(path, said, LeavesBy::Branch) == LeavesBy::Branch);
    }
    Ok(f64::from(turns))
}
