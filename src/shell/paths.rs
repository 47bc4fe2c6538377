//! Folders of data and settings, and writing whole files so that a reader finds the old one or the new one.

use std::fs;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use directories::ProjectDirs;

use super::disk::{link_target, open_file, replace_file};

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

    /// This machine's writer id, made once. Kept with the settings, so that a copied data folder cannot clone it.
    ///
    /// # Errors
    /// Where it can be neither read nor made.
    pub fn writer_id(&self) -> Result<String, String> {
        let path = self.config.join("writer");
        match fs::read_to_string(&path) {
            Ok(text) if crate::source::is_id(text.trim()) => return Ok(text.trim().to_owned()),
            Ok(_) => {
                return Err(format!("{} holds no writer id: delete it to get a new one", path.display()));
            }
            Err(error) if error.kind() == io::ErrorKind::NotFound => {}
            Err(error) => return Err(told("read", &path, &error)),
        }
        let id = format!("w-{}", uuid::Uuid::now_v7().simple());
        write_whole(&path, id.as_bytes())?;
        Ok(id)
    }
}

/// What went wrong with a file, with its path and what to do.
pub fn told(doing: &str, path: &Path, error: &io::Error) -> String {
    let remedy = match error.kind() {
        io::ErrorKind::NotFound => ": check the name",
        io::ErrorKind::PermissionDenied => ": check who may read and write it",
        io::ErrorKind::StorageFull => ": make room, nothing was lost",
        _ => "",
    };
    format!("cannot {doing} {}: {error}{remedy}", path.display())
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
        return Err(format!("{} is a folder: name a file in it", path.display()));
    }
    let mut bytes = Vec::new();
    open_file(path)
        .and_then(|file| file.take(LARGEST + 1).read_to_end(&mut bytes))
        .map_err(|error| told("read", path, &error))?;
    if bytes.len() as u64 > LARGEST {
        return Err(format!("{} is larger than 1 MB: this is not a file of ours", path.display()));
    }
    String::from_utf8(bytes).map_err(|_| {
        format!("{} is not a text in UTF-8: save it as plain text with the encoding UTF-8", path.display())
    })
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
                at.display(),
                to.display()
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
        .map(|(to, path)| format!("{} is a symbolic link to {}", path.display(), to.display()))
        .collect();
    links.sort();
    links
}

/// Writes what a person asked for where they asked for it: a file in one step, through a link into the file it
/// leads to; a device or a pipe as it is.
///
/// # Errors
/// Where any of that fails; an old file is then as it was.
pub fn write_out(path: &Path, bytes: &[u8]) -> Result<(), String> {
    let Ok(about) = fs::metadata(path) else { return write_whole(path, bytes) };
    if about.is_dir() {
        return Err(format!("{} is a folder: name a file in it", path.display()));
    }
    let wrote = if about.is_file() {
        fs::canonicalize(path).and_then(|file| replace_file(&file, bytes))
    } else {
        fs::OpenOptions::new().write(true).open(path).and_then(|mut device| device.write_all(bytes))
    };
    wrote.map_err(|error| told("write", path, &error))
}
