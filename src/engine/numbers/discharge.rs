//! The discharge: when agent arrives, how it splits, how long it lasts, what stays behind.

use std::cell::OnceCell;

use crate::cite::{Basis, Cite};
use crate::model::{Bottle, Nozzle};
use crate::physics::discharge::{Outcome, Settings};
use crate::units::{Kind, Time};

use super::answer::Answer;
use super::defaults::VALVE_OPENING;
use super::inputs::{Inputs, NoValue, Worked};
use super::network::{CarNetwork, networks};
use super::parts::both;
use super::registry::{Quantity, Shown};
use super::situation::Situation;

const MODEL: Cite = Cite::new(
    "quasi-steady liquid network (Darcy-Weisbach, Colebrook-White, Crane TP-410 fittings), gas by a polytrope",
    "checked against EPANET 2",
    Basis::Computed,
);

const fn quantity(
    (of, table): (&'static str, &'static str),
    id: &'static str,
    title: &'static str,
    shown: Shown,
    work: Work,
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

type Work = fn(&Quantity, &Situation<'_>) -> Vec<Answer>;

const BOTTLE: &str = "suppression.bottle";

const fn of_nozzle(id: &'static str, title: &'static str, shown: Shown, work: Work) -> Quantity {
    quantity(("nozzle", "suppression.nozzle"), id, title, shown, work)
}

const fn of_network(id: &'static str, title: &'static str, shown: Shown, work: Work) -> Quantity {
    quantity(("network", BOTTLE), id, title, shown, work)
}

/// Gathers the inputs of a whole network; every number of the network takes them over.
static WHOLE: Quantity = quantity(
    ("network", BOTTLE),
    "discharge",
    "The discharge of one network",
    Shown::Kind(Kind::Time),
    |_, _| Vec::new(),
);

pub(super) const QUANTITIES: &[Quantity] = &[
    of_nozzle(
        "discharge.arrival",
        "First agent out of the nozzle, from the valve being open",
        Shown::Kind(Kind::Time),
        |q, s| nozzles(q, s, arrival),
    ),
    of_nozzle(
        "discharge.arrival_from_pull",
        "First agent out of the nozzle, from the pull",
        Shown::Kind(Kind::Time),
        |q, s| nozzles(q, s, arrival_from_pull),
    ),
    of_nozzle("discharge.delivered", "Agent out of the nozzle", Shown::Kind(Kind::Mass), |q, s| {
        nozzles(q, s, |_, _, run, at| Ok(delivered(run, at)))
    }),
    of_nozzle("discharge.share", "The nozzle's share of what its network delivers", Shown::Share, |q, s| {
        nozzles(q, s, |_, _, run, at| delivers(run).map(|()| share(run, at)))
    }),
    of_nozzle("discharge.fair_ratio", "Share against an equal split", Shown::Kind(Kind::Ratio), |q, s| {
        nozzles(q, s, fair_ratio)
    }),
    of_nozzle(
        "discharge.flow_start",
        "Flow of the nozzle with every line full, bottles at opening pressure",
        Shown::Kind(Kind::Flow),
        |q, s| nozzles(q, s, flow_start),
    ),
    of_network("discharge.duration", "Time until the liquid is gone", Shown::Kind(Kind::Time), |q, s| {
        each_network(q, s, |run| Ok(run.duration.si()))
    }),
    of_network(
        "discharge.time_to_90",
        "Time until 90 % of what will be delivered is out",
        Shown::Kind(Kind::Time),
        |q, s| each_network(q, s, |run| delivers(run).map(|()| run.time_to_90.si())),
    ),
    of_network(
        "discharge.time_to_95",
        "Time until 95 % of what will be delivered is out",
        Shown::Kind(Kind::Time),
        |q, s| each_network(q, s, |run| delivers(run).map(|()| run.time_to_95.si())),
    ),
    of_network(
        "discharge.line_holdup",
        "Agent left in the lines when the liquid is gone",
        Shown::Kind(Kind::Mass),
        |q, s| each_network(q, s, |run| Ok(run.line_holdup.si())),
    ),
    of_network("discharge.holdup_share", "Agent left in the lines, of all agent", Shown::Share, |q, s| {
        each_network(q, s, |run| Ok(holdup_share(run)))
    }),
    quantity(
        ("bottle", BOTTLE),
        "discharge.left_in_bottle",
        "Agent left in the bottle when the first one is empty",
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
    inputs: Inputs<'static>,
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
                let mut inputs = s.inputs(&WHOLE, "");
                let outcome = network.run(&mut inputs, s, s.discharge.settings);
                Run { network, inputs, outcome }
            })
            .collect()
    })
}

impl Run<'_> {
    /// An asking that has everything that went into this network.
    fn inputs<'q>(&self, quantity: &'q Quantity, of: &str) -> Inputs<'q> {
        self.inputs.clone().for_another(quantity, of)
    }
}

