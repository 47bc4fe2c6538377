//! Where nozzles point: coverage of hazards, angle off the axis, and what they must not hit.

use crate::cite::{Basis, Cite};
use crate::model::{Face, Hazard, Nozzle, Point, Shield};
use crate::physics::spray::{self as physics, Cuboid};
use crate::units::{Angle, Kind, Length};

use super::answer::Answer;
use super::defaults::{CONE, REACH};
use super::inputs::{Inputs, NoValue, Worked};
use super::parts::{all, each};
use super::registry::{Quantity, Shown, absent};
use super::situation::Situation;

const GEOMETRY: Cite =
    Cite::new("solid geometry of a right circular cone", "straight lines of sight", Basis::Computed);

pub(super) const NOZZLE_QUANTITIES: &[Quantity] = &[
    Quantity {
        id: "nozzle.coverage",
        title: "Share of a hazard's exposed face that the nozzle reaches",
        of: "nozzle -> hazard",
        table: "suppression.nozzle",
        shown: Shown::Share,
        formula: "area inside cone and reach and in sight past every shield / area of the face",
        source: GEOMETRY,
        work: |q, s| pairs(q, s, coverage),
    },
    Quantity {
        id: "nozzle.off_axis",
        title: "Angle from the nozzle's axis to the center of the face",
        of: "nozzle -> hazard",
        table: "suppression.nozzle",
        shown: Shown::Kind(Kind::Angle),
        formula: "angle between the aim and the line to the center of the face",
        source: Cite::new("vector geometry", "", Basis::Computed),
        work: |q, s| pairs(q, s, off_axis),
    },
    Quantity {
        id: "nozzle.hits",
        title: "Share of a part to be kept clear that the nozzle hits",
        of: "nozzle -> keep_clear",
        table: "suppression.keep_clear",
        shown: Shown::Share,
        formula: "area hit / area of all faces that look toward the nozzle",
        source: GEOMETRY,
        work: hits,
    },
];

pub(super) const HAZARD_QUANTITIES: &[Quantity] = &[Quantity {
    id: "hazard.coverage",
    title: "Share of the hazard's exposed face that its nozzles reach together",
    of: "hazard",
    table: "suppression.hazard",
    shown: Shown::Share,
    formula: "area reached by any nozzle that protects it / area of the face",
    source: GEOMETRY,
    work: hazards,
}];

fn cone_of(inputs: &mut Inputs<'_>, nozzle: &Nozzle) -> Worked<physics::Nozzle> {
    let key = |name: &str| format!("suppression.nozzle.{}.{name}", nozzle.id);
    let at = inputs.need_some(key("at"), nozzle.at);
    let aim = inputs.need_some(key("aim"), nozzle.aim);
    let cone = inputs.or_default(key("cone"), nozzle.cone, CONE);
    let reach = inputs.or_default(key("reach"), nozzle.reach, REACH);
    let (Some(at), Some(aim)) = (at, aim) else { return Err(NoValue::MissingInput) };
    Ok(physics::Nozzle::new(at, aim, Angle::from_si(cone), Length::from_si(reach))?)
}

fn cuboid(inputs: &mut Inputs<'_>, table: &str, id: &str, corners: Option<[Point; 2]>) -> Worked<Cuboid> {
    let [low, high] =
        inputs.need_some(format!("suppression.{table}.{id}.box"), corners).ok_or(NoValue::MissingInput)?;
    Ok(Cuboid::new(low, high)?)
}

fn shields(inputs: &mut Inputs<'_>, s: &Situation<'_>) -> Worked<Vec<Cuboid>> {
    all(s.car.suppression.shields.iter().map(|shield| cuboid(inputs, "shield", &shield.id, shield.corners)))
}

fn facing(inputs: &mut Inputs<'_>, hazard: &Hazard) -> Worked<Face> {
    inputs
        .need_some(format!("suppression.hazard.{}.face", hazard.id), hazard.face)
        .ok_or(NoValue::MissingInput)
}

/// Every nozzle with every hazard that it is there for, named as a pair.
fn pairs(
    quantity: &Quantity,
    s: &Situation<'_>,
    work: impl Fn(&mut Inputs<'_>, &Situation<'_>, &Nozzle, &Hazard) -> Worked<f64>,
) -> Vec<Answer> {
    let suppression = &s.car.suppression;
    let mut named = Vec::new();
    for nozzle in &suppression.nozzles {
        for hazard in
            nozzle.protects.iter().filter_map(|word| suppression.hazards.iter().find(|h| h.id == word.text))
        {
            named.push((format!("{} -> {}", nozzle.id, hazard.id), (nozzle, hazard)));
        }
    }
    if named.is_empty() && !suppression.nozzles.is_empty() {
        return vec![absent(quantity, vec!["suppression.nozzle.protects".to_owned()])];
    }
    each(quantity, s, named.iter().map(|(of, pair)| (of.as_str(), *pair)), |inputs, (nozzle, hazard)| {
        work(inputs, s, nozzle, hazard)
    })
}

