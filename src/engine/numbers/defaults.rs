//! What the program takes where a car file is silent: every such value, how far it may be off, and who says so.

use crate::cite::{Basis, Cite};
use crate::physics::gas::EXPONENT_SPREAD;
use crate::units::{INCH, Kind, Units, show};

/// A value that stands in where the file is silent.
#[derive(Clone, Copy, Debug)]
pub struct Default {
    /// Its key path, without ids.
    pub key: &'static str,
    /// What is taken.
    pub taken: Taken,
    /// How far that may be off.
    pub off: Off,
    /// Where value and spread come from.
    pub source: Cite,
}

/// What is taken.
#[derive(Clone, Copy, Debug)]
pub enum Taken {
    /// A value in SI.
    Value(Kind, f64),
    /// What follows from other inputs, or one word; its spread is of this kind.
    Words(&'static str, Kind),
}

/// How far it may be off.
#[derive(Clone, Copy, Debug)]
pub enum Off {
    /// Anywhere between two values in SI.
    Between(f64, f64),
    /// This far either way, in SI.
    By(f64),
    /// This far either way, and never below the second.
    ByAbove(f64, f64),
    /// Not at all, and why.
    Exact(&'static str),
}

/// A rule of the trade that no document states.
const TRADE: Cite = Cite::new("", "", Basis::CommonPractice);

const fn value(key: &'static str, kind: Kind, si: f64, off: Off, source: Cite) -> Default {
    Default { key, taken: Taken::Value(kind, si), off, source }
}

const fn words(key: &'static str, taken: &'static str, off: Off, source: Cite) -> Default {
    Default { key, taken: Taken::Words(taken, Kind::TemperatureDifference), off, source }
}

const DEGREE: f64 = std::f64::consts::PI / 180.0;

/// Every default, brakes first.
pub const DEFAULTS: &[Default] = &[
    value("brakes.bulk_modulus", Kind::Pressure, BULK_MODULUS, Off::Between(1.0e9, 1.9e9), COMPRESSED),
    value("brakes.wheel_brake.rollback", Kind::Length, ROLLBACK, Off::By(0.005 * INCH), TRADE),
    value("brakes.hose.growth", Kind::Ratio, HOSE_GROWTH, Off::Between(0.25, 1.0), GROWTH),
    value("brakes.parking.efficiency", Kind::Ratio, CABLES, Off::Between(0.6, 0.9), TRADE),
    value("brakes.duty.start", Kind::Temperature, START, Off::Between(278.15, 318.15), TRADE),
    value("brakes.duty.parachute.drag", Kind::Ratio, PARACHUTE, Off::Between(0.4, 0.8), CHUTE),
    value(
        "brakes.wheel_brake.rotor.specific_heat",
        Kind::SpecificHeat,
        GRAY_IRON,
        Off::Between(460.0, 600.0),
        IRON,
    ),
    value("brakes.wheel_brake.fluid_soak", Kind::Ratio, FLUID_SOAK, Off::Between(0.1, 0.35), TRADE),
    words(
        "brakes.line.tube.min_wall",
        "0.85 of the wall under 1/2 in outside diameter, 0.90 from there up",
        Off::Exact("it is the worst end of its tolerance already, and goes with the wall"),
        Cite::new("ASTM A269", "wall tolerance", Basis::FromMemory),
    ),
    value("suppression.line.roughness", Kind::Length, ROUGHNESS, Off::Between(0.6e-6, 2.4e-6), DRAWN),
    value("suppression.line.inlet_k", Kind::Ratio, 0.0, Off::Exact("no further part is named"), TRADE),
    words(
        "suppression.line.leaves_by",
        "branch",
        Off::Exact("the branch is the worse of the two ways"),
        Cite::new("Crane TP-410", "tees, 60 and 20 diameters", Basis::FromMemory),
    ),
    words(
        "suppression.line.fittings",
        "a 90 degree bend for each quarter turn of the path",
        Off::Exact("it goes with the path"),
        Cite::new("Crane TP-410", "bends, 14 diameters", Basis::FromMemory),
    ),
    Default {
        key: "suppression.gas_exponent",
        taken: Taken::Words(
            "1.2 for a discharge of 3 s or less, 1.0 for 10 s or more, straight in log time between",
            Kind::Ratio,
        ),
        off: Off::ByAbove(EXPONENT_SPREAD, 1.0),
        source: TRADE,
    },
    words(
        "suppression.bottle.temperature",
        "the temperature it was charged at",
        Off::By(20.0 * 5.0 / 9.0),
        TRADE,
    ),
    value(
        "suppression.bottle.dissolved_nitrogen",
        Kind::Ratio,
        DISSOLVED_NITROGEN,
        Off::Between(0.0, 0.5),
        Cite::new("nitrogen in fluoroketones and refrigerants", "Ostwald's coefficient", Basis::FromMemory),
    ),
    value("suppression.bottle.outlet_k", Kind::Ratio, OUTLET_K, Off::Between(1.5, 4.0), TRADE),
    value("suppression.bottle.valve_opening", Kind::Time, VALVE_OPENING, Off::Between(0.05, 0.30), TRADE),
    value(
        "suppression.bottle.mount.load_factor",
        Kind::Ratio,
        LOAD_FACTOR,
        Off::Exact("it is the load the mount is held to, not a property of the car"),
        TRADE,
    ),
    value("suppression.nozzle.cd", Kind::Ratio, DISCHARGE_COEFFICIENT, Off::By(0.10), TRADE),
    value("suppression.nozzle.cone", Kind::Angle, CONE, Off::By(15.0 * DEGREE), TRADE),
    value("suppression.nozzle.reach", Kind::Length, REACH, Off::By(6.0 * INCH), TRADE),
    value("suppression.pull.friction", Kind::Ratio, FRICTION, Off::Between(0.10, 0.25), TRADE),
    value("suppression.pull.slack", Kind::Length, SLACK, Off::By(0.125 * INCH), TRADE),
    value("suppression.pull.stretch", Kind::Ratio, STRETCH, Off::Between(0.0, 0.02), TRADE),
    words("axes.unit", "in", Off::Exact("it is how the file is read"), TRADE),
];

const COMPRESSED: Cite =
    Cite::new("brake-design texts", "1.9 GPa cold and free of air, 1.0 GPa hot with some", Basis::FromMemory);
const DRAWN: Cite = Cite::new("fluid-mechanics texts", "drawn tube, 60 % either way", Basis::FromMemory);
const GROWTH: Cite = Cite::new(
    "49 CFR 571.106",
    "S5.3.1 Table I is the most; a braided hose grows a quarter",
    Basis::FromMemory,
);

const CHUTE: Cite =
    Cite::new("parachute texts", "cross and ribbon cloths, on the flat cloth", Basis::FromMemory);
const IRON: Cite = Cite::new(
    "How hot do brakes get",
    "iron, 0.130 Btu/(lb F); 460 to 600 J/(kg K) cold to hot",
    Basis::FromMemory,
);

/// Temperature of rotors and air before a stop, K.
pub(super) const START: f64 = 298.15;
/// Drag coefficient of a parachute on its flat cloth.
pub(super) const PARACHUTE: f64 = 0.55;
/// Specific heat of gray iron, J/(kg K): 0.130 Btu/(lb F).
pub(super) const GRAY_IRON: f64 = 0.130 * 4186.8;
/// What of the rotor's rise arrives at the fluid.
pub(super) const FLUID_SOAK: f64 = 0.2;
/// Bulk modulus of the brake fluid, Pa.
pub(super) const BULK_MODULUS: f64 = 1.4e9;
/// Distance a piston seal draws its piston back, m.
pub(super) const ROLLBACK: f64 = 0.010 * INCH;
/// What a hose grows, of the most it may.
pub(super) const HOSE_GROWTH: f64 = 1.0;
/// Share of the pull at a parking lever that its cables bring to the wheels.
pub(super) const CABLES: f64 = 0.75;
/// Roughness of drawn tube, m.
pub(super) const ROUGHNESS: f64 = 1.5e-6;
/// Loss of valve, dip tube and velocity head.
pub(super) const OUTLET_K: f64 = 2.5;
/// Nitrogen dissolved in a clean agent, as Ostwald's coefficient: the middle of none and 0.5.
pub(super) const DISSOLVED_NITROGEN: f64 = 0.25;
/// How long a valve takes to open, s.
pub(super) const VALVE_OPENING: f64 = 0.15;
/// Load a mount is worked for, in g.
pub(super) const LOAD_FACTOR: f64 = 25.0;
/// Discharge coefficient of a nozzle's hole.
pub(super) const DISCHARGE_COEFFICIENT: f64 = 0.80;
/// Full cone angle of a nozzle, rad.
pub(super) const CONE: f64 = 75.0 * DEGREE;
/// Farthest a nozzle is counted to wet anything, m.
pub(super) const REACH: f64 = 24.0 * INCH;
/// Friction of cable in conduit.
pub(super) const FRICTION: f64 = 0.15;
/// Play of a pull before its valve moves, m.
pub(super) const SLACK: f64 = 0.125 * INCH;
/// Stretch of a cable under the pull, of its length.
pub(super) const STRETCH: f64 = 0.01;

/// Of a default that nobody can measure by itself, the reading that takes the place of the whole sum it is in.
pub(super) fn measured_by(key: &str) -> Option<&'static str> {
    ["brakes.wheel_brake.rollback", "brakes.hose.growth", "brakes.bulk_modulus"]
        .contains(&key)
        .then_some("brakes.master.rod_travel")
}

/// The default of a key path without ids.
pub fn default_of(key: &str) -> Option<&'static Default> {
    DEFAULTS.iter().find(|default| default.key == key)
}

impl Default {
    /// The interval it may lie in where it is taken as `si`; none where it is taken as it is.
    pub fn ends(&self, si: f64) -> Option<[f64; 2]> {
        match self.off {
            Off::Between(low, high) => Some([low, high]),
            Off::By(half) => Some([si - half, si + half]),
            Off::ByAbove(half, least) => Some([(si - half).max(least), si + half]),
            Off::Exact(_) => None,
        }
    }

    /// What is taken, in words.
    pub fn shown(&self, units: Units) -> String {
        match self.taken {
            Taken::Value(kind, si) => show(si, kind, units),
            Taken::Words(words, _) => words.to_owned(),
        }
    }

    /// How far it may be off, in words.
    pub fn spread(&self, units: Units) -> String {
        let (Taken::Value(kind, _) | Taken::Words(_, kind)) = self.taken;
        match self.off {
            Off::Between(low, high) => format!("{} to {}", show(low, kind, units), show(high, kind, units)),
            Off::ByAbove(half, least) => {
                format!("{} either way, never below {}", show(half, kind, units), show(least, kind, units))
            }
            Off::By(half) => format!("{} either way", show(half, kind, units)),
            Off::Exact(why) => format!("none: {why}"),
        }
    }
}
