//! Brake circuits: which master feeds which, how hard, and what stands in between.

use crate::model::{Caliper, Car, Master, Tag, ValveKind, WheelBrake};
use crate::physics::brakes::pressure::{self, Valve, bar_shares, line_pressure};
use crate::physics::brakes::wheel;
use crate::source::Word;
use crate::units::{Force, Length, Pressure};

use super::answer::Answer;
use super::inputs::{Inputs, NoValue, Worked};
use super::parts::all;
use super::registry::Quantity;
use super::situation::Situation;

/// Names the wheels whose brakes the file does not give, unless it says that their axle has none: an axle that is
/// passed over in silence may have brakes, discs or drums, that cannot be left out.
pub(super) fn need_every_wheel(inputs: &mut Inputs<'_>, car: &Car) {
    for (axle, wheels) in [("front", ["LF", "RF"]), ("rear", ["LR", "RR"])] {
        let front = axle == "front";
        let given = |id: &str| car.brakes.wheel_brakes.iter().any(|brake| brake.id == id);
        let missing: Vec<&str> = wheels.into_iter().filter(|id| !given(id)).collect();
        if missing.is_empty() || car.brakes.axle_without(front) {
            continue;
        }
        if missing.len() == wheels.len() {
            inputs.remedy(format_args!(
                "drums stand there with drum = {{ … }}; a car without any brake at the {axle} says brakes.axles_without = [\"{axle}\"]"
            ));
        }
        missing.into_iter().for_each(|id| inputs.miss(format!("brakes.wheel_brake.{id}")));
    }
}

/// Whether a part's word names this circuit.
pub(super) fn names(word: Option<&Word>, circuit: &str) -> bool {
    word.is_some_and(|word| word.text == circuit)
}

/// The circuits that ports are plumbed to, in file order, each once.
pub(super) fn circuits(car: &Car) -> Vec<&str> {
    let mut found: Vec<&str> = Vec::new();
    for word in
        car.brakes.masters.iter().flat_map(|master| &master.ports).filter_map(|port| port.plumbed_to.as_ref())
    {
        if !found.contains(&word.as_str()) {
            found.push(word.as_str());
        }
    }
    found
}

/// One answer for each circuit; a port that is not said to be plumbed anywhere is refused by its own name.
pub(super) fn each_circuit(
    quantity: &Quantity,
    s: &Situation<'_>,
    work: impl Fn(Inputs<'_>, &str) -> Answer,
) -> Vec<Answer> {
    let mut answers: Vec<Answer> =
        circuits(s.car).into_iter().map(|circuit| work(s.inputs(quantity, circuit), circuit)).collect();
    for master in &s.car.brakes.masters {
        let base = format!("brakes.master.{}.ports", master.id);
        let silent = master.ports.iter().filter(|port| port.plumbed_to.is_none());
        let mut missing: Vec<(&str, String)> =
            silent.map(|port| (port.id.as_str(), format!("{base}.{}.plumbed_to", port.id))).collect();
        if master.ports.is_empty() {
            missing.push((&master.id, base));
        }
        for (of, key) in missing {
            let mut inputs = s.inputs(quantity, of);
            inputs.miss(key);
            answers.push(inputs.finish(Err(NoValue::MissingInput)));
        }
    }
    answers
}

/// The master whose port is plumbed to a circuit.
pub(super) fn master_of<'c>(inputs: &mut Inputs<'_>, car: &'c Car, circuit: &str) -> Worked<&'c Master> {
    let masters = &car.brakes.masters;
    let feeds = |master: &&Master| master.ports.iter().any(|port| names(port.plumbed_to.as_ref(), circuit));
    let mut feeding = masters.iter().filter(feeds);
    match (feeding.next(), feeding.next()) {
        (Some(master), None) => Ok(master),
        (Some(_), Some(_)) => {
            Err(NoValue::Because(format!("two masters are plumbed to the circuit {circuit}")))
        }
        (None, _) => {
            inputs.miss(if masters.is_empty() { "brakes.master" } else { "brakes.master.ports.plumbed_to" });
            Err(NoValue::MissingInput)
        }
    }
}

/// Which force at the pedal a number is worked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Push {
    /// The one given for everything.
    Normal,
    /// The one for strength, or else the normal one.
    Hard,
}

