//! Drum brakes: their factor, what their wheel cylinders take, what a parking brake holds, and residual valves.

use crate::cite::{Basis, Cite};
use crate::model::{Car, Drum, DrumKind, Valve, ValveKind, WheelBrake};
use crate::physics::brakes::drum::{self, DuoServo, Lining, Shoe};
use crate::physics::brakes::parking::{grade_held, shoe_pull};
use crate::units::{Angle, Force, Given, Kind, Length, Ratio, Torque};

use super::answer::Answer;
use super::brake_balance::{statics, tire};
use super::circuits::{names, need_every_wheel};
use super::defaults::CABLES;
use super::inputs::{Inputs, NoValue, Worked};
use super::parts::{each, total};
use super::registry::{Quantity, Shown};
use super::situation::Situation;

pub(super) const FACTOR: &[Quantity] = &[Quantity {
    id: "brake.drum_factor",
    title: "Friction force of a drum brake over the force of one piston",
    of: "wheel brake",
    table: "brakes.wheel_brake.drum",
    shown: Shown::Kind(Kind::Ratio),
    formula: "both shoes, each by the balance of its moments; of a duo-servo brake the second is pushed by the first",
    source: Cite::new(
        "Shigley, Mechanical Engineering Design",
        "internal expanding rim brakes",
        Basis::FromMemory,
    ),
    work: |q, s| {
        let drums = s.car.brakes.wheel_brakes.iter().filter(|brake| brake.drum.is_some());
        each(q, s, drums.map(|brake| (brake.id.as_str(), brake)), |inputs, brake| {
            let drum = brake.drum.as_ref().ok_or(NoValue::MissingInput)?;
            factor(inputs, brake, drum)
        })
    },
}];

pub(super) const PARKING: &[Quantity] = &[Quantity {
    id: "brake.parking_grade",
    title: "Steepest grade that the parking brake holds the car on",
    of: "car",
    table: "brakes.parking",
    shown: Shown::Share,
    formula: "the smaller of what the drums hold and what their tires hold, nose up or down",
    source: Cite::new("balance of forces on a slope", "any vehicle-dynamics text", Basis::Computed),
    work: |q, s| {
        if s.car.brakes.parking.is_none() {
            return Vec::new();
        }
        let mut inputs = s.inputs(q, &s.car.id);
        let worked = parking(&mut inputs, s.car);
        vec![inputs.finish(worked)]
    },
}];

pub(super) const RESIDUAL: &[Quantity] = &[
    Quantity {
        id: "brake.residual_discs",
        title: "Pressure that a residual valve keeps on disc brakes",
        of: "valve",
        table: "brakes.valve",
        shown: Shown::Kind(Kind::Pressure),
        formula: "holds, where the valve's circuit has a disc brake",
        source: Cite::new("definition", "", Basis::Computed),
        work: |q, s| residual(q, s, false),
    },
    Quantity {
        id: "brake.residual_drums",
        title: "Pressure that a residual valve keeps on drum brakes",
        of: "valve",
        table: "brakes.valve",
        shown: Shown::Kind(Kind::Pressure),
        formula: "holds, where the valve's circuit has a drum brake",
        source: Cite::new("definition", "", Basis::Computed),
        work: |q, s| residual(q, s, true),
    },
];

/// What a duo-servo or a leading-trailing brake is, as far as the formulas ask.
enum Shape {
    Pins(Shoe),
    Servo(DuoServo),
}

fn key(brake: &WheelBrake, name: &str) -> String {
    format!("brakes.wheel_brake.{}.drum.{name}", brake.id)
}

fn lining(
    inputs: &mut Inputs<'_>,
    brake: &WheelBrake,
    names: [&str; 2],
    ends: [Option<Given<Angle>>; 2],
) -> Worked<Lining> {
    let [first, last] = names;
    let [from, to] = ends;
    let from = inputs.need(key(brake, first), from);
    let to = inputs.need(key(brake, last), to);
    let (Some(from), Some(to)) = (from, to) else { return Err(NoValue::MissingInput) };
    Ok(Lining { from: Angle::from_si(from), to: Angle::from_si(to) })
}

/// The first shoe's lining: each end its own, or else as of the second.
fn primary(inputs: &mut Inputs<'_>, brake: &WheelBrake, drum: &Drum, second: Lining) -> Lining {
    let [from, to] = drum.primary;
    let from = inputs.given(key(brake, "primary_from"), from).map_or(second.from, Angle::from_si);
    let to = inputs.given(key(brake, "primary_to"), to).map_or(second.to, Angle::from_si);
    Lining { from, to }
}

