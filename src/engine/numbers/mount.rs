//! Bottle mounts: the bolts, and only the bolts.

use crate::cite::{Basis, Cite};
use crate::model::{Bottle, Mount};
use crate::physics::mount::{self as physics, Grade, SCOPE, Thread};
use crate::units::{Kind, Length, Mass, Ratio};

use super::defaults::LOAD_FACTOR;
use super::inputs::{Inputs, NoValue, Worked};
use super::parts::{both, each};
use super::registry::{Quantity, Shown};

pub(super) const QUANTITIES: &[Quantity] = &[Quantity {
    id: "mount.bolt_margin",
    title: "Strength of the bottle mount's bolts over the load, bolts only",
    of: "bottle",
    table: "suppression.bottle",
    shown: Shown::Kind(Kind::Ratio),
    formula: "1 / sqrt((T/T_p)^2 + (V/V_p)^2), the worst over all directions of the load",
    source: Cite::new(
        "rigid-plate bolt group and elliptical interaction",
        "machine-design texts",
        Basis::FromMemory,
    ),
    work: |q, s| {
        let bottles = s.car.suppression.bottles.iter().map(|bottle| (bottle.id.as_str(), bottle));
        each(q, s, bottles, bolt_margin)
    },
}];

/// Grades by the names people type, for the remedy.
const GRADES: &[&str] = &["SAE 2", "SAE 5", "SAE 8", "8.8", "10.9", "12.9"];

fn bolt_margin(inputs: &mut Inputs<'_>, bottle: &Bottle) -> Worked<f64> {
    let base = format!("suppression.bottle.{}", bottle.id);
    let gross = inputs.need(format!("{base}.gross_mass"), bottle.papers.gross_mass);
    let key = |name: &str| format!("{base}.mount.{name}");
    let Some(mount) = &bottle.mount else {
        inputs.miss(format!("{base}.mount"));
        return Err(NoValue::MissingInput);
    };
    let load_factor = inputs.or_default(key("load_factor"), mount.load_factor, LOAD_FACTOR);
    let bolts = inputs.need_count(key("bolts"), mount.bolts);
    let bolt = bolt(inputs, &key, mount);
    let span = inputs.need(key("span"), mount.span);
    let width = inputs.need(key("width"), mount.width);
    let offset = inputs.need(key("offset"), mount.offset);
    let (thread, grade) = bolt?;
    let (Some(gross), Some(bolts)) = (gross, bolts) else { return Err(NoValue::MissingInput) };
    let (Some(span), Some(width), Some(offset)) = (span, width, offset) else {
        return Err(NoValue::MissingInput);
    };
    let worst = physics::bolt_margin(&physics::Mount {
        gross_mass: Mass::from_si(gross),
        load_factor: Ratio::from_si(load_factor),
        bolts,
        thread,
        grade,
        span: Some(Length::from_si(span)),
        width: Some(Length::from_si(width)),
        offset: Some(Length::from_si(offset)),
    })?;
    inputs.assume(SCOPE);
    inputs.note(SCOPE);
    let force = |si| both(si, Kind::Force);
    inputs.note(format_args!(
        "worst bolt {} in tension and {} in shear; proof load {}, {}",
        force(worst.tension.si()),
        force(worst.shear.si()),
        force(worst.proof_load.si()),
        worst.proof.cite
    ));
    Ok(worst.margin.si())
}

fn bolt(inputs: &mut Inputs<'_>, key: &impl Fn(&str) -> String, mount: &Mount) -> Worked<(Thread, Grade)> {
    if mount.bolt_size.is_none() && mount.bolt_grade.is_none() {
        inputs.miss(key("bolt"));
        return Err(NoValue::MissingInput);
    }
    let size = inputs.need_some(key("bolt.size"), mount.bolt_size.as_ref());
    let grade = mount.bolt_grade.as_ref().map(|word| word.text.as_str());
    let grade = inputs.need_known(
        key("bolt.grade"),
        grade,
        "a bolt grade",
        |text| Grade::parse(text).ok(),
        GRADES,
    )?;
    let size = size.ok_or(NoValue::MissingInput)?;
    Ok((Thread::parse(&size.text)?, grade))
}
