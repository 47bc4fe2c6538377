//! The car folder on a real disk.

use std::cell::RefCell;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::diagnostic::shown;
use crate::logbook::names;
use crate::logbook::storage::{Doing, Lock, Storage, StorageError};

use super::system::{still_there, sync_folder};

/// Files that are made safe at once.
const AT_ONCE: usize = 16;

/// A folder on disk, as the log wants it.
#[derive(Debug)]
pub struct DiskStorage {
    folder: PathBuf,
    /// The file last appended to, kept open: an error while the system writes it back is told to those who
    /// had it open.
    appending: RefCell<Option<Appending>>,
    /// Whether it is somebody else's folder: nothing is read through a link, which may lead to any file of this machine.
    foreign: bool,
}

#[derive(Debug)]
struct Appending {
    name: String,
    file: File,
    /// Its name is not yet safe in the folder.
    new: bool,
}

impl DiskStorage {
    /// The folder as it is; it need not be there until something is read.
    pub fn at(folder: impl Into<PathBuf>) -> Self {
        Self { folder: folder.into(), appending: RefCell::new(None), foreign: false }
    }

    /// The folder of somebody else, to be read only: what is a link in it is refused.
    pub fn foreign(folder: impl Into<PathBuf>) -> Self {
        Self { foreign: true, ..Self::at(folder) }
    }

    /// The folder, made if it is not there.
    ///
    /// # Errors
    /// When it cannot be made.
    pub fn create(folder: impl Into<PathBuf>) -> Result<Self, StorageError> {
        let folder = folder.into();
        no_link(&folder).map_err(|error| StorageError::new(Doing::MakeFolder, &folder, &error))?;
        fs::create_dir_all(&folder).map_err(|error| StorageError::new(Doing::MakeFolder, &folder, &error))?;
        Ok(Self::at(folder))
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    fn fails<T>(&self, doing: Doing, name: &str, outcome: io::Result<T>) -> Result<T, StorageError> {
        outcome.map_err(|error| StorageError::new(doing, &self.path_of(name), &error))
    }

    /// Forgets the open file when another one takes its name.
    fn let_go(&self, name: &str) {
        let mut appending = self.appending.borrow_mut();
        if appending.as_ref().is_some_and(|open| open.name == name) {
            *appending = None;
        }
    }

    fn append_to(&self, name: &str, bytes: &[u8]) -> io::Result<()> {
        let mut appending = self.appending.borrow_mut();
        if appending.as_ref().is_none_or(|open| open.name != name) {
            let path = self.path_of(name);
            no_link(&path)?;
            let new = !path.try_exists()?;
            // Reading too: a handle that may only append cannot be locked or measured everywhere.
            let file = OpenOptions::new().read(true).append(true).create(true).open(path)?;
            *appending = Some(Appending { name: name.to_owned(), file, new });
        }
        match appending.as_mut() {
            Some(open) => open.file.write_all(bytes),
            None => Ok(()),
        }
    }

    fn sync_appended(&self, name: &str) -> io::Result<()> {
        let mut appending = self.appending.borrow_mut();
        match appending.as_mut().filter(|open| open.name == name) {
            Some(open) => {
                open.file.sync_data()?;
                still_there(&open.file, &self.path_of(name))?;
                if open.new {
                    sync_folder(&self.folder)?;
                    open.new = false;
                }
                Ok(())
            }
            None => {
                // Not appended to by us since it was opened: nothing of ours is waiting.
                File::open(self.path_of(name))?.sync_data()?;
                sync_folder(&self.folder)
            }
        }
    }
}

impl Storage for DiskStorage {
    fn path_of(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }

    fn list(&self) -> Result<Vec<String>, StorageError> {
        let failed = |error: io::Error| StorageError::new(Doing::List, &self.folder, &error);
        let mut names = Vec::new();
        for entry in fs::read_dir(&self.folder).map_err(failed)? {
            names.push(entry.map_err(failed)?.file_name().to_string_lossy().into_owned());
        }
        names.sort_unstable();
        Ok(names)
    }

    fn open(&self, name: &str) -> Result<Option<Box<dyn Read>>, StorageError> {
        let path = self.path_of(name);
        if self.foreign
            && let Some(to) = link_target(&path)
        {
            let error =
                io::Error::other(format!("it is a symbolic link to {}: copy the file itself", shown(&to)));
            return self.fails(Doing::Read, name, Err(error));
        }
        match open_file(&path) {
            Ok(file) => Ok(Some(Box::new(file))),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => self.fails(Doing::Read, name, Err(error)),
        }
    }

    fn append(&self, name: &str, bytes: &[u8]) -> Result<(), StorageError> {
        let outcome = self.append_to(name, bytes);
        self.fails(Doing::Append, name, outcome)
    }

    fn sync(&self, name: &str) -> Result<(), StorageError> {
        let outcome = self.sync_appended(name);
        self.fails(Doing::Sync, name, outcome)
    }

    fn replace(&self, name: &str, bytes: &[u8]) -> Result<(), StorageError> {
        self.let_go(name);
        self.fails(Doing::Replace, name, replace_file(&self.path_of(name), bytes))
    }

