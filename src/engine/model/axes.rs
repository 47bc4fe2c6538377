//! Which way the three numbers of a point go, in one text for every place that tells it.

use crate::units::{Kind, Units, show};

use super::Point;

/// The one sentence on the axes.
pub const AXES: &str = "A point is [x, y, z]: x ahead of the rear axle, y left of the middle of the car, z above the \
                        ground; behind the axle, and right of the middle, the numbers are negative.";

/// A place on the car in words: `34 in ahead of the rear axle, 15 in right of the middle, 10 in above the ground`.
pub fn in_words(point: Point, units: Units) -> String {
    let [along, across, up] = point;
    let far = |si: f64| show(si.abs(), Kind::Length, units);
    let along = match along {
        si if far(si) == far(0.0) => "at the rear axle".to_owned(),
        si if si < 0.0 => format!("{} behind the rear axle", far(si)),
        si => format!("{} ahead of the rear axle", far(si)),
    };
    let across = match across {
        si if far(si) == far(0.0) => "in the middle".to_owned(),
        si if si < 0.0 => format!("{} right of the middle", far(si)),
        si => format!("{} left of the middle", far(si)),
    };
    format!("{along}, {across}, {} above the ground", far(up))
}
