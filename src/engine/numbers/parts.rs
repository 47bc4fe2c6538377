//! What the families share: one answer for each thing, sums that look at every part, temperatures, box corners.

use std::fmt;

use crate::model::Bottle;
use crate::units::{Kind, Temperature, Units, show};

use super::answer::Answer;
use super::inputs::{Inputs, NoValue, Worked};
use super::registry::Quantity;
use super::situation::Situation;

/// One answer for each thing, in the order given.
pub(super) fn each<'c, T>(
    quantity: &Quantity,
    s: &Situation<'_>,
    things: impl IntoIterator<Item = (&'c str, T)>,
    work: impl Fn(&mut Inputs<'_>, T) -> Worked<f64>,
) -> Vec<Answer> {
    let answer = |(of, thing): (&str, T)| {
        let mut inputs = s.inputs(quantity, of);
        let worked = work(&mut inputs, thing);
        inputs.finish(worked)
    };
    things.into_iter().map(answer).collect()
}

/// The sum of parts that may each stop: every part is looked at, so that everything missing is named at once.
pub(super) fn total(parts: impl IntoIterator<Item = Worked<f64>>) -> Worked<f64> {
    Ok(all(parts)?.into_iter().sum())
}

/// Every part, or a stop; all of them are looked at.
pub(super) fn all<T>(parts: impl IntoIterator<Item = Worked<T>>) -> Worked<Vec<T>> {
    let (mut good, mut stop) = (Vec::new(), None);
    for part in parts {
        match (part, &stop) {
            (Ok(part), _) => good.push(part),
            (Err(why), None | Some(NoValue::MissingInput)) => stop = Some(why),
            (Err(_), Some(NoValue::Because(_))) => {}
        }
    }
    stop.map_or(Ok(good), Err)
}

/// The bottle's own temperature, else the system's, else the one it was charged at, which is then assumed.
pub(super) fn bottle_temperature(inputs: &mut Inputs<'_>, s: &Situation<'_>, bottle: &Bottle) -> Option<f64> {
    let key = |name: &str| format!("suppression.bottle.{}.{name}", bottle.id);
    let own = inputs.given(key("temperature"), bottle.charge.temperature);
    if let Some(own) = own.or_else(|| inputs.given("suppression.temperature", s.car.suppression.temperature))
    {
        return Some(own);
    }
    let charged = inputs.need(key("charge_temperature"), bottle.charge.charged_at)?;
    Some(inputs.or_default::<Temperature>(key("temperature"), None, charged))
}

/// A value in both systems of units, for notes, which do not know the reader's; put into words where it is shown.
pub(super) fn both(si: f64, kind: Kind) -> Both {
    Both { si, kind }
}

/// A value to be shown in both systems of units.
pub(super) struct Both {
    si: f64,
    kind: Kind,
}

impl fmt::Display for Both {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [us, metric] = [Units::Us, Units::Metric].map(|units| show(self.si, self.kind, units));
        if us == metric { f.write_str(&us) } else { write!(f, "{us} ({metric})") }
    }
}
