//! The discharge of one network of gas-charged bottles, from the valves opening to the first bottle empty.
//!
//! Quasi-steady, one-dimensional: at each instant the flows are those of [`super::steady`] for the pressure that the
//! gas has then, p = p₀ (V₀/V)ⁿ absolute, and for how far each line is wet. A line's loss is
//! (f ℓ/d + K_in + K_fit ℓ/L) ρv²/2 + ρ g Δz ℓ/L over its wetted length ℓ, ℓ at least 10⁻⁶ L. Node pressures are static.
//!
//! What the model says at its edges:
//! - A front sees ambient pressure until it reaches the end of its line, even where the node there is already wet from
//!   another bottle: the air ahead vents freely. From then on the line and the node act on each other.
//! - A line fills from whichever end is wet first; the direction it is drawn in does not matter between tees. A line
//!   that leads only to bottles is never filled from the far end. A bottle takes nothing back: its check valve shuts, and
//!   where it has none, a discharge in which the others would push liquid into it is refused.
//! - A front never goes back: where its node cannot push it, it stands. A full line between tees may flow either way.
//! - A nozzle whose node is below ambient passes nothing (and draws in no air).

use super::integration::Integration;
use super::network::{Network, at};
use super::steady::Unsettled;
use crate::units::{Flow, Length, Mass, Pressure, Time};

/// How closely a discharge is worked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Largest error of one time step, as a share of the charge and of each line's length.
    pub tolerance: f64,
    /// Whether the curves are kept.
    pub curves: bool,
}

impl Settings {
    /// For a number that is shown: errors in time and mass far below 0.01 %.
    pub const CLOSE: Self = Self { tolerance: 1e-8, curves: false };
    /// For sampling over uncertain inputs: errors in time and mass below 1 %.
    pub const QUICK: Self = Self { tolerance: 2e-5, curves: false };

    /// The same, with the curves kept.
    pub const fn with_curves(self) -> Self {
        Self { tolerance: self.tolerance, curves: true }
    }

    /// The same, without the curves.
    pub const fn without_curves(self) -> Self {
        Self { tolerance: self.tolerance, curves: false }
    }
}

/// Why a discharge has no numbers.
#[derive(Clone, Debug, PartialEq)]
pub enum Refusal {
    /// With every line full no nozzle would pass anything: each stands higher than the pressure lifts.
    NothingFlows,
    /// The gas has spread until it pushes no more (or never pushed the liquid over a rise), with liquid left in every
    /// bottle: the charge is too low or the gas space too small.
    Stalls {
        /// When the flow had all but stopped.
        time: Time,
        /// Delivered by all nozzles until then.
        delivered: Mass,
        /// Left in each bottle.
        left: Vec<Mass>,
    },
    /// The flows could not be found, or the steps became too many.
    Unsettled {
        /// The time reached.
        time: Time,
    },
    /// The other bottles push liquid back into one that has no check valve, which this model does not follow.
    Backflow {
        /// The bottle's place in the plan.
        bottle: usize,
    },
}

/// What one nozzle does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NozzleOutcome {
    /// When the first liquid left it; none if a bottle was empty before.
    pub arrival: Option<Time>,
    /// Liquid out of it.
    pub delivered: Mass,
    /// Its flow with every line full and the bottles at their opening pressures.
    pub flow_start: Flow,
}

/// One instant of a discharge, for plots. Lists are in the order of the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Sample {
    /// Time since the valves opened.
    pub time: Time,
    /// Flow out of each nozzle.
    pub nozzle_flow: Vec<Flow>,
    /// Gauge pressure in each bottle.
    pub bottle_pressure: Vec<Pressure>,
    /// Wetted length of each line.
    pub wetted: Vec<Length>,
}

/// A whole discharge. Lists are in the order of the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// Each nozzle.
    pub nozzles: Vec<NozzleOutcome>,
    /// Liquid left in each bottle at the end.
    pub left: Vec<Mass>,
    /// The bottle whose end ended the discharge.
    pub emptied: usize,
    /// From the valves opening to that bottle having no liquid.
    pub duration: Time,
    /// When 90 % of what the nozzles deliver was out.
    pub time_to_90: Time,
    /// When 95 % of what the nozzles deliver was out.
    pub time_to_95: Time,
    /// Liquid that wets the lines at the end.
    pub line_holdup: Mass,
    /// The curves, where they were asked for. Two samples at one time stand on both sides of an event.
    pub curves: Vec<Sample>,
    /// Time steps taken.
    pub steps: usize,
}

