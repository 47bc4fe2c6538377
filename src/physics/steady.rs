//! The flows of a network at one instant: which lines are wet, how far, and what the bottles push with.
//!
//! Newton's method on flows and pressures together (Todini and Pilati's gradient method). On a tree each round is one
//! sweep from the tips to the first bottle and one back, so its cost grows with the number of lines and no faster.

use super::network::{Network, Nozzle, add, at};

/// How far liquid has got in a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fill {
    /// No liquid at either end.
    Dry,
    /// Liquid stands in it up to a front, which sees ambient pressure. It came in at the end nearer the first
    /// bottle (`down`) or at the other.
    Front {
        /// Whether the front moves away from the first bottle.
        down: bool,
    },
    /// Liquid from end to end.
    Full,
}

/// The state that the flows depend on, beside the bottle pressures: by link, fill and wetted length (m).
#[derive(Clone, Debug)]
pub(crate) struct Wetting {
    pub fill: Vec<Fill>,
    pub wetted: Vec<f64>,
    /// Whether liquid has reached each position.
    pub wet: Vec<bool>,
}

impl Wetting {
    /// Every line full.
    pub fn full(net: &Network) -> Self {
        Self {
            fill: vec![Fill::Full; net.links.len()],
            wetted: net.links.iter().map(|l| l.length).collect(),
            wet: vec![true; net.bottle_at.len()],
        }
    }
}

/// The rounds of Newton's method did not close in on an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Unsettled;

/// A conductance that stands in for a closed way, so that every pressure stays defined: 1e-14 of a usual one.
const CLOSED: f64 = 1e-24;
/// A flow below this share of the largest may close at once.
const SLIGHT: f64 = 1e-4;
/// Flows below this, m3/s, are rounding: a drop in a year.
const NOISE: f64 = 1e-16;
/// What rounding may leave where a line or nozzle resists next to nothing.
const ROUNDING: f64 = 1e-7;
/// Rounds after which each step is halved, and after which the answer is refused.
const ROUNDS_FULL: usize = 40;
const ROUNDS: usize = 120;

/// Flow through an element, linear in the pressures around the last flow: flow = slope × drive + offset.
#[derive(Clone, Copy)]
struct Linear {
    slope: f64,
    offset: f64,
}

impl Linear {
    fn at(self, drive: f64) -> f64 {
        self.slope * drive + self.offset
    }
}

/// How one round went.
#[derive(Default)]
struct Round {
    change: f64,
    largest: f64,
    unsure: bool,
    broken: bool,
    /// Pressure that opens a closed way.
    least: f64,
    /// The largest flow of the round before.
    scale: f64,
}

impl Round {
    /// Takes the new flow through a way that is open in one direction: `step` where it was open, a guess where it was shut.
    fn take(&mut self, old: f64, step: f64, drive: f64, guess: impl Fn(f64) -> f64) -> f64 {
        let new = if old <= 0.0 {
            if drive > self.least { guess(drive) } else { 0.0 }
        } else if step > 0.0 {
            step
        } else if old > SLIGHT * self.scale {
            // It may be shut, or the rest may be far off yet: close it by degrees, so that it can recover.
            self.unsure = true;
            0.1 * old
        } else {
            0.0
        };
        self.unsure |= (old > 0.0) != (new > 0.0);
        self.note(old, new);
        new
    }

    fn note(&mut self, old: f64, new: f64) {
        self.change = self.change.max((new - old).abs());
        self.largest = self.largest.max(new.abs());
        self.broken |= !new.is_finite();
    }
}

/// The solver and its last answer, from which the next one starts.
#[derive(Clone, Debug)]
pub(crate) struct Flows {
    /// Flow in each link away from the first bottle, m3/s.
    pub link: Vec<f64>,
    /// Flow out of each nozzle, m3/s.
    pub nozzle: Vec<f64>,
    /// Level pressure at each position, Pa: gauge pressure plus ρ g times the height over the first bottle. Between
    /// nodes joined by a full line at rest it is the same to the last digit, which a gauge pressure is not.
    pub pressure: Vec<f64>,
    ground: Vec<f64>,
    source: Vec<f64>,
    slope: Vec<f64>,
    offset: Vec<f64>,
}

