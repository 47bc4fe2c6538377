//! What goes from a file, a name or an argument to a terminal, made harmless: the one place that does it.

use std::borrow::Cow;
use std::fmt;
use std::path::Path;

/// Text from a file made harmless for a terminal: control and direction-changing characters become `\u{…}`.
pub fn escape_control(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if needs_escape(c) {
            out.extend(c.escape_unicode());
        } else {
            out.push(c);
        }
    }
    out
}

/// A path as it is shown. Nothing else may print one: a file name can hold whatever a terminal takes for a command, and
/// line breaks that look like lines of ours.
pub fn shown(path: &Path) -> String {
    escape_control(&path.display().to_string())
}

/// A whole text as it may go to a terminal: what [`escape_control`] makes harmless is written out, but for tabs and line breaks.
pub fn escape_control_text(text: &str) -> Cow<'_, str> {
    replace_control(text, |c, out| out.extend(c.escape_unicode()))
}

/// A whole text with something else in the place of what [`escape_control`] makes harmless, but for tabs and line breaks.
pub fn replace_control(text: &str, put: impl Fn(char, &mut String)) -> Cow<'_, str> {
    let harmful = |c: char| needs_escape(c) && !matches!(c, '\n' | '\t');
    if !text.chars().any(harmful) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        if harmful(c) && !(c == '\r' && rest.peek() == Some(&'\n')) {
            put(c, &mut out);
        } else {
            out.push(c);
        }
    }
    Cow::Owned(out)
}

/// A JSON text in which what [`escape_control`] makes harmless is written as `\u001b`: the same to every reader of JSON. Line
/// breaks stay; inside a string JSON has none.
pub fn escape_control_json(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c != '\n' && needs_escape(c) {
            let mut units = [0; 2];
            for unit in c.encode_utf16(&mut units) {
                out.push_str(&format!("\\u{unit:04x}"));
            }
        } else {
            out.push(c);
        }
    }
    out
}

/// Control characters (tab and newline too), direction overrides, zero-width characters, and whatever else
/// Unicode has that leaves no mark where it stands (its list of default ignorable characters).
pub fn needs_escape(c: char) -> bool {
    // Nearly every character asked about.
    if c.is_ascii() {
        return c.is_ascii_control();
    }
    c.is_control()
        || matches!(c,
            '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}'..='\u{1160}' | '\u{17b4}'..='\u{17b5}'
            | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{3164}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{ffa0}'
            | '\u{fff0}'..='\u{fffb}' | '\u{1bca0}'..='\u{1bca3}' | '\u{1d173}'..='\u{1d17a}'
            | '\u{e0000}'..='\u{e0fff}')
}

/// "1 check", "2 checks".
pub fn many<N: fmt::Display + PartialEq + From<u8>>(count: N, one: &str) -> String {
    let ending = if count == N::from(1) { "" } else { "s" };
    format!("{count} {one}{ending}")
}
