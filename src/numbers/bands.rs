//! The band of a number: the middle 95 % of what it can be, given how well its inputs are known.
//!
//! Every input lies anywhere in an interval with equal chance ([`spread`]). One number's inputs are swept one at a time
//! first: at the three Gauss-Legendre points of each interval, the others as given, which gives each input's own share
//! of the variance. Then Halton points are pushed through, the smallest prime for the input that moves the number most.
//! Nothing is drawn at random: the same inputs give the same band. Numbers that rest on the same uncertain inputs
//! share their points, so that a whole discharge is run once for all of its numbers.
//!
//! Discharges are run quickly here; each number's samples are then moved by what the quick run of the inputs as given
//! differs from the close one. Quantities that define their own ends keep them.

use std::num::NonZeroUsize;
use std::rc::Rc;
use std::thread;

use chrono::NaiveDate;

use crate::mistake::{Place, SourceFile};
use crate::model::{Car, read_car};
use crate::physics::halton::{primes, quantile, radical_inverse};
use crate::source::{Override, Overrides};
use crate::units::{INCH, Kind};

use super::answer::{Answer, Input, Number};
use super::readings::Readings;
use super::registry::{Quantity, Shown, quantity, work};
use super::situation::{Situation, Swaps};

/// Points of a band that is shown.
pub const POINTS: usize = 512;

/// Half-widths where none is stated: common practice, no source.
const LENGTH_OF_A_LEG: f64 = INCH / 16.0;
const WALL: f64 = 0.10;
const DISCHARGE_COEFFICIENT: f64 = 0.05;
const PULL_FRICTION: [f64; 2] = [0.10, 0.25];

/// The ends of a band.
const LOW: f64 = 0.025;
const HIGH: f64 = 0.975;
/// Of all samples, how many may be left out before the number says so.
const LEFT_OUT: f64 = 0.01;
/// A smaller share of the variance is not worth naming.
const NAMED: f64 = 0.01;
/// Threads at most: a band is a short piece of work.
const THREADS: usize = 8;

/// The interval an input may lie in, SI; none where it is taken as it is.
///
/// - Stated with `+/-`, or a reading with its instrument: that half-width, though nothing that cannot be negative is
///   taken below zero.
/// - A `length` as typed: 1/16 in either way, as one leg; the length of a path: 1/16 in for each straight leg of it.
/// - `wall`: 10 % of it, whether of a tube or a sleeve. A measured `min_wall` is taken as it is; a default one follows
///   the wall.
/// - `cd`: 5 % of it, given or default.
/// - `friction` of a pull: 0.10 to 0.25, given or default, widened to a given value outside that.
pub fn spread(input: &Input) -> Option<[f64; 2]> {
    let si = input.si;
    let around = |half: f64| [si - half, si + half];
    let [low, high] = match input.half_width {
        Some(half) => around(half),
        None => match input.path.rsplit('.').next()? {
            #[expect(clippy::cast_precision_loss, reason = "a path has a handful of legs")]
            "length" if input.kind == Kind::Length => around(LENGTH_OF_A_LEG * input.legs.max(1) as f64),
            "wall" => around(WALL * si),
            "cd" => around(DISCHARGE_COEFFICIENT * si),
            "friction" if input.path.starts_with("suppression.pull.") => {
                [PULL_FRICTION[0].min(si), PULL_FRICTION[1].max(si)]
            }
            _ => return None,
        },
    };
    let signed = matches!(input.kind, Kind::Pressure | Kind::TemperatureDifference | Kind::Voltage);
    let low = if signed || si < 0.0 { low } else { low.max(0.0) };
    (high > low).then_some([low, high])
}

/// Puts a band on every number that has none of its own and rests on an uncertain input.
///
/// `answers` are those of `situation`, which is the car of `file` under `overrides`. The band is the 2.5 % and the
/// 97.5 % point of `points` samples, its convergence how far either end moves when the points double, as a share of
/// the band. Its drivers are the inputs by their share of the variance, largest first; they add up to one at most.
pub fn with_bands(
    file: &Rc<SourceFile>,
    overrides: &Overrides,
    situation: &Situation<'_>,
    mut answers: Vec<Answer>,
    points: usize,
) -> Vec<Answer> {
    let mut groups = groups(&answers);
    if groups.is_empty() || points == 0 {
        return answers;
    }
    let bench = Bench::new(file, overrides, situation);
    let sweeps = bench.sweep(&mut groups);
    let samples = bench.sample(&groups, 2 * points);
    for ((group, sweep), samples) in groups.iter().zip(&sweeps).zip(&samples) {
        for (place, target) in group.targets.iter().enumerate() {
            let Some(Answer::Number(number)) = answers.get_mut(target.answer) else { continue };
            let of = |case: &Vec<Option<f64>>| case.get(place).copied().flatten();
            let sampled: Vec<Option<f64>> = samples.iter().map(of).collect();
            band(number, &sampled, points, of(&sweep.plain));
            let shares = sweep.shares.get(place).map_or(&[][..], Vec::as_slice);
            number.drivers = drivers(&group.spreads, shares, &sampled);
        }
    }
    answers
}

