//! Steps a discharge through time: an embedded Runge-Kutta pair that lands on each event exactly.

use super::discharge::Settings;
use super::network::{Network, at};
use super::steady::{Fill, Flows, Unsettled, Wetting};
use crate::units::AMBIENT;

/// Dormand and Prince's pair of orders 5 and 4 (J. Comp. Appl. Math. 6, 1980): the rows of its stages, the last of
/// which is the fifth-order answer, and that answer less the fourth-order one.
const STAGES: [&[f64]; 6] = [
    &[1.0 / 5.0],
    &[3.0 / 40.0, 9.0 / 40.0],
    &[44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0],
    &[19_372.0 / 6_561.0, -25_360.0 / 2_187.0, 64_448.0 / 6_561.0, -212.0 / 729.0],
    &[9_017.0 / 3_168.0, -355.0 / 33.0, 46_732.0 / 5_247.0, 49.0 / 176.0, -5_103.0 / 18_656.0],
    &[35.0 / 384.0, 0.0, 500.0 / 1_113.0, 125.0 / 192.0, -2_187.0 / 6_784.0, 11.0 / 84.0],
];
const ERROR: [f64; 7] = [
    71.0 / 57_600.0,
    0.0,
    -71.0 / 16_695.0,
    71.0 / 1_920.0,
    -17_253.0 / 339_200.0,
    22.0 / 525.0,
    -1.0 / 40.0,
];

/// Two events closer than this share of a line or of a charge are one event.
const TOGETHER: f64 = 1e-11;

/// What a component of the state is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Component {
    Time,
    /// Liquid left in a bottle, m3.
    Bottle(usize),
    /// Wetted length of a link, m.
    Link(usize),
    /// Liquid out of a nozzle, m3.
    Nozzle(usize),
}

/// One trial of a step: its error over what is allowed, where it ends and the rates there.
struct Trial {
    error: f64,
    state: Vec<f64>,
    rate: Vec<f64>,
}

/// A discharge under way.
pub(crate) struct Integration<'a> {
    net: &'a Network,
    pub wetting: Wetting,
    pub flows: Flows,
    /// The value of each component; time, charge left, wetted lengths and delivery are stepped together, so that what
    /// leaves one appears in another to the last digit.
    pub state: Vec<f64>,
    components: Vec<Component>,
    /// What an error of one is measured by, for each component.
    scale: Vec<f64>,
    rate: Vec<f64>,
    stages: Vec<Vec<f64>>,
    pressures: Vec<f64>,
    tolerance: f64,
    step: f64,
    least_step: f64,
    /// Whether the steps are to be dense enough to draw curves through.
    dense: bool,
    /// Flow out of all nozzles when the last step ended, before what it set off.
    pub flow_before: f64,
}

impl<'a> Integration<'a> {
    /// Every valve just opened, every line dry. `time_scale` is of the order of the whole discharge, s.
    pub fn new(net: &'a Network, settings: Settings, time_scale: f64) -> Self {
        let plan = net.plan();
        let charges: Vec<f64> = plan.bottles.iter().map(|b| b.liquid_mass / plan.fluid.density).collect();
        let total: f64 = charges.iter().sum();
        let mut components = vec![Component::Time];
        components.extend((0..charges.len()).map(Component::Bottle));
        components.extend((0..net.links.len()).map(Component::Link));
        components.extend((0..net.nozzle_at.len()).map(Component::Nozzle));
        let mut state = vec![0.0; components.len()];
        for (entry, charge) in state.iter_mut().skip(1).zip(&charges) {
            *entry = *charge;
        }
        let scale = components
            .iter()
            .map(|c| match c {
                Component::Time => time_scale,
                Component::Bottle(i) => at(&charges, *i),
                Component::Link(k) => net.links.get(*k).map_or(f64::NAN, |l| l.length),
                Component::Nozzle(_) => total,
            })
            .collect();
        let wetting = Wetting {
            fill: vec![Fill::Dry; net.links.len()],
            wetted: vec![0.0; net.links.len()],
            wet: vec![false; net.bottle_at.len()],
        };
        let mut integration = Self {
            net,
            wetting,
            flows: Flows::new(net),
            rate: vec![0.0; state.len()],
            stages: vec![vec![0.0; state.len()]; 7],
            pressures: vec![0.0; charges.len()],
            state,
            components,
            scale,
            tolerance: settings.tolerance,
            dense: settings.curves,
            step: 1e-3 * time_scale,
            least_step: 1e-18 * time_scale,
            flow_before: 0.0,
        };
        for (place, bottle) in net.bottle_at.iter().enumerate() {
            if bottle.is_some() {
                integration.wet(place);
            }
        }
        integration
    }

