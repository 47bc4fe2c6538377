//! Front against rear: shares, which axle locks first, and what is left with one circuit gone.

use crate::cite::{Basis, Cite};
use crate::model::{Car, WheelBrake};
use crate::physics::brakes::balance::{
    self, Axle, Effort, Lockup, Statics, deceleration_left, first_lockup, lockup_over, tyre_limit,
};
use crate::physics::brakes::wheel::ground_force;
use crate::units::{Force, Kind, Length, STANDARD_GRAVITY, Torque};

use super::answer::{Answer, NumberValue};
use super::circuits::{
    circuit_of, each_circuit, gain, names, need_every_wheel, torque, valves, wheel_pressure,
};
use super::inputs::{Inputs, NoValue, Worked};
use super::parts::{all, both, total};
use super::registry::{Quantity, Shown};
use super::situation::Situation;

const MOMENTS: Cite = Cite::new("balance of moments", "any vehicle-dynamics text", Basis::Computed);
/// Friction of tires on a wet road.
const WET: f64 = 0.3;
/// How far a tire's friction may be off where nothing is stated, as a share of it: common practice.
pub(super) const TIRE_FRICTION: f64 = 0.15;
const ADHESION: Cite = Cite::new("49 CFR 571.135", "S7.4.4(g), adhesion used by an axle", Basis::FromMemory);

pub(super) const BALANCE: &[Quantity] = &[
    Quantity {
        id: "brake.front_share",
        title: "Front axle's share of the braking force at the ground",
        of: "car",
        table: "brakes.wheel_brake",
        shown: Shown::Share,
        formula: "front / (front + rear), torque / tire radius summed by axle",
        source: Cite::new("definition", "", Basis::Computed),
        work: |q, s| braked(q, s, |inputs| Ok(NumberValue::Number(front_share(inputs, s)?))),
    },
    Quantity {
        id: "brake.ideal_front_share",
        title: "Front share at which both axles lock together",
        of: "car",
        table: "car",
        shown: Shown::Share,
        formula: "static front share + tire friction x cg_height / wheelbase",
        source: MOMENTS,
        work: |q, s| {
            let mut inputs = s.inputs(q, &s.car.id);
            let worked = ideal(&mut inputs, s.car);
            vec![inputs.finish(worked)]
        },
    },
    Quantity {
        id: "brake.locks_first",
        title: "Axle that locks first",
        of: "car",
        table: "brakes.wheel_brake",
        shown: Shown::Word,
        formula: "the axle whose adhesion is used up first as the pedal force rises, rear if anywhere from half the tires' friction to the best of it",
        source: ADHESION,
        work: |q, s| braked(q, s, |inputs| Ok(NumberValue::Word(locks_first(inputs, s)?.word().to_owned()))),
    },
    Quantity {
        id: "brake.lock_deceleration",
        title: "Deceleration at which the first axle locks",
        of: "car",
        table: "brakes.wheel_brake",
        shown: Shown::Gravity,
        formula: "braking force / weight when the first axle locks",
        source: ADHESION,
        work: |q, s| braked(q, s, |inputs| Ok(NumberValue::Number(lockup(inputs, s)?.deceleration))),
    },
];

pub(super) const ONE_FAILED: &[Quantity] = &[Quantity {
    id: "brake.decel_one_failed",
    title: "Deceleration with this circuit lost",
    of: "circuit that failed",
    table: "brakes.master",
    shown: Shown::Gravity,
    formula: "the smaller of braking force left / weight and what the tires still braked allow",
    source: MOMENTS,
    work: |q, s| {
        each_circuit(q, s, |mut inputs, circuit| {
            let worked = one_failed(&mut inputs, s, circuit);
            inputs.finish(worked)
        })
    },
}];

