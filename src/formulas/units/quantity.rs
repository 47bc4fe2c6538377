//! One small type per physical quantity, so that a pressure cannot be passed where a length belongs.

use super::Kind;

/// What every quantity type can do: say its kind, and go to and from SI.
pub trait Quantity: Copy + PartialEq + PartialOrd + std::fmt::Debug {
    /// The kind a person types for it.
    const KIND: Kind;
    /// Wraps a value already in the SI unit of [`Self::KIND`].
    fn from_si(si: f64) -> Self;
    /// The value in the SI unit of [`Self::KIND`].
    fn si(self) -> f64;
}

/// Declares the quantity types; each is an `f64` in the SI unit named in its sentence.
macro_rules! quantities {
    ($($(#[$doc:meta])+ $name:ident),+ $(,)?) => {$(
        $(#[$doc])+
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl Quantity for $name {
            const KIND: Kind = Kind::$name;
            fn from_si(si: f64) -> Self {
                Self(si)
            }
            fn si(self) -> f64 {
                self.0
            }
        }

        impl $name {
            /// Wraps a value already in the SI unit.
            pub const fn from_si(si: f64) -> Self {
                Self(si)
            }
            /// The value in the SI unit.
            pub const fn si(self) -> f64 {
                self.0
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl std::ops::Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }
    )+};
}

quantities! {
    /// A length in metres (m).
    Length,
    /// A mass in kilograms (kg).
    Mass,
    /// A force in newtons (N).
    Force,
    /// A torque in newton metres (N.m).
    Torque,
    /// A gauge pressure, or an elastic modulus, in pascals (Pa). Absolute readings are stored as gauge.
    Pressure,
    /// A thermodynamic temperature in kelvins (K).
    Temperature,
    /// A difference between two temperatures in kelvins (K); its own kind, never a temperature.
    TemperatureDifference,
    /// A volume in cubic metres (m3).
    Volume,
    /// A mass density in kilograms a cubic metre (kg/m3).
    Density,
    /// A dynamic viscosity in pascal seconds (Pa.s).
    Viscosity,
    /// A plane angle in radians (rad).
    Angle,
    /// A plain number or a share, 1 = 100 %.
    Ratio,
    /// A time in seconds (s).
    Time,
    /// A rotational rate or frequency in cycles a second (1/s).
    Rate,
    /// An electric potential in volts (V).
    Voltage,
    /// An electric current in amperes (A).
    Current,
    /// An electric resistance in ohms (ohm).
    Resistance,
    /// A nozzle factor: volume flow over the root of the pressure drop, m3/s per Pa^0.5, for a liquid of 1000 kg/m3.
    NozzleFactor,
    /// A volume flow in cubic metres a second (m3/s).
    Flow,
    /// A speed in metres a second (m/s).
    Speed,
    /// Heat that a kilogram takes up by one kelvin, in joules (J/(kg.K)).
    SpecificHeat,
}

/// Standard atmosphere, the ambient pressure everywhere in the program (ISO 2533): 101 325 Pa.
pub const AMBIENT: f64 = 101_325.0;
/// Standard acceleration of free fall (CGPM 1901): 9.806 65 m/s2.
pub const STANDARD_GRAVITY: f64 = 9.806_65;
/// The international inch (1959): 0.0254 m exactly.
pub const INCH: f64 = 0.0254;
/// One pound-force a square inch in pascals: 0.453 592 37 kg x 9.806 65 m/s2 over one square inch.
pub const PSI: f64 = 0.453_592_37 * STANDARD_GRAVITY / (INCH * INCH);

impl Pressure {
    /// A gauge pressure typed in pounds-force a square inch.
    pub fn from_psi(psi: f64) -> Self {
        Self(psi * PSI)
    }
    /// The absolute pressure in Pa: gauge plus one standard atmosphere.
    pub fn absolute(self) -> f64 {
        self.0 + AMBIENT
    }
}

impl Length {
    /// A length in inches.
    pub fn from_inches(inches: f64) -> Self {
        Self(inches * INCH)
    }
}

impl Angle {
    /// An angle in degrees.
    pub fn from_degrees(degrees: f64) -> Self {
        Self(degrees.to_radians())
    }
}

impl Temperature {
    /// A temperature in degrees Celsius.
    pub fn from_celsius(celsius: f64) -> Self {
        Self(celsius + 273.15)
    }
    /// A temperature in degrees Fahrenheit.
    pub fn from_fahrenheit(fahrenheit: f64) -> Self {
        Self((fahrenheit + 459.67) / 1.8)
    }
}

/// A value as a person gave it: the value and, where stated, the half-width of its rectangular uncertainty in SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Given<T> {
    /// The value itself.
    pub value: T,
    /// Half-width of the stated uncertainty, in the SI unit of the kind; none where nothing was stated.
    pub half_width: Option<f64>,
}

impl<T: Quantity> Given<T> {
    /// An exact value, without a stated uncertainty.
    pub fn exact(value: T) -> Self {
        Self { value, half_width: None }
    }
    /// The value in SI.
    pub fn si(self) -> f64 {
        self.value.si()
    }
}
