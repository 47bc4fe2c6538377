//! Whole discharges against a second solver of the same model, closed forms and properties that must hold.

use linewalk::physics::discharge::{Outcome, Refusal, Settings, run};
use linewalk::physics::friction::Law;
use linewalk::physics::network::{Bottle, Fluid, Line, Network, Nozzle, Plan};
use serde::Deserialize;

#[derive(Deserialize)]
struct Fixture {
    runs: Vec<Solved>,
    h17: Orifice,
    laminar_fill: LaminarFill,
    rough_fill: RoughFill,
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
    expected: Expected,
}

#[derive(Deserialize)]
struct Charged {
    node: usize,
    gas_volume: f64,
    pressure: f64,
    liquid_mass: f64,
    gas_exponent: f64,
}

#[derive(Deserialize)]
struct Pipe {
    from: usize,
    to: usize,
    length: f64,
    bore: f64,
    roughness: f64,
    inlet_k: f64,
    fitting_k: f64,
}

#[derive(Deserialize)]
struct Emitter {
    node: usize,
    conductance: f64,
}

#[derive(Deserialize)]
struct Expected {
    arrival: Vec<Option<f64>>,
    delivered: Vec<f64>,
    left: Vec<f64>,
    duration: f64,
    time_to_90: f64,
    time_to_95: f64,
    line_holdup: f64,
}

#[derive(Deserialize)]
struct Orifice {
    gas_volume: f64,
    liquid: f64,
    pressure: f64,
    density: f64,
    conductance: f64,
    rows: Vec<OrificeRow>,
}

#[derive(Deserialize)]
struct OrificeRow {
    gas_exponent: f64,
    seconds: f64,
    last_pressure: f64,
}

#[derive(Deserialize)]
struct LaminarFill {
    viscosity: f64,
    length: f64,
    bore: f64,
    pressure: f64,
    seconds: f64,
}

#[derive(Deserialize)]
struct RoughFill {
    density: f64,
    viscosity: f64,
    length: f64,
    bore: f64,
    roughness: f64,
    inlet_k: f64,
    fitting_k: f64,
    pressure: f64,
    seconds: f64,
}

fn fixture() -> Fixture {
    serde_json::from_str(include_str!("../fixtures/discharge/runs.json")).unwrap()
}

impl Solved {
    fn plan(&self) -> Plan {
        let bottle = |b: &Charged| Bottle {
            node: b.node,
            gas_volume: b.gas_volume,
            pressure: b.pressure,
            liquid_mass: b.liquid_mass,
            gas_exponent: b.gas_exponent,
            check_valve: true,
        };
        let line = |l: &Pipe| Line {
            from: l.from,
            to: l.to,
            length: l.length,
            bore: l.bore,
            roughness: l.roughness,
            inlet_k: l.inlet_k,
            fitting_k: l.fitting_k,
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
            law: Law::ColebrookWhite,
        }
    }
}

fn go(plan: Plan, settings: Settings) -> Result<Outcome, Refusal> {
    run(&Network::new(plan).unwrap(), settings)
}

/// Largest relative difference of every time and mass from the second solver's; small masses are measured by the charge.
fn difference(expected: &Expected, got: &Outcome) -> f64 {
    let charge = expected.delivered.iter().chain(&expected.left).sum::<f64>() + expected.line_holdup;
    let mut worst: f64 = 0.0;
    let mut see = |a: f64, b: f64, least: f64| worst = worst.max((a - b).abs() / a.abs().max(least));
    for ((arrival, delivered), nozzle) in expected.arrival.iter().zip(&expected.delivered).zip(&got.nozzles) {
        assert_eq!(arrival.is_some(), nozzle.arrival.is_some());
        if let (Some(a), Some(b)) = (arrival, nozzle.arrival) {
            see(*a, b.si(), 0.0);
        }
        see(*delivered, nozzle.delivered.si(), 1e-3 * charge);
    }
    for (a, b) in expected.left.iter().zip(&got.left) {
        see(*a, b.si(), 1e-3 * charge);
    }
    see(expected.duration, got.duration.si(), 0.0);
    see(expected.time_to_90, got.time_to_90.si(), 0.0);
    see(expected.time_to_95, got.time_to_95.si(), 0.0);
    see(expected.line_holdup, got.line_holdup.si(), 1e-3 * charge);
    worst
}

