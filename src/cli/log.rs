//! `linewalk log`: a car's record as it is kept.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use crate::diagnostic::{escape_control, many, shown};
use crate::logbook::about::About;
use crate::logbook::problem::Problem;
use crate::logbook::storage::Storage;
use crate::logbook::{export, merge, reader, verify};
use crate::model::entry::{Entry, Finding, Kept, Observation, short_id};
use crate::shell::disk::DiskStorage;
use crate::shell::identity::{self, Record};
use crate::shell::load;
use crate::shell::paths::{links_in, no_links, path_of};
use crate::source::{Overrides, is_id};
use crate::walk::{Decided, Journal as _};

use super::args::{ExportFormat, LogCommand};
use super::output::{put, said_yes, say};
use super::run::{Context, DONE, OPEN, Outcome};
use super::settle;

pub(super) fn run(context: &Context, what: &LogCommand) -> Outcome {
    match what {
        LogCommand::Show { car } => show(context, car),
        LogCommand::Verify { car } => verify_log(context, car),
        LogCommand::Merge { car, from, restore } => {
            let from: Vec<&Path> = from.iter().map(std::path::PathBuf::as_path).collect();
            merge_logs(context, car, &from, *restore)
        }
        LogCommand::Confirm { car, withdraw, by } => {
            settle::confirm(context, &id_of(context, car)?, *withdraw, by.clone())
        }
        LogCommand::Settle { file, reason, by } => settle::settle(context, file, reason, by.clone()),
        LogCommand::Export { car, format } => export_log(context, car, *format),
        LogCommand::Join { car, other, take_back, reason } => {
            join(context, [car, other], *take_back, reason.as_ref())
        }
    }
}

/// The id that a car's record goes on under: a log can be read even where its car file is gone.
fn id_of(context: &Context, car: &str) -> Result<String, String> {
    let car = context.car(car)?;
    if !path_of(&car).is_file() {
        return Ok(car);
    }
    let found = load::find_car(&context.paths, &car, &Overrides::new())?;
    Ok(identity::goes_on_under(&context.paths, &found.read.car.id))
}

/// A car's record, with the folders it was joined with; which those are and which file is in use is said.
fn record(context: &Context, id: &str) -> Result<Record, String> {
    let record = identity::record(&context.paths, id).map_err(|error| error.to_string())?;
    for (folder, _) in &record.folders {
        links_in(&context.paths.car(folder)).iter().for_each(|link| say(&escape_control(link)));
    }
    if let Ok(found) = load::find_car(&context.paths, id, &Overrides::new()) {
        let car = &found.read.car;
        say(&escape_control(&format!("Car {} ({id}), file {}", car.number, car.file)));
    }
    for (folder, reading) in record.folders.iter().skip(1) {
        let count = u64::try_from(reading.kept.len()).unwrap_or(u64::MAX);
        say(&escape_control(&format!("with {} of {folder}, which is the same car", many(count, "record"))));
    }
    record.trouble.iter().for_each(|trouble| say(&escape_control(trouble)));
    record
        .folders
        .iter()
        .flat_map(|(_, reading)| &reading.problems)
        .for_each(|problem| say(&problem.to_string()));
    Ok(record)
}

fn storage(context: &Context, id: &str) -> Result<Option<DiskStorage>, String> {
    let folder = context.paths.car(id);
    links_in(&folder).iter().for_each(|link| say(&escape_control(link)));
    Ok(folder.is_dir().then(|| DiskStorage::at(folder)))
}

fn nothing(id: &str) -> String {
    format!("nothing is kept about {id}: it has no log yet\n")
}

fn show(context: &Context, car: &str) -> Outcome {
    let id = id_of(context, car)?;
    let record = record(context, &id)?;
    let all = record.history.all();
    let answers = all.iter().filter_map(|kept| Some((kept.id.as_str(), answer_named(kept)?))).collect();
    let of_folder = |at: usize| record.history.joined_car(at);
    let lines: String =
        all.iter().enumerate().map(|(at, kept)| line(kept, &answers, of_folder(at))).collect();
    if lines.is_empty() && record.folders.iter().any(|(_, reading)| !reading.problems.is_empty()) {
        return Ok(OPEN);
    }
    put(&if lines.is_empty() { nothing(&id) } else { lines });
    Ok(DONE)
}

