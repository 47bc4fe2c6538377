//! Photos beside a car's log.

use std::fs;
use std::path::Path;

use crate::diagnostic::shown;
use crate::logbook::hash::Hex;
use crate::model::entry::Photo;

use super::paths::{no_links, told, write_inside};

/// Copies a photo under a name that its contents give it, so that no two photos can take each other's place.
pub(super) fn copy(data: &Path, folder: &Path, path: &Path) -> Result<Photo, String> {
    let about = fs::metadata(path).map_err(|error| told("read the photo", path, &error))?;
    if !about.is_file() || about.len() > 100 * 1024 * 1024 {
        return Err(format!("{} is no photo file under 100 MB", shown(path)));
    }
    let bytes = fs::read(path).map_err(|error| told("read the photo", path, &error))?;
    let sha256 = Hex::of(&bytes).text().to_owned();
    let stem: String = path
        .file_stem()
        .and_then(|stem| stem.to_str())
        .unwrap_or("photo")
        .chars()
        .filter(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_'))
        .take(40)
        .collect();
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or("bin").to_lowercase();
    let ending: String = ending.chars().filter(char::is_ascii_alphanumeric).take(8).collect();
    let file = format!("{stem}-{}.{ending}", sha256.get(..8).unwrap_or_default());
    let target = folder.join(&file);
    no_links(data, &target)?;
    // What stands there under the photo's name may be something else by now.
    if !fs::read(&target).is_ok_and(|there| there == bytes) {
        write_inside(data, &target, &bytes)?;
    }
    Ok(Photo { file, sha256 })
}
