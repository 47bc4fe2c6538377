//! What must hold of every discharge, on networks drawn at random.

use linewalk::physics::discharge::{Outcome, Refusal, Settings, run};
use linewalk::physics::friction::Law;
use linewalk::physics::network::{Bottle, Fluid, Line, Network, Nozzle, Plan};
use proptest::prelude::*;

/// One line of a random tree: where it starts (a share of the nodes so far), its sizes, and its nozzle.
#[derive(Clone, Debug)]
struct Twig {
    start: f64,
    length: f64,
    bore: f64,
    inlet_k: f64,
    fitting_k: f64,
    height: f64,
    orifice: f64,
    nozzle_midway: bool,
}

fn twig() -> impl Strategy<Value = Twig> {
    let sizes = (0.0..1.0, 0.02..2.5, 0.003..0.011, 0.2..4.0, 0.0..3.0);
    (sizes, 0.0..1.3, 0.0008..0.003, any::<bool>()).prop_map(
        |((start, length, bore, inlet_k, fitting_k), height, orifice, nozzle_midway)| Twig {
            start,
            length,
            bore,
            inlet_k,
            fitting_k,
            height,
            orifice,
            nozzle_midway,
        },
    )
}

fn bottle() -> impl Strategy<Value = Bottle> {
    (5e-4..4e-3, 4e5..6e6, 0.2..5.0, 1.0..1.4).prop_map(
        |(gas_volume, pressure, liquid_mass, gas_exponent)| Bottle {
            node: 0,
            gas_volume,
            pressure,
            liquid_mass,
            gas_exponent,
        },
    )
}

fn fluid() -> impl Strategy<Value = Fluid> {
    (900.0..1700.0, 2e-4..2e-2).prop_map(|(density, viscosity)| Fluid { density, viscosity })
}

/// A tree grown from the first bottle; the other bottles each feed some node by a line of their own.
fn plan(bottles: std::ops::Range<usize>, twigs: std::ops::Range<usize>) -> impl Strategy<Value = Plan> {
    let parts = (prop::collection::vec((bottle(), twig()), bottles), prop::collection::vec(twig(), twigs));
    (parts, fluid()).prop_map(|((bottles, twigs), fluid)| grow(&bottles, &twigs, fluid))
}

fn pick(share: f64, count: usize) -> usize {
    ((share * count as f64) as usize).min(count - 1)
}

fn grow(bottles: &[(Bottle, Twig)], twigs: &[Twig], fluid: Fluid) -> Plan {
    let mut plan = Plan {
        elevations: vec![0.4],
        bottles: vec![bottles[0].0],
        lines: Vec::new(),
        nozzles: Vec::new(),
        fluid,
        law: Law::ColebrookWhite,
    };
    let line = |from, to, t: &Twig| Line {
        from,
        to,
        length: t.length,
        bore: t.bore,
        roughness: 1.5e-6,
        inlet_k: t.inlet_k,
        fitting_k: t.fitting_k,
    };
    for (i, twig) in twigs.iter().enumerate() {
        let from = if i == 0 { 0 } else { 1 + pick(twig.start, i) };
        plan.elevations.push(twig.height);
        plan.lines.push(line(from, i + 1, twig));
    }
    for (i, twig) in twigs.iter().enumerate() {
        if twig.nozzle_midway || !plan.lines.iter().any(|l| l.from == i + 1) {
            let area = std::f64::consts::PI / 4.0 * twig.orifice * twig.orifice;
            plan.nozzles.push(Nozzle::orifice(i + 1, 0.8, area, fluid.density));
        }
    }
    for (bottle, twig) in &bottles[1..] {
        let node = plan.elevations.len();
        plan.elevations.push(0.3);
        plan.bottles.push(Bottle { node, ..*bottle });
        plan.lines.push(line(node, 1 + pick(twig.start, twigs.len()), twig));
    }
    plan
}

fn go(plan: &Plan) -> Result<Outcome, Refusal> {
    run(&Network::new(plan.clone()).unwrap(), Settings::CLOSE)
}

fn arrivals(outcome: &Outcome) -> Vec<f64> {
    outcome.nozzles.iter().map(|n| n.arrival.map_or(f64::INFINITY, |t| t.si())).collect()
}