    /// A disk confirms many files that wait together in the time of a few.
    fn replace_all(&self, files: &[(String, Vec<u8>)]) -> Result<(), StorageError> {
        files.iter().for_each(|(name, _)| self.let_go(name));
        let folder = self.folder.as_path();
        let put = |part: &[(String, Vec<u8>)]| {
            let mut failed = Vec::new();
            for (name, bytes) in part {
                if let Err(error) = put_in_place(&folder.join(name), bytes) {
                    failed.push((name.clone(), error));
                }
            }
            failed
        };
        let share = files.len().div_ceil(AT_ONCE).max(1);
        let failed = std::thread::scope(|scope| {
            let parts: Vec<_> =
                files.chunks(share).map(|part| (part, scope.spawn(move || put(part)))).collect();
            // A thread that could not finish leaves its files to this one.
            parts.into_iter().flat_map(|(part, thread)| thread.join().unwrap_or_else(|_| put(part))).next()
        });
        match failed {
            Some((name, error)) => self.fails(Doing::Replace, &name, Err(error)),
            None => self.fails(Doing::Replace, "", sync_folder(folder)),
        }
    }

    fn create(&self, name: &str, bytes: &[u8]) -> Result<(), StorageError> {
        let outcome = create_file(&self.path_of(name), bytes).and_then(|()| sync_folder(&self.folder));
        self.fails(Doing::Create, name, outcome)
    }

    fn remove(&self, name: &str) -> Result<(), StorageError> {
        self.let_go(name);
        match fs::remove_file(self.path_of(name)) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
            outcome => self.fails(Doing::Remove, name, outcome.and_then(|()| sync_folder(&self.folder))),
        }
    }

    fn lock(&self, name: &str) -> Result<Lock, StorageError> {
        let path = self.path_of(name);
        self.fails(Doing::Lock, name, no_link(&path))?;
        let open = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(&path);
        let file = self.fails(Doing::Lock, name, open)?;
        // The lock goes with the handle. The file stays: removing it could take it from somebody who has
        // just locked it.
        // Who only looks whether it is held has it for a moment.
        for _ in 0..5 {
            match file.try_lock() {
                Ok(()) => return Ok(Lock::new(file)),
                Err(TryLockError::WouldBlock) => std::thread::sleep(Duration::from_millis(5)),
                Err(TryLockError::Error(error)) => return self.fails(Doing::Lock, name, Err(error)),
            }
        }
        Err(StorageError::held(&path))
    }

    fn size(&self, name: &str) -> Result<Option<u64>, StorageError> {
        match fs::symlink_metadata(self.path_of(name)) {
            Ok(about) if about.is_file() => Ok(Some(about.len())),
            Ok(about) if about.is_symlink() && !self.foreign => {
                self.read(name).map(|bytes| bytes.map(|bytes| bytes.len() as u64))
            }
            Ok(about) => {
                let what = if about.is_symlink() {
                    "it is a symbolic link: copy the file itself"
                } else {
                    "this is not a file"
                };
                self.fails(Doing::Read, name, Err(io::Error::other(what)))
            }
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => self.fails(Doing::Read, name, Err(error)),
        }
    }

    fn is_locked(&self, name: &str) -> bool {
        let Ok(file) = File::open(self.path_of(name)) else { return false };
        matches!(file.try_lock_shared(), Err(TryLockError::WouldBlock))
    }
}

/// Opens a file to read it. What is no file, a device or a pipe, is refused: reading it may never end.
///
/// # Errors
/// What the system says, or that it is no file.
pub fn open_file(path: &Path) -> io::Result<File> {
    if fs::metadata(path)?.is_file() { File::open(path) } else { Err(io::Error::other("this is not a file")) }
}

/// Refuses to write through a symbolic link, which may lead anywhere.
///
/// # Errors
/// That it is one, and where it leads.
pub fn no_link(path: &Path) -> io::Result<()> {
    match link_target(path) {
        Some(to) => Err(io::Error::other(format!(
            "it is a symbolic link to {}, and nothing is written through one: put the real thing there",
            shown(&to)
        ))),
        None => Ok(()),
    }
}

/// Where a symbolic link leads; `None` for anything else.
pub fn link_target(path: &Path) -> Option<PathBuf> {
    let link = fs::symlink_metadata(path).is_ok_and(|about| about.is_symlink());
    link.then(|| fs::read_link(path).unwrap_or_default())
}

/// Puts a new content in a file's place, so that a crash leaves the old one or the new one: a new file is
/// written beside it under a name nobody can foresee, given the old one's permissions, synced, renamed over it,
/// and the folder synced.
///
/// # Errors
/// What the system says; the old content is then still there, unless the very last step failed.
pub fn replace_file(path: &Path, bytes: &[u8]) -> io::Result<()> {
    put_in_place(path, bytes)?;
    path.parent().map_or(Ok(()), sync_folder)
}

/// The same without the last step: the new name is not safe yet.
fn put_in_place(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let name = path.file_name().ok_or(io::ErrorKind::InvalidInput)?.to_string_lossy();
    let mark = super::clock::fresh().simple().to_string();
    let beside = path.with_file_name(names::beside(&name, &mark));
    let before = fs::symlink_metadata(path).ok().filter(fs::Metadata::is_file);
    let written = create_file(&beside, bytes)
        .and_then(|()| before.map_or(Ok(()), |before| fs::set_permissions(&beside, before.permissions())))
        .and_then(|()| fs::rename(&beside, path));
    if let Err(error) = written {
        // The first error is the one to tell.
        let _ = fs::remove_file(&beside);
        return Err(error);
    }
    Ok(())
}

/// Writes a new file that must not be there yet, through no link.
fn create_file(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}
