//! The program's words on the command line.

pub mod file;
pub mod plot;
pub mod progress;
pub mod wav;

use std::ffi::OsString;

/// Runs the program with its arguments and gives its exit code.
pub fn run(_arguments: Vec<OsString>) -> std::process::ExitCode {
    std::process::ExitCode::SUCCESS
}
