//! Bolt grades and property classes, and their proof stresses.

use super::thread::{Series, Thread};
use crate::cite::{Basis, Cite};
use crate::units::{PSI, Pressure};

/// A bolt grade (inch) or property class (metric).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grade {
    /// SAE J429 grade 2.
    Sae2,
    /// SAE J429 grade 5.
    Sae5,
    /// SAE J429 grade 8.
    Sae8,
    /// ISO 898-1 class 8.8.
    Iso8_8,
    /// ISO 898-1 class 10.9.
    Iso10_9,
    /// ISO 898-1 class 12.9.
    Iso12_9,
}

/// A proof stress with its source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ProofStress {
    /// The stress a bolt takes without lasting stretch.
    pub stress: Pressure,
    /// Where it comes from.
    pub cite: Cite,
}

/// Why a grade gives no proof stress.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum GradeError {
    /// A grade that the tables do not hold.
    #[error(
        "\"{0}\" is not a bolt grade with a known proof stress; known are SAE 2, 5 and 8 and classes 8.8, 10.9 and 12.9"
    )]
    Unknown(String),
    /// An inch grade on a metric bolt or the other way about.
    #[error("{} is for {}", .0.name(), .0.series().clash())]
    WrongSeries(Grade),
    /// The bolt is smaller or larger than the standard's table for the grade.
    #[error("{} covers bolts of {covers} only", grade.name())]
    Size {
        /// The grade.
        grade: Grade,
        /// Smallest and largest nominal size it covers, in words.
        covers: &'static str,
    },
}

/// One row of the proof-stress tables.
#[derive(Clone, Copy, Debug)]
pub struct ProofRow {
    /// The grade.
    pub grade: Grade,
    /// The largest diameter it holds for (m).
    pub largest: f64,
    /// The stress (Pa).
    pub stress: f64,
}

const fn row(grade: Grade, largest: f64, stress: f64) -> ProofRow {
    ProofRow { grade, largest, stress }
}

/// Every row, each grade's in order of size.
pub const PROOF: &[ProofRow] = &[
    row(Grade::Sae2, inch(0.75), 55.0 * KSI),
    row(Grade::Sae2, inch(1.5), 33.0 * KSI),
    row(Grade::Sae5, inch(1.0), 85.0 * KSI),
    row(Grade::Sae5, inch(1.5), 74.0 * KSI),
    row(Grade::Sae8, inch(1.5), 120.0 * KSI),
    row(Grade::Iso8_8, mm(16.0), 580e6),
    row(Grade::Iso8_8, mm(39.0), 600e6),
    row(Grade::Iso10_9, mm(39.0), 830e6),
    row(Grade::Iso12_9, mm(39.0), 970e6),
];

/// An inch in metres, and a millimetre, for the tables. The small excess lets a nominal size equal its own bound.
const fn inch(size: f64) -> f64 {
    size * 0.0254 + 1e-9
}
/// A thousand pounds-force a square inch (Pa).
const KSI: f64 = 1000.0 * PSI;
/// A millimetre size as a bound.
const fn mm(size: f64) -> f64 {
    size * 1e-3 + 1e-9
}

/// Read in public reprints of the standard's table of mechanical requirements.
const J429: Cite = Cite::new("SAE J429", "mechanical requirements, proof load stress", Basis::Published);
/// Read in a public reprint of the standard's table of mechanical properties.
const ISO_898_1: Cite =
    Cite::new("ISO 898-1:2013", "mechanical properties, stress under proof load", Basis::Published);

const INCH_COVERS: &str = "1/4 in to 1-1/2 in";
const METRIC_COVERS: &str = "M3 to M39";

