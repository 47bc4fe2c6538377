//! The document as JSON: the same facts, keys in a stable order.

use crate::diagnostic::escape_control_json;

use super::document::Document;

/// The facts of a document, indented, ending in a line break. Characters that a terminal could take for a command or
/// that turn the reading direction are written as escapes, which mean the same to every reader of JSON.
pub fn json(document: &Document) -> String {
    // The facts hold no map with keys other than texts and no failing writer, so this cannot fail.
    let text = serde_json::to_string_pretty(&document.facts).unwrap_or_default();
    format!("{}\n", escape_control_json(&text))
}