/// One record on one line: when, the digits that a report prints, its place in its file, what it says.
fn line(kept: &Kept, answers: &BTreeMap<&str, String>, joined: Option<&str>) -> String {
    let what = match &kept.entry {
        Entry::WalkStarted(started) => {
            format!("walk started: {}, rules {} {}", started.profile, started.rules.id, started.rules.edition)
        }
        Entry::Finding(finding) => answer(finding),
        Entry::Observation(observed) => observation(observed),
        Entry::AnswersFile(file) => {
            let state = if file.whole { "kept whole" } else { "begun" };
            format!("answers file {state}: {}", file.sha256.get(..8).unwrap_or(&file.sha256))
        }
        Entry::Reading(reading) => format!("reading {} = {}", reading.key, reading.value),
        Entry::Withdrawn { record, note, .. } => {
            let what = answers.get(record.as_str()).unwrap_or(record);
            format!(
                "taken back: {what}{}",
                note.as_ref().map_or_else(String::new, |note| format!(" — {note}"))
            )
        }
        Entry::Remark { record, text, about, .. } => {
            let about = about.as_ref().map_or_else(String::new, |about| format!(" of the {about}"));
            let beside = record.as_ref().map_or_else(String::new, |record| {
                format!(" on {}", answers.get(record.as_str()).unwrap_or(record))
            });
            format!("remark{about}{beside}: {text}")
        }
        Entry::Signed { role, by, .. } => format!("signed as {role}: {by}"),
        Entry::WalkEnded { .. } => "walk ended".to_owned(),
        Entry::Unconfirmed { from, to, .. } => {
            format!("records {from} to {to} stood past the head: not confirmed")
        }
        Entry::Confirmed { log, from, to, by, .. } => {
            let by = by.as_ref().map_or_else(String::new, |by| format!(" by {by}"));
            format!("records {from} to {to} of {log} confirmed{by}")
        }
        Entry::Settled { file, records, reason, .. } => {
            format!("copy {file} with {} settled: {reason}", many(*records, "record"))
        }
        Entry::Joined { car, by } => {
            format!("joined: {car} is the same car{}", by_whom(by.as_ref()))
        }
        Entry::Renumbered { number, before, by } => {
            format!("number {number} from now on, {before} before{}", by_whom(by.as_ref()))
        }
    };
    let at = kept.at.format("%Y-%m-%d %H:%M:%S");
    let joined = joined.map_or_else(String::new, |car| format!("[{car}] "));
    format!(
        "{at}  {}  {:>4}  {joined}{}\n",
        escape_control(short_id(&kept.id)),
        kept.seq,
        escape_control(&what)
    )
}

/// An answer: its code, check and item, what it came to, and who said so.
fn answer(finding: &Finding) -> String {
    let of = finding.of.as_ref().map_or_else(String::new, |of| format!(" of {of}"));
    let value = finding.value_words().map_or_else(String::new, |value| format!(", {value}"));
    let verdict = finding.verdict.filter(|verdict| *verdict != finding.result);
    let verdict = verdict.map_or_else(String::new, |verdict| format!(" (program: {})", verdict.word()));
    let note = finding.note.as_ref().map_or_else(String::new, |note| format!(" — {note}"));
    let by = finding.by.as_ref().map_or_else(String::new, |by| format!(", by {by}"));
    let code = finding.code.as_ref().map_or_else(String::new, |code| format!("{code} "));
    format!("{code}{}{of}: {}{verdict}{value}{by}{note}", finding.check, finding.result.word())
}

/// An answer as other records name it: code, check and item.
fn answer_named(kept: &Kept) -> Option<String> {
    let Entry::Finding(finding) = &kept.entry else { return None };
    let code = finding.code.as_ref().map_or_else(String::new, |code| format!("{code} "));
    let of = finding.of.as_ref().map_or_else(String::new, |of| format!(" of {of}"));
    Some(format!("{code}{}{of} ({})", finding.check, finding.result.word()))
}

