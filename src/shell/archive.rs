//! All cars, logs, photos and rule files as one archive, and taking one in.
//!
//! What comes from somebody else is bounded in count and size, holds no links and no way out of the folder it is unpacked
//! in, and is compared with the list of checksums at its head before anything is used.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Component, Path, PathBuf};

use flate2::Compression;
use flate2::read::GzDecoder;
use flate2::write::GzEncoder;
use serde::{Deserialize, Serialize};

use crate::diagnostic::{escape_control, shown};
use crate::logbook::hash::Hex;

use super::disk::{link_target, open_file};
use super::paths::{Paths, told};

/// The list at the head of an archive.
const LIST: &str = "linewalk-archive.json";
/// The format it is written in.
const FORMAT: u32 = 1;
/// Most files taken from an archive.
const MOST_FILES: usize = 200_000;
/// Most bytes taken from an archive, unpacked.
const MOST_BYTES: u64 = 8 << 30;
/// Most bytes of the list.
const LONGEST_LIST: u64 = 64 << 20;

/// What an archive holds.
#[derive(Debug, Serialize, Deserialize)]
pub struct Contents {
    format: u32,
    /// The release that wrote it.
    pub written_by: String,
    /// Every file, by its name in the archive.
    pub files: BTreeMap<String, Packed>,
}

/// One file of an archive.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Packed {
    /// Its size in bytes.
    pub size: u64,
    /// SHA-256 of its bytes.
    pub sha256: String,
}

impl Contents {
    /// Ids of the cars in it.
    pub fn cars(&self) -> Vec<String> {
        let id = |name: &String| name.strip_prefix("cars/")?.split_once('/').map(|(id, _)| id.to_owned());
        let mut ids: Vec<String> = self.files.keys().filter_map(id).collect();
        ids.dedup();
        ids
    }

    /// Names of the rule files in it.
    pub fn rules(&self) -> Vec<&str> {
        self.files.keys().filter_map(|name| name.strip_prefix("rules/")).collect()
    }
}

/// Packs everything of these folders into a new file; `file_of` gives the car file in use where it lies elsewhere.
///
/// # Errors
/// What could not be read or written. The archive is then not there.
pub fn pack(
    paths: &Paths,
    target: &Path,
    release: &str,
    file_of: impl Fn(&str) -> Option<String>,
) -> Result<Contents, String> {
    let mut found = BTreeMap::new();
    for id in paths.cars()? {
        gather(&paths.car(&id), &format!("cars/{id}"), &mut found)?;
        if let Some(text) = file_of(&id) {
            found.insert(format!("cars/{id}/car.toml"), Source::Text(text));
        }
    }
    gather(&paths.data.join("rules"), "rules", &mut found)?;
    let files = found.iter().map(|(name, source)| Ok((name.clone(), source.packed()?)));
    let files: BTreeMap<String, Packed> = files.collect::<Result<_, String>>()?;
    let contents = Contents { format: FORMAT, written_by: release.to_owned(), files };
    // Never over an older archive: it may be the only one.
    let file = fs::OpenOptions::new().write(true).create_new(true).open(target);
    let file = file.map_err(|error| match error.kind() {
        io::ErrorKind::AlreadyExists => format!("{} is there already: name a new file", shown(target)),
        _ => told("write", target, &error),
    })?;
    write(file, &contents, &found).map_err(|error| {
        // Half an archive is none.
        let _ = fs::remove_file(target);
        told("write", target, &error)
    })?;
    Ok(contents)
}

fn write(file: File, contents: &Contents, found: &BTreeMap<String, Source>) -> io::Result<()> {
    let mut archive = tar::Builder::new(GzEncoder::new(file, Compression::default()));
    let list = serde_json::to_vec_pretty(contents)?;
    append(&mut archive, LIST, list.len() as u64, list.as_slice())?;
    for (name, source) in found {
        let size = contents.files.get(name).map_or(0, |packed| packed.size);
        match source {
            Source::Text(text) => append(&mut archive, name, size, text.as_bytes())?,
            // A log may have grown meanwhile; what was counted and summed is what goes in.
            Source::File(path) => append(&mut archive, name, size, open_file(path)?.take(size))?,
        }
    }
    let file = archive.into_inner()?.finish()?;
    file.sync_all()
}

fn append(archive: &mut tar::Builder<impl Write>, name: &str, size: u64, bytes: impl Read) -> io::Result<()> {
    let mut header = tar::Header::new_gnu();
    header.set_size(size);
    header.set_mode(0o644);
    header.set_mtime(0);
    archive.append_data(&mut header, name, bytes)
}

/// Where the bytes of one file come from.
#[derive(Debug)]
enum Source {
    File(PathBuf),
    Text(String),
}

impl Source {
    fn packed(&self) -> Result<Packed, String> {
        match self {
            Self::Text(text) => Ok(summed(text.as_bytes()).map_err(|error| error.to_string())?),
            Self::File(path) => open_file(path).and_then(summed).map_err(|error| told("read", path, &error)),
        }
    }
}

