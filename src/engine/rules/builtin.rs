//! The rule files that are compiled in, as they stand in `rulesets/`.

use std::sync::Arc;

use crate::diagnostic::SourceFile;

/// The stations of base, each in a file of its own, in the order of the lap.
pub const BASE_STATIONS: &[(&str, &str)] = &[
    ("01-nose", include_str!("../../../rulesets/base/01-nose.toml")),
    ("02-left-front", include_str!("../../../rulesets/base/02-left-front.toml")),
    ("03-engine-left", include_str!("../../../rulesets/base/03-engine-left.toml")),
    ("04-footwell", include_str!("../../../rulesets/base/04-footwell.toml")),
    ("05-driver-seat", include_str!("../../../rulesets/base/05-driver-seat.toml")),
    ("06-left-flank", include_str!("../../../rulesets/base/06-left-flank.toml")),
    ("07-left-rear", include_str!("../../../rulesets/base/07-left-rear.toml")),
    ("08-tail", include_str!("../../../rulesets/base/08-tail.toml")),
    ("09-right-rear", include_str!("../../../rulesets/base/09-right-rear.toml")),
    ("10-right-flank", include_str!("../../../rulesets/base/10-right-flank.toml")),
    ("11-engine-right", include_str!("../../../rulesets/base/11-engine-right.toml")),
    ("12-right-front", include_str!("../../../rulesets/base/12-right-front.toml")),
    ("13-underneath", include_str!("../../../rulesets/base/13-underneath.toml")),
    ("14-final-line", include_str!("../../../rulesets/base/14-final-line.toml")),
];

/// Each built-in ruleset by its id; base is read together with the files of its stations.
pub const BUILT_IN: &[(&str, &str)] = &[
    ("base", include_str!("../../../rulesets/base/ruleset.toml")),
    ("straight-line", include_str!("../../../rulesets/straight-line.toml")),
    ("oval", include_str!("../../../rulesets/oval.toml")),
    ("land-speed", include_str!("../../../rulesets/land-speed.toml")),
    ("hill-climb", include_str!("../../../rulesets/hill-climb.toml")),
    ("circuit", include_str!("../../../rulesets/circuit.toml")),
    ("off-road", include_str!("../../../rulesets/off-road.toml")),
];

/// A built-in ruleset by its id.
pub fn built_in(id: &str) -> Option<Arc<SourceFile>> {
    let (_, text) = BUILT_IN.iter().find(|(known, _)| *known == id)?;
    if id != "base" {
        return Some(SourceFile::compiled_in(format!("built in: {id}.toml"), text));
    }
    let part = |(name, text): &(&str, &'static str)| {
        SourceFile::compiled_in(format!("built in: base/{name}.toml"), text)
    };
    let head = SourceFile::compiled_in("built in: base/ruleset.toml", text);
    Some(SourceFile::with_parts(head, BASE_STATIONS.iter().map(part).collect()))
}
