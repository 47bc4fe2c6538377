//! A discharge over time: flow and share of each nozzle, pressure of each bottle, how far each line is wet.

use crate::numbers::{Answer, CarNetwork, Inputs, Run, Situation, quantity, runs, work};
use crate::physics::discharge::{Outcome, Sample};

/// Steps of a scrubbed discharge: this many over the whole, and as many again until the last nozzle has agent.
const STEPS: u32 = 24;

/// One network's discharge. Every list over time is as long as `times`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Curves {
    /// Ids of its bottles.
    pub bottles: Vec<String>,
    /// Its nozzles.
    pub nozzles: Vec<NozzleCurve>,
    /// Its lines.
    pub lines: Vec<LineCurve>,
    /// Times, s, from the valves opening; two alike stand on both sides of an event.
    pub times: Vec<f64>,
    /// Gauge pressure of each bottle over time, Pa.
    pub pressure: Vec<Vec<f64>>,
    /// Until the first bottle has no liquid, s.
    pub duration: f64,
    /// Times worth a look, s: even steps, finer until the last arrival, and every event.
    pub moments: Vec<f64>,
    /// What was assumed.
    pub assumed: Vec<String>,
    /// What the reader should know beside it.
    pub notes: Vec<String>,
}

/// A nozzle over time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NozzleCurve {
    /// Its id.
    pub id: String,
    /// First agent out of it, s.
    pub arrival: Option<f64>,
    /// Flow out of it, m³/s.
    pub flow: Vec<f64>,
    /// Its share of what the network has delivered until then.
    pub share: Vec<f64>,
}

/// A line over time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LineCurve {
    /// Its id.
    pub id: String,
    /// Whether it fills from the end it leads to.
    pub from_end: bool,
    /// Wetted share of its length.
    pub wetted: Vec<f64>,
}

impl Curves {
    /// A value of a list over time, between its samples; at an event the value after it.
    pub fn at(&self, values: &[f64], time: f64) -> f64 {
        let after = self.times.partition_point(|known| *known <= time);
        let before = after.checked_sub(1);
        let point = |at: usize| Some((*self.times.get(at)?, *values.get(at)?));
        match (before.and_then(point), point(after)) {
            (Some((t0, v0)), Some((t1, v1))) if t1 > t0 => v0 + (v1 - v0) * (time - t0) / (t1 - t0),
            (Some((_, v)), _) | (None, Some((_, v))) => v,
            (None, None) => 0.0,
        }
    }

    /// Whether a nozzle has agent at a time.
    pub fn has_agent(nozzle: &NozzleCurve, time: f64) -> bool {
        nozzle.arrival.is_some_and(|arrival| arrival <= time)
    }
}

/// Every network's discharge, and why those without one have none. The situation has to be one that keeps curves.
pub fn discharge_curves(s: &Situation<'_>) -> (Vec<Curves>, Vec<String>) {
    let answers = quantity("discharge.arrival").map(|known| work(known, s)).unwrap_or_default();
    let (mut all, mut refused) = (Vec::new(), Vec::new());
    for run in runs(s) {
        let mine = |answer: &&Answer| {
            run.network.nozzles.iter().any(|nozzle| answer.of() == Some(nozzle.id.as_str()))
        };
        match &run.outcome {
            Ok(outcome) => all.push(one(s, run, outcome, answers.iter().filter(mine))),
            Err(_) => {
                let names: Vec<&str> = run.network.bottles.iter().map(|bottle| bottle.id.as_str()).collect();
                let reason = answers.iter().filter(mine).find_map(|answer| match answer {
                    Answer::Refused(refused) => Some(refused.reason.clone()),
                    Answer::Number(_) => None,
                });
                let reason = reason.unwrap_or_else(|| "it feeds no nozzle".to_owned());
                refused.push(format!("{}: {reason}", names.join(", ")));
            }
        }
    }
    if runs(s).is_empty() {
        refused.push("the car file has no suppression bottle".to_owned());
    }
    (all, refused)
}