/// Below this share of the opening flow the discharge is taken to have stopped.
const STOPPED: f64 = 1e-6;
/// Steps after which a discharge is refused. Ordinary ones take some hundreds.
const MOST_STEPS: usize = 100_000;

/// Delivery by all nozzles over one step: time, amount and flow at both ends.
#[derive(Clone, Copy)]
struct Piece {
    time: [f64; 2],
    amount: [f64; 2],
    flow: [f64; 2],
}

/// Runs a discharge.
///
/// # Formula
/// p = p₀ (V₀/V)ⁿ in each bottle; (f ℓ/d + K_in + K_fit ℓ/L) ρv²/2 + ρ g Δz ℓ/L over each line; Q = c √Δp at each nozzle
/// # Symbols
/// p, p₀ absolute gas pressure, now and at opening (Pa) · V, V₀ gas volume (m³) · n gas exponent (1) · ℓ, L wetted and
/// whole length, d bore (m) · f, K_in, K_fit losses (1) · ρ density (kg/m³) · v speed (m/s) · c nozzle conductance
/// # Valid range
/// Liquid all the way: an agent that boils at ambient pressure flows slower than this. Lines with ε/d up to 0.05.
/// # Errors
/// A [`Refusal`] where nothing flows, where the charge cannot push a bottle empty, or where the sums do not close.
/// # Source
/// The model of this program, from textbook parts: Darcy and Weisbach, Torricelli, a polytropic gas. Steady flows are held to
/// EPANET's, times to a second solver and to quadrature.
/// # Example
/// 3 L of water behind 1 L of gas at 195 psi, through a 3 mm hole of C_d 0.7: 19.46 s at n = 1.
/// ```
/// use linewalk_formulas::physics::discharge::{Settings, run};
/// use linewalk_formulas::physics::friction::Law;
/// use linewalk_formulas::physics::network::{Bottle, Fluid, Line, Network, Nozzle, Plan};
/// let area = std::f64::consts::PI / 4.0 * 0.003_f64.powi(2);
/// let net = Network::new(Plan {
///     elevations: vec![0.0, 0.0],
///     bottles: vec![Bottle {
///         node: 0,
///         gas_volume: 1e-3,
///         pressure: 195.0 * linewalk_formulas::units::PSI,
///         liquid_mass: 3e-3 * 998.2,
///         gas_exponent: 1.0,
///         check_valve: false,
///     }],
///     lines: vec![Line {
///         from: 0,
///         to: 1,
///         length: 1e-3,
///         bore: 0.01,
///         roughness: 0.0,
///         inlet_k: 0.0,
///         fitting_k: 0.0,
///     }],
///     nozzles: vec![Nozzle::orifice(1, 0.7, area, 998.2)],
///     fluid: Fluid { density: 998.2, viscosity: 1e-3 },
///     law: Law::ColebrookWhite,
/// })
/// .map_err(|fault| format!("{fault:?}"))?;
/// let outcome = run(&net, Settings::CLOSE).map_err(|refusal| format!("{refusal:?}"))?;
/// assert!((outcome.duration.si() - 19.46).abs() < 0.01);
/// # Ok::<(), String>(())
/// ```
pub fn run(net: &Network, settings: Settings) -> Result<Outcome, Refusal> {
    let plan = net.plan();
    let density = plan.fluid.density;
    let start = net.steady().map_err(|Unsettled| Refusal::Unsettled { time: Time::default() })?;
    let opening: f64 = start.nozzle_flow.iter().sum();
    if opening <= 0.0 {
        return Err(Refusal::NothingFlows);
    }
    if let Some(bottle) = start.pushed_back {
        return Err(Refusal::Backflow { bottle });
    }
    let charge: f64 = plan.bottles.iter().map(|b| b.liquid_mass / density).sum();
    let mut integration = Integration::new(net, settings, charge / opening);
    let mut record = Record::new(net, settings.curves);
    let unsettled =
        |integration: &Integration| Refusal::Unsettled { time: Time::from_si(integration.time()) };
    integration.refresh().map_err(|Unsettled| unsettled(&integration))?;
    for steps in 1..=MOST_STEPS {
        record.before(&integration);
        if record.outflow <= STOPPED * opening {
            return Err(stalled(&integration, density));
        }
        if let Some(bottle) = integration.flows.pushed_back(net, integration.pressures()) {
            return Err(Refusal::Backflow { bottle });
        }
        let (time, amount) = (integration.time(), integration.delivered().iter().sum());
        let flow = integration.flows.nozzle.iter().sum();
        let empty = integration.advance().map_err(|Unsettled| unsettled(&integration))?;
        record.pieces.push(Piece {
            time: [time, integration.time()],
            amount: [amount, integration.delivered().iter().sum()],
            flow: [flow, integration.flow_before],
        });
        if let Some(&emptied) = empty.first() {
            return Ok(record.finish(net, &integration, &start.nozzle_flow, emptied, steps));
        }
    }
    Err(unsettled(&integration))
}

