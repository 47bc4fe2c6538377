//! The linewalk program: reads the command line, runs it, gives its status.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(linewalk::cli::run())
}
