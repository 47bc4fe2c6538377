//! The band of a number: the middle 95 % of what it can be, given how well its inputs are known.
//!
//! Every input lies anywhere in an interval with equal chance ([`super::spread()`]). One number's inputs are swept one at a time
//! first: at the three Gauss-Legendre points of each interval, the others as given, which gives each input's own share
//! of the variance. Then Halton points are pushed through, the smallest prime for the input that moves the number most.
//! The ends are points of Harrell and Davis's kind ([`crate::physics::quantile`]), which take in the neighbours of the
//! one value at their place. Nothing is drawn at random: the same inputs give the same band. Numbers that rest on the
//! same uncertain inputs share their points, so that a whole discharge is run once for all of its numbers.
//!
//! Discharges are run quickly here; each number's samples are then moved by what the quick run of the inputs as given
//! differs from the close one. Quantities that define their own ends keep them. Of a word, or of yes and no, the samples say
//! how often it comes out as with the inputs as given.

use std::num::NonZeroUsize;
use std::sync::Arc;
use std::thread;

use chrono::NaiveDate;

use crate::diagnostic::{Place, SourceFile};
use crate::model::{Car, read_car};
use crate::physics::halton::{primes, radical_inverse};
use crate::physics::quantile::point;
use crate::source::{Override, Overrides};

use super::answer::{Answer, Bound, Number, NumberValue};
use super::draws::{Limited, Ran};
use super::readings::Readings;
use super::registry::{Quantity, Shown, quantity, work};
use super::situation::{Situation, Swaps};
use super::spread::{Group, Spread};

/// Points of a band that is shown.
pub const POINTS: usize = 512;

/// The ends of a band.
const LOW: f64 = 0.025;
const HIGH: f64 = 0.975;
/// Of all samples, how many may be left out before the number says so.
const LEFT_OUT: f64 = 0.01;
/// A smaller share of the variance is not worth naming.
const NAMED: f64 = 0.01;
/// Of more uncertain inputs than this, those that move the numbers most are sampled, and the others stand at the ends that are
/// worse: points in so many dimensions fill none of them ([`super::corners`]).
pub const MOST_INPUTS: usize = 64;
/// Threads at most: a band is a short piece of work.
const THREADS: usize = 8;

/// Puts a band on every number that has none of its own and rests on an uncertain input, though not on very many.
///
/// `answers` are those of `situation`, which is the car of `file` under `overrides`. The band is the 2.5 % and the
/// 97.5 % point of `points` samples, its convergence how far either end moves when the points double, as a share of
/// the band. Its drivers are the inputs by their share of the variance, largest first; they add up to one at most.
pub fn with_bands(
    file: &Arc<SourceFile>,
    overrides: &Overrides,
    situation: &Situation<'_>,
    answers: Vec<Answer>,
    points: usize,
) -> Vec<Answer> {
    with_draws(file, overrides, situation, answers, &[], points)
}