fn stalled(integration: &Integration, density: f64) -> Refusal {
    Refusal::Stalls {
        time: Time::from_si(integration.time()),
        delivered: Mass::from_si(integration.delivered().iter().sum::<f64>() * density),
        left: integration.left().iter().map(|v| Mass::from_si(v * density)).collect(),
    }
}

/// What is written down while a discharge runs.
struct Record<'a> {
    net: &'a Network,
    arrivals: Vec<Option<f64>>,
    pieces: Vec<Piece>,
    curves: Option<Vec<Sample>>,
    /// Flow out of all bottles.
    outflow: f64,
}

impl<'a> Record<'a> {
    fn new(net: &'a Network, curves: bool) -> Self {
        let arrivals = vec![None; net.nozzle_at.len()];
        Self { net, arrivals, pieces: Vec::new(), curves: curves.then(Vec::new), outflow: 0.0 }
    }

    fn before(&mut self, integration: &Integration) {
        self.outflow = integration.outflow();
        for (arrival, &flow) in self.arrivals.iter_mut().zip(&integration.flows.nozzle) {
            if arrival.is_none() && flow > 0.0 {
                *arrival = Some(integration.time());
            }
        }
        self.sample(integration);
    }

    fn sample(&mut self, integration: &Integration) {
        let Some(curves) = &mut self.curves else { return };
        let mut wetted = vec![Length::default(); self.net.plan().lines.len()];
        for (link, &length) in self.net.links.iter().zip(integration.wetted()) {
            if let Some(entry) = wetted.get_mut(link.line) {
                *entry = Length::from_si(length);
            }
        }
        curves.push(Sample {
            time: Time::from_si(integration.time()),
            nozzle_flow: integration.flows.nozzle.iter().map(|&q| Flow::from_si(q)).collect(),
            bottle_pressure: integration.pressures().iter().map(|&p| Pressure::from_si(p)).collect(),
            wetted,
        });
    }

    fn finish(
        mut self,
        net: &Network,
        integration: &Integration,
        start: &[f64],
        emptied: usize,
        steps: usize,
    ) -> Outcome {
        self.sample(integration);
        let density = net.plan().fluid.density;
        let mass = |volume: &f64| Mass::from_si(volume * density);
        let holdup: f64 =
            net.links.iter().zip(integration.wetted()).map(|(link, length)| link.area * length).sum();
        let delivered = integration.delivered();
        let total: f64 = delivered.iter().sum();
        let nozzles =
            self.arrivals.iter().zip(delivered.iter().zip(start)).map(|(arrival, (amount, &flow))| {
                NozzleOutcome {
                    arrival: arrival.map(Time::from_si),
                    delivered: mass(amount),
                    flow_start: Flow::from_si(flow),
                }
            });
        Outcome {
            nozzles: nozzles.collect(),
            left: integration.left().iter().map(mass).collect(),
            emptied,
            duration: Time::from_si(integration.time()),
            time_to_90: Time::from_si(time_of(&self.pieces, 0.90 * total)),
            time_to_95: Time::from_si(time_of(&self.pieces, 0.95 * total)),
            line_holdup: mass(&holdup),
            curves: self.curves.unwrap_or_default(),
            steps,
        }
    }
}

/// When the delivery reached an amount: the step it lies in, and there the cubic through the amounts and flows at
/// both ends of the step, halved until the time is known to the last digits.
fn time_of(pieces: &[Piece], wanted: f64) -> f64 {
    let Some(piece) = pieces.iter().find(|p| at(&p.amount, 1) >= wanted) else {
        return pieces.last().map_or(0.0, |p| at(&p.time, 1));
    };
    let ([t0, t1], [a0, a1], [q0, q1]) = (piece.time, piece.amount, piece.flow);
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let s: f64 = 0.5 * (low + high);
        let (b0, b1) = ((1.0 - s) * (1.0 - s), s * s);
        let amount = b0 * (a0 * (1.0 + 2.0 * s) + (t1 - t0) * s * q0)
            + b1 * (a1 * (3.0 - 2.0 * s) - (t1 - t0) * (1.0 - s) * q1);
        if amount < wanted {
            low = s;
        } else {
            high = s;
        }
    }
    t0 + (t1 - t0) * high
}