impl Grade {
    /// Reads a grade: `SAE 8`, `grade 5`, `gr. 8`, `8`, `8.8`, `ISO 10.9`, `class 12.9`.
    ///
    /// # Errors
    /// [`GradeError::Unknown`]. Stainless classes are among them: their standard states no proof load.
    ///
    /// ```
    /// use linewalk_formulas::physics::mount::Grade;
    /// assert_eq!(Grade::parse("SAE 8")?, Grade::Sae8);
    /// assert_eq!(Grade::parse("8.8")?, Grade::Iso8_8);
    /// # Ok::<(), linewalk_formulas::physics::mount::GradeError>(())
    /// ```
    pub fn parse(text: &str) -> Result<Self, GradeError> {
        let lower = text.to_ascii_lowercase();
        let words = lower.split(|c: char| c.is_whitespace() || c == '-').filter(|word| !word.is_empty());
        let mut mark = None;
        for word in words {
            let is_label = matches!(
                word.trim_end_matches('.'),
                "sae" | "j429" | "grade" | "gr" | "iso" | "class" | "property"
            );
            if !is_label && mark.replace(word).is_some() {
                return Err(GradeError::Unknown(text.to_owned()));
            }
        }
        match mark {
            Some("2") => Ok(Self::Sae2),
            Some("5") => Ok(Self::Sae5),
            Some("8") => Ok(Self::Sae8),
            Some("8.8") => Ok(Self::Iso8_8),
            Some("10.9") => Ok(Self::Iso10_9),
            Some("12.9") => Ok(Self::Iso12_9),
            _ => Err(GradeError::Unknown(text.to_owned())),
        }
    }

    /// Its name in a sentence.
    pub fn name(self) -> &'static str {
        match self {
            Self::Sae2 => "SAE grade 2",
            Self::Sae5 => "SAE grade 5",
            Self::Sae8 => "SAE grade 8",
            Self::Iso8_8 => "class 8.8",
            Self::Iso10_9 => "class 10.9",
            Self::Iso12_9 => "class 12.9",
        }
    }

    /// The bolts it is for.
    pub fn series(self) -> Series {
        match self {
            Self::Sae2 | Self::Sae5 | Self::Sae8 => Series::Inch,
            Self::Iso8_8 | Self::Iso10_9 | Self::Iso12_9 => Series::Metric,
        }
    }

    /// The proof stress of a bolt of this grade.
    ///
    /// Values: SAE J429 grade 2: 55 ksi to 3/4 in (bolts up to 6 in long; longer ones are grade 1, 33 ksi), 33 ksi above;
    /// grade 5: 85 ksi to 1 in, 74 ksi above; grade 8: 120 ksi; all 1/4 to 1-1/2 in. ISO 898-1 class 8.8: 580 MPa to
    /// M16, 600 MPa above; 10.9: 830 MPa; 12.9: 970 MPa; to M39. Given in pascals.
    ///
    /// Valid range: the sizes above. Number-size screws are outside J429's rows for these grades.
    ///
    /// # Errors
    /// [`GradeError::WrongSeries`], [`GradeError::Size`].
    ///
    /// ```
    /// use linewalk_formulas::physics::mount::{Grade, Thread};
    /// let proof = Grade::Iso8_8.proof_stress(&Thread::parse("M8")?)?;
    /// assert_eq!(proof.stress.si(), 580e6);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn proof_stress(self, thread: &Thread) -> Result<ProofStress, GradeError> {
        self.proof_stress_by(PROOF, thread)
    }

    /// As [`Self::proof_stress`], by these rows.
    ///
    /// # Errors
    /// [`GradeError::WrongSeries`], [`GradeError::Size`].
    pub fn proof_stress_by(self, rows: &[ProofRow], thread: &Thread) -> Result<ProofStress, GradeError> {
        if thread.series() != self.series() {
            return Err(GradeError::WrongSeries(self));
        }
        let (least, covers, cite) = match self.series() {
            Series::Inch => (0.25 * 0.0254 - 1e-9, INCH_COVERS, J429),
            Series::Metric => (3e-3 - 1e-9, METRIC_COVERS, ISO_898_1),
        };
        let diameter = thread.diameter().si();
        let holds = |row: &&ProofRow| row.grade == self && diameter >= least && diameter <= row.largest;
        let row = rows.iter().find(holds).ok_or(GradeError::Size { grade: self, covers })?;
        Ok(ProofStress { stress: Pressure::from_si(row.stress), cite })
    }
}
