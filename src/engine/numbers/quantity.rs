//! Agent carried against what a closed space of this size needs, and the share of it that fills the lines.

use crate::cite::{Basis, Cite};
use crate::model::vocabulary::Vocabulary;
use crate::physics::agents::agent;
use crate::physics::flooding::{
    CLASS_B, CLASS_B_SOURCE, ClassB, LEAST_DESIGN, OTHER_LEAST_DESIGN, class_b, design_concentration,
    flooding_mass, pipe_share, vapor_volume,
};
use crate::units::{Density, Kind, Mass, Temperature, Volume, significant};

use super::answer::Bound;
use super::brake_stroke::bore_volume_of;
use super::inputs::{Inputs, NoValue, Worked};
use super::network::networks;
use super::parts::{all, both, total};
use super::registry::{Quantity, Shown};
use super::situation::Situation;

pub(super) const QUANTITIES: &[Quantity] = &[
    Quantity {
        id: "agent.quantity_ratio",
        title: "Agent carried over what a closed space of this size needs, at most",
        of: "car",
        table: "suppression.space",
        shown: Shown::Kind(Kind::Ratio),
        formula: "agent mass / (volume / vapor volume x C / (1 - C)), C the design concentration of the fuel",
        source: Cite::new(
            "NFPA 2001",
            "total flooding quantity; class B by a maker's table",
            Basis::FromMemory,
        ),
        work: |q, s| {
            if s.car.suppression.space.is_none() || s.car.suppression.bottles.is_empty() {
                return Vec::new();
            }
            let mut inputs = s.inputs(q, &s.car.id);
            let worked = ratio(&mut inputs, s);
            vec![inputs.finish(worked)]
        },
    },
    Quantity {
        id: "agent.pipe_share",
        title: "Share of the charge that fills the lines",
        of: "network",
        table: "suppression.bottle",
        shown: Shown::Share,
        formula: "volume of the lines x liquid density / agent mass",
        source: Cite::new("a maker's design manual of 2004", "s. 4-2.3.1", Basis::Published),
        work: |q, s| {
            let answer = |network: &super::network::CarNetwork<'_>| {
                let mut inputs = s.inputs(q, &network.name(s.car));
                let worked = in_pipe(&mut inputs, s, network);
                inputs.finish(worked)
            };
            networks(s.car).iter().map(answer).collect()
        },
    },
];

fn in_pipe(
    inputs: &mut Inputs<'_>,
    s: &Situation<'_>,
    network: &super::network::CarNetwork<'_>,
) -> Worked<f64> {
    let lines = total(
        network
            .lines
            .iter()
            .map(|line| bore_volume_of(inputs, &format!("suppression.line.{}", line.run.id), &line.run)),
    );
    let charge = total(network.bottles.iter().map(|bottle| {
        let key = format!("suppression.bottle.{}.agent_mass", bottle.id);
        inputs.need(key, bottle.charge.agent_mass).ok_or(NoValue::MissingInput)
    }));
    let densities = all(network.bottles.iter().map(|bottle| super::agent::density(inputs, s, bottle)))?;
    let density = densities.into_iter().fold(0.0, f64::max);
    let lines = Volume::from_si(lines?);
    Ok(pipe_share(lines, Density::from_si(density), Mass::from_si(charge?))?)
}

/// The fuel of the car that asks for most; one that the table lacks stops the whole.
fn worst_fuel(inputs: &mut Inputs<'_>, s: &Situation<'_>) -> Worked<&'static ClassB> {
    let fuels = inputs.need_some("car.fuel", s.car.facts.fuel.as_ref()).ok_or(NoValue::MissingInput)?;
    let mut worst: Option<&'static ClassB> = None;
    for word in fuels.iter().flat_map(|word| Vocabulary::Fuel.meanings(&word.text)) {
        let found = class_b(&word).ok_or_else(|| {
            let known: Vec<&str> = CLASS_B.iter().map(|fuel| fuel.fuel).collect();
            NoValue::Because(format!(
                "no published concentration of FK-5-1-12 is known here for {word}; known are {}",
                known.join(", ")
            ))
        })?;
        if worst.is_none_or(|known| found.extinguishing > known.extinguishing) {
            worst = Some(found);
        }
    }
    worst.ok_or_else(|| NoValue::because("the car file names no fuel"))
}

fn ratio(inputs: &mut Inputs<'_>, s: &Situation<'_>) -> Worked<f64> {
    let space = s.car.suppression.space.as_ref().ok_or(NoValue::MissingInput)?;
    let volume = inputs.need("suppression.space.volume", space.volume);
    let coldest = inputs.need("suppression.space.temperature", space.temperature);
    let fuel = worst_fuel(inputs, s);
    let charge = total(s.car.suppression.bottles.iter().map(|bottle| {
        let key = |name: &str| format!("suppression.bottle.{}.{name}", bottle.id);
        let word = inputs.need_some(key("agent"), bottle.charge.agent.as_ref());
        let mass = inputs.need(key("agent_mass"), bottle.charge.agent_mass);
        let (Some(word), Some(mass)) = (word, mass) else { return Err(NoValue::MissingInput) };
        match agent(&word.text) {
            Some(known) if known.name == "FK-5-1-12" => Ok(mass),
            _ => Err(NoValue::Because(format!(
                "published concentrations by fuel are known here for FK-5-1-12 only, not for {}",
                word.text
            ))),
        }
    }));
    let (charge, fuel) = (charge?, fuel?);
    let (Some(volume), Some(coldest)) = (volume, coldest) else { return Err(NoValue::MissingInput) };
    let vapor = vapor_volume(Temperature::from_si(coldest))?;
    let mass = |floor: f64| {
        let design = design_concentration(fuel.extinguishing, floor)?;
        flooding_mass(Volume::from_si(volume), vapor, design).map(|mass| (design, mass.si()))
    };
    let ((design, least), (_, other)) = (mass(LEAST_DESIGN)?, mass(OTHER_LEAST_DESIGN)?);
    inputs.only(
        Bound::AtMost,
        "at most: a closed and tight space; a car's is open, and loses agent to the wind",
    );
    let percent = |share: f64| significant(share * 100.0, 3);
    inputs.note(format_args!(
        "{}: {} % in the cup, {} % by design, {} of agent; {}",
        fuel.fuel,
        percent(fuel.extinguishing),
        percent(design),
        both(least, Kind::Mass),
        CLASS_B_SOURCE
    ));
    if other > least {
        inputs.note(format_args!("{} with another maker's floor of 5.89 %", both(other, Kind::Mass)));
    }
    let ratio = charge / least;
    if ratio >= 1.0 {
        inputs.note("enough for a closed space of this size; this one is open");
    }
    Ok(ratio)
}
