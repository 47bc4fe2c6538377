//! Says whether the logs of a car are as they were written.

use std::fmt::Write;

use crate::escape::many;
use crate::logbook::about::{self, About};
use crate::logbook::problem::{Fault, Problem};
use crate::logbook::reader::{Folder, read_car, scan_as_reader};
use crate::logbook::storage::{Storage, StorageError};

/// What verifying found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Verdict {
    /// Each writer and how many of its records can be read.
    pub writers: Vec<(String, u64)>,
    /// Everything that is wrong.
    pub problems: Vec<Problem>,
    /// What is worth saying though nothing is wrong.
    pub notes: Vec<Problem>,
}

/// Goes through every log of the folder, and through what their records say of the car and its photos.
///
/// # Errors
/// Only when the storage fails; damage is part of the verdict.
pub fn verify_about(storage: &dyn Storage, about: &About<'_>) -> Result<Verdict, StorageError> {
    let mut verdict = verify(storage)?;
    let all = about::problems(storage, &read_car(storage)?, about)?;
    (verdict.notes, verdict.problems) = all.into_iter().partition(|problem| problem.fault.is_note());
    Ok(verdict)
}

/// Goes through every log of the folder.
///
/// # Errors
/// Only when the storage fails; damage is part of the verdict.
pub fn verify(storage: &dyn Storage) -> Result<Verdict, StorageError> {
    let folder = Folder::list(storage)?;
    let mut verdict = Verdict::default();
    let mut all = Vec::new();
    for writer in &folder.writers {
        let (found, _) = scan_as_reader(storage, writer, false)?;
        verdict.writers.push((writer.clone(), found.records));
        all.extend(found.problems);
    }
    all.extend(folder.problems());
    (verdict.notes, verdict.problems) = all.into_iter().partition(|problem| problem.fault.is_note());
    Ok(verdict)
}

impl Verdict {
    /// Whether nothing is wrong.
    pub fn holds(&self) -> bool {
        self.problems.is_empty()
    }

    /// The verdict for a person.
    pub fn text(&self) -> String {
        let mut text = String::new();
        let records: u64 = self.writers.iter().map(|(_, records)| records).sum();
        for problem in &self.problems {
            let word =
                if matches!(problem.fault, Fault::Unconfirmed { .. }) { "UNCONFIRMED " } else { "WRONG  " };
            let _ = writeln!(text, "{word}{problem}");
        }
        for note in &self.notes {
            let _ = writeln!(text, "note   {note}");
        }
        for (writer, records) in &self.writers {
            let _ = writeln!(text, "read   {writer}: {}", many(*records, "record"));
        }
        let what = format!("{} in {}", many(records, "record"), many(self.writers.len(), "log"));
        let _ = if self.holds() {
            writeln!(text, "The log verifies: {what}, each as it was written.")
        } else {
            let problems = u64::try_from(self.problems.len()).unwrap_or(u64::MAX);
            writeln!(
                text,
                "The log DOES NOT verify: {}; {what} can still be read.",
                many(problems, "problem")
            )
        };
        text.push_str(
            "Verifying finds any record that was changed, is missing or is torn, unless the log and its head \
             were both rewritten to fit each other, or both removed.\n",
        );
        text
    }
}
