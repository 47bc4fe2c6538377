//! How much fluid the pedal has to move, and whether the master holds it.

use super::bore_area;
use super::wheel::{Caliper, Pistons};
use crate::physics::refusal::{Refusal, not_negative, positive};
use crate::units::{INCH, Length, PSI, Pressure, Volume};

/// Fluid one caliper takes to bring its pads to the disc.
///
/// # Formula
/// V = (g + b) A, A of every piston; twice that for a floating caliper
/// # Symbols
/// V (m³) · g `pad_gap` of one pad, b `rollback` of the seals (m) · A area of `pistons` (m²)
/// # Valid range
/// Pads and disc true; a floating piston closes both gaps, so it moves twice as far.
/// # Errors
/// No piston, an odd number in a fixed caliper, a bore that is not over zero, a gap or rollback below zero.
/// # Source
/// Volume swept by a piston.
/// # Example
/// Four 1 3/8 in pistons, 0.005 + 0.010 in: 0.0891 in³.
/// ```
/// use linewalk_formulas::physics::brakes::stroke::pad_volume;
/// use linewalk_formulas::physics::brakes::wheel::{Caliper, Pistons};
/// use linewalk_formulas::units::{INCH, Length};
/// let inch = Length::from_inches;
/// let pistons = Pistons { caliper: Caliper::Fixed, count: 4, bore: inch(1.375) };
/// let v = pad_volume(pistons, inch(0.005), inch(0.010))?;
/// assert!((v.si() / INCH.powi(3) - 0.0891).abs() < 5e-5);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn pad_volume(pistons: Pistons, pad_gap: Length, rollback: Length) -> Result<Volume, Refusal> {
    let gap = not_negative("the pad gap", pad_gap.si())? + not_negative("the rollback", rollback.si())?;
    Ok(Volume::from_si(pads_followed(pistons) * gap * pistons.area()?))
}

/// Volume inside a line or hose.
///
/// # Formula
/// V = π/4 d² L
/// # Symbols
/// V (m³) · d `bore`, L `length` (m)
/// # Valid range
/// Round bore; a tube's is its outside diameter less two walls.
/// # Errors
/// A size that is not over zero.
/// # Source
/// Volume of a cylinder.
/// # Example
/// ```
/// use linewalk_formulas::physics::brakes::stroke::bore_volume;
/// use linewalk_formulas::units::Length;
/// let v = bore_volume(Length::from_si(2.0), Length::from_si(1.0))?;
/// assert!((v.si() - std::f64::consts::PI).abs() < 1e-15);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn bore_volume(bore: Length, length: Length) -> Result<Volume, Refusal> {
    Ok(Volume::from_si(bore_area("the bore", bore)? * positive("the length", length.si())?))
}

/// Fluid that goes into squeezing the fluid already there.
///
/// # Formula
/// ΔV = V p / K
/// # Symbols
/// ΔV, V `volume` (m³) · p `pressure` (Pa) · K `bulk_modulus` (Pa)
/// # Valid range
/// p well under K; K of the fluid with the little air it always holds.
/// # Errors
/// A modulus that is not over zero, a volume or pressure below zero.
/// # Source
/// Definition of the bulk modulus.
/// # Example
/// ```
/// use linewalk_formulas::physics::brakes::stroke::squeezed;
/// use linewalk_formulas::units::{Pressure, Volume};
/// let v = squeezed(Volume::from_si(1.4e-4), Pressure::from_si(1.0e7), Pressure::from_si(1.4e9))?;
/// assert!((v.si() - 1.0e-6).abs() < 1e-18);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn squeezed(volume: Volume, pressure: Pressure, bulk_modulus: Pressure) -> Result<Volume, Refusal> {
    let v = not_negative("the volume", volume.si())?;
    let p = not_negative("the pressure", pressure.si())?;
    Ok(Volume::from_si(v * p / positive("the bulk modulus", bulk_modulus.si())?))
}

/// One row of the expansion table: bores up to this (in), and cc a foot at each pressure (psi), regular class.
pub type ExpansionRow<'a> = (f64, &'a [(f64, f64)]);

