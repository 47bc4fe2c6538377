//! Whether the bolts of a bottle's mount hold it when the car stops dead, in any direction.
//!
//! Bolts only: bands, tabs and what they are fixed to are not worked. [`SCOPE`] says so and belongs beside the number.

mod grade;
mod thread;

pub use grade::{Grade, GradeError, PROOF, ProofRow, ProofStress};
pub use thread::{PITCHES, Pitches, Series, Thread, ThreadError};

use crate::cite::{Basis, Cite};
use crate::units::{Force, Length, Mass, Quantity, Ratio, STANDARD_GRAVITY};

/// What is always shown with the margin.
pub const SCOPE: &str = "bolts only: bands, tabs and what they are fixed to are not worked";

/// Shear proof load ÷ tensile proof load.
pub const SHEAR_SHARE: f64 = 0.6;

/// Where [`SHEAR_SHARE`] comes from; the distortion-energy theory gives 0.577, steel codes 0.62.
pub const SHEAR_CITE: Cite = Cite::new("", "", Basis::CommonPractice);

/// Where the rule for combining tension and shear comes from.
pub const INTERACTION_CITE: Cite = Cite::new(
    "machine-design textbooks",
    "elliptical interaction of bolt tension and shear",
    Basis::FromMemory,
);

/// A bolted bottle mount: rows of bolts in one plane, the bottle's axis parallel to it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mount {
    /// Mass of the full bottle with what is fixed to it.
    pub gross_mass: Mass,
    /// Deceleration to be held, in standard gravities.
    pub load_factor: Ratio,
    /// All bolts of the mount.
    pub bolts: u32,
    /// Their thread.
    pub thread: Thread,
    /// Their grade or property class.
    pub grade: Grade,
    /// Distance between the bolt rows along the bottle.
    pub span: Option<Length>,
    /// Distance between the bolt rows across the bottle.
    pub width: Option<Length>,
    /// From the bottle's axis to the mounting face.
    pub offset: Option<Length>,
}

/// The margin of a mount's bolts, in the worst direction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BoltMargin {
    /// What the worst bolt could take ÷ what it gets; 1 is just enough.
    pub margin: Ratio,
    /// The worst direction, as cosines: off the mounting face, along the bottle, across it.
    pub direction: [f64; 3],
    /// Tension in the worst bolt, in that direction.
    pub tension: Force,
    /// Shear in each bolt, in that direction.
    pub shear: Force,
    /// Tensile proof load of one bolt.
    pub proof_load: Force,
    /// Proof stress of the grade at this size, with its source.
    pub proof: ProofStress,
}

/// Why the margin cannot be worked.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MountError {
    /// Fewer than two bolts.
    #[error("the mount has {bolts} bolts; the sum needs at least 2")]
    TooFewBolts {
        /// How many there are.
        bolts: u32,
    },
    /// A distance of the bolt pattern is not given.
    #[error("no {} is given for the mount", .0.key())]
    Missing(Part),
    /// A value is not a number above zero (or, for the offset, not zero or above).
    #[error("the {} of the mount is out of range", .0.key())]
    OutOfRange(Part),
    /// The grade has no proof stress for this bolt.
    #[error(transparent)]
    Grade(#[from] GradeError),
}

/// The input of a mount that an error names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// `gross_mass`
    GrossMass,
    /// `load_factor`
    LoadFactor,
    /// `span`
    Span,
    /// `width`
    Width,
    /// `offset`
    Offset,
}

impl Part {
    /// The key it has in a car file, under the mount (the gross mass: under the bottle).
    pub fn key(self) -> &'static str {
        match self {
            Self::GrossMass => "gross_mass",
            Self::LoadFactor => "load_factor",
            Self::Span => "span",
            Self::Width => "width",
            Self::Offset => "offset",
        }
    }
}

