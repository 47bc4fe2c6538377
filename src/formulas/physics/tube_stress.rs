//! How much pressure a tube carries: the piping-code form, the inside of a bend, and bursting.

use super::refusal::{Refusal, positive};
use crate::units::{INCH, Length, Pressure};

/// Coefficient Y of the code for ductile metal below the creep range and t < D/6.
const Y: f64 = 0.4;

/// Pressure a straight tube may carry for good, by the piping code.
///
/// # Formula
/// P = 2 S t / (D − 2 Y t), Y = 0.4, quality and weld factors E = W = 1
/// # Symbols
/// P pressure (Pa) · S `allowable` stress (Pa) · t `wall`, the least wall (m) · D `od`, outside diameter (m)
/// # Valid range
/// 0 < t < D/6, ductile metal below 480 °C. The safety factor is inside S.
/// # Errors
/// A size or stress that is not over zero, no bore left, or t ≥ D/6.
/// # Source
/// ASME B31.3 §304.1.2 eq. (3a), seen as quoted in public worked sheets.
/// # Example
/// A published tube catalogue rates 1/4 × 0.035 in 316 at 5 100 psi (rounded down), at the largest outside
/// diameter (+0.005 in) and the least wall (−15 %).
/// ```
/// use linewalk_formulas::physics::tube_stress::straight_pressure;
/// use linewalk_formulas::units::{Length, PSI, Pressure};
/// let p = straight_pressure(
///     Length::from_inches(0.255),
///     Length::from_inches(0.85 * 0.035),
///     Pressure::from_psi(20_000.0),
/// )?;
/// assert_eq!((p.si() / PSI / 100.0).floor() * 100.0, 5_100.0);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn straight_pressure(od: Length, wall: Length, allowable: Pressure) -> Result<Pressure, Refusal> {
    let (d, t) = tube(od, wall)?;
    let s = positive("the allowable stress", allowable.si())?;
    if 6.0 * t >= d * (1.0 - 1e-12) {
        return Err(Refusal::ThickWall);
    }
    Ok(Pressure::from_si(2.0 * s * t / (d - 2.0 * Y * t)))
}

/// Stress intensity at the inside of a bend: by how much the inner wall is loaded above the straight tube.
///
/// # Formula
/// I = (4 R/D − 1) / (4 R/D − 2)
/// # Symbols
/// I factor (1) · R `radius` of the bend to the tube's centre line (m) · D `od` (m)
/// # Valid range
/// R > D/2; 1 < I, towards 1 for an easy bend.
/// # Errors
/// A size that is not over zero, or R ≤ D/2.
/// # Source
/// ASME B31.3 §304.2.1 eq. (3d), from memory; the same as the membrane stress at the inner line of a torus.
/// # Example
/// ```
/// use linewalk_formulas::physics::tube_stress::bend_intensity;
/// use linewalk_formulas::units::Length;
/// let i = bend_intensity(Length::from_inches(0.25), Length::from_inches(0.75))?;
/// assert!((i - 1.1).abs() < 1e-12); // R/D = 3
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn bend_intensity(od: Length, radius: Length) -> Result<f64, Refusal> {
    let d = positive("the outside diameter", od.si())?;
    let r = positive("the bend radius", radius.si())?;
    if r <= d / 2.0 {
        return Err(Refusal::BendInsideTube);
    }
    Ok((4.0 * r / d - 1.0) / (4.0 * r / d - 2.0))
}

/// Pressure a bent tube may carry for good, by the piping code, at the inside of its tightest bend.
///
/// # Formula
/// P = 2 (S/I) t / (D − 2 Y t), Y = 0.4, I of [`bend_intensity`]
/// # Symbols
/// As [`straight_pressure`]; R `radius` of the bend to the centre line (m)
/// # Valid range
/// 0 < t < D/6 and R > D/2.
/// # Errors
/// Those of [`straight_pressure`] and [`bend_intensity`].
/// # Source
/// ASME B31.3 §304.2.1 eq. (3c), from memory.
/// # Example
/// R/D = 3 costs a tenth of the straight tube's stress.
/// ```
/// use linewalk_formulas::physics::tube_stress::{bend_pressure, straight_pressure};
/// use linewalk_formulas::units::{Length, Pressure};
/// let (od, wall, s) = (Length::from_inches(0.25), Length::from_inches(0.035), Pressure::from_psi(20_000.0));
/// let bent = bend_pressure(od, wall, s, Length::from_inches(0.75))?;
/// assert!((straight_pressure(od, wall, s)?.si() / bent.si() - 1.1).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn bend_pressure(
    od: Length,
    wall: Length,
    allowable: Pressure,
    radius: Length,
) -> Result<Pressure, Refusal> {
    let intensity = bend_intensity(od, radius)?;
    straight_pressure(od, wall, allowable * (1.0 / intensity))
}

