//! Plain data: the car, and what is written down about it. Never files.

pub mod axes;
pub mod brakes;
pub mod car;
pub mod drum;
pub mod duty;
pub mod edit;
pub mod edit_known;
pub mod guide;
pub mod keys;
pub mod known;
pub mod plausible;
mod refer;
mod relations;
pub mod run;
mod settable;
pub mod suppression;
pub mod tag;
pub mod tape_words;
pub mod targets;
pub mod values;
pub mod vocabulary;
pub mod warp;

pub use linewalk_record::{doubt, entry, given, history, letters};

pub use brakes::{Brakes, Caliper, Corner, Hose, Master, Port, Valve, ValveKind, WheelBrake};
pub use car::{Car, Electric, EnginePlace, FrameTube, HandHeld, Seat, Sleeve, car_schema, read_car};
pub use drum::{Drum, DrumKind, Parking};
pub use duty::{Descent, Duty, Parachute, Rotor};
pub use run::{Run, Tube};
pub use settable::{Settable, settable};
pub use suppression::{Bottle, Construction, Fittings, LeavesBy, Mount, Space, SupplyLine, Suppression, Tee};
pub use tag::{Answer3, Tag};
pub use targets::{Face, Hazard, Nozzle, Pull, Shield};

/// A point in metres: x forward, y left, z up, from the ground under the centre of the rear axle (ISO 8855).
pub type Point = [f64; 3];

/// Straight distance between two points, m.
pub fn distance(a: Point, b: Point) -> f64 {
    a.iter().zip(b).map(|(p, q)| (p - q) * (p - q)).sum::<f64>().sqrt()
}
