//! One mistake that shows in several places: told at the first of them, with the others named.

use crate::diagnostic::Place;

/// Places named beside the first.
const MOST_PLACES: usize = 8;

/// " (the same at lines 12, 15 and 18)", of places after the first; empty where there are none.
pub(super) fn also_at(places: &[Place]) -> String {
    others(places).map_or_else(String::new, |lines| format!(" (the same at {lines})"))
}

/// "lines 12, 15 and 18", of places after the first.
pub(super) fn others(places: &[Place]) -> Option<String> {
    let (first, others) = places.split_first()?;
    (!others.is_empty()).then(|| lines(first, others))
}

/// Lines of places, each behind its file where that is another than the first one's.
fn lines(first: &Place, others: &[Place]) -> String {
    let mut file = first.file.name.as_str();
    let mut named: Vec<String> = Vec::new();
    for place in others.iter().take(MOST_PLACES) {
        if place.file.name == file {
            named.push(place.line().to_string());
        } else {
            file = &place.file.name;
            named.push(format!("{file}:{}", place.line()));
        }
    }
    let one = if named.len() == 1 && others.len() == 1 { "line" } else { "lines" };
    let more = others.len().saturating_sub(named.len());
    let more = if more == 0 { String::new() } else { format!(" and {more} more") };
    format!("{one} {}{more}", named.join(", "))
}
