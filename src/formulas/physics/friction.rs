//! Friction of a round tube and losses of fittings: Darcy friction factor and equivalent lengths.

use crate::cite::{Basis, Cite};

/// Below this Reynolds number the flow is laminar.
pub const LAMINAR: f64 = 2000.0;
/// Above this Reynolds number the flow is turbulent.
pub const TURBULENT: f64 = 4000.0;
/// Above this one Colebrook and White's equation holds for every roughness: see [`Wall::new`].
const JOINED: f64 = 4100.0;
/// The exponent by which f falls from the cubic's end to Colebrook and White.
const FALL: f64 = -1.9;
/// The largest relative roughness (roughness over bore) that the turbulent law is known for: the edge of Moody's chart.
pub const ROUGHEST: f64 = 0.05;

/// Sources of the friction factor.
pub const FRICTION_SOURCES: [Cite; 2] = [
    Cite::new("Colebrook (1939), turbulent flow in pipes", "as printed in textbooks", Basis::Published),
    Cite::new(
        "EPANET 2 manual, head-loss formulas",
        "cubic between Re 2000 and 4000 (Dunlop 1991)",
        Basis::FromMemory,
    ),
];

/// The law used above Reynolds number 4000. The other ranges are common to both.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Law {
    /// Colebrook and White's equation, solved to the last digit. The law of this program.
    #[default]
    ColebrookWhite,
    /// Swamee and Jain's explicit form of it, which EPANET uses. For comparison with EPANET only.
    SwameeJain,
}

/// A friction factor and how it changes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factor {
    /// Darcy friction factor f.
    pub value: f64,
    /// d ln f / d ln Re at the same place; -1 in laminar flow.
    pub slope: f64,
}

/// Where the search for 1/√f starts: f = 0.024, amid what a smooth tube has.
pub(crate) const FIRST_ROOT: f64 = 6.5;

/// Two over ln 10: turns natural logarithms into the factor 2 log10 of the turbulent laws.
const TWO_LOG10: f64 = 2.0 / std::f64::consts::LN_10;

/// The friction of one tube wall: everything about f that does not depend on the flow.
#[derive(Clone, Copy, Debug)]
pub struct Wall {
    sand: f64,
    law: Law,
    cubic: [f64; 4],
    edge: f64,
}

impl Wall {
    /// A wall of the given relative roughness ε/d (0 is smooth; meant for 0 to [`ROUGHEST`]).
    ///
    /// Between Re 2000 and 4000, with R = Re/2000, f is the cubic X1 + R (X2 + R (X3 + R X4)) that meets 64/Re in
    /// value and Swamee-Jain at Re 4000 in value and slope (EPANET 2 manual). At Re 4000 it stands 1.6 to 3.3 %
    /// above Colebrook-White. A drop there would give two flows for one pressure, so from Re 4000 on f falls as
    /// Re^-1.9 (the pressure still rising) until it meets Colebrook-White, before Re 4100.
    pub fn new(relative_roughness: f64, law: Law) -> Self {
        let sand = relative_roughness / 3.7;
        let edge = 5.74 / TURBULENT.powf(0.9);
        let root = -TWO_LOG10 * (sand + edge).ln();
        let fa = 1.0 / (root * root);
        let fb = fa * (2.0 - 0.9 * 2.0 * TWO_LOG10 * edge / ((sand + edge) * root));
        let cubic = [
            7.0 * fa - fb,
            0.128 - 17.0 * fa + 2.5 * fb,
            -0.128 + 13.0 * fa - 2.0 * fb,
            0.032 - 3.0 * fa + 0.5 * fb,
        ];
        Self { sand, law, cubic, edge: fa }
    }

    /// Darcy friction factor at Reynolds number Re > 0.
    ///
    /// 64/Re below 2000; the cubic from 2000 to 4000; above (and past the join), 1/√f = -2 log10(ε/(3.7 d) + 2.51/(Re √f)).
    pub fn factor(&self, reynolds: f64) -> Factor {
        self.factor_near(reynolds, &mut { FIRST_ROOT })
    }

