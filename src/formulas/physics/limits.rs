//! Published support spacings and least bend radii of hard lines, row by row with their sources.
//!
//! **Size rule.** Tubes are looked up by outside diameter. A tube within 0.005 in (0.127 mm, the diameter tolerance of
//! ASTM A269, from memory) of a listed size is that size, so 4.75 mm is 3/16 in. Between sizes the stricter neighbour
//! holds: for support spacing the row below (it is shorter), for bend radius the row above (it is larger).
//!
//! **Which spacing table.** Two families of published spacings disagree for small tube: for 3/16 in steel the
//! hydraulic-line table says 14 in, a fuel-line table for any metal 9 in. Brake and agent lines are hydraulic lines, so the
//! hydraulic-line table is used where it has a row, and the stricter figure is handed back beside it. A metal that table
//! does not hold takes the fuel-line table. Either way the limit names its table, and a long span asks for a look: it never
//! rejects by itself.

use crate::cite::{Basis, Cite};
use crate::units::{INCH, Length, Ratio};

/// A family of tube metals, as the tables part them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Metal {
    /// Low-carbon or stainless steel.
    Steel,
    /// Aluminium alloy.
    Aluminium,
    /// Copper-nickel or any other metal the tables do not name.
    Other,
}

/// One published limit for one tube.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// The limit itself: longest support spacing or least bend radius to the centre line.
    pub value: Length,
    /// The outside diameter of the row it comes from; none where the limit is a multiple of the tube's own.
    pub row: Option<Length>,
    /// A short name of the table, for the screen.
    pub table: &'static str,
    /// Where it comes from.
    pub cite: Cite,
}

/// A support spacing: the limit used and, where another published table is stricter, that one too.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SupportLimit {
    /// The limit a margin is worked against.
    pub used: Limit,
    /// The stricter published figure that was not used.
    pub stricter: Option<Limit>,
}

/// A margin against a published limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Margin<L> {
    /// 1 or more is within the limit.
    pub ratio: Ratio,
    /// The limit.
    pub limit: L,
}

/// Why no limit can be given.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LimitError {
    /// A length is not a finite number above zero; the name says which.
    #[error("the {0} must be above zero")]
    OutOfRange(&'static str),
    /// The tube is smaller than the smallest listed size, 1/8 in.
    #[error("no published support spacing covers a tube under 1/8 in")]
    BelowTable,
}

/// One row: outside diameter (in), limit (in), how far its source was seen.
pub type Row = (f64, f64, Basis);

use Basis::{FromMemory, Published};

const HYDRAULIC: &str = "hydraulic-line table";
const FUEL: &str = "fuel-line table";
const BEND: &str = "bend-radius table";
const THREE_DIAMETERS: &str = "three diameters";

/// Support spacing of hydraulic lines, steel: 1/4 in up read in MIL-H-8891A, whose page names no metal; the two smallest
/// recalled from a handbook whose larger sizes are the same.
const SPACING_STEEL: &[Row] = &[
    (0.125, 11.5, FromMemory),
    (0.1875, 14.0, FromMemory),
    (0.25, 16.0, Published),
    (0.3125, 18.0, Published),
    (0.375, 20.0, Published),
    (0.5, 23.0, Published),
    (0.625, 25.5, Published),
    (0.75, 27.5, Published),
    (1.0, 30.0, Published),
    (1.25, 31.5, Published),
    (1.5, 32.5, Published),
];

/// Support spacing of hydraulic lines, aluminium alloy.
const SPACING_ALUMINIUM: &[Row] = &[
    (0.125, 9.5, FromMemory),
    (0.1875, 12.0, FromMemory),
    (0.25, 13.5, FromMemory),
    (0.3125, 15.0, FromMemory),
    (0.375, 16.5, FromMemory),
    (0.5, 19.0, FromMemory),
    (0.625, 22.0, FromMemory),
    (0.75, 24.0, FromMemory),
    (1.0, 26.5, FromMemory),
];

/// Support spacing of fuel lines, any metal.
const SPACING_FUEL: &[Row] = &[
    (0.125, 9.0, FromMemory),
    (0.1875, 9.0, FromMemory),
    (0.25, 12.0, FromMemory),
    (0.3125, 12.0, FromMemory),
    (0.375, 16.0, FromMemory),
    (0.5, 16.0, FromMemory),
    (0.625, 22.0, FromMemory),
    (0.75, 22.0, FromMemory),
    (1.0, 30.0, FromMemory),
    (1.25, 30.0, FromMemory),
];

/// Least bend radius to the centre line, steel.
const RADIUS_STEEL: &[Row] = &[
    (0.1875, 0.656_25, FromMemory),
    (0.25, 0.875, FromMemory),
    (0.3125, 1.125, FromMemory),
    (0.375, 1.3125, FromMemory),
    (0.5, 1.75, FromMemory),
    (0.625, 2.1875, FromMemory),
    (0.75, 2.625, FromMemory),
    (1.0, 3.5, FromMemory),
];