/// Every run of fixtures/discharge/generate.py.
#[test]
fn agrees_with_a_second_solver() {
    for solved in fixture().runs {
        let got = go(solved.plan(), Settings::CLOSE).unwrap();
        let quick = go(solved.plan(), Settings::QUICK).unwrap();
        let errors = (difference(&solved.expected, &got), difference(&solved.expected, &quick));
        crate::near::tell(errors.0, 1.0);
        crate::near::tell(errors.1, 1.0);
        assert!(errors.0 < 1e-4, "{}: {}", solved.name, errors.0);
        assert!(errors.1 < 1e-2, "{}: {}", solved.name, errors.1);
    }
}

/// A bottle, one level line and a nozzle.
fn single(fluid: Fluid, bottle: Bottle, line: Line, conductance: f64) -> Plan {
    Plan {
        elevations: vec![0.0, 0.0],
        bottles: vec![bottle],
        lines: vec![line],
        nozzles: vec![Nozzle { node: 1, conductance }],
        fluid,
        law: Law::ColebrookWhite,
    }
}

/// A bottle so large that its pressure does not fall.
fn steady_bottle(pressure: f64) -> Bottle {
    Bottle { node: 0, gas_volume: 1e6, pressure, liquid_mass: 5.0, gas_exponent: 1.0, check_valve: true }
}

/// A gas-driven bottle emptied through its nozzle alone: dV/dt = c √p(V), by quadrature at 30 digits. The printed
/// figures are those of a worked table: 19.46 s and 37.7 psig isothermal, 25.35 s and 15.4 psig at n = 1.4.
#[test]
fn bottle_alone_matches_quadrature() {
    let case = fixture().h17;
    let psi = linewalk::units::PSI;
    let printed = [(1.0, 19.46, 37.7), (1.4, 25.35, 15.4)];
    for row in &case.rows {
        let bottle = Bottle {
            node: 0,
            gas_volume: case.gas_volume,
            pressure: case.pressure,
            liquid_mass: case.liquid * case.density,
            gas_exponent: row.gas_exponent,
            check_valve: false,
        };
        // A stub of 1 mm on a 10 mm bore: it holds 3e-5 of the charge.
        let stub =
            Line { from: 0, to: 1, length: 1e-3, bore: 0.01, roughness: 0.0, inlet_k: 0.0, fitting_k: 0.0 };
        let fluid = Fluid { density: case.density, viscosity: 1e-5 };
        let got = go(single(fluid, bottle, stub, case.conductance), Settings::CLOSE.with_curves()).unwrap();
        let last = got.curves.last().unwrap().bottle_pressure[0].si();
        crate::near::tell((got.duration.si() - row.seconds).abs(), row.seconds);
        assert!((got.duration.si() / row.seconds - 1.0).abs() < 5e-5);
        assert!((last / row.last_pressure - 1.0).abs() < 1e-6);
        for (n, seconds, psig) in printed {
            if n == row.gas_exponent {
                assert!(
                    (row.seconds - seconds).abs() < 0.005 && (row.last_pressure / psi - psig).abs() < 0.05
                );
            }
        }
    }
}

