//! Whether a measured value is inside its limits, given what the instrument can tell.

use super::normal::between;
use super::refusal::{Refusal, not_negative};

/// How the true value is spread about a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Anywhere within ± the accuracy, all alike.
    Rectangular,
    /// Within ± the accuracy, the middle likeliest.
    Triangular,
    /// A bell curve; the accuracy is two standard uncertainties (k = 2).
    Normal,
}

/// What a guarded comparison says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Decision {
    /// Inside with a chance of at least 95 %.
    Accept,
    /// Inside with a chance of at most 5 %.
    Reject,
    /// The instrument cannot tell.
    Undecided,
}

/// Chance that the true value is inside the limits.
///
/// # Formula
/// p = F((T_U − x)) − F((T_L − x)), F the distribution of the instrument's error: rectangular and triangular
/// of half-width a, or normal with u = a/2
/// # Symbols
/// x `value`, T_L `lower`, T_U `upper`, a `accuracy`, all in one unit · p (1)
/// # Valid range
/// One or both limits. No knowledge of the part besides the reading. With a = 0 the limits are included.
/// # Errors
/// A value that is not finite, an accuracy below zero, no limit, or T_L > T_U.
/// # Source
/// JCGM 106:2012, clause 7.
/// # Example
/// Clause 7.4: mean 13.6, u 1.8, limits 12.5 and 16.3, printed 0.66 (from memory).
/// ```
/// use linewalk_formulas::physics::conformity::{Shape, chance_inside};
/// let p = chance_inside(13.6, 3.6, Shape::Normal, Some(12.5), Some(16.3))?;
/// assert!((p - 0.66).abs() < 0.005);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn chance_inside(
    value: f64,
    accuracy: f64,
    shape: Shape,
    lower: Option<f64>,
    upper: Option<f64>,
) -> Result<f64, Refusal> {
    let a = not_negative("the accuracy", accuracy)?;
    let low = lower.unwrap_or(f64::NEG_INFINITY);
    let high = upper.unwrap_or(f64::INFINITY);
    // Written so that a limit that is not a number is refused too.
    if (lower.is_none() && upper.is_none()) || !matches!(low.partial_cmp(&high), Some(o) if o.is_le()) {
        return Err(Refusal::NoLimits);
    }
    if !value.is_finite() {
        return Err(Refusal::NotFinite("the measured value"));
    }
    if a == 0.0 {
        return Ok(if low <= value && value <= high { 1.0 } else { 0.0 });
    }
    let (z1, z2) = ((low - value) / a, (high - value) / a);
    Ok(match shape {
        Shape::Rectangular => rectangular(z2) - rectangular(z1),
        Shape::Triangular => triangular(z2) - triangular(z1),
        Shape::Normal => between(2.0 * z1, 2.0 * z2),
    })
}

/// The decision a chance stands for.
///
/// # Formula
/// p ≥ 0.95 accept, p ≤ 0.05 reject, else undecided
/// # Symbols
/// p `chance` of being inside (1)
/// # Valid range
/// 0 to 1.
/// # Errors
/// None.
/// # Source
/// 95 % is the default level of ISO 14253-1:2017, clause 5 (from memory).
/// # Example
/// ```
/// use linewalk_formulas::physics::conformity::{Decision, decide};
/// assert_eq!(decide(0.396), Decision::Undecided);
/// ```
pub fn decide(chance: f64) -> Decision {
    // 1e-12 of grace: a chance that is 95 % by its arithmetic must not miss it by a last binary digit.
    if chance >= 0.95 - 1e-12 {
        Decision::Accept
    } else if chance <= 0.05 + 1e-12 {
        Decision::Reject
    } else {
        Decision::Undecided
    }
}

/// Distribution function of a rectangular error of half-width 1.
fn rectangular(z: f64) -> f64 {
    ((z + 1.0) / 2.0).clamp(0.0, 1.0)
}

/// Distribution function of a triangular error of half-width 1.
fn triangular(z: f64) -> f64 {
    let z = z.clamp(-1.0, 1.0);
    if z < 0.0 { (1.0 + z).powi(2) / 2.0 } else { 1.0 - (1.0 - z).powi(2) / 2.0 }
}