impl Flows {
    pub fn new(net: &Network) -> Self {
        let (links, nodes) = (net.links.len(), net.bottle_at.len());
        Self {
            link: vec![0.0; links],
            nozzle: vec![0.0; net.nozzle_at.len()],
            pressure: vec![0.0; nodes],
            ground: vec![0.0; nodes],
            source: vec![0.0; nodes],
            slope: vec![0.0; links],
            offset: vec![0.0; links],
        }
    }

    /// Finds the flows for bottles at the given gauge pressures, to a share `tolerance` of the largest flow.
    pub fn solve(
        &mut self,
        net: &Network,
        wetting: &Wetting,
        bottles: &[f64],
        tolerance: f64,
    ) -> Result<(), Unsettled> {
        let started_warm = self.link.iter().any(|&q| q != 0.0);
        let mut result = self.rounds(net, wetting, bottles, tolerance);
        if result.is_err() {
            self.link.fill(0.0);
            self.nozzle.fill(0.0);
            if started_warm {
                result = self.rounds(net, wetting, bottles, tolerance);
            }
        }
        result
    }

    fn rounds(
        &mut self,
        net: &Network,
        wetting: &Wetting,
        bottles: &[f64],
        tolerance: f64,
    ) -> Result<(), Unsettled> {
        let highest = bottles.iter().fold(0.0, |a: f64, &b| a.max(b.abs()));
        let (mut near, mut scale) = (true, 0.0);
        for count in 0..ROUNDS {
            self.assemble(net, wetting, bottles);
            self.eliminate(net, wetting, bottles);
            // A way that closed opens again only when the rest has come near its answer, or they take turns for ever.
            let least = if near || count < 2 { 1e-12 * highest } else { f64::INFINITY };
            let start = Round { least, scale, ..Round::default() };
            let done = self.update(net, wetting, start, count >= ROUNDS_FULL);
            scale = done.largest;
            near = done.change <= 1e-3 * done.largest + NOISE;
            if done.broken {
                return Err(Unsettled);
            }
            // Where rounding keeps the last digits moving, the rounds end all the same.
            let enough = if count < ROUNDS_FULL { tolerance } else { tolerance.max(ROUNDING) };
            if least.is_finite() && !done.unsure && done.change <= enough * done.largest + NOISE {
                return Ok(());
            }
        }
        Err(Unsettled)
    }

    /// Makes every element linear and sums, at each position, conductance to known pressures and inflow.
    fn assemble(&mut self, net: &Network, wetting: &Wetting, bottles: &[f64]) {
        self.ground.fill(0.0);
        self.source.fill(0.0);
        for (&place, (&flow, nozzle)) in net.nozzle_at.iter().zip(self.nozzle.iter().zip(&net.plan().nozzles))
        {
            let linear = nozzle_line(nozzle, flow);
            add(&mut self.ground, place, linear.slope);
            add(&mut self.source, place, linear.slope * at(&net.level, place) - linear.offset);
        }
        for (k, link) in net.links.iter().enumerate() {
            let fill = wetting.fill.get(k).copied().unwrap_or(Fill::Dry);
            let wetted = at(&wetting.wetted, k);
            let linear = link_line(net, k, fill, wetted, at(&self.link, k));
            let (Some(slope), Some(offset)) = (self.slope.get_mut(k), self.offset.get_mut(k)) else {
                continue;
            };
            (*slope, *offset) = (linear.slope, linear.offset);
            if fill == Fill::Dry {
                continue;
            }
            let front = front_level(net, k, fill, wetted);
            let ends = [(link.parent, -linear.offset), (k + 1, linear.offset)];
            let known = ends.map(|(place, _)| bottle_level(net, place, bottles));
            let known = match fill {
                Fill::Front { down: true } => [known[0], Some(front)],
                Fill::Front { down: false } => [Some(front), known[1]],
                _ => known,
            };
            for ((place, inflow), (own, other)) in
                ends.into_iter().zip([(known[0], known[1]), (known[1], known[0])])
            {
                if own.is_some() {
                    continue;
                }
                add(&mut self.source, place, inflow);
                if let Some(p) = other {
                    add(&mut self.ground, place, linear.slope);
                    add(&mut self.source, place, linear.slope * p);
                }
            }
        }
    }