/// A line filled by a constant pressure in laminar flow: t = 16 μ L² / (p d²).
#[test]
fn laminar_filling_matches_the_closed_form() {
    let case = fixture().laminar_fill;
    let line = Line {
        from: 0,
        to: 1,
        length: case.length,
        bore: case.bore,
        roughness: 0.0,
        inlet_k: 0.0,
        fitting_k: 0.0,
    };
    // So light a liquid that the flow is laminar from the first millimetre.
    let fluid = Fluid { density: 1.0, viscosity: case.viscosity };
    let got = go(single(fluid, steady_bottle(case.pressure), line, 1e-9), Settings::CLOSE).unwrap();
    let arrival = got.nozzles[0].arrival.unwrap().si();
    crate::near::tell((arrival - case.seconds).abs(), case.seconds);
    assert!((arrival / case.seconds - 1.0).abs() < 1e-5);
}

/// A line filled by a constant pressure with friction by Colebrook, an inlet loss and fittings: by quadrature.
#[test]
fn turbulent_filling_matches_quadrature() {
    let case = fixture().rough_fill;
    let line = Line {
        from: 0,
        to: 1,
        length: case.length,
        bore: case.bore,
        roughness: case.roughness,
        inlet_k: case.inlet_k,
        fitting_k: case.fitting_k,
    };
    let fluid = Fluid { density: case.density, viscosity: case.viscosity };
    let got = go(single(fluid, steady_bottle(case.pressure), line, 1e-9), Settings::CLOSE).unwrap();
    let arrival = got.nozzles[0].arrival.unwrap().si();
    crate::near::tell((arrival - case.seconds).abs(), case.seconds);
    assert!((arrival / case.seconds - 1.0).abs() < 1e-6);
}

/// A run at a tenth of the tolerance changes nothing by 0.1 %, nor a quick one by 1 %.
#[test]
fn a_finer_run_agrees() {
    for solved in fixture().runs {
        let fine = go(solved.plan(), Settings { tolerance: 1e-9, curves: false }).unwrap();
        let expected = Expected {
            arrival: fine.nozzles.iter().map(|n| n.arrival.map(|t| t.si())).collect(),
            delivered: fine.nozzles.iter().map(|n| n.delivered.si()).collect(),
            left: fine.left.iter().map(|m| m.si()).collect(),
            duration: fine.duration.si(),
            time_to_90: fine.time_to_90.si(),
            time_to_95: fine.time_to_95.si(),
            line_holdup: fine.line_holdup.si(),
        };
        let close = difference(&expected, &go(solved.plan(), Settings::CLOSE).unwrap());
        let quick = difference(&expected, &go(solved.plan(), Settings::QUICK).unwrap());
        assert!(close < 1e-3 && quick < 1e-2);
    }
}

/// A charge that spreads to ambient before the bottle is empty, and a nozzle that the pressure does not lift to.
#[test]
fn refuses_what_cannot_flow() {
    let fluid = Fluid { density: 1000.0, viscosity: 1e-3 };
    let line =
        Line { from: 0, to: 1, length: 1.0, bore: 0.005, roughness: 0.0, inlet_k: 2.5, fitting_k: 0.0 };
    let weak = Bottle {
        node: 0,
        gas_volume: 1e-4,
        pressure: 2e5,
        liquid_mass: 2.0,
        gas_exponent: 1.2,
        check_valve: true,
    };
    match go(single(fluid, weak, line, 1e-7), Settings::CLOSE) {
        Err(Refusal::Stalls { delivered, left, .. }) => {
            // The gas stops pushing when it has spread to ambient: V₀ (p₀/p_a)^(1/n) - V₀ has left the bottle.
            let out = 1e-4 * (((2e5 + 101_325.0) / 101_325.0_f64).powf(1.0 / 1.2) - 1.0) * 1000.0;
            assert!((2.0 - left[0].si() - out).abs() < 1e-3 * out);
            assert!(delivered.si() < out);
        }
        other => panic!("{other:?}"),
    }
    let mut high = single(fluid, Bottle { gas_volume: 1e-2, ..weak }, line, 1e-7);
    high.elevations[1] = 25.0;
    assert_eq!(go(high.clone(), Settings::CLOSE), Err(Refusal::NothingFlows));
    // Over a hump and down again: full lines would run, but the front never gets over.
    high.elevations = vec![0.0, 25.0, -1.0];
    high.lines.push(Line { from: 1, to: 2, ..line });
    high.nozzles[0].node = 2;
    assert!(matches!(go(high, Settings::CLOSE), Err(Refusal::Stalls { .. })));
}

