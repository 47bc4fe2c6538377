//! EPANET's C library on one of our networks: written as it reads it, its solve call timed by `epanet.c`.

use std::fmt::Write;
use std::process::Command;

use linewalk::physics::network::Plan;

/// EPANET's constants: g = 32.2 ft/s2, a kinematic viscosity of 1.1e-5 ft2/s times a multiplier.
const G: f64 = 32.2 * 0.3048;
const NU: f64 = 1.1e-5 * 0.3048 * 0.3048;

/// The network in litres a second, metres and millimetres: bottles are reservoirs behind check-valve pipes, nozzles are
/// emitters of exponent one half.
fn written(plan: &Plan) -> String {
    let bottle = |node: usize| plan.bottles.iter().find(|bottle| bottle.node == node);
    let head = |pascals: f64| pascals / (plan.fluid.density * G);
    let mut text = "[JUNCTIONS]\n".to_owned();
    for (node, z) in plan.elevations.iter().enumerate().filter(|(node, _)| bottle(*node).is_none()) {
        writeln!(text, "n{node} {z} 0").unwrap();
    }
    text += "[RESERVOIRS]\n";
    for bottle in &plan.bottles {
        let level = head(bottle.pressure) + plan.elevations[bottle.node];
        writeln!(text, "n{} {level}", bottle.node).unwrap();
    }
    text += "[PIPES]\n";
    for (at, line) in plan.lines.iter().enumerate() {
        let status = if bottle(line.from).is_some() { "CV" } else { "Open" };
        let (bore, roughness, k) = (line.bore * 1e3, line.roughness * 1e3, line.inlet_k + line.fitting_k);
        writeln!(text, "p{at} n{} n{} {} {bore} {roughness} {k} {status}", line.from, line.to, line.length)
            .unwrap();
    }
    text += "[EMITTERS]\n";
    for nozzle in &plan.nozzles {
        let coefficient = nozzle.conductance * (plan.fluid.density * G).sqrt() * 1e3;
        writeln!(text, "n{} {coefficient}", nozzle.node).unwrap();
    }
    let viscosity = plan.fluid.viscosity / plan.fluid.density / NU;
    let options = "UNITS LPS\nPRESSURE METERS\nHEADLOSS D-W\nTRIALS 500\nEMITTER EXPONENT 0.5";
    write!(text, "[OPTIONS]\n{options}\nVISCOSITY {viscosity}\n[TIMES]\nDURATION 0\n[END]\n").unwrap();
    text
}

/// Seconds of one solve, EPANET's own accuracy of 0.001.
pub fn solve(plan: &Plan) -> f64 {
    let file = tempfile::NamedTempFile::with_suffix(".inp").unwrap();
    std::fs::write(file.path(), written(plan)).unwrap();
    let solves = (2_000 / plan.elevations.len()).max(2).to_string();
    let driver = std::env::var("EPANET_DRIVER").expect("tests/bench/run sets EPANET_DRIVER");
    let library = std::env::var("EPANET_LIB").expect("tests/bench/run sets EPANET_LIB");
    let output = Command::new(driver).arg(library).arg(file.path()).arg(solves).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap().split_whitespace().next().unwrap().parse().unwrap()
}