/// The car's one answer; none where it has no wheel brakes in its file.
fn braked(
    quantity: &Quantity,
    s: &Situation<'_>,
    work: impl Fn(&mut Inputs<'_>) -> Worked<NumberValue>,
) -> Vec<Answer> {
    if s.car.brakes.wheel_brakes.is_empty() {
        return Vec::new();
    }
    let mut inputs = s.inputs(quantity, &s.car.id);
    let worked = work(&mut inputs);
    vec![inputs.finish_value(worked)]
}

/// The wheel brakes of the car. A wheel without one is missing, unless its axle is said to have none.
fn wheels<'c>(inputs: &mut Inputs<'_>, car: &'c Car) -> &'c [WheelBrake] {
    need_every_wheel(inputs, car);
    &car.brakes.wheel_brakes
}

fn axle(brake: &WheelBrake) -> Axle {
    if brake.corner().is_some_and(crate::model::Corner::is_front) { Axle::Front } else { Axle::Rear }
}

pub(super) fn tire(inputs: &mut Inputs<'_>, car: &Car, axle: Axle) -> Worked<f64> {
    let radius = match axle {
        Axle::Front => car.chassis.tyre_radius_front,
        Axle::Rear => car.chassis.tyre_radius_rear,
    };
    inputs.need(format!("car.tyre_radius.{}", axle.word()), radius).ok_or(NoValue::MissingInput)
}

/// Braking force at the ground of one wheel, N, for a pressure behind its valves.
fn ground(inputs: &mut Inputs<'_>, car: &Car, brake: &WheelBrake, pressure: Worked<f64>) -> Worked<f64> {
    let torque = torque(inputs, brake, pressure);
    let tire = tire(inputs, car, axle(brake))?;
    Ok(ground_force(Torque::from_si(torque?), Length::from_si(tire))?.si())
}

/// Braking force of some wheels at the pedal force given, N.
fn force<'c>(
    inputs: &mut Inputs<'_>,
    s: &Situation<'_>,
    brakes: impl IntoIterator<Item = &'c WheelBrake>,
) -> Worked<f64> {
    total(brakes.into_iter().map(|brake| {
        let pressure = wheel_pressure(inputs, s, brake);
        ground(inputs, s.car, brake, pressure)
    }))
}

fn front_share(inputs: &mut Inputs<'_>, s: &Situation<'_>) -> Worked<f64> {
    let (front, rear): (Vec<_>, Vec<_>) =
        wheels(inputs, s.car).iter().partition(|brake| axle(brake) == Axle::Front);
    let (front, rear) = (force(inputs, s, front), force(inputs, s, rear));
    let (front, rear) = (front?, rear?);
    inputs.assume("no wheel locked");
    let shown = |newtons| both(newtons, Kind::Force);
    inputs.note(format_args!("front {}, rear {} at the ground", shown(front), shown(rear)));
    Ok(balance::front_share(Force::from_si(front), Force::from_si(rear))?)
}

/// What one wheel takes of the braking at the ground, at the pedal force given.
pub(super) fn wheel_share(inputs: &mut Inputs<'_>, s: &Situation<'_>, brake: &WheelBrake) -> Worked<f64> {
    let mine = force(inputs, s, std::iter::once(brake));
    let every = wheels(inputs, s.car);
    let every = force(inputs, s, every);
    let (mine, every) = (mine?, every?);
    if every <= 0.0 {
        return Err(NoValue::because("no wheel is braked at this pedal force"));
    }
    Ok(mine / every)
}

/// What decides the loads on the axles; the weight only where it is asked for.
pub(super) fn statics(inputs: &mut Inputs<'_>, car: &Car, weighed: bool) -> Worked<Statics> {
    let chassis = &car.chassis;
    let mass = if weighed { inputs.need("car.mass", chassis.mass) } else { Some(1.0) };
    let front = inputs.need("car.front_share", chassis.front_share);
    let height = inputs.need("car.cg_height", chassis.cg_height);
    let base = inputs.need("car.wheelbase", chassis.wheelbase);
    let friction = friction(inputs, car);
    let (Some(mass), Some(front_share), Some(height)) = (mass, front, height) else {
        return Err(NoValue::MissingInput);
    };
    let (Some(base), Some([front_friction, rear_friction])) = (base, friction) else {
        return Err(NoValue::MissingInput);
    };
    inputs.assume("level ground, no downforce");
    Ok(Statics {
        weight: Force::from_si(mass * STANDARD_GRAVITY),
        front_share,
        cg_height: Length::from_si(height),
        wheelbase: Length::from_si(base),
        front_friction,
        rear_friction,
    })
}

/// Friction of front and rear tires: each its own, or one for all.
fn friction(inputs: &mut Inputs<'_>, car: &Car) -> Option<[f64; 2]> {
    let chassis = &car.chassis;
    if chassis.tire_friction_front.is_none() && chassis.tire_friction_rear.is_none() {
        let alike = inputs.need("car.tyre_friction", chassis.tyre_friction)?;
        inputs.assume("tires alike at both axles: car.tire_friction gives each its own");
        return Some([alike, alike]);
    }
    let front = inputs.need("car.tire_friction.front", chassis.tire_friction_front);
    let rear = inputs.need("car.tire_friction.rear", chassis.tire_friction_rear);
    Some([front?, rear?])
}

/// The upper end of what the front tires' friction may be.
fn best_friction(car: &Car, front: f64) -> f64 {
    let given = car.chassis.tire_friction_front.or(car.chassis.tyre_friction);
    front + given.and_then(|given| given.half_width).unwrap_or(TIRE_FRICTION * front)
}

