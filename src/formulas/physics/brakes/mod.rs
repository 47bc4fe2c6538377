//! Brake hydraulics: from the pedal to the ground, and how much pedal it takes.

pub mod balance;
pub mod drum;
pub mod fluid;
pub mod heat;
pub mod parking;
pub mod pressure;
pub mod stroke;
pub mod wheel;

use super::refusal::{Refusal, positive};
use crate::units::Length;

/// Area of a round bore (m²).
pub(crate) fn bore_area(what: &'static str, bore: Length) -> Result<f64, Refusal> {
    let d = positive(what, bore.si())?;
    Ok(std::f64::consts::FRAC_PI_4 * d * d)
}
