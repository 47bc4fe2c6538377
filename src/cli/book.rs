//! `linewalk licenses`: what stands inside and under which terms.

use super::output::put;
use super::run::{DONE, Outcome};

/// The program's own licence.
const OWN: &str = include_str!("../../LICENSE");
/// What it is built from, one crate a line: made by a test from the lock file.
const PARTS: &str = include_str!("licenses.txt");

pub(super) fn licenses() -> Outcome {
    put(&format!(
        "linewalk\n\n{OWN}\nBuilt from these crates, each under the terms named:\n\n{PARTS}\nThe font inside PDF files:\n\n{}\n",
        crate::report::FONT_LICENCE
    ));
    Ok(DONE)
}