    /// Time since the valves opened, s.
    pub fn time(&self) -> f64 {
        at(&self.state, 0)
    }

    /// Liquid left in each bottle, m3.
    pub fn left(&self) -> &[f64] {
        self.part(1, self.pressures.len())
    }

    /// Wetted length of each link, m.
    pub fn wetted(&self) -> &[f64] {
        self.part(1 + self.pressures.len(), self.net.links.len())
    }

    /// Liquid out of each nozzle so far, m3.
    pub fn delivered(&self) -> &[f64] {
        self.part(1 + self.pressures.len() + self.net.links.len(), self.net.nozzle_at.len())
    }

    /// Gauge pressure in each bottle, Pa, at the last rates.
    pub fn pressures(&self) -> &[f64] {
        &self.pressures
    }

    /// Flow out of all bottles together, m3/s.
    pub fn outflow(&self) -> f64 {
        -self.rate.iter().skip(1).take(self.pressures.len()).sum::<f64>()
    }

    fn part(&self, start: usize, count: usize) -> &[f64] {
        self.state.get(start..start + count).unwrap_or_default()
    }

    /// Liquid has reached a position: it goes on into each dry line that may fill from here.
    fn wet(&mut self, place: usize) {
        if self.wetting.wet.get_mut(place).is_none_or(|w| std::mem::replace(w, true)) {
            return;
        }
        for &k in self.net.touching.get(place).into_iter().flatten() {
            let Some(link) = self.net.links.get(k) else { continue };
            let down = link.parent == place;
            let [from_parent, from_child] = link.fills;
            if let Some(fill) = self.wetting.fill.get_mut(k)
                && *fill == Fill::Dry
                && (if down { from_parent } else { from_child })
            {
                *fill = Fill::Front { down };
            }
        }
    }

    /// Brings the flows and rates up to date with the state; needed at the start and after each event.
    pub fn refresh(&mut self) -> Result<(), Unsettled> {
        let mut rate = std::mem::take(&mut self.rate);
        let state = self.state.clone();
        let result = self.rates(&state, &mut rate);
        self.rate = rate;
        result
    }

    /// Rates of change of every component: the flows that the pressures in the bottles drive.
    fn rates(&mut self, state: &[f64], rate: &mut [f64]) -> Result<(), Unsettled> {
        let plan = self.net.plan();
        for (entry, (bottle, left)) in
            self.pressures.iter_mut().zip(plan.bottles.iter().zip(state.iter().skip(1)))
        {
            let gone = bottle.liquid_mass / plan.fluid.density - left;
            let grown = (1.0 + gone / bottle.gas_volume).powf(-bottle.gas_exponent);
            *entry = (bottle.pressure + AMBIENT) * grown - AMBIENT;
        }
        let lengths = state.iter().skip(1 + self.pressures.len());
        for (entry, length) in self.wetting.wetted.iter_mut().zip(lengths) {
            *entry = *length;
        }
        let closeness = (1e-2 * self.tolerance).min(1e-4);
        self.flows.solve(self.net, &self.wetting, &self.pressures, closeness)?;
        for (entry, component) in rate.iter_mut().zip(&self.components) {
            *entry = match *component {
                Component::Time => 1.0,
                Component::Bottle(_) => 0.0,
                Component::Nozzle(i) => at(&self.flows.nozzle, i),
                Component::Link(k) => match (self.wetting.fill.get(k), self.net.links.get(k)) {
                    (Some(Fill::Front { .. }), Some(link)) => at(&self.flows.link, k).abs() / link.area,
                    _ => 0.0,
                },
            };
        }
        for (k, (link, flow)) in self.net.links.iter().zip(&self.flows.link).enumerate() {
            for (place, out) in [(link.parent, *flow), (k + 1, -*flow)] {
                if let Some(bottle) = self.net.bottle_at.get(place).copied().flatten() {
                    super::network::add(rate, 1 + bottle, -out);
                }
            }
        }
        Ok(())
    }

