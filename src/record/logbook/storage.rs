//! What the log asks of a disk, for the folder of one car.

use std::any::Any;
use std::fmt;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use crate::escape::shown;

/// The largest file that is ever held in memory whole: over a million records.
pub const LARGEST: u64 = 1 << 30;

/// The folder of one car. Names are plain file names inside it.
///
/// The log relies on this and no more: bytes are safe once [`Storage::sync`] has returned; what `replace`,
/// `create` and `remove` did is safe once they have returned. Before that, `replace` shows the old or the new
/// content, and `create` may have left a part of the file.
pub trait Storage {
    /// The full path of a file, for messages.
    fn path_of(&self, name: &str) -> PathBuf;

    /// The names of the files in the folder, sorted.
    ///
    /// # Errors
    /// When the folder cannot be read.
    fn list(&self) -> Result<Vec<String>, StorageError>;

    /// Opens a file to read it through; `None` when there is none.
    ///
    /// # Errors
    /// When it is there and cannot be opened.
    fn open(&self, name: &str) -> Result<Option<Box<dyn Read>>, StorageError>;

    /// Adds bytes at the end of a file in one write, making the file if need be. Not safe before `sync`.
    ///
    /// # Errors
    /// When not all of them could be written; some may have been.
    fn append(&self, name: &str, bytes: &[u8]) -> Result<(), StorageError>;

    /// Returns when everything appended to the file is safe.
    ///
    /// # Errors
    /// When the disk does not confirm it; then nothing is known of the bytes since the last `sync`.
    fn sync(&self, name: &str) -> Result<(), StorageError>;

    /// Puts a whole new content in a file's place: the old or the new is there at any moment, never a mixture.
    ///
    /// # Errors
    /// When it could not be done, or could not be confirmed.
    fn replace(&self, name: &str, bytes: &[u8]) -> Result<(), StorageError>;

    /// Puts whole new contents in the places of several files, each as [`Storage::replace`] does.
    ///
    /// # Errors
    /// When one of them could not be done, or could not be confirmed; others may have been.
    fn replace_all(&self, files: &[(String, Vec<u8>)]) -> Result<(), StorageError> {
        files.iter().try_for_each(|(name, bytes)| self.replace(name, bytes))
    }

    /// Writes a new file that must not be there yet.
    ///
    /// # Errors
    /// When it is there already, or could not be written or confirmed.
    fn create(&self, name: &str, bytes: &[u8]) -> Result<(), StorageError>;

    /// Removes a file; one that is not there is no error.
    ///
    /// # Errors
    /// When it could not be removed or the removal not confirmed.
    fn remove(&self, name: &str) -> Result<(), StorageError>;

    /// Takes the lock kept in this file, until the value is dropped. Does not wait.
    ///
    /// # Errors
    /// [`Trouble::Held`] when another program has it.
    fn lock(&self, name: &str) -> Result<Lock, StorageError>;

    /// How large a file is; `None` when there is none. What is no file is refused.
    ///
    /// # Errors
    /// When it is there and cannot be looked at.
    fn size(&self, name: &str) -> Result<Option<u64>, StorageError>;

    /// Whether another program holds the lock kept in this file. Makes no file.
    fn is_locked(&self, name: &str) -> bool;

    /// Reads a whole file; `None` when there is none.
    ///
    /// # Errors
    /// When it is there and cannot be read, or is larger than [`LARGEST`].
    fn read(&self, name: &str) -> Result<Option<Vec<u8>>, StorageError> {
        let bytes = self.read_at_most(name, LARGEST + 1)?;
        if bytes.as_ref().is_some_and(|bytes| bytes.len() as u64 > LARGEST) {
            let error = io::Error::other("it is larger than 1 GiB, and no log of ours is");
            return Err(StorageError::new(Doing::Read, &self.path_of(name), &error));
        }
        Ok(bytes)
    }

    /// Reads a file, but no more than `most` bytes of it; `None` when there is none.
    ///
    /// # Errors
    /// When it is there and cannot be read.
    fn read_at_most(&self, name: &str, most: u64) -> Result<Option<Vec<u8>>, StorageError> {
        let Some(file) = self.open(name)? else { return Ok(None) };
        let mut bytes = Vec::new();
        file.take(most)
            .read_to_end(&mut bytes)
            .map_err(|error| StorageError::new(Doing::Read, &self.path_of(name), &error))?;
        Ok(Some(bytes))
    }
}

/// A lock that is held as long as this lives.
pub struct Lock(Box<dyn Any>);

impl Lock {
    /// Wraps whatever lets the lock go when it is dropped.
    pub fn new(guard: impl Any) -> Self {
        Self(Box::new(guard))
    }
}

impl fmt::Debug for Lock {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "Lock({:?})", (*self.0).type_id())
    }
}

/// What was being done when it went wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doing {
    /// Listing the folder.
    List,
    /// Making the folder.
    MakeFolder,
    /// Reading.
    Read,
    /// Adding at the end.
    Append,
    /// Waiting for the disk to confirm.
    Sync,
    /// Putting a new content in place.
    Replace,
    /// Writing a new file.
    Create,
    /// Removing.
    Remove,
    /// Taking the lock.
    Lock,
}

impl Doing {
    fn words(self) -> &'static str {
        match self {
            Self::List => "cannot list the folder",
            Self::MakeFolder => "cannot make the folder",
            Self::Read => "cannot read",
            Self::Append => "cannot add to",
            Self::Sync => "the disk does not confirm what was written to",
            Self::Replace => "cannot replace",
            Self::Create => "cannot make the file",
            Self::Remove => "cannot remove",
            Self::Lock => "cannot lock",
        }
    }
}

/// What kind of trouble it is, as far as a program may want to react.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// Another program holds the lock.
    Held,
    /// Anything the system said.
    System(io::ErrorKind),
}

/// An error of the storage: what was done, to which file, what the system says, what to do about it.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{} {}: {reason}; {}", .doing.words(), shown(.path), .trouble.remedy())]
pub struct StorageError {
    /// What was being done.
    pub doing: Doing,
    /// The file or folder.
    pub path: PathBuf,
    /// The kind of trouble.
    pub trouble: Trouble,
    /// What the system said.
    pub reason: String,
}

impl StorageError {
    /// An error that the system gave.
    pub fn new(doing: Doing, path: &Path, error: &io::Error) -> Self {
        Self {
            doing,
            path: path.to_owned(),
            trouble: Trouble::System(error.kind()),
            reason: error.to_string(),
        }
    }

    /// The lock is held elsewhere.
    pub fn held(path: &Path) -> Self {
        let reason = "another program has this log open".to_owned();
        Self { doing: Doing::Lock, path: path.to_owned(), trouble: Trouble::Held, reason }
    }
}

impl Trouble {
    /// What a person can do about it.
    pub fn remedy(self) -> &'static str {
        use io::ErrorKind as Kind;
        match self {
            Trouble::Held => "close the other program, or wait until it ends",
            Trouble::System(Kind::PermissionDenied) => "give yourself the right to read and write there",
            Trouble::System(Kind::StorageFull | Kind::QuotaExceeded) => {
                "free some space, then open the car again"
            }
            Trouble::System(Kind::ReadOnlyFilesystem) => "choose a data folder that can be written to",
            Trouble::System(Kind::NotFound) => "check that the folder is there and its disk is connected",
            Trouble::System(Kind::AlreadyExists) => "move the file that is in the way",
            Trouble::System(Kind::Unsupported) => "keep the data folder on a disk of this computer",
            Trouble::System(_) => "check the disk, then open the car again",
        }
    }
}
