//! Lines filling on the plan: how far each is wet at a moment, and which nozzles have agent.

use std::collections::BTreeSet;

use crate::model::Car;

use super::curves::Curves;
use super::parts::supply_way;
use super::shape::beginning;
use super::sheet::{Drawing, Stroke, Style};

/// For each line of a network without rings, whether it fills from the end it leads to: agent comes from the bottles,
/// and where both ends lead to one, from the end the line begins at.
pub fn fill_starts_at_end(bottles: &[&str], lines: &[(&str, &str)]) -> Vec<bool> {
    let mut wet: BTreeSet<&str> = bottles.iter().copied().collect();
    let mut from_end = vec![None; lines.len()];
    // Nearest to a bottle first: each round goes one line further.
    for _ in 0..=lines.len() {
        let before = wet.clone();
        for ((from, to), slot) in lines.iter().zip(&mut from_end).filter(|(_, slot)| slot.is_none()) {
            if before.contains(from) || before.contains(to) {
                *slot = Some(!before.contains(from));
                wet.extend([*from, *to]);
            }
        }
    }
    from_end.into_iter().map(|slot| slot.unwrap_or(false)).collect()
}

/// The drawing with every wetted stretch drawn over its line, and a star in each nozzle that has agent.
pub fn filling(base: &Drawing, car: &Car, all: &[Curves], time: f64) -> Drawing {
    let mut drawing = base.clone();
    for curves in all {
        for line in &curves.lines {
            let share = curves.at(&line.wetted, time);
            let Some(known) = car.suppression.lines.iter().find(|known| known.run.id == line.id) else {
                continue;
            };
            let Some((mut way, straight)) = supply_way(car, known).filter(|_| share > 0.0) else { continue };
            if line.from_end {
                way.reverse();
            }
            drawing.strokes.push(Stroke {
                points: beginning(&way, share).into_iter().map(|point| base.view.flat(point)).collect(),
                closed: false,
                style: Style::Wet,
                straight,
                id: line.id.clone(),
                label: format!("agent in {}", line.id),
            });
        }
        for nozzle in curves.nozzles.iter().filter(|nozzle| Curves::has_agent(nozzle, time)) {
            let mark =
                drawing.marks.iter_mut().find(|mark| mark.style == Style::Nozzle && mark.id == nozzle.id);
            if let Some(mark) = mark {
                "*".clone_into(&mut mark.text);
            }
        }
    }
    drawing
}