    /// As [`Self::factor`], from a root 1/√f that is near already, and which is brought up to date. One logarithm is
    /// enough where the flow has hardly changed; a solver asks for the same wall some thousand times.
    pub(crate) fn factor_near(&self, reynolds: f64, root: &mut f64) -> Factor {
        if reynolds < LAMINAR {
            return Factor { value: 64.0 / reynolds, slope: -1.0 };
        }
        if reynolds <= TURBULENT {
            return self.transition(reynolds / LAMINAR);
        }
        match self.law {
            Law::ColebrookWhite if reynolds < JOINED => self.join(reynolds, root),
            Law::ColebrookWhite => self.colebrook_white(reynolds, root),
            Law::SwameeJain => self.swamee_jain(reynolds),
        }
    }

    fn transition(&self, r: f64) -> Factor {
        let [x1, x2, x3, x4] = self.cubic;
        let value = x1 + r * (x2 + r * (x3 + r * x4));
        let rate = x2 + r * (2.0 * x3 + r * 3.0 * x4);
        Factor { value, slope: rate * r / value }
    }

    fn join(&self, reynolds: f64, root: &mut f64) -> Factor {
        let turbulent = self.colebrook_white(reynolds, root);
        let falling = self.edge * (reynolds / TURBULENT).powf(FALL);
        if falling > turbulent.value { Factor { value: falling, slope: FALL } } else { turbulent }
    }

    fn swamee_jain(&self, reynolds: f64) -> Factor {
        let smooth = 5.74 * (-0.9 * reynolds.ln()).exp();
        let inside = self.sand + smooth;
        let root = -TWO_LOG10 * inside.ln();
        Factor { value: 1.0 / (root * root), slope: -2.0 * TWO_LOG10 * 0.9 * smooth / (inside * root) }
    }

    /// Chebyshev's method (Newton's with the bend of the curve taken in, of order three) on x = 1/√f. The function
    /// g = x + (2/ln 10) ln(a + b x) rises and bends one way only, and little: two or three rounds from [`FIRST_ROOT`],
    /// one from a near root. Each round costs a logarithm, which is what the whole solver spends most of its time on.
    fn colebrook_white(&self, reynolds: f64, root: &mut f64) -> Factor {
        let b = 2.51 / reynolds;
        let mut x = *root;
        let mut inside = self.sand + b * x;
        for _ in 0..8 {
            // g' = 1 + t, g'' = -t b / inside.
            let bent = b / inside;
            let t = TWO_LOG10 * bent;
            let step = (x + TWO_LOG10 * inside.ln()) / (1.0 + t);
            x -= step * (1.0 - 0.5 * step * t * bent / (1.0 + t));
            inside = self.sand + b * x;
            // The next step would be of the order of this one's third power over a thousand.
            if step.abs() < 1e-5 * x {
                break;
            }
        }
        *root = x;
        let w = TWO_LOG10 * b / inside;
        Factor { value: 1.0 / (x * x), slope: -2.0 * w / (1.0 + w) }
    }
}

/// Darcy friction factor by the law of this program; see [`Wall::new`] for how its ranges join.
///
/// # Formula
/// f = 64/Re below Re 2000; 1/√f = −2 log₁₀(ε/(3.7 d) + 2.51/(Re √f)) above 4000; a cubic between
/// # Symbols
/// Re `reynolds` (1) · ε/d `relative_roughness` (1) · f (1)
/// # Valid range
/// Re over 0; ε/d 0 to 0.05
/// # Errors
/// None.
/// # Source
/// Colebrook (1939) as printed in textbooks; EPANET 2 manual (Dunlop 1991) for the cubic, see [`FRICTION_SOURCES`].
/// # Example
/// A smooth pipe at Re 100 000: 0.0180 in White's table.
/// ```
/// use linewalk_formulas::physics::friction::darcy;
/// assert!((darcy(1e5, 0.0) - 0.0180).abs() < 5e-5);
/// ```
pub fn darcy(reynolds: f64, relative_roughness: f64) -> f64 {
    Wall::new(relative_roughness, Law::ColebrookWhite).factor(reynolds).value
}

/// Friction factor at complete turbulence, on which fittings are charged.
///
/// # Formula
/// f_T = 0.25 / [log₁₀(ε / 3.7 d)]²
/// # Symbols
/// ε/d `relative_roughness` (1) · f_T (1)
/// # Valid range
/// ε/d over 0, up to 0.05. A perfectly smooth tube has no such limit: 0 is returned.
/// # Errors
/// None.
/// # Source
/// Crane TP-410, chapter 2 (from memory): Colebrook-White without its Reynolds term.
/// # Example
/// A 2 in pipe of commercial steel: 0.019.
/// ```
/// use linewalk_formulas::physics::friction::complete_turbulence;
/// assert!((complete_turbulence(0.00015 * 12.0 / 2.067) - 0.019).abs() < 5e-4);
/// ```
pub fn complete_turbulence(relative_roughness: f64) -> f64 {
    if relative_roughness <= 0.0 {
        return 0.0;
    }
    let log = (relative_roughness / 3.7).log10();
    0.25 / (log * log)
}

