//! What one kelvin does to a closed circuit: from what it holds and how far it gives.

use crate::physics::brakes::stroke::{bore_volume, hose_growth};
use crate::physics::hold::{EXPANSION, PER_KELVIN, pressure_per_kelvin};
use crate::units::{Kind, Length, PSI, Pressure, Volume};

use super::brake_stroke::{hoses, line_volume, wheels_of};
use super::circuits::master_of;
use super::defaults::{BULK_MODULUS, HOSE_GROWTH, default_of};
use super::inputs::{Inputs, NoValue, Worked};
use super::parts::both;
use super::situation::Situation;

/// Pressure that the flex of a caliper is given at.
const FLEX_AT: f64 = 1_000.0 * PSI;
/// Slope of the hoses' growth: over this last share of the pressure.
const STEP: f64 = 0.1;

/// Least and most, Pa/K: of this circuit where its calipers are known, else the rough one.
pub(super) fn per_kelvin(inputs: &mut Inputs<'_>, s: &Situation<'_>, circuit: &str, at: f64) -> (f64, f64) {
    // Tried apart: what it lacks is not what the hold lacks.
    let mut trial = inputs.clone();
    match Circuit::of(&mut trial, s, circuit, at).and_then(|found| found.ends(s)) {
        Ok((least, most)) if !trial.is_short() => {
            *inputs = trial;
            let words = |si| both(si, Kind::Pressure);
            inputs.assume(format_args!(
                "one kelvin moves this circuit by {} to {}, worked from what it holds and gives",
                words(least),
                words(most)
            ));
            (least, most)
        }
        _ => {
            inputs.assume(
                "a temperature change moves a closed circuit by 10 to 70 psi/K (rough); what its calipers hold and \
                 how far they flex tell it closer",
            );
            PER_KELVIN
        }
    }
}

/// What a circuit holds, and what it gives for each pascal.
struct Circuit {
    /// Fluid in lines, hoses and calipers, m3.
    fluid: f64,
    /// The master's chamber, m3: full or nearly empty, as the rod stands.
    chamber: f64,
    /// Hoses as the table has them, m3/Pa, and which share of it each grows where the file says so.
    hoses: f64,
    /// Hoses whose growth is the default.
    silent_hoses: f64,
    /// Calipers, m3/Pa.
    calipers: f64,
}

impl Circuit {
    fn of(inputs: &mut Inputs<'_>, s: &Situation<'_>, circuit: &str, at: f64) -> Worked<Self> {
        let master = master_of(inputs, s.car, circuit)?;
        let bore = inputs.need(format!("brakes.master.{}.bore", master.id), master.bore);
        let stroke = inputs.need(format!("brakes.master.{}.stroke", master.id), master.stroke);
        let (Some(bore), Some(stroke)) = (bore, stroke) else { return Err(NoValue::MissingInput) };
        #[expect(clippy::cast_precision_loss, reason = "a master has one port or two")]
        let ports = master.ports.len().max(1) as f64;
        let mut found = Self {
            fluid: line_volume(inputs, s, circuit)?,
            chamber: bore_volume(Length::from_si(bore), Length::from_si(stroke))?.si() / ports,
            hoses: 0.0,
            silent_hoses: 0.0,
            calipers: 0.0,
        };
        for brake in wheels_of(inputs, s, circuit)? {
            let key = |name: &str| format!("brakes.wheel_brake.{}.{name}", brake.id);
            let (holds, flex) =
                (inputs.need(key("holds"), brake.holds), inputs.need(key("flex"), brake.flex));
            found.fluid += holds.ok_or(NoValue::MissingInput)?;
            found.calipers += flex.ok_or(NoValue::MissingInput)? / FLEX_AT;
        }
        let silent = s.car.brakes.hoses.iter().any(|hose| hose.growth.is_none());
        for (bore, length, share) in hoses(inputs, s, circuit)? {
            found.fluid += bore_volume(bore, length)?.si();
            let grown = |share: f64| hose_growth(bore, length, Pressure::from_si(share * at));
            let slope = (grown(1.0)?.si() - grown(1.0 - STEP)?.si()) / (STEP * at);
            let is_default = silent && share.to_bits() == HOSE_GROWTH.to_bits();
            *(if is_default { &mut found.silent_hoses } else { &mut found.hoses }) += share * slope;
        }
        Ok(found)
    }

    /// Least and most over what is not known: the fluid's expansion and stiffness, the hoses, where the rod stands.
    fn ends(&self, s: &Situation<'_>) -> Worked<(f64, f64)> {
        let ends = |key: &str, si: f64| default_of(key).and_then(|one| one.ends(si)).unwrap_or([si, si]);
        let modulus = match s.car.brakes.bulk_modulus {
            Some(given) => [given.si(), given.si()],
            None => ends("brakes.bulk_modulus", BULK_MODULUS),
        };
        let growth = ends("brakes.hose.growth", HOSE_GROWTH);
        let at = |expansion: f64, modulus: f64, growth: f64, chamber: f64| {
            let give = self.calipers + self.hoses + growth * self.silent_hoses;
            let fluid = Volume::from_si(self.fluid + chamber);
            pressure_per_kelvin(fluid, Pressure::from_si(modulus), give, expansion)
        };
        let least = at(EXPANSION.0, modulus[0], growth[1], 0.0)?;
        let most = at(EXPANSION.1, modulus[1], growth[0], self.chamber)?;
        Ok((least, most))
    }
}
