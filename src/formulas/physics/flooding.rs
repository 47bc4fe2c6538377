//! How much clean agent a closed space needs, by its fuel, and how much of a charge the pipe holds.

use crate::cite::{Basis, Cite};
use crate::physics::refusal::{Refusal, not_negative, positive, share};
use crate::units::{Density, Mass, Temperature, Volume};

/// A fuel, and the concentration of FK-5-1-12 that puts its flame out in the standard's cup.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClassB {
    /// The fuel, as car files name it.
    pub fuel: &'static str,
    /// By volume (1).
    pub extinguishing: f64,
}

/// Where the table is from.
pub const CLASS_B_SOURCE: Cite =
    Cite::new("a maker's design manual for FK-5-1-12", "Table 3-1, class B", Basis::Published);

const fn fuel(fuel: &'static str, percent: f64) -> ClassB {
    ClassB { fuel, extinguishing: percent / 100.0 }
}

/// Every fuel of the table.
pub static CLASS_B: &[ClassB] = &[
    fuel("gasoline", 4.50),
    fuel("methanol", 6.50),
    fuel("ethanol", 5.50),
    fuel("denatured alcohol", 5.30),
    fuel("diesel", 3.40),
    fuel("commercial heptane", 4.40),
    fuel("isooctane", 4.70),
    fuel("isopropanol", 4.90),
    fuel("1-propanol", 5.40),
    fuel("1-butanol", 4.90),
    fuel("acetone", 4.30),
    fuel("diethyl ether", 4.90),
    fuel("methane", 5.60),
    fuel("acetonitrile", 2.90),
];

/// Least design concentration of FK-5-1-12 by one maker; another prints 5.89 % for class B.
pub const LEAST_DESIGN: f64 = 0.042;
/// The other maker's floor, with his further factor of 1.032.
pub const OTHER_LEAST_DESIGN: f64 = 0.0589;

/// Finds a fuel by its name.
///
/// # Example
/// ```
/// use linewalk_formulas::physics::flooding::class_b;
/// assert_eq!(class_b("methanol").map(|fuel| fuel.extinguishing), Some(0.065));
/// assert!(class_b("nitromethane").is_none());
/// ```
pub fn class_b(name: &str) -> Option<&'static ClassB> {
    CLASS_B.iter().find(|fuel| fuel.fuel == name)
}

/// Design concentration for a fuel.
///
/// # Formula
/// C = max(1.3 C₀, floor)
/// # Symbols
/// C (1) · C₀ `extinguishing` concentration in the cup (1) · `floor` (1)
/// # Valid range
/// FK-5-1-12, class B, a closed space.
/// # Errors
/// A share outside 0 to 1.
/// # Source
/// A maker's design manual, Table 3-1; the factor 1.3 also in IMO MSC/Circ.848.
/// # Example
/// Methanol 6.50 %: 8.45 %. Acetonitrile 2.90 %: the floor, 4.20 %.
/// ```
/// use linewalk_formulas::physics::flooding::{LEAST_DESIGN, design_concentration};
/// assert!((design_concentration(0.065, LEAST_DESIGN)? - 0.0845).abs() < 1e-12);
/// assert_eq!(design_concentration(0.029, LEAST_DESIGN)?, 0.042);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn design_concentration(extinguishing: f64, floor: f64) -> Result<f64, Refusal> {
    Ok((1.3 * share("the extinguishing concentration", extinguishing)?).max(share("the floor", floor)?))
}

/// Volume of a kilogram of FK-5-1-12 as a gas at one atmosphere (m³/kg).
///
/// # Formula
/// s = 0.0664 + 0.000274 t
/// # Symbols
/// s (m³/kg) · t `temperature` (°C)
/// # Valid range
/// −20 to 100 °C.
/// # Errors
/// A temperature outside that.
/// # Source
/// NFPA 2001, FK-5-1-12 (from memory); a maker's data sheet prints 0.0733 m³/kg at 25 °C.
/// # Example
/// ```
/// use linewalk_formulas::physics::flooding::vapor_volume;
/// use linewalk_formulas::units::Temperature;
/// assert!((vapor_volume(Temperature::from_celsius(25.0))? - 0.0733).abs() < 1e-4);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn vapor_volume(temperature: Temperature) -> Result<f64, Refusal> {
    let celsius = temperature.si() - 273.15;
    if !(-20.0..=100.0).contains(&celsius) {
        return Err(Refusal::OutsideVaporTable);
    }
    Ok(0.0664 + 0.000_274 * celsius)
}

/// Agent that brings a closed space to a concentration.
///
/// # Formula
/// W = V/s · C/(1 − C)
/// # Symbols
/// W (kg) · V `volume` of the space (m³) · s `vapor` volume of a kilogram (m³/kg) · C `concentration` (1)
/// # Valid range
/// A closed space at sea level, agent mixed through it and lost through its leaks with the air it drives out.
/// # Errors
/// A volume that is not over zero, a vapor volume that is not over zero, or a concentration outside 0 to under 1.
/// # Source
/// NFPA 2001, total flooding quantity, as printed in a maker's tables for HFC-227ea.
/// # Example
/// HFC-227ea at 20 °C, 0.1373 m³/kg, 7 %: 0.5482 kg for each m³ (0.5483 is printed).
/// ```
/// use linewalk_formulas::physics::flooding::flooding_mass;
/// use linewalk_formulas::units::Volume;
/// let w = flooding_mass(Volume::from_si(1.0), 0.1373, 0.07)?;
/// assert!((w.si() - 0.5483).abs() < 2e-4);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn flooding_mass(volume: Volume, vapor: f64, concentration: f64) -> Result<Mass, Refusal> {
    let v = positive("the volume of the space", volume.si())?;
    let s = positive("the vapor volume of the agent", vapor)?;
    let c = share("the concentration", concentration)?;
    Ok(Mass::from_si(v / s * c / positive("what the agent leaves of the air", 1.0 - c)?))
}

/// Share of a charge that fills the pipe.
///
/// # Formula
/// x = V ρ/m
/// # Symbols
/// x (1) · V `pipe` volume (m³) · ρ liquid `density` (kg/m³) · m `charge` (kg)
/// # Valid range
/// Pipe full of liquid; over 1 the charge does not fill it.
/// # Errors
/// A volume below zero, or a density or charge that is not over zero.
/// # Source
/// Definition; a maker's design manual of 2004, s. 4-2.3.1, allows at most 80 % on engineered systems.
/// # Example
/// ```
/// use linewalk_formulas::physics::flooding::pipe_share;
/// use linewalk_formulas::units::{Density, Mass, Volume};
/// let x = pipe_share(Volume::from_si(1e-3), Density::from_si(1400.0), Mass::from_si(4.0))?;
/// assert!((x - 0.35).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn pipe_share(pipe: Volume, density: Density, charge: Mass) -> Result<f64, Refusal> {
    let held = not_negative("the volume of the pipe", pipe.si())? * positive("the density", density.si())?;
    Ok(held / positive("the charge", charge.si())?)
}