/// Sets the ends of a number's band from its samples.
fn band(number: &mut Number, sampled: &[Option<f64>], points: usize, plain: Option<f64>) {
    let first = sampled.get(..points).unwrap_or_default();
    let lost = share(first.iter().filter(|value| value.is_none()).count(), points);
    if lost > LEFT_OUT {
        let worked = if lost < 1.0 { "are left out of the band" } else { "leave no band" };
        number.notes.push(format!(
            "{} % of the sampled cases cannot be worked and {worked}",
            crate::units::significant(100.0 * lost, 2)
        ));
    }
    let (Some([low, high]), Some([lower, higher])) = (ends(first), ends(sampled)) else { return };
    let shift = number.si().zip(plain).map_or(0.0, |(close, quick)| close - quick);
    let width = high - low;
    let moved = (lower - low).abs().max((higher - high).abs());
    number.low = Some(low + shift);
    number.high = Some(high + shift);
    number.convergence = Some(if width > 0.0 { moved / width } else { 0.0 });
}

fn ends(sampled: &[Option<f64>]) -> Option<[f64; 2]> {
    let mut values: Vec<f64> = sampled.iter().flatten().copied().collect();
    values.sort_by(f64::total_cmp);
    (!values.is_empty()).then(|| [quantile(&values, LOW), quantile(&values, HIGH)])
}

/// Shares of the variance by input, largest first; small ones are left out.
fn drivers(spreads: &[Spread], parts: &[f64], sampled: &[Option<f64>]) -> Vec<(String, f64)> {
    let values: Vec<f64> = sampled.iter().flatten().copied().collect();
    // Parts that work against each other in the sample may leave less than they are by themselves.
    let whole = variance(&values).max(parts.iter().sum());
    let shares = spreads.iter().zip(parts).map(|(spread, part)| (spread.path.clone(), part / whole));
    let mut shares: Vec<(String, f64)> = shares.filter(|(_, share)| *share >= NAMED).collect();
    shares.sort_by(|(a, one), (b, other)| other.total_cmp(one).then_with(|| a.cmp(b)));
    shares
}

#[expect(clippy::cast_precision_loss, reason = "counts of samples are far below 2^52")]
fn share(count: usize, all: usize) -> f64 {
    count as f64 / all as f64
}

fn variance(values: &[f64]) -> f64 {
    let mean = |values: &mut dyn Iterator<Item = f64>| {
        let (sum, count) = values.fold((0.0, 0_usize), |(sum, count), value| (sum + value, count + 1));
        if count == 0 { 0.0 } else { sum * share(1, count) }
    };
    let middle = mean(&mut values.iter().copied());
    mean(&mut values.iter().map(|value| (value - middle) * (value - middle)))
}

/// An uncertain input.
#[derive(Clone, Debug)]
struct Spread {
    path: String,
    ends: [f64; 2],
}

impl Spread {
    fn at(&self, share: f64) -> f64 {
        let [low, high] = self.ends;
        low + (high - low) * share
    }
}

/// A number to be sampled.
#[derive(Clone, Debug)]
struct Target {
    /// Its place among the answers.
    answer: usize,
    quantity: &'static Quantity,
    of: String,
}

/// Numbers that rest on the same uncertain inputs.
#[derive(Clone, Debug)]
struct Group {
    spreads: Vec<Spread>,
    targets: Vec<Target>,
}