/// Hoop stress in a thick-walled tube at any radius.
///
/// # Formula
/// σ = (p_i r_i² − p_o r_o²)/(r_o² − r_i²) + (p_i − p_o) r_i² r_o² / ((r_o² − r_i²) r²)
/// # Symbols
/// σ hoop stress (Pa) · p_i `inside`, p_o `outside` pressure (Pa) · r_i, r_o inner and outer radius (m) · r `at` (m)
/// # Valid range
/// Elastic, r_i ≤ r ≤ r_o.
/// # Errors
/// A size that is not over zero, r_o ≤ r_i, or r outside the wall.
/// # Source
/// Lamé's solution, any strength-of-materials text.
/// # Example
/// r_i 10, r_o 20, 100 inside: 5/3 of the pressure at the bore.
/// ```
/// use linewalk_formulas::physics::tube_stress::hoop_stress;
/// use linewalk_formulas::units::{Length, Pressure};
/// let r = |m| Length::from_si(m);
/// let s = hoop_stress(r(10.0), r(20.0), Pressure::from_si(100.0), Pressure::from_si(0.0), r(10.0))?;
/// assert!((s.si() - 500.0 / 3.0).abs() < 1e-9);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn hoop_stress(
    inner: Length,
    outer: Length,
    inside: Pressure,
    outside: Pressure,
    at: Length,
) -> Result<Pressure, Refusal> {
    let ri = positive("the inner radius", inner.si())?;
    let ro = positive("the outer radius", outer.si())?;
    let r = positive("the radius", at.si())?;
    if ro <= ri || r < ri * (1.0 - 1e-12) || r > ro * (1.0 + 1e-12) {
        return Err(Refusal::NoBore);
    }
    let (i2, o2) = (ri * ri, ro * ro);
    let (pi, po) = (inside.si(), outside.si());
    let mean = (pi * i2 - po * o2) / (o2 - i2);
    Ok(Pressure::from_si(mean + (pi - po) * i2 * o2 / ((o2 - i2) * r * r)))
}

/// Pressure at which the hoop stress at the bore reaches the tensile strength.
///
/// # Formula
/// P = S_u (r_o² − r_i²) / (r_o² + r_i²)
/// # Symbols
/// P pressure (Pa) · S_u `tensile` strength (Pa) · r_o = `od`/2, r_i = `od`/2 − `wall` (m)
/// # Valid range
/// Any wall that leaves a bore. Elastic stress, so it does not reach the true burst of a tough tube.
/// # Errors
/// A size or strength that is not over zero, or no bore left.
/// # Source
/// Lamé's solution turned round, any strength-of-materials text.
/// # Example
/// 3/16 × 0.028 in at 75 ksi: 25 545 psi by the closed form.
/// ```
/// use linewalk_formulas::physics::tube_stress::burst_pressure;
/// use linewalk_formulas::units::{Length, PSI, Pressure};
/// let p = burst_pressure(
///     Length::from_inches(0.1875),
///     Length::from_inches(0.028),
///     Pressure::from_psi(75_000.0),
/// )?;
/// assert!((p.si() / PSI - 25_545.1).abs() < 0.05);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn burst_pressure(od: Length, wall: Length, tensile: Pressure) -> Result<Pressure, Refusal> {
    let (d, t) = tube(od, wall)?;
    let strength = positive("the tensile strength", tensile.si())?;
    let (ro, ri) = (d / 2.0, d / 2.0 - t);
    Ok(Pressure::from_si(strength * (ro * ro - ri * ri) / (ro * ro + ri * ri)))
}

/// How many times over a tube carries what it is asked to.
///
/// # Formula
/// margin = capacity ÷ applied
/// # Symbols
/// `capacity`, `applied` pressure (Pa) · margin (1)
/// # Valid range
/// `applied` over zero.
/// # Errors
/// A pressure that is not over zero.
/// # Source
/// Definition.
/// # Example
/// ```
/// use linewalk_formulas::physics::tube_stress::margin;
/// use linewalk_formulas::units::Pressure;
/// assert_eq!(margin(Pressure::from_si(6.0e6), Pressure::from_si(4.0e6))?, 1.5);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn margin(capacity: Pressure, applied: Pressure) -> Result<f64, Refusal> {
    let capacity = positive("the pressure it carries", capacity.si())?;
    Ok(capacity / positive("the pressure", applied.si())?)
}

/// The least wall a tube may have been delivered with, where the maker states none.
///
/// # Formula
/// t = 0.85 × nominal under 1/2 in outside diameter, 0.90 × nominal from there up
/// # Symbols
/// `od`, `wall` nominal (m) · t least wall (m)
/// # Valid range
/// Austenitic stainless tube; used for every metal as an assumption that is listed.
/// # Errors
/// A size that is not over zero, or no bore left.
/// # Source
/// ASTM A269 wall tolerance (±15 %, ±10 %), seen as quoted in a tolerance sheet.
/// # Example
/// ```
/// use linewalk_formulas::physics::tube_stress::least_wall;
/// use linewalk_formulas::units::Length;
/// let t = least_wall(Length::from_inches(0.25), Length::from_inches(0.035))?;
/// assert!((t.si() - Length::from_inches(0.02975).si()).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn least_wall(od: Length, wall: Length) -> Result<Length, Refusal> {
    let (d, _) = tube(od, wall)?;
    // A nanometre of grace: half an inch typed in any unit is half an inch.
    Ok(wall * if d < 0.5 * INCH - 1e-9 { 0.85 } else { 0.90 })
}

/// Checks that the sizes make a tube and gives them in metres.
fn tube(od: Length, wall: Length) -> Result<(f64, f64), Refusal> {
    let d = positive("the outside diameter", od.si())?;
    let t = positive("the wall", wall.si())?;
    if 2.0 * t >= d { Err(Refusal::NoBore) } else { Ok((d, t)) }
}
