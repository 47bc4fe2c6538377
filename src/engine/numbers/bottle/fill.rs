//! How full of liquid a bottle is when it is hot.

use crate::model::Bottle;
use crate::physics::agents::AgentKind;

use super::super::agent;
use super::super::inputs::{Inputs, NoValue, Worked};
use super::key;

/// The most of a bottle that liquid may take, hot.
const MOST: f64 = 0.95;

/// Share of the bottle that is liquid at a temperature, C.
pub(super) fn at(inputs: &mut Inputs<'_>, bottle: &Bottle, celsius: f64) -> Worked<f64> {
    let mass = inputs.need(key(bottle, "agent_mass"), bottle.charge.agent_mass);
    let volume = inputs.need(key(bottle, "volume"), bottle.charge.volume);
    let liquid = agent::liquid_at(inputs, bottle, celsius + 273.15);
    let (Some(mass), Some(volume)) = (mass, volume) else { return Err(NoValue::MissingInput) };
    inputs.note("of the agent alone: dissolved nitrogen swells the liquid further");
    Ok(mass / liquid?.density.si() / volume)
}

/// Filling over the most allowed: 1 is the limit.
pub(super) fn over_the_most(inputs: &mut Inputs<'_>, bottle: &Bottle) -> Worked<f64> {
    let (warm, hot) = (at(inputs, bottle, 50.0), at(inputs, bottle, 60.0));
    match agent::kind(inputs, bottle)? {
        Some(AgentKind::WaterBased) => {
            inputs.note("water-based: at most 95 % liquid at 140 F (60 C), common practice");
            Ok(hot? / MOST)
        }
        Some(AgentKind::Liquid) => {
            inputs.note("at most 95 % liquid at 122 F (50 C) and not full at 140 F (60 C): 49 CFR 173.335");
            Ok((warm? / MOST).max(hot?))
        }
        _ => {
            inputs.note("at most 95 % liquid at 122 F (50 C) and not full at 140 F (60 C): UN P200");
            Ok((warm? / MOST).max(hot?))
        }
    }
}
