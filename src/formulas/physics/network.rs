//! A branching network of bottles, lines and nozzles: its description, its checks and its shape.
//!
//! Everything is SI. The network is one tree: between any two nodes there is exactly one way.

use std::f64::consts::PI;

use super::friction::{FIRST_ROOT, Law, ROUGHEST, Wall};
use crate::units::STANDARD_GRAVITY;

/// The liquid in the lines; one for the whole network.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fluid {
    /// Density ρ, kg/m3.
    pub density: f64,
    /// Dynamic viscosity μ, Pa.s.
    pub viscosity: f64,
}

/// A gas-charged bottle, as it stands when its valve opens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bottle {
    /// The node it stands at.
    pub node: usize,
    /// Volume of the gas V₀, m3.
    pub gas_volume: f64,
    /// Gauge pressure of the gas, Pa.
    pub pressure: f64,
    /// Mass of the liquid, kg.
    pub liquid_mass: f64,
    /// Exponent n of p Vⁿ = constant: 1.0 isothermal to 1.4 adiabatic.
    pub gas_exponent: f64,
    /// Whether a check valve keeps liquid from running back into it.
    pub check_valve: bool,
}

/// A full-bore line between two nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// The node it leaves.
    pub from: usize,
    /// The node it leads to.
    pub to: usize,
    /// Length L, m.
    pub length: f64,
    /// Bore d, m.
    pub bore: f64,
    /// Wall roughness ε, m.
    pub roughness: f64,
    /// Loss coefficient at its inlet, charged in full from the first drop.
    pub inlet_k: f64,
    /// Loss coefficient of its fittings together, spread along its length.
    pub fitting_k: f64,
}

/// A nozzle: Q = conductance × √Δp to ambient.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nozzle {
    /// The node it stands at.
    pub node: usize,
    /// Volume flow over the root of the pressure drop, m3/s per Pa^0.5, for the liquid of this network.
    pub conductance: f64,
}

impl Nozzle {
    /// A nozzle of discharge coefficient C_d and orifice area A (m2) passing a liquid of density ρ: C_d A √(2/ρ).
    pub fn orifice(node: usize, discharge_coefficient: f64, area: f64, density: f64) -> Self {
        Self { node, conductance: discharge_coefficient * area * (2.0 / density).sqrt() }
    }

    /// A nozzle of a factor stated for a liquid of 1000 kg/m3 (m3/s per Pa^0.5): factor × √(1000/ρ).
    pub fn factor(node: usize, factor: f64, density: f64) -> Self {
        Self { node, conductance: factor * (1000.0 / density).sqrt() }
    }
}

/// A network as it is described; nothing in it is checked yet.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Height of each node above any one level, m. A node is named by its place in this list.
    pub elevations: Vec<f64>,
    /// The bottles, at most one at a node.
    pub bottles: Vec<Bottle>,
    /// The lines.
    pub lines: Vec<Line>,
    /// The nozzles.
    pub nozzles: Vec<Nozzle>,
    /// The liquid.
    pub fluid: Fluid,
    /// The turbulent friction law; [`Law::ColebrookWhite`] except for comparisons.
    pub law: Law,
}

/// What kind of part a fault lies in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// A node.
    Node,
    /// A bottle.
    Bottle,
    /// A line.
    Line,
    /// A nozzle.
    Nozzle,
    /// The liquid.
    Fluid,
}

/// Why a plan is no network. Each index is the place in the plan's own list.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// There is no bottle.
    NoBottle,
    /// There is no nozzle.
    NoNozzle,
    /// A part names a node that does not exist.
    NoSuchNode(Part, usize),
    /// A value of a part is not finite or lies outside what it can be; the word says which value.
    Value(Part, usize, &'static str),
    /// A bottle has no pressure above ambient.
    NoCharge(usize),
    /// A bottle has no gas space to push with.
    NoGas(usize),
    /// A bottle has no liquid.
    NoLiquid(usize),
    /// A nozzle is blocked: it passes nothing at any pressure.
    Blocked(usize),
    /// Two bottles stand at one node; the index is the second.
    SharedNode(usize),
    /// A nozzle stands at the node of a bottle.
    NozzleAtBottle(usize),
    /// A line leads into a bottle.
    IntoBottle(usize),
    /// A line closes a ring.
    Ring(usize),
    /// No line joins a node to the first bottle.
    Apart(usize),
}