    /// Solves the pressures: tips to root, then root to tips. Only sums of positive numbers are divided by.
    fn eliminate(&mut self, net: &Network, wetting: &Wetting, bottles: &[f64]) {
        let coupled = |k: usize, parent: usize| {
            wetting.fill.get(k) == Some(&Fill::Full)
                && net.bottle_at.get(parent).is_some_and(Option::is_none)
                && net.bottle_at.get(k + 1).is_some_and(Option::is_none)
        };
        for (k, link) in net.links.iter().enumerate().rev() {
            if coupled(k, link.parent) {
                let (own, slope) = (at(&self.ground, k + 1), at(&self.slope, k));
                let share = slope / (own + slope);
                add(&mut self.ground, link.parent, own * share);
                let source = at(&self.source, k + 1) * share;
                add(&mut self.source, link.parent, source);
            }
        }
        if let (Some(first), Some(&bottle)) = (self.pressure.first_mut(), bottles.first()) {
            *first = bottle;
        }
        for (k, link) in net.links.iter().enumerate() {
            let (mut weight, mut sum) = (at(&self.ground, k + 1), at(&self.source, k + 1));
            if coupled(k, link.parent) {
                let slope = at(&self.slope, k);
                weight += slope;
                sum += slope * at(&self.pressure, link.parent);
            }
            let solved = if weight > 0.0 { sum / weight } else { 0.0 };
            let pressure = bottle_level(net, k + 1, bottles).unwrap_or(solved);
            if let Some(entry) = self.pressure.get_mut(k + 1) {
                *entry = pressure;
            }
        }
    }

    /// Takes the new flows from the new pressures, tips first: what a line passes is what leaves its far end, so that
    /// no drop is lost to rounding however little a line resists.
    fn update(&mut self, net: &Network, wetting: &Wetting, mut round: Round, damped: bool) -> Round {
        let soften = |old: f64, new: f64| if damped && new != 0.0 { 0.5 * (old + new) } else { new };
        let demand = &mut self.source;
        demand.fill(0.0);
        for (flow, (&place, nozzle)) in
            self.nozzle.iter_mut().zip(net.nozzle_at.iter().zip(&net.plan().nozzles))
        {
            let drive = at(&self.pressure, place) - at(&net.level, place);
            let step = nozzle_line(nozzle, *flow).at(drive);
            *flow = soften(*flow, round.take(*flow, step, drive, |p| nozzle.conductance * p.sqrt()));
            add(demand, place, *flow);
        }
        for (k, (flow, link)) in self.link.iter_mut().zip(&net.links).enumerate().rev() {
            let fill = wetting.fill.get(k).copied().unwrap_or(Fill::Dry);
            let (up, down) = ends(fill);
            if !up && !down {
                *flow = 0.0;
                continue;
            }
            let wetted = at(&wetting.wetted, k);
            let front = front_level(net, k, fill, wetted);
            let ahead = if up { at(&self.pressure, link.parent) } else { front };
            let behind = if down { at(&self.pressure, k + 1) } else { front };
            let drive = ahead - behind;
            let step = if down && net.bottle_at.get(k + 1).is_some_and(Option::is_none) {
                at(demand, k + 1)
            } else {
                Linear { slope: at(&self.slope, k), offset: at(&self.offset, k) }.at(drive)
            };
            let new = match one_way(net, k, fill) {
                None => {
                    round.note(*flow, step);
                    step
                }
                Some(true) => round.take(*flow, step, drive, |p| link.guess(wetted, p)),
                Some(false) => -round.take(-*flow, -step, -drive, |p| link.guess(wetted, p)),
            };
            *flow = soften(*flow, new);
            if up {
                add(demand, link.parent, *flow);
            }
        }
        round
    }
}

/// Which ends of a link touch liquid: the parent's, the other.
fn ends(fill: Fill) -> (bool, bool) {
    match fill {
        Fill::Dry => (false, false),
        Fill::Front { down } => (down, !down),
        Fill::Full => (true, true),
    }
}

