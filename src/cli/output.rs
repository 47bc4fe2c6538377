//! Results on standard output, messages on standard error. A closed pipe is no failure.

use std::io::{self, Write};

/// Writes a result. Where the reader has closed the pipe, nobody misses the rest.
pub(super) fn put(text: &str) {
    put_bytes(text.as_bytes());
}

/// Writes a result of bytes.
pub(super) fn put_bytes(bytes: &[u8]) {
    let mut out = io::stdout().lock();
    // A failed write to a closed pipe or full device has nowhere better to be told; the status says the work is done.
    let _ = out.write_all(bytes).and_then(|()| out.flush());
}

/// Writes a line of a message.
pub(super) fn say(text: &str) {
    let mut out = io::stderr().lock();
    let _ = writeln!(out, "{}", text.trim_end());
}
