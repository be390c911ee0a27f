//! What a test needs and not every machine has: a host, an emulator, a screen. A test without it is
//! skipped, and `cargo xtask test` lists it with the reason.

use std::io::Write;
use std::panic::Location;

/// Set to `required`, what is absent fails the test that needs it.
const HOSTS: &str = "PRESOLDER_HOSTS";

/// The file that `cargo xtask test` reads, one line a test.
const LIST: &str = "PRESOLDER_SKIPPED";

/// Notes that this test cannot run here; it returns after this.
///
/// # Panics
/// Where `PRESOLDER_HOSTS=required` says that everything must be there.
#[track_caller]
pub fn absent(reason: &str) {
    assert!(
        std::env::var_os(HOSTS).is_none_or(|value| value != "required"),
        "{reason}, and {HOSTS}=required"
    );
    let file = Location::caller().file();
    let line = match std::thread::current().name() {
        Some(test) if test != "main" => format!("{file}, {test}: {reason}\n"),
        _ => format!("{file}: {reason}\n"),
    };
    print!("skipped: {line}");
    let Some(list) = std::env::var_os(LIST) else {
        return;
    };
    // One write of a line to the end of the file, so that programs side by side do not mix theirs.
    let file = std::fs::OpenOptions::new()
        .create(true)
        .append(true)
        .open(list);
    let written = file.and_then(|mut file| file.write_all(line.as_bytes()));
    written.expect("the list of skipped tests can be written");
}
