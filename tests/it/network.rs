//! Steady flows of branching networks against EPANET, closed forms and printed worked examples.

use linewalk::physics::friction::Law;
use linewalk::physics::network::{Bottle, Fault, Fluid, Line, Network, Nozzle, Part, Plan};
use serde::Deserialize;

#[derive(Deserialize)]
struct Fixture {
    networks: Vec<Solved>,
}

#[derive(Deserialize)]
struct Solved {
    name: String,
    density: f64,
    viscosity: f64,
    z: Vec<f64>,
    bottles: Vec<Charged>,
    lines: Vec<Pipe>,
    nozzles: Vec<Emitter>,
    line_flow: Vec<f64>,
    nozzle_flow: Vec<f64>,
}

#[derive(Deserialize)]
struct Charged {
    node: usize,
    pressure: f64,
}

#[derive(Deserialize)]
struct Pipe {
    from: usize,
    to: usize,
    length: f64,
    bore: f64,
    roughness: f64,
    k: f64,
}

#[derive(Deserialize)]
struct Emitter {
    node: usize,
    conductance: f64,
}

impl Solved {
    fn plan(&self, law: Law) -> Plan {
        let bottle = |b: &Charged| Bottle {
            node: b.node,
            gas_volume: 2e-3,
            pressure: b.pressure,
            liquid_mass: 4.0,
            gas_exponent: 1.2,
            check_valve: true,
        };
        let line = |l: &Pipe| Line {
            from: l.from,
            to: l.to,
            length: l.length,
            bore: l.bore,
            roughness: l.roughness,
            inlet_k: 0.4 * l.k,
            fitting_k: 0.6 * l.k,
        };
        Plan {
            elevations: self.z.clone(),
            bottles: self.bottles.iter().map(bottle).collect(),
            lines: self.lines.iter().map(line).collect(),
            nozzles: self
                .nozzles
                .iter()
                .map(|n| Nozzle { node: n.node, conductance: n.conductance })
                .collect(),
            fluid: Fluid { density: self.density, viscosity: self.viscosity },
            law,
        }
    }
}

/// Largest difference over all lines and nozzles, as a share of the largest flow in the network where a flow is small
/// beside it (under a thousandth) and of the flow itself otherwise; and where it is.
fn worst(net: &Solved, law: Law) -> f64 {
    let steady = Network::new(net.plan(law)).unwrap().steady().expect(&net.name);
    let largest = net.line_flow.iter().fold(0.0, |a: f64, q| a.max(q.abs()));
    let pairs =
        net.line_flow.iter().zip(&steady.line_flow).chain(net.nozzle_flow.iter().zip(&steady.nozzle_flow));
    let most = pairs.map(|(a, b)| (a - b).abs() / a.abs().max(1e-3 * largest)).fold(0.0, f64::max);
    crate::near::tell(most, 1.0);
    most
}

fn solved() -> Vec<Solved> {
    serde_json::from_str::<Fixture>(include_str!("../fixtures/epanet/networks.json")).unwrap().networks
}

/// EPANET 2.3.5 (fixtures/epanet/generate.py), with its own friction law in this solver too.
#[test]
fn agrees_with_epanet_on_its_own_law() {
    for net in solved() {
        let error = worst(&net, Law::SwameeJain);
        assert!(error < 5e-4, "{}: {error}", net.name);
    }
}

/// The same flows under Colebrook and White's equation, of which EPANET's law is an approximation.
#[test]
fn agrees_with_epanet_under_colebrook_white() {
    for net in solved() {
        let error = worst(&net, Law::ColebrookWhite);
        assert!(error < 5e-3, "{}: {error}", net.name);
    }
}

/// The flow through a line between `pressure` and the open air: its nozzle takes 1 Pa at `about` the flow expected.
fn line_only(pressure: f64, rise: f64, fluid: Fluid, line: Line, about: f64) -> f64 {
    let plan = Plan {
        elevations: vec![0.0, rise],
        bottles: vec![Bottle {
            node: 0,
            gas_volume: 1.0,
            pressure,
            liquid_mass: 1.0,
            gas_exponent: 1.0,
            check_valve: true,
        }],
        lines: vec![line],
        nozzles: vec![Nozzle { node: 1, conductance: about }],
        fluid,
        law: Law::ColebrookWhite,
    };
    Network::new(plan).unwrap().steady().unwrap().line_flow[0]
}

