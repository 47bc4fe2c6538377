//! What only a look at the whole car shows: whether its logs are of this car, whether its photos are those that were kept,
//! and which copies set aside were settled.

use sha2::{Digest, Sha256};

use crate::entry::{Entry, Kept, Photo};
use crate::history::History;
use crate::logbook::names;
use crate::logbook::problem::{Fault, Problem};
use crate::logbook::reader::Reading;
use crate::logbook::storage::{Storage, StorageError};

/// The car that the logs of a folder should be of.
#[derive(Clone, Copy)]
pub struct About<'a> {
    /// Its id.
    pub car: &'a str,
    /// Whether a writer is this machine.
    pub own: &'a dyn Fn(&str) -> bool,
    /// The folder of its photos.
    pub photos: &'a dyn Storage,
}

/// Takes copies that were settled off the problems, and says how. Only this machine settles what lies in its own folder.
///
/// # Errors
/// When the storage fails.
pub fn settled(
    storage: &dyn Storage,
    own: &dyn Fn(&str) -> bool,
    history: &History,
    problems: &mut Vec<Problem>,
) -> Result<(), StorageError> {
    let mut said = Vec::new();
    for problem in problems.iter_mut() {
        let Fault::Aside { copies } = &mut problem.fault else { continue };
        let mut left = Vec::new();
        for copy in std::mem::take(copies) {
            match settling(storage, own, history, &copy)? {
                Some(fault) => said.push(Problem { file: copy, line: None, fault }),
                None => left.push(copy),
            }
        }
        *copies = left;
    }
    problems.retain(|problem| !matches!(&problem.fault, Fault::Aside { copies } if copies.is_empty()));
    problems.extend(said);
    Ok(())
}

fn settling(
    storage: &dyn Storage,
    own: &dyn Fn(&str) -> bool,
    history: &History,
    copy: &str,
) -> Result<Option<Fault>, StorageError> {
    let mut known =
        history.standing_entries().filter(|kept| own(&kept.writer)).filter_map(|kept| match &kept.entry {
            Entry::Settled { file, sha256, records, whole, reason, by } if file == copy => {
                Some((sha256, *records, *whole, reason, by))
            }
            _ => None,
        });
    let Some((sha256, records, whole, reason, by)) = known.next_back() else { return Ok(None) };
    let now = sum_of(storage, copy)?.map(|(sum, _)| sum);
    Ok((now.as_ref() == Some(sha256)).then(|| Fault::Settled {
        records,
        whole,
        reason: reason.clone(),
        by: by.clone(),
    }))
}

/// SHA-256 of a file, and how many bytes it has.
///
/// # Errors
/// When it is there and cannot be read.
pub fn sum_of(storage: &dyn Storage, name: &str) -> Result<Option<(String, u64)>, StorageError> {
    let Some(bytes) = storage.read(name)? else { return Ok(None) };
    let sum = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    Ok(Some((sum, bytes.len() as u64)))
}

/// Everything about the car as a whole that does not hold.
///
/// # Errors
/// When the storage fails.
pub fn problems(
    storage: &dyn Storage,
    reading: &Reading,
    about: &About<'_>,
) -> Result<Vec<Problem>, StorageError> {
    let history = History::fold(reading.kept.iter().cloned()).with_past(reading.past.iter().cloned());
    let mut found = reading.problems.clone();
    settled(storage, about.own, &history, &mut found)?;
    for kept in history.all() {
        let mut say =
            |fault| found.push(Problem { file: names::log(&kept.writer), line: Some(kept.seq), fault });
        if let Entry::WalkStarted(started) = &kept.entry
            && let Some(car) = started.car.as_ref().filter(|car| *car != about.car)
        {
            say(Fault::OtherCar { said: car.clone(), here: about.car.to_owned() });
        }
        for photo in photos(&kept.entry) {
            if let Some(fault) = judged(photo, kept, about) {
                say(fault);
            }
        }
    }
    for past in history.to_confirm().iter().filter(|past| !reading.past.contains(past)) {
        let fault = Fault::Unconfirmed { from: past.from, to: past.to, head: true };
        found.push(Problem { file: names::log(&past.writer), line: None, fault });
    }
    Ok(found)
}

fn photos(entry: &Entry) -> &[Photo] {
    match entry {
        Entry::Finding(finding) => &finding.photos,
        Entry::Observation(observation) => &observation.photos,
        _ => &[],
    }
}

/// What is wrong with a photo. Those of other machines stay there; one that is here all the same has to be the one kept.
fn judged(photo: &Photo, kept: &Kept, about: &About<'_>) -> Option<Fault> {
    let file = photo.file.clone();
    // The name comes from a record: it may not lead anywhere else.
    let plain = !file.is_empty() && !file.contains(['/', '\\']) && file != "." && file != "..";
    let sum = plain.then(|| sum_of(about.photos, &file)).transpose();
    match sum {
        Ok(Some(Some((sum, _)))) if sum == photo.sha256 => None,
        Ok(Some(Some(_))) | Err(_) | Ok(None) => Some(Fault::PhotoDiffers { file }),
        Ok(Some(None)) if (about.own)(&kept.writer) => Some(Fault::PhotoMissing { file }),
        Ok(Some(None)) => Some(Fault::PhotoElsewhere { file }),
    }
}
