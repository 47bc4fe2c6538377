//! Where a nozzle's cone reaches: coverage of a hazard, angle off its axis, and what it must not hit.
//!
//! The model is straight lines of sight. A point counts as hit when all of these hold:
//!
//! * it lies inside the cone (apex at the nozzle, axis along its aim, full included angle given);
//! * it lies within reach of the apex;
//! * its face looks toward the nozzle: outward normal · (apex − point) > 0;
//! * no shield stands between: the straight segment from the apex to the point does not cross the interior of any
//!   shield. A shield of no thickness is a sheet and stops what would pass through it.
//!
//! Only shields shade. A convex box hides its own far sides by the third rule; hazards and keep-clear boxes do not shade
//! one another. Gravity, drift, the curving-in of a real pattern and run-off along a surface are left out, so the figures
//! show where a nozzle points, not how much it wets.
//!
//! Lengths are in metres, areas in m2, directions have any length. Axes follow ISO 8855: x forward, y left, z up.
//!
//! Method: on each line across a face, the lit part is found exactly as a set of intervals (a cone, a ball and the shadow
//! of a box are convex, so each meets a line in one interval). Those lengths are integrated across the face by adaptive
//! Gauss–Kronrod quadrature, broken where a cone, ball or shadow begins or ends, and wherever the lit parts get other
//! boundaries than before. It is deterministic; the quadrature is driven to 2 × 10⁻⁷ of the face area in each panel.

mod area;
mod scan;
mod shape;

pub use shape::{Cuboid, Facing, Nozzle, Point};

use crate::units::{Angle, Ratio};

/// A hit share below this is rounding.
const CRUMB: f64 = 1e-9;

/// Why a spray figure cannot be worked.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum SprayError {
    /// A coordinate, an aim or a reach is not a finite number.
    #[error("a coordinate, an aim or a reach is not a finite number")]
    NotFinite,
    /// The aim has no length, so it gives no direction.
    #[error("the aim is 0, 0, 0 and gives no direction")]
    NoAim,
    /// The cone's full angle, in degrees, is not above 0 and below 180.
    #[error("the cone is {degrees}°; its full angle lies above 0° and below 180°")]
    Cone {
        /// What was given, in degrees.
        degrees: f64,
    },
    /// The reach, in metres, is not above zero.
    #[error("the reach is {metres} m; it must be above zero")]
    Reach {
        /// What was given, in metres.
        metres: f64,
    },
    /// A box's second corner lies below its first along one axis.
    #[error("the corners of the box are out of order along {axis}: the lower one comes first")]
    CornersOutOfOrder {
        /// The axis: 'x', 'y' or 'z'.
        axis: char,
    },
    /// The face in question has no area, so no share of it can be given.
    #[error("the face has no area")]
    NoArea,
    /// The nozzle lies in or on the box, so no face of it looks toward the nozzle.
    #[error("the nozzle lies in or on the box, so none of its faces looks toward it")]
    NozzleInBox,
    /// The nozzle sits at the very centre of the face, so there is no direction to it.
    #[error("the nozzle sits at the center of the face, so no angle can be given")]
    NozzleAtCentre,
}