/// A fitting or the leg by which a line leaves a tee.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Fitting {
    /// Standard 90 degree elbow.
    Elbow90,
    /// Standard 45 degree elbow.
    Elbow45,
    /// Bent tube, 90 degrees, radius about one and a half bores.
    Bend90,
    /// Union or coupling.
    Union,
    /// Straight through a tee.
    TeeRun,
    /// Through the side of a tee.
    TeeBranch,
}

impl Fitting {
    /// Every fitting of the table.
    pub const ALL: [Self; 6] =
        [Self::Elbow90, Self::Elbow45, Self::Bend90, Self::Union, Self::TeeRun, Self::TeeBranch];

    /// Its name in a car file.
    pub fn name(self) -> &'static str {
        match self {
            Self::Elbow90 => "elbow-90",
            Self::Elbow45 => "elbow-45",
            Self::Bend90 => "bend-90",
            Self::Union => "union",
            Self::TeeRun => "run",
            Self::TeeBranch => "branch",
        }
    }

    /// Equivalent length in bores, L/D of Crane TP-410, page A-29: K = f_T (L/D).
    pub fn equivalent_length(self) -> f64 {
        equivalent_length_by(EQUIVALENT_LENGTHS, self)
    }

    /// Where its equivalent length comes from.
    pub fn source(self) -> Cite {
        match self {
            Self::Elbow90 | Self::Bend90 => {
                Cite::new("Crane TP-410", "page A-29, as quoted", Basis::Published)
            }
            Self::Elbow45 | Self::TeeRun | Self::TeeBranch => {
                Cite::new("Crane TP-410", "page A-29", Basis::FromMemory)
            }
            Self::Union => Cite::new("common practice, no source", "", Basis::CommonPractice),
        }
    }

    /// Loss coefficient K = f_T (L/D) on the bore of a tube of relative roughness ε/d.
    pub fn loss(self, relative_roughness: f64) -> f64 {
        loss_by(EQUIVALENT_LENGTHS, self, relative_roughness)
    }
}

/// Equivalent length of each fitting, in bores.
pub const EQUIVALENT_LENGTHS: &[(Fitting, f64)] = &[
    (Fitting::Elbow90, 30.0),
    (Fitting::Elbow45, 16.0),
    (Fitting::Bend90, 14.0),
    (Fitting::Union, 2.0),
    (Fitting::TeeRun, 20.0),
    (Fitting::TeeBranch, 60.0),
];

fn equivalent_length_by(table: &[(Fitting, f64)], fitting: Fitting) -> f64 {
    table.iter().find(|(known, _)| *known == fitting).map_or(f64::NAN, |(_, length)| *length)
}

/// The loss coefficient of a fitting, by a table of equivalent lengths of the caller's.
///
/// # Formula
/// K = f_T (L/D)
/// # Symbols
/// f_T friction factor of the tube at complete turbulence (1) · L/D length of the fitting in bores, from `table` (1) ·
/// `relative_roughness` ε/d (1) · K on the bore of the tube (1)
/// # Valid range
/// Turbulent flow; as [`complete_turbulence`].
/// # Errors
/// Not a number where the table lacks the fitting.
/// # Source
/// Crane TP-410, chapter 2; the lengths are the caller's.
/// # Example
/// An elbow of 30 bores loses half again as much as a tee's run of 20.
/// ```
/// use linewalk_formulas::physics::friction::{Fitting, loss_by};
/// let table = [(Fitting::Elbow90, 30.0), (Fitting::TeeRun, 20.0)];
/// let ratio = loss_by(&table, Fitting::Elbow90, 1e-3) / loss_by(&table, Fitting::TeeRun, 1e-3);
/// assert!((ratio - 1.5).abs() < 1e-12);
/// ```
pub fn loss_by(table: &[(Fitting, f64)], fitting: Fitting, relative_roughness: f64) -> f64 {
    complete_turbulence(relative_roughness) * equivalent_length_by(table, fitting)
}