/// As [`with_bands`]; the terms of limits that are worked out are drawn beside the numbers that they limit, each draw
/// with the same inputs for both.
pub fn with_draws(
    file: &Arc<SourceFile>,
    overrides: &Overrides,
    situation: &Situation<'_>,
    mut answers: Vec<Answer>,
    limited: &[Limited],
    points: usize,
) -> Vec<Answer> {
    let mut plan = Plan::of(&mut answers);
    let drawn = plan.draw(&answers, &situation.readings, limited);
    if plan.targets.is_empty() || points == 0 {
        return answers;
    }
    let bench = Bench::new(file, overrides, situation);
    let sweeps = bench.sweep(&mut plan);
    let samples = bench.sample(&plan, 2 * points);
    let corners = bench.corners(&plan, &sweeps);
    for (((target, sweep), sampled), corner) in plan.targets.iter().zip(&sweeps).zip(&samples).zip(&corners) {
        if target.is_drawn {
            continue;
        }
        if let (Some(Answer::Number(number)), Some(group)) =
            (answers.get_mut(target.answer), plan.groups.get(target.group))
        {
            band(number, sampled, points, sweep.plain);
            corner.widen(number, group.len());
            number.drivers = drivers(group, &sweep.alone, sampled);
            number.guessed = Some(guessed(group, &sweep.alone, sampled));
        }
    }
    let ran =
        Ran { targets: &plan.targets, groups: &plan.groups, sweeps: &sweeps, samples: &samples, points };
    ran.put(&drawn, &mut answers);
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
    if number.si().is_none() {
        number.samples = first.iter().flatten().copied().collect();
        return;
    }
    let (Some([low, high]), Some([lower, higher])) = (ends(first), ends(sampled)) else {
        return;
    };
    let shift = shift(number, plain);
    // What is never negative does not become so by the move.
    let signed = sampled.iter().flatten().any(|value| *value < 0.0);
    let floor = if signed { f64::NEG_INFINITY } else { 0.0 };
    let width = high - low;
    let moved = (lower - low).abs().max((higher - high).abs());
    // The inputs as given are one of the cases, if one at the edge of all others.
    let (least, most) = number.si().map_or((f64::INFINITY, f64::NEG_INFINITY), |value| (value, value));
    number.low = Some((low + shift).max(floor).min(least));
    number.high = Some((high + shift).max(floor).max(most));
    let mut samples: Vec<f64> = first.iter().flatten().map(|value| (value + shift).max(floor)).collect();
    samples.sort_by(f64::total_cmp);
    number.samples = samples.into();
    if let Some(unknown) = number.unknown {
        match number.bound {
            Bound::AtLeast => number.high = None,
            Bound::AtMost => number.low = None,
            Bound::Value => (number.low, number.high) = (None, None),
        }
        number.notes.push(format!("no whole band: {unknown} is not known"));
    }
    number.convergence = Some(if width > 0.0 { moved / width } else { 0.0 });
}

/// How far the close run of the inputs as given lies from the quick one.
pub(super) fn shift(number: &Number, plain: Option<f64>) -> f64 {
    number.si().zip(plain).map_or(0.0, |(close, quick)| close - quick)
}

/// The ends of the values that could be worked.
fn ends(sampled: &[Option<f64>]) -> Option<[f64; 2]> {
    let mut values: Vec<f64> = sampled.iter().flatten().copied().collect();
    values.sort_by(f64::total_cmp);
    (!values.is_empty()).then(|| [LOW, HIGH].map(|share| point(&values, share)))
}

/// Shares of the variance by input, largest first; small ones are left out.
fn drivers(spreads: &[Spread], parts: &[f64], sampled: &[Option<f64>]) -> Vec<(String, f64)> {
    let values: Vec<f64> = sampled.iter().flatten().copied().collect();
    // Parts that work against each other in the sample may leave less than they are by themselves.
    let whole = variance(&values).max(parts.iter().sum());
    let shares = spreads.iter().zip(parts).map(|(spread, part)| (spread.name.clone(), part / whole));
    let mut shares: Vec<(String, f64)> = shares.filter(|(_, share)| *share >= NAMED).collect();
    shares.sort_by(|(a, one), (b, other)| other.total_cmp(one).then_with(|| a.cmp(b)));
    shares
}