/// What every spray figure leaves out.
const SIGHT: &str = "straight lines of sight: no gravity, drift or run-off";

fn note_enclosed(
    inputs: &mut Inputs<'_>,
    s: &Situation<'_>,
    nozzle: (&Nozzle, &physics::Nozzle),
    shields: &[Cuboid],
) {
    let shield = physics::enclosing(nozzle.1, shields).and_then(|place| s.car.suppression.shields.get(place));
    if let Some(shield) = shield {
        inputs.note(format_args!("{} stands inside the shield {}", nozzle.0.id, shield.id));
    }
}

fn coverage(inputs: &mut Inputs<'_>, s: &Situation<'_>, nozzle: &Nozzle, hazard: &Hazard) -> Worked<f64> {
    let cone = cone_of(inputs, nozzle);
    let target = cuboid(inputs, "hazard", &hazard.id, hazard.corners);
    let (facing, shields) = (facing(inputs, hazard), shields(inputs, s));
    let (cone, target, facing, shields) = (cone?, target?, facing?, shields?);
    note_enclosed(inputs, s, (nozzle, &cone), &shields);
    inputs.assume(SIGHT);
    Ok(physics::coverage(&cone, &target, facing, &shields)?.si())
}

fn off_axis(inputs: &mut Inputs<'_>, _: &Situation<'_>, nozzle: &Nozzle, hazard: &Hazard) -> Worked<f64> {
    let key = |name: &str| format!("suppression.nozzle.{}.{name}", nozzle.id);
    let at = inputs.need_some(key("at"), nozzle.at);
    let aim = inputs.need_some(key("aim"), nozzle.aim);
    let target = cuboid(inputs, "hazard", &hazard.id, hazard.corners);
    let (facing, target) = (facing(inputs, hazard)?, target?);
    let (Some(at), Some(aim)) = (at, aim) else { return Err(NoValue::MissingInput) };
    // The angle knows nothing of cone and reach, so any will do.
    let axis = physics::Nozzle::new(at, aim, Angle::from_si(1.0), Length::from_si(1.0))?;
    Ok(physics::off_axis(&axis, &target, facing)?.si())
}

fn hits(quantity: &Quantity, s: &Situation<'_>) -> Vec<Answer> {
    let suppression = &s.car.suppression;
    if suppression.nozzles.is_empty() && !suppression.keep_clear.is_empty() {
        return vec![absent(quantity, vec!["suppression.nozzle".to_owned()])];
    }
    let mut named = Vec::new();
    for nozzle in &suppression.nozzles {
        for clear in &suppression.keep_clear {
            named.push((format!("{} -> {}", nozzle.id, clear.id), (nozzle, clear)));
        }
    }
    let work = |inputs: &mut Inputs<'_>, (nozzle, clear): (&Nozzle, &Shield)| {
        let cone = cone_of(inputs, nozzle);
        let target = cuboid(inputs, "keep_clear", &clear.id, clear.corners);
        let (shields, cone, target) = (shields(inputs, s)?, cone?, target?);
        note_enclosed(inputs, s, (nozzle, &cone), &shields);
        inputs.assume(SIGHT);
        Ok(physics::hits(&cone, &target, &shields)?.si())
    };
    each(quantity, s, named.iter().map(|(of, pair)| (of.as_str(), *pair)), work)
}

fn hazards(quantity: &Quantity, s: &Situation<'_>) -> Vec<Answer> {
    let suppression = &s.car.suppression;
    if suppression.nozzles.is_empty() && !suppression.hazards.is_empty() {
        return vec![absent(quantity, vec!["suppression.nozzle".to_owned()])];
    }
    let work = |inputs: &mut Inputs<'_>, hazard: &Hazard| {
        let protects = |nozzle: &&Nozzle| nozzle.protects.iter().any(|word| word.text == hazard.id);
        let nozzles: Vec<&Nozzle> = suppression.nozzles.iter().filter(protects).collect();
        let cones = all(nozzles.iter().map(|nozzle| cone_of(inputs, nozzle)));
        let target = cuboid(inputs, "hazard", &hazard.id, hazard.corners);
        let (facing, shields) = (facing(inputs, hazard), shields(inputs, s));
        let (cones, target, facing, shields) = (cones?, target?, facing?, shields?);
        for pair in nozzles.iter().zip(&cones) {
            note_enclosed(inputs, s, (pair.0, pair.1), &shields);
        }
        match nozzles.as_slice() {
            [] => inputs.note("no nozzle protects it"),
            several => {
                let ids: Vec<&str> = several.iter().map(|nozzle| nozzle.id.as_str()).collect();
                inputs.note(format_args!("by {}", ids.join(", ")));
            }
        }
        inputs.assume(SIGHT);
        Ok(physics::hazard_coverage(&cones, &target, facing, &shields)?.si())
    };
    each(quantity, s, suppression.hazards.iter().map(|hazard| (hazard.id.as_str(), hazard)), work)
}
