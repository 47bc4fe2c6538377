//! Changes of a car file on disk: checked whole, put in its place in one step, never over what somebody else wrote
//! meanwhile. Each edition is kept by its content and named in the record.

use std::fs;
use std::path::PathBuf;
use std::sync::Arc;

use crate::diagnostic::{SourceFile, many, shown};
use crate::logbook::hash::Hex;
use crate::logbook::storage::{Storage, Trouble};
use crate::model::edit::{Edit, edited};
use crate::model::entry::{Entry, Moment};
use crate::model::read_car;
use crate::model::values::{Changed, differences};
use crate::source::Overrides;
use crate::walk::Journal;

use super::disk::DiskStorage;
use super::identity;
use super::load;
use super::paths::{path_of, read_text, write_inside, write_whole};
use super::workspace::DiskWorkspace;

/// The lock that a program holds while it writes a car's file.
const LOCK: &str = "car.lock";
/// Of the changes of one edition, how many the record names.
const NAMED: usize = 40;

/// What a change of a car file came to.
#[derive(Clone, Debug)]
pub struct FileChange {
    /// The id the car is kept under.
    pub id: String,
    /// The file.
    pub path: PathBuf,
    /// The file as it was.
    pub was: Arc<SourceFile>,
    /// The file as it is from now on, or would be.
    pub file: Arc<SourceFile>,
    /// What differs by key path.
    pub changed: Vec<Changed>,
    /// The edition before.
    pub before: String,
    /// The edition from now on.
    pub after: String,
}

/// One edition of a car file.
#[derive(Clone, Debug)]
pub struct Edition {
    /// Its content's hash, as far as it names the edition.
    pub sha: String,
    /// When it was last named in the record.
    pub at: Option<Moment>,
    /// Who by.
    pub by: Option<String>,
    /// Its text.
    pub file: Arc<SourceFile>,
}

/// The hash of a text as far as it names an edition.
pub fn edition_of(text: &str) -> String {
    Hex::of(text.as_bytes()).text().get(..8).unwrap_or_default().to_owned()
}

impl DiskWorkspace {
    /// A car's file as it stands, with the id the car is kept under.
    ///
    /// # Errors
    /// Where there is none, or it names no car.
    pub fn file_of(&self, car: &str) -> Result<(String, Arc<SourceFile>, Option<PathBuf>), String> {
        let (file, elsewhere) = load::car_file(&self.paths, &self.in_use(car))?;
        let read = read_car(&file, &Overrides::new());
        if read.car.id.is_empty() {
            return Err(load::rendered(&read.diagnostics));
        }
        Ok((identity::goes_on_under(&self.paths, &read.car.id), file, elsewhere))
    }

    /// What some edits would change, and nothing is written.
    ///
    /// # Errors
    /// What is wrong with them.
    pub fn would_change(&self, car: &str, edits: &[Edit]) -> Result<FileChange, String> {
        let (id, file, elsewhere) = self.file_of(car)?;
        self.not_of_answers(&id, edits)?;
        let text = edited(&file, edits)?;
        Ok(self.change_to(id, &file, elsewhere, text))
    }

    fn change_to(
        &self,
        id: String,
        file: &Arc<SourceFile>,
        elsewhere: Option<PathBuf>,
        text: String,
    ) -> FileChange {
        let after = SourceFile::new(file.name.clone(), text);
        FileChange {
            path: elsewhere.unwrap_or_else(|| self.paths.car(&id).join("car.toml")),
            changed: differences(file, &after),
            before: edition_of(&file.text),
            after: edition_of(&after.text),
            was: Arc::clone(file),
            file: after,
            id,
        }
    }

    /// An id that answers speak of is not renamed: they would be of no part any more.
    fn not_of_answers(&self, id: &str, edits: &[Edit]) -> Result<(), String> {
        for edit in edits {
            let Edit::Rename { id: part, .. } = edit else { continue };
            let (history, _) = self.history(id)?;
            let about = |entry: &Entry| matches!(entry, Entry::Finding(finding) if finding.of.as_deref() == Some(part.as_str()));
            let count = history.standing_entries().filter(|kept| about(&kept.entry)).count();
            if count > 0 {
                return Err(format!(
                    "{count} answers in the record are about {part}: under another id they would be of no part. Keep the id, \
                     or add a part with the new id and take the old one out"
                ));
            }
        }
        Ok(())
    }

