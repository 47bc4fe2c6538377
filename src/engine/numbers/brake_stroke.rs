//! How much of its stroke a master needs, what its reservoir keeps, and whether its ports go where they should.

use crate::cite::{Basis, Cite};
use crate::model::{Hose, Master, Run, Tag, ValveKind, WheelBrake};
use crate::physics::brakes::stroke as physics;
use crate::units::{Kind, Length, Pressure, Ratio, Volume};

use super::answer::{Answer, Bound, NumberValue};
use super::circuits::{
    Push, circuits, each_circuit, master_of, master_pressure, names, need_every_wheel, pistons,
};
use super::defaults::{BULK_MODULUS, HOSE_GROWTH, ROLLBACK};
use super::inputs::{Inputs, NoValue, Worked};
use super::line::line_length;
use super::parts::{all, each, total};
use super::registry::{Quantity, Shown};
use super::situation::Situation;

pub(super) const STROKE: &[Quantity] = &[
    Quantity {
        id: "brake.stroke_used",
        title: "Share of the master's stroke used, at least",
        of: "master",
        table: "brakes.master",
        shown: Shown::Share,
        formula: "(pad gaps + fluid squeezed + hose growth) / (bore area x stroke)",
        source: Cite::new("volumes moved; hose growth 49 CFR 571.106", "S5.3.2 Table I", Basis::Computed),
        work: |q, s| masters(q, s, |inputs, master| stroke_used(inputs, s, master)),
    },
    Quantity {
        id: "brake.stroke_used_one_failed",
        title: "Share of the stroke used with this circuit lost, at least",
        of: "circuit that failed",
        table: "brakes.master",
        shown: Shown::Share,
        formula: "tandem: 1/2 + fluid of the other circuit / (bore area x stroke); of two singles the other's own",
        source: Cite::new(
            "judgement",
            "the two chambers of a tandem taken as equally long",
            Basis::CommonPractice,
        ),
        work: |q, s| {
            each_circuit(q, s, |mut inputs, circuit| {
                let worked = one_failed(&mut inputs, s, circuit);
                inputs.finish(worked)
            })
        },
    },
];

pub(super) const RESERVOIR: &[Quantity] = &[
    Quantity {
        id: "brake.reservoir_left",
        title: "Fluid left in the reservoir when all its pads are worn out",
        of: "master",
        table: "brakes.master",
        shown: Shown::Kind(Kind::Volume),
        formula: "reservoir - sum of piston area x (pad_new - pad_min), twice for a floating caliper; of a drum by the turn of its shoes",
        source: Cite::new("49 CFR 571.105", "S5.4.2", Basis::Published),
        work: |q, s| masters(q, s, |inputs, master| reservoir_left(inputs, s, master)),
    },
    Quantity {
        id: "brake.port_match",
        title: "Whether each port is plumbed to what it is made for",
        of: "master",
        table: "brakes.master",
        shown: Shown::Flag,
        formula: "feeds = plumbed_to at every port",
        source: Cite::new("comparison of two entries", "", Basis::Computed),
        work: |q, s| {
            s.car.brakes.masters.iter().map(|master| port_match(s.inputs(q, &master.id), master)).collect()
        },
    },
];

