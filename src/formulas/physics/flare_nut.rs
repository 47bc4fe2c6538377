//! Torque of 37 degree flare nuts, as workshop documents print it.

use crate::cite::{Basis, Cite};
use crate::units::{INCH, Length, Torque};

/// What the tube under the nut is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NutTube {
    /// Steel, stainless too.
    Steel,
    /// Aluminum alloy.
    Aluminum,
}

/// One row: outside diameter of the tube (in), what it is of, least and most torque (N m), where it is printed.
pub type Row = (f64, NutTube, [f64; 2], Cite);

const MAINTENANCE: Cite =
    Cite::new("TM 55-1520-240-23-1", "p. 1-13, AN818 nuts, threads lubricated", Basis::Published);
const WORKSHOP: Cite = Cite::new("an engine workshop manual", "37 degree flare nuts", Basis::Published);
const MACHINERY: Cite =
    Cite::new("two machinery manuals", "flare nuts, threads lubricated", Basis::Published);
/// One pound-force inch in newton metres.
const LBF_IN: f64 = 4.448_221_615_260_5 * INCH;

/// Every row, smallest tube first.
pub const ROWS: &[Row] = &[
    (0.1875, NutTube::Steel, [9.0, 13.0], WORKSHOP),
    (0.1875, NutTube::Steel, [8.0, 8.0], MACHINERY),
    (0.25, NutTube::Steel, [135.0 * LBF_IN, 150.0 * LBF_IN], MAINTENANCE),
    (0.25, NutTube::Steel, [12.0, 20.0], WORKSHOP),
    (0.25, NutTube::Steel, [12.0, 12.0], MACHINERY),
    (0.25, NutTube::Aluminum, [50.0 * LBF_IN, 65.0 * LBF_IN], MAINTENANCE),
    (0.3125, NutTube::Steel, [15.0, 25.0], WORKSHOP),
    (0.3125, NutTube::Steel, [16.0, 16.0], MACHINERY),
    (0.375, NutTube::Steel, [270.0 * LBF_IN, 300.0 * LBF_IN], MAINTENANCE),
    (0.375, NutTube::Steel, [20.0, 30.0], WORKSHOP),
    (0.375, NutTube::Steel, [24.0, 24.0], MACHINERY),
    (0.375, NutTube::Aluminum, [100.0 * LBF_IN, 125.0 * LBF_IN], MAINTENANCE),
    (0.5, NutTube::Steel, [450.0 * LBF_IN, 500.0 * LBF_IN], MAINTENANCE),
    (0.5, NutTube::Steel, [43.0, 57.0], WORKSHOP),
    (0.5, NutTube::Steel, [46.0, 46.0], MACHINERY),
    (0.5, NutTube::Aluminum, [210.0 * LBF_IN, 250.0 * LBF_IN], MAINTENANCE),
];

/// The range of torques that documents print for a flare nut, and which documents.
#[derive(Clone, Debug, PartialEq)]
pub struct NutTorque {
    /// The least of them.
    pub least: Torque,
    /// The most of them.
    pub most: Torque,
    /// Where they are printed.
    pub sources: Vec<Cite>,
}

/// The torque of a 37 degree flare nut by size and tube; none where no document seen prints that size.
///
/// # Formula
/// least and most over the rows of that size (within 1 %) and metal
/// # Symbols
/// `od` outside diameter of the tube (m) · torque (N m)
/// # Valid range
/// The sizes of [`ROWS`]. Documents differ by a factor of two: the fitting maker's own figure goes before this range.
/// # Errors
/// None: a size without a row has no torque.
/// # Source
/// The documents of [`ROWS`].
/// # Example
/// ```
/// use linewalk_formulas::physics::flare_nut::{NutTube, nut_torque, ROWS};
/// use linewalk_formulas::units::Length;
/// let quarter = nut_torque(Length::from_inches(0.25), NutTube::Aluminum, ROWS).map(|torque| torque.least.si());
/// assert!(quarter.is_some_and(|least| (least - 5.65).abs() < 0.01));
/// assert!(nut_torque(Length::from_inches(0.9), NutTube::Steel, ROWS).is_none());
/// ```
pub fn nut_torque(od: Length, tube: NutTube, rows: &[Row]) -> Option<NutTorque> {
    let size = od.si() / INCH;
    let fits = |row: &&Row| row.1 == tube && (row.0 / size - 1.0).abs() < 0.01;
    let found: Vec<&Row> = rows.iter().filter(fits).collect();
    let least = found.iter().map(|row| row.2[0]).reduce(f64::min)?;
    let most = found.iter().map(|row| row.2[1]).reduce(f64::max)?;
    let sources = found.iter().map(|row| row.3).collect();
    Some(NutTorque { least: Torque::from_si(least), most: Torque::from_si(most), sources })
}