/// The force at the pedal, N.
fn push(inputs: &mut Inputs<'_>, car: &Car, push: Push) -> Worked<f64> {
    let brakes = &car.brakes;
    match brakes.pedal_force_hard {
        Some(hard) if push == Push::Hard => inputs.need("brakes.pedal_force_hard", Some(hard)),
        _ => inputs.need("brakes.pedal_force", brakes.pedal_force),
    }
    .ok_or(NoValue::MissingInput)
}

/// Booster gain. Silent means none; a car that has one has to say how strong it is.
fn booster(inputs: &mut Inputs<'_>, car: &Car) -> Worked<f64> {
    if let Some(gain) = inputs.given("brakes.booster_ratio", car.brakes.booster_ratio) {
        return Ok(gain);
    }
    match car.has(Tag::Booster) {
        crate::model::Answer3::Yes => {
            inputs.miss("brakes.booster_ratio");
            Err(NoValue::MissingInput)
        }
        crate::model::Answer3::No => Ok(1.0),
        crate::model::Answer3::Unknown => {
            inputs.assume("no booster: the car file names none");
            Ok(1.0)
        }
    }
}

/// Whether a circuit has a wheel brake at the front axle.
fn reaches_front(car: &Car, circuit: &str) -> bool {
    let here = car.brakes.wheel_brakes.iter().filter(|brake| names(brake.circuit.as_ref(), circuit));
    here.into_iter().any(|brake| brake.corner().is_some_and(crate::model::Corner::is_front))
}

/// Share of the pedal force that a circuit's master gets: all of it, or its side of the balance bar.
fn bar_share(inputs: &mut Inputs<'_>, car: &Car, circuit: &str) -> Worked<f64> {
    let masters = &car.brakes.masters;
    if masters.len() < 2 {
        return Ok(1.0);
    }
    if masters.iter().any(|master| master.ports.len() != 1) {
        return Err(NoValue::because("one tandem master or two single ones are worked, and this is neither"));
    }
    let share = inputs.need("brakes.balance_bar.front_share", car.brakes.bar_front_share);
    for brake in car.brakes.wheel_brakes.iter().filter(|brake| brake.circuit.is_none()) {
        inputs.miss(format!("brakes.wheel_brake.{}.circuit", brake.id));
    }
    if car.brakes.wheel_brakes.is_empty() {
        inputs.miss("brakes.wheel_brake");
    }
    let (front, rear) = bar_shares(share.filter(|_| !inputs.is_short()).ok_or(NoValue::MissingInput)?)?;
    let other = circuits(car).into_iter().find(|other| *other != circuit).ok_or_else(|| {
        inputs.miss("brakes.master.ports.plumbed_to");
        NoValue::MissingInput
    })?;
    match (reaches_front(car, circuit), reaches_front(car, other)) {
        (true, false) => Ok(front),
        (false, true) => Ok(rear),
        _ => Err(NoValue::because(
            "which master is the front one cannot be told: one circuit has to feed the front axle alone",
        )),
    }
}

/// Pressure at a circuit's master for each newton at the pedal, Pa/N.
pub(super) fn gain(inputs: &mut Inputs<'_>, s: &Situation<'_>, circuit: &str) -> Worked<f64> {
    let master = master_of(inputs, s.car, circuit);
    let bore = master.and_then(|master| {
        inputs.need(format!("brakes.master.{}.bore", master.id), master.bore).ok_or(NoValue::MissingInput)
    });
    let ratio = inputs.need("brakes.pedal_ratio", s.car.brakes.pedal_ratio);
    let (booster, share) = (booster(inputs, s.car), bar_share(inputs, s.car, circuit));
    let (bore, booster, share) = (bore?, booster?, share?);
    let ratio = ratio.ok_or(NoValue::MissingInput)?;
    inputs.assume("no losses in pedal, seals and lines");
    Ok(line_pressure(Force::from_si(1.0), ratio, booster, share, Length::from_si(bore))?.si())
}

/// Pressure at a circuit's master, Pa.
pub(super) fn master_pressure(
    inputs: &mut Inputs<'_>,
    s: &Situation<'_>,
    circuit: &str,
    at: Push,
) -> Worked<f64> {
    let force = push(inputs, s.car, at);
    let gain = gain(inputs, s, circuit)?;
    Ok(gain * force?)
}

