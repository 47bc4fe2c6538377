//! "Same as last time": the value of the answer before this walk, given again by one key and judged anew.

use std::collections::BTreeMap;

use crate::model::entry::{Finding, Outcome};
use crate::model::{Car, keys};
use crate::rules::{Check, Typed};
use crate::walk::{BY_EYE, Garage, Reply};

use super::app::App;

/// The answer of last time as an answer of now, for a check with a typed value: a date, a count, a size.
pub fn same_as_last(check: &Check, car: &Car, finding: &Finding) -> Option<Reply> {
    if !matches!(finding.result, Outcome::Accept | Outcome::Reject) {
        return None;
    }
    // Dates of several bottles stand in the car file, and each is judged anew.
    if let Typed::Date(rows) = &check.typed
        && rows.iter().any(|row| keys::dates(car, &row.field).len() > 1)
        && finding.of.is_none()
        && finding.value.as_deref() != Some(BY_EYE)
    {
        return Some(Reply::plain(&check.id, finding.result));
    }
    let values = values_of(&check.typed, finding)?;
    Some(Reply {
        check: check.id.clone(),
        of: finding.of.clone(),
        result: Some(finding.result),
        by_eye: values.is_empty(),
        instrument: finding.instrument.clone().filter(|_| !values.is_empty()),
        values,
        ..Reply::default()
    })
}

/// Texts by row id, from the words of a finding: one text, or `id = text; id = text`, a number after them left out.
/// Nothing where a row has no text; no texts where it was judged by eye.
fn values_of(typed: &Typed, finding: &Finding) -> Option<BTreeMap<String, String>> {
    let ids: Vec<&str> = match typed {
        Typed::None => return None,
        Typed::Measure(rows) => rows.iter().map(|row| row.id.as_str()).collect(),
        Typed::Count(rows) => rows.iter().map(|row| row.id.as_str()).collect(),
        Typed::Date(rows) => rows.iter().map(|row| row.id.as_str()).collect(),
    };
    let text = finding.value.as_deref()?;
    if text == BY_EYE {
        return Some(BTreeMap::new());
    }
    let parts: Vec<&str> = text.split("; ").collect();
    if let ([id], Some(first)) = (ids.as_slice(), parts.first()) {
        return Some(BTreeMap::from([((*id).to_owned(), (*first).to_owned())]));
    }
    let named = |id: &&str| {
        let value = parts.iter().find_map(|part| part.strip_prefix(*id)?.strip_prefix(" = "))?;
        Some(((*id).to_owned(), value.to_owned()))
    };
    ids.iter().map(named).collect()
}

impl<G: Garage> App<G> {
    /// Answers as last time; what was said of the check before its answer goes with it.
    pub(super) fn answer_as_last(&mut self) {
        let Some(same) = self.state.sheet.same.clone() else { return };
        let Some(drafted) = self.reply(same.result) else { return };
        let reply = Reply {
            note: drafted.note,
            photos: drafted.photos,
            severity: drafted.severity.filter(|_| same.result == Some(Outcome::Reject)),
            ..*same
        };
        self.settle(crate::walk::Action::Answer(Box::new(reply)));
    }
}
