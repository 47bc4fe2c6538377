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
    pairs.map(|(a, b)| (a - b).abs() / a.abs().max(1e-3 * largest)).fold(0.0, f64::max)
}

fn solved() -> Vec<Solved> {
    serde_json::from_str::<Fixture>(include_str!("../fixtures/epanet/networks.json")).unwrap().networks
}

/// EPANET 2.3.5 (fixtures/epanet/generate.py), with its own friction law in this solver too.
#[test]
fn agrees_with_epanet_on_its_own_law() {
    for net in solved() {
        let error = worst(&net, Law::SwameeJain);
        println!("{}: {error:e}", net.name);
        assert!(error < 5e-4, "{}: {error}", net.name);
    }
}

/// The same flows under Colebrook and White's equation, of which EPANET's law is an approximation.
#[test]
fn agrees_with_epanet_under_colebrook_white() {
    for net in solved() {
        let error = worst(&net, Law::ColebrookWhite);
        println!("{}: {error:e}", net.name);
        assert!(error < 5e-3, "{}: {error}", net.name);
    }
}