/// One line, seen from the first bottle: between the node at its own place in [`Network::links`] plus one and `parent`.
#[derive(Clone, Debug)]
pub(crate) struct Link {
    /// The line's place in the plan.
    pub line: usize,
    /// Position of the end nearer the first bottle.
    pub parent: usize,
    /// Whether `parent` is the end the line leaves from.
    pub forward: bool,
    /// Whether liquid may fill it from the parent's end, and from the other.
    pub fills: [bool; 2],
    /// Height of the far end over the parent, as a pressure: ρ g Δz.
    pub rise: f64,
    pub length: f64,
    /// Bore area, m2.
    pub area: f64,
    bore: f64,
    inlet_k: f64,
    fitting_k: f64,
    /// Reynolds number for one unit of flow.
    reynolds: f64,
    /// ρ / 2A², the dynamic pressure for one unit of flow.
    dynamic: f64,
    wall: Wall,
}

/// The wetted length is never taken shorter than this share of a line, so that a flow into an empty line is finite.
pub(crate) const LEAST_WETTED: f64 = 1e-6;

/// What resists in the wetted part of a line: all of it that does not depend on the flow.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Wetted {
    /// Wetted length in bores.
    slender: f64,
    /// Loss coefficient of the inlet and of the fittings passed.
    k: f64,
}

impl Link {
    /// Its first `wetted` metres.
    pub fn wetted(&self, wetted: f64) -> Wetted {
        let wetted = wetted.max(LEAST_WETTED * self.length);
        Wetted { slender: wetted / self.bore, k: self.inlet_k + self.fitting_k * wetted / self.length }
    }

    /// Pressure lost over the wetted part at the flow `q` ≥ 0, and its derivative. `root` is the 1/√f of the last time.
    pub fn loss(&self, wetted: Wetted, q: f64, root: &mut f64) -> (f64, f64) {
        let Wetted { slender, k } = wetted;
        let reynolds = self.reynolds * q;
        if reynolds < super::friction::LAMINAR {
            let viscous = self.dynamic * 64.0 / self.reynolds * slender;
            return (q * (viscous + self.dynamic * k * q), viscous + 2.0 * self.dynamic * k * q);
        }
        let f = self.wall.factor_near(reynolds, root);
        let along = f.value * slender;
        let momentum = self.dynamic * q;
        (momentum * (along + k) * q, momentum * ((2.0 + f.slope) * along + 2.0 * k))
    }

    /// A first guess of the flow that `drive` pascals push through the wetted part.
    pub fn guess(&self, wetted: Wetted, drive: f64) -> f64 {
        let turbulent =
            (drive / (self.dynamic * (0.03 * wetted.slender + self.inlet_k + self.fitting_k + 1e-9))).sqrt();
        turbulent.min(drive * self.reynolds / (self.dynamic * 64.0 * wetted.slender))
    }

    /// Pressure lost over the whole line for one unit of flow squared, were its friction factor that of
    /// [`FIRST_ROOT`].
    pub fn rough_resistance(&self) -> f64 {
        let along = self.length / self.bore / (FIRST_ROOT * FIRST_ROOT);
        self.dynamic * (along + self.inlet_k + self.fitting_k)
    }
}

/// A checked network, its nodes put in an order in which every node comes after the one that leads to it.
#[derive(Clone, Debug)]
pub struct Network {
    plan: Plan,
    /// `links[k]` ties the node at position `k + 1` to an earlier one.
    pub(crate) links: Vec<Link>,
    /// The bottle at each position.
    pub(crate) bottle_at: Vec<Option<usize>>,
    /// The position of each nozzle.
    pub(crate) nozzle_at: Vec<usize>,
    /// Height of each position over the first bottle, as a pressure: ρ g Δz.
    pub(crate) level: Vec<f64>,
    /// Places in `links` of the lines at each position.
    pub(crate) touching: Vec<Vec<usize>>,
}

/// Reads a list at a place that [`Network::new`] has checked; not-a-number can only follow from a mistake in this
/// program, and the solver refuses it.
pub(crate) fn at(list: &[f64], place: usize) -> f64 {
    list.get(place).copied().unwrap_or(f64::NAN)
}

/// Adds to a list at a checked place.
pub(crate) fn add(list: &mut [f64], place: usize, amount: f64) {
    if let Some(entry) = list.get_mut(place) {
        *entry += amount;
    }
}

