//! The one electrical sum: what a voltage drop says about a connection.

use super::refusal::{Refusal, not_negative, positive};
use crate::units::{Current, Resistance, Voltage};

/// Resistance of a connection, from the voltage lost over it while a known current flows.
///
/// # Formula
/// R = U / I
/// # Symbols
/// R resistance (ohm) · U `drop` (V) · I `amps` (A)
/// # Valid range
/// Steady direct current.
/// # Errors
/// A current that is not over zero, or a drop below zero.
/// # Source
/// Ohm's law.
/// # Example
/// ```
/// use linewalk_formulas::physics::electrics::resistance;
/// use linewalk_formulas::units::{Current, Voltage};
/// let r = resistance(Voltage::from_si(0.2), Current::from_si(4.0))?;
/// assert!((r.si() - 0.05).abs() < 1e-15);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn resistance(drop: Voltage, amps: Current) -> Result<Resistance, Refusal> {
    let drop = not_negative("the voltage drop", drop.si())?;
    Ok(Resistance::from_si(drop / positive("the current", amps.si())?))
}
