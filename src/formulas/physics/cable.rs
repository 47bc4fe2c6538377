//! Pull cables: how hard the handle is to pull, and whether it pulls far enough.

use super::refusal::{Refusal, not_negative, positive, share};
use crate::units::{Angle, Force, Length};

/// By how much friction in the bends multiplies the pull.
///
/// # Formula
/// factor = e^(μΘ)
/// # Symbols
/// μ `friction` (1) · Θ `bend`, all turns added (rad) · factor (1)
/// # Valid range
/// A cable that slides in its bends; independent of their radius.
/// # Errors
/// A friction or a bend below zero.
/// # Source
/// Capstan (Euler–Eytelwein) equation, any statics text.
/// # Example
/// A published exercise prints 6.6 for μ = 0.3 and one full turn.
/// ```
/// use linewalk_formulas::physics::cable::capstan_factor;
/// use linewalk_formulas::units::Angle;
/// let factor = capstan_factor(0.3, Angle::from_si(std::f64::consts::TAU))?;
/// assert!((factor - 6.6).abs() < 0.05);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn capstan_factor(friction: f64, bend: Angle) -> Result<f64, Refusal> {
    let mu = not_negative("the cable friction", friction)?;
    Ok((mu * not_negative("the bend", bend.si())?).exp())
}

/// All turns of a cable added up, whichever way they go.
///
/// # Formula
/// Θ = Σ θ
/// # Symbols
/// θ each of `bends`, Θ their sum (rad)
/// # Valid range
/// Any number of bends; none is a straight cable.
/// # Errors
/// A bend below zero.
/// # Source
/// Capstan equation: each turn multiplies, so the angles add.
/// # Example
/// ```
/// use linewalk_formulas::physics::cable::total_bend;
/// use linewalk_formulas::units::Angle;
/// let quarter = Angle::from_si(std::f64::consts::FRAC_PI_2);
/// assert_eq!(total_bend(&[quarter, quarter])?.si(), std::f64::consts::PI);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn total_bend(bends: &[Angle]) -> Result<Angle, Refusal> {
    let mut sum = 0.0;
    for bend in bends {
        sum += not_negative("the bend", bend.si())?;
    }
    Ok(Angle::from_si(sum))
}

/// Force at the handle that opens every valve on the cable.
///
/// # Formula
/// F = e^(μΘ) F_v n
/// # Symbols
/// F handle force, F_v `valve_force` of one valve (N) · n `valves` worked (1) · μ `friction` (1) · Θ `bend` (rad)
/// # Valid range
/// As [`capstan_factor`]; no return springs or levers besides the valve's own.
/// # Errors
/// A valve force that is not over zero, no valve, or those of [`capstan_factor`].
/// # Source
/// Capstan equation, any statics text.
/// # Example
/// ```
/// use linewalk_formulas::physics::cable::handle_force;
/// use linewalk_formulas::units::{Angle, Force};
/// let f = handle_force(0.2, Angle::from_si(270_f64.to_radians()), Force::from_si(50.0), 1)?;
/// assert!((f.si() - 50.0 * 2.5663).abs() < 0.005);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn handle_force(friction: f64, bend: Angle, valve_force: Force, valves: u32) -> Result<Force, Refusal> {
    let force = positive("the valve force", valve_force.si())?;
    let count = positive("the number of bottles worked", f64::from(valves))?;
    Ok(Force::from_si(capstan_factor(friction, bend)? * force * count))
}

/// The travels of a pull: what the handle gives, what the valve and the play take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Travel {
    /// Full travel of the handle (m).
    pub handle: Length,
    /// Travel that opens the valve (m).
    pub valve: Length,
    /// Play before the valve moves (m).
    pub slack: Length,
    /// Length of the cable (m).
    pub length: Length,
    /// Stretch under the pull as a share of the length.
    pub stretch: f64,
}

impl Travel {
    /// Checks the parts and gives (handle less stretch, valve plus slack) in metres.
    fn parts(self) -> Result<(f64, f64), Refusal> {
        let handle = positive("the handle travel", self.handle.si())?;
        let valve = positive("the valve travel", self.valve.si())?;
        let slack = not_negative("the slack", self.slack.si())?;
        let length = not_negative("the cable length", self.length.si())?;
        Ok((handle - share("the stretch", self.stretch)? * length, valve + slack))
    }
}

/// Handle travel left over once the valve is open.
///
/// # Formula
/// left = handle − valve − slack − ε L
/// # Symbols
/// handle, valve, slack travels (m) · ε stretch (1) · L cable length (m)
/// # Valid range
/// Below zero says by how much the handle falls short.
/// # Errors
/// A handle or valve travel that is not over zero, another part below zero, a stretch over 1.
/// # Source
/// Sum of lengths.
/// # Example
/// 2.5 in less 0.75, 0.25 and 1 % of 84 in: 0.66 in.
/// ```
/// use linewalk_formulas::physics::cable::{Travel, travel_left};
/// use linewalk_formulas::units::Length;
/// let inch = Length::from_inches;
/// let pull = Travel { handle: inch(2.5), valve: inch(0.75), slack: inch(0.25), length: inch(84.0), stretch: 0.01 };
/// assert!((travel_left(pull)?.si() - inch(0.66).si()).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn travel_left(travel: Travel) -> Result<Length, Refusal> {
    let (given, taken) = travel.parts()?;
    Ok(Length::from_si(given - taken))
}

/// Handle travel that reaches the far end, over what is needed there.
///
/// # Formula
/// ratio = (handle − ε L) / (valve + slack)
/// # Symbols
/// As [`travel_left`]; ratio (1)
/// # Valid range
/// 1 or more opens the valve.
/// # Errors
/// Those of [`travel_left`].
/// # Source
/// Sum of lengths.
/// # Example
/// ```
/// use linewalk_formulas::physics::cable::{Travel, travel_ratio};
/// use linewalk_formulas::units::Length;
/// let inch = Length::from_inches;
/// let pull = Travel { handle: inch(2.5), valve: inch(0.75), slack: inch(0.25), length: inch(84.0), stretch: 0.01 };
/// assert!((travel_ratio(pull)? - 1.66).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn travel_ratio(travel: Travel) -> Result<f64, Refusal> {
    let (given, taken) = travel.parts()?;
    Ok(given / taken)
}

/// The tightest bend against the least the maker allows.
///
/// # Formula
/// margin = R_least / R_min
/// # Symbols
/// R_least the smallest of `radii`, R_min `allowed` (m) · margin (1)
/// # Valid range
/// 1 or more is allowed.
/// # Errors
/// No bend, or a radius that is not over zero.
/// # Source
/// Definition.
/// # Example
/// ```
/// use linewalk_formulas::physics::cable::bend_margin;
/// use linewalk_formulas::units::Length;
/// let inch = Length::from_inches;
/// assert!((bend_margin(&[inch(5.0), inch(4.0)], inch(3.0))? - 4.0 / 3.0).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn bend_margin(radii: &[Length], allowed: Length) -> Result<f64, Refusal> {
    let allowed = positive("the least bend radius", allowed.si())?;
    let mut least = f64::INFINITY;
    for radius in radii {
        least = least.min(positive("the bend radius", radius.si())?);
    }
    Ok(positive("the bend radius", least)? / allowed)
}
