//! How decided entries reach the disk: through a trait, so that a walk never knows what keeps them.

use std::collections::BTreeMap;

use crate::model::entry::{Entry, Kept, Photo};

use super::decide::THIS_WALK;
use super::paper::PaperPlan;
use super::state::Walk;

/// Keeps entries: appended, synced, and only then returned. What may wait until the person was answered is left to
/// [`Keeper::settle`].
pub trait Keeper {
    /// Keeps one entry: it is safe when this returns.
    ///
    /// # Errors
    /// Why it could not be kept, in one sentence; nothing more is kept after that.
    fn keep(&mut self, entry: Entry) -> Result<Kept, String>;

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
pub fn keep_all(walk: &mut Walk, keeper: &mut dyn Keeper, entries: Vec<Entry>) -> Result<(), String> {
    let mut ids = Ids::of(walk);
    for entry in entries {
        let kept = keeper.keep(ids.real(entry))?;
        ids.learn(&kept, None);
        walk.apply(kept);
    }
    Ok(())
}

/// Keeps a played answers file: its photos first, then its entries with the ids they really get.
///
/// # Errors
/// Why a photo could not be copied (nothing is kept then) or an entry not kept.
pub fn keep_paper(walk: &mut Walk, keeper: &mut dyn Keeper, plan: PaperPlan) -> Result<(), String> {
    let mut entries = Vec::new();
    for (entry, photo) in plan.entries {
        let photo = photo.map(|word| keeper.photo(&word.text)).transpose()?;
        entries.push(with_photo(entry, photo));
    }
    let mut ids = Ids::of(walk);
    for (at, entry) in entries.into_iter().enumerate() {
        let kept = keeper.keep(ids.real(entry))?;
        ids.learn(&kept, Some(format!("play-{}", at + 1)));
        walk.apply(kept);
    }
    Ok(())
}

fn with_photo(entry: Entry, photo: Option<Photo>) -> Entry {
    match entry {
        Entry::Finding(mut finding) => {
            finding.photos.extend(photo);
            Entry::Finding(finding)
        }
        other => other,
    }
}

/// Ids given before an entry was kept, and those it got.
struct Ids {
    known: BTreeMap<String, String>,
}

impl Ids {
    fn of(walk: &Walk) -> Self {
        let known = walk.id.iter().map(|id| (THIS_WALK.to_owned(), id.clone())).collect();
        Self { known }
    }

    fn learn(&mut self, kept: &Kept, played: Option<String>) {
        if let Some(played) = played {
            self.known.insert(played, kept.id.clone());
        }
        if matches!(kept.entry, Entry::WalkStarted(_)) {
            self.known.insert(THIS_WALK.to_owned(), kept.id.clone());
        }
    }

    fn swap(&self, id: &mut String) {
        if let Some(real) = self.known.get(id) {
            id.clone_from(real);
        }
    }

    fn real(&self, mut entry: Entry) -> Entry {
        match &mut entry {
            Entry::Finding(finding) => {
                self.swap(&mut finding.walk);
                finding.closes.iter_mut().for_each(|id| self.swap(id));
            }
            Entry::Withdrawn { record, .. } => self.swap(record),
            Entry::Remark { record, .. } => record.iter_mut().for_each(|id| self.swap(id)),
            Entry::Signed { walk, .. } | Entry::WalkEnded { walk, .. } => self.swap(walk),
            Entry::WalkStarted(_) | Entry::Reading(_) => {}
        }
        entry
    }
}
