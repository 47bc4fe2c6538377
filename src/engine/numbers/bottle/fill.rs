//! How full of liquid a bottle is when it is hot.

use crate::model::Bottle;
use crate::physics::agents::AgentKind;

use super::super::agent;
use super::super::ask::{Ask, Stop, Worked};
use super::key;

/// The most of a bottle that liquid may take, hot.
const MOST: f64 = 0.95;

/// Share of the bottle that is liquid at a temperature, C.
pub(super) fn at(ask: &mut Ask<'_>, bottle: &Bottle, celsius: f64) -> Worked<f64> {
    let mass = ask.need(key(bottle, "agent_mass"), bottle.charge.agent_mass);
    let volume = ask.need(key(bottle, "volume"), bottle.charge.volume);
    let liquid = agent::liquid_at(ask, bottle, celsius + 273.15);
    let (Some(mass), Some(volume)) = (mass, volume) else { return Err(Stop::Short) };
    ask.note("of the agent alone: dissolved nitrogen swells the liquid further");
    Ok(mass / liquid?.density.si() / volume)
}

/// Filling over the most allowed: 1 is the limit.
pub(super) fn over_the_most(ask: &mut Ask<'_>, bottle: &Bottle) -> Worked<f64> {
    let (warm, hot) = (at(ask, bottle, 50.0), at(ask, bottle, 60.0));
    match agent::kind(ask, bottle)? {
        Some(AgentKind::WaterBased) => {
            ask.note("water-based: at most 95 % liquid at 140 F (60 C), common practice");
            Ok(hot? / MOST)
        }
        Some(AgentKind::Liquid) => {
            ask.note("at most 95 % liquid at 122 F (50 C) and not full at 140 F (60 C): 49 CFR 173.335");
            Ok((warm? / MOST).max(hot?))
        }
        _ => {
            ask.note("at most 95 % liquid at 122 F (50 C) and not full at 140 F (60 C): UN P200");
            Ok((warm? / MOST).max(hot?))
        }
    }
}