fn masters(
    quantity: &Quantity,
    s: &Situation<'_>,
    work: impl Fn(&mut Inputs<'_>, &Master) -> Worked<f64>,
) -> Vec<Answer> {
    each(quantity, s, s.car.brakes.masters.iter().map(|master| (master.id.as_str(), master)), work)
}

/// The circuits a master's ports are plumbed to, each once.
fn circuits_of<'m>(inputs: &mut Inputs<'_>, master: &'m Master) -> Worked<Vec<&'m str>> {
    let base = format!("brakes.master.{}.ports", master.id);
    if master.ports.is_empty() {
        inputs.miss(base);
        return Err(NoValue::MissingInput);
    }
    let mut circuits = all(master.ports.iter().map(|port| {
        let word = inputs.need_some(format!("{base}.{}.plumbed_to", port.id), port.plumbed_to.as_ref());
        word.map(|word| word.as_str()).ok_or(NoValue::MissingInput)
    }))?;
    circuits.dedup();
    Ok(circuits)
}

/// The wheel brakes of a circuit; one whose circuit is not given may belong to any.
pub(super) fn wheels_of<'c>(
    inputs: &mut Inputs<'_>,
    s: &Situation<'c>,
    circuit: &str,
) -> Worked<Vec<&'c WheelBrake>> {
    let all = &s.car.brakes.wheel_brakes;
    let silent = all.iter().filter(|brake| brake.circuit.is_none());
    silent.for_each(|brake| inputs.miss(format!("brakes.wheel_brake.{}.circuit", brake.id)));
    // A wheel that is not in the file hangs on the circuit that has none there; where each has some, on any of them.
    let bare = |name: &str| all.iter().all(|brake| !names(brake.circuit.as_ref(), name));
    if bare(circuit) || !circuits(s.car).into_iter().any(bare) {
        need_every_wheel(inputs, s.car);
    }
    let here: Vec<&WheelBrake> = all.iter().filter(|brake| names(brake.circuit.as_ref(), circuit)).collect();
    if here.is_empty() && !inputs.is_short() {
        inputs.miss("brakes.wheel_brake");
    }
    if here.is_empty() {
        return Err(NoValue::MissingInput);
    }
    Ok(here)
}

/// Fluid that a circuit takes at the pedal force given, m3.
fn moved(inputs: &mut Inputs<'_>, s: &Situation<'_>, circuit: &str) -> Worked<f64> {
    let pressure = master_pressure(inputs, s, circuit, Push::Normal);
    let wheels = wheels_of(inputs, s, circuit)
        .and_then(|wheels| total(wheels.into_iter().map(|brake| pad_volume(inputs, brake))));
    let modulus = inputs.or_default("brakes.bulk_modulus", s.car.brakes.bulk_modulus, BULK_MODULUS);
    let lines = line_volume(inputs, s, circuit);
    let hoses = hoses(inputs, s, circuit);
    let (pressure, wheels, lines, hoses) = (pressure?, wheels?, lines?, hoses?);
    let pressure = Pressure::from_si(pressure);
    let (mut held, mut grown) = (lines, 0.0);
    for (bore, length, share) in hoses {
        held += physics::bore_volume(bore, length)?.si();
        grown += share * physics::hose_growth(bore, length, pressure)?.si();
        if pressure.si() > physics::hose_table_ends(bore)?.si() {
            inputs
                .note("a hose is past the last pressure of the growth table, whose last slope is carried on");
        }
    }
    let squeezed = physics::squeezed(Volume::from_si(held), pressure, Pressure::from_si(modulus))?;
    assume_stroke(inputs, s, circuit);
    Ok(wheels + squeezed.si() + grown)
}

fn assume_stroke(inputs: &mut Inputs<'_>, s: &Situation<'_>, circuit: &str) {
    inputs.only(Bound::AtLeast, "at least: pedal and rod play, and what the calipers hold, are not in it");
    let cuts = |valve: &crate::model::Valve| {
        valve.kind == Some(ValveKind::Proportioning) && names(valve.circuit.as_ref(), circuit)
    };
    if s.car.brakes.valves.iter().any(cuts) {
        inputs.assume("the whole circuit at the master's pressure, valves left out");
    }
    if s.car.brakes.lines.iter().all(|line| !names(line.circuit.as_ref(), circuit)) {
        inputs.assume(format_args!("no hard line in {circuit}: the car file has none"));
    }
    if s.car.brakes.hoses.iter().all(|hose| !names(hose.circuit.as_ref(), circuit)) {
        inputs.assume(format_args!("no hose in {circuit}: the car file has none"));
    }
    if s.car.has(Tag::Booster) == crate::model::Answer3::Yes {
        inputs.note("the booster's own travel is not in it");
    }
}

