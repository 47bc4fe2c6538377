//! The flows of a network at one instant: which lines are wet, how far, and what the bottles push with.
//!
//! Newton's method on flows and pressures together (Todini and Pilati's gradient method). On a tree each round is one
//! sweep from the tips to the first bottle and one back, so its cost grows with the number of lines and no faster.

mod backflow;

use super::friction::FIRST_ROOT;
use super::network::{Link, Network, Nozzle, Wetted, add, at};

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
const CLOSED_WAY: Linear = Linear { slope: 1e-24, offset: 0.0 };
/// A flow below this share of the largest may close at once.
const SLIGHT: f64 = 1e-4;
/// Flows below this, m3/s, are rounding: a drop in a year.
const NOISE: f64 = 1e-16;
/// What rounding may leave where a line or nozzle resists next to nothing.
const ROUNDING: f64 = 1e-7;
/// A change of the flows below this share of the largest may be small enough to tell the next one by.
const SQUARING: f64 = 1e-3;
/// Rounds after which each step is halved, and after which the answer is refused.
const ROUNDS_FULL: usize = 40;
const ROUNDS: usize = 120;

/// Flow through an element, linear in the pressures around the last flow: flow = slope × drive + offset.
#[derive(Clone, Copy, Debug, Default)]
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

    /// How far the answer may still be off, when the round before this one moved it by the share `before`.
    ///
    /// Newton's method squares the error: what the next round would change is to this change as this one is to the
    /// last, squared. It is believed only from a small change on that was itself no more than the square of the last
    /// times ten; otherwise the whole change counts.
    fn left(&self, before: f64) -> f64 {
        let share = self.change / self.largest;
        let squared = before.is_finite() && share <= 10.0 * before * before;
        if share < SQUARING && squared { 10.0 * share * self.change } else { self.change }
    }

    fn note(&mut self, old: f64, new: f64) {
        self.change = self.change.max((new - old).abs());
        self.largest = self.largest.max(new.abs());
        self.broken |= !new.is_finite();
    }
}

/// A node during a solve. Pressures are level pressures, Pa: gauge pressure plus ρ g times the height over the first
/// bottle. Between nodes joined by a full line at rest that is the same to the last digit, which a gauge pressure is not.
#[derive(Clone, Copy, Debug, Default)]
struct Node {
    /// Conductance to known pressures.
    ground: f64,
    /// Inflow.
    source: f64,
    /// One over what the pressure is divided by.
    inverse: f64,
    pressure: f64,
    /// What leaves it, away from the first bottle.
    demand: f64,
}

/// A link during a solve: what its fill, its wetted length and the bottle pressures say of it, looked up once, and its
/// linear form of the last round.
#[derive(Clone, Copy, Debug)]
struct Way {
    dry: bool,
    full: bool,
    wetted: Wetted,
    /// Pressure at the end nearer the first bottle and at the other, where it is known: in a bottle, and ambient at a
    /// front.
    known: [Option<f64>; 2],
    /// The only direction in which it may flow (true: away from the first bottle), if there is but one. A front does
    /// not go back, and no bottle takes liquid.
    one_way: Option<bool>,
    linear: Linear,
    /// 1/√f of the last round.
    root: f64,
}

/// The solver and its last answer, from which the next one starts.
#[derive(Clone, Debug)]
pub(crate) struct Flows {
    /// Flow in each link away from the first bottle, m3/s.
    pub link: Vec<f64>,
    /// Flow out of each nozzle, m3/s.
    pub nozzle: Vec<f64>,
    nodes: Vec<Node>,
    ways: Vec<Way>,
    jets: Vec<Linear>,
}