/// A note or photo, which is no answer.
fn observation(observed: &Observation) -> String {
    let of = observed.of.as_ref().map_or_else(String::new, |of| format!(" of {of}"));
    let photos = observed.photos.iter().map(|photo| format!("photo {}", photo.file));
    let words: Vec<String> = observed.note.iter().cloned().chain(photos).collect();
    let by = observed.by.as_ref().map_or_else(String::new, |by| format!(", by {by}"));
    let code = observed.code.as_ref().map_or_else(String::new, |code| format!("{code} "));
    // Beside an answer it is only a note: the check was judged.
    let noted = if observed.record.is_some() { "note" } else { "noted, not judged" };
    format!("{code}{}{of}: {noted}{by} — {}", observed.check, words.join(", "))
}

fn by_whom(by: Option<&String>) -> String {
    by.map_or_else(String::new, |by| format!(", by {by}"))
}

fn verify_log(context: &Context, car: &str) -> Outcome {
    let id = id_of(context, car)?;
    let Some(storage) = storage(context, &id)? else {
        put(&nothing(&id));
        return Ok(DONE);
    };
    let photos = DiskStorage::foreign(storage.folder().join("photos"));
    let about = About { car: &id, own: &|writer| context.paths.is_own(writer), photos: &photos };
    let verdict = verify::verify_about(&storage, &about).map_err(|error| error.to_string())?;
    put(&verdict.text());
    put_remedies(&verdict, &id, &storage);
    let mut holds = verdict.holds();
    let record = identity::record(&context.paths, &id).map_err(|error| error.to_string())?;
    for (folder, _) in record.folders.iter().skip(1) {
        let joined = DiskStorage::at(context.paths.car(folder));
        let photos = DiskStorage::foreign(joined.folder().join("photos"));
        let about = About { car: folder, own: &|writer| context.paths.is_own(writer), photos: &photos };
        let verdict = verify::verify_about(&joined, &about).map_err(|error| error.to_string())?;
        put(&format!("\nJoined to it: {folder}\n{}", verdict.text()));
        put_remedies(&verdict, &id, &joined);
        holds &= verdict.holds();
    }
    Ok(if holds { DONE } else { OPEN })
}

/// What may be done about what does not hold, each command once.
fn put_remedies(verdict: &verify::Verdict, id: &str, storage: &DiskStorage) {
    let folder = shown(storage.folder());
    let remedies: BTreeSet<String> =
        verdict.problems.iter().filter_map(|problem| problem.fault.remedy(id, &folder)).collect();
    remedies.iter().for_each(|remedy| put(&format!("To do: {remedy}\n")));
}

/// Joins another folder to a car, or takes that back.
fn join(context: &Context, [car, other]: [&str; 2], take_back: bool, reason: Option<&String>) -> Outcome {
    let folder = |word: &str| {
        if is_id(word) && context.paths.car(word).is_dir() {
            Ok(word.to_owned())
        } else {
            id_of(context, word)
        }
    };
    let (id, other) = (folder(car)?, folder(other)?);
    let mut workspace = context.workspace(None, Vec::new());
    let joined = match (take_back, reason) {
        (true, None) => return Err("taking a join back needs its reason: --reason TEXT".to_owned()),
        (true, Some(reason)) => workspace.take_back_join(&id, &other, reason.clone())?,
        (false, _) => workspace.join(&id, &other)?,
    };
    joined.done.iter().for_each(|done| put(&format!("{}\n", escape_control(done))));
    Ok(DONE)
}

/// Numbers that the walks of a log were begun under.
fn numbers_of(storage: &DiskStorage) -> Result<BTreeSet<String>, String> {
    let read = reader::read_car(storage).map_err(|error| error.to_string())?;
    let started = read.kept.into_iter().filter_map(|kept| match kept.entry {
        Entry::WalkStarted(started) => started.number,
        _ => None,
    });
    Ok(started.collect())
}

