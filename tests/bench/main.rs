//! How fast the program is, against a named yardstick in the same run. `tests/bench/run` builds what it needs and starts
//! this; words after it choose rows. Prints both numbers and their ratio, three runs each. Nothing here is a test.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout
)]
#![allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, missing_docs)]

mod epanet;
mod log;
mod network;
mod program;
mod report;
mod terminal;

use std::time::{Duration, Instant};

/// The release program, which `tests/bench/run` has built.
pub const PROGRAM: &str = env!("CARGO_BIN_EXE_linewalk");
/// The folder of the repository.
pub const HERE: &str = env!("CARGO_MANIFEST_DIR");

const RUNS: usize = 3;

/// One line of the table.
pub struct Row {
    pub what: String,
    pub yardstick: String,
    pub ours: f64,
    pub theirs: f64,
    /// What to reach, in words.
    pub reach: &'static str,
}

impl Row {
    pub fn new(what: &str, ours: f64, yardstick: &str, theirs: f64, reach: &'static str) -> Self {
        Self { what: what.to_owned(), yardstick: yardstick.to_owned(), ours, theirs, reach }
    }
}

type Bench = fn() -> Vec<Row>;

const ROWS: [(&str, Bench); 10] = [
    ("steady", network::steady),
    ("discharge", network::discharge),
    ("sampled", network::sampled),
    ("frame", terminal::frame),
    ("key", terminal::key),
    ("log", log::load),
    ("report", report::deficiency),
    ("rules", program::rules),
    ("memory", terminal::memory),
    ("size", program::size),
];

/// Rows that take long, and the figure: only by name.
const BY_NAME: [(&str, Bench); 1] = [("build", program::build)];

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with("--")).collect();
    match words.first().map(String::as_str) {
        Some("growth") => return growth(),
        Some("sampled-here") => return network::sampled_here(),
        _ => {}
    }
    println!("| what | yardstick | ours | yardstick's | ratio | reach |");
    println!("|---|---|---|---|---|---|");
    let chosen = |name: &str| words.iter().any(|word| word == name);
    for (name, bench) in ROWS {
        if words.is_empty() || chosen(name) {
            three_times(bench);
        }
    }
    BY_NAME.iter().filter(|(name, _)| chosen(name)).for_each(|(_, bench)| three_times(*bench));
}

fn three_times(bench: Bench) {
    let runs: Vec<Vec<Row>> = (0..RUNS).map(|_| bench()).collect();
    for at in 0..runs[0].len() {
        let each = |value: fn(&Row) -> String| {
            let values: Vec<String> = runs.iter().map(|rows| value(&rows[at])).collect();
            values.join(" · ")
        };
        let row = &runs[0][at];
        println!(
            "| {} | {} | {} | {} | {} | {} |",
            row.what,
            row.yardstick,
            each(|row| shown(row.ours)),
            each(|row| if row.theirs.is_nan() { "–".to_owned() } else { shown(row.theirs) }),
            each(|row| if row.theirs.is_nan() {
                "–".to_owned()
            } else {
                format!("{:.3}", row.ours / row.theirs)
            }),
            row.reach,
        );
    }
}

/// Seconds in a fitting unit; what is over a thousand is bytes.
fn shown(value: f64) -> String {
    match value {
        v if v > 1e4 => format!("{:.1} MB", v / 1e6),
        v if v >= 1.0 => format!("{v:.2} s"),
        v if v >= 1e-3 => format!("{:.2} ms", v * 1e3),
        v => format!("{:.2} µs", v * 1e6),
    }
}

/// The least time of one call: what the machine's other work adds is not ours.
pub fn least(batches: usize, calls: usize, mut work: impl FnMut()) -> f64 {
    let batch = |_| {
        let start = Instant::now();
        (0..calls).for_each(|_| work());
        start.elapsed().as_secs_f64() / calls as f64
    };
    (0..batches).map(batch).fold(f64::INFINITY, f64::min)
}

/// The median, and the value that one in a hundred is above.
pub fn middle_and_top(mut times: Vec<Duration>) -> [f64; 2] {
    times.sort();
    [times[times.len() / 2], times[(times.len() * 99).div_ceil(100) - 1]].map(|time| time.as_secs_f64())
}

/// How the times grow with what they are given: a table and a plot of it, both scales by tens.
fn growth() {
    let curves = [
        ("nodes: steady solve", network::growth()),
        ("records: load and verify", log::growth()),
        ("checks: rules read and checked", program::growth()),
        ("findings: deficiency report as PDF", report::growth()),
    ];
    for (name, points) in &curves {
        println!("{name}");
        for (count, seconds) in points {
            // A column is a quarter of a power of ten, from a microsecond on.
            let column = ((seconds.log10() + 6.0) * 8.0).max(0.0) as usize;
            println!("{count:>9}  {:>10}  {}*", shown(*seconds), " ".repeat(column));
        }
        let ends = [points[0], points[points.len() - 1]];
        let power = (ends[1].1 / ends[0].1).ln() / (ends[1].0 as f64 / ends[0].0 as f64).ln();
        println!("{:>9}  grows as the power {power:.2} between the ends\n", "");
    }
}
