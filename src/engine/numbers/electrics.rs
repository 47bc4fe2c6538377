//! Electric parts: what the ground side loses.

use crate::cite::{Basis, Cite};
use crate::model::Electric;
use crate::physics::electrics::resistance;
use crate::units::{Current, Kind, Voltage};

use super::inputs::{Inputs, NoValue, Worked};
use super::parts::{both, each};
use super::registry::{Quantity, Shown};
use super::situation::Situation;

pub(super) const QUANTITIES: &[Quantity] = &[Quantity {
    id: "electrics.ground_drop",
    title: "Voltage lost in the part's ground while it draws current",
    of: "device",
    table: "electrics",
    shown: Shown::Kind(Kind::Voltage),
    formula: "the reading; resistance = drop / current beside it",
    source: Cite::new("Ohm's law", "", Basis::Computed),
    work: |q, s| {
        let parts = s.car.electrics.iter().map(|part| (part.id.as_str(), part));
        each(q, s, parts, |inputs, part| ground_drop(inputs, s, part))
    },
}];

fn ground_drop(inputs: &mut Inputs<'_>, s: &Situation<'_>, part: &Electric) -> Worked<f64> {
    let key = |name: &str| format!("electrics.{}.{name}", part.id);
    let drop = inputs.reading(&s.readings, key("ground_drop")).ok_or(NoValue::MissingInput)?;
    let amps = match s.readings.get(&key("amps")) {
        Some(_) => inputs.reading(&s.readings, key("amps")),
        None => inputs.given(key("amps"), part.amps),
    };
    match amps.map(|amps| resistance(Voltage::from_si(drop), Current::from_si(amps))) {
        Some(Ok(ohms)) => {
            let current = both(amps.unwrap_or_default(), Kind::Current);
            inputs.note(format_args!("{} in its ground at {current}", both(ohms.si(), Kind::Resistance)));
        }
        _ => inputs.note("resistance is not known: no current is given"),
    }
    Ok(drop)
}
