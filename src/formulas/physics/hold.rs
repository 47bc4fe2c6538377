//! Did the hold test leak, or did it only cool?

use super::refusal::{Refusal, not_negative, positive};
use crate::units::{PSI, Pressure, Temperature, Volume};

/// What one kelvin does to a closed brake circuit, least and most (Pa/K): 10 and 70 psi. Soft hoses and calipers lie low,
/// a stiff circuit of tube lies high; rough, and taken where [`pressure_per_kelvin`] cannot be worked.
pub const PER_KELVIN: (f64, f64) = (10.0 * PSI, 70.0 * PSI);
/// Expansion of a glycol brake fluid with the temperature, less that of the steel around it, least and most (1/K).
pub const EXPANSION: (f64, f64) = (0.85 * 7.5e-4 - STEEL, 1.15 * 7.5e-4 - STEEL);
/// Expansion of a volume inside steel: three times 11.7e-6 along each edge (1/K).
const STEEL: f64 = 3.0 * 11.7e-6;
/// A temperature change past which a hold never accepts (K).
pub const TEMPERATURE_LIMIT: f64 = 1.0;

/// The fall of a hold test, and what is left of it once the temperature has had its part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HoldDrop {
    /// Fall as read, a share of the start pressure; below zero the pressure rose.
    pub drop: f64,
    /// Least fall once corrected for temperature.
    pub low: f64,
    /// Most fall once corrected for temperature.
    pub high: f64,
    /// Start less end temperature (K).
    pub cooled: f64,
    /// The most the temperature change can explain, whichever way it went; never below zero.
    pub temperature_part: f64,
    /// Whether it is known how long it was held.
    pub timed: bool,
}

/// Why a hold is not judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// The limit lies inside the band that the temperature leaves.
    BandAcrossLimit,
    /// The temperature moved over 1 K: repeat the hold.
    TemperatureMoved,
    /// The pressure rose: a leak may hide behind the warming.
    PressureRose,
    /// How long it was held is not known.
    NotTimed,
}

/// What a hold test says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Judgement {
    /// It holds.
    Accept,
    /// It leaks.
    Reject,
    /// It does not say.
    Undecided(Doubt),
}

/// What one kelvin does to the pressure of a closed brake circuit.
///
/// # Formula
/// a = β V / (V/K + g)
/// # Symbols
/// β `expansion` of the fluid less that of what is around it (1/K) · V `fluid` in the circuit (m³) ·
/// K `bulk_modulus` of the fluid (Pa) · g `give`, how much more hoses and calipers hold for each pascal (m³/Pa) · a (Pa/K)
/// # Valid range
/// A circuit full of one fluid, all of it at one temperature, over the few hundred psi in which g is straight.
/// # Errors
/// A volume, modulus or expansion that is not over zero, a give below zero.
/// # Source
/// Volumes in balance: what the fluid would grow is what the circuit has to give.
/// # Example
/// 200 cm³, 1.4 GPa, 6.2e-13 m³/Pa, 7.15e-4 1/K: 1.43e-7 m³/K over 7.63e-13 m³/Pa, 1.874e5 Pa/K or 27 psi/K.
/// ```
/// use linewalk_formulas::physics::hold::pressure_per_kelvin;
/// use linewalk_formulas::units::{Pressure, Volume};
/// let a = pressure_per_kelvin(Volume::from_si(2e-4), Pressure::from_si(1.4e9), 6.2e-13, 7.15e-4)?;
/// assert!((a - 1.43e-7 / 7.6286e-13).abs() < 10.0);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn pressure_per_kelvin(
    fluid: Volume,
    bulk_modulus: Pressure,
    give: f64,
    expansion: f64,
) -> Result<f64, Refusal> {
    let fluid = positive("the fluid in the circuit", fluid.si())?;
    let modulus = positive("the bulk modulus", bulk_modulus.si())?;
    let give = not_negative("what hoses and calipers give", give)?;
    Ok(positive("the expansion", expansion)? * fluid / (fluid / modulus + give))
}

