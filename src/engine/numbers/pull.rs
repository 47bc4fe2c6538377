//! Pull cables: how hard, how far, how bent.

use crate::cite::{Basis, Cite};
use crate::model::Pull;
use crate::physics::cable::{self, Travel};
use crate::units::{Angle, Force, Given, Kind, Length, Quantity as Quantities};

use super::answer::Answer;
use super::defaults::{FRICTION, SLACK, STRETCH};
use super::inputs::{Inputs, NoValue, Worked};
use super::parts::{all, each};
use super::registry::{Quantity, Shown};
use super::situation::Situation;

const CAPSTAN: Cite = Cite::new("capstan (Euler-Eytelwein) equation", "any statics text", Basis::Computed);
const LENGTHS: Cite = Cite::new("sum of lengths", "", Basis::Computed);

pub(super) const QUANTITIES: &[Quantity] = &[
    Quantity {
        id: "pull.handle_force",
        title: "Force at the handle that opens every valve on the cable",
        of: "pull",
        table: "suppression.pull",
        shown: Shown::Kind(Kind::Force),
        formula: "e^(friction x total bend) x valve force x bottles worked",
        source: CAPSTAN,
        work: |q, s| pulls(q, s, handle_force),
    },
    Quantity {
        id: "pull.total_bend",
        title: "All bends of the cable added up",
        of: "pull",
        table: "suppression.pull",
        shown: Shown::Kind(Kind::Angle),
        formula: "sum of the bend angles",
        source: CAPSTAN,
        work: |q, s| pulls(q, s, total_bend),
    },
    Quantity {
        id: "pull.travel_left",
        title: "Handle travel left once the valve is open",
        of: "pull",
        table: "suppression.pull",
        shown: Shown::Kind(Kind::Length),
        formula: "handle travel - valve travel - slack - stretch x length",
        source: LENGTHS,
        work: |q, s| pulls(q, s, |inputs, pull| Ok(cable::travel_left(travel(inputs, pull)?)?.si())),
    },
    Quantity {
        id: "pull.travel_ratio",
        title: "Handle travel over what the valve and the play need",
        of: "pull",
        table: "suppression.pull",
        shown: Shown::Kind(Kind::Ratio),
        formula: "(handle travel - stretch x length) / (valve travel + slack)",
        source: LENGTHS,
        work: |q, s| pulls(q, s, |inputs, pull| Ok(cable::travel_ratio(travel(inputs, pull)?)?)),
    },
    Quantity {
        id: "pull.bend_margin",
        title: "Tightest bend over the least its maker allows",
        of: "pull",
        table: "suppression.pull",
        shown: Shown::Kind(Kind::Ratio),
        formula: "least bend radius / min_bend_radius",
        source: Cite::new("definition", "", Basis::Computed),
        work: |q, s| pulls(q, s, bend_margin),
    },
];

fn pulls(
    quantity: &Quantity,
    s: &Situation<'_>,
    work: impl Fn(&mut Inputs<'_>, &Pull) -> Worked<f64>,
) -> Vec<Answer> {
    each(quantity, s, s.car.suppression.pulls.iter().map(|pull| (pull.id.as_str(), pull)), work)
}

fn key(pull: &Pull, name: &str) -> String {
    format!("suppression.pull.{}.{name}", pull.id)
}

/// One value of every bend, counted from 1; what is missing is missed for all of them together.
fn each_bend<Q: Quantities>(
    inputs: &mut Inputs<'_>,
    pull: &Pull,
    name: &str,
    values: impl Iterator<Item = Option<Given<Q>>>,
) -> Worked<Vec<f64>> {
    all(values.enumerate().map(|(place, value)| {
        let path = match value {
            Some(_) => format!("bends.{}.{name}", place + 1),
            None => format!("bends.{name}"),
        };
        inputs.need(key(pull, &path), value).ok_or(NoValue::MissingInput)
    }))
}

fn total_bend(inputs: &mut Inputs<'_>, pull: &Pull) -> Worked<f64> {
    let bends = inputs.need_some(key(pull, "bends"), pull.bends.as_ref()).ok_or(NoValue::MissingInput)?;
    let angles = each_bend(inputs, pull, "angle", bends.iter().map(|bend| bend.angle))?;
    Ok(cable::total_bend(&angles.into_iter().map(Angle::from_si).collect::<Vec<_>>())?.si())
}

fn handle_force(inputs: &mut Inputs<'_>, pull: &Pull) -> Worked<f64> {
    let bend = total_bend(inputs, pull);
    let friction = inputs.or_default(key(pull, "friction"), pull.friction, FRICTION);
    let valve = inputs.need(key(pull, "valve_force"), pull.valve_force);
    let works = u32::try_from(pull.works.len()).ok().filter(|count| *count > 0);
    let works = inputs.need_some(key(pull, "works"), works);
    let bend = bend?;
    let (Some(valve), Some(works)) = (valve, works) else { return Err(NoValue::MissingInput) };
    inputs.assume("no return spring or lever besides the valve's own; every bottle it works opens at once");
    Ok(cable::handle_force(friction, Angle::from_si(bend), Force::from_si(valve), works)?.si())
}

fn travel(inputs: &mut Inputs<'_>, pull: &Pull) -> Worked<Travel> {
    let handle = inputs.need(key(pull, "handle_travel"), pull.handle_travel);
    let valve = inputs.need(key(pull, "valve_travel"), pull.valve_travel);
    let slack = inputs.or_default(key(pull, "slack"), pull.slack, SLACK);
    let length = inputs.need(key(pull, "length"), pull.length);
    let stretch = inputs.or_default(key(pull, "stretch"), pull.stretch, STRETCH);
    let (Some(handle), Some(valve), Some(length)) = (handle, valve, length) else {
        return Err(NoValue::MissingInput);
    };
    Ok(Travel {
        handle: Length::from_si(handle),
        valve: Length::from_si(valve),
        slack: Length::from_si(slack),
        length: Length::from_si(length),
        stretch,
    })
}

fn bend_margin(inputs: &mut Inputs<'_>, pull: &Pull) -> Worked<f64> {
    let allowed = inputs.need(key(pull, "min_bend_radius"), pull.min_bend_radius);
    let bends = inputs.need_some(key(pull, "bends"), pull.bends.as_ref()).ok_or(NoValue::MissingInput)?;
    let radii = each_bend(inputs, pull, "radius", bends.iter().map(|bend| bend.radius))?;
    let radii: Vec<Length> = radii.into_iter().map(Length::from_si).collect();
    let allowed = allowed.ok_or(NoValue::MissingInput)?;
    if radii.is_empty() {
        return Err(NoValue::because("the cable has no bend to set against the least radius"));
    }
    Ok(cable::bend_margin(&radii, Length::from_si(allowed))?)
}
