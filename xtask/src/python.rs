//! The Python packages of the tests, in an environment of their own below cargo's target folder, so
//! that nothing of the system's Python is touched.

use std::path::PathBuf;
use std::process::{Command, Stdio};

/// What is installed, and what the tests then import: a host for VST3 plugins without a window and
/// what it takes sound in; spectra to hold ours against. Each set by itself, so that one that cannot
/// be had does not cost the other's tests.
const SETS: &[(&[&str], &str)] = &[
    (&["pedalboard==0.9.26", "numpy"], "import pedalboard, numpy"),
    (&["scipy", "numpy"], "import scipy.signal, scipy.io.wavfile"),
];

/// The environment's interpreter.
pub fn interpreter() -> PathBuf {
    let within = if cfg!(windows) {
        "Scripts/python.exe"
    } else {
        "bin/python"
    };
    crate::target().join("python").join(within)
}

/// Makes the environment with the packages, unless they are there.
///
/// # Errors
/// What could not be done; the tests that need it are then skipped.
pub fn ensure() -> Result<(), String> {
    let missing: Vec<_> = SETS.iter().filter(|set| !imports(set.1)).collect();
    if missing.is_empty() {
        return Ok(());
    }
    let folder = crate::target().join("python");
    let folder = folder.to_string_lossy().into_owned();
    run(Command::new("python3").args(["-m", "venv", &folder]))?;
    let failed: Vec<String> = missing
        .iter()
        .filter_map(|set| install(set.0, set.1).err())
        .collect();
    match failed.is_empty() {
        true => Ok(()),
        false => Err(failed.join("\n")),
    }
}

fn install(packages: &[&str], import: &str) -> Result<(), String> {
    let mut install = Command::new(interpreter());
    install.args([
        "-m",
        "pip",
        "install",
        "--quiet",
        "--disable-pip-version-check",
    ]);
    run(install.args(packages))?;
    match imports(import) {
        true => Ok(()),
        false => Err(format!(
            "the installed Python packages {} cannot be loaded",
            packages.join(", ")
        )),
    }
}

fn imports(statement: &str) -> bool {
    Command::new(interpreter())
        .args(["-c", statement])
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
