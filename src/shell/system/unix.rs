//! Files on Unix: Linux and macOS.

use std::ffi::OsString;
use std::fs::{self, File};
use std::io;
use std::os::unix::ffi::{OsStrExt, OsStringExt};
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::path::{Path, PathBuf};

/// A file that was removed, or replaced by another, can still be written to by whoever has it open; what is
/// written then is gone with it.
pub fn still_there(file: &File, path: &Path) -> io::Result<()> {
    let (open, named) = (file.metadata()?, fs::symlink_metadata(path)?);
    if (open.dev(), open.ino()) == (named.dev(), named.ino()) {
        return Ok(());
    }
    Err(io::Error::other("another file took its place while it was open"))
}

/// Makes the names in a folder safe. Some file systems cannot do it for a folder and say so; they are taken
/// to have done it.
pub fn sync_folder(folder: &Path) -> io::Result<()> {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    match File::open(folder)?.sync_all() {
        Err(error) if matches!(error.kind(), io::ErrorKind::InvalidInput | io::ErrorKind::Unsupported) => {
            Ok(())
        }
        outcome => outcome,
    }
}

/// A path's bytes as text, those that are no UTF-8 as `%E9`.
pub fn path_to_text(path: &Path) -> String {
    let mut text = String::new();
    for chunk in path.as_os_str().as_bytes().utf8_chunks() {
        text.push_str(&chunk.valid().replace('%', "%25"));
        chunk.invalid().iter().for_each(|byte| text.push_str(&format!("%{byte:02X}")));
    }
    text
}

/// The path that [`path_to_text`] gave a text for.
pub fn path_from_text(text: &str) -> PathBuf {
    let mut bytes = Vec::new();
    let mut parts = text.split('%');
    bytes.extend_from_slice(parts.next().unwrap_or_default().as_bytes());
    for part in parts {
        let (digits, rest) = part.split_at_checked(2).unwrap_or(("", part));
        bytes.extend(u8::from_str_radix(digits, 16));
        bytes.extend_from_slice(rest.as_bytes());
    }
    PathBuf::from(OsString::from_vec(bytes))
}

/// Whether two paths are one file, by whatever names.
pub fn same_file(one: &Path, other: &Path) -> bool {
    match (fs::metadata(one), fs::metadata(other)) {
        (Ok(one), Ok(other)) => one.is_file() && (one.dev(), one.ino()) == (other.dev(), other.ino()),
        _ => false,
    }
}

/// Whether others than its owner may read a file.
pub fn open_to_others(path: &Path) -> bool {
    fs::metadata(path).is_ok_and(|about| about.permissions().mode() & 0o077 != 0)
}
