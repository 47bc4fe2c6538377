//! How decided entries reach the disk: through a trait, so that a walk never knows what keeps them.

use crate::model::entry::{Entry, Kept, Photo};

use super::decide::Decided;
use super::paper::PaperPlan;
use super::state::Walk;

/// Keeps entries: appended, synced, and only then returned. What may wait until the person was answered is left to
/// [`Journal::settle`].
pub trait Journal {
    /// An id that no record has.
    fn new_id(&mut self) -> String;

    /// Keeps one entry under its id: it is safe when this returns.
    ///
    /// # Errors
    /// Why it could not be kept, in one sentence; nothing more is kept after that.
    fn keep(&mut self, decided: Decided) -> Result<Kept, String>;

    /// Does what keeping left for after the answer. Nothing is lost where nobody calls it.
    ///
    /// # Errors
    /// Why it failed, in one sentence, given once: what was kept is kept, nothing more is after that.
    fn settle(&mut self) -> Result<(), String> {
        Ok(())
    }

    /// Copies a photo into the car's folder.
    ///
    /// # Errors
    /// Why it could not be copied.
    fn photo(&mut self, path: &str) -> Result<Photo, String>;
}

/// Keeps decided entries one by one and applies each as soon as it is kept.
///
/// # Errors
/// Why one could not be kept; those before it are kept and applied.
pub fn keep_all(walk: &mut Walk, keeper: &mut dyn Journal, entries: Vec<Decided>) -> Result<(), String> {
    for decided in entries {
        walk.apply(keeper.keep(decided)?);
    }
    Ok(())
}

/// Keeps a played answers file: its photos first, then its entries.
///
/// # Errors
/// Why a photo could not be copied (nothing is kept then), or an entry not kept: then with how many are.
pub fn keep_paper(walk: &mut Walk, keeper: &mut dyn Journal, plan: PaperPlan) -> Result<(), String> {
    let mut entries = Vec::new();
    for (mut decided, photo) in plan.entries {
        let photo = photo.map(|word| keeper.photo(&word.text)).transpose()?;
        if let Entry::Finding(finding) = &mut decided.entry {
            finding.photos.extend(photo);
        }
        entries.push(decided);
    }
    let all = entries.len();
    for (at, decided) in entries.into_iter().enumerate() {
        let kept = keeper.keep(decided).map_err(|error| {
            format!("{error}. {at} of the {all} records of this file are kept: give it again, and it goes on where it stopped")
        })?;
        walk.apply(kept);
    }
    Ok(())
}
