//! Bolt threads as people write them, and their tensile stress areas.

use crate::cite::{Basis, Cite};
use crate::units::{INCH, Length};

/// Inch or metric.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Series {
    /// Unified inch threads.
    Inch,
    /// ISO metric threads.
    Metric,
}

impl Series {
    /// What a grade of this series is for, where the bolt is of the other one.
    pub(super) fn clash(self) -> &'static str {
        match self {
            Self::Inch => "inch bolts and the bolt is metric",
            Self::Metric => "metric bolts and the bolt is inch",
        }
    }
}

/// A bolt thread: nominal diameter and pitch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thread {
    series: Series,
    /// m
    diameter: f64,
    /// m
    pitch: f64,
}

/// Why a thread cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ThreadError {
    /// Not written as a thread at all.
    #[error("\"{0}\" is not a bolt thread; write it as \"1/4-28\", \"#10-32\" or \"M8x1.25\"")]
    Unreadable(String),
    /// An inch size without its threads an inch.
    #[error("\"{0}\" lacks its threads an inch; write it as \"1/4-28\", \"#10-32\" or \"M8x1.25\"")]
    NoPitch(String),
    /// A number size that does not exist.
    #[error("\"{0}\" names a screw size that does not exist; sizes are 0 to 6, 8, 10 and 12")]
    NumberSize(String),
    /// A metric size without a pitch that has no coarse pitch in the table.
    #[error("no coarse pitch is known for \"{0}\"; write the pitch, as in \"M8x1.25\"")]
    NoCoarsePitch(String),
    /// Coarser than the coarse series, or finer than any bolt thread: most likely a slip.
    #[error("no bolt has the thread \"{0}\"; look at the pitch or the threads an inch again")]
    Pitch(String),
}

/// Unified coarse series: diameter (in), threads an inch. Source: ASME B1.1, from memory; used only to catch slips.
const UNC: &[(f64, f64)] = &[
    (0.060, 80.0),
    (0.073, 64.0),
    (0.086, 56.0),
    (0.099, 48.0),
    (0.112, 40.0),
    (0.125, 40.0),
    (0.138, 32.0),
    (0.164, 32.0),
    (0.190, 24.0),
    (0.216, 24.0),
    (0.25, 20.0),
    (0.3125, 18.0),
    (0.375, 16.0),
    (0.4375, 14.0),
    (0.5, 13.0),
    (0.5625, 12.0),
    (0.625, 11.0),
    (0.75, 10.0),
    (0.875, 9.0),
    (1.0, 8.0),
];

/// ISO metric coarse series: diameter (mm), pitch (mm).
const COARSE: &[(f64, f64)] = &[
    (3.0, 0.5),
    (4.0, 0.7),
    (5.0, 0.8),
    (6.0, 1.0),
    (7.0, 1.0),
    (8.0, 1.25),
    (10.0, 1.5),
    (12.0, 1.75),
    (14.0, 2.0),
    (16.0, 2.0),
    (18.0, 2.5),
    (20.0, 2.5),
    (22.0, 2.5),
    (24.0, 3.0),
    (27.0, 3.0),
    (30.0, 3.5),
    (36.0, 4.0),
    (39.0, 4.0),
];

/// The coarse series as values.
#[derive(Clone, Copy, Debug)]
pub struct Pitches<'a> {
    /// Diameter (in) and threads an inch of the unified series.
    pub inch: &'a [(f64, f64)],
    /// Diameter and pitch (mm) of the metric series.
    pub mm: &'a [(f64, f64)],
}

/// The coarse series that are printed.
pub const PITCHES: Pitches<'static> = Pitches { inch: UNC, mm: COARSE };

/// Where the coarse pitch of a bare metric size comes from.
pub(super) const COARSE_CITE: Cite = Cite::new("ISO 261 and ISO 262", "coarse series", Basis::FromMemory);

impl Thread {
    /// Reads a thread: `1/4-28`, `1 1/4-7`, `0.25-28`, `#10-32`, `10-32`, `M8x1.25`, `M8-1.25`, or `M8` alone for the
    /// coarse pitch ([`Self::coarse_cite`]). A closing UNC, UNF or UNEF and a closing inch mark on the size are allowed. A
    /// bare 1 is one inch unless its threads are those of the number 1 screw (64 or 72).
    ///
    /// Valid range: no coarser than the coarse series where the size is in it; pitch ≤ a quarter of the diameter.
    ///
    /// # Errors
    /// [`ThreadError`].
    ///
    /// ```
    /// use linewalk_formulas::physics::mount::Thread;
    /// assert_eq!(Thread::parse("M8")?, Thread::parse("M8x1.25")?);
    /// assert!(Thread::parse("1/4").is_err());
    /// # Ok::<(), linewalk_formulas::physics::mount::ThreadError>(())
    /// ```
    pub fn parse(text: &str) -> Result<Self, ThreadError> {
        Self::parse_by(text, &PITCHES)
    }

    /// As [`Self::parse`], by these coarse series.
    ///
    /// # Errors
    /// [`ThreadError`].
    pub fn parse_by(text: &str, coarse: &Pitches<'_>) -> Result<Self, ThreadError> {
        let plain = text.trim().to_ascii_uppercase().replace(['×', '*'], "X");
        match plain.strip_prefix('M') {
            Some(rest) => Self::metric(rest, text, coarse.mm),
            None => Self::inch(&plain, text, coarse.inch),
        }
    }

