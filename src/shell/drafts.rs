//! Texts put by about a car: one JSON line each, in a file of its own beside the log. They are in no record, and no other
//! machine reads them.

use std::path::{Path, PathBuf};

use crate::diagnostic::shown;
use crate::walk::Draft;

use super::paths::{Paths, no_links, read_text, write_inside};

/// Where this machine's drafts about a car stand.
fn file(paths: &Paths, car: &str) -> Result<PathBuf, String> {
    Ok(paths.car(car).join(format!("drafts-{}", paths.writer_id()?)))
}

/// Reads them; none where there is no file.
pub(super) fn read(paths: &Paths, car: &str) -> Result<Vec<Draft>, String> {
    read_file(&file(paths, car)?)
}

fn read_file(path: &Path) -> Result<Vec<Draft>, String> {
    if !path.exists() {
        return Ok(Vec::new());
    }
    let text = read_text(path)?;
    let draft = |(at, line): (usize, &str)| {
        serde_json::from_str(line).map_err(|error| {
            format!("{}:{}:{} is no draft: {error}", shown(path), at + 1, error.column().max(1))
        })
    };
    text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty()).map(draft).collect()
}

/// Writes them in one step. A file that cannot be read stays as it is.
pub(super) fn write(paths: &Paths, car: &str, drafts: &[Draft]) -> Result<(), String> {
    let path = file(paths, car)?;
    no_links(&paths.data, &path)?;
    let left = |message: String| format!("{message}: the file is left as it is, move it away to go on");
    let before = read_file(&path).map_err(left)?;
    if drafts.is_empty() && before.is_empty() {
        return Ok(());
    }
    let mut text = String::new();
    for draft in drafts {
        let line = serde_json::to_string(draft).map_err(|error| error.to_string())?;
        text.push_str(&line);
        text.push('\n');
    }
    write_inside(&paths.data, &path, text.as_bytes())
}
