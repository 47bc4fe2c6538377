//! Whether a report ends with exit status 1.

use crate::model::entry::Severity;
use crate::model::history::Standing;

use super::input::Input;
use super::record::{self, Record};

/// Whether a stop is rejected, undecided, said to be repaired but not looked at again, to be fitted, or could not be seen;
/// with `complete` also not reached. `false` never means that a car is fit.
pub fn exit_status(input: &Input<'_>) -> bool {
    let calculated = record::calculated(input);
    let record = Record::new(input, &calculated);
    let open = record.standings.iter().any(|standing| standing.is_open() && is_stop(&record, standing));
    let missed = input.complete && record.not_reached().iter().any(|check| check.severity == Severity::Stop);
    open || missed
}

/// A stop by the rule stays one where a person lowered it, and one that a person raised is one too. Whether the rules in
/// force still ask it makes no difference: no rule file closes what somebody found.
fn is_stop(record: &Record<'_>, standing: &Standing<'_>) -> bool {
    let by_rule = record.check(&standing.finding.check).is_some_and(|check| check.severity == Severity::Stop);
    by_rule || standing.cause().severity == Severity::Stop || standing.finding.severity == Severity::Stop
}
