//! Strength of the brake tubes.

use crate::cite::{Basis, Cite};
use crate::model::brakes::BrakeLine;
use crate::physics::metals::Metal;
use crate::physics::tube_stress::{bend_pressure, burst_pressure, least_wall, margin, straight_pressure};
use crate::units::{Kind, Length, Pressure};

use super::answer::Answer;
use super::circuits::{Push, master_pressure};
use super::inputs::{Inputs, NoValue, Worked};
use super::line::tube_metal;
use super::parts::{both, each};
use super::registry::{Quantity, Shown};
use super::situation::Situation;

pub(super) const QUANTITIES: &[Quantity] = &[
    Quantity {
        id: "brake.tube_margin",
        title: "Tube rating / line pressure, straight",
        of: "brake line",
        table: "brakes.line",
        shown: Shown::Kind(Kind::Ratio),
        formula: "2 S t / (D - 2 x 0.4 t) / pressure, t the least wall; 1 is enough: the factor is in S",
        source: Cite::new("ASME B31.3", "304.1.2", Basis::FromMemory),
        work: |q, s| lines(q, s, |inputs, line| tube_margin(inputs, s, line)),
    },
    Quantity {
        id: "brake.bend_tube_margin",
        title: "Tube rating / line pressure, in its tightest bend",
        of: "brake line",
        table: "brakes.line",
        shown: Shown::Kind(Kind::Ratio),
        formula: "as brake.tube_margin with S / I, I = (4R/D - 1)/(4R/D - 2)",
        source: Cite::new("ASME B31.3", "304.2.1", Basis::FromMemory),
        work: |q, s| lines(q, s, |inputs, line| bend_margin(inputs, s, line)),
    },
    Quantity {
        id: "brake.burst_margin",
        title: "Burst pressure / line pressure",
        of: "brake line",
        table: "brakes.line",
        shown: Shown::Kind(Kind::Ratio),
        formula: "S_u (r_o^2 - r_i^2)/(r_o^2 + r_i^2) / pressure, from the least wall",
        source: Cite::new("Lame's thick cylinder", "any strength text", Basis::Computed),
        work: |q, s| lines(q, s, |inputs, line| burst_margin(inputs, s, line)),
    },
];

fn lines(
    quantity: &Quantity,
    s: &Situation<'_>,
    work: impl Fn(&mut Inputs<'_>, &BrakeLine) -> Worked<f64>,
) -> Vec<Answer> {
    each(quantity, s, s.car.brakes.lines.iter().map(|line| (line.run.id.as_str(), line)), work)
}

/// What every strength is worked from.
struct Strength {
    od: Length,
    wall: Length,
    metal: &'static Metal,
    pressure: Pressure,
}

fn strength(inputs: &mut Inputs<'_>, s: &Situation<'_>, line: &BrakeLine) -> Worked<Strength> {
    let path = format!("brakes.line.{}", line.run.id);
    let tube = &line.run.tube;
    let od = inputs.need(format!("{path}.tube.od"), tube.od);
    let least = format!("{path}.tube.min_wall");
    let wall = match tube.min_wall {
        Some(min) => inputs.need(least, Some(min)),
        None => match (od, inputs.need(format!("{path}.tube.wall"), tube.wall)) {
            (Some(od), Some(wall)) => {
                let default = least_wall(Length::from_si(od), Length::from_si(wall))?;
                Some(inputs.or_default(least, tube.min_wall, default.si()))
            }
            _ => None,
        },
    };
    let metal = tube_metal(inputs, &path, &line.run);
    let circuit = inputs.need_some(format!("{path}.circuit"), line.circuit.as_ref());
    let pressure = circuit
        .map_or(Err(NoValue::MissingInput), |circuit| master_pressure(inputs, s, &circuit.text, Push::Hard));
    let (metal, pressure) = (metal?, pressure?);
    let (Some(od), Some(wall)) = (od, wall) else { return Err(NoValue::MissingInput) };
    inputs.note(format_args!("at {}", both(pressure, Kind::Pressure)));
    Ok(Strength {
        od: Length::from_si(od),
        wall: Length::from_si(wall),
        metal,
        pressure: Pressure::from_si(pressure),
    })
}

impl Strength {
    fn note_allowable(&self, inputs: &mut Inputs<'_>) {
        inputs.note(format_args!(
            "S of {} is {}; {}",
            self.metal.name,
            both(self.metal.allowable.si(), Kind::Pressure),
            self.metal.allowable_cite
        ));
    }
}

fn tube_margin(inputs: &mut Inputs<'_>, s: &Situation<'_>, line: &BrakeLine) -> Worked<f64> {
    let tube = strength(inputs, s, line)?;
    tube.note_allowable(inputs);
    inputs.assume("straight seamless tube, E = W = 1");
    Ok(margin(straight_pressure(tube.od, tube.wall, tube.metal.allowable)?, tube.pressure)?)
}

fn bend_margin(inputs: &mut Inputs<'_>, s: &Situation<'_>, line: &BrakeLine) -> Worked<f64> {
    let radius = inputs.need(format!("brakes.line.{}.bend_radius", line.run.id), line.run.bend_radius);
    let tube = strength(inputs, s, line)?;
    let radius = Length::from_si(radius.ok_or(NoValue::MissingInput)?);
    tube.note_allowable(inputs);
    inputs.assume("seamless tube, E = W = 1, the inside of the bend");
    Ok(margin(bend_pressure(tube.od, tube.wall, tube.metal.allowable, radius)?, tube.pressure)?)
}

fn burst_margin(inputs: &mut Inputs<'_>, s: &Situation<'_>, line: &BrakeLine) -> Worked<f64> {
    let tube = strength(inputs, s, line)?;
    inputs.note(format_args!(
        "S_u of {} is {}; {}",
        tube.metal.name,
        both(tube.metal.tensile.si(), Kind::Pressure),
        tube.metal.tensile_cite
    ));
    inputs.assume("bursts when the bore reaches the least tensile strength");
    Ok(margin(burst_pressure(tube.od, tube.wall, tube.metal.tensile)?, tube.pressure)?)
}
