//! Whether liquid would run back into a bottle.

use super::super::network::{Network, at};
use super::{Flows, ROUNDING, bottle_level};

impl Flows {
    /// A bottle without a check valve whose full line stands still because the network pushes harder than the bottle
    /// does: in truth liquid would run back into it.
    pub fn pushed_back(&self, net: &Network, bottles: &[f64]) -> Option<usize> {
        let ways = self.ways.iter().zip(&net.links).zip(&self.link).enumerate();
        let shut = ways.filter(|(_, ((way, _), flow))| way.full && **flow == 0.0);
        shut.flat_map(|(k, ((_, link), _))| [(link.parent, k + 1), (k + 1, link.parent)]).find_map(
            |(place, beyond)| {
                let bottle = net.bottle_at.get(place).copied().flatten()?;
                let valve = net.plan().bottles.get(bottle)?.check_valve;
                let against = self.nodes.get(beyond)?.pressure - bottle_level(net, place, bottles)?;
                (!valve && against > ROUNDING * at(bottles, bottle).abs()).then_some(bottle)
            },
        )
    }
}
