//! A flexible hose between two points: how slack it hangs and how tightly it bends.

use super::elliptic::complete;
use super::refusal::{Refusal, positive};
use crate::units::{Length, Pressure};

/// Length to spare between the ends.
///
/// # Formula
/// s = L − C
/// # Symbols
/// s slack, L `free` length, C `chord`, the straight distance between the fittings (m)
/// # Valid range
/// Below zero the hose is that much too short.
/// # Errors
/// A length that is not over zero.
/// # Source
/// Definition.
/// # Example
/// ```
/// use linewalk_formulas::physics::hose::slack;
/// use linewalk_formulas::units::Length;
/// let s = slack(Length::from_inches(12.75), Length::from_inches(12.0))?;
/// assert!((s.si() - Length::from_inches(0.75).si()).abs() < 1e-15);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn slack(free: Length, chord: Length) -> Result<Length, Refusal> {
    let l = positive("the hose length", free.si())?;
    Ok(Length::from_si(l - positive("the distance between the hose ends", chord.si())?))
}

/// Free length over the straight distance.
///
/// # Formula
/// ratio = L / C
/// # Symbols
/// L `free` length, C `chord` (m) · ratio (1)
/// # Valid range
/// Under 1 the hose does not reach.
/// # Errors
/// A length that is not over zero.
/// # Source
/// Definition; 1.05 to 1.08 is the slack asked for by FAA aviation maintenance handbook, general, p. 7-19.
/// # Example
/// ```
/// use linewalk_formulas::physics::hose::length_ratio;
/// use linewalk_formulas::units::Length;
/// let ratio = length_ratio(Length::from_inches(12.6), Length::from_inches(12.0))?;
/// assert!((ratio - 1.05).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn length_ratio(free: Length, chord: Length) -> Result<f64, Refusal> {
    let l = positive("the hose length", free.si())?;
    Ok(l / positive("the distance between the hose ends", chord.si())?)
}

/// Height of the bow a slightly slack hose makes.
///
/// # Formula
/// b = √(3 C (L − C) / 8)
/// # Symbols
/// b bow at mid-length, C `chord`, L `free` length (m)
/// # Valid range
/// C ≤ L ≤ 1.3 C. Under the elastica by 4 to 5 % up to 6 % slack, by 8 % at 27 %.
/// # Errors
/// A length that is not over zero, a hose that does not reach, or over 30 % slack.
/// # Source
/// Length of a shallow parabola, L ≈ C + 8 b²/(3 C), any calculus text.
/// # Example
/// ```
/// use linewalk_formulas::physics::hose::bow;
/// use linewalk_formulas::units::Length;
/// let b = bow(Length::from_inches(12.75), Length::from_inches(12.0))?;
/// assert!((b.si() / Length::from_inches(1.0).si() - 1.8371).abs() < 5e-5);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn bow(free: Length, chord: Length) -> Result<Length, Refusal> {
    let (l, c) = reach(free, chord)?;
    if l - c > 0.3 * c * (1.0 + 1e-12) {
        return Err(Refusal::TooSlack);
    }
    Ok(Length::from_si((3.0 * c * (l - c) / 8.0).sqrt()))
}

/// The planar elastica of a hose whose ends are free to turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Elastica {
    /// Elliptic modulus k (1); 0 is straight.
    pub modulus: f64,
    /// Least radius of bend, at mid-length (m); infinite where the hose is straight.
    pub least_radius: Length,
    /// Height of the bow (m).
    pub bow: Length,
}

