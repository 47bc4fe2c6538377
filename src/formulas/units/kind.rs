//! The kinds of quantity a person can type.

/// A kind of quantity. Two kinds never mix, even where their SI units agree.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// m
    Length,
    /// kg
    Mass,
    /// N
    Force,
    /// N.m
    Torque,
    /// Pa, gauge (psia and bara are absolute)
    Pressure,
    /// K
    Temperature,
    /// K, as a difference
    TemperatureDifference,
    /// m3
    Volume,
    /// kg/m3
    Density,
    /// Pa.s
    Viscosity,
    /// rad
    Angle,
    /// 1
    Ratio,
    /// s
    Time,
    /// calendar days or months
    Span,
    /// 1/s
    Rate,
    /// V
    Voltage,
    /// A
    Current,
    /// ohm
    Resistance,
    /// m3/s per Pa^0.5
    NozzleFactor,
    /// m3/s
    Flow,
    /// m/s
    Speed,
    /// J/(kg.K)
    SpecificHeat,
}

/// Every kind there is.
pub const KINDS: &[Kind] = &[
    Kind::Length,
    Kind::Mass,
    Kind::Force,
    Kind::Torque,
    Kind::Pressure,
    Kind::Temperature,
    Kind::TemperatureDifference,
    Kind::Volume,
    Kind::Density,
    Kind::Viscosity,
    Kind::Angle,
    Kind::Ratio,
    Kind::Time,
    Kind::Span,
    Kind::Rate,
    Kind::Voltage,
    Kind::Current,
    Kind::Resistance,
    Kind::NozzleFactor,
    Kind::Flow,
    Kind::Speed,
    Kind::SpecificHeat,
];

impl Kind {
    /// What it is called in a message: "a length", "a temperature difference".
    pub fn name(self) -> &'static str {
        match self {
            Self::Length => "a length",
            Self::Mass => "a mass",
            Self::Force => "a force",
            Self::Torque => "a torque",
            Self::Pressure => "a pressure",
            Self::Temperature => "a temperature",
            Self::TemperatureDifference => "a temperature difference",
            Self::Volume => "a volume",
            Self::Density => "a density",
            Self::Viscosity => "a viscosity",
            Self::Angle => "an angle",
            Self::Ratio => "a share or plain number",
            Self::Time => "a time",
            Self::Span => "a calendar span",
            Self::Rate => "a rate",
            Self::Voltage => "a voltage",
            Self::Current => "a current",
            Self::Resistance => "a resistance",
            Self::NozzleFactor => "a nozzle factor",
            Self::Flow => "a volume flow",
            Self::Speed => "a speed",
            Self::SpecificHeat => "a specific heat",
        }
    }

    /// Two or three ways of writing one, for remedies.
    pub fn examples(self) -> &'static str {
        match self {
            Self::Length => "\"3/16 in\", \"1-1/4 in\", \"4 ft 3 1/2 in\" or \"22 mm\"",
            Self::Mass => "\"10 lb 4 oz\" or \"4.5 kg\"",
            Self::Force => "\"40 lbf\" or \"180 N\"",
            Self::Torque => "\"15 lbf.ft\", \"90 lbf.in\" or \"20 N.m\"",
            Self::Pressure => "\"1200 psi\", \"85 bar\" or \"2.5 MPa\"",
            Self::Temperature => "\"70 F\", \"21 C\" or \"294 K\"",
            Self::TemperatureDifference => "\"50 F diff\" or \"28 K diff\"",
            Self::Volume => "\"335 in3\", \"6.2 L\" or \"8 floz\"",
            Self::Density => "\"1616 kg/m3\"",
            Self::Viscosity => "\"0.66 mPa.s\"",
            Self::Angle => "\"60 deg\" or \"1.05 rad\"",
            Self::Ratio => "\"46 %\" or 0.46",
            Self::Time => "\"0.4 s\", \"5 min\" or \"2 h\"",
            Self::Span => "\"90 days\", \"6 months\" or \"2 years\"",
            Self::Rate => "\"7800 rpm\" or \"28 Hz\"",
            Self::Voltage => "\"12.6 V\"",
            Self::Current => "\"4 A\"",
            Self::Resistance => "\"0.2 ohm\"",
            Self::NozzleFactor => "\"0.55 gpm/psi^0.5\" or \"8 L/min/bar^0.5\"",
            Self::Flow => "\"2 gpm\" or \"8 L/min\"",
            Self::Speed => "\"120 mph\" or \"190 km/h\"",
            Self::SpecificHeat => "\"0.13 Btu/lb/F\" or \"544 J/kg/K\"",
        }
    }

    /// The SI unit as it is written in `numbers --format json`.
    pub fn si_unit(self) -> &'static str {
        match self {
            Self::Length => "m",
            Self::Mass => "kg",
            Self::Force => "N",
            Self::Torque => "N.m",
            Self::Pressure => "Pa",
            Self::Temperature | Self::TemperatureDifference => "K",
            Self::Volume => "m3",
            Self::Density => "kg/m3",
            Self::Viscosity => "Pa.s",
            Self::Angle => "rad",
            Self::Ratio => "1",
            Self::Time => "s",
            Self::Span => "day",
            Self::Rate => "1/s",
            Self::Voltage => "V",
            Self::Current => "A",
            Self::Resistance => "ohm",
            Self::NozzleFactor => "m3/s/Pa^0.5",
            Self::Flow => "m3/s",
            Self::Speed => "m/s",
            Self::SpecificHeat => "J/kg/K",
        }
    }
}
