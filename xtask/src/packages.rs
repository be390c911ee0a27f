//! The Debian packages that the chores need: finds which are missing, and installs them when that
//! is possible or gives the one line that does.

use std::path::Path;
use std::process::{Command, Stdio};

/// One package.
pub struct Package {
    /// Its name in Debian.
    pub name: &'static str,
    /// What it brings; whoever has that from elsewhere need not install the package.
    pub brings: Brings,
    /// What needs it.
    pub reason: &'static str,
}

/// How to see that a package's use is there already.
pub enum Brings {
    /// A program on the search path.
    Program(&'static str),
    /// A file.
    File(&'static str),
}

/// What the linker of any Rust program needs; whoever can run this chore has had it once.
pub const BUILD: &[Package] = &[
    Package {
        name: "gcc",
        brings: Brings::Program("cc"),
        reason: "links every Rust program",
    },
    Package {
        name: "libc6-dev",
        brings: Brings::File("/usr/include/stdio.h"),
        reason: "links every Rust program",
    },
];

/// What the tests need beside [`BUILD`].
pub const TEST: &[Package] = &[
    Package {
        name: "ngspice",
        brings: Brings::Program("ngspice"),
        reason: "the reference that the solver is held against",
    },
    Package {
        name: "fluidsynth",
        brings: Brings::Program("fluidsynth"),
        reason: "plays the dry guitar part of a test",
    },
    Package {
        name: "timgm6mb-soundfont",
        brings: Brings::File("/usr/share/sounds/sf2/TimGM6mb.sf2"),
        reason: "the guitar of that part",
    },
];

/// Makes sure that all of `packages` are there.
///
/// # Errors
/// A message with the line to run when something is missing and cannot be installed from here.
pub fn ensure(packages: &[&Package]) -> Result<(), String> {
    let missing: Vec<&Package> = packages.iter().copied().filter(|p| !present(p)).collect();
    if missing.is_empty() {
        return Ok(());
    }
    for package in &missing {
        println!("    missing: {} ({})", package.name, package.reason);
    }
    let names: Vec<&str> = missing.iter().map(|p| p.name).collect();
    if !(is_root() && on_path("apt-get")) {
        return Err(format!(
            "packages are missing; install them with\n\n    {}\n",
            install_line(&names)
        ));
    }
    // The lists of a fresh machine are empty, so they are fetched first.
    apt(&["update", "-qq"])?;
    let mut arguments = vec!["install", "-y", "-qq", "--no-install-recommends"];
    arguments.extend(&names);
    apt(&arguments)
}

/// The line for somebody who is not root.
fn install_line(names: &[&str]) -> String {
    format!(
        "sudo apt-get update && sudo apt-get install -y {}",
        names.join(" ")
    )
}

/// Whether the package is installed, or what it brings is there from elsewhere.
fn present(package: &Package) -> bool {
    let there = match package.brings {
        Brings::Program(program) => on_path(program),
        Brings::File(file) => Path::new(file).exists(),
    };
    there || installed(package.name)
}

/// Whether Debian's package manager, if there is one, knows the package as installed.
fn installed(name: &str) -> bool {
    Command::new("dpkg-query")
        .args(["-W", "-f=${db:Status-Status}", name])
        .stderr(Stdio::null())
        .output()
        .is_ok_and(|output| output.stdout == b"installed")
}

/// Whether a program of this name is on the search path.
fn on_path(program: &str) -> bool {
    std::env::var_os("PATH")
        .is_some_and(|path| std::env::split_paths(&path).any(|dir| dir.join(program).is_file()))
}

/// Whether this runs as root, as `id -u` tells.
fn is_root() -> bool {
    Command::new("id")
        .arg("-u")
        .output()
        .is_ok_and(|output| output.stdout.trim_ascii() == b"0")
}

/// Runs `apt-get` without questions.
fn apt(arguments: &[&str]) -> Result<(), String> {
    println!("    apt-get {}", arguments.join(" "));
    let status = Command::new("apt-get")
        .args(arguments)
        .env("DEBIAN_FRONTEND", "noninteractive")
        .stdout(Stdio::null())
        .status()
        .map_err(|e| format!("apt-get cannot be started: {e}"))?;
    if status.success() {
        Ok(())
    } else {
        Err(format!("apt-get {} failed", arguments.join(" ")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOWHERE: Package = Package {
        name: "presolder-no-such-package",
        brings: Brings::Program("presolder-no-such-program"),
        reason: "a test",
    };

    #[test]
    fn a_missing_package_is_seen() {
        assert!(!present(&NOWHERE));
        assert!(on_path("sh"));
    }

    #[test]
    fn the_line_installs_all_at_once() {
        assert_eq!(
            install_line(&["ngspice", "gcc"]),
            "sudo apt-get update && sudo apt-get install -y ngspice gcc"
        );
    }
}
