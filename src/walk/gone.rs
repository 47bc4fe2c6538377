//! Answers to what is open though the rules in force no longer have its check: no rule file closes what somebody found,
//! and so a person must be able to.

use crate::model::entry::{Finding, Outcome, RulesMark};
use crate::model::history::History;

use super::action::{Objection, Wants};
use super::reply::{Reply, blank, close};

/// Settles a reply by the record alone, where the rules have no such check.
///
/// # Errors
/// That nothing of it is open, or what stands in the way.
pub(super) fn settle_gone(
    history: &History,
    walk: &str,
    reply: &Reply,
    rules: RulesMark,
) -> Result<Finding, Objection> {
    let standings = history.standings_of(&reply.check);
    let about = |of: Option<&str>| reply.of.is_none() || of == reply.of.as_deref();
    let Some(open) = standings.iter().find(|standing| standing.is_open() && about(standing.of)) else {
        return Err(Objection::new(Wants::Nothing, format!("there is no check {}", reply.check)));
    };
    let Some(result) = reply.result.filter(|result| *result != Outcome::Refused) else {
        let message = "the rules in force no longer have this check, so no value decides it: give a result";
        return Err(Objection::new(Wants::Result, message));
    };
    if !reply.values.is_empty() || reply.by_eye {
        let message = "the rules in force no longer have this check, so it takes no value: say what you see";
        return Err(Objection::new(Wants::Nothing, message));
    }
    let cause = open.cause();
    let severity = reply.severity.unwrap_or(cause.severity);
    if severity > cause.severity && !reply.noted() {
        let message = format!("to lower {} to {}, write why", cause.severity.word(), severity.word());
        return Err(Objection::new(Wants::Note, message));
    }
    let about = (cause.check.as_str(), cause.title.as_str());
    let mut finding =
        Finding { code: cause.code.clone(), ..blank(about, walk, reply, result, severity, rules) };
    close(&mut finding, history)?;
    Ok(finding)
}
