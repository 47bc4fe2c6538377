//! The car's suppression lines as networks to be solved: each connected one by itself, every input asked by name.

use std::collections::BTreeSet;

use crate::model::{Bottle, Car, Fittings, LeavesBy, Nozzle, SupplyLine};
use crate::physics::discharge::{self, Outcome, Settings};
use crate::physics::friction::{Fitting, Law, complete_turbulence};
use crate::physics::gas::usual_exponent;
use crate::physics::network::{self, Fault, Network, Part, Plan};
use crate::physics::path::total_turn;
use crate::units::{Kind, Length, NozzleFactor, Ratio, significant};

use super::agent;
use super::bottle::gauge::pressure_at;
use super::defaults::{DISCHARGE_COEFFICIENT, OUTLET_K, ROUGHNESS};
use super::inputs::{Inputs, NoValue, Worked};
use super::line::line_length;
use super::parts::{both, bottle_temperature};
use super::situation::Situation;

/// The exponent that a discharge is first run with, to learn how long it lasts.
const FIRST_EXPONENT: f64 = 1.1;

/// One connected network of the car.
#[derive(Debug)]
pub struct CarNetwork<'c> {
    /// Its bottles, in file order.
    pub bottles: Vec<&'c Bottle>,
    /// Its lines, in file order.
    pub lines: Vec<&'c SupplyLine>,
    /// Its nozzles, in file order.
    pub nozzles: Vec<&'c Nozzle>,
    nodes: Vec<&'c str>,
}

/// Every connected network that has a bottle, in the order of the bottles.
pub fn networks(car: &Car) -> Vec<CarNetwork<'_>> {
    let suppression = &car.suppression;
    let mut seen: BTreeSet<&str> = BTreeSet::new();
    let mut found = Vec::new();
    for bottle in &suppression.bottles {
        if seen.contains(bottle.id.as_str()) {
            continue;
        }
        let nodes = joined(car, &bottle.id);
        seen.extend(&nodes);
        let within = |id: &str| nodes.contains(id);
        found.push(CarNetwork {
            bottles: suppression.bottles.iter().filter(|bottle| within(&bottle.id)).collect(),
            lines: suppression.lines.iter().filter(|line| within(&line.from.text)).collect(),
            nozzles: suppression.nozzles.iter().filter(|nozzle| within(&nozzle.id)).collect(),
            nodes: nodes.iter().copied().collect(),
        });
    }
    found
}

/// Every node joined to one by lines.
fn joined<'c>(car: &'c Car, start: &'c str) -> BTreeSet<&'c str> {
    let mut nodes = BTreeSet::from([start]);
    let mut grew = true;
    while grew {
        grew = false;
        for line in &car.suppression.lines {
            let (from, to) = (line.from.text.as_str(), line.to.text.as_str());
            if nodes.contains(from) != nodes.contains(to) {
                nodes.extend([from, to]);
                grew = true;
            }
        }
    }
    nodes
}

