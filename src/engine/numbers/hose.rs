//! Flexible brake hoses: slack, bow and bend over all positions of the moving end.

use crate::cite::{Basis, Cite};
use crate::model::{Hose, Point, distance};
use crate::physics::hose as physics;
use crate::units::{Kind, Length, Pressure};

use super::answer::{Answer, Bound};
use super::circuits::{Push, master_pressure};
use super::inputs::{Inputs, NoValue, Worked};
use super::parts::{all, each};
use super::registry::{Quantity, Shown};
use super::situation::Situation;

pub(super) const QUANTITIES: &[Quantity] = &[
    Quantity {
        id: "hose.slack",
        title: "Hose length to spare in the worst position",
        of: "hose",
        table: "brakes.hose",
        shown: Shown::Kind(Kind::Length),
        formula: "free length - straight distance, the least over all positions",
        source: Cite::new("definition", "", Basis::Computed),
        work: |q, s| hoses(q, s, |inputs, hose| least(inputs, hose, |l, c| Ok(physics::slack(l, c)?.si()))),
    },
    Quantity {
        id: "hose.length_ratio",
        title: "Hose length over the straight distance in the worst position",
        of: "hose",
        table: "brakes.hose",
        shown: Shown::Kind(Kind::Ratio),
        formula: "free length / straight distance, the least over all positions",
        source: Cite::new("definition", "", Basis::Computed),
        work: |q, s| hoses(q, s, |inputs, hose| least(inputs, hose, |l, c| Ok(physics::length_ratio(l, c)?))),
    },
    Quantity {
        id: "hose.bow",
        title: "Height of the hose's bow at ride",
        of: "hose",
        table: "brakes.hose",
        shown: Shown::Kind(Kind::Length),
        formula: "sqrt(3 C (L - C) / 8) at ride",
        source: Cite::new("length of a shallow parabola", "any calculus text", Basis::Computed),
        work: |q, s| hoses(q, s, bow),
    },
    Quantity {
        id: "hose.bend_radius",
        title: "Tightest bend of the free hose, at most",
        of: "hose",
        table: "brakes.hose",
        shown: Shown::Kind(Kind::Length),
        formula: "R = L / (4 k K(k)) with C/L = 2 E(k)/K(k) - 1, the least over all positions",
        source: Cite::new("Euler's elastica between pinned ends", "Love, ch. XIX", Basis::FromMemory),
        work: |q, s| hoses(q, s, bend_radius),
    },
    Quantity {
        id: "hose.bend_margin",
        title: "Tightest bend of the free hose over the least its maker allows, at most",
        of: "hose",
        table: "brakes.hose",
        shown: Shown::Kind(Kind::Ratio),
        formula: "hose.bend_radius / min_bend_radius",
        source: Cite::new("definition", "", Basis::Computed),
        work: |q, s| hoses(q, s, bend_margin),
    },
    Quantity {
        id: "hose.working_margin",
        title: "Hose's working pressure over the hardest of its circuit",
        of: "hose",
        table: "brakes.hose.rating",
        shown: Shown::Kind(Kind::Ratio),
        formula: "rating.working / circuit pressure at the hardest push",
        source: Cite::new("definition; the rating is the maker's", "", Basis::Computed),
        work: |q, s| {
            rated(q, s, |inputs, hose| {
                inputs
                    .need(rating_key(hose, "working"), hose.rating.as_ref().and_then(|rating| rating.working))
            })
        },
    },
    Quantity {
        id: "hose.burst_margin",
        title: "Hose's burst pressure over the hardest of its circuit",
        of: "hose",
        table: "brakes.hose.rating",
        shown: Shown::Kind(Kind::Ratio),
        formula: "rating.burst / circuit pressure at the hardest push",
        source: Cite::new("definition; the rating is the maker's", "", Basis::Computed),
        work: |q, s| {
            rated(q, s, |inputs, hose| {
                inputs.need(rating_key(hose, "burst"), hose.rating.as_ref().and_then(|rating| rating.burst))
            })
        },
    },
];

