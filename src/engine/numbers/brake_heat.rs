//! Heat: what a stop, a series of them or a descent makes of the rotors, against pads and fluid.

use crate::cite::{Basis, Cite};
use crate::model::{Descent, Duty, Rotor, WheelBrake};
use crate::physics::brakes::fluid::{FLUIDS, brake_fluid, fluid_margin};
use crate::physics::brakes::heat::{
    after_dragging, after_stops, descent_power, fluid_at, parachute_drag, rotor_rise, stop_energy,
};
use crate::units::{
    Kind, Length, Mass, Ratio, SpecificHeat, Speed, Temperature, TemperatureDifference, Time,
};

use super::answer::Answer;
use super::brake_balance::wheel_share;
use super::defaults::{FLUID_SOAK, GRAY_IRON, PARACHUTE, START};
use super::inputs::{Inputs, NoValue, Worked};
use super::parts::{both, each};
use super::registry::{Quantity, Shown, absent};
use super::situation::Situation;

const NEWTON: Cite =
    Cite::new("heat balance and Newton's law of cooling", "any brake-design text", Basis::Computed);

pub(super) const HEAT: &[Quantity] = &[
    Quantity {
        id: "brake.stop_rise",
        title: "How much warmer one stop makes a rotor or drum",
        of: "wheel brake",
        table: "brakes.duty",
        shown: Shown::Kind(Kind::TemperatureDifference),
        formula: "share of the wheel x energy of the stop / (rotor mass x specific heat)",
        source: NEWTON,
        work: |q, s| wheels(q, s, |inputs, duty, brake| one_stop(inputs, s, duty, brake, true)),
    },
    Quantity {
        id: "brake.rotor_hottest",
        title: "Rotor or drum at its hottest",
        of: "wheel brake",
        table: "brakes.duty",
        shown: Shown::Kind(Kind::Temperature),
        formula: "after the last stop of the series, or at the foot of the descent, cooling between",
        source: NEWTON,
        work: |q, s| wheels(q, s, |inputs, duty, brake| hottest(inputs, s, duty, brake, true)),
    },
    Quantity {
        id: "brake.rotor_no_parachute",
        title: "Rotor or drum at its hottest if the parachute stays shut",
        of: "wheel brake",
        table: "brakes.duty.parachute",
        shown: Shown::Kind(Kind::Temperature),
        formula: "the same stop by the brakes alone",
        source: NEWTON,
        work: |q, s| {
            let has = |duty: &&Duty| duty.parachute.is_some();
            s.car.brakes.duty.as_ref().filter(has).map_or_else(Vec::new, |_| {
                wheels(q, s, |inputs, duty, brake| hottest(inputs, s, duty, brake, false))
            })
        },
    },
    Quantity {
        id: "brake.pad_heat_margin",
        title: "Pad's or lining's highest temperature less the rotor at its hottest",
        of: "wheel brake",
        table: "brakes.duty",
        shown: Shown::Kind(Kind::TemperatureDifference),
        formula: "pad_hot - rotor at its hottest, without the parachute where there is one",
        source: NEWTON,
        work: |q, s| {
            wheels(q, s, |inputs, duty, brake| {
                let most = inputs.need(key(brake, "pad_hot"), brake.pad_hot);
                let hot = hottest(inputs, s, duty, brake, false);
                Ok(most.ok_or(NoValue::MissingInput)? - hot?)
            })
        },
    },
    Quantity {
        id: "brake.pad_cold_margin",
        title: "Rotor or drum at its hottest less the pad's lowest temperature",
        of: "wheel brake",
        table: "brakes.duty",
        shown: Shown::Kind(Kind::TemperatureDifference),
        formula: "rotor at its hottest - pad_cold, with the parachute where there is one",
        source: NEWTON,
        work: |q, s| {
            wheels(q, s, |inputs, duty, brake| {
                let least = inputs.need(key(brake, "pad_cold"), brake.pad_cold);
                let hot = hottest(inputs, s, duty, brake, true);
                Ok(hot? - least.ok_or(NoValue::MissingInput)?)
            })
        },
    },
    Quantity {
        id: "brake.fluid_heat_margin",
        title: "Wet boiling point less the fluid at its hottest, by the rotor",
        of: "wheel brake",
        table: "brakes.duty",
        shown: Shown::Kind(Kind::TemperatureDifference),
        formula: "wet boiling point - (start + fluid_soak x (rotor at its hottest - start))",
        source: Cite::new(
            "what arrives at the fluid",
            "0.1 to 0.35 of the rotor's rise",
            Basis::CommonPractice,
        ),
        work: |q, s| wheels(q, s, |inputs, duty, brake| fluid(inputs, s, duty, brake)),
    },
];

