//! The code that everything about a check goes by: two letters of its station and two digits, fixed in the ruleset, with
//! a letter for the item where there are several.

use std::collections::BTreeSet;

use crate::diagnostic::{Diagnostic, Place};
use crate::model::letters::Letters;

use super::alike::also_at;
use super::builtin::BUILT_IN;
use super::check::Check;
use super::ruleset::{Ruleset, Station};

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
    let mut misfits: Vec<(Misfit<'_>, Vec<&Check>)> = Vec::new();
    for (at, check) in rules.checks.iter().enumerate() {
        let Some(code) = check.code.as_deref().filter(|_| !changed(check)) else { continue };
        let layer = rules.layer_of(check);
        let same = |other: &&Check| other.code.as_deref() == Some(code) && other.id != check.id;
        let earlier = rules.checks.iter().take(at).find(same);
        if let Some(earlier) = earlier {
            let message = format!(
                "{code} is the code of {} in {} too, and of {} in {layer}",
                earlier.id,
                rules.layer_of(earlier),
                check.id
            );
            found.push(Diagnostic::error(&place_of(check), message, free_here(rules, check)));
        } else if let Some(misfit) = misfit(rules, check, code, layer) {
            match misfits.iter_mut().find(|(known, _)| known.is_as(&misfit)) {
                Some((_, checks)) => checks.push(check),
                None => misfits.push((misfit, vec![check])),
            }
        }
    }
    found.extend(misfits.iter().filter_map(|(misfit, checks)| misfit.told(rules, checks)));
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

fn place_of(check: &Check) -> Place {
    check.table.get("code").map_or_else(|| check.place.clone(), |node| node.at.clone())
}

fn free_here(rules: &Ruleset, check: &Check) -> String {
    format!("the first that is free here is {}", rules.free(&check.station, rules.layer_of(check)))
}

/// Why a code is none, or not one of its station and layer. Checks of one station, and of one layer, share theirs.
enum Misfit<'r> {
    NoCode,
    Letters(&'r Station),
    Number(&'r str),
}

impl Misfit<'_> {
    /// Whether one mistake may be behind both.
    fn is_as(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Letters(one), Self::Letters(two)) => one.id == two.id,
            (Self::Number(one), Self::Number(two)) => one == two,
            _ => false,
        }
    }

    fn told(&self, rules: &Ruleset, checks: &[&Check]) -> Option<Diagnostic> {
        let first = checks.first()?;
        let code = first.code.as_deref().unwrap_or_default();
        let places: Vec<Place> = checks.iter().map(|check| place_of(check)).collect();
        let own = |message: String| {
            let help = format!("{}{}", free_here(rules, first), also_at(&places));
            Diagnostic::error(&place_of(first), message, help)
        };
        Some(match self {
            Self::NoCode => {
                own(format!("\"{code}\" is not a code: two letters of the station and two digits, as TL12"))
            }
            Self::Letters(station) => {
                let letters = code.get(..2).unwrap_or_default();
                let of_station = station.code.as_deref().unwrap_or_default();
                let of_all = rules.checks.iter().filter(|check| check.station == station.id).count();
                if checks.len() > 1 && checks.len() == of_all {
                    let message = format!(
                        "the code of {} is {of_station}, and those of its checks begin with {letters}",
                        station.id
                    );
                    return Some(Diagnostic::error(&station.place, message, format!("write {letters}")));
                }
                own(format!(
                    "the code of {} begins with {letters}, and its station's with {of_station}",
                    first.id
                ))
            }
            Self::Number(layer) => {
                let range = numbers_of(layer);
                let (low, high) = (range.start(), range.end());
                own(format!("{code} is not a code for {layer}, which has {low:02} to {high}"))
            }
        })
    }
}

fn misfit<'r>(rules: &'r Ruleset, check: &Check, code: &str, layer: &'r str) -> Option<Misfit<'r>> {
    let digits =
        code.get(2..).filter(|digits| digits.len() == 2 && digits.bytes().all(|one| one.is_ascii_digit()));
    let (Some(letters), Some(number)) = (code.get(..2), digits.and_then(|digits| digits.parse::<u32>().ok()))
    else {
        return Some(Misfit::NoCode);
    };
    let moved =
        rules.changes.iter().any(|one| one.array == "check" && one.id == check.id && one.key == "station");
    let differs = |station: &&Station| station.code.as_deref().is_some_and(|own| own != letters);
    let station = rules.station(&check.station).filter(|station| !moved && is_sure(rules, station));
    if let Some(station) = station.filter(differs) {
        return Some(Misfit::Letters(station));
    }
    (!numbers_of(layer).contains(&number) && !layer.is_empty()).then_some(Misfit::Number(layer))
}

/// Whether a station's code is its own as far as the files tell: what is wrong with it is told there.
fn is_sure(rules: &Ruleset, station: &Station) -> bool {
    let alike = rules.stations.iter().filter(|other| other.id == station.id || other.code == station.code);
    let changed =
        rules.changes.iter().any(|one| one.id == station.id && one.key == "code" && one.before.is_some());
    alike.count() == 1 && !changed && station.code.as_deref().is_some_and(are_letters)
}

fn are_letters(code: &str) -> bool {
    code.len() == 2 && code.bytes().all(|one| one.is_ascii_uppercase())
}

fn stations(rules: &Ruleset, found: &mut Vec<Diagnostic>) {
    for (at, station) in rules.stations.iter().enumerate() {
        let Some(code) = station.code.as_deref() else { continue };
        let earlier = rules.stations.iter().take(at).find(|other| other.code.as_deref() == Some(code));
        let letters = are_letters(code);
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
