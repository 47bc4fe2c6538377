//! The liquid in a bottle. This is the one place that asks the agent table; a custom agent brings its own values.

use crate::diagnostic::did_you_mean;
use crate::model::Bottle;
pub(super) use crate::physics::agents::Liquid as Tabled;
use crate::physics::agents::{self, Agent, AgentKind};
use crate::source::Word;
use crate::units::Temperature;

use super::inputs::{Inputs, NoValue, Worked};
use super::parts::bottle_temperature;
use super::situation::Situation;

/// An agent of the table by its name.
fn found(name: &str) -> Worked<&'static Agent> {
    if let Some(found) = agents::agent(name) {
        return Ok(found);
    }
    let names = agents::AGENTS.iter().map(|agent| agent.name);
    let help = did_you_mean(name, names.clone()).map_or_else(
        || format!("known are {}; or write agent = \"custom\"", names.collect::<Vec<_>>().join(", ")),
        |near| format!("did you mean {near}? Or write agent = \"custom\""),
    );
    Err(NoValue::Because(format!("{name} is not an agent known here; {help}")))
}

/// The agent table at a temperature in K.
fn tabled(name: &str, kelvin: f64) -> Worked<(&'static Agent, Tabled)> {
    let found = found(name)?;
    let liquid = found.at(Temperature::from_si(kelvin)).ok_or_else(|| {
        NoValue::Because(format!(
            "the table of {} reaches from 0 C to 60 C only; write agent = \"custom\"",
            found.name
        ))
    })?;
    Ok((found, liquid))
}

fn is_custom(word: &Word) -> bool {
    word.text.eq_ignore_ascii_case("custom")
}

/// What a bottle's agent is, by the agent table; none for a custom one.
pub(super) fn kind(inputs: &mut Inputs<'_>, bottle: &Bottle) -> Worked<Option<AgentKind>> {
    let path = format!("suppression.bottle.{}.agent", bottle.id);
    let agent = inputs.need_some(path, bottle.charge.agent.as_ref()).ok_or(NoValue::MissingInput)?;
    if is_custom(agent) {
        return Ok(None);
    }
    found(&agent.text).map(|agent| Some(agent.kind))
}

/// The liquid by the agent table at a temperature in K; a custom agent's is known at one temperature only.
pub(super) fn liquid_at(inputs: &mut Inputs<'_>, bottle: &Bottle, kelvin: f64) -> Worked<Tabled> {
    let path = format!("suppression.bottle.{}.agent", bottle.id);
    let agent = inputs.need_some(path, bottle.charge.agent.as_ref()).ok_or(NoValue::MissingInput)?;
    if is_custom(agent) {
        return Err(NoValue::because("how a custom agent expands is not known: go by the fill on its label"));
    }
    tabled(&agent.text, kelvin).map(|(_, liquid)| liquid)
}

/// Density of the liquid, kg/m3, at the temperature the bottle is worked at.
pub(super) fn density(inputs: &mut Inputs<'_>, s: &Situation<'_>, bottle: &Bottle) -> Worked<f64> {
    let key = |name: &str| format!("suppression.bottle.{}.{name}", bottle.id);
    let agent = inputs.need_some(key("agent"), bottle.charge.agent.as_ref()).ok_or(NoValue::MissingInput)?;
    if is_custom(agent) {
        return inputs.need(key("density"), bottle.charge.density).ok_or(NoValue::MissingInput);
    }
    let kelvin = bottle_temperature(inputs, s, bottle).ok_or(NoValue::MissingInput)?;
    let (agent, liquid) = tabled(&agent.text, kelvin)?;
    inputs.note(format_args!("density of {}: {}", agent.name, agent.density_cite));
    Ok(liquid.density.si())
}

/// Vapour pressure of a custom agent, Pa absolute; one without has none that matters.
pub(super) fn vapour_pressure(inputs: &mut Inputs<'_>, bottle: &Bottle) -> f64 {
    let path = format!("suppression.bottle.{}.vapour_pressure", bottle.id);
    let given = inputs.given(path, bottle.charge.vapour_pressure);
    if given.is_none() {
        inputs.assume("the agent has no vapour pressure that matters");
    }
    given.map_or(0.0, |gauge| gauge + crate::units::AMBIENT)
}

/// The liquid in a bottle, as a network takes it.
pub(super) struct Liquid {
    /// The agent's name.
    pub name: String,
    /// kg/m3.
    pub density: f64,
    /// Pa.s.
    pub viscosity: f64,
    /// Whether it boils at ambient pressure.
    pub boils: bool,
}

/// The liquid in a bottle at the temperature the bottle is worked at.
pub(super) fn liquid(inputs: &mut Inputs<'_>, s: &Situation<'_>, bottle: &Bottle) -> Worked<Liquid> {
    let key = |name: &str| format!("suppression.bottle.{}.{name}", bottle.id);
    let density = density(inputs, s, bottle);
    let agent = inputs.need_some(key("agent"), bottle.charge.agent.as_ref()).ok_or(NoValue::MissingInput)?;
    if is_custom(agent) {
        let viscosity =
            inputs.need(key("viscosity"), bottle.charge.viscosity).ok_or(NoValue::MissingInput)?;
        let vapour = inputs.given(key("vapour_pressure"), bottle.charge.vapour_pressure);
        let density = density?;
        return Ok(Liquid {
            // Two custom liquids are one agent where they are alike.
            name: format!("custom of {density} kg/m3"),
            density,
            viscosity,
            boils: vapour.is_some_and(|gauge| gauge > 0.0),
        });
    }
    let kelvin = bottle_temperature(inputs, s, bottle).ok_or(NoValue::MissingInput)?;
    let (found, at) = tabled(&agent.text, kelvin)?;
    inputs.note(format_args!("viscosity of {}: {}", found.name, found.viscosity_cite));
    let name = found.name.to_owned();
    Ok(Liquid { name, density: density?, viscosity: at.viscosity.si(), boils: at.boils_at_ambient })
}
