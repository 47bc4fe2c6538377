//! What a car's folder holds beside the records that stand: those that nobody vouches for, and copies set aside.

use crate::logbook::about::settled;
use crate::logbook::names::{self, FileName};
use crate::logbook::problem::{Fault, Problem};
use crate::logbook::reader::{Reading, read_car};
use crate::logbook::storage::{Storage as _, StorageError};
use crate::model::history::{History, by_weight};
use crate::source::is_id;
use crate::walk::CarLine;

use super::disk::DiskStorage;
use super::identity;
use super::paths::Paths;

/// The record of one folder, with everything that is wrong with it; nothing where there is no such folder.
///
/// # Errors
/// Where the folder cannot be read.
pub(super) fn read_folder(paths: &Paths, id: &str) -> Result<Reading, StorageError> {
    let folder = paths.car(id);
    if !is_id(id) || !folder.is_dir() {
        return Ok(Reading::default());
    }
    let storage = DiskStorage::at(&folder);
    let mut read = read_car(&storage)?;
    let history = History::fold(read.kept.iter().cloned()).with_past(read.past.iter().cloned());
    let doubted = history.to_confirm().iter().filter(|past| !read.past.contains(past));
    read.problems.extend(doubted.map(|past| Problem {
        file: names::log(&past.writer),
        line: None,
        fault: Fault::Unconfirmed { from: past.from, to: past.to, head: true },
    }));
    settled(&storage, &|writer| paths.is_own(writer), &history, &mut read.problems)?;
    Ok(read)
}

/// Whether a copy of a log of this car was set aside in any of its folders, and is not settled: what stands in it is not
/// known here.
///
/// # Errors
/// Where a folder cannot be read.
pub(super) fn is_unsettled(paths: &Paths, id: &str) -> Result<bool, String> {
    let record = identity::record(paths, id).map_err(|error| error.to_string())?;
    for (folder, read) in &record.folders {
        let path = paths.car(folder);
        if !path.is_dir() {
            continue;
        }
        // Nearly every folder has none.
        let names = DiskStorage::at(&path).list().map_err(|error| error.to_string())?;
        if !names.iter().any(|name| matches!(FileName::read(name), FileName::Aside(..))) {
            continue;
        }
        let open = |problem: &Problem| {
            matches!(problem.fault, Fault::Aside { .. } | Fault::Settled { whole: false, .. })
        };
        if read.problems.iter().any(open) {
            return Ok(true);
        }
    }
    Ok(false)
}

/// What the list of cars shows of a record.
pub(super) fn fill_line(line: &mut CarLine, history: &History) {
    line.open_items = by_weight(&history.open());
    line.last = history.all().last().map(|kept| kept.at);
    let walks = history.walks();
    line.walking =
        walks.iter().rev().find(|walk| walk.ended.is_none()).map(|walk| walk.started.profile.clone());
    if line.number.is_empty() {
        let number = walks.iter().rev().find_map(|walk| walk.started.number.clone());
        line.number = number.unwrap_or_default();
    }
}
