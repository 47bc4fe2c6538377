//! Brake fluids by class, and how near one is to boiling.

use crate::cite::{Basis, Cite};
use crate::physics::refusal::{Refusal, positive};
use crate::units::{Temperature, TemperatureDifference};

/// One class of brake fluid, with the least boiling points the class asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BrakeFluid {
    /// The name shown.
    pub name: &'static str,
    /// Least boiling point, fresh (K).
    pub dry: Temperature,
    /// Least boiling point after the wetting test (K).
    pub wet: Temperature,
    /// Silicone base: it takes up no water and does not mix with the others.
    pub silicone: bool,
    /// Density at 20 °C (kg/m³).
    pub density: f64,
    /// Where the points come from.
    pub cite: Cite,
}

const CFR: Cite = Cite::new("49 CFR 571.116", "S5.1.1, S5.1.2", Basis::Published);
// The clause gives DOT 5 by name; for the glycol 5.1 its limits were seen in a quotation only.
const CFR_51: Cite = Cite::new("49 CFR 571.116", "S5.1.1, S5.1.2", Basis::FromMemory);

/// Density of glycol brake fluid at 20 C (kg/m3): one data sheet prints 1.05 to 1.10 g/mL.
pub const GLYCOL_DENSITY: f64 = 1060.0;
/// Density of silicone brake fluid (kg/m3), from memory.
const SILICONE_DENSITY: f64 = 955.0;

const fn fluid(name: &'static str, dry: f64, wet: f64, silicone: bool, cite: Cite) -> BrakeFluid {
    BrakeFluid {
        name,
        dry: Temperature::from_si(dry + 273.15),
        wet: Temperature::from_si(wet + 273.15),
        silicone,
        density: if silicone { SILICONE_DENSITY } else { GLYCOL_DENSITY },
        cite,
    }
}

/// Every class; the points are printed in °C.
pub static FLUIDS: &[BrakeFluid] = &[
    fluid("DOT 3", 205.0, 140.0, false, CFR),
    fluid("DOT 4", 230.0, 155.0, false, CFR),
    fluid("DOT 5", 260.0, 180.0, true, CFR),
    fluid("DOT 5.1", 260.0, 180.0, false, CFR_51),
];

/// Finds a class by name; case and spaces do not count.
///
/// # Example
/// ```
/// use linewalk_formulas::physics::brakes::fluid::brake_fluid;
/// assert_eq!(brake_fluid("dot4").map(|f| f.name), Some("DOT 4"));
/// assert!(brake_fluid("DOT 6").is_none());
/// ```
pub fn brake_fluid(name: &str) -> Option<&'static BrakeFluid> {
    let folded_name = |text: &str| text.split_whitespace().collect::<String>().to_ascii_lowercase();
    FLUIDS.iter().find(|fluid| folded_name(fluid.name) == folded_name(name))
}

/// How far the hottest fluid seen stays under the wet boiling point of its class.
///
/// # Formula
/// margin = T_wet − T_hot
/// # Symbols
/// T_wet wet boiling point of `fluid`, T_hot `hottest` (K) · margin (K)
/// # Valid range
/// Below zero the fluid may have boiled.
/// # Errors
/// A temperature that is not over absolute zero.
/// # Source
/// Wet point: 49 CFR 571.116 S5.1.2, the least of the class.
/// # Example
/// ```
/// use linewalk_formulas::physics::brakes::fluid::{brake_fluid, fluid_margin};
/// use linewalk_formulas::units::Temperature;
/// let Some(dot4) = brake_fluid("DOT 4") else { unreachable!() };
/// let margin = fluid_margin(dot4, Temperature::from_celsius(120.0))?;
/// assert!((margin.si() - 35.0).abs() < 1e-9);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn fluid_margin(fluid: &BrakeFluid, hottest: Temperature) -> Result<TemperatureDifference, Refusal> {
    let hot = positive("the hottest fluid temperature", hottest.si())?;
    Ok(TemperatureDifference::from_si(fluid.wet.si() - hot))
}
