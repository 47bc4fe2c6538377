//! Every quantity the program works out: one registry, and a family of functions behind it.
//! Never rules, never files.

mod agent;
mod answer;
mod bands;
mod bottle;
mod brake_balance;
mod brake_drum;
mod brake_heat;
mod brake_pressure;
mod brake_stroke;
mod circuits;
mod corners;
mod defaults;
mod discharge;
mod draws;
mod electrics;
mod explain;
mod hold;
mod hold_stiffness;
mod hose;
mod inputs;
mod json;
mod keys;
mod line;
mod mount;
mod network;
mod parts;
mod pull;
mod quantity;
mod readings;
mod registry;
mod situation;
mod sleeve;
mod spray;
mod spread;
mod summary;
mod table;
mod tube;
mod ways;
mod worked;

/// The families, each in one stretch.
const FAMILIES: &[&[Quantity]] = &[
    brake_pressure::PRESSURE,
    tube::QUANTITIES,
    brake_drum::FACTOR,
    brake_pressure::WHEEL,
    brake_balance::BALANCE,
    brake_stroke::STROKE,
    brake_balance::ONE_FAILED,
    brake_drum::PARKING,
    brake_drum::RESIDUAL,
    brake_heat::HEAT,
    hold::QUANTITIES,
    brake_stroke::RESERVOIR,
    hose::QUANTITIES,
    line::QUANTITIES,
    sleeve::QUANTITIES,
    discharge::QUANTITIES,
    quantity::QUANTITIES,
    ways::QUANTITIES,
    spray::NOZZLE_QUANTITIES,
    spray::HAZARD_QUANTITIES,
    bottle::QUANTITIES,
    mount::QUANTITIES,
    pull::QUANTITIES,
    electrics::QUANTITIES,
];

pub use answer::{Against, Answer, Bound, Input, Number, NumberValue, Refused};
pub use bands::{POINTS, with_bands, with_draws};
pub use defaults::{DEFAULTS, Default, Off, Taken, default_of};
pub use discharge::{Run, runs};
pub use draws::{Draws, Limited, Term};
pub use explain::explain;
pub use inputs::{Inputs, NoValue, Worked};
pub use json::to_json;
pub use keys::{SetReading, Sets, reading_keys, split_readings, split_sets, strays};
pub use network::{CarNetwork, networks};
pub use readings::{ReadingValue, Readings, reading_kind};
pub use registry::{Quantity, Shown, quantity, registry, work, work_all};
pub use situation::Situation;
pub use spread::spread;
pub use summary::{part_of_car, to_summary};
pub use table::{to_csv, to_text};
pub use worked::{WorkedLimits, worked, worked_before};
