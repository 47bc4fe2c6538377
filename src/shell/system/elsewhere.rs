//! Files where there is no Unix: written for Windows, and never run there.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

/// An open file cannot be removed here.
pub fn still_there(_file: &File, _path: &Path) -> io::Result<()> {
    Ok(())
}

/// A folder cannot be synced here; renaming is safe by itself.
pub fn sync_folder(_folder: &Path) -> io::Result<()> {
    Ok(())
}

/// The path as it is shown: names are text here, but for halves of surrogate pairs.
pub fn path_to_text(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}

/// The path that [`path_to_text`] gave a text for.
pub fn path_from_text(text: &str) -> PathBuf {
    PathBuf::from(text)
}

/// Whether two paths are one file, by whatever names.
pub fn same_file(one: &Path, other: &Path) -> bool {
    fs::canonicalize(other).is_ok_and(|other| other == one)
}

/// Rights are lists here, and a person's own folder is closed to others.
pub fn open_to_others(_path: &Path) -> bool {
    false
}