fn ideal(inputs: &mut Inputs<'_>, car: &Car) -> Worked<f64> {
    Ok(balance::ideal_front_share(statics(inputs, car, false)?)?)
}

/// What one wheel makes of the pedal.
fn effort(inputs: &mut Inputs<'_>, s: &Situation<'_>, brake: &WheelBrake) -> Worked<Effort> {
    let per_pressure = ground(inputs, s.car, brake, Ok(1.0));
    let circuit = circuit_of(inputs, brake)?;
    let gain = gain(inputs, s, circuit);
    let valves = valves(inputs, s.car, circuit);
    Ok(Effort { pressure_per_pedal: gain?, valves: valves?, ground_per_pressure: per_pressure? })
}

/// What decides lock-up: the loads, and what each wheel of both axles makes of the pedal.
fn locking(inputs: &mut Inputs<'_>, s: &Situation<'_>) -> Worked<(Statics, Vec<Effort>, Vec<Effort>)> {
    let statics = statics(inputs, s.car, true);
    let brakes = wheels(inputs, s.car);
    let mut efforts =
        |wanted: Axle| all(brakes.iter().filter(|b| axle(b) == wanted).map(|b| effort(inputs, s, b)));
    let (front, rear) = (efforts(Axle::Front), efforts(Axle::Rear));
    Ok((statics?, front?, rear?))
}

/// The axle that counts as locking first: the rear where it does anywhere from half of the tires' friction up. A rear
/// axle that is first only on a poorer road than that is said, and no more.
fn locks_first(inputs: &mut Inputs<'_>, s: &Situation<'_>) -> Worked<Axle> {
    let (statics, front, rear) = locking(inputs, s)?;
    let grip = statics.front_friction;
    let stretches = lockup_over(statics, &front, &rear, WET.min(grip), best_friction(s.car, grip))?;
    inputs.assume("the wheels of an axle lock together, no engine braking");
    let shown = |mu: f64| crate::units::significant(mu, 3);
    let told = stretches.iter().map(|stretch| {
        let [from, to] = stretch.friction.map(shown);
        format!("{} first from {from} to {to}", stretch.axle.word())
    });
    let told = told.collect::<Vec<_>>().join(", ");
    inputs.note(format_args!("by the friction of the front tires, {} in the wet: {told}", shown(WET)));
    let counts =
        stretches.iter().any(|stretch| stretch.axle == Axle::Rear && stretch.friction[1] > 0.5 * grip);
    if !counts && stretches.iter().any(|stretch| stretch.axle == Axle::Rear) {
        inputs.note(format_args!(
            "the rear locks first only below half of the tires' friction, {}",
            shown(0.5 * grip)
        ));
    }
    Ok(if counts { Axle::Rear } else { Axle::Front })
}

fn lockup(inputs: &mut Inputs<'_>, s: &Situation<'_>) -> Worked<Lockup> {
    let (statics, front, rear) = locking(inputs, s)?;
    let lock = first_lockup(statics, &front, &rear)?;
    inputs.assume("the wheels of an axle lock together, no engine braking");
    let deceleration = crate::units::significant(lock.deceleration, 3);
    let pedal = both(lock.pedal.si(), Kind::Force);
    inputs.note(format_args!("{} first, at {deceleration} g and {pedal} on the pedal", lock.axle.word()));
    Ok(lock)
}

fn one_failed(inputs: &mut Inputs<'_>, s: &Situation<'_>, failed: &str) -> Worked<f64> {
    let statics = statics(inputs, s.car, true);
    let brakes = wheels(inputs, s.car);
    if brakes.is_empty() {
        inputs.miss("brakes.wheel_brake");
    }
    let circuits = all(brakes.iter().map(|brake| circuit_of(inputs, brake)));
    let left: Vec<&WheelBrake> =
        brakes.iter().filter(|brake| !names(brake.circuit.as_ref(), failed)).collect();
    let force = force(inputs, s, left.iter().copied());
    let (statics, force, _) = (statics?, force?, circuits?);
    if left.is_empty() {
        inputs.note("no wheel is braked any more");
    }
    let share = |wanted: Axle| {
        let all = brakes.iter().filter(|brake| axle(brake) == wanted).count();
        let still = left.iter().filter(|brake| axle(brake) == wanted).count();
        if all == 0 { 0.0 } else { still as f64 / all as f64 }
    };
    let tires = tyre_limit(statics, share(Axle::Front), share(Axle::Rear))?;
    let z = deceleration_left(Force::from_si(force), statics.weight, tires)?;
    inputs.note(if z < tires { "the pedal force given is the limit" } else { "the tires are the limit" });
    Ok(z)
}