/// The share of a hazard's exposed face that one nozzle covers.
///
/// # Formula
/// A_hit / A, where A (m2) is the area of the face and A_hit (m2) the part of it that is hit as the
/// [module](self) defines: inside the cone, (X − P)·a ≥ |X − P| cos(θ/2); within reach, |X − P| ≤ R; looking toward the
/// nozzle; in sight past every shield. P (m) is the apex, a (1) the unit axis, θ (rad) the full angle, R (m) the reach.
/// # Symbols
/// Given with the formula.
/// # Valid range
/// Any nozzle and box; a nozzle behind, in the plane of, or inside the hazard covers nothing (0), and so
/// does one enclosed in a shield (see [`enclosing`]). Accuracy: about 10⁻⁶ of the face.
/// # Errors
/// [`SprayError::NoArea`] where the exposed face has no area.
/// # Source
/// Solid geometry of a right circular cone; the definition of coverage is this project's own.
/// # Example
/// ```
/// use linewalk_formulas::physics::spray::{Cuboid, Facing, Nozzle, coverage};
/// use linewalk_formulas::units::{Angle, Length};
/// // A 60° cone 1 m in front of a 4 m square paints a circle of radius tan 30°.
/// let nozzle = Nozzle::new([1.0, 0.0, 0.0], [-1.0, 0.0, 0.0], Angle::from_si(60_f64.to_radians()), Length::from_si(9.0))?;
/// let wall = Cuboid::new([-1.0, -2.0, -2.0], [0.0, 2.0, 2.0])?;
/// let share = coverage(&nozzle, &wall, Facing::Front, &[])?;
/// assert!((share.si() - std::f64::consts::PI / 3.0 / 16.0).abs() < 1e-7);
/// # Ok::<(), linewalk_formulas::physics::spray::SprayError>(())
/// ```
pub fn coverage(
    nozzle: &Nozzle,
    hazard: &Cuboid,
    facing: Facing,
    shields: &[Cuboid],
) -> Result<Ratio, SprayError> {
    hazard_coverage(std::slice::from_ref(nozzle), hazard, facing, shields)
}

/// The share of a hazard's exposed face that several nozzles cover together.
///
/// # Formula
/// area of the union of what each nozzle covers ÷ area of the face, each as in [`coverage`]; a point that two
/// nozzles hit counts once. With no nozzle the share is 0.
/// # Symbols
/// As [`coverage`]; result: share of the face (1)
/// # Valid range
/// As [`coverage`].
/// # Errors
/// [`SprayError::NoArea`] where the exposed face has no area.
/// # Source
/// As [`coverage`].
/// # Example
/// ```
/// use linewalk_formulas::physics::spray::{Cuboid, Facing, Nozzle, hazard_coverage};
/// use linewalk_formulas::units::{Angle, Length};
/// // The same nozzle twice covers no more than once.
/// let nozzle = Nozzle::new([1.0, 0.0, 0.0], [-1.0, 0.0, 0.0], Angle::from_si(60_f64.to_radians()), Length::from_si(9.0))?;
/// let wall = Cuboid::new([-1.0, -2.0, -2.0], [0.0, 2.0, 2.0])?;
/// let once = hazard_coverage(&[nozzle], &wall, Facing::Front, &[])?;
/// let twice = hazard_coverage(&[nozzle, nozzle], &wall, Facing::Front, &[])?;
/// assert!((once.si() - twice.si()).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::spray::SprayError>(())
/// ```
pub fn hazard_coverage(
    nozzles: &[Nozzle],
    hazard: &Cuboid,
    facing: Facing,
    shields: &[Cuboid],
) -> Result<Ratio, SprayError> {
    let face = hazard.face(facing);
    let whole = face.area();
    if whole <= 0.0 {
        return Err(SprayError::NoArea);
    }
    Ok(Ratio::from_si((area::hit(nozzles, &face, shields) / whole).clamp(0.0, 1.0)))
}

/// The angle between a nozzle's axis and the line to the centre of a hazard's exposed face.
///
/// # Formula
/// φ = atan2(|a × (C − P)|, a · (C − P)), with φ (rad), the unit axis a (1), the apex P (m) and the centre of the
/// face C (m). It says nothing of cone, reach or sight.
/// # Symbols
/// Given with the formula.
/// # Valid range
/// 0 to π.
/// # Errors
/// [`SprayError::NozzleAtCentre`] where the apex is the centre.
/// # Source
/// Vector geometry; the two-argument form keeps small angles exact.
/// # Example
/// ```
/// use linewalk_formulas::physics::spray::{Cuboid, Facing, Nozzle, off_axis};
/// use linewalk_formulas::units::{Angle, Length};
/// let nozzle = Nozzle::new([1.0, 1.0, 0.0], [-1.0, 0.0, 0.0], Angle::from_si(1.0), Length::from_si(9.0))?;
/// let wall = Cuboid::new([-1.0, -2.0, -2.0], [0.0, 2.0, 2.0])?;
/// assert!((off_axis(&nozzle, &wall, Facing::Front)?.si() - 45_f64.to_radians()).abs() < 1e-12);
/// # Ok::<(), linewalk_formulas::physics::spray::SprayError>(())
/// ```
pub fn off_axis(nozzle: &Nozzle, hazard: &Cuboid, facing: Facing) -> Result<Angle, SprayError> {
    nozzle.angle_to(hazard.face(facing).centre()).map(Angle::from_si).ok_or(SprayError::NozzleAtCentre)
}

