//! Results on standard output, messages on standard error. A closed pipe is no failure.
//!
//! Whatever a command prints goes out here and nowhere else, so that nothing from a file, a name, an argument or a record
//! can work a terminal.

use std::io::{self, BufRead as _, ErrorKind, IsTerminal, Read as _, Write};
use std::sync::OnceLock;

use crate::diagnostic::escape_control_text;

/// Why a result did not go out whole, where it did not.
static LOST: OnceLock<String> = OnceLock::new();

/// Writes a result. Where the reader has closed the pipe, nobody misses the rest.
pub(super) fn put(text: &str) {
    write(escape_control_text(text).as_bytes());
}

/// Writes a result of bytes that are no text, which a terminal would take for commands.
///
/// # Errors
/// Where a terminal would get them.
pub(super) fn put_file(bytes: &[u8]) -> Result<(), String> {
    if io::stdout().is_terminal() {
        return Err("this format is no text for a terminal: send it to a file, as `> report.pdf`".to_owned());
    }
    write(bytes);
    Ok(())
}

fn write(bytes: &[u8]) {
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

/// How many columns a line may have: those of the terminal; in a pipe or a file as many as it takes.
pub(super) fn columns() -> Option<usize> {
    let size = || crossterm::terminal::size().ok().map(|(columns, _)| usize::from(columns));
    io::stdout().is_terminal().then(size).flatten().filter(|columns| *columns > 0)
}

/// Asks on standard error; whether the answer was yes. Where nobody can answer, it is no.
pub(super) fn said_yes(question: &str) -> bool {
    say(&format!("{question} Type yes:"));
    let mut answer = String::new();
    let read = io::stdin().lock().take(100).read_line(&mut answer);
    read.is_ok_and(|_| answer.trim().eq_ignore_ascii_case("yes"))
}

/// Writes a line of a message.
pub(super) fn say(text: &str) {
    let mut out = io::stderr().lock();
    let _ = writeln!(out, "{}", escape_control_text(text.trim_end()));
}
