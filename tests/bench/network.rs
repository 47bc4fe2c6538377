//! Steady flows, whole discharges and sampled ones.

use std::hint::black_box;
use std::process::Command;
use std::sync::Arc;
use std::time::Instant;

use chrono::NaiveDate;
use linewalk::diagnostic::SourceFile;
use linewalk::model::{Car, read_car};
use linewalk::numbers::{Inputs, POINTS, Readings, Situation, networks, quantity, with_bands, work};
use linewalk::physics::discharge::{Outcome, Settings, run};
use linewalk::physics::friction::Law;
use linewalk::physics::network::{Bottle, Fluid, Line, Network, Nozzle, Plan};
use linewalk::source::Overrides;

use crate::{HERE, PROGRAM, Row, epanet, least};

/// A tree of lines that each fork in two, a nozzle at every tip.
fn tree(nodes: usize) -> Plan {
    let bottle = Bottle {
        node: 0,
        gas_volume: 2e-3,
        pressure: 1.5e6,
        liquid_mass: 4.0,
        gas_exponent: 1.2,
        check_valve: true,
    };
    let parent = |node: usize| if node == 1 { 0 } else { 1 + (node - 2) / 2 };
    let line = |node: usize| Line {
        from: parent(node),
        to: node,
        length: 0.5 + 0.1 * ((node * 3) % 7) as f64,
        bore: 0.012 * (node as f64).powf(-0.3),
        roughness: 1.5e-6,
        inlet_k: 1.2,
        fitting_k: 0.4,
    };
    let tips = (1..nodes).filter(|node| (node + 1..nodes).all(|other| parent(other) != *node));
    let area = std::f64::consts::PI / 4.0 * 0.0018_f64.powi(2);
    Plan {
        elevations: (0..nodes).map(|node| 0.3 + 0.1 * ((node * 7) % 5) as f64).collect(),
        bottles: vec![bottle],
        lines: (1..nodes).map(line).collect(),
        nozzles: tips.map(|node| Nozzle::orifice(node, 0.8, area, 1000.0)).collect(),
        fluid: Fluid { density: 1000.0, viscosity: 1e-3 },
        law: Law::ColebrookWhite,
    }
}

fn solve(plan: Plan) -> f64 {
    let calls = (200 / plan.elevations.len()).max(1);
    let net = Network::new(plan).unwrap();
    least(60, calls, || {
        black_box(net.steady().unwrap());
    })
}

pub fn steady() -> Vec<Row> {
    let row = |(nodes, reach): (usize, &'static str)| Row {
        what: format!("steady solve, {nodes} nodes, to 1e-11"),
        yardstick: "EPANET's solve call, to 1e-3".to_owned(),
        ours: solve(tree(nodes)),
        theirs: epanet::solve(&tree(nodes)),
        reach,
    };
    [(8, "≤ 0.25"), (50, "< 1"), (500, "< 1")].map(row).into()
}

pub fn growth() -> Vec<(usize, f64)> {
    [8, 50, 500, 5_000, 50_000].map(|nodes| (nodes, solve(tree(nodes)))).into()
}

fn heron() -> (Arc<SourceFile>, Arc<Car>) {
    let text = std::fs::read_to_string(format!("{HERE}/sample-cars/heron.toml")).unwrap();
    let file = SourceFile::new("heron.toml", text);
    let car = read_car(&file, &Overrides::new()).car;
    (file, car)
}

fn day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 11, 25).unwrap()
}

/// The largest difference of any time or mass of a discharge from a far finer one, as a share.
fn error(of: &Outcome, fine: &Outcome) -> f64 {
    let values = |run: &Outcome| {
        let whole = [run.duration.si(), run.time_to_90.si(), run.time_to_95.si(), run.line_holdup.si()];
        let nozzles =
            run.nozzles.iter().flat_map(|nozzle| [nozzle.arrival.unwrap().si(), nozzle.delivered.si()]);
        whole.into_iter().chain(nozzles).collect::<Vec<f64>>()
    };
    values(of).iter().zip(values(fine)).map(|(a, b)| (a / b - 1.0).abs()).fold(0.0, f64::max)
}

pub fn discharge() -> Vec<Row> {
    let (_, car) = heron();
    let situation = Situation::new(&car, Readings::default(), day());
    let mut inputs = Inputs::new(quantity("discharge.arrival").unwrap(), "");
    let plan = networks(&car)[0].plan(&mut inputs, &situation).unwrap();
    let theirs = 1_000.0 * epanet::solve(&plan);
    let net = Network::new(plan).unwrap();
    let fine = run(&net, Settings { tolerance: 1e-11, curves: false }).unwrap();
    let row = |(name, settings)| {
        let off = error(&run(&net, settings).unwrap(), &fine);
        Row {
            what: format!("whole discharge of the heron, {name} (off by {off:.0e})"),
            yardstick: "1,000 EPANET solves of its network".to_owned(),
            ours: least(20, 1, || {
                black_box(run(&net, settings).unwrap());
            }),
            theirs,
            reach: "≤ 0.25",
        }
    };
    [("as shown", Settings::CLOSE), ("as sampled", Settings::QUICK)].map(row).into()
}

/// All bands of the heron's discharge: 512 points, and 512 more that tell how far the band has settled.
pub fn sampled_here() {
    let (file, car) = heron();
    let situation = Situation::new(&car, Readings::default(), day());
    let answers = work(quantity("discharge.arrival").unwrap(), &situation);
    let mut times = [0.0; 2];
    for (time, points) in times.iter_mut().zip([POINTS / 2, POINTS]) {
        *time = (0..3)
            .map(|_| {
                let start = Instant::now();
                black_box(with_bands(&file, &Overrides::new(), &situation, answers.clone(), points));
                start.elapsed().as_secs_f64()
            })
            .fold(f64::INFINITY, f64::min);
    }
    // Half as many points leave the sweeps out of the difference: exactly 512 more discharges.
    println!("{} {}", times[1] - times[0], times[1]);
}

pub fn sampled() -> Vec<Row> {
    let on = |cores: &str| {
        let own = std::env::current_exe().unwrap();
        let output =
            Command::new("taskset").args(["-c", cores]).arg(own).arg("sampled-here").output().unwrap();
        let text = String::from_utf8(output.stdout).unwrap();
        text.split_whitespace().map(|word| word.parse::<f64>().unwrap()).collect::<Vec<_>>()
    };
    let (one, two) = (on("0"), on("0,1"));
    let numbers = || {
        let started = Instant::now();
        Command::new(PROGRAM).args(["numbers", "sample-cars/heron.toml"]).current_dir(HERE).output().unwrap();
        started.elapsed().as_secs_f64()
    };
    vec![
        Row::new(
            "512 sampled discharges, two cores",
            two[0],
            "the same on one core",
            one[0],
            "≤ 0.5 s; half",
        ),
        Row::new(
            "bands of a discharge number (1,024 and the sweeps), two cores",
            two[1],
            "the same on one core",
            one[1],
            "half",
        ),
        Row::new(
            "`linewalk numbers` of the heron, everything",
            (0..3).map(|_| numbers()).fold(f64::INFINITY, f64::min),
            "–",
            f64::NAN,
            "–",
        ),
    ]
}