fn shape(inputs: &mut Inputs<'_>, brake: &WheelBrake, drum: &Drum) -> Worked<Shape> {
    let kind = inputs.need_some(key(brake, "kind"), drum.kind);
    let radius = radius(inputs, brake, drum);
    let anchor = inputs.need(key(brake, "anchor"), drum.anchor);
    let arm = inputs.need(key(brake, "arm"), drum.arm);
    let second = lining(inputs, brake, ["lining_from", "lining_to"], drum.lining);
    let link = match kind {
        Some(DrumKind::DuoServo) => inputs.need(key(brake, "link"), drum.link),
        _ => Some(0.0),
    };
    let (radius, second) = (radius?, second?);
    let (Some(kind), Some(anchor), Some(arm), Some(link)) = (kind, anchor, arm, link) else {
        return Err(NoValue::MissingInput);
    };
    let [anchor, arm, link] = [anchor, arm, link].map(Length::from_si);
    Ok(match kind {
        DrumKind::LeadingTrailing => Shape::Pins(Shoe { radius, anchor, arm, lining: second }),
        DrumKind::DuoServo => {
            let primary = primary(inputs, brake, drum, second);
            Shape::Servo(DuoServo { radius, anchor, link, arm, secondary: second, primary })
        }
    })
}

fn radius(inputs: &mut Inputs<'_>, brake: &WheelBrake, drum: &Drum) -> Worked<Length> {
    let diameter = inputs.need(key(brake, "diameter"), drum.diameter).ok_or(NoValue::MissingInput)?;
    Ok(Length::from_si(0.5 * diameter))
}

/// The bore of the wheel cylinder.
pub(super) fn cylinder_bore(inputs: &mut Inputs<'_>, brake: &WheelBrake, drum: &Drum) -> Worked<Length> {
    let bore = inputs.need(key(brake, "cylinder_bore"), drum.cylinder_bore).ok_or(NoValue::MissingInput)?;
    Ok(Length::from_si(bore))
}

/// Friction force at the drum over the force of one piston.
fn factor(inputs: &mut Inputs<'_>, brake: &WheelBrake, drum: &Drum) -> Worked<f64> {
    let friction = inputs.need(format!("brakes.wheel_brake.{}.pad_friction", brake.id), brake.pad_friction);
    let shape = shape(inputs, brake, drum)?;
    let friction = friction.ok_or(NoValue::MissingInput)?;
    inputs.assume("drum brakes: rigid shoes, return springs left out, the car rolling forward");
    Ok(match shape {
        Shape::Pins(shoe) => drum::leading_trailing_factor(shoe, friction)?,
        Shape::Servo(brake) => drum::duo_servo_factor(brake, friction)?,
    })
}

/// Braking torque of a drum brake for a pressure behind its valves, N.m.
pub(super) fn torque(
    inputs: &mut Inputs<'_>,
    brake: &WheelBrake,
    drum: &Drum,
    pressure: Worked<f64>,
) -> Worked<f64> {
    let factor = factor(inputs, brake, drum);
    let (bore, radius) = (cylinder_bore(inputs, brake, drum), radius(inputs, brake, drum));
    let pressure = crate::units::Pressure::from_si(pressure?);
    Ok(drum::drum_torque(factor?, pressure, bore?, radius?)?.si())
}

/// Fluid that a wheel cylinder takes until its linings have come this far, m3.
pub(super) fn volume(
    inputs: &mut Inputs<'_>,
    brake: &WheelBrake,
    drum: &Drum,
    gap: Worked<f64>,
) -> Worked<f64> {
    let bore = cylinder_bore(inputs, brake, drum);
    let shape = shape(inputs, brake, drum);
    let gap = Length::from_si(gap?);
    let opening = match shape? {
        Shape::Pins(shoe) => drum::leading_trailing_opening(shoe, gap)?,
        Shape::Servo(brake) => drum::duo_servo_opening(brake, gap)?,
    };
    Ok(drum::cylinder_volume(bore?, opening)?.si())
}

