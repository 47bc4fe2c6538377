//! What is written down during a walk: the payload of a log record.

use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};

pub use super::kept::Kept;
use super::letters::Lettered;
pub use super::outcome::{Outcome, Severity};

/// A moment with its offset.
pub type Moment = DateTime<FixedOffset>;

/// The last eight digits of a record's id. The first ones tell its time, alike for every record of a minute.
pub fn short_id(id: &str) -> &str {
    id.len().checked_sub(8).and_then(|from| id.get(from..)).unwrap_or(id)
}

/// An exact edition of a rule file.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct RulesMark {
    /// Ruleset id.
    pub id: String,
    /// Edition.
    pub edition: String,
    /// SHA-256 of its text.
    pub sha256: String,
}

/// A photo kept beside the log.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Photo {
    /// File name in the car's photo folder.
    pub file: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
}

/// Who judged: a person who answered, or the program by a number that nobody has answered.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum JudgedBy {
    /// A person.
    #[default]
    Person,
    /// The program, by a number alone.
    Program,
}

/// A value that a person typed for one row of a check.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct RowTyped {
    /// The row; empty where the check has one row without a name.
    pub id: String,
    /// As typed, with its unit.
    pub text: String,
    /// In SI; absent for a date.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub si: Option<f64>,
    /// The SI unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// Instrument used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instrument: Option<String>,
}

/// One answer to one check, for one item of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// The walk it belongs to: the id of its walk-started record.
    pub walk: String,
    /// The check.
    pub check: String,
    /// The code it goes by: the check's, with the item's letter where there are several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub code: Option<String>,
    /// The item, where the check goes over several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of: Option<String>,
    /// The check's title as it was shown.
    pub title: String,
    /// What the person said.
    pub result: Outcome,
    /// What the program says of the value.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Outcome>,
    /// Whether a person answered, or a number alone spoke.
    #[serde(default)]
    pub judged_by: JudgedBy,
    /// Whether a check with something to measure, count or date was answered by eye.
    #[serde(default, skip_serializing_if = "is_false")]
    pub by_eye: bool,
    /// Whether it was accepted with its whole station by one key.
    #[serde(default, skip_serializing_if = "is_false")]
    pub by_station: bool,
    /// Whether no limit was known for a value typed: the person decided it alone.
    #[serde(default, skip_serializing_if = "is_false")]
    pub limit_unknown: bool,
    /// The limit of a worked-out number that decided, in SI.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit: Option<String>,
    /// The row of the check whose limit rejects; none where it was rejected by what was seen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub row: Option<String>,
    /// What was typed, row by row.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub rows: Vec<RowTyped>,
    /// In words for a reader, the worked-out number or the file's date that decided.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<String>,
    /// The value that decided, in SI.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub si: Option<f64>,
    /// Its SI unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// Lower end of a computed value's band.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub low: Option<f64>,
    /// Upper end of a computed value's band.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub high: Option<f64>,
    /// Chance that the true value is inside the limits.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chance: Option<f64>,
    /// Instrument used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instrument: Option<String>,
    /// Severity of a reject.
    pub severity: Severity,
    /// Free words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Photos.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub photos: Vec<Photo>,
    /// Who; nobody where a number alone spoke.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// When it was seen, where that was said; else only its time of entry is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seen_at: Option<Moment>,
    /// The open finding this accept closes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub closes: Option<String>,
    /// The row of an answers file that it comes from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet: Option<SheetRow>,
    /// The rules it was answered under.
    pub rules: RulesMark,
}

/// A note or a photo beside a check. It is no answer, and it changes nothing that an answer says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Observation {
    /// The walk it was noted in.
    pub walk: String,
    /// The check.
    pub check: String,
    /// The item, where it is about one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of: Option<String>,
    /// The code it goes by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub code: Option<String>,
    /// The check's title as it was shown.
    pub title: String,
    /// The answer it stands beside, where there was one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub record: Option<String>,
    /// Free words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Photos.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub photos: Vec<Photo>,
    /// Who.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// When it was seen, where that was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seen_at: Option<Moment>,
}

fn is_false(flag: &bool) -> bool {
    !flag
}

/// Which row of an answers file an answer or a reading comes from: what a file that was cut off goes on by.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SheetRow {
    /// The first digits of the file's checksum.
    pub file: String,
    /// The row, counted from one: its readings, then its answers.
    pub row: u32,
    /// Whether it was accepted with others, as one of a range or of the rest.
    #[serde(default, skip_serializing_if = "is_false")]
    pub rest: bool,
}

