//! Whether a report ends with exit status 1.

use crate::model::entry::Severity;
use crate::model::history::Standing;
use crate::rules::Applies;

use super::input::Input;
use super::record::{self, Record};

/// Whether a stop-severity check of the profile that applies is rejected, undecided, said to be repaired but not looked
/// at again, to be fitted, or could not be seen; with `complete` also not reached. `false` never means that a car is fit.
pub fn exit_status(input: &Input<'_>) -> bool {
    let calculated = record::calculated(input);
    let record = Record::new(input, &calculated);
    let open = record.standings.iter().any(|standing| standing.is_open() && counts(&record, standing));
    let missed = input.complete && record.not_reached().iter().any(|check| check.severity == Severity::Stop);
    open || missed
}

/// A stop by the rule stays one where a person lowered it; one that a person raised is one too.
fn counts(record: &Record<'_>, standing: &Standing<'_>) -> bool {
    let raised = standing.cause().severity == Severity::Stop || standing.finding.severity == Severity::Stop;
    let Some(check) = record.check(&standing.finding.check) else {
        // The rules in force no longer have it: unless a file dropped it with a reason, it stays open.
        let dropped = record.rules().dropped.iter().any(|dropped| dropped.id == standing.finding.check);
        return raised && !dropped;
    };
    let input = record.input;
    let in_profile = input.profile.is_none_or(|profile| {
        let from = profile.from.as_deref().unwrap_or(&profile.id);
        check.in_profile(profile) || (raised && check.profiles.iter().any(|id| id == from))
    });
    let applies = !matches!(crate::rules::applies(check, input.car), Applies::No(_));
    in_profile && applies && (raised || check.severity == Severity::Stop)
}
