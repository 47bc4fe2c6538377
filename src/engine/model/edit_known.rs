//! What a file says of how its values are known, kept in step with changes of them.

use std::sync::Arc;

use crate::diagnostic::SourceFile;
use crate::source::splice::{self, quoted};
use crate::source::{FieldKind, Overrides};

use super::edit::Edit;
use super::keys::field_of;
use super::known::{Known, Origin, Way};
use super::read_car;
use super::values::values;

/// What a file says of how its values are known.
pub fn known_of(file: &Arc<SourceFile>) -> Arc<Known> {
    Arc::clone(&read_car(file, &Overrides::new()).car.known)
}

/// The text with how a value is known, after it was changed: as said, or as typed where the file said something else of it.
pub(super) fn noted(text: &str, known: &Known, path: &str, how: Option<&Origin>) -> Result<String, String> {
    let typed = Origin::default();
    let how = match (how, known.of_word(path)) {
        (Some(how), _) => how,
        (None, Some(before)) if before.way != Way::Typed => &typed,
        (None, _) => return Ok(text.to_owned()),
    };
    splice::set(text, &["known", path], &quoted(&how.text()))
}

/// Every path below a part, or its own, that the file says something of.
fn of_part<'k>(known: &'k Known, part: &str) -> Vec<&'k str> {
    let own =
        |path: &&str| path.strip_prefix(part).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'));
    known.entries().map(|(path, _)| path).filter(own).collect()
}

/// The text without what it says of a part or a key that is taken out.
pub(super) fn forgotten(text: &str, known: &Known, part: &str) -> Result<String, String> {
    let paths = of_part(known, part);
    paths.iter().try_fold(text.to_owned(), |text, path| splice::unset(&text, &["known", path]))
}

/// The text with what it says of a part that has another path from now on.
pub(super) fn moved(text: &str, known: &Known, part: &str, to: &str) -> Result<String, String> {
    of_part(known, part).iter().try_fold(text.to_owned(), |text, path| {
        let rest = path.get(part.len()..).unwrap_or_default();
        splice::rename_key(&text, &["known", path], &format!("{to}{rest}"))
    })
}

/// What a look at a part confirms: its words, counts and joints, as far as the file gives them. No size is measured by it.
pub fn seen(file: &Arc<SourceFile>, part: &str, how: &Origin) -> Vec<Edit> {
    let own = |key: &str| {
        key.strip_prefix(part).is_some_and(|rest| rest.starts_with('.')) || key.contains(&format!(".{part}."))
    };
    let by_look = |key: &str| {
        let kind = field_of(key).map(|field| &field.kind);
        matches!(
            kind,
            Some(FieldKind::Text | FieldKind::TextOrNumber | FieldKind::Choice(_) | FieldKind::Count)
                | Some(FieldKind::Texts | FieldKind::Flag | FieldKind::Map(_))
        )
    };
    let mut keys: Vec<String> = Vec::new();
    for written in
        values(file).into_iter().filter(|written| own(&written.key) && !written.key.starts_with("known."))
    {
        // A count of fittings is confirmed with all the others.
        let key = match written.key.split_once(".fittings.") {
            Some((line, _)) => format!("{line}.fittings"),
            None => written.key,
        };
        if by_look(&key) && !keys.contains(&key) {
            keys.push(key);
        }
    }
    keys.into_iter().map(|key| Edit::Known { key, how: how.clone() }).collect()
}

/// The text as a program reads it that knows nothing of how values are known, nor how far points may be off.
///
/// # Errors
/// Where the file is written in a way that this cannot change.
pub fn plain(file: &Arc<SourceFile>) -> Result<String, String> {
    let mut text = file.text.to_string();
    for written in values(file).iter().filter(|written| written.key.ends_with(".within")) {
        text = splice::unset(&text, &written.key.split('.').collect::<Vec<_>>())?;
    }
    if known_of(file).is_empty() { Ok(text) } else { splice::take_out(&text, &["known"]) }
}