impl Network {
    /// Checks a plan and orders it.
    ///
    /// # Errors
    /// The first [`Fault`] found: a value that cannot be, a ring, a part with no way to the first bottle, a bottle
    /// without charge, a blocked nozzle.
    pub fn new(plan: Plan) -> Result<Self, Fault> {
        check_values(&plan)?;
        let bottle_of = bottles_by_node(&plan)?;
        let (order, mut links) = walk(&plan)?;
        let mut position = vec![0; plan.elevations.len()];
        for (place, &node) in order.iter().enumerate() {
            if let Some(entry) = position.get_mut(node) {
                *entry = place;
            }
        }
        let bottle_at: Vec<_> = order.iter().map(|&node| bottle_of.get(node).copied().flatten()).collect();
        let nozzle_at: Vec<_> =
            plan.nozzles.iter().map(|n| position.get(n.node).copied().unwrap_or_default()).collect();
        let mut touching = vec![Vec::new(); order.len()];
        for (k, link) in links.iter().enumerate() {
            for place in [link.parent, k + 1] {
                if let Some(list) = touching.get_mut(place) {
                    list.push(k);
                }
            }
        }
        set_fills(&mut links, &bottle_at, &nozzle_at);
        let mut level = vec![0.0];
        for link in &links {
            level.push(at(&level, link.parent) + link.rise);
        }
        Ok(Self { plan, links, bottle_at, nozzle_at, level, touching })
    }

    /// The plan it was made from.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }
}

fn check_values(plan: &Plan) -> Result<(), Fault> {
    let positive = |value: f64| value.is_finite() && value > 0.0;
    let not_negative = |value: f64| value.is_finite() && value >= 0.0;
    let fail =
        |good: bool, part, place, word| if good { Ok(()) } else { Err(Fault::Value(part, place, word)) };
    fail(positive(plan.fluid.density), Part::Fluid, 0, "density")?;
    fail(positive(plan.fluid.viscosity), Part::Fluid, 0, "viscosity")?;
    for (i, z) in plan.elevations.iter().enumerate() {
        fail(z.is_finite(), Part::Node, i, "elevation")?;
    }
    for (i, b) in plan.bottles.iter().enumerate() {
        let values = [b.gas_volume, b.pressure, b.liquid_mass, b.gas_exponent];
        fail(values.iter().all(|v| v.is_finite()), Part::Bottle, i, "not a number")?;
        for (value, fault) in [
            (b.pressure, Fault::NoCharge(i)),
            (b.gas_volume, Fault::NoGas(i)),
            (b.liquid_mass, Fault::NoLiquid(i)),
        ] {
            if value <= 0.0 {
                return Err(fault);
            }
        }
        fail((1.0..=2.0).contains(&b.gas_exponent), Part::Bottle, i, "gas exponent")?;
    }
    for (i, l) in plan.lines.iter().enumerate() {
        fail(positive(l.length), Part::Line, i, "length")?;
        fail(positive(l.bore), Part::Line, i, "bore")?;
        fail((0.0..=ROUGHEST * l.bore).contains(&l.roughness), Part::Line, i, "roughness")?;
        fail(not_negative(l.inlet_k), Part::Line, i, "inlet loss")?;
        fail(not_negative(l.fitting_k), Part::Line, i, "fitting loss")?;
    }
    for (i, n) in plan.nozzles.iter().enumerate() {
        fail(n.conductance.is_finite(), Part::Nozzle, i, "conductance")?;
        if n.conductance <= 0.0 {
            return Err(Fault::Blocked(i));
        }
    }
    Ok(())
}

/// Checks that every part stands at a node of its own kind, and finds the bottle of each node.
fn bottles_by_node(plan: &Plan) -> Result<Vec<Option<usize>>, Fault> {
    if plan.bottles.is_empty() {
        return Err(Fault::NoBottle);
    }
    if plan.nozzles.is_empty() {
        return Err(Fault::NoNozzle);
    }
    let mut bottle_of = vec![None; plan.elevations.len()];
    for (i, bottle) in plan.bottles.iter().enumerate() {
        let entry = bottle_of.get_mut(bottle.node).ok_or(Fault::NoSuchNode(Part::Bottle, i))?;
        if entry.replace(i).is_some() {
            return Err(Fault::SharedNode(i));
        }
    }
    for (i, nozzle) in plan.nozzles.iter().enumerate() {
        match bottle_of.get(nozzle.node) {
            None => return Err(Fault::NoSuchNode(Part::Nozzle, i)),
            Some(Some(_)) => return Err(Fault::NozzleAtBottle(i)),
            Some(None) => {}
        }
    }
    for (i, line) in plan.lines.iter().enumerate() {
        match (bottle_of.get(line.from), bottle_of.get(line.to)) {
            (None, _) | (_, None) => return Err(Fault::NoSuchNode(Part::Line, i)),
            (_, Some(Some(_))) => return Err(Fault::IntoBottle(i)),
            _ => {}
        }
    }
    Ok(bottle_of)
}