    /// One trial step. `along` names the component that is stepped by `size` (time by default): every rate is divided
    /// by that one's, and the step ends where the component has the wanted value (Hénon's device).
    fn attempt(&mut self, along: usize, size: f64) -> Result<Trial, Unsettled> {
        let mut stages = std::mem::take(&mut self.stages);
        let result = self.attempt_in(&mut stages, along, size);
        self.stages = stages;
        result
    }

    fn attempt_in(&mut self, stages: &mut [Vec<f64>], along: usize, size: f64) -> Result<Trial, Unsettled> {
        let mut point = self.state.clone();
        let mut rate = self.rate.clone();
        let mut steady_course = true;
        for (count, row) in STAGES.iter().map(Some).chain([None]).enumerate() {
            let pace = at(&rate, along);
            steady_course &= pace * size > 0.0;
            if let Some(stage) = stages.get_mut(count) {
                for (entry, r) in stage.iter_mut().zip(&rate) {
                    *entry = r / pace;
                }
            }
            let Some(row) = row.filter(|_| steady_course) else { break };
            point.copy_from_slice(&self.state);
            for (weight, stage) in row.iter().zip(stages.iter()) {
                for (entry, r) in point.iter_mut().zip(stage) {
                    *entry += size * weight * r;
                }
            }
            self.rates(&point, &mut rate)?;
        }
        if !steady_course {
            return Ok(Trial { error: f64::INFINITY, state: point, rate });
        }
        let mut error: f64 = 0.0;
        for (i, scale) in self.scale.iter().enumerate() {
            let miss: f64 =
                ERROR.iter().zip(stages.iter()).map(|(weight, stage)| weight * at(stage, i)).sum();
            // A time is measured by itself.
            let scale = if i == 0 { at(&point, 0).min(*scale) } else { *scale };
            error = error.max((size * miss).abs() / (self.tolerance * scale));
        }
        Ok(Trial { error, state: point, rate })
    }

    /// The value at which a component makes an event, if it is under way to one.
    fn bound(&self, i: usize) -> Option<f64> {
        match *self.components.get(i)? {
            Component::Bottle(_) => Some(0.0),
            Component::Link(k) if matches!(self.wetting.fill.get(k), Some(Fill::Front { .. })) => {
                self.net.links.get(k).map(|l| l.length)
            }
            _ => None,
        }
    }

    /// The component that a trial carries past its bound first, by straight lines; none if all stay inside.
    fn first_past(&self, trial: &Trial) -> Option<usize> {
        let mut first: Option<(f64, usize)> = None;
        for (i, (&new, &old)) in trial.state.iter().zip(&self.state).enumerate() {
            let Some(bound) = self.bound(i) else { continue };
            let past = (new - bound) * (bound - old).signum() / at(&self.scale, i);
            if past > TOGETHER {
                let share = (bound - old) / (new - old);
                if first.is_none_or(|(least, _)| share < least) {
                    first = Some((share, i));
                }
            }
        }
        first.map(|(_, i)| i)
    }