impl CarNetwork<'_> {
    /// What its numbers are of: the car where it is the only one, else its bottles.
    pub fn name(&self, car: &Car) -> String {
        if self.bottles.len() == car.suppression.bottles.len() {
            return car.id.clone();
        }
        self.bottles.iter().map(|bottle| bottle.id.as_str()).collect::<Vec<_>>().join("+")
    }

    /// Builds and runs the network.
    ///
    /// # Errors
    /// What is missing, by name, or why it cannot flow.
    pub fn run(&self, inputs: &mut Inputs<'_>, s: &Situation<'_>, settings: Settings) -> Worked<Outcome> {
        let mut plan = self.plan(inputs, s)?;
        let exponent = self.exponent(inputs, s, &plan, settings)?;
        for bottle in &mut plan.bottles {
            bottle.gas_exponent = exponent;
        }
        self.discharge(plan, settings, inputs)
    }

    fn discharge(&self, plan: Plan, settings: Settings, inputs: &mut Inputs<'_>) -> Worked<Outcome> {
        let net = Network::new(plan).map_err(|fault| NoValue::Because(self.fault(fault)))?;
        discharge::run(&net, settings).map_err(|refusal| match refusal {
            discharge::Refusal::Backflow { bottle } => self.backflow(inputs, bottle),
            other => NoValue::Because(refusal_in_words(&other).to_owned()),
        })
    }

    /// Liquid would run back into a bottle: what is missing if its check valve was not spoken of, else why not.
    fn backflow(&self, inputs: &mut Inputs<'_>, bottle: usize) -> NoValue {
        let Some(bottle) = self.bottles.get(bottle) else {
            return NoValue::because("the other bottles push agent back into one of its bottles");
        };
        if bottle.charge.check_valve.is_none() {
            let path = format!("suppression.bottle.{}.check_valve", bottle.id);
            inputs.need_some::<bool>(path, None);
            return NoValue::MissingInput;
        }
        NoValue::Because(format!(
            "the other bottles push agent back into {}, which has no check valve: fit one, or charge the bottles alike",
            bottle.id
        ))
    }

    /// The network as the solver takes it, its gas at the exponent of a first run.
    ///
    /// # Errors
    /// What is missing, by name; every part is looked at, so that all of it is named at once.
    pub fn plan(&self, inputs: &mut Inputs<'_>, s: &Situation<'_>) -> Worked<Plan> {
        inputs.assume("air ahead of the liquid vents freely at 101 325 Pa");
        let elevations = self.elevations(inputs, s.car);
        let fluid = self.fluid(inputs, s);
        let bottles = self.each_bottle(inputs, s);
        let lines: Vec<Worked<network::Line>> =
            self.lines.iter().map(|line| self.line(inputs, s.car, line)).collect();
        let density = fluid.as_ref().map_or(f64::NAN, |fluid| fluid.density);
        let nozzles: Vec<Worked<network::Nozzle>> =
            self.nozzles.iter().map(|nozzle| self.nozzle(inputs, nozzle, density)).collect();
        Ok(Plan {
            elevations: elevations?,
            fluid: fluid?,
            bottles: bottles?,
            lines: super::parts::all(lines)?,
            nozzles: super::parts::all(nozzles)?,
            law: Law::ColebrookWhite,
        })
    }

    /// The gas exponent: as given, else the usual one for a discharge of this length, which a first run tells.
    fn exponent(
        &self,
        inputs: &mut Inputs<'_>,
        s: &Situation<'_>,
        plan: &Plan,
        settings: Settings,
    ) -> Worked<f64> {
        let path = "suppression.gas_exponent";
        if let Some(given) = inputs.given(path, s.car.suppression.gas_exponent) {
            return Ok(given);
        }
        if let Some(sampled) = inputs.stands_in(path) {
            return Ok(sampled);
        }
        let first = self.discharge(plan.clone(), settings.without_curves(), inputs)?;
        let usual = usual_exponent(first.duration);
        inputs.note(format_args!(
            "gas exponent {} for a discharge of {}, common practice; held to measured runs only while the gas grows to 1.6 times its volume",
            significant(usual, 3),
            both(first.duration.si(), Kind::Time)
        ));
        Ok(inputs.or_default::<Ratio>(path, None, usual))
    }

    fn index(&self, id: &str) -> usize {
        self.nodes.iter().position(|node| *node == id).unwrap_or(usize::MAX)
    }

    fn elevations(&self, inputs: &mut Inputs<'_>, car: &Car) -> Worked<Vec<f64>> {
        let suppression = &car.suppression;
        let mut elevations = Vec::new();
        for node in &self.nodes {
            let bottle =
                suppression.bottles.iter().find(|bottle| bottle.id == *node).map(|b| ("bottle", b.at));
            let tee = || suppression.tees.iter().find(|tee| tee.id == *node).map(|tee| ("tee", tee.at));
            let nozzle =
                || suppression.nozzles.iter().find(|nozzle| nozzle.id == *node).map(|n| ("nozzle", n.at));
            let Some((table, at)) = bottle.or_else(tee).or_else(nozzle) else {
                return Err(NoValue::MissingInput);
            };
            if let Some([_, _, z]) = inputs.need_some(format!("suppression.{table}.{node}.at"), at) {
                elevations.push(z);
            }
        }
        if elevations.len() == self.nodes.len() { Ok(elevations) } else { Err(NoValue::MissingInput) }
    }

    /// One agent in all of its bottles, at the temperature of the first.
    fn fluid(&self, inputs: &mut Inputs<'_>, s: &Situation<'_>) -> Worked<network::Fluid> {
        let mut liquids = Vec::new();
        for bottle in &self.bottles {
            liquids.push(agent::liquid(inputs, s, bottle));
        }
        let liquids = super::parts::all(liquids)?;
        let names: BTreeSet<&str> = liquids.iter().map(|liquid| liquid.name.as_str()).collect();
        if names.len() > 1 {
            let names: Vec<&str> = names.into_iter().collect();
            return Err(NoValue::because(format!(
                "its bottles hold different agents: {}",
                names.join(" and ")
            )));
        }
        let Some(first) = liquids.first() else { return Err(NoValue::because("it has no bottle")) };
        if first.boils {
            inputs.note("liquid only: real flow is slower, because this agent boils at ambient pressure");
        }
        Ok(network::Fluid { density: first.density, viscosity: first.viscosity })
    }

    fn each_bottle(&self, inputs: &mut Inputs<'_>, s: &Situation<'_>) -> Worked<Vec<network::Bottle>> {
        let mut found = Vec::new();
        for bottle in &self.bottles {
            found.push(self.bottle(inputs, s, bottle));
        }
        super::parts::all(found)
    }

    fn bottle(&self, inputs: &mut Inputs<'_>, s: &Situation<'_>, bottle: &Bottle) -> Worked<network::Bottle> {
        let key = |name: &str| format!("suppression.bottle.{}.{name}", bottle.id);
        let mass = inputs.need(key("agent_mass"), bottle.charge.agent_mass);
        let volume = inputs.need(key("volume"), bottle.charge.volume);
        let kelvin = bottle_temperature(inputs, s, bottle);
        let pressure = match kelvin {
            Some(kelvin) => pressure_at(inputs, bottle, kelvin),
            None => Err(NoValue::MissingInput),
        };
        let density = agent::density(inputs, s, bottle);
        let (Some(mass), Some(volume)) = (mass, volume) else { return Err(NoValue::MissingInput) };
        Ok(network::Bottle {
            node: self.index(&bottle.id),
            gas_volume: volume - mass / density?,
            pressure: pressure?,
            liquid_mass: mass,
            gas_exponent: FIRST_EXPONENT,
            check_valve: bottle.charge.check_valve == Some(true),
        })
    }

    fn line(&self, inputs: &mut Inputs<'_>, car: &Car, line: &SupplyLine) -> Worked<network::Line> {
        let path = format!("suppression.line.{}", line.run.id);
        let od = inputs.need(format!("{path}.tube.od"), line.run.tube.od);
        let wall = inputs.need(format!("{path}.tube.wall"), line.run.tube.wall);
        let length = line_length(inputs, &path, &line.run);
        let roughness = inputs.or_default::<Length>(format!("{path}.roughness"), line.roughness, ROUGHNESS);
        let extra = inputs.or_default::<Ratio>(format!("{path}.inlet_k"), line.inlet_k, 0.0);
        let start = self.start_loss(inputs, car, line, &path);
        let fittings = fittings(inputs, line, &path);
        let (Some(od), Some(wall)) = (od, wall) else { return Err(NoValue::MissingInput) };
        let bore = od - 2.0 * wall;
        let relative = roughness / bore;
        Ok(network::Line {
            from: self.index(&line.from.text),
            to: self.index(&line.to.text),
            length: length?,
            bore,
            roughness,
            inlet_k: start.of(relative) + extra,
            fitting_k: fittings * complete_turbulence(relative),
        })
    }

    /// The loss a line is charged at its start: the bottle's outlet, or the leg it leaves a tee or nozzle by.
    fn start_loss(&self, inputs: &mut Inputs<'_>, car: &Car, line: &SupplyLine, path: &str) -> StartLoss {
        if let Some(bottle) = car.suppression.bottles.iter().find(|bottle| bottle.id == line.from.text) {
            let key = format!("suppression.bottle.{}.outlet_k", bottle.id);
            return StartLoss::Fixed(inputs.or_default::<Ratio>(key, bottle.charge.outlet_k, OUTLET_K));
        }
        match inputs.some_or(format!("{path}.leaves_by"), line.leaves_by, LeavesBy::Branch) {
            LeavesBy::Run => StartLoss::Fitting(Fitting::TeeRun),
            LeavesBy::Branch => StartLoss::Fitting(Fitting::TeeBranch),
        }
    }

    fn nozzle(&self, inputs: &mut Inputs<'_>, nozzle: &Nozzle, density: f64) -> Worked<network::Nozzle> {
        let key = |name: &str| format!("suppression.nozzle.{}.{name}", nozzle.id);
        let node = self.index(&nozzle.id);
        if let Some(factor) = inputs.given::<NozzleFactor>(key("factor"), nozzle.factor) {
            return Ok(network::Nozzle::factor(node, factor, density));
        }
        let orifice = inputs.need(key("orifice"), nozzle.orifice).ok_or(NoValue::MissingInput)?;
        let coefficient = inputs.or_default::<Ratio>(key("cd"), nozzle.cd, DISCHARGE_COEFFICIENT);
        let area = std::f64::consts::PI * orifice * orifice / 4.0;
        Ok(network::Nozzle::orifice(node, coefficient, area, density))
    }

    /// The part a fault lies in, by its id.
    fn part(&self, part: Part, index: usize) -> String {
        let named = match part {
            Part::Node => self.nodes.get(index).map(|id| format!("the node {id}")),
            Part::Bottle => self.bottles.get(index).map(|bottle| format!("the bottle {}", bottle.id)),
            Part::Line => self.lines.get(index).map(|line| format!("the line {}", line.run.id)),
            Part::Nozzle => self.nozzles.get(index).map(|nozzle| format!("the nozzle {}", nozzle.id)),
            Part::Fluid => Some("the agent".to_owned()),
        };
        named.unwrap_or_else(|| "a part of it".to_owned())
    }

    fn fault(&self, fault: Fault) -> String {
        match fault {
            Fault::NoBottle => "it has no bottle".to_owned(),
            Fault::NoNozzle => "it feeds no nozzle: no line leads from it to one".to_owned(),
            Fault::NoSuchNode(part, index) => {
                format!("{} stands at a node that does not exist", self.part(part, index))
            }
            Fault::Value(part, index, what) => format!("{} has no usable {what}", self.part(part, index)),
            Fault::NoCharge(index) => {
                format!("{} has no pressure to push with", self.part(Part::Bottle, index))
            }
            Fault::NoGas(index) => {
                format!("{} has no gas space to push with", self.part(Part::Bottle, index))
            }
            Fault::NoLiquid(index) => format!("{} has no agent in it", self.part(Part::Bottle, index)),
            Fault::Blocked(index) => format!("{} is blocked", self.part(Part::Nozzle, index)),
            Fault::SharedNode(index) => {
                format!("{} stands where another one does", self.part(Part::Bottle, index))
            }
            Fault::NozzleAtBottle(index) => format!("{} stands at a bottle", self.part(Part::Nozzle, index)),
            Fault::IntoBottle(index) => format!("{} leads into a bottle", self.part(Part::Line, index)),
            Fault::Ring(index) => format!("{} closes a ring", self.part(Part::Line, index)),
            Fault::Apart(index) => format!("{} is not joined to the rest", self.part(Part::Node, index)),
        }
    }
}