    /// Makes some edits in a car's file, all or none.
    ///
    /// # Errors
    /// What is wrong with them or stands in the way; then nothing was written.
    pub fn change(&mut self, car: &str, edits: &[Edit]) -> Result<FileChange, String> {
        let change = self.would_change(car, edits)?;
        self.put_edition(car, change)
    }

    /// Puts another edition in the place of a car's file.
    ///
    /// # Errors
    /// That there is no such edition, or what stands in the way; then nothing was written.
    pub fn restore(&mut self, car: &str, sha: &str, dry: bool) -> Result<FileChange, String> {
        let (id, file, elsewhere) = self.file_of(car)?;
        let edition = self.edition(car, sha)?;
        let read = read_car(&edition.file, &Overrides::new());
        if crate::diagnostic::any_error(&read.diagnostics) {
            return Err(load::rendered(&read.diagnostics));
        }
        let change = self.change_to(id, &file, elsewhere, edition.file.text.to_string());
        if dry { Ok(change) } else { self.put_edition(car, change) }
    }

    fn put_edition(&mut self, car: &str, change: FileChange) -> Result<FileChange, String> {
        let before = Arc::clone(&change.was);
        if change.file.text == before.text {
            return Ok(change);
        }
        let by_path = path_of(car).is_file();
        let own = self.paths.car(&change.id).join("car.toml");
        let real = |path: &PathBuf| fs::canonicalize(path).ok();
        let inside = own == change.path || real(&own).is_some_and(|own| real(&change.path) == Some(own));
        if !inside && !by_path {
            let path = shown(&change.path);
            return Err(format!(
                "the file of car {} is {path}, outside the data folder: `linewalk car adopt {path}` brings it in, or give its \
                 path instead of {car} to change it there",
                change.id
            ));
        }
        self.open_log(&change.id)?;
        let storage = DiskStorage::create(self.paths.car(&change.id)).map_err(|error| error.to_string())?;
        let _lock = storage.lock(LOCK).map_err(|error| match error.trouble {
            Trouble::Held => format!("another program is writing the file of car {}: try again", change.id),
            _ => error.to_string(),
        })?;
        if read_text(&change.path)? != before.text {
            return Err(format!(
                "{} was changed by somebody else just now: nothing was written; look at it, and give the command again",
                shown(&change.path)
            ));
        }
        self.keep_edition(&change.id, &before.text)?;
        self.keep_edition(&change.id, &change.file.text)?;
        if inside {
            write_inside(&self.paths.data, &change.path, change.file.text.as_bytes())?;
        } else {
            write_whole(&change.path, change.file.text.as_bytes())?;
            self.remember_file(&change)?;
        }
        self.name_edition(&change)?;
        self.settle()?;
        Ok(change)
    }

    /// The id alone finds a file outside of the data folder again.
    fn remember_file(&self, change: &FileChange) -> Result<(), String> {
        let read = read_car(&change.file, &Overrides::new());
        let elsewhere = Some(change.path.clone());
        let found = load::FoundCar { file: Arc::clone(&change.file), read, elsewhere };
        load::remember(&self.paths, &change.id, &found)
    }

    /// The record names the edition and what is different in it.
    fn name_edition(&mut self, change: &FileChange) -> Result<(), String> {
        let count = change.changed.len();
        let mut words: Vec<String> = change.changed.iter().take(NAMED).map(Changed::words).collect();
        if count > NAMED {
            words.push(format!("and {} more", count - NAMED));
        }
        let text = format!(
            "edition sha256 {}, before {}; {}: {}",
            change.file.sha256(),
            change.was.sha256(),
            many(count, "value"),
            words.join("; ")
        );
        self.remark_on_file(text)
    }

    /// Writes down what became of the car's file.
    pub(super) fn remark_on_file(&mut self, text: String) -> Result<(), String> {
        let (about, by) = (Some("car-file".to_owned()), self.choices.by.clone());
        self.write_down(Entry::Remark { record: None, about, check: None, of: None, text, by })
    }

