//! The gas charge of a bottle.

use super::refusal::{Refusal, not_negative, positive};
use crate::units::{AMBIENT, Pressure, Temperature, Time, Volume};

/// Gauge pressure of a closed gas charge at another temperature.
///
/// # Formula
/// p₂ = (p₁ + p_a) T₂/T₁ − p_a
/// # Symbols
/// p₁ `charge`, p₂ gauge pressure (Pa) · p_a ambient, 101 325 Pa · T₁ `from`, T₂ `to` (K)
/// # Valid range
/// Ideal gas in a constant volume. Nitrogen charged at 20 °C and read from 0 to 60 °C: within 0.6 % of the
/// absolute pressure at 20 bar, 1.2 % at 40 bar. Not for an agent whose own vapour pressure counts.
/// # Errors
/// An absolute pressure or a temperature that is not over zero.
/// # Source
/// Gay-Lussac's law, any thermodynamics text.
/// # Example
/// A federal letter on cylinders (17-0087) gives about 225 psi at 130 °F for 200 psi at 70 °F.
/// ```
/// use linewalk_formulas::physics::gas::at_temperature;
/// use linewalk_formulas::units::{PSI, Pressure, Temperature};
/// let p = at_temperature(
///     Pressure::from_psi(200.0),
///     Temperature::from_fahrenheit(70.0),
///     Temperature::from_fahrenheit(130.0),
/// )?;
/// assert!((p.si() / PSI - 225.0).abs() < 1.5);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn at_temperature(charge: Pressure, from: Temperature, to: Temperature) -> Result<Pressure, Refusal> {
    let p1 = positive("the absolute charge pressure", charge.absolute())?;
    let t1 = positive("the charge temperature", from.si())?;
    let t2 = positive("the temperature", to.si())?;
    Ok(Pressure::from_si(p1 * t2 / t1 - AMBIENT))
}

/// Gauge pressure of a gas charge that has grown into another volume.
///
/// # Formula
/// p₂ = (p₁ + p_a) (V₁/V₂)ⁿ − p_a
/// # Symbols
/// p₁ `charge`, p₂ gauge pressure (Pa) · p_a ambient, 101 325 Pa · V₁ `from`, V₂ `to` (m³) · n `exponent` (1)
/// # Valid range
/// Ideal gas; n from 1.0 (slow, at one temperature) to 1.4 (fast, no heat).
/// # Errors
/// An absolute pressure, volume or exponent that is not over zero.
/// # Source
/// Polytropic change, any thermodynamics text.
/// # Example
/// Boyle: twice the volume at n = 1, half the absolute pressure.
/// ```
/// use linewalk_formulas::physics::gas::at_volume;
/// use linewalk_formulas::units::{Pressure, Volume};
/// let p = at_volume(Pressure::from_si(2.0e6), Volume::from_si(0.002), Volume::from_si(0.004), 1.0)?;
/// assert!((p.absolute() - (2.0e6 + 101_325.0) / 2.0).abs() < 1e-6);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn at_volume(charge: Pressure, from: Volume, to: Volume, exponent: f64) -> Result<Pressure, Refusal> {
    let p1 = positive("the absolute charge pressure", charge.absolute())?;
    let v1 = positive("the gas volume", from.si())?;
    let v2 = positive("the new gas volume", to.si())?;
    let n = positive("the gas exponent", exponent)?;
    Ok(Pressure::from_si(p1 * (v1 / v2).powf(n) - AMBIENT))
}

/// A bottle's gas space at one temperature, with the liquid that shares the bottle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GasSpace {
    /// The temperature.
    pub temperature: Temperature,
    /// What the liquid leaves of the bottle.
    pub gas: Volume,
    /// The liquid.
    pub liquid: Volume,
    /// The liquid's own vapour pressure (Pa, absolute).
    pub vapour: f64,
}

