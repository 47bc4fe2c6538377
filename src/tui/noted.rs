//! Notes and photos beside checks and items, in words.

use crate::model::entry::{Kept, Observation};
use crate::walk::Walk;

use super::text::when;

/// A title, with the item where it is about one.
pub fn named(title: &str, of: Option<&str>) -> String {
    of.map_or_else(|| title.to_owned(), |of| format!("{title} ({of})"))
}

/// Notes and photos beside a check, or an item of it, in words.
pub fn noted_at(walk: &Walk, check: &str, of: Option<&str>) -> Vec<String> {
    let found = walk.history.observations().into_iter().filter(|(_, one)| {
        one.check == check && (of.is_none() || one.of.is_none() || one.of.as_deref() == of)
    });
    found.map(|(kept, one)| noted_words(walk, kept, one)).collect()
}

/// Notes and photos beside checks that nobody answered, each with what it is about.
pub fn not_judged(walk: &Walk) -> Vec<String> {
    let found = walk.history.not_judged().into_iter();
    found
        .map(|(kept, one)| {
            format!("{}: {}", named(&one.title, one.of.as_deref()), noted_words(walk, kept, one))
        })
        .collect()
}

fn noted_words(walk: &Walk, kept: &Kept, one: &Observation) -> String {
    let photos = one.photos.iter().map(|photo| format!("photo {}", photo.file));
    let words: Vec<String> = one.note.iter().cloned().chain(photos).collect();
    let by = one.by.as_ref().map_or_else(String::new, |by| format!(", by {by}"));
    let late = if walk.history.is_after_signing(kept, &one.walk) { ", after signing" } else { "" };
    format!("{} ({}{by}{late})", words.join("; "), when(kept.seen_at()))
}
