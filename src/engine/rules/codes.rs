//! The code that everything about a check goes by: two letters of its station and two digits, fixed in the ruleset, with
//! a letter for the item where there are several.

use std::collections::BTreeSet;

use crate::diagnostic::Diagnostic;
use crate::model::letters::Letters;

use super::builtin::BUILT_IN;
use super::check::Check;
use super::ruleset::Ruleset;

/// The code of a check, and of one item of it where it has several: the same on screen, on paper and in files. A check
/// whose file gives it none goes by its id.
pub fn code(check: &Check, of: Option<&str>, items: &BTreeSet<&str>, letters: &Letters) -> String {
    let plain = check.code.as_deref().unwrap_or(&check.id);
    let Some(of) = of else { return plain.to_owned() };
    let mut with_it = items.clone();
    with_it.insert(of);
    let lettered = letters.of_check(&check.id, &with_it);
    let letter = lettered.iter().find(|(item, _)| item == of).map(|(_, letter)| letter);
    letter.map_or_else(|| plain.to_owned(), |letter| format!("{plain}-{letter}"))
}

impl Ruleset {
    /// The check that a code means, whatever its case.
    pub fn by_code(&self, code: &str) -> Option<&Check> {
        self.checks
            .iter()
            .find(|check| check.code.as_deref().is_some_and(|known| known.eq_ignore_ascii_case(code)))
    }

    /// The layer that brought a check.
    fn layer_of(&self, check: &Check) -> &str {
        let new =
            self.changes.iter().find(|one| one.array == "check" && one.id == check.id && one.key.is_empty());
        new.map_or_else(
            || self.layers.first().map_or("", |layer| layer.id.as_str()),
            |new| new.layer.as_str(),
        )
    }

    /// The first code of a station that is free for a layer.
    fn free(&self, station: &str, layer: &str) -> String {
        let letters = self.station(station).and_then(|station| station.code.as_deref()).unwrap_or("XX");
        let mut codes = numbers_of(layer).map(|number| format!("{letters}{number:02}"));
        codes.find(|code| self.by_code(code).is_none()).unwrap_or_default()
    }
}

/// Shipped rules use 01 to 59, every other layer 60 to 99.
fn numbers_of(layer: &str) -> std::ops::RangeInclusive<u32> {
    if BUILT_IN.iter().any(|(id, _)| *id == layer) { 1..=59 } else { 60..=99 }
}

/// What is wrong with the codes of a ruleset.
pub(super) fn diagnostics(rules: &Ruleset) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    stations(rules, &mut found);
    let changed = |check: &Check| {
        let mut codes = rules.changes.iter().filter(|change| change.key == "code" && change.before.is_some());
        codes.any(|change| change.id == check.id)
    };
    for (at, check) in rules.checks.iter().enumerate() {
        let Some(code) = check.code.as_deref().filter(|_| !changed(check)) else { continue };
        let place = check.table.get("code").map_or(&check.place, |node| &node.at);
        let layer = rules.layer_of(check);
        let help = format!("the first that is free here is {}", rules.free(&check.station, layer));
        let same = |other: &&Check| other.code.as_deref() == Some(code) && other.id != check.id;
        let earlier = rules.checks.iter().take(at).find(same);
        if let Some(earlier) = earlier {
            let message = format!(
                "{code} is the code of {} in {} too, and of {} in {layer}",
                earlier.id,
                rules.layer_of(earlier),
                check.id
            );
            found.push(Diagnostic::error(place, message, help));
        } else if let Some(wrong) = misfit(rules, check, code, layer) {
            found.push(Diagnostic::error(place, wrong, help));
        }
    }
    for change in rules.changes.iter().filter(|change| change.key == "code") {
        if let Some(before) = &change.before {
            let message = format!(
                "the {} {} has the code {}, and a code stays what it is",
                change.array,
                change.id,
                before.trim_matches('"')
            );
            found.push(Diagnostic::error(&change.at, message, "take this code out"));
        }
    }
    found
}

/// Why a code is none, or not one of this station and layer.
fn misfit(rules: &Ruleset, check: &Check, code: &str, layer: &str) -> Option<String> {
    let digits =
        code.get(2..).filter(|digits| digits.len() == 2 && digits.bytes().all(|one| one.is_ascii_digit()));
    let (Some(letters), Some(number)) = (code.get(..2), digits.and_then(|digits| digits.parse::<u32>().ok()))
    else {
        return Some(format!("\"{code}\" is not a code: two letters of the station and two digits, as TL12"));
    };
    let moved =
        rules.changes.iter().any(|one| one.array == "check" && one.id == check.id && one.key == "station");
    let station = rules.station(&check.station).and_then(|station| station.code.as_deref());
    if let Some(station) = station.filter(|station| *station != letters && !moved) {
        return Some(format!(
            "the code of {} begins with {letters}, and its station's with {station}",
            check.id
        ));
    }
    let range = numbers_of(layer);
    let (first, last) = (range.start(), range.end());
    (!range.contains(&number))
        .then(|| format!("{code} is not a code for {layer}, which has {first:02} to {last}"))
}

fn stations(rules: &Ruleset, found: &mut Vec<Diagnostic>) {
    for (at, station) in rules.stations.iter().enumerate() {
        let Some(code) = station.code.as_deref() else { continue };
        let earlier = rules.stations.iter().take(at).find(|other| other.code.as_deref() == Some(code));
        let letters = code.len() == 2 && code.bytes().all(|one| one.is_ascii_uppercase());
        let (message, help) = match earlier {
            Some(earlier) => (
                format!("{code} is the code of {} and of {}", earlier.id, station.id),
                "give one of them another code",
            ),
            None if !letters => {
                (format!("\"{code}\" is not the code of a station"), "write two capital letters")
            }
            None => continue,
        };
        found.push(Diagnostic::error(&station.place, message, help));
    }
}

/// A check that a file gives no code goes by its id, which is long to read aloud.
pub(super) fn missing(rules: &Ruleset, found: &mut Vec<Diagnostic>) {
    let coded = |check: &Check| rules.station(&check.station).is_some_and(|station| station.code.is_some());
    for check in rules.checks.iter().filter(|check| check.code.is_none() && coded(check)) {
        let help = format!("add code = \"{}\"", rules.free(&check.station, rules.layer_of(check)));
        found.push(Diagnostic::warning(
            &check.place,
            format!("{} has no code and goes by its id", check.id),
            help,
        ));
    }
}
