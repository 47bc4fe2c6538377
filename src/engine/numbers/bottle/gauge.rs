//! The pressure a bottle's gauge shows at a temperature.

use crate::model::Bottle;
use crate::physics::agents::AgentKind;
use crate::physics::gas::{GasSpace, at_temperature, expanded};
use crate::units::{AMBIENT, Kind, Pressure, Ratio, Temperature, Volume};

use super::super::agent;
use super::super::defaults::DISSOLVED_NITROGEN;
use super::super::inputs::{Inputs, NoValue, Worked};
use super::super::parts::both;
use super::key;

/// Past this share of the absolute charge pressure a custom agent's own vapour counts.
const VAPOUR_SHARE: f64 = 0.10;
/// Within this of the charge temperature, K, a bottle shows its charge pressure.
const SAME: f64 = 0.5;
/// Within this of the charge temperature, K (15 F), the nitrogen that an agent took up leaves a band worth judging.
const NEAR: f64 = 15.0 / 1.8;
const CHART: &str = "the chart on the label is needed (pressure_chart)";

/// The charge pressure carried to a temperature in K, Pa gauge.
pub(in super::super) fn pressure_at(inputs: &mut Inputs<'_>, bottle: &Bottle, now: f64) -> Worked<f64> {
    let chart = &bottle.charge.pressure_chart;
    if !chart.is_empty() {
        inputs.need_some(key(bottle, "pressure_chart"), Some(()));
        inputs.note("from the maker's chart, straight between its rows");
        return from_chart(chart, now);
    }
    let charge = inputs.need(key(bottle, "charge_pressure"), bottle.charge.pressure);
    let charged_at = inputs.need(key(bottle, "charge_temperature"), bottle.charge.charged_at);
    let kind = agent::kind(inputs, bottle)?;
    let (Some(charge), Some(charged_at)) = (charge, charged_at) else {
        return Err(NoValue::MissingInput);
    };
    let away = (now - charged_at).abs();
    match kind {
        _ if away < 1e-6 => Ok(charge),
        None => custom(inputs, bottle, charge, [charged_at, now]),
        Some(AgentKind::LiquefiedGas) if away <= SAME => Ok(charge),
        Some(AgentKind::LiquefiedGas) => Err(NoValue::Because(format!(
            "{CHART}: {} is not the charge temperature, and this agent has a vapor pressure of its own",
            both(now, Kind::Temperature)
        ))),
        // A band is sampled farther out than a person may judge.
        Some(AgentKind::Liquid) if away > NEAR + 1e-6 && !inputs.sampling() => {
            Err(NoValue::Because(format!(
                "{CHART}: {} is more than 15 F from the charge temperature, and how much nitrogen the agent took up is not known",
                both(now, Kind::Temperature)
            )))
        }
        Some(AgentKind::Liquid) => {
            let dissolved = inputs.or_default::<Ratio>(
                key(bottle, "dissolved_nitrogen"),
                bottle.charge.dissolved_nitrogen,
                DISSOLVED_NITROGEN,
            );
            over_liquid(inputs, bottle, charge, [charged_at, now], dissolved)
        }
        Some(AgentKind::WaterBased) => over_liquid(inputs, bottle, charge, [charged_at, now], 0.0),
    }
}

/// Nitrogen over a liquid that expands by the agent table.
fn over_liquid(
    inputs: &mut Inputs<'_>,
    bottle: &Bottle,
    charge: f64,
    [from, to]: [f64; 2],
    dissolved: f64,
) -> Worked<f64> {
    let mass = inputs.need(key(bottle, "agent_mass"), bottle.charge.agent_mass);
    let volume = inputs.need(key(bottle, "volume"), bottle.charge.volume);
    let (cold, hot) = (agent::liquid_at(inputs, bottle, from)?, agent::liquid_at(inputs, bottle, to)?);
    let (Some(mass), Some(volume)) = (mass, volume) else { return Err(NoValue::MissingInput) };
    inputs.assume("nitrogen as an ideal gas in the space that the expanding liquid leaves");
    let space = |kelvin: f64, liquid: agent::Tabled| {
        let taken = mass / liquid.density.si();
        GasSpace {
            temperature: Temperature::from_si(kelvin),
            gas: Volume::from_si(volume - taken),
            liquid: Volume::from_si(taken),
            vapour: liquid.vapour_pressure,
        }
    };
    Ok(expanded(Pressure::from_si(charge), space(from, cold), space(to, hot), dissolved)?.si())
}

/// An agent that the table does not hold: how it expands is not known.
fn custom(inputs: &mut Inputs<'_>, bottle: &Bottle, charge: f64, [from, to]: [f64; 2]) -> Worked<f64> {
    let vapour = agent::vapour_pressure(inputs, bottle);
    if vapour > VAPOUR_SHARE * (charge + AMBIENT) {
        if (to - from).abs() <= SAME {
            return Ok(charge);
        }
        return Err(NoValue::Because(format!(
            "{CHART}: the agent's own vapor pressure is over 10 % of the charge pressure"
        )));
    }
    inputs.assume(
        "nitrogen over a liquid of constant volume, an ideal gas: hotter, a liquid that expands shows more",
    );
    let (from, to) = (Temperature::from_si(from), Temperature::from_si(to));
    Ok(at_temperature(Pressure::from_si(charge), from, to)?.si())
}

/// Pressure between two rows of the maker's chart; never beyond its ends.
fn from_chart(chart: &[(f64, f64)], kelvin: f64) -> Worked<f64> {
    let between = chart.windows(2).find_map(|rows| match rows {
        [(t1, p1), (t2, p2)] if (*t1..=*t2).contains(&kelvin) => {
            Some(p1 + (p2 - p1) * (kelvin - t1) / (t2 - t1))
        }
        _ => None,
    });
    between.ok_or_else(|| {
        let warm = both(kelvin, Kind::Temperature);
        NoValue::Because(format!("{warm} lies outside the maker's pressure_chart"))
    })
}
