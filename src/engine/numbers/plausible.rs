//! What a car file says that no bottle can hold; needs the agent table, so that the model cannot say it.

use crate::mistake::Mistake;
use crate::model::Car;
use crate::physics::agents;
use crate::units::Temperature;

/// A bottle is never filled past this share with liquid.
const FULLEST: f64 = 0.95;

/// Mistakes of a car file that only show with the properties of its agents.
pub fn implausible(car: &Car) -> Vec<Mistake> {
    let mut mistakes = Vec::new();
    for bottle in &car.suppression.bottles {
        let charge = &bottle.charge;
        let warm = charge.temperature.or(car.suppression.temperature).or(charge.charged_at);
        let named = charge.agent.as_ref().and_then(|agent| agents::agent(&agent.text));
        let tabled = named.zip(warm).and_then(|(agent, warm)| agent.at(Temperature::from_si(warm.si())));
        let density = charge.density.map(|density| density.si()).or(tabled.map(|liquid| liquid.density.si()));
        let (Some(density), Some(mass), Some(volume)) = (density, charge.agent_mass, charge.volume) else {
            continue;
        };
        let fill = mass.si() / density / volume.si();
        if fill > FULLEST {
            let message = format!("the agent fills {:.0} % of the bottle {}", fill * 100.0, bottle.id);
            let help =
                "liquid takes 95 % at most, so that gas can push it: check agent_mass, volume and agent";
            mistakes.push(Mistake::error(&bottle.place, message, help));
        }
    }
    mistakes
}
