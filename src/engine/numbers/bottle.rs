//! Bottles: the pressure a gauge should show, what was lost, how full they are, and their due dates.

use chrono::NaiveDate;

use crate::cite::{Basis, Cite};
use crate::model::Bottle;
use crate::units::{Kind, Span};

use super::agent;
use super::answer::Answer;
use super::inputs::{Inputs, NoValue, Worked};
use super::parts::{both, bottle_temperature, each};
use super::registry::{Quantity, Shown};
use super::situation::Situation;
use gauge::pressure_at;

mod fill;
pub(super) mod gauge;

const GAS_LAW: Cite = Cite::new("Gay-Lussac's and Dalton's laws", "any thermodynamics text", Basis::Computed);
const FILLING: Cite = Cite::new("UN Model Regulations", "packing instruction P200 (3)(c)", Basis::Published);
const NOT_FULL: Cite = Cite::new("49 CFR 173.304", "(b)", Basis::Published);
const SHARE: Cite = Cite::new("definition of a share", "", Basis::Computed);
const CALENDAR: Cite =
    Cite::new("the calendar", "months added, the day clamped to the month's end", Basis::Computed);

pub(super) const QUANTITIES: &[Quantity] = &[
    Quantity {
        id: "bottle.expected_pressure",
        title: "Pressure the bottle's gauge should show",
        of: "bottle",
        table: "suppression.bottle",
        shown: Shown::Kind(Kind::Pressure),
        formula: "between two rows of the maker's chart, or nitrogen in the gas space that the expanding liquid leaves",
        source: GAS_LAW,
        work: |q, s| bottles(q, s, |inputs, bottle| expected(inputs, s, bottle)),
    },
    Quantity {
        id: "bottle.pressure_error",
        title: "Gauge reading against the pressure it should show",
        of: "bottle",
        table: "suppression.bottle",
        shown: Shown::Share,
        formula: "reading / expected - 1, gauge",
        source: GAS_LAW,
        work: |q, s| bottles(q, s, |inputs, bottle| error(inputs, s, bottle)),
    },
    Quantity {
        id: "bottle.agent_loss",
        title: "Agent lost since the label was written",
        of: "bottle",
        table: "suppression.bottle",
        shown: Shown::Share,
        formula: "(label gross - weighed) / agent mass",
        source: SHARE,
        work: |q, s| bottles(q, s, |inputs, bottle| loss(inputs, s, bottle)),
    },
    Quantity {
        id: "bottle.fill",
        title: "Share of the bottle that is liquid",
        of: "bottle",
        table: "suppression.bottle",
        shown: Shown::Share,
        formula: "agent mass / density / volume",
        source: SHARE,
        work: |q, s| bottles(q, s, |inputs, bottle| fill(inputs, s, bottle)),
    },
    Quantity {
        id: "bottle.fill_hot",
        title: "Filling over the most allowed, hot",
        of: "bottle",
        table: "suppression.bottle",
        shown: Shown::Kind(Kind::Ratio),
        formula: "greater of fill at 50 C / 0.95 and fill at 60 C; water-based: fill at 60 C / 0.95",
        source: FILLING,
        work: |q, s| bottles(q, s, fill::over_the_most),
    },
    Quantity {
        id: "bottle.fill_55c",
        title: "Share of the bottle that is liquid at 131 F (55 C)",
        of: "bottle",
        table: "suppression.bottle",
        shown: Shown::Share,
        formula: "agent mass / density at 55 C / volume",
        source: NOT_FULL,
        work: |q, s| bottles(q, s, |inputs, bottle| fill::at(inputs, bottle, 55.0)),
    },
    Quantity {
        id: "bottle.service_left",
        title: "Days until the bottle's service is due",
        of: "bottle",
        table: "suppression.bottle",
        shown: Shown::Days,
        formula: "serviced + service_every - the day",
        source: CALENDAR,
        work: |q, s| {
            bottles(q, s, |inputs, bottle| {
                let day = bottle.papers.serviced.map(|dated| dated.day);
                days_left(
                    inputs,
                    s.on,
                    bottle,
                    ("serviced", day),
                    ("service_every", bottle.papers.service_every),
                )
            })
        },
    },
    Quantity {
        id: "bottle.test_left",
        title: "Days until the bottle's pressure test is due",
        of: "bottle",
        table: "suppression.bottle",
        shown: Shown::Days,
        formula: "tested + test_every - the day",
        source: CALENDAR,
        work: |q, s| {
            bottles(q, s, |inputs, bottle| {
                let day = bottle.papers.tested.map(|dated| dated.day);
                days_left(inputs, s.on, bottle, ("tested", day), ("test_every", bottle.papers.test_every))
            })
        },
    },
];