/// That an answers file is being kept, or was kept whole.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct AnswersFile {
    /// The walk that it belongs to.
    pub walk: String,
    /// SHA-256 of the file.
    pub sha256: String,
    /// Whether every row of it is kept.
    pub whole: bool,
    /// Who.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// A reading of the day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Its key, such as `suppression.bottle.b1.gauge`.
    pub key: String,
    /// As typed, with its unit.
    pub value: String,
    /// In SI; absent for a date.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub si: Option<f64>,
    /// Instrument used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instrument: Option<String>,
    /// Who.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// When it was read, where that was said; else only its time of entry is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seen_at: Option<Moment>,
    /// The row of an answers file that it comes from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet: Option<SheetRow>,
}

/// The beginning of a walk.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WalkStarted {
    /// Profile walked.
    pub profile: String,
    /// Stage of a shop build.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stage: Option<String>,
    /// The rules in force.
    pub rules: RulesMark,
    /// Every layer of the rules, the first extended first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub layers: Vec<RulesMark>,
    /// Rule files by path or built-in name, to find them again.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub files: Vec<String>,
    /// The rulebook the person noted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rulebook: Option<String>,
    /// Seconds to add to this machine's clock, where it was said to be wrong.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clock_correction: Option<i64>,
    /// Letters given to items that had none before.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub letters: Vec<Lettered>,
    /// Whether only what was open and stops the car is asked: the rest stands as the walk before left it.
    #[serde(default, skip_serializing_if = "is_false")]
    pub recheck: bool,
    /// SHA-256 of the answers file, where the walk came from paper.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub answers_sha256: Option<String>,
    /// Where on the lap it started.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub station: Option<String>,
    /// Lap order walked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lap: Option<String>,
    /// The car's id, so that a log copied into another car's folder shows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub car: Option<String>,
    /// SHA-256 of the car file walked: the letters of its items stand in this record or before it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub car_sha256: Option<String>,
    /// Car number as shown, for a log read without its car file.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub number: Option<String>,
    /// Who.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// What one record says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
#[expect(
    clippy::large_enum_variant,
    reason = "a walk begins once; the entries that are many are small or boxed"
)]
pub enum Entry {
    /// A walk begins.
    WalkStarted(WalkStarted),
    /// An answer.
    Finding(Box<Finding>),
    /// A note or a photo without an answer.
    Observation(Box<Observation>),
    /// An answers file is being kept, or was kept whole.
    AnswersFile(AnswersFile),
    /// A reading of the day.
    Reading(Reading),
    /// A record is taken back; nothing is ever edited.
    Withdrawn {
        /// Id of the record taken back.
        record: String,
        /// Why.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
        /// Who.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        by: Option<String>,
    },
    /// Free words, beside a finding or for the whole car.
    Remark {
        /// The record it is about.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        record: Option<String>,
        /// The check of that record, where it is an answer.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        check: Option<String>,
        /// The item of that record.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        of: Option<String>,
        /// What it is about: `owner`, `tube-batch`, `drawing` …
        #[serde(default, skip_serializing_if = "Option::is_none")]
        about: Option<String>,
        /// The words.
        text: String,
        /// Who.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        by: Option<String>,
    },
    /// Another folder is of the same car: its record is read with this one from here on.
    Joined {
        /// The id the car has there.
        car: String,
        /// Who.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        by: Option<String>,
    },
    /// The car runs under another number from here on.
    Renumbered {
        /// The number from now on.
        number: String,
        /// The number until now.
        before: String,
        /// Who.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        by: Option<String>,
    },
    /// A signature.
    Signed {
        /// The walk signed.
        walk: String,
        /// In which part: inspector, fitter, checker …
        role: String,
        /// Initials or name.
        by: String,
    },
    /// The walk ends.
    WalkEnded {
        /// The walk that ends.
        walk: String,
        /// Who.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        by: Option<String>,
    },
    /// Records of this log that stood past its head when it was opened: nobody knows who wrote them.
    Unconfirmed {
        /// The first.
        from: u64,
        /// The last.
        to: u64,
        /// Checksum of the last.
        last: String,
    },
    /// A person says that such records are their own.
    Confirmed {
        /// Whose log they stand in.
        log: String,
        /// The first.
        from: u64,
        /// The last.
        to: u64,
        /// Checksum of the last.
        last: String,
        /// Who.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        by: Option<String>,
    },
    /// A copy of a log that was set aside is dealt with: what stood open in it and nowhere else was carried in before.
    Settled {
        /// Its file.
        file: String,
        /// SHA-256 of its bytes.
        sha256: String,
        /// Records that could be read in it.
        records: u64,
        /// Whether all of it could be read.
        whole: bool,
        /// Why it is not needed.
        reason: String,
        /// Who.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        by: Option<String>,
    },
}

impl Entry {
    /// Says when it was seen, where it does not say so yet and can.
    pub fn seen(&mut self, moment: Moment) {
        let seen_at = match self {
            Self::Finding(finding) => &mut finding.seen_at,
            Self::Observation(observation) => &mut observation.seen_at,
            Self::Reading(reading) => &mut reading.seen_at,
            _ => return,
        };
        seen_at.get_or_insert(moment);
    }
}