fn hoses(
    quantity: &Quantity,
    s: &Situation<'_>,
    work: impl Fn(&mut Inputs<'_>, &Hose) -> Worked<f64>,
) -> Vec<Answer> {
    each(quantity, s, s.car.brakes.hoses.iter().map(|hose| (hose.id.as_str(), hose)), work)
}

fn key(hose: &Hose, name: &str) -> String {
    format!("brakes.hose.{}.{name}", hose.id)
}

/// The free length, and the chord at each named position.
fn spans<'h>(inputs: &mut Inputs<'_>, hose: &'h Hose) -> Worked<(Length, Vec<(&'h str, Length)>)> {
    let length = inputs.need(key(hose, "length"), hose.length);
    let outer_end = (!hose.outer_end.is_empty()).then_some(&hose.outer_end);
    let (inner, outer) = if hose.within.is_some() {
        (
            inputs.need_place(key(hose, "inner_end"), hose.inner_end),
            inputs.need_place(key(hose, "outer_end"), outer_end),
        )
    } else {
        (
            inputs.need_some(key(hose, "inner_end"), hose.inner_end),
            inputs.need_some(key(hose, "outer_end"), outer_end),
        )
    };
    let (Some(length), Some(inner), Some(outer)) = (length, inner, outer) else {
        return Err(NoValue::MissingInput);
    };
    let longer = inputs.reach_within(&format!("brakes.hose.{}", hose.id), hose.within);
    let chord = |end: &Point| Length::from_si((distance(inner, *end) + longer).max(0.0));
    let chords = outer.iter().map(|(name, end)| (name.as_str(), chord(end)));
    Ok((Length::from_si(length), chords.collect()))
}

/// The least over all positions, noting which.
fn least(inputs: &mut Inputs<'_>, hose: &Hose, of: impl Fn(Length, Length) -> Worked<f64>) -> Worked<f64> {
    let (length, chords) = spans(inputs, hose)?;
    let values = all(chords.iter().map(|(name, chord)| {
        let at = |stop| match stop {
            NoValue::Because(reason) => NoValue::Because(format!("{reason} at {name}")),
            NoValue::MissingInput => NoValue::MissingInput,
        };
        Ok((*name, of(length, *chord).map_err(at)?))
    }))?;
    let (name, value) =
        values.into_iter().min_by(|(_, a), (_, b)| a.total_cmp(b)).ok_or(NoValue::MissingInput)?;
    inputs.note(format_args!("the worst of {} at {name}", count(chords.len())));
    Ok(value)
}

fn count(positions: usize) -> String {
    if positions == 1 { "1 position".to_owned() } else { format!("{positions} positions") }
}

fn bow(inputs: &mut Inputs<'_>, hose: &Hose) -> Worked<f64> {
    let spans = spans(inputs, hose);
    let has_ride = hose.outer_end.iter().any(|(name, _)| name == "ride");
    if !has_ride && !hose.outer_end.is_empty() {
        inputs.miss(key(hose, "outer_end.ride"));
    }
    let (length, chords) = spans?;
    let ride = chords.iter().find(|(name, _)| *name == "ride").ok_or(NoValue::MissingInput)?;
    inputs.assume("a shallow arc in one plane");
    Ok(physics::bow(length, ride.1)?.si())
}

fn bend_radius(inputs: &mut Inputs<'_>, hose: &Hose) -> Worked<f64> {
    let radius = least(inputs, hose, |l, c| Ok(physics::bend_radius(l, c)?.si()))?;
    if radius.is_infinite() {
        return Err(NoValue::because("the hose is straight in every position and has no bend"));
    }
    inputs.only(
        Bound::AtMost,
        "ends free to turn, in one plane: at most, a fitting that points away makes it tighter",
    );
    inputs.unknown("which way the fittings point");
    Ok(radius)
}

fn bend_margin(inputs: &mut Inputs<'_>, hose: &Hose) -> Worked<f64> {
    let allowed = inputs.need(key(hose, "min_bend_radius"), hose.min_bend_radius);
    let radius = bend_radius(inputs, hose)?;
    Ok(physics::bend_margin(Length::from_si(radius), Length::from_si(allowed.ok_or(NoValue::MissingInput)?))?)
}

fn rating_key(hose: &Hose, name: &str) -> String {
    format!("brakes.hose.{}.rating.{name}", hose.id)
}

/// A rating of each hose over its circuit's pressure; nothing where no hose of the car has a rating in the file.
fn rated(
    quantity: &Quantity,
    s: &Situation<'_>,
    rating: impl Fn(&mut Inputs<'_>, &Hose) -> Option<f64>,
) -> Vec<Answer> {
    if s.car.brakes.hoses.iter().all(|hose| hose.rating.is_none()) {
        return Vec::new();
    }
    hoses(quantity, s, |inputs, hose| {
        let circuit = inputs.need_some(format!("brakes.hose.{}.circuit", hose.id), hose.circuit.as_ref());
        let rating = rating(inputs, hose);
        let pressure = circuit
            .ok_or(NoValue::MissingInput)
            .and_then(|circuit| master_pressure(inputs, s, circuit.as_str(), Push::Hard));
        let rating = Pressure::from_si(rating.ok_or(NoValue::MissingInput)?);
        Ok(physics::pressure_margin(rating, Pressure::from_si(pressure?))?)
    })
}
