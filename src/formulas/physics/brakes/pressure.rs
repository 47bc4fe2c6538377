//! Line pressure, and what the valves in a circuit leave of it.

use super::bore_area;
use crate::physics::refusal::{Refusal, not_negative, positive, share};
use crate::units::{Force, Length, Pressure};

/// The share of the pushrod force that each of two single masters on a balance bar gets.
///
/// # Formula
/// front b, rear 1 − b
/// # Symbols
/// b `front_share` of the force (1) · (front, rear)
/// # Valid range
/// 0 to 1, the bar square to its rods.
/// # Errors
/// A share outside that range.
/// # Source
/// Balance of moments on the bar.
/// # Example
/// ```
/// use linewalk_formulas::physics::brakes::pressure::bar_shares;
/// assert_eq!(bar_shares(0.75)?, (0.75, 0.25));
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn bar_shares(front_share: f64) -> Result<(f64, f64), Refusal> {
    let front = share("the balance bar's front share", front_share)?;
    Ok((front, 1.0 - front))
}

/// Pressure a master cylinder makes, losses left out.
///
/// # Formula
/// p = F r b s / (π/4 d²)
/// # Symbols
/// p pressure (Pa) · F `pedal` force (N) · r `ratio` of the pedal, b `booster` ratio, s `share` of the force on
/// this master (1) · d `bore` (m)
/// # Valid range
/// A tandem's two chambers see the same pressure, s = 1.
/// # Errors
/// A ratio or bore that is not over zero, a force below zero, or a share outside 0 to 1.
/// # Source
/// Pascal's law, any brake text; friction and springs are left out.
/// # Example
/// 100 lbf, ratio 6.0, bar half and half, 0.75 in bore: 679.06 psi.
/// ```
/// use linewalk_formulas::physics::brakes::pressure::line_pressure;
/// use linewalk_formulas::units::{Force, Length, PSI};
/// let p = line_pressure(Force::from_si(444.822_161_5), 6.0, 1.0, 0.5, Length::from_inches(0.75))?;
/// assert!((p.si() / PSI - 679.06).abs() < 0.005);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn line_pressure(
    pedal: Force,
    ratio: f64,
    booster: f64,
    share: f64,
    bore: Length,
) -> Result<Pressure, Refusal> {
    let force = not_negative("the pedal force", pedal.si())?;
    let lever = positive("the pedal ratio", ratio)? * positive("the booster ratio", booster)?;
    let part = super::super::refusal::share("the share of the pedal force", share)?;
    Ok(Pressure::from_si(force * lever * part / bore_area("the master bore", bore)?))
}

/// A valve in a brake circuit, as far as it changes the pressure of a braking car.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Valve {
    /// Passes all up to the knee, and only `slope` of what is above it.
    Proportioning {
        /// Pressure where it starts to hold back (Pa).
        knee: Pressure,
        /// Share of the pressure above the knee that it passes, 0 to 1.
        slope: f64,
    },
    /// Holds a little pressure when the pedal is up; passes all when it is down.
    Residual,
    /// A line-lock: open, it passes all.
    LineLock,
}

impl Valve {
    /// Refuses a knee below zero or a slope outside 0 to 1.
    fn checked(self) -> Result<Self, Refusal> {
        if let Self::Proportioning { knee, slope } = self {
            not_negative("the valve knee", knee.si())?;
            share("the valve slope", slope)?;
        }
        Ok(self)
    }

    /// Pressure behind it for one before it (Pa).
    fn outlet(self, before: f64) -> f64 {
        match self {
            Self::Proportioning { knee, slope } if before > knee.si() => {
                knee.si() + slope * (before - knee.si())
            }
            _ => before,
        }
    }

    /// Pressure before it that gives one behind it (Pa); none if it never gets there.
    fn inlet(self, behind: f64) -> Option<f64> {
        match self {
            Self::Proportioning { knee, slope } if behind > knee.si() => {
                (slope > 0.0).then(|| knee.si() + (behind - knee.si()) / slope)
            }
            _ => Some(behind),
        }
    }
}

/// Pressure at the wheel, behind the valves of its circuit.
///
/// # Formula
/// proportioning: p up to the knee, then knee + slope (p − knee); residual and open line-lock: p
/// # Symbols
/// p `master` pressure (Pa) · `valves` in the order the fluid meets them · knee (Pa) · slope (1)
/// # Valid range
/// Pressure rising; a valve's hysteresis on release is left out.
/// # Errors
/// A pressure or knee below zero, or a slope outside 0 to 1.
/// # Source
/// The usual description of such valves in brake texts.
/// # Example
/// Knee 600 psi, slope 0.4: 1 000 psi becomes 600 + 0.4 × 400 = 760 psi.
/// ```
/// use linewalk_formulas::physics::brakes::pressure::{Valve, behind};
/// use linewalk_formulas::units::{PSI, Pressure};
/// let valve = Valve::Proportioning { knee: Pressure::from_psi(600.0), slope: 0.4 };
/// let p = behind(&[valve, Valve::Residual], Pressure::from_psi(1000.0))?;
/// assert!((p.si() / PSI - 760.0).abs() < 1e-9);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn behind(valves: &[Valve], master: Pressure) -> Result<Pressure, Refusal> {
    let mut pressure = not_negative("the pressure", master.si())?;
    for valve in valves {
        pressure = valve.checked()?.outlet(pressure);
    }
    Ok(Pressure::from_si(pressure))
}

/// Master pressures (Pa) at which the pressure behind a row of valves changes its slope.
pub(super) fn knees(valves: &[Valve]) -> Vec<f64> {
    let mut found = Vec::new();
    for (place, valve) in valves.iter().enumerate() {
        if let Valve::Proportioning { knee, .. } = valve {
            let at_master = valves
                .iter()
                .take(place)
                .rev()
                .try_fold(knee.si(), |pressure, before| before.inlet(pressure));
            found.extend(at_master);
        }
    }
    found
}
