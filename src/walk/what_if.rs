//! What if: the same car on the same day with some values changed. Nothing is written to the car file.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Weight};
use crate::model::{Car, Construction, SupplyLine, distance, read_car};
use crate::numbers::{
    Answer, CarNetwork, NumberValue, Readings, Situation, networks, quantity, split_sets, strays, work,
};

use crate::rules::Terms;
use crate::source::Overrides;

use super::state::{Walk, overrides_of};

/// A value that stands in for one of the car file, or a reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// Its key path.
    pub key: String,
    /// The new value, as a file would have it.
    pub text: String,
}

/// A car with its changes.
#[derive(Clone, Debug)]
pub struct Worked {
    /// The car as changed.
    pub car: Arc<Car>,
    /// Its readings.
    pub readings: Readings,
    /// Every number of it.
    pub answers: Vec<Answer>,
}

impl Worked {
    /// What limits that are worked out are worked out of.
    pub fn terms(&self) -> Terms<'_> {
        Terms { car: &self.car, numbers: &self.answers, readings: &self.readings }
    }
}

/// Works every number out with some values changed; without changes, as the walk has them.
///
/// # Errors
/// What is wrong with a change, and what to do about it.
pub fn what_if(walk: &Walk, changes: &[Change]) -> Result<Worked, String> {
    let (car, readings, overrides) = changed(walk, changes)?;
    let situation = Situation::new(&car, readings.clone(), walk.start.on);
    let answers = walk.start.rules.numbers_of(&walk.start.car_file, &overrides, &situation).to_vec();
    Ok(Worked { car, readings, answers })
}

/// The car and the readings with some values changed.
fn changed(walk: &Walk, changes: &[Change]) -> Result<(Arc<Car>, Readings, Overrides), String> {
    let sets: Vec<String> = changes.iter().map(|change| format!("{}={}", change.key, change.text)).collect();
    let sets = split_sets(&sets).map_err(|diagnostics| first_of(&diagnostics))?;
    let mut readings = walk.readings.clone();
    sets.apply(&mut readings);
    let mut overrides = overrides_of(&walk.history);
    overrides.extend(sets.overrides.clone());
    let mut read = read_car(&walk.start.car_file, &overrides);
    read.diagnostics.extend(strays(&read.car, &sets));
    read.diagnostics.retain(|diagnostic| diagnostic.weight == Weight::Error);
    if read.diagnostics.is_empty() {
        Ok((read.car, readings, overrides))
    } else {
        Err(first_of(&read.diagnostics))
    }
}

fn first_of(diagnostics: &[Diagnostic]) -> String {
    diagnostics
        .first()
        .map_or_else(String::new, |diagnostic| format!("{}: {}", diagnostic.message, diagnostic.help))
}

/// One number that is not what it was.
#[derive(Clone, Debug, PartialEq)]
pub struct Difference {
    /// As it was; none where it is new.
    pub before: Option<Answer>,
    /// As it is with the changes; none where it is gone.
    pub after: Option<Answer>,
}

impl Difference {
    /// Either of its answers: both are of one thing.
    pub fn any(&self) -> Option<&Answer> {
        self.after.as_ref().or(self.before.as_ref())
    }
}

/// Numbers that a builder argues about come first.
const FIRST: &[&str] = &[
    "discharge.arrival_from_pull",
    "discharge.arrival",
    "discharge.fair_ratio",
    "discharge.share",
    "discharge.holdup_share",
    "discharge.line_holdup",
    "discharge.duration",
];

/// Every number that changed: arrival, split and hold-up first, the others in the order of the registry.
pub fn differences(before: &[Answer], after: &[Answer]) -> Vec<Difference> {
    let same = |a: &Answer, b: &Answer| a.quantity() == b.quantity() && a.of() == b.of();
    let mut found: Vec<Difference> = Vec::new();
    for new in after {
        let old = before.iter().find(|old| same(old, new));
        if old.is_none_or(|old| differs(old, new)) {
            found.push(Difference { before: old.cloned(), after: Some(new.clone()) });
        }
    }
    for old in before.iter().filter(|old| !after.iter().any(|new| same(old, new))) {
        found.push(Difference { before: Some(old.clone()), after: None });
    }
    found.sort_by_key(|one| {
        let name = one.any().map_or("", Answer::quantity);
        FIRST.iter().position(|first| *first == name).unwrap_or(FIRST.len())
    });
    found
}