    /// Reads what follows the M.
    fn metric(rest: &str, text: &str, series: &[(f64, f64)]) -> Result<Self, ThreadError> {
        let unreadable = || ThreadError::Unreadable(text.to_owned());
        let (size, pitch) = match rest.split_once(['X', '-']) {
            Some((size, pitch)) => (size, Some(number(pitch).ok_or_else(unreadable)?)),
            None => (rest, None),
        };
        let diameter = number(size).ok_or_else(unreadable)?;
        let coarse = series.iter().find(|(d, _)| *d == diameter).map(|(_, p)| *p);
        let pitch = pitch.or(coarse).ok_or_else(|| ThreadError::NoCoarsePitch(text.to_owned()))?;
        if pitch < 0.2 || pitch > coarse.unwrap_or(diameter / 4.0) {
            return Err(ThreadError::Pitch(text.to_owned()));
        }
        Ok(Self { series: Series::Metric, diameter: diameter / 1000.0, pitch: pitch / 1000.0 })
    }

    /// Reads an inch thread.
    fn inch(plain: &str, text: &str, series: &[(f64, f64)]) -> Result<Self, ThreadError> {
        let unreadable = || ThreadError::Unreadable(text.to_owned());
        let bare = ["UNC", "UNF", "UNEF"].iter().find_map(|mark| plain.strip_suffix(mark)).unwrap_or(plain);
        // The last dash parts the size from the threads: "1-1/4-7" has one inside the size.
        let Some((size, threads)) = bare.trim().rsplit_once('-') else {
            let known = inch_size(bare, None).is_some() || bare.starts_with('#');
            return Err(if known { ThreadError::NoPitch(text.to_owned()) } else { unreadable() });
        };
        if size.trim_matches(|c: char| c == '#' || c == ' ').is_empty() {
            return Err(unreadable());
        }
        let threads = match number(threads) {
            Some(threads) => threads,
            // "1-1/4": a mixed size, not a size and its threads.
            None if inch_size(bare, None).is_some() => return Err(ThreadError::NoPitch(text.to_owned())),
            None => return Err(unreadable()),
        };
        let diameter = match inch_size(size, Some(threads)) {
            Some(diameter) => diameter,
            None if whole(size).is_some() => return Err(ThreadError::NumberSize(text.to_owned())),
            None => return Err(unreadable()),
        };
        let coarsest = series.iter().find(|(d, _)| *d == diameter).map_or(4.0 / diameter, |(_, n)| *n);
        if threads < coarsest || threads > 80.0 {
            return Err(ThreadError::Pitch(text.to_owned()));
        }
        Ok(Self { series: Series::Inch, diameter: diameter * INCH, pitch: INCH / threads })
    }

    /// Inch or metric.
    pub fn series(&self) -> Series {
        self.series
    }
    /// Nominal diameter.
    pub fn diameter(&self) -> Length {
        Length::from_si(self.diameter)
    }
    /// Distance from thread to thread.
    pub fn pitch(&self) -> Length {
        Length::from_si(self.pitch)
    }
    /// Where the coarse pitch of a metric size written without one comes from.
    pub fn coarse_cite() -> Cite {
        COARSE_CITE
    }
    /// Where the stress area comes from.
    pub fn area_cite(&self) -> Cite {
        match self.series {
            Series::Inch => Cite::new("ASME B1.1", "tensile stress area", Basis::FromMemory),
            Series::Metric => Cite::new("ISO 898-1", "nominal stress area", Basis::FromMemory),
        }
    }

    /// The tensile stress area (m2).
    ///
    /// Formula: inch A_t = π/4 (D − 0.9743/n)², D in inches and n threads an inch, that is 0.9743 P; metric
    /// A_t = π/4 (d − 0.9382 P)²; diameters and pitch P in metres here.
    ///
    /// Valid range: any thread that [`Self::parse`] accepts. Source: [`Self::area_cite`]; printed areas agree to their last
    /// figure.
    ///
    /// ```
    /// use linewalk_formulas::physics::mount::Thread;
    /// let mm2 = Thread::parse("M8x1.25")?.area() * 1e6;
    /// assert!((mm2 - 36.6).abs() < 0.05); // ISO 898-1 prints 36.6 mm2
    /// # Ok::<(), linewalk_formulas::physics::mount::ThreadError>(())
    /// ```
    pub fn area(&self) -> f64 {
        let factor = match self.series {
            Series::Inch => 0.9743,
            Series::Metric => 0.9382,
        };
        std::f64::consts::FRAC_PI_4 * (self.diameter - factor * self.pitch).powi(2)
    }
}

/// A finite number above zero.
fn number(text: &str) -> Option<f64> {
    let text = text.trim();
    let plain = text.chars().all(|c| c.is_ascii_digit() || c == '.');
    text.parse().ok().filter(|value: &f64| plain && value.is_finite() && *value > 0.0)
}

/// A whole number of a screw size, with or without its sign.
fn whole(size: &str) -> Option<u32> {
    size.trim().trim_start_matches('#').trim().parse().ok()
}

/// The diameter of an inch size (in): a number size, a fraction, a mixed number or a decimal.
fn inch_size(size: &str, threads: Option<f64>) -> Option<f64> {
    let marked = size.trim();
    let size = marked.trim_end_matches("IN").trim_end_matches('"').trim();
    if let Some(screw) = whole(size) {
        let one_inch = screw == 1 && !size.starts_with('#') && threads.is_some_and(|n| n < 60.0);
        let exists = matches!(screw, 0..=6 | 8 | 10 | 12);
        if one_inch || marked != size {
            return (screw >= 1).then(|| f64::from(screw));
        }
        // Screw sizes: 0.060 in and 0.013 in more for each number (ASME B1.1, from memory).
        return exists.then(|| f64::from(60 + 13 * screw) / 1000.0);
    }
    if let Some((top, bottom)) = size.split_once('/') {
        let (units, top) = match top.trim().split_once([' ', '-']) {
            Some((units, top)) => (number(units)?, top),
            None => (0.0, top),
        };
        return Some(units + number(top)? / number(bottom)?);
    }
    number(size)
}