/// Every wheel with a drum that the parking brake works.
fn parking(inputs: &mut Inputs<'_>, car: &Car) -> Worked<f64> {
    let lever = car.brakes.parking.as_ref().ok_or(NoValue::MissingInput)?;
    let pull = inputs.need("brakes.parking.pull", lever.pull);
    let ratio = inputs.need("brakes.parking.ratio", lever.ratio);
    let arrives = inputs.or_default::<Ratio>("brakes.parking.efficiency", lever.efficiency, CABLES);
    let all: Vec<(&WheelBrake, &Drum)> =
        car.brakes.wheel_brakes.iter().filter_map(|brake| Some((brake, brake.drum.as_ref()?))).collect();
    // Where some drums have a lever of their own, the cables go to those.
    let levered = all.iter().any(|(_, drum)| drum.parking_ratio.is_some());
    let drums: Vec<(&WheelBrake, &Drum)> =
        all.into_iter().filter(|(_, drum)| !levered || drum.parking_ratio.is_some()).collect();
    let front = drums.iter().all(|(brake, _)| brake.corner().is_some_and(crate::model::Corner::is_front));
    let rear = drums.iter().all(|(brake, _)| !brake.corner().is_some_and(crate::model::Corner::is_front));
    if drums.is_empty() {
        need_every_wheel(inputs, car);
        return Err(if inputs.is_short() {
            NoValue::MissingInput
        } else {
            NoValue::because("only a parking brake that works drums is calculated, and this car has none")
        });
    }
    if drums.len() != 2 || !(front || rear) {
        return Err(NoValue::because("a parking brake is calculated on the two drums of one axle"));
    }
    let axle = if front {
        crate::physics::brakes::balance::Axle::Front
    } else {
        crate::physics::brakes::balance::Axle::Rear
    };
    let (tire, statics) = (tire(inputs, car, axle), statics(inputs, car, true));
    let torque = total(drums.into_iter().map(|(brake, drum)| {
        let shoe = inputs.need(key(brake, "parking_ratio"), drum.parking_ratio);
        let (factor, radius) = (factor(inputs, brake, drum), radius(inputs, brake, drum));
        let (Some(pull), Some(ratio), Some(shoe)) = (pull, ratio, shoe) else {
            return Err(NoValue::MissingInput);
        };
        let force = shoe_pull(Force::from_si(pull), ratio, arrives, shoe)?;
        Ok(factor? * force.si() * radius?.si())
    }));
    let (statics, tire, torque) = (statics?, tire?, torque?);
    inputs.assume("both shoes pushed alike, the linings as rough at rest as rolling");
    let (share, friction) = if front {
        (statics.front_share, statics.front_friction)
    } else {
        (1.0 - statics.front_share, statics.rear_friction)
    };
    Ok(grade_held(statics, share, friction, Torque::from_si(torque), Length::from_si(tire))?)
}

/// What each residual valve holds, where its circuit has a brake of this kind.
fn residual(quantity: &Quantity, s: &Situation<'_>, drums: bool) -> Vec<Answer> {
    let valves = s.car.brakes.valves.iter().filter(|valve| valve.kind == Some(ValveKind::Residual));
    let here: Vec<&Valve> = valves.filter(|valve| may_feed(s.car, valve, drums)).collect();
    if here.is_empty() && !s.car.brakes.valves.is_empty() {
        let which = if drums { "drum brakes" } else { "disc brakes" };
        return vec![
            s.inputs(quantity, &s.car.id).refuse(format!("no residual valve feeds {which} on this car")),
        ];
    }
    each(quantity, s, here.into_iter().map(|valve| (valve.id.as_str(), valve)), |inputs, valve| {
        let holds = inputs.need(format!("brakes.valve.{}.holds", valve.id), valve.holds);
        inputs.need_some(format!("brakes.valve.{}.circuit", valve.id), valve.circuit.as_ref());
        let known = |brake: &WheelBrake| {
            names(brake.circuit.as_ref(), valve.circuit.as_ref().map_or("", |w| w.as_str()))
        };
        if !s.car.brakes.wheel_brakes.iter().any(known) {
            need_every_wheel(inputs, s.car);
        }
        holds.ok_or(NoValue::MissingInput)
    })
}

/// Whether a valve feeds a brake of this kind, or may: its circuit or its wheels are not in the file.
fn may_feed(car: &Car, valve: &Valve, drums: bool) -> bool {
    let Some(circuit) = valve.circuit.as_ref() else { return true };
    let mut here = car
        .brakes
        .wheel_brakes
        .iter()
        .filter(|brake| names(brake.circuit.as_ref(), circuit.as_str()))
        .peekable();
    here.peek().is_none() || here.any(|brake| brake.drum.is_some() == drums)
}
