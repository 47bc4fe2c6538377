//! The smallest round hole that several lines go through side by side.

use super::refusal::{Refusal, positive};
use crate::units::Length;

/// Outer over inner diameter for 3 to 7 equal circles.
const EQUAL: [f64; 5] = [
    2.154_700_538_379_252, // 1 + 2/√3
    2.414_213_562_373_095, // 1 + √2
    2.701_301_616_704_08,  // 1 + √(2 (1 + 1/√5))
    3.0,
    3.0,
];

/// Diameter of the smallest circle around circles that do not overlap.
///
/// # Formula
/// one: d; two: d₁ + d₂; three: 1/R = 2 √(k₁k₂ + k₂k₃ + k₃k₁) − (k₁ + k₂ + k₃), k = 1/r, or r₁ + r₂ where the
/// third fits beside the two largest; 3 to 7 alike: d times 2.1547, 2.4142, 2.7013, 3, 3
/// # Symbols
/// d `diameters`, r radii, R outer radius (m)
/// # Valid range
/// One to three circles of any sizes, and up to seven of one size. Exact.
/// # Errors
/// No circle, one that is not over zero, more than seven, or more than three that are not all of one size: the best
/// layout of those has no closed form.
/// # Source
/// Descartes' circle theorem; equal circles in a circle: Graham (1968) and Pirl (1969), from memory.
/// # Example
/// Two 3/16 in lines and a 1/4 in one: 0.454 791 in (constrained minimum, scipy 1.17.1).
/// ```
/// use linewalk_formulas::physics::circles::enclosing_diameter;
/// use linewalk_formulas::units::Length;
/// let inch = Length::from_inches;
/// let around = enclosing_diameter(&[inch(0.1875), inch(0.1875), inch(0.25)])?;
/// assert!((around.si() / inch(1.0).si() - 0.454_791).abs() < 1e-6);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn enclosing_diameter(diameters: &[Length]) -> Result<Length, Refusal> {
    let mut radii = Vec::with_capacity(diameters.len());
    for diameter in diameters {
        radii.push(positive("the line's outside diameter", diameter.si())? / 2.0);
    }
    radii.sort_by(|a, b| b.total_cmp(a));
    let radius = match *radii.as_slice() {
        [] => return Err(Refusal::NotPositive("the number of lines")),
        [one] => one,
        [one, two] => one + two,
        [one, two, three] => around_three(one, two, three),
        _ => alike(&radii).ok_or(Refusal::UnlikeCircles)?,
    };
    Ok(Length::from_si(2.0 * radius))
}

/// Around three circles, largest first.
fn around_three(r1: f64, r2: f64, r3: f64) -> f64 {
    let (k1, k2, k3) = (1.0 / r1, 1.0 / r2, 1.0 / r3);
    // In the circle round the two largest, this is the curvature of the largest that fits beside them.
    if k3 >= k1 + k2 - 1.0 / (r1 + r2) {
        return r1 + r2;
    }
    1.0 / (2.0 * (k1 * k2 + k2 * k3 + k3 * k1).sqrt() - (k1 + k2 + k3))
}

/// The known ratio where all circles are alike.
fn alike(radii: &[f64]) -> Option<f64> {
    let (largest, least) = (radii.first()?, radii.last()?);
    let ratio = EQUAL.get(radii.len().checked_sub(3)?)?;
    (largest - least <= 1e-9 * largest).then_some(ratio * largest)
}
