//! Folders of data and settings, and writing whole files so that a reader finds the old one or the new one.

use std::fs;
use std::io::{self, Read, Write};
use std::path::{Component, Path, PathBuf};

use directories::ProjectDirs;

use super::disk::{link_target, open_file, replace_file};
use super::system::{path_from_text, path_to_text, same_file};
use crate::diagnostic::shown;

/// Where things are kept.
#[derive(Clone, Debug)]
pub struct Paths {
    /// Cars, logs, rule files of the user.
    pub data: PathBuf,
    /// Settings and this machine's writer id.
    pub config: PathBuf,
}

impl Paths {
    /// The folders of this user; `data` stands in for the data folder where it was given.
    ///
    /// # Errors
    /// Where the system names no home folder.
    pub fn find(data: Option<PathBuf>) -> Result<Self, String> {
        let dirs = ProjectDirs::from("", "", "linewalk");
        let home = || "this system names no home folder: give --data-dir and set HOME".to_owned();
        let dirs = dirs.ok_or_else(home)?;
        Ok(Self {
            data: data.unwrap_or_else(|| dirs.data_dir().to_owned()),
            config: dirs.config_dir().to_owned(),
        })
    }

    /// The folder of a car.
    pub fn car(&self, id: &str) -> PathBuf {
        self.data.join("cars").join(id)
    }

    /// Ids of every car with a folder, sorted.
    ///
    /// # Errors
    /// Where the folder is there but cannot be read.
    pub fn cars(&self) -> Result<Vec<String>, String> {
        let folder = self.data.join("cars");
        let entries = match fs::read_dir(&folder) {
            Ok(entries) => entries,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
            Err(error) => return Err(told("read", &folder, &error)),
        };
        let mut ids: Vec<String> = entries
            .filter_map(Result::ok)
            .filter(|entry| entry.path().is_dir())
            .filter_map(|entry| entry.file_name().into_string().ok())
            .filter(|id| crate::source::is_id(id))
            .collect();
        ids.sort();
        Ok(ids)
    }

    /// This machine's writer id, where it has one by now.
    pub fn known_writer(&self) -> Option<String> {
        let text = fs::read_to_string(self.config.join("writer")).ok()?;
        Some(text.trim().to_owned()).filter(|id| crate::source::is_id(id))
    }

    /// This machine's writer id, made once. Kept with the settings, so that a copied data folder cannot clone it.
    ///
    /// # Errors
    /// Where it can be neither read nor made.
    pub fn writer_id(&self) -> Result<String, String> {
        if let Some(id) = self.known_writer_id()? {
            return Ok(id);
        }
        fs::create_dir_all(&self.config).map_err(|error| told("make the folder", &self.config, &error))?;
        // Of several that start at once one makes it, and the others wait and read it.
        let lock = self.config.join("writer.lock");
        let held = fs::OpenOptions::new().read(true).write(true).create(true).truncate(false).open(&lock);
        let held = held.map_err(|error| told("make", &lock, &error))?;
        held.lock().map_err(|error| told("lock", &lock, &error))?;
        if let Some(id) = self.known_writer_id()? {
            return Ok(id);
        }
        let id = format!("w-{}", super::clock::fresh().simple());
        write_whole(&self.config.join("writer"), id.as_bytes())?;
        Ok(id)
    }

    /// This machine's writer id, where it was made already.
    fn known_writer_id(&self) -> Result<Option<String>, String> {
        let path = self.config.join("writer");
        match fs::read_to_string(&path) {
            Ok(text) if crate::source::is_id(text.trim()) => Ok(Some(text.trim().to_owned())),
            Ok(_) => Err(format!("{} holds no writer id: delete it to get a new one", shown(&path))),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(told("read", &path, &error)),
        }
    }

    /// Whether a log was written by this machine: under its writer id, or under one of those that it took where a log of
    /// its own was damaged.
    pub fn is_own(&self, writer: &str) -> bool {
        let Ok(Some(own)) = self.known_writer_id() else { return false };
        let rest = writer.strip_prefix(own.as_str());
        rest.is_some_and(|rest| {
            rest.is_empty()
                || rest.strip_prefix('-').is_some_and(|count| {
                    count.len() == 1 && count.bytes().all(|digit| (b'2'..=b'9').contains(&digit))
                })
        })
    }
}

/// How text begins that stands for a path which is no UTF-8.
const BYTES: &str = "bytes:";

/// A path as text that finds it again, by [`path_of`]: as it is where it is UTF-8, else with the bytes that are not as `%E9`.
pub fn text_of(path: &Path) -> String {
    match path.to_str() {
        Some(text) if !text.starts_with(BYTES) => text.to_owned(),
        _ => format!("{BYTES}{}", path_to_text(path)),
    }
}

/// The path that [`text_of`] gave a text for.
pub fn path_of(text: &str) -> PathBuf {
    text.strip_prefix(BYTES).map_or_else(|| PathBuf::from(text), path_from_text)
}

/// What went wrong with a file, with its path and what to do.
pub fn told(doing: &str, path: &Path, error: &io::Error) -> String {
    let remedy = match error.kind() {
        io::ErrorKind::NotFound => ": check the name",
        io::ErrorKind::PermissionDenied => ": check who may read and write it",
        io::ErrorKind::StorageFull => ": make room, nothing was lost",
        _ => "",
    };
    format!("cannot {doing} {}: {error}{remedy}", shown(path))
}

/// Largest file read whole: a car, rule or answers file is never near it.
const LARGEST: u64 = 1024 * 1024;

