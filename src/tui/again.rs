//! "Same as last time": the value of the answer before this walk, given again by one key and judged anew.

use std::collections::BTreeMap;

use crate::model::entry::{Finding, Outcome};
use crate::model::{Car, keys};
use crate::rules::{Check, Typed};
use crate::walk::{Reply, Workspace};

use super::app::App;

/// The answer of last time as an answer of now, for a check with a typed value: a date, a count, a size.
pub fn same_as_last(check: &Check, car: &Car, finding: &Finding) -> Option<Reply> {
    if !matches!(finding.result, Outcome::Accept | Outcome::Reject) {
        return None;
    }
    // Dates of several bottles stand in the car file, and each is judged anew; so is one that was only confirmed.
    if let Typed::Date(rows) = &check.typed
        && !finding.by_eye
        && (finding.rows.is_empty()
            || (rows.iter().any(|row| keys::dates(car, &row.field).len() > 1) && finding.of.is_none()))
    {
        return Some(Reply::plain(&check.id, finding.result));
    }
    let values = if finding.by_eye { BTreeMap::new() } else { values_of(&check.typed, finding)? };
    Some(Reply {
        check: check.id.clone(),
        of: finding.of.clone(),
        result: Some(finding.result),
        by_eye: finding.by_eye,
        instrument: finding.instrument.clone().filter(|_| !values.is_empty()),
        values,
        ..Reply::default()
    })
}

/// What was typed by row id; nothing where a row has no text.
fn values_of(typed: &Typed, finding: &Finding) -> Option<BTreeMap<String, String>> {
    let ids: Vec<&str> = match typed {
        Typed::None => return None,
        Typed::Measure(rows) => rows.iter().map(|row| row.id.as_str()).collect(),
        Typed::Count(rows) => rows.iter().map(|row| row.id.as_str()).collect(),
        Typed::Date(rows) => rows.iter().map(|row| row.id.as_str()).collect(),
    };
    let named = |id: &&str| Some(((*id).to_owned(), finding.row(id, ids.len() == 1)?.text.clone()));
    ids.iter().map(named).collect()
}

impl<G: Workspace> App<G> {
    /// Answers as last time; the weight said before it goes with a reject.
    pub(super) fn answer_as_last(&mut self) {
        let Some(same) = self.state.sheet.same.clone() else { return };
        let Some(drafted) = self.reply(same.result) else { return };
        let reply =
            Reply { severity: drafted.severity.filter(|_| same.result == Some(Outcome::Reject)), ..*same };
        self.settle(crate::walk::Action::Answer(Box::new(reply)));
    }
}
