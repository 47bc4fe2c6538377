//! Where stations stand round the car: by how far along the wheelbase, and on which side.

use crate::rules::{Side, Station};

use super::sheet::{Flat, View};

/// Between the car and the person beside it, m.
const BESIDE: f64 = 0.30;

/// The car's size as the ring takes it, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Extent {
    /// From the rear axle (0) to the front axle.
    pub wheelbase: f64,
    /// Rearmost and foremost point.
    pub ends: [f64; 2],
    /// Half the width.
    pub half_width: f64,
}

/// Where a station stands.
pub(super) fn place(station: &Station, extent: Extent, view: View) -> Flat {
    let along = station.along;
    let [rear, front] = extent.ends;
    let before = BESIDE + (1.0 - along).max(0.0) * 3.0;
    let behind = BESIDE + along.max(0.0) * 3.0;
    let x = match station.side {
        Side::Middle if along >= 0.85 => front + before,
        Side::Middle if along <= 0.15 => rear - behind,
        _ => along * extent.wheelbase,
    };
    let up = match (view, station.side) {
        (View::Top, Side::Left) => extent.half_width + BESIDE,
        (View::Top, Side::Right) => -(extent.half_width + BESIDE),
        (View::Top, Side::Middle) => 0.0,
        // Seen from the right the near side is the lowest row.
        (View::Side, Side::Left) => -0.15,
        (View::Side, Side::Middle) => -0.30,
        (View::Side, Side::Right) => -0.45,
    };
    [x, up]
}

/// The letter of the nth station of a lap.
pub(super) fn letter(at: usize) -> String {
    let letter = u8::try_from(at % 26).map_or('?', |n| char::from(b'A' + n));
    if at < 26 { letter.to_string() } else { format!("{letter}{}", at / 26 + 1) }
}