impl Flows {
    pub fn new(net: &Network) -> Self {
        let way = Way {
            dry: true,
            full: false,
            wetted: Wetted::default(),
            known: [None; 2],
            one_way: None,
            linear: Linear::default(),
            root: FIRST_ROOT,
        };
        Self {
            link: vec![0.0; net.links.len()],
            nozzle: vec![0.0; net.nozzle_at.len()],
            nodes: vec![Node::default(); net.bottle_at.len()],
            ways: vec![way; net.links.len()],
            jets: vec![Linear::default(); net.nozzle_at.len()],
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
        self.look_up(net, wetting, bottles);
        let started_warm = self.link.iter().any(|&q| q != 0.0);
        let mut result = self.rounds(net, bottles, tolerance);
        if result.is_err() {
            self.link.fill(0.0);
            self.nozzle.fill(0.0);
            for way in &mut self.ways {
                way.root = FIRST_ROOT;
            }
            if started_warm {
                result = self.rounds(net, bottles, tolerance);
            }
        }
        result
    }

    /// A first guess where every line is full and one bottle feeds all and lifts to every node: as though every friction
    /// factor were that of [`FIRST_ROOT`] and every node as high as the bottle. A tree of such resistances has its
    /// flows in closed form: in a row resistances add, side by side conductances do.
    fn estimate(&mut self, net: &Network, bottle: f64) {
        let nodes = &mut self.nodes;
        nodes.fill(Node::default());
        for (&place, nozzle) in net.nozzle_at.iter().zip(&net.plan().nozzles) {
            if let Some(node) = nodes.get_mut(place) {
                node.ground += nozzle.conductance;
            }
        }
        for (k, (link, flow)) in net.links.iter().zip(&mut self.link).enumerate().rev() {
            let beyond = nodes.get(k + 1).map_or(0.0, |node| node.ground);
            // For now the flow is that of one pascal.
            *flow = beyond / (1.0 + link.rough_resistance() * beyond * beyond).sqrt();
            if let Some(node) = nodes.get_mut(link.parent) {
                node.ground += *flow;
            }
        }
        if let Some(first) = nodes.first_mut() {
            first.pressure = bottle;
        }
        for (k, (link, flow)) in net.links.iter().zip(&mut self.link).enumerate() {
            let ahead = nodes.get(link.parent).map_or(0.0, |node| node.pressure);
            let unit = *flow;
            *flow *= ahead.sqrt();
            if let Some(node) = nodes.get_mut(k + 1) {
                node.pressure = ahead * (1.0 - link.rough_resistance() * unit * unit).max(0.0);
            }
        }
        for (flow, (&place, nozzle)) in
            self.nozzle.iter_mut().zip(net.nozzle_at.iter().zip(&net.plan().nozzles))
        {
            *flow = nozzle.conductance * nodes.get(place).map_or(0.0, |node| node.pressure.sqrt());
        }
    }

    fn look_up(&mut self, net: &Network, wetting: &Wetting, bottles: &[f64]) {
        let state = wetting.fill.iter().zip(&wetting.wetted);
        for (k, (way, (link, (&fill, &wetted)))) in
            self.ways.iter_mut().zip(net.links.iter().zip(state)).enumerate()
        {
            way.dry = fill == Fill::Dry;
            way.full = fill == Fill::Full;
            if way.dry {
                continue;
            }
            way.wetted = link.wetted(wetted);
            let [ahead, behind] = [link.parent, k + 1].map(|place| bottle_level(net, place, bottles));
            // The level pressure of ambient air at a front.
            let climbed = link.rise * wetted / link.length;
            (way.known, way.one_way) = match fill {
                Fill::Front { down: true } => {
                    ([ahead, Some(at(&net.level, link.parent) + climbed)], Some(true))
                }
                Fill::Front { down: false } => ([Some(at(&net.level, k + 1) - climbed), behind], Some(false)),
                _ if ahead.is_some() => ([ahead, behind], Some(true)),
                _ => ([ahead, behind], behind.map(|_| false)),
            };
        }
    }

    fn rounds(&mut self, net: &Network, bottles: &[f64], tolerance: f64) -> Result<(), Unsettled> {
        let highest = bottles.iter().fold(0.0, |a: f64, &b| a.max(b.abs()));
        let (mut near, mut scale, mut moved) = (true, 0.0, f64::INFINITY);
        for count in 0..ROUNDS {
            self.tips_to_root(net);
            self.root_to_tips(net, bottles);
            // A way that closed opens again only when the rest has come near its answer, or they take turns for ever.
            let least = if near || count < 2 { 1e-12 * highest } else { f64::INFINITY };
            let start = Round { least, scale, ..Round::default() };
            let done = self.update(net, start, count >= ROUNDS_FULL);
            scale = done.largest;
            near = done.change <= 1e-3 * done.largest + NOISE;
            if done.broken {
                return Err(Unsettled);
            }
            // Where rounding keeps the last digits moving, the rounds end all the same.
            let enough = if count < ROUNDS_FULL { tolerance } else { tolerance.max(ROUNDING) };
            if least.is_finite() && !done.unsure && done.left(moved) <= enough * done.largest + NOISE {
                return Ok(());
            }
            moved = done.change / done.largest;
        }
        Err(Unsettled)
    }

    /// Makes every element linear, sums conductance to known pressures and inflow at each node, and eliminates each
    /// node that is not known into the one before it. Only sums of positive numbers are divided by.
    fn tips_to_root(&mut self, net: &Network) {
        let nodes = &mut self.nodes;
        for node in nodes.iter_mut() {
            (node.ground, node.source) = (0.0, 0.0);
        }
        let nozzles = net.plan().nozzles.iter().zip(&net.nozzle_at);
        for ((jet, &flow), (nozzle, &place)) in self.jets.iter_mut().zip(&self.nozzle).zip(nozzles) {
            *jet = nozzle_line(nozzle, flow);
            if let Some(node) = nodes.get_mut(place) {
                node.ground += jet.slope;
                node.source += jet.slope * at(&net.level, place) - jet.offset;
            }
        }
        for (k, (way, (link, &flow))) in
            self.ways.iter_mut().zip(net.links.iter().zip(&self.link)).enumerate().rev()
        {
            let Some(far) = nodes.get_mut(k + 1) else { continue };
            if way.dry {
                far.inverse = inverse(far.ground);
                continue;
            }
            let Linear { slope, offset } = way.linearise(link, flow);
            match way.known {
                [None, None] => {
                    far.source += offset;
                    far.inverse = 1.0 / (far.ground + slope);
                    let share = slope * far.inverse;
                    let (ground, source) = (far.ground * share, far.source * share - offset);
                    if let Some(near) = nodes.get_mut(link.parent) {
                        near.ground += ground;
                        near.source += source;
                    }
                }
                [ahead, behind] => {
                    if let (Some(p), None) = (ahead, behind) {
                        far.ground += slope;
                        far.source += slope * p + offset;
                    }
                    far.inverse = inverse(far.ground);
                    if let (None, Some(p), Some(near)) = (ahead, behind, nodes.get_mut(link.parent)) {
                        near.ground += slope;
                        near.source += slope * p - offset;
                    }
                }
            }
        }
    }

    /// The pressures, the first bottle's first.
    fn root_to_tips(&mut self, net: &Network, bottles: &[f64]) {
        let nodes = &mut self.nodes;
        if let (Some(first), Some(&bottle)) = (nodes.first_mut(), bottles.first()) {
            first.pressure = bottle;
        }
        for (k, (link, way)) in net.links.iter().zip(&self.ways).enumerate() {
            let ahead = nodes.get(link.parent).map_or(f64::NAN, |node| node.pressure);
            let Some(node) = nodes.get_mut(k + 1) else { continue };
            let coupled = !way.dry && way.known == [None, None];
            let inflow = if coupled { node.source + way.linear.slope * ahead } else { node.source };
            node.pressure = bottle_level(net, k + 1, bottles).unwrap_or(inflow * node.inverse);
        }
    }

    /// Takes the new flows from the new pressures, tips first: what a line passes is what leaves its far end, so that
    /// no drop is lost to rounding however little a line resists.
    fn update(&mut self, net: &Network, mut round: Round, damped: bool) -> Round {
        let soften = |old: f64, new: f64| if damped && new != 0.0 { 0.5 * (old + new) } else { new };
        let nodes = &mut self.nodes;
        for node in nodes.iter_mut() {
            node.demand = 0.0;
        }
        let nozzles = net.plan().nozzles.iter().zip(&net.nozzle_at);
        for ((flow, jet), (nozzle, &place)) in self.nozzle.iter_mut().zip(&self.jets).zip(nozzles) {
            let Some(node) = nodes.get_mut(place) else { continue };
            let drive = node.pressure - at(&net.level, place);
            let new = round.take(*flow, jet.at(drive), drive, |p| nozzle.conductance * p.sqrt());
            *flow = soften(*flow, new);
            node.demand += *flow;
        }
        for (k, (flow, (way, link))) in
            self.link.iter_mut().zip(self.ways.iter().zip(&net.links)).enumerate().rev()
        {
            if way.dry {
                *flow = 0.0;
                continue;
            }
            let Some(&far) = nodes.get(k + 1) else { continue };
            let Some(near) = nodes.get_mut(link.parent) else { continue };
            let [ahead, behind] = way.known;
            let drive = ahead.unwrap_or(near.pressure) - behind.unwrap_or(far.pressure);
            let step = if behind.is_none() { far.demand } else { way.linear.at(drive) };
            let new = match way.one_way {
                None => {
                    round.note(*flow, step);
                    step
                }
                Some(true) => round.take(*flow, step, drive, |p| link.guess(way.wetted, p)),
                Some(false) => -round.take(-*flow, -step, -drive, |p| link.guess(way.wetted, p)),
            };
            *flow = soften(*flow, new);
            if ahead.is_none() {
                near.demand += *flow;
            }
        }
        round
    }
}

impl Way {
    /// Its linear form around a flow; the drive is the difference of the end pressures.
    fn linearise(&mut self, link: &Link, flow: f64) -> Linear {
        self.linear = if flow == 0.0 && self.one_way.is_some() {
            CLOSED_WAY
        } else {
            let (loss, rate) = link.loss(self.wetted, flow.abs(), &mut self.root);
            let slope = 1.0 / rate;
            Linear { slope, offset: flow - loss.copysign(flow) * slope }
        };
        self.linear
    }
}

/// One over a sum of conductances; 0 where nothing leads to the node.
fn inverse(sum: f64) -> f64 {
    if sum > 0.0 { 1.0 / sum } else { 0.0 }
}

fn bottle_level(net: &Network, place: usize, bottles: &[f64]) -> Option<f64> {
    net.bottle_at.get(place).copied().flatten().map(|bottle| at(bottles, bottle) + at(&net.level, place))
}

fn nozzle_line(nozzle: &Nozzle, flow: f64) -> Linear {
    if flow <= 0.0 {
        return CLOSED_WAY;
    }
    // The loss is q²/c²: around q, flow = c²/2q × drive + q/2.
    Linear { slope: nozzle.conductance * nozzle.conductance / (2.0 * flow), offset: flow / 2.0 }
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
    /// A bottle without a check valve that liquid would run back into.
    pub pushed_back: Option<usize>,
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
        if let [bottle] = bottles.as_slice()
            && self.level.iter().all(|level| level < bottle)
        {
            flows.estimate(self, *bottle);
        }
        flows.solve(self, &Wetting::full(self), &bottles, 1e-11)?;
        let mut line_flow = vec![0.0; self.links.len()];
        let mut pressure = vec![0.0; self.bottle_at.len()];
        let mut places = flows.nodes.iter().zip(&self.level);
        if let (Some(bottle), Some((first, _))) = (self.plan().bottles.first(), places.next()) {
            add(&mut pressure, bottle.node, first.pressure);
        }
        for (link, (flow, (node, level))) in self.links.iter().zip(flows.link.iter().zip(places)) {
            let Some(line) = self.plan().lines.get(link.line) else { continue };
            add(&mut line_flow, link.line, if link.forward { *flow } else { -flow });
            add(&mut pressure, if link.forward { line.to } else { line.from }, node.pressure - level);
        }
        Ok(Steady {
            line_flow,
            pressure,
            pushed_back: flows.pushed_back(self, &bottles),
            nozzle_flow: flows.nozzle,
        })
    }
}
