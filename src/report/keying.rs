//! How a filled-in sheet is keyed in, shown on checks of the sheet itself.

use crate::rules::{Check, Typed};
use crate::units::Kind;

use super::document::{Block, Section};
use super::fields;
use super::sheet::SheetInput;

/// Words, an example and the words of results.
pub(super) fn section(input: &SheetInput<'_>) -> Section {
    let mut section = Section::new("Keying it in");
    let car = input.car.map_or("CAR", |car| car.id.as_str());
    section.say(format!(
        "Type what was ticked into a text file, one [[answer]] a check, and keep it with: \
         linewalk walk {car} --answers FILE. The whole file is checked before anything is kept. A file for this sheet \
         begins like this:"
    ));
    section.blocks.push(Block::Typed(example(input)));
    section.list(vec![
        "Results: accept, reject, not-fitted, not-yet, not-seen. Where a value decides, the result may be left out."
            .to_owned(),
        "Several values of one check: values = { name = \"1/2 in\", other = \"2 in\" }, by the names on the sheet."
            .to_owned(),
        "A check goes by its code. One part of several: its letter, check = \"TL12-b\", or of = \"its id\". A photo beside the file: photo = \"IMG_2201.jpg\".".to_owned(),
        "Rows ticked accept and nothing else, in two lines above the first answer: accept = \"TL10 TL03..TL09\"; or all that are \
         not named, rest = \"accept\", with the rows without a tick, blank = \"TL04 TL07\" or blank = \"none\". A range and the \
         rest answer no stop, no value and nothing that is open.".to_owned(),
        "end = true above the first answer ends the walk; the same walk goes on where it is left out.".to_owned(),
    ]);
    section
}

/// A file that `walk --answers` takes as it stands: one plain accept, one reject with its value, one reading.
fn example(input: &SheetInput<'_>) -> Vec<String> {
    let mut lines = vec!["format = 1".to_owned()];
    lines.extend(input.car.map(|car| format!("car = \"{}\"", car.id)));
    lines.extend(input.edition.iter().map(|edition| format!("edition = \"{edition}\"")));
    lines.push("by = \"R.N.\"".to_owned());
    lines.push(format!("date = {}", input.on));
    lines.push(format!("profile = \"{}\"", input.profile.id));
    lines.extend(input.profile.stages.last().map(|stage| format!("stage = \"{stage}\"")));
    let plain = input.checks().find(|check| !check.needs_value() && !check.closes_by_number());
    let valued = input.checks().find_map(|check| Some((check, value(check)?)));
    if let Some(check) = plain {
        lines.extend(answer(check, "accept"));
        lines.push("at = \"10:15\"".to_owned());
    }
    if let Some((check, value)) = valued {
        lines.extend(answer(check, "reject"));
        lines.extend(value);
        lines.push("note = \"what was seen, in a few words\"".to_owned());
    }
    // A key with a stand-in for an id would be refused.
    if let (Some(_), Some((key, kind))) = (input.car, fields::reading_list(input).into_iter().next()) {
        lines.push("[[reading]]".to_owned());
        lines.push(format!("key = \"{key}\""));
        lines.push(format!("value = \"{}\"", some_value(kind, fields::unit(kind, input.units))));
    }
    lines
}

fn answer(check: &Check, result: &str) -> [String; 3] {
    [
        "[[answer]]".to_owned(),
        format!("check = \"{}\"", check.code.as_deref().unwrap_or(&check.id)),
        format!("result = \"{result}\""),
    ]
}

/// The lines of a check's one measured value: its own limit, so that the unit is right, and the usual instrument.
fn value(check: &Check) -> Option<Vec<String>> {
    let Typed::Measure(rows) = &check.typed else { return None };
    let [row] = rows.as_slice() else { return None };
    let limit = row.min.as_ref().or(row.max.as_ref()).or(row.equals.as_ref())?;
    let mut lines = vec![format!("value = '{}'", limit.text)];
    lines.extend(row.instrument.as_deref().map(|tool| format!("instrument = \"{tool}\"")));
    Some(lines)
}

fn some_value(kind: Kind, unit: &str) -> String {
    match kind {
        Kind::Span => "2026-03-14".to_owned(),
        _ => format!("70 {unit}"),
    }
}
