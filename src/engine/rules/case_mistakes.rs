//! Cases that come out otherwise than they expect, as mistakes: one limit that is not the one meant turns several of them,
//! and is one mistake.

use crate::diagnostic::{Diagnostic, Place};
use crate::source::listed;

use super::alike::{also_at, others};
use super::cases::CaseOutcome;
use super::check::Check;
use super::limits::Typed;
use super::ruleset::Ruleset;

/// The wrong cases of one check.
struct OfCheck<'a> {
    check: &'a Check,
    cases: Vec<&'a CaseOutcome>,
}

/// What is wrong by cases that failed: one mistake a check, and one for an instrument that turns cases of several.
pub fn case_mistakes(rules: &Ruleset, outcomes: &[CaseOutcome]) -> Vec<Diagnostic> {
    let mut wrong: Vec<OfCheck<'_>> = Vec::new();
    for case in outcomes.iter().filter(|outcome| outcome.failed()) {
        let Some(check) = rules.check(&case.check) else { continue };
        match wrong.iter_mut().find(|known| known.check.id == check.id) {
            Some(known) => known.cases.push(case),
            None => wrong.push(OfCheck { check, cases: vec![case] }),
        }
    }
    let mut found = Vec::new();
    while let Some(first) = wrong.first() {
        let tool = first.tool();
        let (with_it, rest): (Vec<_>, Vec<_>) =
            wrong.into_iter().partition(|one| tool.is_some() && one.tool() == tool);
        wrong = rest;
        match (tool, with_it.as_slice()) {
            (Some(tool), [_, _, ..]) => found.extend(by_tool(&tool, &with_it)),
            (Some(_), one) => found.extend(one.iter().filter_map(OfCheck::told)),
            (None, _) => {
                let one = wrong.remove(0);
                found.extend(one.told());
            }
        }
    }
    found
}

impl OfCheck<'_> {
    /// The instrument that all of these cases are measured with, where its accuracy counts.
    fn tool(&self) -> Option<String> {
        let Typed::Measure(rows) = &self.check.typed else { return None };
        let usual = rows.iter().find(|row| row.guarded).and_then(|row| row.instrument.clone())?;
        let tools = self.cases.iter().map(|outcome| {
            let case = self.check.cases.iter().find(|case| case.place == outcome.place);
            case.and_then(|case| case.given.instrument.clone()).unwrap_or_else(|| usual.clone())
        });
        let tools: Vec<String> = tools.collect();
        let first = tools.first()?;
        tools.iter().all(|tool| tool == first).then(|| first.clone())
    }

    fn places(&self) -> Vec<Place> {
        self.cases.iter().map(|case| case.place.clone()).collect()
    }

    fn told(&self) -> Option<Diagnostic> {
        let first = self.cases.first()?.diagnostic(self.check);
        let Some(lines) = others(&self.places()) else { return Some(first) };
        let help = format!("{} (its cases at {lines} come out otherwise too)", first.help);
        Some(Diagnostic { help, ..first })
    }
}

fn by_tool(tool: &str, checks: &[OfCheck<'_>]) -> Option<Diagnostic> {
    let places: Vec<Place> = checks.iter().flat_map(OfCheck::places).collect();
    let names = listed(checks.iter().map(|one| one.check.id.as_str()));
    let message = format!("cases of {names}, measured with the {tool}, come out otherwise than they expect");
    let help = format!("mend the accuracy of the {tool}, or the cases{}", also_at(&places));
    places.first().map(|first| Diagnostic::error(first, message, help))
}
