//! What goes to standard output: reports, as text or JSON.

use super::failure::Failure;
use super::report::{Report, render};
use crate::files::FileFault;
use std::io::{self, Write};

/// Prints a report to standard output.
///
/// # Errors
/// When standard output cannot be written.
pub fn show(report: &impl Report, json: bool) -> Result<(), Failure> {
    show_text(&render(report, json))
}

/// Prints a whole text to standard output.
///
/// # Errors
/// When standard output cannot be written.
pub fn show_text(text: &str) -> Result<(), Failure> {
    print(text).map_err(|why| {
        Failure::File(FileFault {
            path: "standard output".into(),
            tried: "written",
            why,
        })
    })
}

/// Says something on standard error. Where nobody listens any more, nothing is said.
pub fn tell(words: impl std::fmt::Display) {
    let mut error = io::stderr().lock();
    let _ = writeln!(error, "{words}").and_then(|()| error.flush());
}

/// Prints to standard output. A reader that has seen enough, like `head`, is no fault.
///
/// # Errors
/// When standard output cannot be written for another reason.
pub fn print(text: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(fault) if fault.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        other => other,
    }
}
