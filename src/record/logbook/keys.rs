//! Checks on a record's JSON that a JSON parser does not make: a key given twice, `null`, blanks.

use crate::logbook::record::RecordError;

/// Keys that stand before and after the payload, so that the payload may not bring them again.
const OUTER: [&[u8]; 7] = [b"format", b"id", b"writer", b"seq", b"prev", b"at", b"sum"];

/// Checks the members of an object, without its braces. That they are JSON at all is left to the parser.
pub(super) fn check(members: &[u8]) -> Result<(), RecordError> {
    let mut keys: Vec<&[u8]> = Vec::with_capacity(32);
    // Where the keys of each open object or array begin; the outermost begins at 0.
    let mut opened: Vec<usize> = Vec::with_capacity(4);
    let mut begin = 0;
    let mut rest = members;
    while let Some((first, after)) = rest.split_first() {
        rest = after;
        match first {
            b'"' => {
                let (text, after, escaped) = string(rest)?;
                rest = after;
                if rest.first() == Some(&b':') {
                    let mine = keys.get(begin..).unwrap_or_default();
                    if escaped || mine.contains(&text) || (opened.is_empty() && OUTER.contains(&text)) {
                        return Err(RecordError::Key(String::from_utf8_lossy(text).into_owned()));
                    }
                    keys.push(text);
                }
            }
            b'{' | b'[' => {
                opened.push(begin);
                begin = keys.len();
            }
            b'}' | b']' => {
                keys.truncate(begin);
                begin = opened.pop().ok_or(RecordError::Shape("payload"))?;
            }
            b'n' => return Err(RecordError::Null),
            b' ' | b'\t' | b'\r' | b'\n' => return Err(RecordError::Shape("compact payload")),
            _ => {}
        }
    }
    if opened.is_empty() { Ok(()) } else { Err(RecordError::Shape("payload")) }
}

/// Splits off a string whose opening quote is already gone: its text, what follows, and whether it has escapes.
fn string(bytes: &[u8]) -> Result<(&[u8], &[u8], bool), RecordError> {
    let mut escaped = false;
    let mut at = 0;
    loop {
        let tail = bytes.get(at..).unwrap_or_default();
        let Some(found) = tail.iter().position(|byte| matches!(byte, b'"' | b'\\')) else {
            return Err(RecordError::Shape("payload"));
        };
        at += found;
        if bytes.get(at) == Some(&b'"') {
            let text = bytes.get(..at).unwrap_or_default();
            return Ok((text, bytes.get(at + 1..).unwrap_or_default(), escaped));
        }
        escaped = true;
        at += 2;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_passes() {
        for good in [
            r#""kind":"remark","text":"a \"b\": {}""#,
            r#""kind":"x","rules":{"id":"a"},"photos":[{"file":"a"},{"file":"b"}]"#,
            r#""kind":"x","note":"null and  blanks","by":"\\""#,
            r#""kind":"x","by_station":true,"si":-1e3"#,
            "",
        ] {
            assert_eq!(check(good.as_bytes()), Ok(()), "{good}");
        }
    }

    #[test]
    fn what_does_not() {
        let key = |name: &str| RecordError::Key(name.to_owned());
        for (bad, error) in [
            (r#""kind":"x","by":"a","by":"b""#, key("by")),
            (r#""kind":"x","rules":{"id":"a","id":"b"}"#, key("id")),
            (r#""kind":"x","seq":3"#, key("seq")),
            (r#""kind":"x","b\u0079":"a""#, key("b\\u0079")),
            (r#""kind":"x","si":null"#, RecordError::Null),
            (r#""kind":"x", "by":"a""#, RecordError::Shape("compact payload")),
            (r#""kind":"x"},{"by":"a""#, RecordError::Shape("payload")),
            (r#""kind":"x","rules":{"#, RecordError::Shape("payload")),
            (r#""kind":"x"#, RecordError::Shape("payload")),
        ] {
            assert_eq!(check(bad.as_bytes()), Err(error), "{bad}");
        }
    }
}