fn groups(answers: &[Answer]) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for (answer, number) in answers.iter().enumerate().filter_map(|(n, answer)| Some((n, answer.number()?))) {
        let own_ends = number.low.is_some() || number.hold.is_some();
        let (Some(_), Some(quantity), false) = (number.si(), quantity(number.quantity), own_ends) else {
            continue;
        };
        let uncertain = number
            .inputs
            .iter()
            .filter_map(|input| Some(Spread { path: input.path.clone(), ends: spread(input)? }));
        let mut spreads: Vec<Spread> = uncertain.collect();
        if spreads.is_empty() || number.shown_as == Shown::Days {
            continue;
        }
        spreads.sort_by(|one, other| one.path.cmp(&other.path));
        let alike = |group: &&mut Group| {
            group.spreads.len() == spreads.len()
                && group.spreads.iter().zip(&spreads).all(|(one, other)| one.path == other.path)
        };
        let target = Target { answer, quantity, of: number.of.clone() };
        match groups.iter_mut().find(alike) {
            Some(group) => group.targets.push(target),
            None => groups.push(Group { spreads, targets: vec![target] }),
        }
    }
    groups
}

/// One input at a time: the inputs as given, and each input's own variance.
#[derive(Debug, Default)]
struct Sweep {
    /// The value of each target, the inputs as given.
    plain: Vec<Option<f64>>,
    /// For each target, the variance that each input makes alone.
    shares: Vec<Vec<f64>>,
}

/// Gauss and Legendre's three points over 0 to 1, and their weights.
const NODES: [(f64, f64); 3] =
    [(0.112_701_665_379_258_31, 5.0 / 18.0), (0.5, 8.0 / 18.0), (0.887_298_334_620_741_7, 5.0 / 18.0)];

/// What every thread needs to work cases out; the car itself cannot be sent, so each reads it anew.
struct Bench<'a> {
    name: &'a str,
    text: &'a str,
    overrides: Vec<(&'a str, Value<'a>)>,
    readings: &'a Readings,
    on: NaiveDate,
}

/// An override without its place.
#[derive(Clone, Copy)]
enum Value<'a> {
    Typed(&'a str),
    Si(f64),
}

impl<'a> Bench<'a> {
    fn new(file: &'a SourceFile, overrides: &'a Overrides, s: &'a Situation<'_>) -> Self {
        let plain = |value: &'a Override| match value {
            Override::Typed(text, _) => Value::Typed(text),
            Override::Si(si) => Value::Si(*si),
        };
        let overrides = overrides.iter().map(|(key, value)| (key.as_str(), plain(value))).collect();
        Self { name: &file.name, text: &file.text, overrides, readings: &s.readings, on: s.on }
    }

    fn car(&self) -> Car {
        let file = SourceFile::new(self.name, self.text);
        let overrides = self.overrides.iter().map(|(key, value)| {
            let value = match value {
                Value::Typed(text) => {
                    Override::Typed((*text).to_owned(), Place { file: Rc::clone(&file), range: 0..0 })
                }
                Value::Si(si) => Override::Si(*si),
            };
            ((*key).to_owned(), value)
        });
        read_car(&file, &overrides.collect()).car
    }

    /// Works every job out on as many threads as there are, and gives the results in order.
    fn all<T: Send>(&self, jobs: usize, work: impl Fn(&Car, usize) -> T + Sync) -> Vec<T> {
        let threads = thread::available_parallelism().map_or(1, NonZeroUsize::get).min(THREADS).min(jobs);
        let turn = |first: usize| {
            let car = self.car();
            (first..jobs).step_by(threads).map(|job| (job, work(&car, job))).collect::<Vec<_>>()
        };
        let turn = &turn;
        let mut results: Vec<(usize, T)> = thread::scope(|scope| {
            let others: Vec<_> = (1..threads).map(|first| scope.spawn(move || turn(first))).collect();
            let mut results = if jobs > 0 { turn(0) } else { Vec::new() };
            results.extend(others.into_iter().filter_map(|other| other.join().ok()).flatten());
            results
        });
        results.sort_by_key(|(job, _)| *job);
        results.into_iter().map(|(_, result)| result).collect()
    }

    /// The value of each target with some inputs replaced; none where it is refused.
    fn values(&self, car: &Car, targets: &[Target], swaps: Swaps) -> Vec<Option<f64>> {
        let s = Situation::sampled(car, self.readings.clone(), self.on, swaps);
        let mut of: Option<(&str, Vec<Answer>)> = None;
        let mut values = Vec::with_capacity(targets.len());
        for target in targets {
            if of.as_ref().is_none_or(|(known, _)| *known != target.quantity.id) {
                of = Some((target.quantity.id, work(target.quantity, &s)));
            }
            let answers = of.as_ref().map_or(&[][..], |(_, answers)| answers.as_slice());
            let found = answers.iter().find(|answer| answer.of() == Some(&target.of));
            values.push(found.and_then(Answer::number).and_then(Number::si));
        }
        values
    }

    /// Sweeps every group, and puts its inputs in order: those that move its numbers most come first.
    fn sweep(&self, groups: &mut [Group]) -> Vec<Sweep> {
        let mut jobs: Vec<(usize, Option<(usize, f64)>)> = Vec::new();
        for (place, group) in groups.iter().enumerate() {
            jobs.push((place, None));
            let nodes = (0..group.spreads.len()).flat_map(|input| NODES.map(|(node, _)| (input, node)));
            jobs.extend(nodes.map(|node| (place, Some(node))));
        }
        let known: &[Group] = groups;
        let results = self.all(jobs.len(), |car, job| {
            let Some((place, node)) = jobs.get(job).copied() else { return Vec::new() };
            let Some(group) = known.get(place) else { return Vec::new() };
            let swap = node.and_then(|(input, node)| Some((group.spreads.get(input)?, node)));
            let swaps = swap.map(|(spread, node)| (spread.path.clone(), spread.at(node)));
            self.values(car, &group.targets, swaps.into_iter().collect())
        });
        let mut results = results.into_iter();
        groups.iter_mut().map(|group| settle(group, &mut results)).collect()
    }

    /// The samples of every group: for each point the value of each target.
    fn sample(&self, groups: &[Group], points: usize) -> Vec<Vec<Vec<Option<f64>>>> {
        let most = groups.iter().map(|group| group.spreads.len()).max().unwrap_or_default();
        let bases = primes(most);
        let results = self.all(groups.len() * points, |car, job| {
            let Some(group) = groups.get(job / points) else { return Vec::new() };
            // The first point of a Halton sequence is the corner, where nothing is like the rest.
            let index = job % points + 1;
            let pairs = group.spreads.iter().zip(&bases);
            let swaps =
                pairs.map(|(spread, base)| (spread.path.clone(), spread.at(radical_inverse(index, *base))));
            self.values(car, &group.targets, swaps.collect())
        });
        let mut results = results.into_iter();
        groups.iter().map(|_| results.by_ref().take(points).collect()).collect()
    }
}