/// 49 CFR 571.106 Table I, regular expansion hose. The largest class has no limit at 2 900 psi.
pub const EXPANSION: &[ExpansionRow<'static>] = &[
    (0.125, &[(1000.0, 0.66), (1500.0, 0.79), (2900.0, 1.21)]),
    (0.1875, &[(1000.0, 0.86), (1500.0, 1.02), (2900.0, 1.67)]),
    (f64::INFINITY, &[(1000.0, 1.04), (1500.0, 1.30)]),
];

/// Pressure that every hose of the standard has to hold for two minutes, psi: above it nothing is said of a hose.
const HOSE_STRENGTH: f64 = 4000.0;

/// The most a brake hose may grow under pressure.
///
/// # Formula
/// ΔV = e(p) L, e straight from nothing at rest to the first pressure of the table, straight between its pressures,
/// and on along the last straight beyond them
/// # Symbols
/// ΔV (m³) · e limit of the table, regular class (m³/m) · p `pressure` (Pa) · L `length` (m) · `bore` (m)
/// # Valid range
/// Up to 2 900 psi for a bore to 3/16 in, 1 500 psi above; carried on to 4 000 psi, the strength test of the standard.
/// A limit, so a good hose grows less; a braided PTFE hose far less. It never falls as the pressure rises.
/// # Errors
/// A size that is not over zero, a pressure below zero, or one past 4 000 psi.
/// # Source
/// 49 CFR 571.106 S5.3.1 Table I and S5.3.2; the straight lines between its pressures are this program's.
/// # Example
/// 1/8 in bore, 1 ft at 1 200 psi: 0.66 + (1 200 − 1 000)/(1 500 − 1 000) × (0.79 − 0.66) = 0.712 cc.
/// ```
/// use linewalk_formulas::physics::brakes::stroke::hose_growth;
/// use linewalk_formulas::units::{Length, Pressure};
/// let v = hose_growth(Length::from_inches(0.125), Length::from_inches(12.0), Pressure::from_psi(1200.0))?;
/// assert!((v.si() - 0.712e-6).abs() < 1e-15);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn hose_growth(bore: Length, length: Length, pressure: Pressure) -> Result<Volume, Refusal> {
    hose_growth_by(EXPANSION, bore, length, pressure)
}

/// The growth of a brake hose under pressure, by a table of expansion limits of the caller's.
///
/// # Formula
/// As [`hose_growth`].
/// # Symbols
/// `table`: a largest bore (in) and, for each pressure (psi), the growth of a foot (cm³); the others as [`hose_growth`]
/// # Valid range
/// As [`hose_growth`].
/// # Errors
/// As [`hose_growth`].
/// # Source
/// As [`hose_growth`]; the limits are the caller's.
/// # Example
/// A table of one pressure, 1 cm³ a foot at 1 000 psi, gives half of it at 500 psi.
/// ```
/// use linewalk_formulas::physics::brakes::stroke::hose_growth_by;
/// use linewalk_formulas::units::{Length, Pressure};
/// let table: &[(f64, &[(f64, f64)])] = &[(0.125, &[(1000.0, 1.0)])];
/// let v = hose_growth_by(table, Length::from_inches(0.125), Length::from_inches(12.0), Pressure::from_psi(500.0))?;
/// assert!((v.si() - 0.5e-6).abs() < 1e-15);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn hose_growth_by(
    table: &[ExpansionRow<'_>],
    bore: Length,
    length: Length,
    pressure: Pressure,
) -> Result<Volume, Refusal> {
    let bore = positive("the hose bore", bore.si())? / INCH;
    let feet = positive("the hose length", length.si())? / (12.0 * INCH);
    let psi = not_negative("the pressure", pressure.si())? / PSI;
    if psi > HOSE_STRENGTH * (1.0 + 1e-9) {
        return Err(Refusal::PastHoseTable);
    }
    // 0.5 % of grace: a 3.0 mm hose is rated in the 1/8 in class, and a size typed in mm is not its inch exactly.
    let row = table.iter().find(|(largest, _)| bore <= largest * 1.005);
    let columns = row.map_or(&[][..], |(_, columns)| columns);
    Ok(Volume::from_si(along(columns, psi) * 1e-6 * feet))
}

