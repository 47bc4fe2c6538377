//! The discharge: when agent arrives, how it splits, how long it lasts, what stays behind.

use std::cell::OnceCell;

use crate::cite::{Basis, Cite};
use crate::model::Bottle;
use crate::physics::discharge::{Outcome, Settings};
use crate::units::{Kind, Time};

use super::answer::Answer;
use super::ask::{Ask, Stop, Worked};
use super::network::{CarNetwork, networks};
use super::registry::{Quantity, Shown};
use super::situation::Situation;

/// How long a valve takes to open, where nothing is given.
const VALVE_OPENING: f64 = 0.15;

const MODEL: Cite = Cite::new(
    "quasi-steady liquid network (Darcy-Weisbach, Colebrook-White, Crane TP-410 fittings), gas by a polytrope",
    "checked against EPANET 2",
    Basis::Computed,
);

const fn quantity(
    id: &'static str,
    title: &'static str,
    of: &'static str,
    table: &'static str,
    shown: Shown,
    work: fn(&Quantity, &Situation<'_>) -> Vec<Answer>,
) -> Quantity {
    Quantity {
        id,
        title,
        of,
        table,
        shown,
        formula: "quasi-steady discharge of the whole network",
        source: MODEL,
        work,
    }
}

const NOZZLE: &str = "suppression.nozzle";
const BOTTLE: &str = "suppression.bottle";

/// Gathers the inputs of a whole network; every number of the network takes them over.
static WHOLE: Quantity = quantity(
    "discharge",
    "The discharge of one network",
    "network",
    BOTTLE,
    Shown::Kind(Kind::Time),
    |_, _| Vec::new(),
);

pub(super) const QUANTITIES: &[Quantity] = &[
    quantity(
        "discharge.arrival",
        "First agent out of the nozzle, from the valve being open",
        "nozzle",
        NOZZLE,
        Shown::Kind(Kind::Time),
        |q, s| nozzles(q, s, arrival),
    ),
    quantity(
        "discharge.arrival_from_pull",
        "First agent out of the nozzle, from the pull",
        "nozzle",
        NOZZLE,
        Shown::Kind(Kind::Time),
        |q, s| nozzles(q, s, arrival_from_pull),
    ),
    quantity(
        "discharge.delivered",
        "Agent out of the nozzle",
        "nozzle",
        NOZZLE,
        Shown::Kind(Kind::Mass),
        |q, s| nozzles(q, s, |_, _, run, at| Ok(delivered(run, at))),
    ),
    quantity(
        "discharge.share",
        "The nozzle's share of what its network delivers",
        "nozzle",
        NOZZLE,
        Shown::Share,
        |q, s| nozzles(q, s, |_, _, run, at| Ok(share(run, at))),
    ),
    quantity(
        "discharge.fair_ratio",
        "The nozzle's share over an even share",
        "nozzle",
        NOZZLE,
        Shown::Kind(Kind::Ratio),
        |q, s| nozzles(q, s, fair_ratio),
    ),
    quantity(
        "discharge.flow_start",
        "Flow of the nozzle with every line full, bottles at opening pressure",
        "nozzle",
        NOZZLE,
        Shown::Kind(Kind::Flow),
        |q, s| nozzles(q, s, flow_start),
    ),
    quantity(
        "discharge.duration",
        "Time until the liquid is gone",
        "car",
        BOTTLE,
        Shown::Kind(Kind::Time),
        |q, s| car(q, s, |runs| longest(runs, |run| run.duration)),
    ),
    quantity(
        "discharge.time_to_90",
        "Time until 90 % of what will be delivered is out",
        "car",
        BOTTLE,
        Shown::Kind(Kind::Time),
        |q, s| car(q, s, |runs| longest(runs, |run| run.time_to_90)),
    ),
    quantity(
        "discharge.time_to_95",
        "Time until 95 % of what will be delivered is out",
        "car",
        BOTTLE,
        Shown::Kind(Kind::Time),
        |q, s| car(q, s, |runs| longest(runs, |run| run.time_to_95)),
    ),
    quantity(
        "discharge.line_holdup",
        "Agent that wets the lines when the liquid is gone",
        "car",
        BOTTLE,
        Shown::Kind(Kind::Mass),
        |q, s| car(q, s, |runs| runs.iter().map(|run| run.line_holdup.si()).sum()),
    ),
    quantity(
        "discharge.holdup_share",
        "Agent that wets the lines, of all agent",
        "car",
        BOTTLE,
        Shown::Share,
        |q, s| car(q, s, holdup_share),
    ),
    quantity(
        "discharge.left_in_bottle",
        "Agent left in the bottle when the first one is empty",
        "bottle",
        BOTTLE,
        Shown::Kind(Kind::Mass),
        left_in_bottle,
    ),
];

/// Every network of a car as run once: what went in, and what came out or why nothing did.
#[derive(Debug)]
pub struct Runs<'c> {
    runs: OnceCell<Vec<Run<'c>>>,
    settings: Settings,
}

/// One network as run.
#[derive(Debug)]
pub struct Run<'c> {
    /// The network.
    pub network: CarNetwork<'c>,
    /// What went in.
    ask: Ask<'static>,
    /// What came out, or why nothing did.
    pub outcome: Worked<Outcome>,
}

impl Runs<'_> {
    /// Not run yet.
    pub(super) fn new(settings: Settings) -> Self {
        Self { runs: OnceCell::new(), settings }
    }
}