/// Fall of a pressure hold, with the band a temperature change leaves.
///
/// # Formula
/// d = (p₁ − p₂)/p₁; corrected: d − a (T₁ − T₂)/p₁ ± 2 r/p₁ for the least and the most that a can be
/// # Symbols
/// p₁ `start`, p₂ `end` gauge pressure (Pa) · T₁, T₂ temperatures then (K) ·
/// a `per_kelvin`, what one kelvin does to the circuit, least and most (Pa/K) ·
/// r `repeat`, how far two readings of one gauge differ by themselves (Pa), not its accuracy · d (1)
/// # Valid range
/// A closed circuit full of glycol brake fluid.
/// # Errors
/// A start pressure or a temperature that is not over zero, an end pressure below zero.
/// # Source
/// a from [`pressure_per_kelvin`], or [`PER_KELVIN`] (computed, rough).
/// # Example
/// 1 200 psi that ends at 1 180 with the circuit 0.2 K cooler: 20 psi as read, 6 to 18 psi corrected.
/// ```
/// use linewalk_formulas::physics::hold::{Judgement, PER_KELVIN, hold_drop};
/// use linewalk_formulas::units::{Pressure, Temperature};
/// let (c, p) = (Temperature::from_celsius, Pressure::from_psi);
/// let hold = hold_drop(p(1200.0), p(1180.0), c(20.2), c(20.0), p(0.0), PER_KELVIN)?;
/// assert!((hold.drop - 20.0 / 1200.0).abs() < 1e-12);
/// assert!((hold.low - 6.0 / 1200.0).abs() < 1e-12 && (hold.high - 18.0 / 1200.0).abs() < 1e-12);
/// assert_eq!(hold.judge(0.02), Judgement::Accept);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn hold_drop(
    start: Pressure,
    end: Pressure,
    start_temperature: Temperature,
    end_temperature: Temperature,
    repeat: Pressure,
    per_kelvin: (f64, f64),
) -> Result<HoldDrop, Refusal> {
    let p1 = positive("the start pressure", start.si())?;
    let p2 = not_negative("the end pressure", end.si())?;
    let t1 = positive("the start temperature", start_temperature.si())?;
    let t2 = positive("the end temperature", end_temperature.si())?;
    let gauge = 2.0 * not_negative("the gauge's repeatability", repeat.si())? / p1;
    let drop = (p1 - p2) / p1;
    let cooled = t1 - t2;
    let least = positive("what a kelvin does", per_kelvin.0)?;
    let most = positive("what a kelvin does", per_kelvin.1)?;
    let (one, two) = (drop - least * cooled / p1, drop - most * cooled / p1);
    Ok(HoldDrop {
        drop,
        low: one.min(two) - gauge,
        high: one.max(two) + gauge,
        cooled,
        temperature_part: least.max(most) * cooled.abs() / p1,
        timed: true,
    })
}

impl HoldDrop {
    /// The verdict against the largest fall allowed.
    ///
    /// # Formula
    /// Up to 1.0 K: accept where high ≤ limit, reject where low > limit, else undecided. Over 1.0 K: never accept;
    /// reject where d > limit + 2 × the upper temperature part. A rise (d < 0) never accepts, nor does a hold of unknown length.
    /// # Symbols
    /// `limit` the largest share allowed (1)
    /// # Valid range
    /// Any limit of zero or more.
    /// # Errors
    /// None.
    /// # Source
    /// Common practice, no source.
    /// # Example
    /// ```
    /// use linewalk_formulas::physics::hold::{Doubt, Judgement, PER_KELVIN, hold_drop};
    /// use linewalk_formulas::units::{Pressure, Temperature};
    /// let (c, p) = (Temperature::from_celsius, Pressure::from_psi);
    /// let warmed = hold_drop(p(1200.0), p(1210.0), c(20.0), c(20.1), p(0.0), PER_KELVIN)?;
    /// assert_eq!(warmed.judge(0.02), Judgement::Undecided(Doubt::PressureRose));
    /// # Ok::<(), linewalk_formulas::physics::Refusal>(())
    /// ```
    pub fn judge(self, limit: f64) -> Judgement {
        // A billionth of grace, so that 1.0 K and 2 % typed in any unit are 1.0 K and 2 %.
        let grace = 1e-9;
        if self.cooled.abs() > TEMPERATURE_LIMIT + grace {
            return if self.drop > limit + 2.0 * self.temperature_part + grace {
                Judgement::Reject
            } else {
                Judgement::Undecided(Doubt::TemperatureMoved)
            };
        }
        if self.low > limit + grace {
            Judgement::Reject
        } else if self.high > limit + grace {
            Judgement::Undecided(Doubt::BandAcrossLimit)
        } else if self.drop < -grace {
            Judgement::Undecided(Doubt::PressureRose)
        } else if !self.timed {
            Judgement::Undecided(Doubt::NotTimed)
        } else {
            Judgement::Accept
        }
    }
}
