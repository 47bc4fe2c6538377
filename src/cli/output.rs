//! Results on standard output, messages on standard error. A closed pipe is no failure.

use std::io::{self, ErrorKind, Write};
use std::sync::OnceLock;

/// Why a result did not go out whole, where it did not.
static LOST: OnceLock<String> = OnceLock::new();

/// Writes a result. Where the reader has closed the pipe, nobody misses the rest.
pub(super) fn put(text: &str) {
    put_bytes(text.as_bytes());
}

/// Writes a result of bytes.
pub(super) fn put_bytes(bytes: &[u8]) {
    let mut out = io::stdout().lock();
    if let Err(error) = out.write_all(bytes).and_then(|()| out.flush())
        && error.kind() != ErrorKind::BrokenPipe
    {
        let _ = LOST.set(error.to_string());
    }
}

/// Why a result is not whole, such as a full disk: nobody should take half a report for a whole one.
pub(super) fn lost() -> Option<&'static str> {
    LOST.get().map(String::as_str)
}

/// Writes a line of a message.
pub(super) fn say(text: &str) {
    let mut out = io::stderr().lock();
    let _ = writeln!(out, "{}", text.trim_end());
}