    /// Takes one step of its own choosing, and returns the bottles that it emptied.
    pub fn advance(&mut self) -> Result<Vec<usize>, Unsettled> {
        let soonest = self.soonest();
        // Most steps of a short network end in an event. One within reach is stepped to at once: a trial past it would
        // cost as much and be thrown away. Curves are better for the short steps that such a trial leaves behind it.
        if let Some((time, first)) = soonest
            && !self.dense
            && time <= self.step
            && let Ok(Some(landed)) = self.land(first)
        {
            let taken = at(&landed.state, 0) - self.time();
            self.step = self.step.max(taken * growth(landed.error));
            return self.accept(landed);
        }
        let longest = soonest.map_or(f64::INFINITY, |(time, _)| 1.5 * time);
        let mut step = self.step.min(longest.max(self.least_step));
        loop {
            // A step far too long may ask for flows that do not exist; it is a bad step and no more.
            let trial = match self.attempt(0, step) {
                Err(Unsettled) if step > self.least_step => {
                    step *= 0.2;
                    continue;
                }
                trial => trial?,
            };
            let factor = growth(trial.error);
            if trial.error > 1.0 && step > self.least_step {
                step *= factor.min(0.9);
                continue;
            }
            let Some(first) = self.first_past(&trial) else {
                self.step = step * factor;
                return self.accept(trial);
            };
            if let Some(landed) = self.land(first)? {
                self.step = (step * factor.min(1.0)).max(self.least_step);
                return self.accept(landed);
            }
            if step <= self.least_step {
                return Err(Unsettled);
            }
            step *= 0.5;
        }
    }

    /// The time to the next event at the present rates, and the component that makes it.
    fn soonest(&self) -> Option<(f64, usize)> {
        let times = self.state.iter().zip(&self.rate).enumerate().filter_map(|(i, (value, rate))| {
            let time = (self.bound(i)? - value) / rate;
            (time.is_finite() && time > 0.0).then_some((time, i))
        });
        times.min_by(|(one, _), (other, _)| one.total_cmp(other))
    }

    /// A step that ends where the component reaches its bound; none where another trial has to be made.
    fn land(&mut self, first: usize) -> Result<Option<Trial>, Unsettled> {
        let mut along = first;
        for _ in 0..6 {
            let Some(bound) = self.bound(along) else { return Ok(None) };
            let trial = self.attempt(along, bound - at(&self.state, along))?;
            if trial.error > 1.0 {
                return Ok(None);
            }
            match self.first_past(&trial) {
                None => return Ok(Some(trial)),
                Some(sooner) => along = sooner,
            }
        }
        Ok(None)
    }

    /// Makes a trial the state, and what happens there happen. Returns the bottles that are empty.
    fn accept(&mut self, trial: Trial) -> Result<Vec<usize>, Unsettled> {
        self.flow_before = self.flows.nozzle.iter().sum();
        self.state = trial.state;
        self.rate = trial.rate;
        self.settle()
    }

    /// Makes the events of the present state happen: full lines pass liquid on. Returns the bottles that are empty.
    fn settle(&mut self) -> Result<Vec<usize>, Unsettled> {
        let mut empty = Vec::new();
        let mut changed = false;
        for i in 0..self.state.len() {
            let Some(bound) = self.bound(i) else { continue };
            let value = at(&self.state, i);
            if (value - bound).abs() > TOGETHER * at(&self.scale, i) {
                continue;
            }
            if let Some(entry) = self.state.get_mut(i) {
                *entry = bound;
            }
            match self.components.get(i) {
                Some(Component::Bottle(bottle)) => empty.push(*bottle),
                Some(Component::Link(k)) => {
                    changed = true;
                    self.fill_up(*k);
                }
                _ => {}
            }
        }
        if changed {
            self.refresh()?;
        }
        Ok(empty)
    }

    fn fill_up(&mut self, k: usize) {
        let Some(link) = self.net.links.get(k) else { return };
        let Some(fill) = self.wetting.fill.get_mut(k) else { return };
        if let Fill::Front { down } = *fill {
            *fill = Fill::Full;
            self.wet(if down { k + 1 } else { link.parent });
        }
    }
}

/// By how much the next step may be longer (or must be shorter) than one of this error.
fn growth(error: f64) -> f64 {
    (0.9 * error.max(1e-10).powf(-0.2)).clamp(0.2, 5.0)
}