fn pad_volume(inputs: &mut Inputs<'_>, brake: &WheelBrake) -> Worked<f64> {
    let key = |name: &str| format!("brakes.wheel_brake.{}.{name}", brake.id);
    let gap = inputs.need(key("pad_gap"), brake.pad_gap);
    if let Some(drum) = &brake.drum {
        return super::brake_drum::volume(inputs, brake, drum, gap.ok_or(NoValue::MissingInput));
    }
    let rollback = inputs.or_default(key("rollback"), brake.rollback, ROLLBACK);
    let pistons = pistons(inputs, brake)?;
    let gap = gap.ok_or(NoValue::MissingInput)?;
    Ok(physics::pad_volume(pistons, Length::from_si(gap), Length::from_si(rollback))?.si())
}

/// Volume of the hard lines of a circuit, m3.
pub(super) fn line_volume(inputs: &mut Inputs<'_>, s: &Situation<'_>, circuit: &str) -> Worked<f64> {
    total(s.car.brakes.lines.iter().map(|line| {
        let path = format!("brakes.line.{}", line.run.id);
        let here = inputs
            .need_some(format!("{path}.circuit"), line.circuit.as_ref())
            .ok_or(NoValue::MissingInput)?;
        if here.text == circuit { bore_volume_of(inputs, &path, &line.run) } else { Ok(0.0) }
    }))
}

/// Volume of what a line holds, m3.
pub(super) fn bore_volume_of(inputs: &mut Inputs<'_>, path: &str, run: &Run) -> Worked<f64> {
    let od = inputs.need(format!("{path}.tube.od"), run.tube.od);
    let wall = inputs.need(format!("{path}.tube.wall"), run.tube.wall);
    let length = line_length(inputs, path, run)?;
    let (Some(od), Some(wall)) = (od, wall) else { return Err(NoValue::MissingInput) };
    Ok(physics::bore_volume(Length::from_si(od - 2.0 * wall), Length::from_si(length))?.si())
}

/// Bore and length of each hose of a circuit, and its share of the growth that the federal table allows.
pub(super) fn hoses(
    inputs: &mut Inputs<'_>,
    s: &Situation<'_>,
    circuit: &str,
) -> Worked<Vec<(Length, Length, f64)>> {
    let sizes = all(s.car.brakes.hoses.iter().map(|hose: &Hose| {
        let key = |name: &str| format!("brakes.hose.{}.{name}", hose.id);
        let here = inputs.need_some(key("circuit"), hose.circuit.as_ref()).ok_or(NoValue::MissingInput)?;
        if here.text != circuit {
            return Ok(None);
        }
        let bore = inputs.need(key("bore"), hose.bore);
        let length = inputs.need(key("length"), hose.length);
        let growth = inputs.or_default::<Ratio>(key("growth"), hose.growth, HOSE_GROWTH);
        let (Some(bore), Some(length)) = (bore, length) else { return Err(NoValue::MissingInput) };
        Ok(Some((Length::from_si(bore), Length::from_si(length), growth)))
    }))?;
    Ok(sizes.into_iter().flatten().collect())
}

/// Bore and stroke of a master.
fn sizes(inputs: &mut Inputs<'_>, master: &Master) -> Worked<(Length, Length)> {
    let bore = inputs.need(format!("brakes.master.{}.bore", master.id), master.bore);
    let stroke = inputs.need(format!("brakes.master.{}.stroke", master.id), master.stroke);
    let (Some(bore), Some(stroke)) = (bore, stroke) else { return Err(NoValue::MissingInput) };
    Ok((Length::from_si(bore), Length::from_si(stroke)))
}

fn stroke_used(inputs: &mut Inputs<'_>, s: &Situation<'_>, master: &Master) -> Worked<f64> {
    let travel = format!("brakes.master.{}.rod_travel", master.id);
    if s.readings.get(&travel).is_some() {
        let stroke = inputs.need(format!("brakes.master.{}.stroke", master.id), master.stroke);
        let travel = inputs.reading(&s.readings, travel).ok_or(NoValue::MissingInput)?;
        inputs.note("measured: the travel of the rod at working pressure takes the place of the sum");
        return Ok(physics::stroke_measured(
            Length::from_si(travel),
            Length::from_si(stroke.ok_or(NoValue::MissingInput)?),
        )?);
    }
    inputs.note(format_args!(
        "measure the travel of the rod at the pedal force ({travel}), and it takes the place of this sum"
    ));
    let sizes = sizes(inputs, master);
    let fluid = circuits_of(inputs, master)
        .and_then(|circuits| total(circuits.into_iter().map(|circuit| moved(inputs, s, circuit))));
    let (fluid, (bore, stroke)) = (fluid?, sizes?);
    Ok(physics::stroke_used(Volume::from_si(fluid), bore, stroke)?)
}