/// Two bottles, a short way and a long one, to a tee with one nozzle.
fn two_bottles(second_pressure: f64) -> Plan {
    let bottle = |node, pressure| Bottle {
        node,
        gas_volume: 2e-3,
        pressure,
        liquid_mass: 3.0,
        gas_exponent: 1.2,
        check_valve: true,
    };
    let line = |from, to, length| Line {
        from,
        to,
        length,
        bore: 0.0046,
        roughness: 1.5e-6,
        inlet_k: 2.5,
        fitting_k: 0.0,
    };
    Plan {
        elevations: vec![0.0; 4],
        bottles: vec![bottle(0, 2.4e6), bottle(1, second_pressure)],
        lines: vec![line(0, 2, 0.4), line(1, 2, 2.0), line(2, 3, 0.5)],
        nozzles: vec![Nozzle { node: 3, conductance: 1e-7 }],
        fluid: Fluid { density: 1616.0, viscosity: 6.6e-4 },
        law: Law::ColebrookWhite,
    }
}

/// The later of two fronts on their way to one tee moves as it would alone: it sees ambient until it reaches the tee.
#[test]
fn a_later_front_sees_ambient() {
    let full_at = |plan: Plan, line: usize| {
        let outcome = go(plan, Settings::CLOSE.with_curves()).unwrap();
        let whole = outcome.curves.last().unwrap().wetted[line].si();
        let first = outcome.curves.iter().find(|s| s.wetted[line].si() >= whole * (1.0 - 1e-12));
        first.unwrap().time.si()
    };
    let together = two_bottles(2.4e6);
    let mut alone = together.clone();
    alone.bottles.remove(0);
    alone.lines.remove(0);
    alone.elevations.remove(0);
    for l in &mut alone.lines {
        l.from -= 1;
        l.to -= 1;
    }
    alone.bottles[0].node = 0;
    alone.nozzles[0].node = 2;
    let (a, b) = (full_at(together, 1), full_at(alone, 0));
    assert!((a / b - 1.0).abs() < 1e-6, "{a} {b}");
}

/// A bottle weaker than the tee it feeds fills its line and then waits; nothing runs back into it.
#[test]
fn a_weaker_bottle_waits() {
    let outcome = go(two_bottles(3e5), Settings::CLOSE.with_curves()).unwrap();
    assert_eq!(outcome.emptied, 0);
    let line = std::f64::consts::PI / 4.0 * 0.0046_f64.powi(2) * 2.0 * 1616.0;
    assert!((3.0 - outcome.left[1].si() - line).abs() < 1e-9);
    let pressures: Vec<f64> = outcome.curves.iter().map(|s| s.bottle_pressure[1].si()).collect();
    assert!(pressures.windows(2).all(|p| p[1] <= p[0]));
}

/// Between tees a line fills from whichever end is wet first, however it is drawn.
#[test]
fn drawing_direction_does_not_matter() {
    let drawn = fixture().runs.into_iter().find(|r| r.name == "tee, two nozzles").unwrap().plan();
    let mut turned = drawn.clone();
    for line in &mut turned.lines[1..] {
        std::mem::swap(&mut line.from, &mut line.to);
    }
    let (a, b) = (go(drawn, Settings::CLOSE).unwrap(), go(turned, Settings::CLOSE).unwrap());
    assert!((a.duration.si() / b.duration.si() - 1.0).abs() < 1e-9);
    for (a, b) in a.nozzles.iter().zip(&b.nozzles) {
        assert!((a.arrival.unwrap().si() / b.arrival.unwrap().si() - 1.0).abs() < 1e-9);
    }
}