/// Gauge pressure of nitrogen over a liquid that expands, at another temperature.
///
/// # Formula
/// p₂ = (p₁ + p_a − p_v1) T₂/T₁ (V_g1 + S V_l1)/(V_g2 + S V_l2) + p_v2 − p_a
/// # Symbols
/// p₁ `charge`, p₂ gauge pressure (Pa) · p_a ambient, 101 325 Pa · p_v vapour pressure (Pa) · T temperature (K) · V_g gas
/// space, V_l liquid (m³) · 1 `from`, 2 `to` · S `dissolved`, Ostwald's coefficient: volume of nitrogen in a volume of liquid (1)
/// # Valid range
/// Ideal gas; S the same at both temperatures, and given time to settle.
/// # Errors
/// A gas space, an absolute pressure or a temperature that is not over zero; a coefficient below zero.
/// # Source
/// Dalton's and Henry's laws, any physical chemistry text.
/// # Example
/// 10 lb of FK-5-1-12 in 250 in³ at 200 psi and 70 °F: 278 psi at 130 °F if no nitrogen is dissolved, 248 psi at S = 0.4.
/// ```
/// use linewalk_formulas::physics::agents::agent;
/// use linewalk_formulas::physics::gas::{GasSpace, expanded};
/// use linewalk_formulas::units::{PSI, Pressure, Temperature, Volume};
/// let Some(agent) = agent("FK-5-1-12") else { return };
/// let space = |fahrenheit| {
///     let temperature = Temperature::from_fahrenheit(fahrenheit);
///     let liquid = agent.at(temperature).map_or(0.0, |at| 10.0 * 0.453_592_37 / at.density.si());
///     let gas = 250.0 * 0.0254_f64.powi(3) - liquid;
///     let vapour = agent.at(temperature).map_or(0.0, |at| at.vapour_pressure);
///     GasSpace { temperature, gas: Volume::from_si(gas), liquid: Volume::from_si(liquid), vapour }
/// };
/// for (dissolved, psi) in [(0.0, 278.0), (0.4, 248.0)] {
///     let hot = expanded(Pressure::from_psi(200.0), space(70.0), space(130.0), dissolved);
///     assert!(hot.is_ok_and(|hot| (hot.si() / PSI - psi).abs() < 1.0));
/// }
/// ```
pub fn expanded(charge: Pressure, from: GasSpace, to: GasSpace, dissolved: f64) -> Result<Pressure, Refusal> {
    let share = not_negative("the dissolved nitrogen", dissolved)?;
    let room = |space: GasSpace| {
        Ok::<f64, Refusal>(positive("the gas space", space.gas.si())? + share * space.liquid.si())
    };
    let nitrogen =
        positive("the absolute charge pressure less the vapour's", charge.absolute() - from.vapour)?;
    let warmer = positive("the temperature", to.temperature.si())?
        / positive("the charge temperature", from.temperature.si())?;
    Ok(Pressure::from_si(nitrogen * warmer * room(from)? / room(to)? + to.vapour - AMBIENT))
}

/// How far the exponent of [`usual_exponent`] may be off, either way.
pub const EXPONENT_SPREAD: f64 = 0.1;

/// The exponent that a gas charge is worked with where none is given: the longer a discharge lasts, the more heat the
/// shell gives back to the gas.
///
/// # Formula
/// n = 1.2 at t ≤ 3 s, 1.0 at t ≥ 10 s, straight in ln t between
/// # Symbols
/// t `duration` of the discharge (s) · n exponent (1), ± [`EXPONENT_SPREAD`], never below 1
/// # Valid range
/// Bottles of a few litres. Held to two measured runs of nitrogen over water, 14 to 22 s long, while the gas grew to 1.6
/// times its volume; nothing measured stands behind more growth or a shorter discharge.
/// # Errors
/// None: a duration outside the range is given the nearer end.
/// # Source
/// Common practice.
/// # Example
/// ```
/// use linewalk_formulas::physics::gas::usual_exponent;
/// use linewalk_formulas::units::Time;
/// assert_eq!(usual_exponent(Time::from_si(22.0)), 1.0);
/// assert!((usual_exponent(Time::from_si(30.0_f64.sqrt())) - 1.1).abs() < 1e-12);
/// ```
pub fn usual_exponent(duration: Time) -> f64 {
    let ([fast, slow], [t1, t2]) = ([1.2, 1.0], [3.0_f64, 10.0_f64]);
    let share = (duration.si() / t1).ln() / (t2 / t1).ln();
    fast + (slow - fast) * share.clamp(0.0, 1.0)
}