/// Whether a value is not what it was, beyond the rounding of sums.
fn differs(before: &Answer, after: &Answer) -> bool {
    match (before, after) {
        (Answer::Number(a), Answer::Number(b)) => match (&a.value, &b.value) {
            (NumberValue::Number(a), NumberValue::Number(b)) => {
                (a - b).abs() > 1e-9 * a.abs().max(b.abs()) && a != b
            }
            (a, b) => a != b,
        },
        (Answer::Refused(a), Answer::Refused(b)) => a != b,
        _ => true,
    }
}

/// The arguments that repeat the changes on the command line.
pub fn set_arguments(changes: &[Change]) -> Vec<String> {
    changes.iter().map(|change| format!("--set {}={}", change.key, quoted(&change.text))).collect()
}

/// The command that repeats the changes.
pub fn repeat_words(car: &str, changes: &[Change]) -> String {
    format!("linewalk numbers {} {}", quoted(car), set_arguments(changes).join(" "))
}

/// A text as one word of a shell.
fn quoted(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.' | '/');
    if !text.is_empty() && text.chars().all(plain) {
        return text.to_owned();
    }
    format!("'{}'", text.replace('\'', "'\\''"))
}

/// Tube sizes of the ready-made table: outside diameter and wall.
pub const SIZES: &[(&str, &str)] =
    &[("3/16 in", "0.028 in"), ("1/4 in", "0.035 in"), ("5/16 in", "0.035 in")];

/// Lines that the ready-made table gives one size after another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MainRun {
    /// What they are called.
    pub title: String,
    /// Their ids.
    pub lines: Vec<String>,
    /// Ids of the nozzles of their network.
    pub nozzles: Vec<String>,
}

/// For each network its main run (hard line from its bottles to where agent first divides), then each hard line alone.
pub fn main_runs(car: &Car) -> Vec<MainRun> {
    let hard = |line: &&SupplyLine| line.construction != Some(Construction::Flexible);
    let mut found = Vec::new();
    for network in networks(car) {
        let nozzles: Vec<String> = network.nozzles.iter().map(|nozzle| nozzle.id.clone()).collect();
        let ids = |lines: &[&SupplyLine]| lines.iter().map(|line| line.run.id.clone()).collect::<Vec<_>>();
        let mut main = undivided(&network);
        main.retain(|line| hard(line));
        let (mut lines, mut what) = (ids(&main), "main run");
        if lines.is_empty() {
            let longest = network.lines.iter().copied().filter(hard);
            let longest = longest.max_by(|a, b| straight(a).total_cmp(&straight(b)));
            (lines, what) = (ids(&longest.into_iter().collect::<Vec<_>>()), "longest hard line");
        }
        if lines.is_empty() {
            continue;
        }
        let title = format!("{what}: {}", lines.join(", "));
        found.push(MainRun { title, lines, nozzles: nozzles.clone() });
        found.extend(network.lines.iter().copied().filter(hard).map(|line| MainRun {
            title: format!("line {}", line.run.id),
            lines: vec![line.run.id.clone()],
            nozzles: nozzles.clone(),
        }));
    }
    found
}