    /// An id for a new car of a number.
    ///
    /// # Errors
    /// Where none can be made of it.
    pub fn id_for(&self, number: &str) -> Result<String, String> {
        let id = format!("car-{}", number.to_lowercase().replace(' ', "-"));
        if crate::source::is_id(&id) {
            Ok(id)
        } else {
            Err(format!("{number} makes no id: give one with --id"))
        }
    }

    /// Begins a car with a file.
    ///
    /// # Errors
    /// That its id or number is taken, what is wrong with the file, or what stands in the way.
    pub fn begin_car(&mut self, id: &str, number: &str, text: &str, layout: &str) -> Result<PathBuf, String> {
        if !crate::source::is_id(id) {
            return Err(format!("{id} cannot be an id: letters, digits and hyphens"));
        }
        let folder = self.paths.car(id);
        if folder.exists() {
            return Err(format!("there is a car {id} already: give another id with --id"));
        }
        if let Some(other) = identity::of_the_same_number(&self.paths, id, number)?.first() {
            return Err(format!(
                "car {other} has the number {number} already: `linewalk car set {other} KEY=VALUE` goes on with it"
            ));
        }
        let path = folder.join("car.toml");
        let read = read_car(&SourceFile::new(shown(&path), text), &Overrides::new());
        if crate::diagnostic::any_error(&read.diagnostics) {
            return Err(load::rendered(&read.diagnostics));
        }
        self.open_log(id)?;
        self.keep_edition(id, text)?;
        write_inside(&self.paths.data, &path, text.as_bytes())?;
        let sha = Hex::of(text.as_bytes());
        self.remark_on_file(format!("edition sha256 {sha}, begun from the starting layout {layout}"))?;
        self.settle()?;
        Ok(path)
    }

    /// The editions that are kept of a car's file, oldest first, as the record names them.
    ///
    /// # Errors
    /// Where the car or its record cannot be read.
    pub fn editions(&self, car: &str) -> Result<Vec<Edition>, String> {
        let (id, file, _) = self.file_of(car)?;
        let folder = self.paths.car(&id).join("editions");
        let mut found: Vec<Edition> = Vec::new();
        let entries = fs::read_dir(&folder).into_iter().flatten().filter_map(Result::ok);
        for path in
            entries.map(|entry| entry.path()).filter(|path| path.extension().is_some_and(|e| e == "toml"))
        {
            let text = read_text(&path)?;
            let sha = edition_of(&text);
            found.push(Edition { sha, at: None, by: None, file: SourceFile::new(shown(&path), text) });
        }
        let now = edition_of(&file.text);
        if found.iter().all(|edition| edition.sha != now) {
            found.push(Edition { sha: now, at: None, by: None, file });
        }
        let (history, _) = self.history(&id)?;
        for kept in history.standing_entries() {
            let Entry::Remark { about, text, by, .. } = &kept.entry else { continue };
            if about.as_deref() != Some("car-file") {
                continue;
            }
            let named = text.split("sha256 ").nth(1).and_then(|rest| rest.get(..8));
            for edition in found.iter_mut().filter(|edition| Some(edition.sha.as_str()) == named) {
                (edition.at, edition.by) = (Some(kept.at), by.clone());
            }
        }
        found.sort_by(|one, other| (one.at, &one.sha).cmp(&(other.at, &other.sha)));
        Ok(found)
    }

    /// One edition by the beginning of its hash.
    ///
    /// # Errors
    /// That there is none, or several.
    pub fn edition(&self, car: &str, sha: &str) -> Result<Edition, String> {
        let all = self.editions(car)?;
        let fits = |edition: &&Edition| !sha.is_empty() && edition.sha.starts_with(&sha.to_lowercase());
        match all.iter().filter(fits).collect::<Vec<_>>().as_slice() {
            [one] => Ok((*one).clone()),
            [] => {
                let known: Vec<&str> = all.iter().map(|edition| edition.sha.as_str()).collect();
                Err(format!("there is no edition {sha}: known are {}", known.join(", ")))
            }
            _ => Err(format!("several editions begin with {sha}: give more of it")),
        }
    }
}
