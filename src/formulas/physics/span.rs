//! The frequency at which a span of hard line sings.

use crate::units::{Density, Length, Pressure, Rate};

/// First frequency number of a beam pinned at both ends: (βL)² = π², and c = (βL)²/2π = π/2.
pub const PINNED: f64 = std::f64::consts::FRAC_PI_2;
/// First frequency number of a beam clamped at both ends: βL is the first root 4.730 040 744 862 704 of
/// cos βL cosh βL = 1, and c = (βL)²/2π = 3.560 8, usually printed 3.56.
pub const CLAMPED: f64 = 4.730_040_744_862_704 * 4.730_040_744_862_704 / (2.0 * std::f64::consts::PI);

/// A round tube full of liquid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FilledTube {
    /// Outside diameter.
    pub od: Length,
    /// Wall.
    pub wall: Length,
    /// Elastic modulus of the metal.
    pub modulus: Pressure,
    /// Density of the metal.
    pub density: Density,
    /// Density of what fills it.
    pub fluid: Density,
}

/// The first frequency of a span, between the two ideal ways of holding its ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpanFrequency {
    /// Ends held but free to turn: the low end, and the value to show.
    pub pinned: Rate,
    /// Ends held and kept from turning: the high end.
    pub clamped: Rate,
}

/// Why a span's frequency cannot be worked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SpanError {
    /// A value is not a number above zero (the fluid: zero or above); the name says which.
    #[error("the {0} must be above zero")]
    OutOfRange(&'static str),
    /// Twice the wall is not less than the outside diameter.
    #[error("twice the wall must be less than the outside diameter")]
    NoBore,
}

impl FilledTube {
    /// The bending stiffness EI (N.m2): E π (D⁴ − d⁴)/64, modulus E (Pa), outside and inside diameters D, d (m).
    ///
    /// Valid range: 0 < 2 × wall < D. Source: second moment of area of a ring (textbook).
    ///
    /// ```
    /// use linewalk_formulas::physics::span::FilledTube;
    /// use linewalk_formulas::units::{Density, Length, Pressure};
    /// let tube = FilledTube {
    ///     od: Length::from_inches(0.25),
    ///     wall: Length::from_inches(0.035),
    ///     modulus: Pressure::from_si(193e9),
    ///     density: Density::from_si(8000.0),
    ///     fluid: Density::from_si(1000.0),
    /// };
    /// assert!((tube.stiffness() - 11.2641).abs() < 1e-4);
    /// ```
    pub fn stiffness(&self) -> f64 {
        let (od, bore) = (self.od.si(), self.bore());
        self.modulus.si() * std::f64::consts::PI / 64.0 * (od.powi(4) - bore.powi(4))
    }

    /// The mass of a metre of it with its filling (kg/m): π/4 [ρ (D² − d²) + ρ_f d²], densities ρ, ρ_f (kg/m3),
    /// diameters D, d (m).
    ///
    /// Valid range: 0 < 2 × wall < D. Source: geometry.
    ///
    /// ```
    /// use linewalk_formulas::physics::span::FilledTube;
    /// use linewalk_formulas::units::{Density, Length, Pressure};
    /// let tube = FilledTube {
    ///     od: Length::from_inches(0.25),
    ///     wall: Length::from_inches(0.035),
    ///     modulus: Pressure::from_si(193e9),
    ///     density: Density::from_si(8000.0),
    ///     fluid: Density::from_si(1000.0),
    /// };
    /// assert!((tube.mass_per_metre() - 0.138_432).abs() < 1e-6);
    /// ```
    pub fn mass_per_metre(&self) -> f64 {
        let (od, bore) = (self.od.si(), self.bore());
        let metal = self.density.si() * (od * od - bore * bore);
        std::f64::consts::FRAC_PI_4 * (metal + self.fluid.si() * bore * bore)
    }

    /// Inside diameter (m).
    fn bore(&self) -> f64 {
        self.od.si() - 2.0 * self.wall.si()
    }
}

