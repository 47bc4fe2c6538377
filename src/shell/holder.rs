//! Who has a car open: written beside the log by the session that holds its lock, and read by one that finds it held.

use std::fs;
use std::path::PathBuf;

use chrono::DateTime;

use crate::diagnostic::escape_control;
use crate::model::entry::Moment;

use super::clock;
use super::paths::{Paths, read_text, write_inside};

/// The note of a session that has a car open; it goes when the session lets the car go.
#[derive(Debug)]
pub(super) struct Holder {
    path: PathBuf,
    since: Moment,
}

/// The note stands in a file of its own: some systems let nobody read a file that is locked.
fn path(paths: &Paths, car: &str, writer: &str) -> PathBuf {
    paths.car(car).join(format!("{writer}.open"))
}

impl Holder {
    /// Says that this session has a car open. Only a message depends on it, so a failure is passed over.
    pub fn note(paths: &Paths, car: &str, writer: &str, by: Option<&str>) -> Self {
        let holder = Self { path: path(paths, car, writer), since: clock::now() };
        holder.write(paths, by);
        holder
    }

    /// Says who it is, where that was said later.
    pub fn write(&self, paths: &Paths, by: Option<&str>) {
        let mut table = toml::Table::new();
        table.insert("since".to_owned(), self.since.to_rfc3339().into());
        if let Some(by) = by {
            table.insert("by".to_owned(), by.into());
        }
        let _ = write_inside(&paths.data, &self.path, table.to_string().as_bytes());
    }
}

impl Drop for Holder {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.path);
    }
}

/// Why a car cannot be opened now: who has it, and since when.
pub(super) fn held(paths: &Paths, car: &str, writer: &str) -> String {
    let note = read_text(&path(paths, car, writer)).ok().and_then(|text| text.parse::<toml::Table>().ok());
    let word = |key: &str| note.as_ref()?.get(key)?.as_str();
    let who = word("by").map_or_else(|| "somebody who gave no name".to_owned(), escape_control);
    let since = word("since").and_then(|since| DateTime::parse_from_rfc3339(since).ok());
    let since = since.map_or_else(String::new, |since| {
        let form = if since.date_naive() == clock::today() { "%H:%M" } else { "%Y-%m-%d %H:%M" };
        format!(" since {}", since.format(form))
    });
    format!("this car is open in another window: {who} has it{since}. Go on there, or close it there first")
}
