//! The shipped rule files and sample cars, loaded as the program loads them.

use std::path::PathBuf;
use std::rc::Rc;

use chrono::NaiveDate;
use linewalk::mistake::{Mistake, SourceFile};
use linewalk::model::car::{CarRead, read_car};
use linewalk::rules::{Check, Loaded, built_in, load};
use linewalk::source::{Node, Overrides, Value};

/// A file of this repository by its path from the root; it is named by that path too.
pub fn repo_file(path: &str) -> Rc<SourceFile> {
    let full = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(path);
    let text = std::fs::read_to_string(&full).unwrap_or_else(|error| panic!("{path}: {error}"));
    SourceFile::new(path, text)
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

/// Mistakes that only say that a number is not in the registry yet.
///
/// TEMPORARY: the discharge numbers are not in the registry yet. Once they are, this gives back what it takes and is
/// to be removed together with [`awaits`].
pub fn without_awaited(mistakes: Vec<Mistake>) -> Vec<Mistake> {
    mistakes
        .into_iter()
        .filter(|mistake| !mistake.message.starts_with("there is no number discharge."))
        .collect()
}

/// Whether a check names a number that is not in the registry yet, so that its cases cannot be worked.
///
/// TEMPORARY, as [`without_awaited`].
pub fn awaits(check: &Check) -> bool {
    fn names(node: &Node) -> bool {
        match &node.value {
            Value::Array(rows) => rows.iter().any(names),
            Value::Table(row) => {
                row.text("quantity").is_some_and(|name| linewalk::numbers::quantity(name).is_none())
            }
            _ => false,
        }
    }
    check.table.get("compute").is_some_and(names)
}

/// Rules as text, over the built-in files.
pub fn rules_of(files: &[Rc<SourceFile>]) -> Loaded {
    let beside = |id: &str, from: &SourceFile| {
        let folder = from.name.rsplit_once('/').map_or("", |(folder, _)| folder);
        let path = format!("{folder}/{id}.toml");
        let full = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(&path);
        if full.is_file() && path != from.name { Some(repo_file(&path)) } else { built_in(id) }
    };
    let loaded = load(files, &beside);
    Loaded { mistakes: without_awaited(loaded.mistakes), ..loaded }
}

/// A shipped ruleset.
pub fn shipped(id: &str) -> Loaded {
    rules_of(&[repo_file(&format!("rulesets/{id}.toml"))])
}

/// A sample car.
pub fn car(id: &str) -> CarRead {
    read_car(&repo_file(&format!("sample-cars/{id}.toml")), &Overrides::new())
}

/// A day.
pub fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}