/// The margin of a mount's bolts against the worst direction of the load.
///
/// # Formula
/// margin = 1 ÷ √((T/T_p)² + (V/V_p)²), least over all directions, with
/// F = m a g (N) for gross mass m (kg), load factor a (1), g = 9.806 65 m/s2;
/// T = F [c_n/n + (2 e/n)(c_l/L + c_w/W)] (N), V = F √(c_l² + c_w²)/n (N); n bolts; span L, width W, offset e (m);
/// direction cosines c_n off the face, c_l along, c_w across, all ≥ 0; T_p = S_p A_t (N), V_p = 0.6 T_p; S_p (Pa) the
/// proof stress, A_t (m2) the tensile stress area.
///
/// The worst direction is exact, not searched for. With t = (1, 2e/L, 2e/W), (T/T_p)² + (V/V_p)² is F²/n² times the
/// quadratic form of t tᵀ/T_p² + diag(0, 1, 1)/V_p². That matrix has no negative entry, so (Perron–Frobenius) its largest
/// eigenvalue has an eigenvector with no negative part, and the largest value over the allowed directions is that
/// eigenvalue: λ = (s + √(s² − 4 p))/2, s = (1 + τ²)/T_p² + 1/V_p², p = 1/(T_p V_p)², τ² = (2e/L)² + (2e/W)².
/// # Symbols
/// Given with the formula.
/// # Valid range
/// 2 or more bolts; m, a, L, W > 0; e ≥ 0. Preload, prying and the stiffness of the structure are left out.
/// # Errors
/// [`MountError`]: too few bolts, a distance missing or out of range, no proof stress for the bolt.
/// # Source
/// Rigid-plate bolt group and elliptical interaction (textbook, from memory); stress areas as [`Thread::area`];
/// proof stress as [`Grade::proof_stress`]; 0.6 common practice.
/// # Example
/// ```
/// use linewalk_formulas::physics::mount::{Grade, Mount, Thread, bolt_margin};
/// use linewalk_formulas::units::{Length, Mass, Ratio};
/// let mount = Mount {
///     gross_mass: Mass::from_si(9.0),
///     load_factor: Ratio::from_si(25.0),
///     bolts: 4,
///     thread: Thread::parse("1/4-28")?,
///     grade: Grade::parse("SAE 8")?,
///     span: Some(Length::from_inches(9.0)),
///     width: Some(Length::from_inches(4.0)),
///     offset: Some(Length::from_inches(3.0)),
/// };
/// assert!(bolt_margin(&mount)?.margin.si() > 10.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn bolt_margin(mount: &Mount) -> Result<BoltMargin, MountError> {
    if mount.bolts < 2 {
        return Err(MountError::TooFewBolts { bolts: mount.bolts });
    }
    let mass = above_zero(Some(mount.gross_mass), Part::GrossMass)?;
    let factor = above_zero(Some(mount.load_factor), Part::LoadFactor)?;
    let span = above_zero(mount.span, Part::Span)?;
    let width = above_zero(mount.width, Part::Width)?;
    let offset = mount.offset.ok_or(MountError::Missing(Part::Offset))?.si();
    if !(offset.is_finite() && offset >= 0.0) {
        return Err(MountError::OutOfRange(Part::Offset));
    }
    let proof = mount.grade.proof_stress(&mount.thread)?;
    let proof_load = proof.stress.si() * mount.thread.area();
    let each = mass * factor * STANDARD_GRAVITY / f64::from(mount.bolts);

    // Worked with T_p = 1, so that V_p = SHEAR_SHARE.
    let (along, across) = (2.0 * offset / span, 2.0 * offset / width);
    let lever = along.hypot(across);
    let shear_term = SHEAR_SHARE.powi(-2);
    let sum = 1.0 + lever * lever + shear_term;
    let worst = f64::midpoint(sum, (sum * sum - 4.0 * shear_term).max(0.0).sqrt());
    // The eigenvector in the plane of the face's normal and the direction (along, across).
    let in_plane = if lever > 0.0 { worst - 1.0 } else { 1.0 };
    let off_face = lever;
    let size = off_face.hypot(in_plane);
    let (normal, plane) = (off_face / size, in_plane / size);
    let (share_along, share_across) = if lever > 0.0 { (along / lever, across / lever) } else { (1.0, 0.0) };
    Ok(BoltMargin {
        margin: Ratio::from_si(proof_load / (each * worst.sqrt())),
        direction: [normal, plane * share_along, plane * share_across],
        tension: Force::from_si(each * (normal + lever * plane)),
        shear: Force::from_si(each * plane),
        proof_load: Force::from_si(proof_load),
        proof,
    })
}

/// The value in SI where it is given, finite and above zero.
fn above_zero<T: Quantity>(value: Option<T>, part: Part) -> Result<f64, MountError> {
    let si = value.ok_or(MountError::Missing(part))?.si();
    if si.is_finite() && si > 0.0 { Ok(si) } else { Err(MountError::OutOfRange(part)) }
}

/// The tensile proof load of one bolt, S_p A_t (N), S_p the proof stress (Pa) and A_t the stress area (m2).
///
/// # Formula
/// F = S_p A_t.
/// # Symbols
/// S_p proof stress of `grade` (Pa) · A_t stress area of `thread` (m2) · F load (N)
/// # Valid range
/// As [`Grade::proof_stress`].
/// # Errors
/// As [`Grade::proof_stress`].
/// # Source
/// SAE J429 and ISO 898-1, definition of the proof load.
/// # Example
/// ```
/// use linewalk_formulas::physics::mount::{Grade, Thread, proof_load};
/// let load = proof_load(&Thread::parse("1/4-28")?, Grade::parse("SAE 5")?)?;
/// assert!((load.si() / 4.448_222 - 3100.0).abs() < 15.0); // printed, in lbf, rounded to 50
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn proof_load(thread: &Thread, grade: Grade) -> Result<Force, GradeError> {
    Ok(Force::from_si(grade.proof_stress(thread)?.stress.si() * thread.area()))
}