fn config(cases: u32) -> ProptestConfig {
    ProptestConfig { cases, failure_persistence: None, ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(config(48))]

    /// Whatever the network, it answers: either with numbers in which no liquid is lost and the times are in order, or
    /// with the refusal that its charge cannot push it empty.
    #[test]
    fn nothing_is_lost(plan in plan(1..4, 1..9)) {
        let charge: f64 = plan.bottles.iter().map(|b| b.liquid_mass).sum();
        match go(&plan) {
            Ok(outcome) => {
                let delivered: f64 = outcome.nozzles.iter().map(|n| n.delivered.si()).sum();
                let left: f64 = outcome.left.iter().map(|m| m.si()).sum();
                let total = delivered + left + outcome.line_holdup.si();
                prop_assert!((total - charge).abs() < 1e-9 * charge, "{total} of {charge}");
                prop_assert!(outcome.nozzles.iter().all(|n| n.delivered.si() >= 0.0 && n.flow_start.si() >= 0.0));
                prop_assert!(outcome.left.iter().all(|m| m.si() >= 0.0));
                prop_assert!(outcome.time_to_90.si() <= outcome.time_to_95.si());
                prop_assert!(outcome.time_to_95.si() <= outcome.duration.si());
                let last = outcome.duration.si();
                prop_assert!(outcome.nozzles.iter().all(|n| n.arrival.is_none_or(|t| t.si() <= last)));
            }
            Err(refusal) => {
                prop_assert!(
                    matches!(refusal, Refusal::Stalls { .. } | Refusal::NothingFlows),
                    "{refusal:?}"
                );
            }
        }
    }

    /// In the order of the way from the bottle, no nozzle is reached before one that stands upstream of it.
    #[test]
    fn arrivals_follow_the_way(plan in plan(1..2, 2..9)) {
        let Ok(outcome) = go(&plan) else { return Ok(()) };
        let times = arrivals(&outcome);
        for (i, nozzle) in plan.nozzles.iter().enumerate() {
            let mut node = nozzle.node;
            while let Some(line) = plan.lines.iter().find(|l| l.to == node) {
                node = line.from;
                for (j, other) in plan.nozzles.iter().enumerate().filter(|(_, n)| n.node == node) {
                    prop_assert!(times[j] <= times[i], "{} before {}", nozzle.node, other.node);
                }
            }
        }
    }

    /// More pressure reaches every nozzle sooner; where it empties the bottle before, it says nothing of haste.
    #[test]
    fn pressure_hastens(plan in plan(1..2, 1..6), more in 1.01..2.0) {
        let mut pressed = plan.clone();
        pressed.bottles[0].pressure *= more;
        let (Ok(slow), Ok(fast)) = (go(&plan), go(&pressed)) else { return Ok(()) };
        for (a, b) in arrivals(&slow).iter().zip(arrivals(&fast)) {
            prop_assert!(b <= a * (1.0 + 1e-6) || a.is_infinite() || b.is_infinite(), "{b} after {a}");
        }
    }

    /// A wider line from a large bottle fills sooner, and a longer one later.
    #[test]
    fn bore_hastens(plan in plan(1..2, 1..2), more in 1.02..1.5) {
        let mut wide = plan.clone();
        wide.bottles[0] = Bottle { gas_volume: 0.1, liquid_mass: 5.0, ..wide.bottles[0] };
        let mut narrow = wide.clone();
        let mut long = wide.clone();
        narrow.lines[0].bore /= more;
        narrow.lines[0].roughness /= more;
        long.lines[0].length *= more;
        let times = [&wide, &narrow, &long].map(|p| go(p).map(|o| arrivals(&o)[0]));
        let [Ok(wide), Ok(narrow), Ok(long)] = times else { return Ok(()) };
        prop_assert!(wide < narrow && wide < long, "{wide} {narrow} {long}");
    }

    /// Two legs alike do alike, and the mirror image of a car gives the same numbers.
    #[test]
    fn symmetry(trunk in twig(), leg in twig(), bottle in bottle(), fluid in fluid()) {
        let legs = [Twig { start: 0.0, ..trunk }, Twig { start: 0.0, ..leg.clone() }, Twig { start: 0.0, ..leg }];
        let plan = grow(&[(bottle, legs[1].clone())], &legs, fluid);
        let Ok(outcome) = go(&plan) else { return Ok(()) };
        let [.., a, b] = &outcome.nozzles[..] else { return Ok(()) };
        let (late, soon) = (a.arrival.map_or(0.0, |t| t.si()), b.arrival.map_or(0.0, |t| t.si()));
        prop_assert!((late - soon).abs() <= 1e-9 * late, "{late} {soon}");
        prop_assert!((a.delivered.si() - b.delivered.si()).abs() <= 1e-9 * bottle.liquid_mass);
    }

    /// Of two bottles the order in which they are written does not matter, nor does the drawing order of the lines.
    #[test]
    fn order_of_writing(plan in plan(2..3, 1..6)) {
        let mut turned = plan.clone();
        turned.bottles.reverse();
        turned.lines.reverse();
        let (Ok(a), Ok(b)) = (go(&plan), go(&turned)) else { return Ok(()) };
        prop_assert!((a.duration.si() / b.duration.si() - 1.0).abs() < 1e-4);
        for (a, b) in arrivals(&a).iter().zip(arrivals(&b)) {
            prop_assert!(*a == b || (a / b - 1.0).abs() < 1e-4, "{a} {b}");
        }
    }

    /// A run at a tenth of the tolerance agrees within 0.1 %, a quick one within 1 %.
    #[test]
    fn tolerance_is_kept(plan in plan(1..3, 1..7)) {
        let at = |tolerance| run(&Network::new(plan.clone()).unwrap(), Settings { tolerance, curves: false });
        let (Ok(fine), Ok(close), Ok(quick)) =
            (at(1e-9), at(Settings::CLOSE.tolerance), at(Settings::QUICK.tolerance)) else { return Ok(()) };
        let charge: f64 = plan.bottles.iter().map(|b| b.liquid_mass).sum();
        for (other, allowed) in [(&close, 1e-3), (&quick, 1e-2)] {
            prop_assert!((other.duration.si() / fine.duration.si() - 1.0).abs() < allowed);
            for (a, b) in fine.nozzles.iter().zip(&other.nozzles) {
                prop_assert!((a.delivered.si() - b.delivered.si()).abs() < allowed * charge);
                if let (Some(a), Some(b)) = (a.arrival, b.arrival) {
                    prop_assert!((b.si() / a.si() - 1.0).abs() < allowed, "{} {}", a.si(), b.si());
                }
            }
        }
    }
}
