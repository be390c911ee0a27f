//! `apt-get` without questions, which waits for another package manager that holds a lock: a fresh
//! machine often updates itself in the background just then.

use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

/// How long another package manager is waited for.
const PATIENCE: Duration = Duration::from_secs(300);

/// How long between two tries.
const PAUSE: Duration = Duration::from_secs(3);

/// What `apt-get` says in English when another one holds the lists, the archives or dpkg's lock.
/// Its own option `DPkg::Lock::Timeout` covers the last of the three only.
const LOCKED: &str = "Could not get lock";

/// Runs `apt-get` with these arguments, again and again for up to five minutes while it is locked.
///
/// # Errors
/// When it cannot be started, fails, or is locked all the time; with its own words.
pub fn apt(arguments: &[&str]) -> Result<(), String> {
    println!("    apt-get {}", arguments.join(" "));
    let apt = || {
        let mut command = Command::new("apt-get");
        command.args(arguments);
        command
    };
    let output = patiently(apt, PATIENCE, PAUSE)?;
    eprint!("{}", String::from_utf8_lossy(&output.stderr));
    match output.status.success() {
        true => Ok(()),
        false => Err(format!("apt-get {} failed", arguments.join(" "))),
    }
}

/// Runs the command until it does not name a lock any more, or the patience is used up.
fn patiently(
    command: impl Fn() -> Command,
    patience: Duration,
    pause: Duration,
) -> Result<Output, String> {
    let started = Instant::now();
    let mut told = false;
    loop {
        let output = command()
            .env("DEBIAN_FRONTEND", "noninteractive")
            .env("LC_ALL", "C")
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .output()
            .map_err(|e| format!("apt-get cannot be started: {e}"))?;
        let said = String::from_utf8_lossy(&output.stderr);
        if output.status.success() || !said.contains(LOCKED) {
            return Ok(output);
        }
        if started.elapsed() >= patience {
            return Err(format!(
                "another package manager still holds its lock after {} s:\n{said}",
                patience.as_secs()
            ));
        }
        if !told {
            println!(
                "    Another package manager is at work; waiting up to {} s for it to end.",
                patience.as_secs()
            );
            told = true;
        }
        std::thread::sleep(pause);
    }
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;
    use std::path::Path;

    const LINE: &str = "E: Could not get lock /var/lib/apt/lists/lock. It is held by process 7";

    /// A package manager that is locked as long as `lock` exists, and counts its runs in `runs`.
    fn locked(folder: &Path) -> Command {
        let script = format!(
            "echo run >> runs; test \"$LC_ALL\" = C || exit 9; if test -e lock; then echo '{LINE}' >&2; exit 100; fi"
        );
        let mut command = Command::new("sh");
        command.args(["-c", &script]).current_dir(folder);
        command
    }

    fn runs(folder: &Path) -> usize {
        let runs = std::fs::read_to_string(folder.join("runs")).expect("it has run");
        runs.lines().count()
    }

    #[test]
    fn a_lock_is_waited_for() {
        let folder = tempfile::tempdir().expect("a folder");
        let lock = folder.path().join("lock");
        std::fs::write(&lock, "").expect("a lock");
        let output = std::thread::scope(|scope| {
            scope.spawn(|| {
                std::thread::sleep(Duration::from_millis(200));
                std::fs::remove_file(&lock).expect("the lock is given up");
            });
            let patience = Duration::from_secs(60);
            patiently(
                || locked(folder.path()),
                patience,
                Duration::from_millis(20),
            )
        });
        assert!(output.expect("not given up").status.success());
        assert!(runs(folder.path()) > 1);
    }

    #[test]
    fn a_lock_that_stays_is_told() {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::write(folder.path().join("lock"), "").expect("a lock");
        let told = patiently(
            || locked(folder.path()),
            Duration::from_millis(100),
            Duration::from_millis(20),
        );
        let message = told.expect_err("it stays locked");
        assert!(message.contains(LINE), "{message}");
        assert!(runs(folder.path()) > 1);
    }

    #[test]
    fn another_failure_is_not_waited_for() {
        let folder = tempfile::tempdir().expect("a folder");
        let fails = || {
            let mut command = Command::new("sh");
            command.args([
                "-c",
                "echo run >> runs; echo 'E: Unable to locate package' >&2; exit 100",
            ]);
            command.current_dir(folder.path());
            command
        };
        let output = patiently(fails, Duration::from_secs(60), Duration::from_millis(20));
        assert_eq!(output.expect("an answer").status.code(), Some(100));
        assert_eq!(runs(folder.path()), 1);
    }
}
