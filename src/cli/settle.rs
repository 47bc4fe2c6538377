//! `linewalk log confirm` and `log settle`: what a person says of records nobody vouches for, and of copies set aside.

use std::path::{Path, PathBuf};

use crate::diagnostic::{many, shown};
use crate::logbook::about::sum_of;
use crate::logbook::names::{self, FileName};
use crate::logbook::problem::{Fault, Problem};
use crate::logbook::reader::{self, Reading};
use crate::model::entry::{Entry, Finding, JudgedBy, Kept, Severity};
use crate::model::history::History;
use crate::shell::disk::DiskStorage;
use crate::source::is_id;

use super::log::keep;
use super::output::put;
use super::run::{Context, DONE, OPEN, Outcome};

fn folded(read: &Reading) -> History {
    History::fold(read.kept.iter().cloned()).with_past(read.past.iter().cloned())
}

fn read(storage: &DiskStorage) -> Result<Reading, String> {
    reader::read_car(storage).map_err(|error| error.to_string())
}

/// Confirms the records of this machine that stand past a head, or takes each of them back.
pub(super) fn confirm(context: &Context, id: &str, withdraw: bool, by: Option<String>) -> Outcome {
    let folder = context.paths.car(id);
    if !folder.is_dir() {
        return Err(format!("nothing is kept about {id}: there is nothing to confirm"));
    }
    let history = folded(&read(&DiskStorage::at(&folder))?);
    let own = |writer: &str| context.paths.is_own(writer);
    let pasts: Vec<_> = history.to_confirm().iter().filter(|past| own(&past.writer)).cloned().collect();
    if pasts.is_empty() {
        put("nothing of this machine is to be confirmed\n");
        return Ok(DONE);
    }
    let records: Vec<&Kept> =
        history.unconfirmed().into_iter().filter(|kept| own(&kept.writer) && says(kept)).collect();
    let count = records.len();
    let by = by.or_else(|| context.config.by.clone());
    let confirmed = |by: Option<String>| {
        pasts.iter().map(move |past| Entry::Confirmed {
            log: past.writer.clone(),
            from: past.from,
            to: past.to,
            last: past.sum.clone(),
            by: by.clone(),
        })
    };
    let mut entries = Vec::new();
    if withdraw {
        let note = Some("not confirmed".to_owned());
        entries.extend(records.iter().map(|kept| Entry::Withdrawn {
            record: kept.id.clone(),
            note: note.clone(),
            by: by.clone(),
        }));
    }
    // After taking back, that is all there is to say of them.
    entries.extend(confirmed(by));
    keep(context, id, entries)?;
    put(&format!("{} {}\n", many(count, "record"), if withdraw { "taken back" } else { "confirmed" }));
    Ok(DONE)
}

/// Whether a record says something of the car, and not of other records.
fn says(kept: &Kept) -> bool {
    !matches!(kept.entry, Entry::Unconfirmed { .. })
}

/// Closes a copy set aside: what stands open in it and was not answered here is carried in first.
pub(super) fn settle(context: &Context, file: &Path, reason: &str, by: Option<String>) -> Outcome {
    if reason.trim().is_empty() {
        return Err("say why the copy is not needed: --reason \"…\"".to_owned());
    }
    let (id, name, writer) = copy_of(context, file)?;
    let storage = DiskStorage::at(context.paths.car(&id));
    let Some((sha256, _)) = sum_of(&storage, &name).map_err(|error| error.to_string())? else {
        return Err(format!("there is no file {}", shown(file)));
    };
    let copy = read_copy(&storage, &name, &writer)?;
    let readable =
        |problem: &Problem| problem.fault.is_note() || matches!(problem.fault, Fault::Unconfirmed { .. });
    let whole = copy.problems.iter().all(readable) && !copy.kept.is_empty();
    let here = folded(&read(&storage)?);
    let by = by.or_else(|| context.config.by.clone());
    let mut entries = carried(&here, &folded(&copy), &name, by.as_ref());
    let carried = entries.len();
    let records = u64::try_from(copy.kept.len()).unwrap_or(u64::MAX);
    entries.push(Entry::Settled {
        file: name.clone(),
        sha256,
        records,
        whole,
        reason: reason.trim().to_owned(),
        by,
    });
    keep(context, &id, entries)?;
    put(&format!(
        "{name}: settled, {} in it, {} carried in as open\n",
        many(records, "record"),
        many(u64::try_from(carried).unwrap_or(u64::MAX), "stop")
    ));
    if !whole {
        put("It could not be read whole, so the car stays at LOOK AGAIN: look at the car once more.\n");
    }
    Ok(if whole && carried == 0 { DONE } else { OPEN })
}

/// The car, the file's name and the writer of a copy set aside in the data folder.
fn copy_of(context: &Context, file: &Path) -> Result<(String, String, String), String> {
    let real = |path: &Path| std::fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let folder: PathBuf =
        real(file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new(".")));
    let name = file.file_name().and_then(|name| name.to_str()).unwrap_or_default().to_owned();
    let id =
        folder.file_name().and_then(|id| id.to_str()).filter(|id| is_id(id)).unwrap_or_default().to_owned();
    match FileName::read(&name) {
        FileName::Aside(writer, _) if !id.is_empty() && folder == real(&context.paths.car(&id)) => {
            Ok((id, name, writer))
        }
        _ => Err(format!(
            "{} is no copy set aside in {}: name the file that `linewalk report` names",
            shown(file),
            shown(&context.paths.data.join("cars"))
        )),
    }
}

/// Reads the copy as if it stood in a folder of its own.
fn read_copy(storage: &DiskStorage, name: &str, writer: &str) -> Result<Reading, String> {
    let FileName::Aside(_, tag) = FileName::read(name) else { return Ok(Reading::default()) };
    let head = names::aside_head(writer, &tag);
    reader::read_files(storage, writer, name, &head).map_err(|error| error.to_string())
}

/// What stands open in the copy as a stop, is not open here, and was answered by nobody here.
fn carried(here: &History, copy: &History, name: &str, by: Option<&String>) -> Vec<Entry> {
    let open_here = here.open();
    let known = |finding: &Finding| {
        open_here.iter().any(|open| open.finding.check == finding.check && open.finding.of == finding.of)
    };
    let stops = copy.open().into_iter().filter(|open| open.cause().severity == Severity::Stop);
    stops
        .filter(|open| !known(open.finding) && here.get(&open.kept.id).is_none())
        .map(|open| {
            let said = open.finding.note.as_ref().map_or_else(String::new, |note| format!(": {note}"));
            Entry::Finding(Box::new(Finding {
                note: Some(format!(
                    "Carried in from the copy {name} that was set aside, where it is of {}{said}",
                    open.kept.seen_at().format("%Y-%m-%d %H:%M")
                )),
                photos: Vec::new(),
                by: by.cloned().or_else(|| open.finding.by.clone()),
                // Nobody here has answered it, however old it is.
                seen_at: None,
                judged_by: JudgedBy::Person,
                closes: None,
                ..open.finding.clone()
            }))
        })
        .collect()
}