/// Every network, run on first use.
pub fn runs<'s, 'c>(s: &'s Situation<'c>) -> &'s [Run<'c>] {
    s.discharge.runs.get_or_init(|| {
        networks(s.car)
            .into_iter()
            .map(|network| {
                let mut ask = s.ask(&WHOLE, "");
                let outcome = network.run(&mut ask, s, s.discharge.settings);
                Run { network, ask, outcome }
            })
            .collect()
    })
}

impl Run<'_> {
    /// An asking that has everything that went into this network.
    fn ask<'q>(&self, quantity: &'q Quantity, of: &str) -> Ask<'q> {
        self.ask.clone().for_another(quantity, of)
    }
}

fn nozzles(
    quantity: &Quantity,
    s: &Situation<'_>,
    work: impl Fn(&mut Ask<'_>, &CarNetwork<'_>, &Outcome, usize) -> Worked<f64>,
) -> Vec<Answer> {
    let mut answers = Vec::new();
    for nozzle in &s.car.suppression.nozzles {
        let mut found = runs(s).iter().filter_map(|run| {
            Some((run, run.network.nozzles.iter().position(|known| known.id == nozzle.id)?))
        });
        let Some((run, at)) = found.next() else {
            let ask = Ask::new(quantity, &nozzle.id);
            answers.push(ask.refuse("no line leads to it from a bottle"));
            continue;
        };
        let mut ask = run.ask(quantity, &nozzle.id);
        let worked = run
            .outcome
            .as_ref()
            .map_err(Clone::clone)
            .and_then(|outcome| work(&mut ask, &run.network, outcome, at));
        answers.push(ask.finish(worked));
    }
    answers
}

fn arrival(_: &mut Ask<'_>, _: &CarNetwork<'_>, run: &Outcome, at: usize) -> Worked<f64> {
    let arrival = run.nozzles.get(at).and_then(|nozzle| nozzle.arrival);
    arrival.map(Time::si).ok_or_else(|| Stop::because("the bottle is empty before agent reaches it"))
}

fn arrival_from_pull(ask: &mut Ask<'_>, network: &CarNetwork<'_>, run: &Outcome, at: usize) -> Worked<f64> {
    let mut opening = 0.0_f64;
    for bottle in &network.bottles {
        let key = format!("suppression.bottle.{}.valve_opening", bottle.id);
        opening = opening.max(ask.or_default::<Time>(key, bottle.charge.valve_opening, VALVE_OPENING));
    }
    Ok(arrival(ask, network, run, at)? + opening)
}

fn delivered(run: &Outcome, at: usize) -> f64 {
    run.nozzles.get(at).map_or(0.0, |nozzle| nozzle.delivered.si())
}

fn share(run: &Outcome, at: usize) -> f64 {
    let all: f64 = run.nozzles.iter().map(|nozzle| nozzle.delivered.si()).sum();
    delivered(run, at) / all
}

#[expect(clippy::cast_precision_loss, reason = "a car has a handful of nozzles")]
fn fair_ratio(_: &mut Ask<'_>, network: &CarNetwork<'_>, run: &Outcome, at: usize) -> Worked<f64> {
    Ok(share(run, at) * network.nozzles.len() as f64)
}

fn flow_start(_: &mut Ask<'_>, _: &CarNetwork<'_>, run: &Outcome, at: usize) -> Worked<f64> {
    Ok(run.nozzles.get(at).map_or(0.0, |nozzle| nozzle.flow_start.si()))
}

/// A number of the whole car: every network has to give its part.
fn car(quantity: &Quantity, s: &Situation<'_>, work: impl Fn(&[&Outcome]) -> f64) -> Vec<Answer> {
    let all = runs(s);
    if all.is_empty() {
        return Vec::new();
    }
    let mut ask = s.ask(quantity, &s.car.id);
    let mut outcomes = Vec::new();
    let mut stop = None;
    for run in all {
        ask.take_over(&run.ask);
        match &run.outcome {
            Ok(outcome) => outcomes.push(outcome),
            Err(why) => stop = Some(why.clone()),
        }
    }
    vec![ask.finish(stop.map_or_else(|| Ok(work(&outcomes)), Err))]
}

fn longest(runs: &[&Outcome], time: impl Fn(&Outcome) -> Time) -> f64 {
    runs.iter().map(|run| time(run).si()).fold(0.0, f64::max)
}

/// What wets the lines over all agent: what came out, what wets the lines and what is left make it up.
fn holdup_share(runs: &[&Outcome]) -> f64 {
    let held: f64 = runs.iter().map(|run| run.line_holdup.si()).sum();
    let left: f64 = runs.iter().flat_map(|run| &run.left).map(|left| left.si()).sum();
    let out: f64 = runs.iter().flat_map(|run| &run.nozzles).map(|nozzle| nozzle.delivered.si()).sum();
    held / (held + left + out)
}

fn left_in_bottle(quantity: &Quantity, s: &Situation<'_>) -> Vec<Answer> {
    s.car.suppression.bottles.iter().map(|bottle| left_in(quantity, s, bottle)).collect()
}

fn left_in(quantity: &Quantity, s: &Situation<'_>, bottle: &Bottle) -> Answer {
    let found = runs(s)
        .iter()
        .find_map(|run| Some((run, run.network.bottles.iter().position(|known| known.id == bottle.id)?)));
    let Some((run, at)) = found else {
        return Ask::new(quantity, &bottle.id).refuse("it belongs to no network");
    };
    let ask = run.ask(quantity, &bottle.id);
    let left = run
        .outcome
        .as_ref()
        .map_err(Clone::clone)
        .map(|outcome| outcome.left.get(at).map_or(0.0, |left| left.si()));
    ask.finish(left)
}
