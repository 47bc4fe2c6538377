//! Whether a report ends with exit status 1.

use crate::model::entry::Severity;
use crate::rules::is_stop;

use super::input::Input;
use super::record::{self, Record};

/// Whether a stop is rejected, undecided, said to be repaired but not looked at again, to be fitted, or could not be seen;
/// with `complete` also not reached. `false` never means that a car is fit.
pub fn exit_status(input: &Input<'_>) -> bool {
    let calculated = record::calculated(input);
    let record = Record::new(input, &calculated);
    let open =
        record.standings.iter().any(|standing| standing.is_open() && is_stop(record.rules(), standing));
    let missed = input.complete && record.not_reached().iter().any(|check| check.severity == Severity::Stop);
    open || missed
}