/// The shape of a thin elastic hose with both ends free to turn.
///
/// # Formula
/// C/L = 2 E(k)/K(k) − 1, R = L/(4 k K(k)), b = L k/K(k)
/// # Symbols
/// C `chord`, L `free` length, R least bend radius, b bow (m) · k modulus (1) · K, E complete elliptic integrals
/// # Valid range
/// 0 < C ≤ L, in one plane. A fitting that points away makes the true bend tighter, so R is *at most*.
/// # Errors
/// A length that is not over zero, or a hose that does not reach.
/// # Source
/// Euler's elastica between pinned ends; Love, Mathematical Theory of Elasticity, ch. XIX (from memory).
/// # Example
/// At k = sin 45° the elastica has C/L = 0.456 947 and R/L = 0.190 690 (mpmath 1.4.1).
/// ```
/// use linewalk_formulas::physics::hose::elastica;
/// use linewalk_formulas::units::Length;
/// let shape = elastica(Length::from_si(1.0), Length::from_si(0.456_946_581))?;
/// assert!((shape.least_radius.si() - 0.190_690).abs() < 1e-6);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn elastica(free: Length, chord: Length) -> Result<Elastica, Refusal> {
    let (l, c) = reach(free, chord)?;
    let shortfall = (l - c) / l;
    // 1 − C/L = 2 (K − E)/K rises with k; 0.92 is past the loop whose ends meet.
    let (mut low, mut high) = (0.0_f64, 0.92_f64);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if 2.0 * complete(middle)?.deficit < shortfall {
            low = middle;
        } else {
            high = middle;
        }
    }
    let modulus = if shortfall > 0.0 { 0.5 * (low + high) } else { 0.0 };
    let k = complete(modulus)?.k;
    Ok(Elastica {
        modulus,
        least_radius: Length::from_si(l / (4.0 * modulus * k)),
        bow: Length::from_si(l * modulus / k),
    })
}

/// Least bend radius of a hose whose ends are free to turn; see [`elastica`].
///
/// # Formula
/// R = L/(4 k K(k)) with C/L = 2 E(k)/K(k) − 1
/// # Symbols
/// As [`elastica`]
/// # Valid range
/// 0 < C ≤ L; infinite where C = L.
/// # Errors
/// Those of [`elastica`].
/// # Source
/// As [`elastica`].
/// # Example
/// ```
/// use linewalk_formulas::physics::hose::bend_radius;
/// use linewalk_formulas::units::Length;
/// let r = bend_radius(Length::from_inches(12.75), Length::from_inches(12.0))?;
/// assert!((r.si() / Length::from_inches(1.0).si() - 8.2732).abs() < 5e-5);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn bend_radius(free: Length, chord: Length) -> Result<Length, Refusal> {
    Ok(elastica(free, chord)?.least_radius)
}

/// Tightest bend of a hose over the least that its maker allows.
///
/// # Formula
/// margin = R / R_min
/// # Symbols
/// R tightest bend `radius`, from [`bend_radius`]; R_min `least` the maker allows (m) · margin (1)
/// # Valid range
/// *At most*, as R is: 1 or more says that a free hose bends no tighter than it may.
/// # Errors
/// A radius that is not over zero.
/// # Source
/// Definition; the least radius is the maker's own.
/// # Example
/// ```
/// use linewalk_formulas::physics::hose::bend_margin;
/// use linewalk_formulas::units::Length;
/// assert_eq!(bend_margin(Length::from_si(0.06), Length::from_si(0.04))?, 0.06 / 0.04);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn bend_margin(radius: Length, least: Length) -> Result<f64, Refusal> {
    let r = positive("the bend radius of the hose", radius.si())?;
    Ok(r / positive("the least bend radius", least.si())?)
}

/// Pressure that a hose is rated for over the pressure of its circuit.
///
/// # Formula
/// margin = p_rated / p
/// # Symbols
/// p_rated `rated` pressure of the hose, working or burst; p of its `circuit` (Pa) · margin (1)
/// # Valid range
/// A hose as made: age, heat and chafing take from it what no number here knows.
/// # Errors
/// A pressure that is not over zero.
/// # Source
/// Definition; the rating is the maker's own.
/// # Example
/// ```
/// use linewalk_formulas::physics::hose::pressure_margin;
/// use linewalk_formulas::units::Pressure;
/// assert_eq!(pressure_margin(Pressure::from_si(4e7), Pressure::from_si(1e7))?, 4.0);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn pressure_margin(rated: Pressure, circuit: Pressure) -> Result<f64, Refusal> {
    let p = positive("the rated pressure of the hose", rated.si())?;
    Ok(p / positive("the pressure of the circuit", circuit.si())?)
}

/// Checks that the hose spans its ends; gives (length, chord) in metres.
fn reach(free: Length, chord: Length) -> Result<(f64, f64), Refusal> {
    let l = positive("the hose length", free.si())?;
    let c = positive("the distance between the hose ends", chord.si())?;
    if c > l { Err(Refusal::OutOfReach) } else { Ok((l, c)) }
}
