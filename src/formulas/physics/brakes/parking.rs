//! What a parking brake holds the car on.

use super::balance::Statics;
use crate::physics::refusal::{Refusal, not_negative, positive, share};
use crate::units::{Force, Length, Torque};

/// Force at the tip of a shoe that the cable of its wheel makes.
///
/// # Formula
/// F = ½ P i η j
/// # Symbols
/// F (N) · P `pull` at the lever (N) · i `ratio` of the lever to both cables together, j `shoe_ratio` of the lever on the shoe,
/// η `efficiency` of the cables (1)
/// # Valid range
/// Two wheels, pulled alike by an equalizer.
/// # Errors
/// A ratio that is not over zero, a pull below zero, or an efficiency outside 0 to 1.
/// # Source
/// Balance of moments on each lever.
/// # Example
/// 400 N at 8 to 1, three quarters of it arriving, 5 to 1 on the shoe: 6 000 N.
/// ```
/// use linewalk_formulas::physics::brakes::parking::shoe_pull;
/// use linewalk_formulas::units::Force;
/// assert_eq!(shoe_pull(Force::from_si(400.0), 8.0, 0.75, 5.0)?.si(), 6000.0);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn shoe_pull(pull: Force, ratio: f64, efficiency: f64, shoe_ratio: f64) -> Result<Force, Refusal> {
    let pull = not_negative("the pull at the parking lever", pull.si())?;
    let levers =
        positive("the parking lever's ratio", ratio)? * positive("the lever on the shoe", shoe_ratio)?;
    Ok(Force::from_si(0.5 * pull * levers * share("the efficiency of the cables", efficiency)?))
}

/// Steepest grade that a parking brake holds the car on, whichever way it faces.
///
/// # Formula
/// s = min(tan arcsin(ΣT/(R W)), μ w/(1 + μ h/L))
/// # Symbols
/// s rise over run (1) · ΣT `torque` of both wheels (N·m) · R loaded `tyre` radius (m) · W weight (N) · μ tire friction of that
/// axle, w its static `load_share` (1) · h center-of-gravity height, L wheelbase (m)
/// # Valid range
/// One braked axle; the tires are worked on the grade that takes weight off it.
/// # Errors
/// A size that is not over zero, a torque below zero, or a share outside 0 to 1.
/// # Source
/// Balance of forces and moments on a slope, any vehicle-dynamics text.
/// # Example
/// 10 kN, 600 N·m on 0.3 m: 2 kN, a rise of 0.204.
/// ```
/// use linewalk_formulas::physics::brakes::balance::Statics;
/// use linewalk_formulas::physics::brakes::parking::grade_held;
/// use linewalk_formulas::units::{Force, Length, Torque};
/// let car = Statics {
///     weight: Force::from_si(10_000.0),
///     front_share: 0.5,
///     cg_height: Length::from_si(0.5),
///     wheelbase: Length::from_si(2.5),
///     front_friction: 1.0,
///     rear_friction: 1.0,
/// };
/// let s = grade_held(car, 0.5, 1.0, Torque::from_si(600.0), Length::from_si(0.3))?;
/// assert!((s - 0.2 / 0.96_f64.sqrt()).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn grade_held(
    car: Statics,
    load_share: f64,
    friction: f64,
    torque: Torque,
    tyre: Length,
) -> Result<f64, Refusal> {
    let weight = positive("the car's weight", car.weight.si())?;
    let lever = not_negative("the center-of-gravity height", car.cg_height.si())?
        / positive("the wheelbase", car.wheelbase.si())?;
    let mu = positive("the tire friction", friction)?;
    let tires = mu * share("the share of the weight on the braked axle", load_share)? / (1.0 + mu * lever);
    let force = not_negative("the brake torque", torque.si())? / positive("the tyre radius", tyre.si())?;
    let sine = force / weight;
    let brake = if sine < 1.0 { sine / (1.0 - sine * sine).sqrt() } else { f64::INFINITY };
    Ok(brake.min(tires))
}
