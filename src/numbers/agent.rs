//! The liquid in a bottle. This is the one place that asks the agent table; a custom agent brings its own values.

use crate::model::Bottle;
use crate::source::Word;

use super::ask::{Ask, Stop, Worked};
use super::parts::bottle_temperature;
use super::situation::Situation;

/// What the table says of an agent at a temperature.
struct Tabled {
    /// Liquid density, kg/m3.
    density: f64,
    /// Vapour pressure, Pa absolute.
    vapour_pressure: f64,
}

/// The agent table at a temperature in K.
fn tabled(name: &str, _kelvin: f64) -> Worked<Tabled> {
    Err(Stop::Because(format!(
        "{name} is not an agent known here; write agent = \"custom\" with its density"
    )))
}

fn is_custom(word: &Word) -> bool {
    word.text.eq_ignore_ascii_case("custom")
}

/// Density of the liquid, kg/m3, at the temperature the bottle is worked at.
pub(super) fn density(ask: &mut Ask<'_>, s: &Situation<'_>, bottle: &Bottle) -> Worked<f64> {
    let key = |name: &str| format!("suppression.bottle.{}.{name}", bottle.id);
    let agent = ask.need_some(key("agent"), bottle.charge.agent.as_ref()).ok_or(Stop::Short)?;
    if is_custom(agent) {
        return ask.need(key("density"), bottle.charge.density).ok_or(Stop::Short);
    }
    let kelvin = bottle_temperature(ask, s, bottle).ok_or(Stop::Short)?;
    Ok(tabled(&agent.text, kelvin)?.density)
}

/// Vapour pressure, Pa absolute, at a temperature in K; a custom agent without one has none that matters.
pub(super) fn vapour_pressure(ask: &mut Ask<'_>, bottle: &Bottle, kelvin: f64) -> Worked<f64> {
    let key = |name: &str| format!("suppression.bottle.{}.{name}", bottle.id);
    let agent = ask.need_some(key("agent"), bottle.charge.agent.as_ref()).ok_or(Stop::Short)?;
    if !is_custom(agent) {
        return Ok(tabled(&agent.text, kelvin)?.vapour_pressure);
    }
    let given = ask.given(key("vapour_pressure"), bottle.charge.vapour_pressure);
    if given.is_none() {
        ask.assume("the agent has no vapour pressure that matters");
    }
    Ok(given.map_or(0.0, |gauge| gauge + crate::units::AMBIENT))
}
