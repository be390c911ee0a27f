//! The Debian packages that the chores need: finds which are missing, and installs them when that
//! is possible or gives the one line that does. Takes lists of packages; they are here too.

use crate::apt::apt;
use std::path::{Path, PathBuf};
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
    /// A shared library.
    Library(&'static str),
    /// Modules of Python.
    Python(&'static str),
    /// Nothing that can be seen from outside; the package manager knows.
    Itself,
}

/// What the build needs: a linker, and the audio interfaces of the program.
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
    Package {
        name: "pkg-config",
        brings: Brings::Program("pkg-config"),
        reason: "finds the audio interfaces",
    },
    Package {
        name: "libasound2-dev",
        brings: Brings::File("/usr/include/alsa/asoundlib.h"),
        reason: "live sound of the program, by ALSA",
    },
    Package {
        name: "libjack-jackd2-dev",
        brings: Brings::File("/usr/include/jack/jack.h"),
        reason: "live sound of the program, by JACK",
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
    Package {
        name: "xvfb",
        brings: Brings::Program("Xvfb"),
        reason: "a screen for the windows of the tests",
    },
    Package {
        name: "imagemagick",
        brings: Brings::Program("import"),
        reason: "pictures of those windows",
    },
    Package {
        name: "xdotool",
        brings: Brings::Program("xdotool"),
        reason: "the mouse on that screen",
    },
    Package {
        name: "libx11-6",
        brings: Brings::Library("libX11.so.6"),
        reason: "opens windows",
    },
    Package {
        name: "libx11-xcb1",
        brings: Brings::Library("libX11-xcb.so.1"),
        reason: "opens windows",
    },
    Package {
        name: "libxcb1",
        brings: Brings::Library("libxcb.so.1"),
        reason: "opens windows",
    },
    Package {
        name: "libxcursor1",
        brings: Brings::Library("libXcursor.so.1"),
        reason: "the pointer in windows",
    },
    Package {
        name: "libxkbcommon0",
        brings: Brings::Library("libxkbcommon.so.0"),
        reason: "typing into windows",
    },
    Package {
        name: "libxkbcommon-x11-0",
        brings: Brings::Library("libxkbcommon-x11.so.0"),
        reason: "typing into windows",
    },
    Package {
        name: "libegl1",
        brings: Brings::Library("libEGL.so.1"),
        reason: "draws windows",
    },
    Package {
        name: "libegl-mesa0",
        brings: Brings::Library("libEGL_mesa.so.0"),
        reason: "draws windows",
    },
    Package {
        name: "libgl1-mesa-dri",
        brings: Brings::Itself,
        reason: "draws windows without a graphics card",
    },
    Package {
        name: "mesa-vulkan-drivers",
        brings: Brings::File("/usr/share/vulkan/icd.d/lvp_icd.x86_64.json"),
        reason: "draws the editor's pictures without a graphics card",
    },
];

/// Hosts and machines whose tests are skipped, with a word why, where they cannot be had.
pub const HOSTS: &[Package] = &[
    Package {
        name: "ardour",
        brings: Brings::Program("ardour7-lua"),
        reason: "a real host: insert, save, reload, export",
    },
    Package {
        name: "python3-venv",
        brings: Brings::Python("venv, ensurepip"),
        reason: "the Python packages of a second real host",
    },
    Package {
        name: "qemu-user",
        brings: Brings::Program("qemu-x86_64"),
        reason: "runs the program on an old processor",
    },
];

/// Makes sure that all of `packages` are there.
///
/// # Errors
/// A message with the line to run when something is missing and cannot be installed from here.
pub fn ensure(packages: &[&Package]) -> Result<(), String> {
    let missing: Vec<&Package> = packages.iter().copied().filter(|p| !present(p)).collect();
    install(&missing)
}

/// Installs those of `packages` that are missing if that is possible, and otherwise says what
/// their absence means.
pub fn ensure_if_possible(packages: &[Package]) {
    let missing: Vec<&Package> = packages.iter().filter(|p| !present(p)).collect();
    if let Err(message) = install(&missing) {
        println!("    {message}    Without them, tests that need them are skipped.");
    }
}

fn install(missing: &[&Package]) -> Result<(), String> {
    if missing.is_empty() {
        return Ok(());
    }
    for package in missing {
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
        Brings::Library(library) => library_folders().iter().any(|f| f.join(library).exists()),
        Brings::Python(modules) => Command::new("python3")
            .args(["-c", &format!("import {modules}")])
            .stderr(Stdio::null())
            .status()
            .is_ok_and(|status| status.success()),
        Brings::Itself => false,
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

/// Where shared libraries lie: Debian keeps them in a folder for each kind of processor.
fn library_folders() -> Vec<PathBuf> {
    let mut folders = vec![
        "/usr/lib".into(),
        "/usr/lib64".into(),
        "/usr/local/lib".into(),
    ];
    if let Ok(entries) = std::fs::read_dir("/usr/lib") {
        let below = entries.filter_map(|entry| Some(entry.ok()?.path()));
        folders.extend(below.filter(|path| path.to_string_lossy().ends_with("-linux-gnu")));
    }
    folders
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
        let ways = [
            NOWHERE.brings,
            Brings::File("/presolder/no/such/file"),
            Brings::Library("libpresolder-no-such.so.0"),
            Brings::Python("presolder_no_such_module"),
            Brings::Itself,
        ];
        for brings in ways {
            assert!(!present(&Package { brings, ..NOWHERE }));
        }
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