fn summed(bytes: impl Read) -> io::Result<Packed> {
    let (sha256, size) = Hex::of_reader(bytes)?;
    Ok(Packed { size, sha256: sha256.text().to_owned() })
}

/// Every file of a folder and those below that belongs to the car and not to this machine alone.
fn gather(folder: &Path, name: &str, found: &mut BTreeMap<String, Source>) -> Result<(), String> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(told("read", folder, &error)),
    };
    for entry in entries {
        let path = entry.map_err(|error| told("read", folder, &error))?.path();
        let Some(last) = path.file_name().and_then(|last| last.to_str()) else {
            return Err(format!("{} has a name that is no text: rename it first", shown(&path)));
        };
        // Where a car file lies, who writes now and half-typed texts mean nothing on another machine.
        let here_only = last == "car-file" || last.ends_with(".lock") || last.starts_with("drafts-");
        let inner = format!("{name}/{last}");
        if here_only || link_target(&path).is_some() {
        } else if path.is_dir() {
            gather(&path, &inner, found)?;
        } else if path.is_file() {
            found.insert(inner, Source::File(path));
        }
    }
    Ok(())
}

/// Unpacks an archive into a new folder, and compares every file with the list at its head.
///
/// # Errors
/// Why it cannot be used; nothing of it is to be used then.
pub fn unpack(archive: &Path, into: &Path) -> Result<Contents, String> {
    let bad = |why: &str| format!("{} cannot be taken in: {why}", shown(archive));
    let file = open_file(archive).map_err(|error| told("read", archive, &error))?;
    let mut reader = tar::Archive::new(GzDecoder::new(file));
    let broken = |error: io::Error| bad(&format!("it is broken or no archive of this program ({error})"));
    let mut entries = reader.entries().map_err(broken)?;
    let first = entries.next().ok_or_else(|| bad("it is empty"))?.map_err(broken)?;
    let contents = list_of(first).map_err(|why| bad(&why))?;
    let mut seen = BTreeSet::new();
    for entry in entries {
        let mut entry = entry.map_err(broken)?;
        let name = name_of(&entry).map_err(|why| bad(&why))?;
        let wanted = contents.files.get(&name).ok_or_else(|| bad(&format!("{name} is not in its list")))?;
        let twice = !seen.insert(name.clone());
        let packed = keep(&mut entry, &into.join(&name), wanted.size)
            .map_err(|error| bad(&format!("{name} cannot be unpacked ({error})")));
        if twice || packed? != *wanted {
            return Err(bad(&format!("{name} is not what its list says")));
        }
    }
    match contents.files.keys().find(|name| !seen.contains(*name)) {
        Some(name) => Err(bad(&format!("{name} of its list is missing"))),
        None => Ok(contents),
    }
}

fn list_of(entry: tar::Entry<'_, impl Read>) -> Result<Contents, String> {
    if name_of(&entry)? != LIST {
        return Err("it does not begin with the list of its files".to_owned());
    }
    let mut bytes = Vec::new();
    entry.take(LONGEST_LIST).read_to_end(&mut bytes).map_err(|error| error.to_string())?;
    let contents: Contents =
        serde_json::from_slice(&bytes).map_err(|error| format!("its list cannot be read ({error})"))?;
    if contents.format != FORMAT {
        return Err(format!(
            "it is of format {} and this program knows format {FORMAT}: it was written by linewalk {}; use that or a newer one",
            contents.format,
            escape_control(&contents.written_by)
        ));
    }
    let total = contents.files.values().try_fold(0_u64, |sum, packed| sum.checked_add(packed.size));
    if contents.files.len() > MOST_FILES || total.is_none_or(|total| total > MOST_BYTES) {
        return Err(format!("it holds more than {MOST_FILES} files or 8 GB"));
    }
    Ok(contents)
}

/// The name of an entry: a plain file below the folder it is unpacked in, and nothing else.
fn name_of(entry: &tar::Entry<'_, impl Read>) -> Result<String, String> {
    let path = entry.path().map_err(|error| error.to_string())?;
    let plain = path.components().all(|part| matches!(part, Component::Normal(_)));
    let name = path.to_str().filter(|name| plain && !name.is_empty() && !name.contains('\\'));
    let name = name.ok_or_else(|| format!("{} leads out of it", shown(&path)))?;
    if !entry.header().entry_type().is_file() {
        return Err(format!("{} is no plain file", escape_control(name)));
    }
    Ok(name.to_owned())
}

fn keep(bytes: &mut impl Read, path: &Path, size: u64) -> io::Result<Packed> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)?;
    }
    let mut file = fs::OpenOptions::new().write(true).create_new(true).open(path)?;
    // One byte more than the list says is enough to see that it is longer.
    io::copy(&mut bytes.take(size.saturating_add(1)), &mut file)?;
    drop(file);
    open_file(path).and_then(summed)
}