/// The valves of a circuit, in file order.
pub(super) fn valves(inputs: &mut Inputs<'_>, car: &Car, circuit: &str) -> Worked<Vec<Valve>> {
    let here = car
        .brakes
        .valves
        .iter()
        .filter(|valve| valve.circuit.is_none() || names(valve.circuit.as_ref(), circuit));
    all(here.map(|valve| {
        let key = |name: &str| format!("brakes.valve.{}.{name}", valve.id);
        match valve.kind {
            Some(ValveKind::Proportioning) => {
                // Where the file does not say which circuit it is in, it may be in any.
                let circuit = inputs.need_some(key("circuit"), valve.circuit.as_ref());
                let knee = inputs.need(key("knee"), valve.knee);
                let slope = inputs.need(key("slope"), valve.slope);
                let (Some(_), Some(knee), Some(slope)) = (circuit, knee, slope) else {
                    return Err(NoValue::MissingInput);
                };
                Ok(Valve::Proportioning { knee: Pressure::from_si(knee), slope })
            }
            Some(ValveKind::LineLock) => {
                inputs.assume("the line-lock is open");
                Ok(Valve::LineLock)
            }
            Some(ValveKind::Residual) => Ok(Valve::Residual),
            None => inputs.need_some(key("kind"), None).ok_or(NoValue::MissingInput),
        }
    }))
}

/// Pressure at a wheel brake, behind the valves of its circuit, Pa.
pub(super) fn wheel_pressure(inputs: &mut Inputs<'_>, s: &Situation<'_>, brake: &WheelBrake) -> Worked<f64> {
    let circuit = circuit_of(inputs, brake)?;
    let master = master_pressure(inputs, s, circuit, Push::Normal);
    let valves = valves(inputs, s.car, circuit);
    Ok(pressure::behind(&valves?, Pressure::from_si(master?))?.si())
}

/// The circuit of a wheel brake.
pub(super) fn circuit_of<'b>(inputs: &mut Inputs<'_>, brake: &'b WheelBrake) -> Worked<&'b str> {
    let word = inputs.need_some(format!("brakes.wheel_brake.{}.circuit", brake.id), brake.circuit.as_ref());
    word.map(Word::as_str).ok_or(NoValue::MissingInput)
}

/// The pistons of one caliper.
pub(super) fn pistons(inputs: &mut Inputs<'_>, brake: &WheelBrake) -> Worked<wheel::Pistons> {
    let key = |name: &str| format!("brakes.wheel_brake.{}.{name}", brake.id);
    let caliper = inputs.need_some(key("caliper"), brake.caliper);
    let count = inputs.need_count(key("pistons"), brake.pistons);
    let bore = inputs.need(key("piston_bore"), brake.piston_bore);
    let (Some(caliper), Some(count), Some(bore)) = (caliper, count, bore) else {
        return Err(NoValue::MissingInput);
    };
    let caliper = match caliper {
        Caliper::Fixed => wheel::Caliper::Fixed,
        Caliper::Floating => wheel::Caliper::Floating,
    };
    Ok(wheel::Pistons { caliper, count, bore: Length::from_si(bore) })
}

/// Braking torque of one wheel brake for a pressure behind its valves, N.m.
pub(super) fn torque(inputs: &mut Inputs<'_>, brake: &WheelBrake, pressure: Worked<f64>) -> Worked<f64> {
    if let Some(drum) = &brake.drum {
        return super::brake_drum::torque(inputs, brake, drum, pressure);
    }
    let key = |name: &str| format!("brakes.wheel_brake.{}.{name}", brake.id);
    let friction = inputs.need(key("pad_friction"), brake.pad_friction);
    let radius = inputs.need(key("effective_radius"), brake.effective_radius);
    let pistons = pistons(inputs, brake);
    let (pistons, pressure) = (pistons?, pressure?);
    let (Some(friction), Some(radius)) = (friction, radius) else { return Err(NoValue::MissingInput) };
    let clamp = wheel::clamp_force(pistons, Pressure::from_si(pressure))?;
    Ok(wheel::brake_torque(friction, clamp, Length::from_si(radius))?.si())
}