/// Walks the tree from the first bottle: the nodes in order, and the link to each after the first.
fn walk(plan: &Plan) -> Result<(Vec<usize>, Vec<Link>), Fault> {
    let mut lines_at = vec![Vec::new(); plan.elevations.len()];
    for (i, line) in plan.lines.iter().enumerate() {
        for (node, forward) in [(line.from, true), (line.to, false)] {
            if let Some(list) = lines_at.get_mut(node) {
                list.push((i, line, forward));
            }
        }
    }
    let mut order: Vec<usize> = plan.bottles.first().map(|b| b.node).into_iter().collect();
    let mut links: Vec<Link> = Vec::new();
    let mut seen: Vec<bool> = (0..plan.elevations.len()).map(|node| order.contains(&node)).collect();
    let mut used = vec![false; plan.lines.len()];
    let mut next = 0;
    while let Some(&node) = order.get(next) {
        for &(i, line, forward) in lines_at.get(node).into_iter().flatten() {
            if used.get_mut(i).is_none_or(|u| std::mem::replace(u, true)) {
                continue;
            }
            let far = if forward { line.to } else { line.from };
            if seen.get_mut(far).is_none_or(|s| std::mem::replace(s, true)) {
                return Err(Fault::Ring(i));
            }
            links.push(link(plan, i, line, next, forward));
            order.push(far);
        }
        next += 1;
    }
    match seen.iter().position(|&reached| !reached) {
        Some(node) => Err(Fault::Apart(node)),
        None => Ok((order, links)),
    }
}

fn link(plan: &Plan, place: usize, line: &Line, parent: usize, forward: bool) -> Link {
    let area = PI / 4.0 * line.bore * line.bore;
    let drop = at(&plan.elevations, line.from) - at(&plan.elevations, line.to);
    let rise = if forward { -drop } else { drop };
    Link {
        line: place,
        parent,
        forward,
        fills: [true, true],
        rise: plan.fluid.density * STANDARD_GRAVITY * rise,
        length: line.length,
        area,
        bore: line.bore,
        inlet_k: line.inlet_k,
        fitting_k: line.fitting_k,
        reynolds: plan.fluid.density * line.bore / (area * plan.fluid.viscosity),
        dynamic: plan.fluid.density / (2.0 * area * area),
        wall: Wall::new(line.roughness / line.bore, plan.law),
    }
}

/// Liquid never runs from the network towards a bottle: a line that has bottles but no nozzle behind one end fills
/// from that end only.
fn set_fills(links: &mut [Link], bottle_at: &[Option<usize>], nozzle_at: &[usize]) {
    // What lies on the far side of each position, bottles closing the way: [a nozzle, a bottle].
    let count = bottle_at.len();
    let mut below = vec![[0_i64; 2]; count];
    for &place in nozzle_at {
        if let Some([nozzles, _]) = below.get_mut(place) {
            *nozzles += 1;
        }
    }
    for (entry, bottle) in below.iter_mut().zip(bottle_at) {
        if bottle.is_some() {
            *entry = [0, 1];
        }
    }
    let is_bottle = |place: usize| bottle_at.get(place).is_some_and(Option::is_some);
    for (k, link) in links.iter().enumerate().rev() {
        let [n, b] = below.get(k + 1).copied().unwrap_or_default();
        if let Some([nozzles, bottles]) = below.get_mut(link.parent).filter(|_| !is_bottle(link.parent)) {
            *nozzles += n;
            *bottles += b;
        }
    }
    // The other way: what lies behind each link on its parent's side.
    let mut all = below.clone();
    for (k, link) in links.iter_mut().enumerate() {
        let far = below.get(k + 1).copied().unwrap_or_default();
        let [n, b] = all.get(link.parent).copied().unwrap_or_default();
        let behind = if is_bottle(link.parent) { [0, 1] } else { [n - far[0], b - far[1]] };
        if let Some([nozzles, bottles]) = all.get_mut(k + 1).filter(|_| !is_bottle(k + 1)) {
            *nozzles += behind[0];
            *bottles += behind[1];
        }
        let open = |[nozzles, bottles]: [i64; 2]| nozzles > 0 || bottles == 0;
        link.fills = [open(far), open(behind)];
    }
}
