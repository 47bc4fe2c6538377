//! Numbers that rest on more uncertain inputs than can be sampled: the inputs left out of the samples, all at the ends that
//! make the number least, and all at those that make it greatest. What is inside a limit at both is inside wherever they lie.

use super::answer::{Number, NumberValue};
use super::bands::{Bench, MOST_INPUTS, Plan, Round, Sweep};

/// How far the inputs that were not sampled move a number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Corner {
    /// All were sampled.
    None,
    /// Down to the first and up to the second, from the inputs as given.
    Moves([f64; 2]),
    /// It cannot be worked at one of its corners.
    Unknown,
}

impl Corner {
    /// Widens the band of a number by what they move it.
    pub(super) fn widen(self, number: &mut Number, inputs: usize) {
        let (down, up) = match self {
            Self::None => return,
            Self::Moves([down, up]) => (down, up),
            Self::Unknown => (f64::NEG_INFINITY, f64::INFINITY),
        };
        let said = format!("it rests on {inputs} uncertain inputs: {MOST_INPUTS} are sampled");
        if !matches!(number.value, NumberValue::Number(_)) {
            // A word that is another at a corner is decided by nothing that was sampled.
            if down < 0.0 || up > 0.0 {
                number.samples = vec![0.0, 1.0].into();
            }
            number.notes.push(format!("{said}, the others tried at their ends"));
        } else if down.is_finite() && up.is_finite() {
            number.low = number.low.map(|low| low + down.min(0.0));
            number.high = number.high.map(|high| high + up.max(0.0));
            number.notes.push(format!("{said}, the others taken at their worse ends"));
        } else {
            (number.low, number.high, number.convergence) = (None, None, None);
            number.samples = Vec::new().into();
            number.notes.push(format!("no band: {said}, and it cannot be worked at the ends of the others"));
        }
    }
}

impl Bench<'_> {
    /// What the inputs beyond those sampled move each target by.
    pub(super) fn corners(&self, plan: &Plan, sweeps: &[Sweep]) -> Vec<Corner> {
        let wide: Vec<usize> = plan
            .targets
            .iter()
            .enumerate()
            .filter(|(_, target)| {
                !target.is_drawn
                    && plan.groups.get(target.group).is_some_and(|group| group.len() > MOST_INPUTS)
            })
            .map(|(place, _)| place)
            .collect();
        // Two cases each: the lowest corner, then the highest.
        let found = self.all(2 * wide.len(), |car, job| {
            let place = *wide.get(job / 2)?;
            let (target, sweep) = (plan.targets.get(place)?, sweeps.get(place)?);
            let rest = plan.groups.get(target.group)?.iter().zip(&sweep.rises).skip(MOST_INPUTS);
            let upper = job % 2 == 1;
            let swaps = rest.flat_map(|(spread, rises)| spread.at(f64::from(u8::from(*rises == upper))));
            let round = Round { groups: vec![target.group], targets: vec![place] };
            let value = self.values(car, plan, &round, swaps.collect()).into_iter().next().flatten();
            Some(value? - sweep.plain?)
        });
        let mut corners = vec![Corner::None; plan.targets.len()];
        for (place, ends) in wide.iter().zip(found.chunks(2)) {
            if let Some(corner) = corners.get_mut(*place) {
                *corner = match ends {
                    [Some(down), Some(up)] => Corner::Moves([*down, *up]),
                    _ => Corner::Unknown,
                };
            }
        }
        corners
    }
}