/// Reads a text file.
///
/// # Errors
/// Where it cannot be read, is no text, or is far too large to be one of ours.
pub fn read_text(path: &Path) -> Result<String, String> {
    let about = fs::metadata(path).map_err(|error| told("read", path, &error))?;
    if about.is_dir() {
        return Err(format!("{} is a folder: name a file in it", shown(path)));
    }
    let mut bytes = Vec::new();
    open_file(path)
        .and_then(|file| file.take(LARGEST + 1).read_to_end(&mut bytes))
        .map_err(|error| told("read", path, &error))?;
    if bytes.len() as u64 > LARGEST {
        return Err(format!("{} is larger than 1 MB: this is not a file of ours", shown(path)));
    }
    if is_utf_16(&bytes) {
        return Err(format!(
            "{} is saved as UTF-16: save it as plain text with the encoding UTF-8",
            shown(path)
        ));
    }
    String::from_utf8(bytes).map_err(|error| {
        let valid = error.utf8_error().valid_up_to();
        let before = String::from_utf8_lossy(error.as_bytes().get(..valid).unwrap_or_default()).into_owned();
        let (line, column) = end_of(&before);
        format!(
            "{}:{line}:{column}: the letter here is not in UTF-8 (it may be Latin-1 or Windows-1252): save the file as plain \
             text with the encoding UTF-8",
            shown(path)
        )
    })
}

/// Two bytes a letter: told by its mark, or by the zero beside the first letter.
fn is_utf_16(bytes: &[u8]) -> bool {
    matches!(bytes, [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..] | [0, _, ..] | [_, 0, ..])
}

/// Line and column just behind a text, from 1.
fn end_of(text: &str) -> (usize, usize) {
    let last = text.rsplit('\n').next().unwrap_or_default();
    (text.matches('\n').count() + 1, last.chars().count() + 1)
}

/// Writes a whole file: a new one beside it, synced, then put in its place.
///
/// # Errors
/// Where any of that fails; the old file is then as it was.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), String> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    fs::create_dir_all(folder).map_err(|error| told("make the folder", folder, &error))?;
    let target = path.file_name().map_or_else(|| path.to_owned(), |name| folder.join(name));
    replace_file(&target, bytes).map_err(|error| told("write", path, &error))
}

/// Writes a whole file of the data folder. Nothing is written through a symbolic link: it may lead out of it.
///
/// # Errors
/// Where a link stands in the way, or writing fails; the old file is then as it was.
pub fn write_inside(data: &Path, path: &Path, bytes: &[u8]) -> Result<(), String> {
    no_links(data, path)?;
    write_whole(path, bytes)
}

/// Whether any part of a path below the data folder is a symbolic link; the data folder itself may be one.
///
/// # Errors
/// Which part, and where it leads.
pub fn no_links(data: &Path, path: &Path) -> Result<(), String> {
    let mut at = data.to_owned();
    for part in path.strip_prefix(data).into_iter().flat_map(Path::components) {
        at.push(part);
        if let Some(to) = link_target(&at) {
            return Err(format!(
                "{} is a symbolic link to {}, and nothing is written through one: put the real file or folder there",
                shown(&at),
                shown(&to)
            ));
        }
    }
    Ok(())
}

/// Symbolic links in a folder, as sentences: what is read through them stands elsewhere.
pub fn links_in(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).into_iter().flatten().filter_map(Result::ok).map(|entry| entry.path());
    let mut links: Vec<String> = std::iter::once(folder.to_owned())
        .chain(entries)
        .filter_map(|path| Some((link_target(&path)?, path)))
        .map(|(to, path)| format!("{} is a symbolic link to {}", shown(&path), shown(&to)))
        .collect();
    links.sort();
    links
}

/// Refuses to write where one of these folders or files would be written over, by whatever name or link it is given.
///
/// # Errors
/// What would be written over.
pub fn not_over(path: &Path, folders: &[&Path], inputs: &[PathBuf]) -> Result<(), String> {
    let target = real(path);
    for folder in folders.iter().filter_map(|folder| fs::canonicalize(folder).ok()) {
        if target.starts_with(&folder) {
            return Err(format!(
                "{} is in {}, where records and settings are kept: name a file somewhere else",
                shown(path),
                shown(&folder)
            ));
        }
    }
    match inputs.iter().find(|input| same_file(&target, input)) {
        Some(input) => {
            Err(format!("{} is {}, which this is made from: name another file", shown(path), shown(input)))
        }
        None => Ok(()),
    }
}

/// Where a file is or will be, without links on the way.
fn real(path: &Path) -> PathBuf {
    let path = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    // Of folders that are not there yet nothing can be a link.
    let there = path.ancestors().find_map(|above| Some((fs::canonicalize(above).ok()?, above)));
    let Some((mut real, above)) = there else { return path };
    for part in path.strip_prefix(above).into_iter().flat_map(Path::components) {
        match part {
            Component::ParentDir => drop(real.pop()),
            part => real.push(part),
        }
    }
    real
}

/// Writes what a person asked for where they asked for it: a file in one step, through a link into the file it
/// leads to; a device or a pipe as it is.
///
/// # Errors
/// Where any of that fails; an old file is then as it was.
pub fn write_out(path: &Path, bytes: &[u8]) -> Result<(), String> {
    let Ok(about) = fs::metadata(path) else { return write_whole(path, bytes) };
    if about.is_dir() {
        return Err(format!("{} is a folder: name a file in it", shown(path)));
    }
    let wrote = if about.is_file() {
        fs::canonicalize(path).and_then(|file| replace_file(&file, bytes))
    } else {
        fs::OpenOptions::new().write(true).open(path).and_then(|mut device| device.write_all(bytes))
    };
    wrote.map_err(|error| told("write", path, &error))
}
