//! Pressure in the circuits, and what it makes at each wheel brake.

use crate::cite::{Basis, Cite};
use crate::model::WheelBrake;
use crate::physics::brakes::wheel::{Caliper, Pistons, clamp_force};
use crate::units::{Kind, Pressure};

use super::answer::Answer;
use super::circuits::{Push, each_circuit, master_pressure, pistons, torque, wheel_pressure};
use super::inputs::{Inputs, Worked};
use super::parts::each;
use super::registry::{Quantity, Shown};
use super::situation::Situation;

pub(super) const PRESSURE: &[Quantity] = &[Quantity {
    id: "brake.pressure",
    title: "Pressure in the circuit at the pedal force given",
    of: "circuit",
    table: "brakes.master",
    shown: Shown::Kind(Kind::Pressure),
    formula: "pedal force x pedal ratio x booster ratio x share of the bar / bore area",
    source: Cite::new("Pascal's law", "any brake text", Basis::Computed),
    work: |q, s| {
        each_circuit(q, s, |mut inputs, circuit| {
            let worked = master_pressure(&mut inputs, s, circuit, Push::Normal);
            inputs.finish(worked)
        })
    },
}];

pub(super) const WHEEL: &[Quantity] = &[
    Quantity {
        id: "brake.clamp",
        title: "Force that presses one pad or shoe",
        of: "wheel brake",
        table: "brakes.wheel_brake",
        shown: Shown::Kind(Kind::Force),
        formula: "pressure behind the valves x piston area of one side; of a drum, of one piston of its wheel cylinder",
        source: Cite::new("Pascal's law", "any brake text", Basis::Computed),
        work: |q, s| wheels(q, s, clamp),
    },
    Quantity {
        id: "brake.torque",
        title: "Braking torque of the wheel",
        of: "wheel brake",
        table: "brakes.wheel_brake",
        shown: Shown::Kind(Kind::Torque),
        formula: "2 x pad friction x clamp force x effective radius; of a drum, factor x shoe force x drum radius",
        source: Cite::new(
            "Coulomb friction on two faces, on shoes by their factor",
            "any brake text",
            Basis::Computed,
        ),
        work: |q, s| {
            wheels(q, s, |inputs, s, brake| {
                let pressure = wheel_pressure(inputs, s, brake);
                torque(inputs, brake, pressure)
            })
        },
    },
];

fn wheels(
    quantity: &Quantity,
    s: &Situation<'_>,
    work: impl Fn(&mut Inputs<'_>, &Situation<'_>, &WheelBrake) -> Worked<f64>,
) -> Vec<Answer> {
    let brakes = s.car.brakes.wheel_brakes.iter().map(|brake| (brake.id.as_str(), brake));
    each(quantity, s, brakes, |inputs, brake| work(inputs, s, brake))
}

fn clamp(inputs: &mut Inputs<'_>, s: &Situation<'_>, brake: &WheelBrake) -> Worked<f64> {
    let pressure = wheel_pressure(inputs, s, brake);
    if let Some(drum) = &brake.drum {
        let bore = super::brake_drum::cylinder_bore(inputs, brake, drum);
        let piston = Pistons { caliper: Caliper::Floating, count: 1, bore: bore? };
        return Ok(clamp_force(piston, Pressure::from_si(pressure?))?.si());
    }
    let pistons = pistons(inputs, brake);
    Ok(clamp_force(pistons?, Pressure::from_si(pressure?))?.si())
}