fn line(length: f64, bore: f64, roughness: f64, k: f64) -> Line {
    Line { from: 0, to: 1, length, bore, roughness, inlet_k: 0.0, fitting_k: k }
}

#[track_caller]
fn near(got: f64, expected: f64, share: f64) {
    crate::near::tell((got - expected).abs(), expected);
    assert!((got / expected - 1.0).abs() <= share, "{got} against {expected}");
}

const FOOT: f64 = 0.3048;
const PSI: f64 = linewalk::units::PSI;
const GRAVITY: f64 = linewalk::units::STANDARD_GRAVITY;

/// Hagen and Poiseuille: Δp = 128 μ L Q / (π d⁴). Munson, example 8.2: oil of 0.40 Pa.s, 20 mm, 2.0e-5 m3/s, 10 m: 20 400 Pa
/// printed, 20 372 Pa by the formula.
#[test]
fn laminar_line() {
    let oil = Fluid { density: 900.0, viscosity: 0.40 };
    let pressure = 128.0 * 0.40 * 10.0 * 2.0e-5 / (std::f64::consts::PI * 0.02_f64.powi(4));
    near(pressure, 20_400.0, 0.0025);
    near(line_only(pressure, 0.0, oil, line(10.0, 0.02, 1.5e-6, 0.0), 2.0e-5), 2.0e-5, 1e-4);
}

/// White, the flow-rate example of chapter 6: oil 950 kg/m3, 2e-5 m2/s, 0.3 m, 100 m, 8 m of head, ε/d 0.0002: 0.342 m3/s
/// printed (0.3421 by Colebrook).
#[test]
fn flow_from_a_head() {
    let oil = Fluid { density: 950.0, viscosity: 950.0 * 2e-5 };
    let flow = line_only(950.0 * GRAVITY * 8.0, 0.0, oil, line(100.0, 0.3, 6e-5, 0.0), 0.34);
    near(flow, 0.3421, 1e-3);
}

/// White, example 6.7: oil 900 kg/m3, 1e-5 m2/s, 200 mm, ε/d 0.0013, 500 m: 0.2 m3/s loses 117 m (117.4 m by Colebrook).
#[test]
fn loss_of_a_long_pipe() {
    let oil = Fluid { density: 900.0, viscosity: 900.0 * 1e-5 };
    near(line_only(900.0 * GRAVITY * 117.4, 0.0, oil, line(500.0, 0.2, 2.6e-4, 0.0), 0.2), 0.2, 1e-3);
}

/// Munson, example 8.8: water up 20 ft through 60 ft of 0.0625 ft copper tube with four elbows, a valve and a tap, sum K 18
/// with the outlet's: 12.0 gal/min needs 30.5 psi at the inlet, where the stream already moves.
#[test]
fn lift_friction_and_fittings() {
    let water = Fluid { density: 1.94 * 515.378_8, viscosity: 2.34e-5 * 47.880_26 };
    let bore = 0.0625 * FOOT;
    let flow = 12.0 * 3.785_411_784e-3 / 60.0;
    // The tap's outlet is 0.50 in: its velocity head less the tube's is what the printed sum adds to the losses.
    let heads = (0.75_f64 / 0.5).powi(4) - 1.0;
    near(
        line_only(30.53 * PSI, 20.0 * FOOT, water, line(60.0 * FOOT, bore, 5e-6 * FOOT, 18.0 + heads), flow),
        flow,
        2e-3,
    );
}

/// Cengel and Cimbala, example 8-3: water at 60 F, 200 ft of 2 in stainless pipe, 0.2 ft3/s: 11.8 psi (1699 lbf/ft2).
#[test]
fn loss_of_a_water_main() {
    let water = Fluid { density: 62.36 * 16.018_463, viscosity: 7.536e-4 * 1.488_163_9 };
    let flow =
        line_only(1698.9 / 144.0 * PSI, 0.0, water, line(200.0 * FOOT, FOOT / 6.0, 7e-6 * FOOT, 0.0), 6e-3);
    near(flow, 0.2 * FOOT.powi(3), 1e-3);
}