/// The share of the variance that assumptions of the car file make together, small ones too, and the one that makes most.
fn guessed(spreads: &[Spread], parts: &[f64], sampled: &[Option<f64>]) -> (f64, String) {
    let values: Vec<f64> = sampled.iter().flatten().copied().collect();
    let whole = variance(&values).max(parts.iter().sum());
    let assumed = || spreads.iter().zip(parts).filter(|(spread, _)| spread.guessed);
    let most = assumed().max_by(|(_, one), (_, other)| one.total_cmp(other));
    let sum: f64 = assumed().map(|(_, part)| part).sum();
    let share = if whole > 0.0 { sum / whole } else { 0.0 };
    (share, most.map(|(spread, _)| spread.name.clone()).unwrap_or_default())
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

/// A number to be sampled.
#[derive(Clone, Debug)]
pub(super) struct Target {
    /// Its place among the answers.
    pub(super) answer: usize,
    quantity: &'static Quantity,
    of: String,
    /// Its value, the inputs as given.
    pub(super) given: NumberValue,
    /// Which inputs move it.
    pub(super) group: usize,
    /// Whether it is only drawn beside another number, and has its band from elsewhere.
    pub(super) is_drawn: bool,
}

/// Groups of which no two share an input: their cases are worked together, for none knows of the others' inputs.
#[derive(Clone, Debug, Default)]
pub(super) struct Round {
    pub(super) groups: Vec<usize>,
    /// Their numbers, in the order of the answers.
    pub(super) targets: Vec<usize>,
}

/// Everything to be sampled.
#[derive(Clone, Debug, Default)]
pub(super) struct Plan {
    pub(super) groups: Vec<Group>,
    pub(super) targets: Vec<Target>,
    rounds: Vec<Round>,
}

impl Plan {
    fn of(answers: &mut [Answer]) -> Self {
        let mut plan = Self::default();
        for (answer, number) in answers.iter_mut().enumerate() {
            let Answer::Number(number) = number else { continue };
            let Some(quantity) = quantity(number.quantity) else { continue };
            let mut spreads = Spread::all(&number.inputs);
            let own_ends = number.low.is_some() || number.hold.is_some();
            if own_ends || spreads.is_empty() || number.shown_as == Shown::Days {
                continue;
            }
            spreads.sort_by(|one, other| one.name.cmp(&other.name));
            let known = plan.groups.iter().position(|group| *group == spreads);
            let group = known.unwrap_or(plan.groups.len());
            if known.is_none() {
                plan.groups.push(spreads);
            }
            let (of, given) = (number.of.clone(), number.value.clone());
            plan.targets.push(Target { answer, quantity, of, given, group, is_drawn: false });
        }
        plan.set_rounds();
        plan
    }

    /// Adds a number once more, to be drawn with a group of inputs; its place among the targets.
    pub(super) fn draw_one(&mut self, answer: usize, number: &Number, group: &Group) -> Option<usize> {
        let quantity = quantity(number.quantity)?;
        let known = self.groups.iter().position(|known| known == group);
        let place = known.unwrap_or(self.groups.len());
        if known.is_none() {
            self.groups.push(group.clone());
        }
        let (of, given) = (number.of.clone(), number.value.clone());
        self.targets.push(Target { answer, quantity, of, given, group: place, is_drawn: true });
        Some(self.targets.len() - 1)
    }

    /// Puts each group into the first round that none of its inputs is in yet.
    pub(super) fn set_rounds(&mut self) {
        self.rounds.clear();
        let shares = |one: &Group, other: &Group| {
            one.iter().any(|spread| other.iter().any(|known| known.meets(spread)))
        };
        for (place, group) in self.groups.iter().enumerate() {
            let apart = |round: &&mut Round| {
                round
                    .groups
                    .iter()
                    .filter_map(|known| self.groups.get(*known))
                    .all(|known| !shares(known, group))
            };
            match self.rounds.iter_mut().find(apart) {
                Some(round) => round.groups.push(place),
                None => self.rounds.push(Round { groups: vec![place], targets: Vec::new() }),
            }
        }
        for round in &mut self.rounds {
            let inside = |target: &usize| {
                self.targets.get(*target).is_some_and(|target| round.groups.contains(&target.group))
            };
            round.targets = (0..self.targets.len()).filter(inside).collect();
        }
    }

    fn groups_of(&self, round: &Round) -> impl Iterator<Item = &Group> {
        round.groups.iter().filter_map(|group| self.groups.get(*group))
    }

    /// The most uncertain inputs that a group of the round has.
    fn most(&self, round: &Round) -> usize {
        self.groups_of(round).map(Vec::len).max().unwrap_or_default()
    }
}

/// One number with its inputs as given, and with one of them at a time elsewhere.
#[derive(Clone, Debug, Default)]
pub(super) struct Sweep {
    /// The value, the inputs as given.
    pub(super) plain: Option<f64>,
    /// The variance that each input makes alone.
    alone: Vec<f64>,
    /// Whether the number is greater at the upper end of each input than at the lower.
    pub(super) rises: Vec<bool>,
}

/// Gauss and Legendre's three points over 0 to 1, and their weights.
const NODES: [(f64, f64); 3] =
    [(0.112_701_665_379_258_31, 5.0 / 18.0), (0.5, 8.0 / 18.0), (0.887_298_334_620_741_7, 5.0 / 18.0)];

/// What every thread needs to work cases out; the car itself cannot be sent, so each reads it anew.
pub(super) struct Bench<'a> {
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
        let simple = |value: &'a Override| match value {
            Override::Typed(text, _) => Value::Typed(text),
            Override::Si(si) => Value::Si(*si),
        };
        let overrides = overrides.iter().map(|(key, value)| (key.as_str(), simple(value))).collect();
        Self { name: &file.name, text: &file.text, overrides, readings: &s.readings, on: s.on }
    }

    fn car(&self) -> Arc<Car> {
        let file = SourceFile::new(self.name, self.text);
        let overrides = self.overrides.iter().map(|(key, value)| {
            let value = match value {
                Value::Typed(text) => {
                    Override::Typed((*text).to_owned(), Place { file: Arc::clone(&file), range: 0..0 })
                }
                Value::Si(si) => Override::Si(*si),
            };
            ((*key).to_owned(), value)
        });
        read_car(&file, &overrides.collect()).car
    }

    /// Works every job out on as many threads as there are, and gives the results in order.
    pub(super) fn all<T: Send>(&self, jobs: usize, work: impl Fn(&Car, usize) -> T + Sync) -> Vec<T> {
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

    /// The value of each target of a round with some inputs replaced; none where it is refused.
    pub(super) fn values(&self, car: &Car, plan: &Plan, round: &Round, swaps: Swaps) -> Vec<Option<f64>> {
        let s = Situation::sampled(car, self.readings.clone(), self.on, swaps);
        let mut of: Option<(&str, Vec<Answer>)> = None;
        let mut values = Vec::with_capacity(round.targets.len());
        for target in round.targets.iter().filter_map(|target| plan.targets.get(*target)) {
            if of.as_ref().is_none_or(|(known, _)| *known != target.quantity.id) {
                of = Some((target.quantity.id, work(target.quantity, &s)));
            }
            let answers = of.as_ref().map_or(&[][..], |(_, answers)| answers.as_slice());
            let found = answers.iter().find(|answer| answer.of() == Some(&target.of));
            values.push(found.and_then(Answer::number).map(|number| as_number(&number.value, &target.given)));
        }
        values
    }

    /// Works the cases of every round, and gives each target its values in the order of the cases.
    fn cases(
        &self,
        plan: &Plan,
        count: impl Fn(&Round) -> usize,
        swaps: impl Fn(&Group, usize) -> Vec<(String, f64)> + Sync,
    ) -> Vec<Vec<Option<f64>>> {
        let rounds = plan.rounds.iter();
        let jobs: Vec<(&Round, usize)> =
            rounds.flat_map(|round| (0..count(round)).map(move |case| (round, case))).collect();
        let results = self.all(jobs.len(), |car, job| {
            let Some((round, case)) = jobs.get(job) else { return Vec::new() };
            let swaps = plan.groups_of(round).flat_map(|group| swaps(group, *case)).collect();
            self.values(car, plan, round, swaps)
        });
        let mut values = vec![Vec::new(); plan.targets.len()];
        for ((round, _), result) in jobs.iter().zip(results) {
            for (target, value) in round.targets.iter().zip(result) {
                if let Some(values) = values.get_mut(*target) {
                    values.push(value);
                }
            }
        }
        values
    }

    /// Sweeps every input by itself, and puts each group in order: those that move its numbers most come first.
    fn sweep(&self, plan: &mut Plan) -> Vec<Sweep> {
        let known = &*plan;
        let cases = self.cases(
            known,
            |round| 1 + NODES.len() * known.most(round),
            |group, case| {
                let node = case.checked_sub(1).and_then(|case| {
                    let (spread, (share, _)) =
                        (group.get(case / NODES.len())?, NODES.get(case % NODES.len())?);
                    Some(spread.at(*share).collect())
                });
                node.unwrap_or_default()
            },
        );
        let alone = |(target, cases): (&Target, &Vec<Option<f64>>)| {
            let nodes = cases.get(1..).unwrap_or_default().chunks(NODES.len());
            let inputs = plan.groups.get(target.group).map_or(0, Vec::len);
            Sweep {
                plain: cases.first().copied().flatten(),
                alone: nodes.clone().take(inputs).map(alone).collect(),
                rises: nodes.take(inputs).map(rises).collect(),
            }
        };
        let mut sweeps: Vec<Sweep> = plan.targets.iter().zip(&cases).map(alone).collect();
        for (place, group) in plan.groups.iter_mut().enumerate() {
            let own = plan.targets.iter().zip(&mut sweeps).filter(|(target, _)| target.group == place);
            order(group, own.map(|(_, sweep)| sweep).collect());
        }
        sweeps
    }

    /// The samples of every target.
    fn sample(&self, plan: &Plan, points: usize) -> Vec<Vec<Option<f64>>> {
        let most = plan.rounds.iter().map(|round| plan.most(round)).max().unwrap_or_default();
        // Those that move it less stand as given.
        let bases = primes(most.min(MOST_INPUTS));
        self.cases(
            plan,
            |_| points,
            |group, case| {
                // The first point of a Halton sequence is the corner, where nothing is like the rest.
                let at = |base| radical_inverse(case + 1, base);
                group.iter().zip(&bases).flat_map(|(spread, base)| spread.at(at(*base))).collect()
            },
        )
    }
}

