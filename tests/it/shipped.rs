//! The shipped rule files and sample cars, loaded as the program loads them.

use std::path::PathBuf;
use std::sync::Arc;

use chrono::NaiveDate;
use linewalk::diagnostic::SourceFile;
use linewalk::model::car::{CarRead, read_car};
use linewalk::rules::{Loaded, built_in, load};
use linewalk::source::Overrides;

/// A file of this repository by its path from the root; it is named by that path too.
pub fn repo_file(path: &str) -> Arc<SourceFile> {
    let full = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(path);
    let text = std::fs::read_to_string(&full).unwrap_or_else(|error| panic!("{path}: {error}"));
    SourceFile::new(path, text)
}

/// A shipped ruleset's text, base with the files of its stations.
pub fn repo_ruleset(id: &str) -> Arc<SourceFile> {
    if id != "base" {
        return repo_file(&format!("rulesets/{id}.toml"));
    }
    let head = "rulesets/base/ruleset.toml";
    let parts = files_in("rulesets/base", ".toml").into_iter().filter(|path| path != head);
    SourceFile::with_parts(repo_file(head), parts.map(|path| repo_file(&path)).collect())
}

/// Every file of a folder with an ending, sorted.
pub fn files_in(folder: &str, ending: &str) -> Vec<String> {
    let full = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut names: Vec<String> = std::fs::read_dir(&full)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with(ending))
        .map(|name| format!("{folder}/{name}"))
        .collect();
    names.sort();
    names
}

/// Rules as text, over the built-in files.
pub fn rules_of(files: &[Arc<SourceFile>]) -> Loaded {
    let beside = |id: &str, from: &SourceFile| {
        let folder = from.name.rsplit_once('/').map_or("", |(folder, _)| folder);
        let path = format!("{folder}/{id}.toml");
        let full = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(&path);
        match full.is_file() && path != from.name {
            true => Some(repo_file(&path)),
            false if folder == "rulesets" && id == "base" => Some(repo_ruleset(id)),
            false => built_in(id),
        }
    };
    load(files, &beside)
}

/// A shipped ruleset.
pub fn shipped(id: &str) -> Loaded {
    rules_of(&[repo_ruleset(id)])
}

/// A sample car.
pub fn car(id: &str) -> CarRead {
    read_car(&repo_file(&format!("sample-cars/{id}.toml")), &Overrides::new())
}

/// A day.
pub fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}