/// Nozzles: Q = K √p. USFA 2006-2: K 25.2 and 5.6 at 85 psi give 232.35 and 51.63 gal/min; K 5.6 at 7 psi gives 14.82. An
/// orifice of 2.0 mm, C_d 0.61, at 15 bar passes 6.3035 L/min of water of 998.2 kg/m3.
#[test]
fn nozzles() {
    let gpm = 3.785_411_784e-3 / 60.0;
    let water = Fluid { density: 1000.0, viscosity: 1e-3 };
    let through = |nozzle: Nozzle, pressure: f64, fluid: Fluid| {
        let plan = Plan {
            elevations: vec![0.0, 0.0],
            bottles: vec![Bottle {
                node: 0,
                gas_volume: 1.0,
                pressure,
                liquid_mass: 1.0,
                gas_exponent: 1.0,
                check_valve: true,
            }],
            lines: vec![line(1e-3, 1.0, 0.0, 0.0)],
            nozzles: vec![nozzle],
            fluid,
            law: Law::ColebrookWhite,
        };
        Network::new(plan).unwrap().steady().unwrap().nozzle_flow[0]
    };
    for (k, psi, printed) in [(25.2, 85.0, 232.35), (5.6, 85.0, 51.63), (5.6, 7.0, 14.82)] {
        let nozzle = Nozzle::factor(1, k * gpm / PSI.sqrt(), 1000.0);
        near(through(nozzle, psi * PSI, water) / gpm, printed, 0.005 / printed + 1e-4);
    }
    let area = std::f64::consts::PI / 4.0 * 0.002_f64.powi(2);
    let fluid = Fluid { density: 998.2, ..water };
    near(through(Nozzle::orifice(1, 0.61, area, 998.2), 15e5, fluid) * 6e4, 6.3035, 1e-5);
}

/// Each fault of a plan is found and named.
#[test]
fn faults_are_named() {
    let good = || Plan {
        elevations: vec![0.0, 0.0, 0.0],
        bottles: vec![Bottle {
            node: 0,
            gas_volume: 1e-3,
            pressure: 1e6,
            liquid_mass: 1.0,
            gas_exponent: 1.2,
            check_valve: true,
        }],
        lines: vec![line(1.0, 0.005, 1.5e-6, 0.0), Line { from: 1, to: 2, ..line(1.0, 0.005, 1.5e-6, 0.0) }],
        nozzles: vec![Nozzle { node: 2, conductance: 1e-8 }],
        fluid: Fluid { density: 1000.0, viscosity: 1e-3 },
        law: Law::ColebrookWhite,
    };
    assert!(Network::new(good()).is_ok());
    type Spoil = fn(&mut Plan);
    let cases: [(Spoil, Fault); 17] = [
        (|p| p.bottles.clear(), Fault::NoBottle),
        (|p| p.nozzles.clear(), Fault::NoNozzle),
        (|p| p.nozzles[0].node = 9, Fault::NoSuchNode(Part::Nozzle, 0)),
        (|p| p.lines[1].to = 9, Fault::NoSuchNode(Part::Line, 1)),
        (|p| p.bottles[0].pressure = 0.0, Fault::NoCharge(0)),
        (|p| p.bottles[0].gas_volume = 0.0, Fault::NoGas(0)),
        (|p| p.bottles[0].liquid_mass = 0.0, Fault::NoLiquid(0)),
        (|p| p.bottles[0].gas_exponent = 0.0, Fault::Value(Part::Bottle, 0, "gas exponent")),
        (|p| p.nozzles[0].conductance = 0.0, Fault::Blocked(0)),
        (|p| p.nozzles[0].node = 0, Fault::NozzleAtBottle(0)),
        (|p| p.lines[1].to = 0, Fault::IntoBottle(1)),
        (|p| p.lines.push(Line { from: 0, to: 2, ..p.lines[0] }), Fault::Ring(1)),
        (|p| p.lines[1].to = 1, Fault::Ring(1)),
        (|p| p.elevations.push(0.0), Fault::Apart(3)),
        (|p| p.lines[0].bore = -1.0, Fault::Value(Part::Line, 0, "bore")),
        (|p| p.lines[0].length = f64::NAN, Fault::Value(Part::Line, 0, "length")),
        (|p| p.fluid.viscosity = 0.0, Fault::Value(Part::Fluid, 0, "viscosity")),
    ];
    for (spoil, fault) in cases {
        let mut plan = good();
        spoil(&mut plan);
        assert_eq!(Network::new(plan).err(), Some(fault));
    }
}
