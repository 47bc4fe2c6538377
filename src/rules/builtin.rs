//! The rule files that are compiled in, as they stand in `rulesets/`.

use std::sync::Arc;

use crate::mistake::SourceFile;

/// Each built-in file by its id. No constant: each use of one may have a copy of the texts, at another place.
pub static BUILT_IN: &[(&str, &str)] = &[
    ("base", include_str!("../../rulesets/base.toml")),
    ("straight-line", include_str!("../../rulesets/straight-line.toml")),
    ("land-speed", include_str!("../../rulesets/land-speed.toml")),
    ("hill-climb", include_str!("../../rulesets/hill-climb.toml")),
    ("circuit", include_str!("../../rulesets/circuit.toml")),
    ("off-road", include_str!("../../rulesets/off-road.toml")),
];

/// A built-in file by its id.
pub fn built_in(id: &str) -> Option<Arc<SourceFile>> {
    BUILT_IN
        .iter()
        .find(|(known, _)| *known == id)
        .map(|(id, text)| SourceFile::compiled_in(format!("built in: {id}.toml"), text))
}

/// Whether a file is base, long and laid out for being folded: the very text that was compiled in, not one like it.
pub(super) fn is_built_in_base(file: &SourceFile) -> bool {
    BUILT_IN.first().is_some_and(|(_, text)| std::ptr::eq(text.as_ptr(), file.text.as_ptr()))
}