fn key(brake: &WheelBrake, name: &str) -> String {
    format!("brakes.wheel_brake.{}.{name}", brake.id)
}

/// One answer a wheel, where the car file says what its brakes are asked to do.
fn wheels(
    quantity: &Quantity,
    s: &Situation<'_>,
    work: impl Fn(&mut Inputs<'_>, &Duty, &WheelBrake) -> Worked<f64>,
) -> Vec<Answer> {
    let Some(duty) = s.car.brakes.duty.as_ref() else { return Vec::new() };
    let brakes = &s.car.brakes.wheel_brakes;
    if brakes.is_empty() {
        return vec![absent(quantity, vec!["brakes.wheel_brake".to_owned()])];
    }
    each(quantity, s, brakes.iter().map(|brake| (brake.id.as_str(), brake)), |inputs, brake| {
        work(inputs, duty, brake)
    })
}

fn start(inputs: &mut Inputs<'_>, duty: &Duty) -> f64 {
    inputs.or_default("brakes.duty.start", duty.start, START)
}

/// Mass and specific heat of a rotor or drum.
fn sizes(inputs: &mut Inputs<'_>, brake: &WheelBrake) -> Worked<(Mass, SpecificHeat)> {
    let of = |read: fn(&Rotor) -> Option<crate::units::Given<Mass>>| brake.rotor.as_ref().and_then(read);
    let mass = inputs.need(key(brake, "rotor.mass"), of(|rotor| rotor.mass));
    let heat = brake.rotor.as_ref().and_then(|rotor| rotor.specific_heat);
    let heat = inputs.or_default(key(brake, "rotor.specific_heat"), heat, GRAY_IRON);
    Ok((Mass::from_si(mass.ok_or(NoValue::MissingInput)?), SpecificHeat::from_si(heat)))
}

fn cooling(inputs: &mut Inputs<'_>, brake: &WheelBrake) -> Worked<Time> {
    let time = brake.rotor.as_ref().and_then(|rotor| rotor.cooling_time);
    let time = inputs.need(key(brake, "rotor.cooling_time"), time);
    time.map(Time::from_si).ok_or(NoValue::MissingInput)
}

/// Drag of the parachute for each speed squared, and what the brakes alone slow the car by beside it.
fn chute(inputs: &mut Inputs<'_>, duty: &Duty) -> Worked<(f64, Option<f64>)> {
    let Some(parachute) = &duty.parachute else { return Ok((0.0, None)) };
    let across = inputs.need("brakes.duty.parachute.diameter", parachute.diameter);
    let drag = inputs.or_default::<Ratio>("brakes.duty.parachute.drag", parachute.drag, PARACHUTE);
    let braking = inputs.need("brakes.duty.braking", duty.braking);
    let (Some(across), Some(braking)) = (across, braking) else { return Err(NoValue::MissingInput) };
    Ok((parachute_drag(Length::from_si(across), drag)?, Some(braking)))
}

fn mass(inputs: &mut Inputs<'_>, s: &Situation<'_>) -> Worked<Mass> {
    inputs.need("car.mass", s.car.chassis.mass).map(Mass::from_si).ok_or(NoValue::MissingInput)
}

/// Rise of one stop, K.
fn one_stop(
    inputs: &mut Inputs<'_>,
    s: &Situation<'_>,
    duty: &Duty,
    brake: &WheelBrake,
    open: bool,
) -> Worked<f64> {
    let mass = mass(inputs, s);
    let from = inputs.need("brakes.duty.from", duty.from);
    let to = inputs.given("brakes.duty.to", duty.to).unwrap_or(0.0);
    let drag = if open { chute(inputs, duty) } else { Ok((0.0, None)) };
    let part = wheel_share(inputs, s, brake);
    let sizes = sizes(inputs, brake);
    let (mass, (drag, braking), part, (rotor, heat)) = (mass?, drag?, part?, sizes?);
    let from = Speed::from_si(from.ok_or(NoValue::MissingInput)?);
    let energy = stop_energy(mass, from, Speed::from_si(to), drag, braking)?;
    inputs
        .assume("all heat of a stop into rotors and drums; air drag of the car, engine and tires take none");
    inputs.note(format_args!("the brakes take {} in one stop", joules(energy)));
    Ok(rotor_rise(energy, part, rotor, heat)?.si())
}

fn joules(energy: f64) -> String {
    let figures = |value| crate::units::significant(value, 3);
    format!("{} Btu ({} kJ)", figures(energy / 1055.056), figures(energy / 1e3))
}

/// Rotor at its hottest, K: after the series, or down the descent, whichever is hotter.
fn hottest(
    inputs: &mut Inputs<'_>,
    s: &Situation<'_>,
    duty: &Duty,
    brake: &WheelBrake,
    open: bool,
) -> Worked<f64> {
    let stops = (duty.from.is_some() || duty.descent.is_none()).then(|| series(inputs, s, duty, brake, open));
    let descent = duty.descent.as_ref().map(|road| dragging(inputs, s, duty, road, brake));
    match (stops, descent) {
        (Some(stops), Some(descent)) => {
            let (stops, descent) = (stops?, descent?);
            inputs.note(if descent > stops { "hottest on the descent" } else { "hottest after the stops" });
            Ok(stops.max(descent))
        }
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => Err(NoValue::MissingInput),
    }
}

fn series(
    inputs: &mut Inputs<'_>,
    s: &Situation<'_>,
    duty: &Duty,
    brake: &WheelBrake,
    open: bool,
) -> Worked<f64> {
    let start = start(inputs, duty);
    let stops = duty.stops.unwrap_or(1);
    let cools = (stops > 1).then(|| {
        inputs.need_count("brakes.duty.stops", Some(stops));
        (inputs.need("brakes.duty.every", duty.every), cooling(inputs, brake))
    });
    let rise = one_stop(inputs, s, duty, brake, open);
    let (every, cools) = match cools {
        None => (0.0, Time::from_si(1.0)),
        Some((every, cools)) => (every.ok_or(NoValue::MissingInput)?, cools?),
    };
    let rise = TemperatureDifference::from_si(rise?);
    Ok(after_stops(Temperature::from_si(start), rise, stops, Time::from_si(every), cools)?.si())
}

fn dragging(
    inputs: &mut Inputs<'_>,
    s: &Situation<'_>,
    duty: &Duty,
    road: &Descent,
    brake: &WheelBrake,
) -> Worked<f64> {
    let start = start(inputs, duty);
    let mass = mass(inputs, s);
    let height = inputs.need("brakes.duty.descent.height", road.height);
    let length = inputs.need("brakes.duty.descent.length", road.length);
    let speed = inputs.need("brakes.duty.descent.speed", road.speed);
    let (sizes, cools) = (sizes(inputs, brake), cooling(inputs, brake));
    let part = wheel_share(inputs, s, brake);
    let (mass, (rotor, heat), cools, part) = (mass?, sizes?, cools?, part?);
    let (Some(height), Some(length), Some(speed)) = (height, length, speed) else {
        return Err(NoValue::MissingInput);
    };
    let [height, length] = [height, length].map(Length::from_si);
    let power = descent_power(mass, height, length, Speed::from_si(speed))?;
    let time = Time::from_si(length.si() / speed);
    inputs.assume("the descent on the brakes alone, from cool rotors: no engine braking");
    inputs.note(format_args!(
        "the brakes take {} kW for {}",
        crate::units::significant(power / 1e3, 3),
        both(time.si(), Kind::Time)
    ));
    Ok(after_dragging(Temperature::from_si(start), power, part, rotor, heat, time, cools)?.si())
}

/// Wet boiling point less the fluid at its hottest, K.
fn fluid(inputs: &mut Inputs<'_>, s: &Situation<'_>, duty: &Duty, brake: &WheelBrake) -> Worked<f64> {
    let names: Vec<&str> = FLUIDS.iter().map(|fluid| fluid.name).collect();
    let word = s.car.brakes.fluid.as_ref().map(|word| word.text.as_str());
    let class = inputs.need_known("brakes.fluid", word, "a brake fluid", brake_fluid, &names);
    let soak = inputs.or_default::<Ratio>(key(brake, "fluid_soak"), brake.fluid_soak, FLUID_SOAK);
    let start = start(inputs, duty);
    let hot = hottest(inputs, s, duty, brake, false);
    let (class, hot) = (class?, hot?);
    let fluid = fluid_at(Temperature::from_si(start), Temperature::from_si(hot), soak)?;
    inputs.assume("fluid as wet as the wetting test of its class leaves it");
    inputs.note(format_args!(
        "fluid at {}, rotor at {}; a reading at the caliper, brakes.fluid_hottest, says more",
        both(fluid.si(), Kind::Temperature),
        both(hot, Kind::Temperature)
    ));
    Ok(fluid_margin(class, fluid)?.si())
}