/// Least bend radius to the centre line, soft aluminium (1100-H14, 5052-O).
const RADIUS_ALUMINIUM: &[Row] = &[
    (0.125, 0.375, FromMemory),
    (0.1875, 0.4375, FromMemory),
    (0.25, 0.5625, FromMemory),
    (0.3125, 0.75, FromMemory),
    (0.375, 0.9375, FromMemory),
    (0.5, 1.25, FromMemory),
    (0.625, 1.5, FromMemory),
    (0.75, 1.75, FromMemory),
    (1.0, 3.0, FromMemory),
];

/// The tables as values, each row with its source.
#[derive(Clone, Copy, Debug)]
pub struct Tables<'a> {
    /// Support spacing of hydraulic lines, steel.
    pub spacing_steel: &'a [Row],
    /// Support spacing of hydraulic lines, aluminum.
    pub spacing_aluminum: &'a [Row],
    /// Support spacing of fuel lines, any metal.
    pub spacing_fuel: &'a [Row],
    /// Least bend radius, steel.
    pub radius_steel: &'a [Row],
    /// Least bend radius, aluminum.
    pub radius_aluminum: &'a [Row],
}

/// The tables that are printed.
pub const PUBLISHED: Tables<'static> = Tables {
    spacing_steel: SPACING_STEEL,
    spacing_aluminum: SPACING_ALUMINIUM,
    spacing_fuel: SPACING_FUEL,
    radius_steel: RADIUS_STEEL,
    radius_aluminum: RADIUS_ALUMINIUM,
};

/// How far from a listed size a tube still counts as that size (in).
const SIZE_TOLERANCE: f64 = 0.005;

impl Tables<'_> {
    /// As [`support_spacing`], by these tables.
    ///
    /// # Errors
    /// As [`support_spacing`].
    pub fn support_spacing(&self, od: Length, metal: Metal) -> Result<SupportLimit, LimitError> {
        let size = above_zero(od, "outside diameter")? / INCH;
        let fuel = at_or_below(self.spacing_fuel, size).ok_or(LimitError::BelowTable)?;
        let fuel_limit = limit(fuel, FUEL, "AC 43.13-1B", "chapter 8, support of fuel lines");
        let rows = match metal {
            Metal::Steel => self.spacing_steel,
            Metal::Aluminium => self.spacing_aluminum,
            Metal::Other => return Ok(SupportLimit { used: fuel_limit, stricter: None }),
        };
        let row = at_or_below(rows, size).ok_or(LimitError::BelowTable)?;
        let (document, clause) = match row {
            (_, _, Published) => ("MIL-H-8891A", "Table II (metal not named there)"),
            _ => ("FAA-H-8083-30", "Table 7-5"),
        };
        let used = limit(row, HYDRAULIC, document, clause);
        let stricter = (fuel_limit.value < used.value).then_some(fuel_limit);
        Ok(SupportLimit { used, stricter })
    }

    /// As [`least_bend_radius`], by these tables.
    ///
    /// # Errors
    /// As [`least_bend_radius`].
    pub fn least_bend_radius(&self, od: Length, metal: Metal) -> Result<Limit, LimitError> {
        let size = above_zero(od, "outside diameter")? / INCH;
        let rows: &[Row] = match metal {
            Metal::Steel => self.radius_steel,
            Metal::Aluminium => self.radius_aluminum,
            Metal::Other => &[],
        };
        let smallest = rows.first().map_or(f64::INFINITY, |(row, _, _)| *row);
        let above = rows.iter().find(|(row, _, _)| *row >= size - SIZE_TOLERANCE);
        match above {
            Some(row) if size >= smallest - SIZE_TOLERANCE => {
                Ok(limit(*row, BEND, "AC 43.13-1B", "Table 9-2"))
            }
            _ => Ok(Limit {
                value: od * 3.0,
                row: None,
                table: THREE_DIAMETERS,
                cite: Cite::new("UFC 3-600-01 (2006)", "6-15.2.3", Published),
            }),
        }
    }
}

/// The longest published distance between supports for a hard line.
///
/// Values: by outside diameter and metal, from the tables in this module (see its head for the rules); lengths in metres.
///
/// # Formula
/// limit = the row of the table for the metal, at the largest outside diameter that is not above the tube's.
/// # Symbols
/// `od` outside diameter (m) · `metal` steel or aluminum · result: distance between supports (m)
/// # Valid range
/// Outside diameters from 1/8 in; above the largest row, the largest row. About 20 % less is advised where the
/// tube also carries unions or tees (MIL-H-8891A, note to Table II); that is not taken off here.
/// # Errors
/// [`LimitError`]: a diameter not above zero, or below every row.
/// # Source
/// MIL-H-8891A Table II; FAA-H-8083-30 Table 7-5; AC 43.13-1B chapter 8; each row says how far it was seen.
/// # Example
/// ```
/// use linewalk_formulas::physics::limits::{Metal, support_spacing};
/// use linewalk_formulas::units::Length;
/// let limit = support_spacing(Length::from_inches(0.25), Metal::Steel)?;
/// assert_eq!(limit.used.value, Length::from_inches(16.0));
/// # Ok::<(), linewalk_formulas::physics::limits::LimitError>(())
/// ```
pub fn support_spacing(od: Length, metal: Metal) -> Result<SupportLimit, LimitError> {
    PUBLISHED.support_spacing(od, metal)
}