fn bottle_level(net: &Network, place: usize, bottles: &[f64]) -> Option<f64> {
    net.bottle_at.get(place).copied().flatten().map(|bottle| at(bottles, bottle) + at(&net.level, place))
}

/// The level pressure of ambient air at the front in a link.
fn front_level(net: &Network, k: usize, fill: Fill, wetted: f64) -> f64 {
    let Some(link) = net.links.get(k) else { return f64::NAN };
    let climbed = link.rise * wetted / link.length;
    match fill {
        Fill::Front { down: false } => at(&net.level, k + 1) - climbed,
        _ => at(&net.level, link.parent) + climbed,
    }
}

/// The only direction in which a link may flow (true: away from the first bottle), if there is but one. A front does
/// not go back, and no bottle takes liquid.
fn one_way(net: &Network, k: usize, fill: Fill) -> Option<bool> {
    if let Fill::Front { down } = fill {
        return Some(down);
    }
    let bottle = |place: usize| net.bottle_at.get(place).is_some_and(Option::is_some);
    match net.links.get(k) {
        Some(link) if bottle(link.parent) => Some(true),
        _ if bottle(k + 1) => Some(false),
        _ => None,
    }
}

fn nozzle_line(nozzle: &Nozzle, flow: f64) -> Linear {
    if flow <= 0.0 {
        return Linear { slope: CLOSED, offset: 0.0 };
    }
    // The loss is q²/c²: around q, flow = c²/2q × drive + q/2.
    Linear { slope: nozzle.conductance * nozzle.conductance / (2.0 * flow), offset: flow / 2.0 }
}

/// The drive is the difference of the end pressures.
fn link_line(net: &Network, k: usize, fill: Fill, wetted: f64, flow: f64) -> Linear {
    let Some(link) = net.links.get(k) else { return Linear { slope: f64::NAN, offset: f64::NAN } };
    if fill == Fill::Dry {
        return Linear { slope: 0.0, offset: 0.0 };
    }
    let closed = flow == 0.0 && one_way(net, k, fill).is_some();
    if closed {
        return Linear { slope: CLOSED, offset: 0.0 };
    }
    let (loss, rate) = link.loss(wetted, flow.abs());
    Linear { slope: 1.0 / rate, offset: flow - loss.copysign(flow) / rate }
}

/// A steady state with every line full.
#[derive(Clone, Debug, PartialEq)]
pub struct Steady {
    /// Flow in each line from its `from` to its `to`, m3/s.
    pub line_flow: Vec<f64>,
    /// Flow out of each nozzle, m3/s.
    pub nozzle_flow: Vec<f64>,
    /// Gauge pressure at each node, Pa. The static pressure: no velocity head is taken off or added.
    pub pressure: Vec<f64>,
}

impl Network {
    /// The steady flows with every line full and every bottle at its opening pressure.
    ///
    /// Mass balance at each node; p_a - p_b = (f L/d + K) ρ v²/2 + ρ g Δz along each line, K charged alike in both
    /// directions; Q = conductance × √p at each nozzle and none where p is below ambient; no flow into a bottle.
    ///
    /// # Errors
    /// [`Unsettled`] where Newton's method does not close in; no physical network is known to do that.
    pub fn steady(&self) -> Result<Steady, Unsettled> {
        let bottles: Vec<f64> = self.plan().bottles.iter().map(|b| b.pressure).collect();
        let mut flows = Flows::new(self);
        flows.solve(self, &Wetting::full(self), &bottles, 1e-11)?;
        let mut line_flow = vec![0.0; self.links.len()];
        let mut pressure = vec![0.0; self.bottle_at.len()];
        if let (Some(bottle), Some(&p)) = (self.plan().bottles.first(), flows.pressure.first()) {
            add(&mut pressure, bottle.node, p);
        }
        for (k, (link, flow)) in self.links.iter().zip(&flows.link).enumerate() {
            let Some(line) = self.plan().lines.get(link.line) else { continue };
            add(&mut line_flow, link.line, if link.forward { *flow } else { -flow });
            let node = if link.forward { line.to } else { line.from };
            add(&mut pressure, node, at(&flows.pressure, k + 1) - at(&self.level, k + 1));
        }
        Ok(Steady { line_flow, nozzle_flow: flows.nozzle, pressure })
    }
}
