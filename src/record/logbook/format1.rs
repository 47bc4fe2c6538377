//! Records of format 1, read into the structures of today. That format wrote words where a field belongs: `computed` for
//! who judged, `by eye` for a value, `id = value; id = value` for rows. Here alone they are understood, for ever.

use crate::entry::{AnswersFile, Entry, Finding, JudgedBy, RowTyped};

/// Who a finding of format 1 is by that a number made.
const COMPUTED: &str = "computed";
/// What a remark of format 1 is about that names an answers file.
const ANSWERS_FILE: &str = "answers-file";
/// The value of format 1 that stands for a judgement by eye.
const BY_EYE: &str = "by eye";

/// An entry of format 1 as one of today.
pub(super) fn upgraded(mut entry: Entry) -> Entry {
    match &mut entry {
        Entry::Finding(finding) => upgrade(finding),
        Entry::Remark { about: Some(about), text, by, .. } if about == ANSWERS_FILE => {
            // That format closed no answers file: one that was begun counts as kept whole, as it always did.
            let (walk, sha256, by) = (String::new(), std::mem::take(text), by.take());
            return Entry::AnswersFile(AnswersFile { walk, sha256, whole: true, by });
        }
        _ => {}
    }
    entry
}

fn upgrade(finding: &mut Finding) {
    if finding.by.as_deref() == Some(COMPUTED) {
        finding.judged_by = JudgedBy::Program;
        finding.by = None;
        return;
    }
    let Some(text) = finding.value.take() else { return };
    if text == BY_EYE {
        finding.by_eye = true;
        return;
    }
    let (typed, number) = split(&text);
    // A band is that of a number, and an instrument that of a typed value.
    let has_band = finding.low.is_some() || finding.high.is_some();
    let unclear = number.is_none() && typed.len() == 1 && finding.instrument.is_none();
    finding.value = match typed.as_slice() {
        [] => Some(text.clone()),
        [("", only)] if unclear && has_band => return finding.value = Some((*only).to_owned()),
        [("", only)] if unclear => Some((*only).to_owned()),
        _ => number.map(str::to_owned),
    };
    let alone = typed.len() == 1 && number.is_none();
    finding.rows = typed
        .into_iter()
        .map(|(id, text)| RowTyped {
            id: id.to_owned(),
            text: text.to_owned(),
            si: finding.si.filter(|_| alone),
            unit: finding.unit.clone().filter(|_| alone),
            instrument: finding.instrument.clone(),
        })
        .collect();
}

/// Rows by id, or the only value under an empty one; and a number behind them, from `label: ` on.
fn split(text: &str) -> (Vec<(&str, &str)>, Option<&str>) {
    let mut typed = Vec::new();
    let mut from = 0;
    for part in text.split("; ") {
        match part.split_once(" = ") {
            Some((id, value)) if !id.contains(": ") => typed.push((id.trim(), value.trim())),
            _ if part.contains(": ") => return (typed, text.get(from..)),
            _ => typed.push(("", part.trim())),
        }
        from += part.len() + 2;
    }
    (typed, None)
}