/// The least published bend radius, to the centre line, for a hard line.
///
/// Values: by outside diameter and metal from AC 43.13-1B Table 9-2 where it has a row (see the module's head for the size
/// rule); for another metal, and for sizes outside the table, three outside diameters. Lengths in metres.
///
/// # Formula
/// limit = the row of the table, else three outside diameters.
/// # Symbols
/// `od` outside diameter (m) · `metal` steel or aluminum · result: radius to the center line (m)
/// # Valid range
/// Any diameter.
/// # Errors
/// [`LimitError::OutOfRange`]: a diameter not above zero.
/// # Source
/// AC 43.13-1B Table 9-2 (from memory); UFC 3-600-01 (2006) 6-15.2.3 for three diameters.
/// # Example
/// ```
/// use linewalk_formulas::physics::limits::{Metal, least_bend_radius};
/// use linewalk_formulas::units::Length;
/// let limit = least_bend_radius(Length::from_inches(0.1875), Metal::Steel)?;
/// assert_eq!(limit.value, Length::from_inches(21.0 / 32.0));
/// # Ok::<(), linewalk_formulas::physics::limits::LimitError>(())
/// ```
pub fn least_bend_radius(od: Length, metal: Metal) -> Result<Limit, LimitError> {
    PUBLISHED.least_bend_radius(od, metal)
}

/// The published support spacing ÷ the longest distance between supports.
///
/// # Formula
/// limit ÷ gap, both in metres.
/// # Symbols
/// Limit (m) as [`support_spacing`] · gap `gap`, the longest distance between supports (m) · margin (1)
/// # Valid range
/// Gap > 0.
/// # Errors
/// As [`support_spacing`], and a gap not above zero.
/// # Source
/// As [`support_spacing`].
/// # Example
/// ```
/// use linewalk_formulas::physics::limits::{Metal, support_margin};
/// use linewalk_formulas::units::Length;
/// let margin = support_margin(Length::from_inches(0.1875), Metal::Steel, Length::from_inches(11.0))?;
/// assert!((margin.ratio.si() - 14.0 / 11.0).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::limits::LimitError>(())
/// ```
pub fn support_margin(od: Length, metal: Metal, gap: Length) -> Result<Margin<SupportLimit>, LimitError> {
    let gap = above_zero(gap, "distance between supports")?;
    let limit = support_spacing(od, metal)?;
    Ok(Margin { ratio: Ratio::from_si(limit.used.value.si() / gap), limit })
}

/// The smallest bend radius ÷ the least published one.
///
/// # Formula
/// radius ÷ limit, both in metres to the centre line.
/// # Symbols
/// Limit (m) as [`least_bend_radius`] · radius `radius` to the center line (m) · margin (1)
/// # Valid range
/// Radius > 0.
/// # Errors
/// As [`least_bend_radius`], and a radius not above zero.
/// # Source
/// As [`least_bend_radius`].
/// # Example
/// ```
/// use linewalk_formulas::physics::limits::{Metal, bend_margin};
/// use linewalk_formulas::units::Length;
/// let margin = bend_margin(Length::from_inches(0.1875), Metal::Steel, Length::from_inches(0.75))?;
/// assert!((margin.ratio.si() - 8.0 / 7.0).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::limits::LimitError>(())
/// ```
pub fn bend_margin(od: Length, metal: Metal, radius: Length) -> Result<Margin<Limit>, LimitError> {
    let radius = above_zero(radius, "bend radius")?;
    let limit = least_bend_radius(od, metal)?;
    Ok(Margin { ratio: Ratio::from_si(radius / limit.value.si()), limit })
}

/// The largest row that is not above the size.
fn at_or_below(rows: &[Row], size: f64) -> Option<Row> {
    rows.iter().rev().find(|(row, _, _)| *row <= size + SIZE_TOLERANCE).copied()
}

/// A row as a limit.
fn limit(
    (od, value, basis): Row,
    table: &'static str,
    document: &'static str,
    clause: &'static str,
) -> Limit {
    let cite = Cite::new(document, clause, basis);
    Limit { value: Length::from_inches(value), row: Some(Length::from_inches(od)), table, cite }
}

/// The length in metres where it is finite and above zero.
fn above_zero(length: Length, name: &'static str) -> Result<f64, LimitError> {
    if length.si().is_finite() && length.si() > 0.0 {
        Ok(length.si())
    } else {
        Err(LimitError::OutOfRange(name))
    }
}
