//! Bottles: the pressure a gauge should show, what was lost, how full they are, and their due dates.

use chrono::NaiveDate;

use crate::cite::{Basis, Cite};
use crate::model::Bottle;
use crate::units::{Kind, Span};

use super::agent;
use super::answer::Answer;
use super::ask::{Ask, Stop, Worked};
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
        work: |q, s| bottles(q, s, |ask, bottle| expected(ask, s, bottle)),
    },
    Quantity {
        id: "bottle.pressure_error",
        title: "Gauge reading against the pressure it should show",
        of: "bottle",
        table: "suppression.bottle",
        shown: Shown::Share,
        formula: "reading / expected - 1, gauge",
        source: GAS_LAW,
        work: |q, s| bottles(q, s, |ask, bottle| error(ask, s, bottle)),
    },
    Quantity {
        id: "bottle.agent_loss",
        title: "Agent lost since the label was written",
        of: "bottle",
        table: "suppression.bottle",
        shown: Shown::Share,
        formula: "(label gross - weighed) / agent mass",
        source: SHARE,
        work: |q, s| bottles(q, s, |ask, bottle| loss(ask, s, bottle)),
    },
    Quantity {
        id: "bottle.fill",
        title: "Share of the bottle that is liquid",
        of: "bottle",
        table: "suppression.bottle",
        shown: Shown::Share,
        formula: "agent mass / density / volume",
        source: SHARE,
        work: |q, s| bottles(q, s, |ask, bottle| fill(ask, s, bottle)),
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
        work: |q, s| bottles(q, s, |ask, bottle| fill::at(ask, bottle, 55.0)),
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
            bottles(q, s, |ask, bottle| {
                let day = bottle.papers.serviced.map(|dated| dated.day);
                days_left(
                    ask,
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
            bottles(q, s, |ask, bottle| {
                let day = bottle.papers.tested.map(|dated| dated.day);
                days_left(ask, s.on, bottle, ("tested", day), ("test_every", bottle.papers.test_every))
            })
        },
    },
];

fn bottles(
    quantity: &Quantity,
    s: &Situation<'_>,
    work: impl Fn(&mut Ask<'_>, &Bottle) -> Worked<f64>,
) -> Vec<Answer> {
    each(quantity, s, s.car.suppression.bottles.iter().map(|bottle| (bottle.id.as_str(), bottle)), work)
}

pub(super) fn key(bottle: &Bottle, name: &str) -> String {
    format!("suppression.bottle.{}.{name}", bottle.id)
}

/// Gauge pressure the bottle should show, Pa.
fn expected(ask: &mut Ask<'_>, s: &Situation<'_>, bottle: &Bottle) -> Worked<f64> {
    let shell = key(bottle, "shell_temperature");
    let now = match s.readings.get(&shell) {
        Some(_) => ask.reading(&s.readings, shell),
        None => bottle_temperature(ask, s, bottle),
    };
    match now {
        Some(now) => pressure_at(ask, bottle, now),
        None => {
            // Named all at once with the temperature.
            ask.need(key(bottle, "charge_pressure"), bottle.charge.pressure);
            ask.need(key(bottle, "charge_temperature"), bottle.charge.charged_at);
            Err(Stop::Short)
        }
    }
}

fn error(ask: &mut Ask<'_>, s: &Situation<'_>, bottle: &Bottle) -> Worked<f64> {
    let gauge = ask.reading(&s.readings, key(bottle, "gauge"));
    let expected = expected(ask, s, bottle)?;
    let gauge = gauge.ok_or(Stop::Short)?;
    if expected <= 0.0 {
        return Err(Stop::because("the gauge should show nothing at that temperature"));
    }
    ask.note(format_args!("expected {}", both(expected, Kind::Pressure)));
    Ok(gauge / expected - 1.0)
}

fn loss(ask: &mut Ask<'_>, s: &Situation<'_>, bottle: &Bottle) -> Worked<f64> {
    let label = ask.need(key(bottle, "gross_mass"), bottle.papers.gross_mass);
    let weighed = ask.reading(&s.readings, key(bottle, "weighed"));
    let agent = ask.need(key(bottle, "agent_mass"), bottle.charge.agent_mass);
    let (Some(label), Some(weighed), Some(agent)) = (label, weighed, agent) else { return Err(Stop::Short) };
    if agent <= 0.0 {
        return Err(Stop::because("a bottle without agent can lose none"));
    }
    Ok((label - weighed) / agent)
}

fn fill(ask: &mut Ask<'_>, s: &Situation<'_>, bottle: &Bottle) -> Worked<f64> {
    let mass = ask.need(key(bottle, "agent_mass"), bottle.charge.agent_mass);
    let volume = ask.need(key(bottle, "volume"), bottle.charge.volume);
    let density = agent::density(ask, s, bottle)?;
    let (Some(mass), Some(volume)) = (mass, volume) else { return Err(Stop::Short) };
    Ok(mass / density / volume)
}

/// Whole days from the day to the due date; 0 is still in date.
fn days_left(
    ask: &mut Ask<'_>,
    on: NaiveDate,
    bottle: &Bottle,
    (dated, day): (&str, Option<NaiveDate>),
    (spanned, every): (&str, Option<Span>),
) -> Worked<f64> {
    let day = ask.need_some(key(bottle, dated), day);
    let every = ask.need_some(key(bottle, spanned), every);
    let (Some(day), Some(every)) = (day, every) else { return Err(Stop::Short) };
    if day > on {
        return Err(Stop::because(format!("{dated} is {day}, which is after {on}: check the date")));
    }
    let due =
        every.after(day).ok_or_else(|| Stop::because("the due date lies past the end of the calendar"))?;
    ask.note(format_args!("due {due}"));
    Ok(due.signed_duration_since(on).num_days() as f64)
}
