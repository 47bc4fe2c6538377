//! What is said of a check, and how much a reject weighs.

use serde::{Deserialize, Serialize};

/// What a person says of a check, or the program of a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// As it should be.
    Accept,
    /// Not as it should be.
    Reject,
    /// The measurement cannot decide.
    Undecided,
    /// This car has none.
    NotFitted,
    /// To be fitted: stays open.
    NotYet,
    /// Could not be seen: never counted as accepted.
    NotSeen,
    /// Said to be repaired: open until it is looked at again and accepted.
    Repaired,
    /// A number that could not be worked out; a verdict only.
    Refused,
}

impl Outcome {
    /// The word of files and logs.
    pub const WORDS: &'static [(&'static str, Self)] = &[
        ("accept", Self::Accept),
        ("reject", Self::Reject),
        ("undecided", Self::Undecided),
        ("not-fitted", Self::NotFitted),
        ("not-yet", Self::NotYet),
        ("not-seen", Self::NotSeen),
        ("repaired", Self::Repaired),
        ("refused", Self::Refused),
    ];

    /// The word of files and logs.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, outcome)| *outcome == self).map_or("", |(word, _)| word)
    }

    /// Whether the check is still open after it.
    pub fn is_open(self) -> bool {
        !matches!(self, Self::Accept | Self::NotFitted)
    }
}

/// How much a reject weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// The car does not run.
    Stop,
    /// Before the next event.
    Fix,
    /// Advice.
    Note,
}

impl Severity {
    /// The words of files.
    pub const WORDS: &'static [(&'static str, Self)] =
        &[("stop", Self::Stop), ("fix", Self::Fix), ("note", Self::Note)];

    /// The word of files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Stop => "stop",
            Self::Fix => "fix",
            Self::Note => "note",
        }
    }
}
