//! From line pressure to braking force at one wheel.

use super::bore_area;
use crate::physics::refusal::{Refusal, not_negative, positive};
use crate::units::{Force, Length, Pressure, Torque};

/// How a caliper is built.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Caliper {
    /// Pistons on both sides of the disc.
    Fixed,
    /// Pistons on one side; the body slides and pulls the other pad.
    Floating,
}

/// The pistons of one caliper.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pistons {
    /// How the caliper is built.
    pub caliper: Caliper,
    /// All pistons of the caliper.
    pub count: u32,
    /// Bore of one piston (m).
    pub bore: Length,
}

impl Pistons {
    /// Area of every piston (m²).
    pub(super) fn area(self) -> Result<f64, Refusal> {
        let count = positive("the number of pistons", f64::from(self.count))?;
        if self.caliper == Caliper::Fixed && !self.count.is_multiple_of(2) {
            return Err(Refusal::OddPistons);
        }
        Ok(count * bore_area("the piston bore", self.bore)?)
    }

    /// Area of the pistons that push one pad (m²).
    pub(super) fn one_side(self) -> Result<f64, Refusal> {
        let sides = if self.caliper == Caliper::Fixed { 2.0 } else { 1.0 };
        Ok(self.area()? / sides)
    }
}

/// Force that presses one pad on the disc.
///
/// # Formula
/// N = p A, A = n/2 · π/4 d² (fixed) or n · π/4 d² (floating)
/// # Symbols
/// N clamp force (N) · p `pressure` behind the valves (Pa) · n count, d bore (m) of `pistons`
/// # Valid range
/// Equal pistons; seal friction left out.
/// # Errors
/// No piston, an odd number in a fixed caliper, a bore that is not over zero, or a pressure below zero.
/// # Source
/// Pascal's law, any brake text.
/// # Example
/// An annular-pad caliper in a machine-design text needs 3 748 lbf from one 1.5 in piston: 2 121 psi.
/// ```
/// use linewalk_formulas::physics::brakes::wheel::{Caliper, Pistons, clamp_force};
/// use linewalk_formulas::units::{Length, Pressure};
/// let pistons = Pistons { caliper: Caliper::Floating, count: 1, bore: Length::from_inches(1.5) };
/// let lbf = clamp_force(pistons, Pressure::from_psi(2121.0))?.si() / 4.448_221_615;
/// assert!((lbf - 3748.0).abs() < 1.0);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn clamp_force(pistons: Pistons, pressure: Pressure) -> Result<Force, Refusal> {
    let p = not_negative("the pressure", pressure.si())?;
    Ok(Force::from_si(p * pistons.one_side()?))
}

/// Braking torque of one wheel.
///
/// # Formula
/// T = 2 μ N r
/// # Symbols
/// T torque (N·m) · μ pad `friction` (1) · N `clamp` force on one pad (N) · r `radius`, effective (m)
/// # Valid range
/// Two pads.
/// # Errors
/// A friction or radius that is not over zero, or a clamp force below zero.
/// # Source
/// Coulomb friction on two faces, any brake text.
/// # Example
/// The same text: μ 0.37, 3 748 lbf at 4.688 in on two faces carry 13 000 lbf·in.
/// ```
/// use linewalk_formulas::physics::brakes::wheel::brake_torque;
/// use linewalk_formulas::units::{Force, Length};
/// let t = brake_torque(0.37, Force::from_si(3748.0 * 4.448_221_615), Length::from_inches(4.688))?;
/// assert!((t.si() / (4.448_221_615 * 0.0254) - 13_000.0).abs() < 5.0);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn brake_torque(friction: f64, clamp: Force, radius: Length) -> Result<Torque, Refusal> {
    let mu = positive("the pad friction", friction)?;
    let n = not_negative("the clamp force", clamp.si())?;
    Ok(Torque::from_si(2.0 * mu * n * positive("the effective radius", radius.si())?))
}

/// Braking force of one wheel at the ground.
///
/// # Formula
/// F = T / R
/// # Symbols
/// F force (N) · T `torque` (N·m) · R loaded `tyre` radius (m)
/// # Valid range
/// A wheel that still turns.
/// # Errors
/// A tyre radius that is not over zero, or a torque below zero.
/// # Source
/// Balance of moments on the wheel.
/// # Example
/// ```
/// use linewalk_formulas::physics::brakes::wheel::ground_force;
/// use linewalk_formulas::units::{Length, Torque};
/// assert_eq!(ground_force(Torque::from_si(900.0), Length::from_si(0.3))?.si(), 3000.0);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn ground_force(torque: Torque, tyre: Length) -> Result<Force, Refusal> {
    let t = not_negative("the brake torque", torque.si())?;
    Ok(Force::from_si(t / positive("the tyre radius", tyre.si())?))
}