/// The share of a keep-clear box, as the nozzle sees it, that the nozzle hits.
///
/// # Formula
/// Σ A_hit ÷ Σ A over every face of the box whose outward normal looks toward the nozzle (one to three of
/// them), hit as in [`coverage`]; areas in m2. Any share above zero is a hit; a share below 10⁻⁹ is rounding and is given
/// as 0.
/// # Symbols
/// Areas A, A_hit (m2) as [`coverage`]; result: share (1)
/// # Valid range
/// Any nozzle outside the box. Accuracy: about 10⁻⁶ of the faces.
/// # Errors
/// [`SprayError::NozzleInBox`] where no face looks toward the nozzle because it lies in or on the box;
/// [`SprayError::NoArea`] where the faces that do have no area.
/// # Source
/// As [`coverage`].
/// # Example
/// ```
/// use linewalk_formulas::physics::spray::{Cuboid, Nozzle, hits};
/// use linewalk_formulas::units::{Angle, Length};
/// let nozzle = Nozzle::new([1.0, 0.0, 0.0], [-1.0, 0.0, 0.0], Angle::from_si(1.0), Length::from_si(9.0))?;
/// let visor = Cuboid::new([3.0, -0.1, -0.1], [3.2, 0.1, 0.1])?;
/// assert_eq!(hits(&nozzle, &visor, &[])?.si(), 0.0); // behind the nozzle
/// # Ok::<(), linewalk_formulas::physics::spray::SprayError>(())
/// ```
pub fn hits(nozzle: &Nozzle, keep_clear: &Cuboid, shields: &[Cuboid]) -> Result<Ratio, SprayError> {
    let (mut hit, mut whole, mut looking) = (0.0, 0.0, 0);
    for facing in Facing::ALL {
        let face = keep_clear.face(facing);
        if !face.looks_toward(nozzle.at()) {
            continue;
        }
        looking += 1;
        whole += face.area();
        hit += area::hit(std::slice::from_ref(nozzle), &face, shields);
    }
    match (looking, whole > 0.0) {
        (0, _) => Err(SprayError::NozzleInBox),
        (_, false) => Err(SprayError::NoArea),
        _ if hit < CRUMB * whole => Ok(Ratio::from_si(0.0)),
        _ => Ok(Ratio::from_si((hit / whole).clamp(0.0, 1.0))),
    }
}

/// The place in `shields` of the first shield whose inside holds the nozzle: such a nozzle covers nothing, and a person
/// should hear why. None where it stands free or only touches a shield.
///
/// # Formula
/// low < P < high on all three axes (m).
/// # Symbols
/// P apex of the nozzle (m) · low, high corners of a shield (m) · result: place in the list.
/// # Valid range
/// Any.
/// # Errors
/// None.
/// # Source
/// The definition of a box.
/// # Example
/// ```
/// use linewalk_formulas::physics::spray::{Cuboid, Nozzle, enclosing};
/// use linewalk_formulas::units::{Angle, Length};
/// let nozzle = Nozzle::new([0.0, 0.0, 0.0], [1.0, 0.0, 0.0], Angle::from_si(1.0), Length::from_si(1.0))?;
/// assert_eq!(enclosing(&nozzle, &[Cuboid::new([-1.0; 3], [1.0; 3])?]), Some(0));
/// # Ok::<(), linewalk_formulas::physics::spray::SprayError>(())
/// ```
pub fn enclosing(nozzle: &Nozzle, shields: &[Cuboid]) -> Option<usize> {
    shields.iter().position(|shield| shield.holds(nozzle.at()))
}