/// Lines from the bottles up to the first node where agent divides.
fn undivided<'c>(network: &CarNetwork<'c>) -> Vec<&'c SupplyLine> {
    let mut seen: BTreeSet<&str> = BTreeSet::new();
    let mut run: Vec<&'c SupplyLine> = Vec::new();
    let mut nodes: Vec<(&str, bool)> =
        network.bottles.iter().map(|bottle| (bottle.id.as_str(), true)).rev().collect();
    while let Some((node, is_bottle)) = nodes.pop() {
        let touches = |line: &&&'c SupplyLine| line.from.text == node || line.to.text == node;
        let next: Vec<&'c SupplyLine> = network
            .lines
            .iter()
            .filter(touches)
            .filter(|line| !seen.contains(line.run.id.as_str()))
            .copied()
            .collect();
        let ends = network.nozzles.iter().any(|nozzle| nozzle.id == node) || next.len() != 1;
        if !is_bottle && ends {
            continue;
        }
        for line in next {
            seen.insert(&line.run.id);
            run.push(line);
            let other = if line.from.text == node { &line.to.text } else { &line.from.text };
            nodes.push((other, false));
        }
    }
    run
}

/// Straight length of a line as the file gives it, m.
fn straight(line: &SupplyLine) -> f64 {
    let legs = line.run.path.windows(2);
    let along: f64 = legs.map(|pair| if let [a, b] = pair { distance(*a, *b) } else { 0.0 }).sum();
    line.run.length.map_or(along, |length| length.si())
}

/// One row of the ready-made table.
#[derive(Clone, Debug, PartialEq)]
pub struct TableRow {
    /// The tube.
    pub tube: String,
    /// The latest arrival of any nozzle, s, and the nozzle.
    pub arrival: Result<(f64, String), String>,
    /// The least share over an even share, and the nozzle.
    pub fair: Result<(f64, String), String>,
    /// Share of all agent that wets the lines.
    pub holdup: Result<f64, String>,
}

/// The run as it stands, then in each size: latest arrival, worst split, hold-up. Changes made so far count.
pub fn main_run_table(walk: &Walk, changes: &[Change], run: &MainRun) -> Vec<TableRow> {
    let mut rows = vec![row(walk, changes, run, "as it is".to_owned())];
    for (od, wall) in SIZES {
        let mut with = changes.to_vec();
        for line in &run.lines {
            for (key, text) in [("od", od), ("wall", wall)] {
                let key = format!("suppression.line.{line}.tube.{key}");
                with.push(Change { key, text: (*text).to_owned() });
            }
        }
        rows.push(row(walk, &with, run, format!("{od}, wall {wall}")));
    }
    rows
}

fn row(walk: &Walk, changes: &[Change], run: &MainRun, tube: String) -> TableRow {
    let (car, readings, _) = match changed(walk, changes) {
        Ok(changed) => changed,
        Err(why) => {
            return TableRow { tube, arrival: Err(why.clone()), fair: Err(why.clone()), holdup: Err(why) };
        }
    };
    let situation = Situation::new(&car, readings, walk.start.on);
    let of_nozzles = |id: &str| -> Result<Vec<(f64, String)>, String> {
        let answers = quantity(id).map(|known| work(known, &situation)).unwrap_or_default();
        let mine =
            answers.into_iter().filter(|one| one.of().is_some_and(|of| run.nozzles.iter().any(|n| n == of)));
        mine.map(|answer| Ok((value(&answer)?, answer.of().unwrap_or("").to_owned()))).collect()
    };
    let most = |(a, _): &(f64, String), (b, _): &(f64, String)| a.total_cmp(b);
    let none = || "no nozzle".to_owned();
    let holdup = quantity("discharge.holdup_share").map(|known| work(known, &situation)).unwrap_or_default();
    TableRow {
        tube,
        arrival: of_nozzles("discharge.arrival")
            .and_then(|all| all.into_iter().max_by(most).ok_or_else(none)),
        fair: of_nozzles("discharge.fair_ratio")
            .and_then(|all| all.into_iter().min_by(most).ok_or_else(none)),
        holdup: holdup.first().ok_or_else(none).and_then(value),
    }
}

fn value(answer: &Answer) -> Result<f64, String> {
    match answer {
        Answer::Number(number) => number.si().ok_or_else(|| "it is no number".to_owned()),
        Answer::Refused(refused) => Err(refused.reason.clone()),
    }
}