fn bottles(
    quantity: &Quantity,
    s: &Situation<'_>,
    work: impl Fn(&mut Inputs<'_>, &Bottle) -> Worked<f64>,
) -> Vec<Answer> {
    each(quantity, s, s.car.suppression.bottles.iter().map(|bottle| (bottle.id.as_str(), bottle)), work)
}

pub(super) fn key(bottle: &Bottle, name: &str) -> String {
    format!("suppression.bottle.{}.{name}", bottle.id)
}

/// Gauge pressure the bottle should show, Pa.
fn expected(inputs: &mut Inputs<'_>, s: &Situation<'_>, bottle: &Bottle) -> Worked<f64> {
    let shell = key(bottle, "shell_temperature");
    let now = match s.readings.get(&shell) {
        Some(_) => inputs.reading(&s.readings, shell),
        None => bottle_temperature(inputs, s, bottle),
    };
    match now {
        Some(now) => pressure_at(inputs, bottle, now),
        None => {
            // Named all at once with the temperature.
            inputs.need(key(bottle, "charge_pressure"), bottle.charge.pressure);
            inputs.need(key(bottle, "charge_temperature"), bottle.charge.charged_at);
            Err(NoValue::MissingInput)
        }
    }
}

fn error(inputs: &mut Inputs<'_>, s: &Situation<'_>, bottle: &Bottle) -> Worked<f64> {
    let gauge = inputs.reading(&s.readings, key(bottle, "gauge"));
    let expected = expected(inputs, s, bottle)?;
    let gauge = gauge.ok_or(NoValue::MissingInput)?;
    if expected <= 0.0 {
        return Err(NoValue::because("the gauge should show nothing at that temperature"));
    }
    inputs.note(format_args!("expected {}", both(expected, Kind::Pressure)));
    Ok(gauge / expected - 1.0)
}

fn loss(inputs: &mut Inputs<'_>, s: &Situation<'_>, bottle: &Bottle) -> Worked<f64> {
    let label = inputs.need(key(bottle, "gross_mass"), bottle.papers.gross_mass);
    let weighed = inputs.reading(&s.readings, key(bottle, "weighed"));
    let agent = inputs.need(key(bottle, "agent_mass"), bottle.charge.agent_mass);
    let (Some(label), Some(weighed), Some(agent)) = (label, weighed, agent) else {
        return Err(NoValue::MissingInput);
    };
    if agent <= 0.0 {
        return Err(NoValue::because("a bottle without agent can lose none"));
    }
    Ok((label - weighed) / agent)
}

fn fill(inputs: &mut Inputs<'_>, s: &Situation<'_>, bottle: &Bottle) -> Worked<f64> {
    let mass = inputs.need(key(bottle, "agent_mass"), bottle.charge.agent_mass);
    let volume = inputs.need(key(bottle, "volume"), bottle.charge.volume);
    let density = agent::density(inputs, s, bottle)?;
    let (Some(mass), Some(volume)) = (mass, volume) else { return Err(NoValue::MissingInput) };
    Ok(mass / density / volume)
}

/// Whole days from the day to the due date; 0 is still in date.
fn days_left(
    inputs: &mut Inputs<'_>,
    on: NaiveDate,
    bottle: &Bottle,
    (dated, day): (&str, Option<NaiveDate>),
    (spanned, every): (&str, Option<Span>),
) -> Worked<f64> {
    let day = inputs.need_some(key(bottle, dated), day);
    let every = inputs.need_some(key(bottle, spanned), every);
    let (Some(day), Some(every)) = (day, every) else { return Err(NoValue::MissingInput) };
    if day > on {
        return Err(NoValue::because(format!("{dated} is {day}, which is after {on}: check the date")));
    }
    let due =
        every.after(day).ok_or_else(|| NoValue::because("the due date lies past the end of the calendar"))?;
    inputs.note(format_args!("due {due}"));
    Ok(due.signed_duration_since(on).num_days() as f64)
}