/// The first natural frequency of a span of fluid-filled tube.
///
/// # Formula
/// f = c √(EI/m)/L² (1/s), c = π/2 with pinned ends, 3.5608 with clamped ends; EI (N.m2) as
/// [`FilledTube::stiffness`], m (kg/m) as [`FilledTube::mass_per_metre`], span L (m). A clamp with a cushion lies between.
/// # Symbols
/// Given with the formula; `tube` od and wall (m), modulus (Pa), densities (kg/m3)
/// # Valid range
/// Spans many diameters long (shear and the turning of sections are left out), straight, no flow, no
/// tension, nothing else hung on it.
/// # Errors
/// [`SpanError`]: a value not above zero, or a wall that leaves no bore.
/// # Source
/// Euler–Bernoulli beam; frequency numbers computed from their equations, as vibration textbooks print them.
/// # Example
/// ```
/// use linewalk_formulas::physics::span::{FilledTube, span_frequency};
/// use linewalk_formulas::units::{Density, Length, Pressure};
/// let tube = FilledTube {
///     od: Length::from_inches(0.1875),
///     wall: Length::from_inches(0.028),
///     modulus: Pressure::from_si(193e9),
///     density: Density::from_si(8000.0),
///     fluid: Density::from_si(1060.0),
/// };
/// let sings = span_frequency(&tube, Length::from_inches(12.0))?;
/// assert_eq!(sings.pinned.si().round(), 114.0);
/// assert_eq!(sings.clamped.si().round(), 258.0);
/// # Ok::<(), linewalk_formulas::physics::span::SpanError>(())
/// ```
pub fn span_frequency(tube: &FilledTube, span: Length) -> Result<SpanFrequency, SpanError> {
    let inputs = [
        ("outside diameter", tube.od.si()),
        ("wall", tube.wall.si()),
        ("modulus", tube.modulus.si()),
        ("density of the metal", tube.density.si()),
        ("span", span.si()),
    ];
    for (name, value) in inputs {
        if !(value.is_finite() && value > 0.0) {
            return Err(SpanError::OutOfRange(name));
        }
    }
    if !(tube.fluid.si().is_finite() && tube.fluid.si() >= 0.0) {
        return Err(SpanError::OutOfRange("density of the fluid"));
    }
    if tube.bore() <= 0.0 {
        return Err(SpanError::NoBore);
    }
    let base = (tube.stiffness() / tube.mass_per_metre()).sqrt() / span.si().powi(2);
    Ok(SpanFrequency { pinned: Rate::from_si(PINNED * base), clamped: Rate::from_si(CLAMPED * base) })
}

/// The engine speeds at which an order of the engine meets a span.
///
/// # Formula
/// k n = f; from max(n₁, f₁/k) to min(n₂, f₂/k), where that is a range
/// # Symbols
/// k `order`, beats a turn of the crank (1) · n engine speed, n₁ to n₂ its `range` (1/s) · f₁, f₂ ends of what the `span`
/// sings at, pinned and clamped (1/s)
/// # Valid range
/// Any order over zero. A four-stroke of c cylinders fires at k = c/2; half orders come of its cycle of two turns, and a
/// crank that twists can make others louder than the firing order.
/// # Errors
/// None; nothing where they do not meet.
/// # Source
/// Any text on engine vibration: a four-cylinder four-stroke at 3 000 rpm fires at 100 Hz, a three-cylinder at 75 Hz.
/// # Example
/// Order 4 against 135 to 307 Hz, 2 500 to 7 800 rpm: from 2 500 to 4 605 rpm.
/// ```
/// use linewalk_formulas::physics::span::order_meets;
/// let [from, to] = order_meets(4.0, [2500.0 / 60.0, 7800.0 / 60.0], [135.0, 307.0]).unwrap_or_default();
/// assert_eq!((from * 60.0, to * 60.0), (2500.0, 4605.0));
/// assert_eq!(order_meets(0.5, [2500.0 / 60.0, 7800.0 / 60.0], [135.0, 307.0]), None);
/// ```
pub fn order_meets(order: f64, range: [f64; 2], span: [f64; 2]) -> Option<[f64; 2]> {
    let [[slow, fast], [low, high]] = [range, span];
    let (from, to) = (slow.max(low / order), fast.min(high / order));
    (from <= to).then_some([from, to])
}
