//! The tree holds to its own rules: who may import whom, how long files are, and what the documents say of it.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// The packages of ours, whose borders the compiler holds.
const PACKAGES: &[&str] = &["engine", "formulas", "lanes", "record", "report"];

/// Module of the program, and the others of its modules that it may name. Anything else fails.
const LAYERS: &[(&str, &[&str])] =
    &[("walk", &[]), ("tui", &["walk"]), ("shell", &["walk"]), ("cli", &["walk", "tui", "shell"])];

/// Calls that touch the world outside, and the modules that may make them.
const IMPURE: &[(&str, &[&str])] = &[
    ("std::fs", &["shell", "cli"]),
    ("std::env", &["shell", "cli"]),
    ("std::process", &["shell", "cli", "main.rs"]),
    ("Local::now", &["shell"]),
    ("Utc::now", &["shell"]),
    ("SystemTime::now", &["shell"]),
    ("println!", &[]),
    ("crossterm", &["tui", "cli"]),
];

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn files(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() && !path.ends_with("target") {
            found.extend(files(&path, ending));
        } else if path.extension().is_some_and(|known| known == ending) {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// The top module of a source file: `src/walk/plan.rs` is walk.
fn module(path: &Path) -> String {
    let inside = path.strip_prefix(root().join("src")).unwrap();
    inside.components().next().unwrap().as_os_str().to_string_lossy().trim_end_matches(".rs").to_owned()
}

/// Lines of code: comments and what follows `#[cfg(test)]` at the foot of a file are left out.
fn code(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let end = text.find("\n#[cfg(test)]").unwrap_or(text.len());
    text[..end].lines().enumerate().filter(|(_, line)| !line.trim_start().starts_with("//"))
}

#[test]
fn imports_follow_the_table() {
    let known: BTreeSet<&str> = LAYERS.iter().map(|(name, _)| *name).collect();
    let mut wrong = Vec::new();
    for path in files(&root().join("src"), "rs") {
        let module = module(&path);
        if matches!(module.as_str(), "lib" | "main") || PACKAGES.contains(&module.as_str()) {
            continue;
        }
        let allowed = LAYERS.iter().find(|(name, _)| *name == module).map(|(_, allowed)| *allowed);
        let allowed = allowed.unwrap_or_else(|| panic!("{module} has no row in the table"));
        let text = fs::read_to_string(&path).unwrap();
        for (at, line) in code(&text) {
            for part in line.split("crate::").skip(1) {
                let names: Vec<&str> = match part.strip_prefix('{') {
                    Some(list) => list.split(',').map(str::trim).collect(),
                    None => vec![part],
                };
                for name in names {
                    let name = name.split(|c: char| !c.is_ascii_alphanumeric() && c != '_').next().unwrap();
                    if known.contains(name) && name != module && !allowed.contains(&name) {
                        wrong.push(format!("{}:{}: {module} may not import {name}", path.display(), at + 1));
                    }
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_world_outside_is_touched_where_it_may_be() {
    let mut wrong = Vec::new();
    for path in files(&root().join("src"), "rs") {
        let module = module(&path);
        if PACKAGES.contains(&module.as_str()) {
            continue;
        }
        let text = fs::read_to_string(&path).unwrap();
        for (at, line) in code(&text) {
            for (call, allowed) in IMPURE {
                let main = module == "main" && allowed.contains(&"main.rs");
                if line.contains(call) && !main && !allowed.contains(&module.as_str()) {
                    wrong.push(format!("{}:{}: {call} has no place in {module}", path.display(), at + 1));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn no_file_is_over_600_lines() {
    let mut long = Vec::new();
    for folder in ["src", "tests"] {
        for path in files(&root().join(folder), "rs") {
            let lines = fs::read_to_string(&path).unwrap().lines().count();
            if lines > 600 {
                long.push(format!("{}: {lines}", path.display()));
            }
        }
    }
    assert!(long.is_empty(), "{}", long.join("\n"));
}

#[test]
fn every_test_file_is_listed() {
    let main = fs::read_to_string(root().join("tests/it/main.rs")).unwrap();
    for entry in fs::read_dir(root().join("tests/it")).unwrap() {
        let path = entry.unwrap().path();
        let stem = path.file_stem().unwrap().to_string_lossy().into_owned();
        let is_module = path.is_dir() && path.join("mod.rs").is_file();
        if (is_module || path.extension().is_some_and(|ending| ending == "rs")) && stem != "main" {
            assert!(main.contains(&format!("mod {stem};")), "tests/it/main.rs does not list {stem}");
        }
    }
}

#[test]
fn top_level_holds_what_it_may() {
    let allowed = [
        "Cargo.toml",
        "Cargo.lock",
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "src",
        "rulesets",
        "tests",
        "sample-cars",
    ];
    for entry in fs::read_dir(root()).unwrap() {
        let name = entry.unwrap().file_name().to_string_lossy().into_owned();
        // A build folder is not part of the tree.
        assert!(
            name.starts_with('.') || name == "target" || allowed.contains(&name.as_str()),
            "{name} has no place"
        );
    }
}

/// What the documentation of a formula has to say, each under a heading of its own.
const PAPERS: [&str; 6] = ["# Formula", "# Symbols", "# Valid range", "# Errors", "# Source", "# Example"];

/// Every public formula says what it works, with which symbols, where it holds, how it fails, where it is from, and an
/// example. What only finds a row of a table by its name shows an example.
#[test]
fn formulas_carry_their_papers() {
    let mut wrong = Vec::new();
    for path in files(&root().join("src/formulas/physics"), "rs") {
        let text = fs::read_to_string(&path).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        for (at, line) in lines.iter().enumerate() {
            // Free functions only: methods speak for their type.
            if !line.starts_with("pub fn ") && !line.starts_with("pub const fn ") {
                continue;
            }
            // Comment and attributes stand above it without a blank line between.
            let doc: Vec<&str> =
                lines[..at].iter().rev().take_while(|line| !line.is_empty()).copied().collect();
            let wanted =
                if line.contains("(name: &str) -> Option<&'static ") { &PAPERS[5..] } else { &PAPERS[..] };
            let lacks =
                |heading: &&&str| !doc.iter().any(|line| line.trim_start_matches("/// ") == **heading);
            for heading in wanted.iter().filter(lacks) {
                wrong.push(format!("{}:{}: {heading} is missing: {line}", path.display(), at + 1));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The documents name every dependency, with a sentence each.
#[test]
fn developers_page_names_every_dependency() {
    let page = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    for package in ["", "src/engine", "src/formulas", "src/lanes", "src/record", "src/report"] {
        let manifest = fs::read_to_string(root().join(package).join("Cargo.toml")).unwrap();
        let manifest: toml::Table = manifest.parse().unwrap();
        for table in ["dependencies", "dev-dependencies"].iter().filter_map(|table| manifest.get(*table)) {
            for name in table.as_table().unwrap().keys() {
                assert!(page.contains(&format!("`{name}`")), "DEVELOPERS.md does not say what {name} is for");
            }
        }
    }
    for (module, _) in LAYERS {
        assert!(page.contains(&format!("`{module}`")), "DEVELOPERS.md does not name the module {module}");
    }
}