fn one<'a>(
    s: &Situation<'_>,
    run: &Run<'_>,
    outcome: &Outcome,
    answers: impl Iterator<Item = &'a Answer>,
) -> Curves {
    let (network, samples) = (&run.network, outcome.curves.as_slice());
    let mut curves = Curves {
        bottles: network.bottles.iter().map(|bottle| bottle.id.clone()).collect(),
        nozzles: nozzles(network, outcome, samples),
        lines: lines(s, network, samples),
        times: samples.iter().map(|sample| sample.time.si()).collect(),
        pressure: (0..network.bottles.len())
            .map(|at| over(samples, |sample| sample.bottle_pressure.get(at).map(|p| p.si())))
            .collect(),
        duration: outcome.duration.si(),
        ..Curves::default()
    };
    for number in answers.filter_map(Answer::number) {
        curves.assumed.extend(
            number.assumed.iter().filter(|text| !curves.assumed.contains(text)).cloned().collect::<Vec<_>>(),
        );
        curves.notes.extend(
            number.notes.iter().filter(|text| !curves.notes.contains(text)).cloned().collect::<Vec<_>>(),
        );
    }
    curves.moments = moments(&curves);
    curves
}

fn over(samples: &[Sample], value: impl Fn(&Sample) -> Option<f64>) -> Vec<f64> {
    samples.iter().map(|sample| value(sample).unwrap_or(0.0)).collect()
}

fn nozzles(network: &CarNetwork<'_>, outcome: &Outcome, samples: &[Sample]) -> Vec<NozzleCurve> {
    let times: Vec<f64> = samples.iter().map(|sample| sample.time.si()).collect();
    let flows: Vec<Vec<f64>> = (0..network.nozzles.len())
        .map(|at| over(samples, |sample| sample.nozzle_flow.get(at).map(|flow| flow.si())))
        .collect();
    let delivered: Vec<Vec<f64>> = flows.iter().map(|flow| summed(&times, flow)).collect();
    let share = |at: usize| -> Vec<f64> {
        (0..times.len())
            .map(|step| {
                let value = |list: &Vec<f64>| list.get(step).copied().unwrap_or(0.0);
                let all: f64 = delivered.iter().map(value).sum();
                if all > 0.0 { delivered.get(at).map_or(0.0, value) / all } else { 0.0 }
            })
            .collect()
    };
    let each = network.nozzles.iter().zip(&flows).enumerate();
    each.map(|(at, (nozzle, flow))| NozzleCurve {
        id: nozzle.id.clone(),
        arrival: outcome.nozzles.get(at).and_then(|nozzle| nozzle.arrival).map(|time| time.si()),
        flow: flow.clone(),
        share: share(at),
    })
    .collect()
}

/// What has passed until each time, by trapezes.
fn summed(times: &[f64], flow: &[f64]) -> Vec<f64> {
    let mut sum = 0.0;
    let mut before: Option<(f64, f64)> = None;
    times
        .iter()
        .zip(flow)
        .map(|(time, flow)| {
            if let Some((t, q)) = before {
                sum += (time - t) * (flow + q) / 2.0;
            }
            before = Some((*time, *flow));
            sum
        })
        .collect()
}

fn lines(s: &Situation<'_>, network: &CarNetwork<'_>, samples: &[Sample]) -> Vec<LineCurve> {
    let Some(known) = quantity("discharge.arrival") else { return Vec::new() };
    let Ok(plan) = network.plan(&mut Inputs::new(known, ""), s) else { return Vec::new() };
    let mut lines: Vec<LineCurve> = network
        .lines
        .iter()
        .zip(&plan.lines)
        .enumerate()
        .map(|(at, (line, solved))| LineCurve {
            id: line.run.id.clone(),
            from_end: false,
            wetted: over(samples, |sample| {
                sample.wetted.get(at).map(|wet| (wet.si() / solved.length).clamp(0.0, 1.0))
            }),
        })
        .collect();
    let ends: Vec<(&str, &str)> =
        network.lines.iter().map(|line| (line.from.as_str(), line.to.as_str())).collect();
    let bottles: Vec<&str> = network.bottles.iter().map(|bottle| bottle.id.as_str()).collect();
    for (line, from_end) in lines.iter_mut().zip(super::filling::fill_starts_at_end(&bottles, &ends)) {
        line.from_end = from_end;
    }
    lines
}

fn moments(curves: &Curves) -> Vec<f64> {
    let last = curves.nozzles.iter().filter_map(|nozzle| nozzle.arrival).fold(0.0, f64::max);
    let even = |until: f64| (0..=STEPS).map(move |step| until * f64::from(step) / f64::from(STEPS));
    let mut moments: Vec<f64> = even(last).chain(even(curves.duration)).collect();
    moments.extend(curves.nozzles.iter().filter_map(|nozzle| nozzle.arrival));
    moments.extend(curves.times.windows(2).filter_map(|pair| match pair {
        [a, b] if a == b => Some(*a),
        _ => None,
    }));
    moments.sort_by(f64::total_cmp);
    let close = curves.duration * 1e-4;
    moments.dedup_by(|b, a| *b - *a < close);
    moments
}
