//! One sign for each meaning, the same on every screen and paper, in seven bits and one column.

use crate::model::entry::{Outcome, Severity};

/// A severity; its word always stands beside it.
pub fn severity_sign(severity: Severity) -> char {
    match severity {
        Severity::Stop => '#',
        Severity::Fix => '=',
        Severity::Note => '-',
    }
}

/// An answer, or where a number stands against its limit.
pub fn outcome_sign(outcome: Outcome) -> char {
    match outcome {
        Outcome::Accept => '+',
        Outcome::Reject => 'x',
        Outcome::NotSeen => '?',
        Outcome::Undecided => '~',
        Outcome::NotFitted => '/',
        Outcome::NotYet => '_',
        Outcome::Repaired => '*',
        Outcome::Refused => ':',
    }
}

/// What nobody has come to yet.
pub const NOT_REACHED: char = '.';

/// A station of which some checks are answered.
pub const PART_ANSWERED: char = ':';