fn one_failed(inputs: &mut Inputs<'_>, s: &Situation<'_>, failed: &str) -> Worked<f64> {
    let master = master_of(inputs, s.car, failed)?;
    let others = circuits_of(inputs, master)?;
    if let Some(other) = others.iter().find(|circuit| **circuit != failed) {
        let (sizes, fluid) = (sizes(inputs, master), moved(inputs, s, other));
        let (fluid, (bore, stroke)) = (fluid?, sizes?);
        inputs.assume("the failed chamber takes half the full travel (judgement)");
        return Ok(physics::stroke_used_one_failed(Volume::from_si(fluid), bore, stroke)?);
    }
    let other = s.car.brakes.masters.iter().find(|other| other.id != master.id);
    let other = other.ok_or_else(|| NoValue::because("no other circuit is left to stop with"))?;
    inputs.assume("the other master is unchanged, the bar's tilt is left out");
    stroke_used(inputs, s, other)
}

fn reservoir_left(inputs: &mut Inputs<'_>, s: &Situation<'_>, master: &Master) -> Worked<f64> {
    let reservoir = inputs.need(format!("brakes.master.{}.reservoir", master.id), master.reservoir);
    let wear = circuits_of(inputs, master).and_then(|circuits| {
        let wheels = all(circuits.into_iter().map(|circuit| wheels_of(inputs, s, circuit)))?;
        all(wheels.into_iter().flatten().map(|brake| wear(inputs, brake)))
    });
    let wear = wear?;
    let reservoir = reservoir.ok_or(NoValue::MissingInput)?;
    inputs.assume("a full reservoir and new pads to begin with, nothing topped up");
    Ok(physics::reservoir_left(Volume::from_si(reservoir), &wear)?.si())
}

fn wear(inputs: &mut Inputs<'_>, brake: &WheelBrake) -> Worked<Volume> {
    let key = |name: &str| format!("brakes.wheel_brake.{}.{name}", brake.id);
    let new = inputs.need(key("pad_new"), brake.pad_new);
    let min = inputs.need(key("pad_min"), brake.pad_min);
    if let Some(drum) = &brake.drum {
        let worn = new.zip(min).map(|(new, min)| new - min).ok_or(NoValue::MissingInput);
        inputs.assume("no self-adjuster: the wheel cylinders follow their linings");
        return Ok(Volume::from_si(super::brake_drum::volume(inputs, brake, drum, worn)?));
    }
    let pistons = pistons(inputs, brake)?;
    let (Some(new), Some(min)) = (new, min) else { return Err(NoValue::MissingInput) };
    Ok(physics::wear_volume(pistons, Length::from_si(new), Length::from_si(min))?)
}

fn port_match(mut inputs: Inputs<'_>, master: &Master) -> Answer {
    let base = format!("brakes.master.{}.ports", master.id);
    if master.ports.is_empty() {
        inputs.miss(base.clone());
    }
    let mut matched = true;
    for port in &master.ports {
        let feeds = inputs.need_some(format!("{base}.{}.feeds", port.id), port.feeds.as_ref());
        let plumbed = inputs.need_some(format!("{base}.{}.plumbed_to", port.id), port.plumbed_to.as_ref());
        if let (Some(feeds), Some(plumbed)) = (feeds, plumbed)
            && feeds.text != plumbed.text
        {
            matched = false;
            inputs.note(format_args!(
                "port {} is made for {} and plumbed to {}",
                port.id, feeds.text, plumbed.text
            ));
        }
    }
    inputs.finish_value(Ok(NumberValue::Flag(matched)))
}