/// Another car's record would be read as this one's for ever: a folder whose walks are all of other numbers is refused, and
/// one without a log.
fn same_car(id: &str, known: &BTreeSet<String>, folder: &Path, other: &DiskStorage) -> Result<(), String> {
    let names = other.list().map_err(|error| error.to_string())?;
    if !names.iter().any(|name| name.ends_with(".jsonl")) {
        return Err(escape_control(&format!(
            "{} holds no log: name the folder with the car's .jsonl files",
            shown(folder)
        )));
    }
    let theirs = numbers_of(other)?;
    if known.is_empty() || theirs.is_empty() || !known.is_disjoint(&theirs) {
        return Ok(());
    }
    let list = |numbers: &BTreeSet<String>| numbers.iter().map(String::as_str).collect::<Vec<_>>().join(", ");
    Err(escape_control(&format!(
        "{} holds walks of car {}, and {id} is car {}: nothing was merged. If it is the same car under another number, give its \
         file that number for the merge",
        shown(folder),
        list(&theirs),
        list(known)
    )))
}

/// Asks whether this machine's own log may be taken over: who did not mean it would bring somebody else's words in as its own.
fn asked_to_restore(from: &[&Path]) -> Result<(), String> {
    let folders: Vec<String> = from.iter().map(|folder| shown(folder)).collect();
    let question = format!(
        "This takes this machine's own log over from {}, as from a backup. Is that folder your own backup?",
        folders.join(", ")
    );
    if said_yes(&question) {
        return Ok(());
    }
    Err("nothing was merged: --restore asks for yes".to_owned())
}

/// Keeps entries about a car in this machine's own log.
pub(super) fn keep(context: &Context, id: &str, entries: Vec<Entry>) -> Result<(), String> {
    let mut workspace = context.workspace(None, Vec::new());
    workspace.open_log(id)?.iter().for_each(|note| say(&escape_control(note)));
    for entry in entries {
        let id = workspace.new_id();
        workspace.keep(Decided { id, entry })?;
    }
    workspace.settle()
}

pub(super) fn merge_logs(context: &Context, car: &str, from: &[&Path], restore: bool) -> Outcome {
    let id = id_of(context, car)?;
    for folder in from {
        if !folder.is_dir() {
            return Err(format!(
                "{} is not a folder: name the folder that holds the car's .jsonl files",
                shown(folder)
            ));
        }
    }
    no_links(&context.paths.data, &context.paths.car(&id))?;
    let mut known = storage(context, &id)?.map_or_else(|| Ok(BTreeSet::new()), |own| numbers_of(&own))?;
    known.extend(
        load::find_car(&context.paths, car, &Overrides::new()).map(|found| found.read.car.number.clone()),
    );
    let others: Vec<DiskStorage> = from.iter().map(|folder| DiskStorage::foreign(*folder)).collect();
    from.iter().zip(&others).try_for_each(|(folder, other)| same_car(&id, &known, folder, other))?;
    let into = DiskStorage::create(context.paths.car(&id)).map_err(|error| error.to_string())?;
    let others: Vec<&dyn Storage> = others.iter().map(|other| other as _).collect();
    if restore {
        asked_to_restore(from)?;
    }
    let terms = merge::Terms { own: &|writer| context.paths.is_own(writer), restore };
    let report = merge::merge(&into, &others, terms).map_err(|error| error.to_string())?;
    put(&report.text());
    let restored =
        |merged: &merge::Merged| matches!(merged, merge::Merged::New(_) | merge::Merged::Longer(_));
    if report.writers.iter().any(|(writer, merged)| context.paths.is_own(writer) && restored(merged)) {
        let folders: Vec<String> = from.iter().map(|folder| shown(folder)).collect();
        let text = format!("This machine's own log was taken over from {}.", folders.join(", "));
        keep(
            context,
            &id,
            vec![Entry::Remark {
                record: None,
                check: None,
                of: None,
                about: Some("log".to_owned()),
                text,
                by: None,
            }],
        )?;
    }
    Ok(if report.is_clean() { DONE } else { OPEN })
}

fn export_log(context: &Context, car: &str, format: ExportFormat) -> Outcome {
    let id = id_of(context, car)?;
    let record = record(context, &id)?;
    let problems: Vec<Problem> =
        record.folders.iter().flat_map(|(_, reading)| reading.problems.iter().cloned()).collect();
    put(&match format {
        ExportFormat::Csv => export::csv(record.history.all()),
        ExportFormat::Json => export::json(record.history.all(), &problems),
    });
    Ok(DONE)
}