/// A number of one part of a network: of the part at its place in the first network that has it.
fn in_run(
    quantity: &Quantity,
    s: &Situation<'_>,
    id: &str,
    apart: &str,
    place: impl Fn(&CarNetwork<'_>) -> Option<usize>,
    work: impl Fn(&mut Inputs<'_>, &CarNetwork<'_>, &Outcome, usize) -> Worked<f64>,
) -> Answer {
    let Some((run, at)) = runs(s).iter().find_map(|run| Some((run, place(&run.network)?))) else {
        return Inputs::new(quantity, id).refuse(apart);
    };
    let mut inputs = run.inputs(quantity, id);
    let outcome = run.outcome.as_ref().map_err(Clone::clone);
    let worked = outcome.and_then(|outcome| work(&mut inputs, &run.network, outcome, at));
    inputs.finish(worked)
}

fn nozzles(
    quantity: &Quantity,
    s: &Situation<'_>,
    work: impl Fn(&mut Inputs<'_>, &CarNetwork<'_>, &Outcome, usize) -> Worked<f64>,
) -> Vec<Answer> {
    let answer = |nozzle: &Nozzle| {
        let place = |network: &CarNetwork<'_>| network.nozzles.iter().position(|known| known.id == nozzle.id);
        in_run(quantity, s, &nozzle.id, "no line leads to it from a bottle", place, &work)
    };
    s.car.suppression.nozzles.iter().map(answer).collect()
}

fn arrival(_: &mut Inputs<'_>, _: &CarNetwork<'_>, run: &Outcome, at: usize) -> Worked<f64> {
    let arrival = run.nozzles.get(at).and_then(|nozzle| nozzle.arrival);
    arrival.map(Time::si).ok_or_else(|| NoValue::because("the bottle is empty before agent reaches it"))
}

fn arrival_from_pull(
    inputs: &mut Inputs<'_>,
    network: &CarNetwork<'_>,
    run: &Outcome,
    at: usize,
) -> Worked<f64> {
    let mut opening = 0.0_f64;
    for bottle in &network.bottles {
        let key = format!("suppression.bottle.{}.valve_opening", bottle.id);
        opening = opening.max(inputs.or_default::<Time>(key, bottle.charge.valve_opening, VALVE_OPENING));
    }
    Ok(arrival(inputs, network, run, at)? + opening)
}

fn delivered(run: &Outcome, at: usize) -> f64 {
    run.nozzles.get(at).map_or(0.0, |nozzle| nozzle.delivered.si())
}

fn share(run: &Outcome, at: usize) -> f64 {
    let all: f64 = run.nozzles.iter().map(|nozzle| nozzle.delivered.si()).sum();
    delivered(run, at) / all
}

#[expect(clippy::cast_precision_loss, reason = "a car has a handful of nozzles")]
fn fair_ratio(_: &mut Inputs<'_>, network: &CarNetwork<'_>, run: &Outcome, at: usize) -> Worked<f64> {
    delivers(run)?;
    Ok(share(run, at) * network.nozzles.len() as f64)
}

fn flow_start(_: &mut Inputs<'_>, _: &CarNetwork<'_>, run: &Outcome, at: usize) -> Worked<f64> {
    Ok(run.nozzles.get(at).map_or(0.0, |nozzle| nozzle.flow_start.si()))
}

/// One answer for each network, so that none hides behind another.
fn each_network(
    quantity: &Quantity,
    s: &Situation<'_>,
    work: impl Fn(&Outcome) -> Worked<f64>,
) -> Vec<Answer> {
    let answer = |run: &Run<'_>| {
        let worked = run.outcome.as_ref().map_err(Clone::clone).and_then(&work);
        run.inputs(quantity, &run.network.name(s.car)).finish(worked)
    };
    runs(s).iter().map(answer).collect()
}

/// Stops where no agent comes out at all: there is nothing then that a time or a share could be of.
fn delivers(run: &Outcome) -> Worked<()> {
    let out: f64 = run.nozzles.iter().map(|nozzle| nozzle.delivered.si()).sum();
    if out > 0.0 {
        return Ok(());
    }
    Err(NoValue::Because(format!(
        "no agent comes out: a bottle is empty before agent reaches a nozzle, with {} in the lines",
        both(run.line_holdup.si(), Kind::Mass)
    )))
}

/// What wets the lines over all agent: what came out, what wets the lines and what is left make it up.
fn holdup_share(run: &Outcome) -> f64 {
    let held = run.line_holdup.si();
    let left: f64 = run.left.iter().map(|left| left.si()).sum();
    let out: f64 = run.nozzles.iter().map(|nozzle| nozzle.delivered.si()).sum();
    held / (held + left + out)
}

fn left_in_bottle(quantity: &Quantity, s: &Situation<'_>) -> Vec<Answer> {
    let answer = |bottle: &Bottle| {
        let place = |network: &CarNetwork<'_>| network.bottles.iter().position(|known| known.id == bottle.id);
        in_run(quantity, s, &bottle.id, "it belongs to no network", place, |_, _, outcome, at| {
            Ok(outcome.left.get(at).map_or(0.0, |left| left.si()))
        })
    };
    s.car.suppression.bottles.iter().map(answer).collect()
}