/// A sampled value as a number: what is a word, or yes or no, is 1 where it is as with the inputs as given, and else 0.
fn as_number(value: &NumberValue, given: &NumberValue) -> f64 {
    match value {
        NumberValue::Number(si) => *si,
        word => f64::from(u8::from(word == given)),
    }
}

/// The variance of values at the nodes; of those that could be worked.
fn alone(nodes: &[Option<f64>]) -> f64 {
    let worked = nodes.iter().zip(NODES).filter_map(|(value, (_, weight))| Some(((*value)?, weight)));
    let values: Vec<(f64, f64)> = worked.collect();
    let weights: f64 = values.iter().map(|(_, weight)| weight).sum();
    let mean = values.iter().map(|(value, weight)| value * weight).sum::<f64>() / weights;
    let sum: f64 = values.iter().map(|(value, weight)| (value - mean) * (value - mean) * weight).sum();
    if values.is_empty() { 0.0 } else { sum / weights }
}

/// Whether the greatest of the values at the nodes lies toward the upper end.
fn rises(nodes: &[Option<f64>]) -> bool {
    matches!(nodes, [Some(low), _, Some(high)] if high > low)
}

/// Orders the inputs of a group by what they move, over all of its numbers, each number counting alike.
fn order(group: &mut Group, mut sweeps: Vec<&mut Sweep>) {
    let mut weights: Vec<(f64, usize)> = (0..group.len()).map(|input| (0.0, input)).collect();
    for sweep in &sweeps {
        let whole: f64 = sweep.alone.iter().sum();
        for ((weight, _), part) in weights.iter_mut().zip(&sweep.alone).filter(|_| whole > 0.0) {
            *weight += part / whole;
        }
    }
    weights.sort_by(|(one, a), (other, b)| other.total_cmp(one).then_with(|| a.cmp(b)));
    let places: Vec<usize> = weights.into_iter().map(|(_, input)| input).collect();
    *group = places.iter().filter_map(|place| group.get(*place).cloned()).collect();
    for sweep in &mut sweeps {
        sweep.alone = places.iter().filter_map(|place| sweep.alone.get(*place).copied()).collect();
        sweep.rises = places.iter().filter_map(|place| sweep.rises.get(*place).copied()).collect();
    }
}
