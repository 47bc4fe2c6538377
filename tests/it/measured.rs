//! The gas of a discharge against measured runs: what the model was not fitted to.

use std::fmt::Write;

use linewalk::physics::discharge::{Outcome, Settings, run};
use linewalk::physics::friction::Law;
use linewalk::physics::gas::usual_exponent;
use linewalk::physics::network::{Bottle, Fluid, Line, Network, Nozzle, Plan};
use linewalk::units::{AMBIENT, INCH, PSI};
use serde::Deserialize;

/// tests/fixtures/measured/water-runs.json, typed from its source.
#[derive(Deserialize)]
struct Fixture {
    runs: Vec<Run>,
}

#[derive(Deserialize)]
struct Run {
    name: String,
    gas_in3: f64,
    whole_in3: f64,
    factor_gpm_psi: f64,
    from_s: f64,
    seconds_and_psi: Vec<[f64; 2]>,
}

fn runs() -> Vec<Run> {
    let text = std::fs::read_to_string("tests/fixtures/measured/water-runs.json").unwrap();
    serde_json::from_str::<Fixture>(&text).unwrap().runs
}

/// Water, 62.34 lb/ft3, as the source has it.
const WATER: f64 = 62.34 * 0.453_592_37 / (0.3048 * 0.3048 * 0.3048);
/// A US gallon a minute, m3/s.
const GPM: f64 = 231.0 * INCH * INCH * INCH / 60.0;

impl Run {
    /// A tank that empties through one restriction, without a line that resists.
    fn outcome(&self, exponent: f64) -> Outcome {
        let cubic_inch = INCH.powi(3);
        let net = Network::new(Plan {
            elevations: vec![0.0, 0.0],
            bottles: vec![Bottle {
                node: 0,
                gas_volume: self.gas_in3 * cubic_inch,
                pressure: self.seconds_and_psi[0][1] * PSI,
                liquid_mass: (self.whole_in3 - self.gas_in3) * cubic_inch * WATER,
                gas_exponent: exponent,
                check_valve: false,
            }],
            lines: vec![Line {
                from: 0,
                to: 1,
                length: 1e-3,
                bore: 0.05,
                roughness: 0.0,
                inlet_k: 0.0,
                fitting_k: 0.0,
            }],
            nozzles: vec![Nozzle { node: 1, conductance: self.factor_gpm_psi * GPM / PSI.sqrt() }],
            fluid: Fluid { density: WATER, viscosity: 1e-3 },
            law: Law::ColebrookWhite,
        })
        .unwrap();
        run(&net, Settings { tolerance: 1e-12, curves: true }).unwrap()
    }

    /// psi gauge by the model, at each of the measured times.
    fn modelled(&self, exponent: f64) -> Vec<f64> {
        let outcome = self.outcome(exponent);
        self.seconds_and_psi.iter().map(|[time, _]| at(&outcome, time - self.from_s)).collect()
    }

    /// Ours over the measured absolute pressure, less one, at each of the measured times.
    fn errors(&self, exponent: f64) -> Vec<f64> {
        let ambient = AMBIENT / PSI;
        let pairs = self.modelled(exponent).into_iter().zip(&self.seconds_and_psi);
        pairs.map(|(ours, [_, measured])| (ours + ambient) / (measured + ambient) - 1.0).collect()
    }
}

/// Bottle pressure at a time, straight between samples; at the end the last one.
fn at(outcome: &Outcome, time: f64) -> f64 {
    let points: Vec<[f64; 2]> =
        outcome.curves.iter().map(|s| [s.time.si(), s.bottle_pressure[0].si() / PSI]).collect();
    let pair = points.windows(2).find(|pair| pair[1][0] >= time);
    pair.map_or(points[points.len() - 1][1], |pair| {
        let [[t1, p1], [t2, p2]] = [pair[0], pair[1]];
        if t2 > t1 { p1 + (p2 - p1) * (time - t1) / (t2 - t1) } else { p2 }
    })
}

/// The exponent that such a discharge is worked with where none is given: by its length at an exponent of 1.1.
fn usual(run: &Run) -> f64 {
    usual_exponent(run.outcome(1.1).duration)
}

fn worst(errors: &[f64]) -> f64 {
    errors.iter().fold(0.0, |worst: f64, error| worst.max(error.abs()))
}

#[test]
fn the_usual_exponent_keeps_to_measured_runs() {
    for run in runs() {
        let (errors, growth) = (run.errors(usual(&run)), run.whole_in3 / run.gas_in3);
        println!("{}: worst {:.1} %, gas grown {growth:.2} times", run.name, 100.0 * worst(&errors));
        assert!(growth < 1.6);
        assert!(worst(&errors) < 0.05, "{}: {errors:?}", run.name);
    }
}

/// What stood here before, 1.2 for every discharge, and a gas without heat: both miss.
#[test]
fn a_gas_that_cools_more_misses_the_measured_run() {
    let run = &runs()[0];
    let last = |exponent: f64| *run.errors(exponent).last().unwrap();
    // By a step-by-step sum of the same model worked apart: -3.5, -11 and -17.6 % at 22 s.
    crate::near::near(last(1.0), -0.035, 0.003, "end at n = 1.0");
    crate::near::near(last(1.2), -0.11, 0.003, "end at n = 1.2");
    crate::near::near(last(1.4), -0.176, 0.003, "end at n = 1.4");
}

/// The table of measured and modelled pressures is kept as a file; `INSTA_UPDATE=always` writes it anew.
#[test]
fn the_table_of_measured_runs_is_as_kept() {
    let mut table = String::from(
        "Nitrogen pushing water out of a tank: measured pressures against the discharge model.\n\
         Measured: \"Pressure regulated rocket system simulator\", measured water flow, 2025, MIT license.\n\
         Ours: gas exponent by the length of the discharge; flow factor from the water and time stated there.\n",
    );
    for run in runs() {
        let exponent = usual(&run);
        let [ours, cooled] = [exponent, 1.2].map(|exponent| (run.modelled(exponent), run.errors(exponent)));
        writeln!(table, "\n{}, exponent {exponent:.2} (beside it 1.20, the one used before)", run.name)
            .unwrap();
        writeln!(table, "    s   measured psi   ours psi   of absolute   at 1.20").unwrap();
        for (row, [time, measured]) in run.seconds_and_psi.iter().enumerate() {
            let percent = |share: f64| (1000.0 * share).round() / 10.0 + 0.0;
            let (psi, share, other) = (ours.0[row], percent(ours.1[row]), percent(cooled.1[row]));
            writeln!(table, "{time:5.1}   {measured:12.1}   {psi:8.1}   {share:+9.1} %   {other:+5.1} %")
                .unwrap();
        }
    }
    print!("{table}");
    let path = "tests/tables/measured-discharges.txt";
    if std::env::var_os("INSTA_UPDATE").is_some_and(|how| how == "always") {
        std::fs::write(path, &table).unwrap();
    }
    assert_eq!(std::fs::read_to_string(path).unwrap(), table, "{path}");
}
