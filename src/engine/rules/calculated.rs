//! What the car file itself shows as wrong, before anybody looks: an open item like any other.

use chrono::DateTime;

use crate::model::entry::{Entry, Finding, JudgedBy, Kept, Outcome};
use crate::model::history::{History, Standing};
use crate::numbers::{Answer, Number};
use crate::units::Units;

use super::check::Check;
use super::expression::Terms;
use super::judge::{Held, judge};
use super::ruleset::Ruleset;

/// A number that differs by less than this share is the one that a person accepted.
const SAME: f64 = 1e-6;

/// Rejects by numbers among the checks asked, as records that nobody has kept. One whose place a person's answer takes is
/// left out: a reject of the same part, or an accept with a note of this very value against this very limit. Who could not
/// see it, could not decide or has put it off has not answered it.
pub fn calculated(
    rules: &Ruleset,
    checks: &[&Check],
    terms: &Terms<'_>,
    history: &History,
    units: Units,
) -> Vec<Kept> {
    let mut found: Vec<Kept> = Vec::new();
    for answer in terms.numbers {
        let Some(number) = answer.number() else { continue };
        for held in judge(checks.iter().copied(), terms, answer, units) {
            let told = found.iter().any(|kept| is_about(kept, &held.check.id, &number.of));
            if held.outcome() == Outcome::Reject && !told && !is_answered(history, &held, number, terms) {
                let finding = finding(rules, &held, number, terms, units);
                found.push(kept(finding, history));
            }
        }
    }
    found
}

fn is_about(kept: &Kept, check: &str, of: &str) -> bool {
    matches!(&kept.entry, Entry::Finding(finding) if finding.check == check && finding.of.as_deref() == Some(of))
}

/// Whether what a person said speaks for the number now.
fn is_answered(history: &History, held: &Held<'_>, number: &Number, terms: &Terms<'_>) -> bool {
    let about = |standing: &Standing<'_>| standing.of.is_none_or(|of| of == number.of);
    history.standings_of(&held.check.id).iter().filter(|standing| about(standing)).any(|standing| {
        match standing.finding.result {
            Outcome::Reject | Outcome::Repaired => true,
            Outcome::Accept => is_against(standing.finding, held, number, terms),
            _ => false,
        }
    })
}

/// Whether an accept was given with a note against this very value and limit. Records before format 2 do not say which
/// limit it was.
fn is_against(finding: &Finding, held: &Held<'_>, number: &Number, terms: &Terms<'_>) -> bool {
    let noted = finding.note.as_deref().is_some_and(|note| !note.trim().is_empty());
    let same = match (finding.si, number.si()) {
        (Some(then), Some(now)) => (then - now).abs() <= SAME * then.abs().max(now.abs()),
        (None, None) => finding.value.as_deref().is_none_or(|value| value.contains(&number.shown(Units::Us))),
        _ => false,
    };
    let now = held.row.limit_si(terms, &number.of);
    let same_limit = finding.limit.is_none() || finding.limit == now;
    noted && finding.verdict == Some(Outcome::Reject) && same && same_limit
}

/// Whether a reject that a number alone made, and a walk kept at its end, is outside no more: the same limit holds the number
/// that the car file gives now, and nothing rejects it. Where the number is no longer worked out, or the limit is another, the
/// reject stays until a person answers it.
pub fn is_overtaken<'n>(
    finding: &Finding,
    rules: &Ruleset,
    terms: impl Fn() -> Terms<'n>,
    units: Units,
) -> bool {
    let Some(check) = rules.check(&finding.check) else { return false };
    if !finding.is_computed() || finding.result != Outcome::Reject || finding.limit.is_none() {
        return false;
    }
    let terms = terms();
    let about = |answer: &&Answer| finding.of.as_deref().is_none_or(|of| answer.of() == Some(of));
    let held: Vec<(Held<'_>, Option<String>)> = terms
        .numbers
        .iter()
        .filter(about)
        .flat_map(|answer| {
            let held = judge([check], &terms, answer, units).into_iter();
            held.map(|held| {
                let limit = held.row.limit_si(&terms, answer.of().unwrap_or_default());
                (held, limit)
            })
        })
        .collect();
    held.iter().any(|(_, limit)| *limit == finding.limit)
        && held.iter().all(|(held, _)| {
            matches!(held.outcome(), Outcome::Accept | Outcome::Undecided) && !held.looks_wrong()
        })
}

fn finding(rules: &Ruleset, held: &Held<'_>, number: &Number, terms: &Terms<'_>, units: Units) -> Finding {
    Finding {
        walk: String::new(),
        check: held.check.id.clone(),
        code: None,
        of: Some(number.of.clone()),
        title: held.check.title.clone(),
        result: Outcome::Reject,
        verdict: Some(Outcome::Reject),
        judged_by: JudgedBy::Program,
        by_eye: false,
        by_station: false,
        limit_unknown: false,
        limit: held.row.limit_si(terms, &number.of),
        sheet: None,
        row: Some(held.row.id.clone()),
        rows: Vec::new(),
        value: Some(number.shown(units)),
        si: number.si(),
        unit: number.si().map(|_| number.shown_as.unit().to_owned()),
        low: number.low,
        high: number.high,
        chance: None,
        instrument: None,
        severity: held.check.severity,
        note: None,
        photos: Vec::new(),
        by: None,
        seen_at: None,
        closes: None,
        rules: rules.mark(),
    }
}

/// A record that stands in no log: it has the time of the newest one, and an id that no log gives.
fn kept(finding: Finding, history: &History) -> Kept {
    let id = format!("calculated:{}:{}", finding.check, finding.of.as_deref().unwrap_or_default());
    let at = history.all().last().map_or_else(|| DateTime::UNIX_EPOCH.fixed_offset(), |kept| kept.at);
    Kept { id, writer: String::new(), seq: 0, at, entry: Entry::Finding(Box::new(finding)) }
}

/// What stands of records that nobody has kept.
pub fn standings_of_calculated(calculated: &[Kept]) -> impl Iterator<Item = Standing<'_>> {
    calculated.iter().filter_map(|kept| match &kept.entry {
        Entry::Finding(finding) => {
            Some(Standing { of: finding.of.as_deref(), kept, finding, before: None, opened: None })
        }
        _ => None,
    })
}
