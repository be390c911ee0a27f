//! The Python packages of the tests, in an environment of their own below cargo's target folder, so
//! that nothing of the system's Python is touched.

use std::path::PathBuf;
use std::process::{Command, Stdio};

/// What is installed: a host for VST3 plugins without a window, and what it takes sound in.
const PACKAGES: &[&str] = &["pedalboard==0.9.26", "numpy"];

/// The environment's interpreter.
pub fn interpreter() -> PathBuf {
    let within = if cfg!(windows) {
        "Scripts/python.exe"
    } else {
        "bin/python"
    };
    crate::target().join("python").join(within)
}

/// Makes the environment with the packages, unless it is there.
///
/// # Errors
/// What could not be done; the tests that need it are then skipped.
pub fn ensure() -> Result<(), String> {
    if has_packages() {
        return Ok(());
    }
    let folder = crate::target().join("python");
    let folder = folder.to_string_lossy().into_owned();
    run(Command::new("python3").args(["-m", "venv", &folder]))?;
    let mut install = Command::new(interpreter());
    install.args([
        "-m",
        "pip",
        "install",
        "--quiet",
        "--disable-pip-version-check",
    ]);
    run(install.args(PACKAGES))?;
    match has_packages() {
        true => Ok(()),
        false => Err("the installed Python packages cannot be loaded".into()),
    }
}

fn has_packages() -> bool {
    Command::new(interpreter())
        .args(["-c", "import pedalboard, numpy"])
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|status| status.success())
}

fn run(command: &mut Command) -> Result<(), String> {
    let shown = format!("{command:?}");
    let status = command.status().map_err(|e| format!("{shown}: {e}"))?;
    match status.success() {
        true => Ok(()),
        false => Err(format!("{shown} failed")),
    }
}
