//! `linewalk --version`: the release, the commit it was built from, and what it reads and writes.

use crate::rules::BUILT_IN;

use super::output::put;
use super::run::{DONE, Outcome};

/// The release and, where the build was told it, the commit.
pub(super) fn release() -> String {
    let commit = option_env!("LINEWALK_COMMIT").filter(|commit| !commit.is_empty());
    let commit = commit.map_or_else(String::new, |commit| format!(", commit {commit}"));
    format!("{}{commit}", env!("CARGO_PKG_VERSION"))
}

/// The program as reports name it.
pub(super) fn made_by() -> String {
    format!("linewalk {}", release())
}

/// Prints it; with `verbose` everything that matters when a file of another release will not open.
pub(super) fn run(verbose: bool) -> Outcome {
    let editions: Vec<String> =
        BUILT_IN.iter().filter_map(|(id, text)| Some(format!("{id} {}", edition(text)?))).collect();
    let mut text =
        format!("linewalk {} (rules {})\n", release(), editions.first().map_or("", String::as_str));
    if verbose {
        let features = if cfg!(feature = "lanes") { "lanes" } else { "none" };
        let mode = if cfg!(debug_assertions) { "debug" } else { "release" };
        text.push_str(&format!(
            "rules built in: {}\ncar files: format 1\nlogs: written in format {}, read from format 1\nrule files: format 1\n\
             features: {features}\nbuild: {mode}, {} on {}\n",
            editions.join(", "),
            linewalk_record::logbook::record::FORMAT,
            std::env::consts::ARCH,
            std::env::consts::OS,
        ));
    }
    put(&text);
    Ok(DONE)
}

/// The edition that a ruleset gives for itself at its head.
fn edition(text: &str) -> Option<String> {
    let table: toml::Table = text.parse().ok()?;
    Some(table.get("ruleset")?.get("edition")?.as_str()?.to_owned())
}