/// The value at `x` of the straight lines from the origin through some points, the last one going on.
fn along(points: &[(f64, f64)], x: f64) -> f64 {
    let (mut from, mut to) = ((0.0, 0.0), (0.0, 0.0));
    for point in points {
        (from, to) = (to, *point);
        if x <= to.0 {
            break;
        }
    }
    if to.0 > from.0 { from.1 + (to.1 - from.1) * (x - from.0) / (to.0 - from.0) } else { to.1 }
}

/// The last pressure that the table has for a bore; past it [`hose_growth`] goes on along the last straight.
///
/// # Formula
/// The last column of its row
/// # Symbols
/// `bore` (m) · pressure (Pa)
/// # Valid range
/// Any bore over zero.
/// # Errors
/// A bore that is not over zero.
/// # Source
/// 49 CFR 571.106 S5.3.1 Table I.
/// # Example
/// ```
/// use linewalk_formulas::physics::brakes::stroke::hose_table_ends;
/// use linewalk_formulas::units::{Length, Pressure};
/// assert_eq!(hose_table_ends(Length::from_inches(0.25))?, Pressure::from_psi(1500.0));
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn hose_table_ends(bore: Length) -> Result<Pressure, Refusal> {
    let bore = positive("the hose bore", bore.si())? / INCH;
    let row = EXPANSION.iter().find(|(largest, _)| bore <= largest * 1.005);
    let last = row.and_then(|(_, columns)| columns.last()).map_or(0.0, |(psi, _)| *psi);
    Ok(Pressure::from_psi(last))
}

/// Share of a master's full stroke that the fluid takes: *at least*, as pedal and rod play are not in it.
///
/// # Formula
/// share = V / (π/4 d² s)
/// # Symbols
/// V `moved`, of both circuits of a tandem (m³) · d `bore`, s full `stroke` of the pushrod end (m) · share (1)
/// # Valid range
/// 1 is the bottom of the bore.
/// # Errors
/// A bore or stroke that is not over zero, or a volume below zero.
/// # Source
/// Volume swept by a piston.
/// # Example
/// ```
/// use linewalk_formulas::physics::brakes::stroke::stroke_used;
/// use linewalk_formulas::units::{INCH, Length, Volume};
/// let v = Volume::from_si(0.1 * std::f64::consts::FRAC_PI_4 * INCH.powi(3));
/// assert!((stroke_used(v, Length::from_inches(1.0), Length::from_inches(1.0))? - 0.1).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn stroke_used(moved: Volume, bore: Length, stroke: Length) -> Result<f64, Refusal> {
    let v = not_negative("the fluid moved", moved.si())?;
    let full = bore_area("the master bore", bore)? * positive("the master stroke", stroke.si())?;
    Ok(v / full)
}

/// Share of a master's full stroke, as measured at its rod.
///
/// # Formula
/// share = x / s
/// # Symbols
/// x `travel` of the rod from rest to working pressure, s full `stroke` of the pushrod end (m) · share (1)
/// # Valid range
/// Measured on the rod, so that pedal play before the rod moves is not in it; all that the circuits give way is.
/// # Errors
/// A stroke that is not over zero, or a travel below zero.
/// # Source
/// Definition.
/// # Example
/// ```
/// use linewalk_formulas::physics::brakes::stroke::stroke_measured;
/// use linewalk_formulas::units::Length;
/// assert_eq!(stroke_measured(Length::from_si(0.0125), Length::from_si(0.025))?, 0.5);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn stroke_measured(travel: Length, stroke: Length) -> Result<f64, Refusal> {
    Ok(not_negative("the travel of the rod", travel.si())? / positive("the master stroke", stroke.si())?)
}