/// Takes a group's results off the sweep and orders its inputs by them.
fn settle(group: &mut Group, results: &mut impl Iterator<Item = Vec<Option<f64>>>) -> Sweep {
    let plain = results.next().unwrap_or_default();
    let nodes: Vec<Vec<Vec<Option<f64>>>> =
        group.spreads.iter().map(|_| results.by_ref().take(NODES.len()).collect()).collect();
    let alone = |target: usize, cases: &Vec<Vec<Option<f64>>>| {
        let values: Vec<(f64, f64)> = cases
            .iter()
            .zip(NODES)
            .filter_map(|(case, (_, weight))| Some((case.get(target).copied().flatten()?, weight)))
            .collect();
        let weights: f64 = values.iter().map(|(_, weight)| weight).sum();
        let mean = values.iter().map(|(value, weight)| value * weight).sum::<f64>() / weights;
        let sum: f64 = values.iter().map(|(value, weight)| (value - mean).powi(2) * weight).sum();
        if values.is_empty() { 0.0 } else { sum / weights }
    };
    let mut shares: Vec<Vec<f64>> = (0..group.targets.len())
        .map(|target| nodes.iter().map(|cases| alone(target, cases)).collect())
        .collect();
    // What each input moves, over all numbers of the group, each number counting alike.
    let mut order: Vec<(f64, usize)> = (0..group.spreads.len()).map(|input| (0.0, input)).collect();
    for parts in &shares {
        let whole: f64 = parts.iter().sum();
        for ((weight, _), part) in order.iter_mut().zip(parts).filter(|_| whole > 0.0) {
            *weight += part / whole;
        }
    }
    order.sort_by(|(one, a), (other, b)| other.total_cmp(one).then_with(|| a.cmp(b)));
    let places: Vec<usize> = order.into_iter().map(|(_, input)| input).collect();
    group.spreads = places.iter().filter_map(|place| group.spreads.get(*place).cloned()).collect();
    for parts in &mut shares {
        *parts = places.iter().map(|place| parts.get(*place).copied().unwrap_or_default()).collect();
    }
    Sweep { plain, shares }
}
