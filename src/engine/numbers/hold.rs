//! What readings of the day say of the brakes: hold tests and fluid temperature.

use crate::cite::{Basis, Cite};
use crate::physics::brakes::fluid::{FLUIDS, brake_fluid, fluid_margin};
use crate::physics::hold::{HoldDrop, hold_drop};
use crate::units::{Kind, Pressure, Temperature};

use super::answer::Answer;
use super::circuits::each_circuit;
use super::hold_stiffness;
use super::inputs::{Inputs, NoValue, Worked};
use super::parts::both;
use super::registry::{Quantity, Shown};
use super::situation::Situation;

const ROUGH: Cite = Cite::new(
    "fluid expansion against the stiffness of a circuit",
    "worked from the circuit where its calipers are known, else 10 to 70 psi/K, rough",
    Basis::Computed,
);

pub(super) const QUANTITIES: &[Quantity] = &[
    Quantity {
        id: "brake.hold_drop",
        title: "Fall of pressure over the hold",
        of: "circuit",
        table: "brakes.master",
        shown: Shown::Share,
        formula: "(p1 - p2)/p1; low and high less a (T1 - T2)/p1, a = beta V/(V/K + give), or 10 to 70 psi/K",
        source: ROUGH,
        work: |q, s| holds(q, s, "hold"),
    },
    Quantity {
        id: "brake.hold_drop_low",
        title: "Fall of pressure over the low hold",
        of: "circuit",
        table: "brakes.master",
        shown: Shown::Share,
        formula: "(p1 - p2)/p1; low and high less a (T1 - T2)/p1, a = beta V/(V/K + give), or 10 to 70 psi/K",
        source: ROUGH,
        work: |q, s| holds(q, s, "hold_low"),
    },
    Quantity {
        id: "brake.fluid_margin",
        title: "Wet boiling point less the hottest fluid seen",
        of: "car",
        table: "brakes",
        shown: Shown::Kind(Kind::TemperatureDifference),
        formula: "wet boiling point of the fluid class - fluid_hottest",
        source: Cite::new("49 CFR 571.116", "S5.1.2", Basis::Published),
        work: fluid,
    },
];

fn holds(quantity: &Quantity, s: &Situation<'_>, test: &str) -> Vec<Answer> {
    each_circuit(quantity, s, |mut inputs, circuit| {
        let worked = hold(&mut inputs, s, circuit, &format!("brakes.circuit.{circuit}.{test}"));
        inputs.give_hold(worked)
    })
}

fn hold(inputs: &mut Inputs<'_>, s: &Situation<'_>, circuit: &str, path: &str) -> Worked<HoldDrop> {
    let mut read = |name: &str| inputs.reading(&s.readings, format!("{path}.{name}"));
    let (start, end) = (read("start_pressure"), read("end_pressure"));
    let (warm, cool) = (read("start_temperature"), read("end_temperature"));
    let (Some(start), Some(end), Some(warm), Some(cool)) = (start, end, warm, cool) else {
        return Err(NoValue::MissingInput);
    };
    // Both pressures are read off one gauge within one test: they differ by what it repeats to, not by its accuracy.
    let repeats =
        ["start_pressure", "end_pressure"].map(|name| s.readings.get(&format!("{path}.{name}"))?.repeat);
    let repeat = repeats.into_iter().flatten().reduce(f64::max);
    let per_kelvin = hold_stiffness::per_kelvin(inputs, s, circuit, start);
    let fall = hold_drop(
        Pressure::from_si(start),
        Pressure::from_si(end),
        Temperature::from_si(warm),
        Temperature::from_si(cool),
        Pressure::from_si(repeat.unwrap_or(0.0)),
        per_kelvin,
    )?;
    match repeat {
        Some(repeat) => {
            inputs.note(format_args!("the gauge repeats within {}", both(repeat, Kind::Pressure)))
        }
        None => inputs.assume("the gauge repeats exactly: how closely it does is not known"),
    }
    inputs.note(format_args!("from {}", both(start, Kind::Pressure)));
    let time = s.readings.get(&format!("{path}.time"));
    match time {
        Some(time) => inputs.note(format_args!("held {}", both(time.si, Kind::Time))),
        None => inputs.note(format_args!("how long it was held is not known ({path}.time)")),
    }
    Ok(HoldDrop { timed: time.is_some(), ..fall })
}

fn fluid(quantity: &Quantity, s: &Situation<'_>) -> Vec<Answer> {
    let brakes = &s.car.brakes;
    let empty = brakes.masters.is_empty()
        && brakes.lines.is_empty()
        && brakes.hoses.is_empty()
        && brakes.wheel_brakes.is_empty();
    if brakes.fluid.is_none() && empty {
        return Vec::new();
    }
    let mut inputs = s.inputs(quantity, &s.car.id);
    let worked = margin(&mut inputs, s);
    vec![inputs.finish(worked)]
}

fn margin(inputs: &mut Inputs<'_>, s: &Situation<'_>) -> Worked<f64> {
    let hottest = inputs.reading(&s.readings, "brakes.fluid_hottest");
    let names: Vec<&str> = FLUIDS.iter().map(|fluid| fluid.name).collect();
    let word = s.car.brakes.fluid.as_ref().map(|word| word.text.as_str());
    let fluid = inputs.need_known("brakes.fluid", word, "a brake fluid", brake_fluid, &names)?;
    let hottest = hottest.ok_or(NoValue::MissingInput)?;
    inputs.assume("fluid as wet as the wetting test of its class leaves it");
    inputs.note(format_args!(
        "{} boils wet at {}; {}",
        fluid.name,
        both(fluid.wet.si(), Kind::Temperature),
        fluid.cite
    ));
    Ok(fluid_margin(fluid, Temperature::from_si(hottest))?.si())
}