/// Share of a tandem master's full stroke once one of its circuits has failed.
///
/// # Formula
/// share = ½ + V / (π/4 d² s)
/// # Symbols
/// V `left`, moved by the circuit that still works (m³) · d `bore`, s full `stroke` (m) · share (1)
/// # Valid range
/// Tandem only: the failed chamber takes half the full travel before it bottoms. Of two singles the other
/// master is unchanged, [`stroke_used`].
/// # Errors
/// Those of [`stroke_used`].
/// # Source
/// Judgement: the two chambers are taken as equally long.
/// # Example
/// ```
/// use linewalk_formulas::physics::brakes::stroke::stroke_used_one_failed;
/// use linewalk_formulas::units::{Length, Volume};
/// let v = Volume::from_si(std::f64::consts::FRAC_PI_4 * 0.25);
/// assert_eq!(stroke_used_one_failed(v, Length::from_si(1.0), Length::from_si(1.0))?, 0.75);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn stroke_used_one_failed(left: Volume, bore: Length, stroke: Length) -> Result<f64, Refusal> {
    Ok(0.5 + stroke_used(left, bore, stroke)?)
}

/// Fluid a caliper takes out of the reservoir as its pads wear from new to their limit.
///
/// # Formula
/// V = (t_new − t_min) A, A of every piston; twice that for a floating caliper
/// # Symbols
/// V (m³) · A area of every one of `pistons` (m²) · t_new `pad_new`, t_min `pad_min` lining (m)
/// # Valid range
/// t_new ≥ t_min, both pads worn alike. A floating piston follows its own pad and pulls the body after the other, so
/// it comes out by the wear of both.
/// # Errors
/// No piston, an odd number in a fixed caliper, a size that is not over zero, or t_new < t_min.
/// # Source
/// Volume swept by a piston. 49 CFR 571.105 S5.4.2 asks a reservoir to hold what its caliper pistons displace between
/// new linings, retracted, and worn ones, applied (quoted in the interpretation letter aiam3741).
/// # Example
/// One 50 mm piston that slides, 10 mm off each pad: 20 mm of travel.
/// ```
/// use linewalk_formulas::physics::brakes::stroke::wear_volume;
/// use linewalk_formulas::physics::brakes::wheel::{Caliper, Pistons};
/// use linewalk_formulas::units::Length;
/// let pistons = Pistons { caliper: Caliper::Floating, count: 1, bore: Length::from_si(0.05) };
/// let v = wear_volume(pistons, Length::from_si(0.012), Length::from_si(0.002))?;
/// assert!((v.si() - 3.926_991e-5).abs() < 1e-11);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn wear_volume(pistons: Pistons, pad_new: Length, pad_min: Length) -> Result<Volume, Refusal> {
    let new = positive("the new pad thickness", pad_new.si())?;
    let min = not_negative("the least pad thickness", pad_min.si())?;
    let wear = not_negative("the new pad thickness less the least", new - min)?;
    Ok(Volume::from_si(pads_followed(pistons) * wear * pistons.area()?))
}

/// How many pads one piston follows.
fn pads_followed(pistons: Pistons) -> f64 {
    if pistons.caliper == Caliper::Floating { 2.0 } else { 1.0 }
}

/// Fluid left in the reservoir once every pad it serves is worn out.
///
/// # Formula
/// left = V_r − Σ V
/// # Symbols
/// V_r `reservoir` (m³) · V each of `wear`, from [`wear_volume`] (m³)
/// # Valid range
/// Below zero the reservoir runs dry first.
/// # Errors
/// A reservoir that is not over zero.
/// # Source
/// Sum of volumes.
/// # Example
/// ```
/// use linewalk_formulas::physics::brakes::stroke::reservoir_left;
/// use linewalk_formulas::units::Volume;
/// let left = reservoir_left(Volume::from_si(2.0e-4), &[Volume::from_si(0.5e-4); 2])?;
/// assert!((left.si() - 1.0e-4).abs() < 1e-18);
/// # Ok::<(), linewalk_formulas::physics::Refusal>(())
/// ```
pub fn reservoir_left(reservoir: Volume, wear: &[Volume]) -> Result<Volume, Refusal> {
    let holds = positive("the reservoir", reservoir.si())?;
    Ok(Volume::from_si(holds - wear.iter().map(|v| v.si()).sum::<f64>()))
}