fn refusal_in_words(refusal: &discharge::Refusal) -> &'static str {
    match refusal {
        discharge::Refusal::NothingFlows => {
            "nothing flows: every nozzle stands higher than the pressure lifts"
        }
        discharge::Refusal::Stalls { .. } => {
            "the discharge stops with agent left in every bottle: the charge is too low or the gas space too small"
        }
        discharge::Refusal::Unsettled { .. } => "the flows of this network could not be found",
        discharge::Refusal::Backflow { .. } => "the other bottles push agent back into one of its bottles",
    }
}

/// The loss at the start of a line.
enum StartLoss {
    Fixed(f64),
    Fitting(Fitting),
}

impl StartLoss {
    fn of(&self, relative_roughness: f64) -> f64 {
        match self {
            Self::Fixed(k) => *k,
            Self::Fitting(fitting) => fitting.loss(relative_roughness),
        }
    }
}

/// Equivalent lengths of the fittings along a line, in diameters; where they were not counted, the path's turns count
/// as 90 degree bends in proportion.
fn fittings(inputs: &mut Inputs<'_>, line: &SupplyLine, path: &str) -> f64 {
    let counted = |f: Fittings| {
        f64::from(f.elbow_90) * Fitting::Elbow90.equivalent_length()
            + f64::from(f.elbow_45) * Fitting::Elbow45.equivalent_length()
            + f64::from(f.bend_90) * Fitting::Bend90.equivalent_length()
            + f64::from(f.union) * Fitting::Union.equivalent_length()
    };
    let turns = total_turn(&line.run.path).map_or(0.0, |turn| turn.si() / std::f64::consts::FRAC_PI_2);
    let from_path = turns * Fitting::Bend90.equivalent_length();
    inputs.some_or(format!("{path}.fittings"), line.fittings.map(counted), from_path)
}
