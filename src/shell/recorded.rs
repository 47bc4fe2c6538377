//! A car's record as its folder has it: what stands, what nobody vouches for, and which copies set aside are not settled.

use std::path::Path;

use crate::logbook::about::settled;
use crate::logbook::names::{self, FileName};
use crate::logbook::problem::{Fault, Problem};
use crate::logbook::reader::read_car;
use crate::logbook::storage::Storage as _;
use crate::model::history::{History, by_weight};
use crate::source::is_id;
use crate::walk::CarLine;

use super::disk::DiskStorage;
use super::paths::Paths;

/// The record of a car's folder, and what is wrong with it.
///
/// # Errors
/// Where the folder cannot be read.
pub(super) fn record(paths: &Paths, folder: &Path) -> Result<(History, Vec<Problem>), String> {
    let storage = DiskStorage::at(folder);
    let read = read_car(&storage).map_err(|error| error.to_string())?;
    let mut problems = read.problems;
    let shown = read.past.clone();
    let history = History::fold(read.kept).with_past(read.past);
    let doubted = history.to_confirm().iter().filter(|past| !shown.contains(past));
    problems.extend(doubted.map(|past| Problem {
        file: names::log(&past.writer),
        line: None,
        fault: Fault::Unconfirmed { from: past.from, to: past.to, head: true },
    }));
    let own = |writer: &str| paths.is_own(writer);
    settled(&storage, &own, &history, &mut problems).map_err(|error| error.to_string())?;
    Ok((history, problems))
}

/// Whether a copy of a log of this car was set aside, and is not settled: what stands in it is not known here.
///
/// # Errors
/// Where the folder cannot be read.
pub(super) fn is_unsettled(paths: &Paths, id: &str) -> Result<bool, String> {
    let folder = paths.car(id);
    if !is_id(id) || !folder.is_dir() {
        return Ok(false);
    }
    // Nearly every folder has none, and need not be read once more.
    let names = DiskStorage::at(&folder).list().map_err(|error| error.to_string())?;
    if !names.iter().any(|name| matches!(FileName::read(name), FileName::Aside(..))) {
        return Ok(false);
    }
    let (_, problems) = record(paths, &folder)?;
    let open = |problem: &Problem| {
        matches!(problem.fault, Fault::Aside { .. } | Fault::Settled { whole: false, .. })
    };
    Ok(problems.iter().any(open))
}

/// Two cars with one id, as where a file was copied, share one record: nobody would see it but by the number.
pub(super) fn other_number(history: &History, number: &str) -> Option<String> {
    let walks = history.walks();
    let before = walks.last()?.started.number.clone().filter(|before| before != number)?;
    Some(format!(
        "The last walk kept under this car's id was of car {before}, and its file says {number}: if these are two cars, \
         give one of the files an id of its own."
    ))
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
