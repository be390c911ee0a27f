//! `cargo xtask`: the project's chores. Takes the chore's name and its arguments, runs it from the
//! top of the checkout, and exits with 0 when everything went well.

mod apt;
mod bundle;
mod demo;
mod disk;
mod install;
mod packages;
mod passed;
mod python;
mod replace;
mod runner;
mod steps;
mod test;
mod tidy;

use std::path::PathBuf;
use std::process::ExitCode;

/// One chore: its name, what it does in a line, and the function that does it.
struct Chore {
    name: &'static str,
    about: &'static str,
    run: fn(&[String]) -> Result<(), String>,
}

const CHORES: &[Chore] = &[
    Chore {
        name: "demo",
        about: "build, then compare the demo amp as found and as proposed; files go to demo/",
        run: demo::run,
    },
    Chore {
        name: "test",
        about: "format check, clippy with warnings denied, all tests; what .ci/run runs",
        run: test::run,
    },
    Chore {
        name: "tidy",
        about: "the house rules (imports, circles, lengths) in seconds",
        run: tidy::run,
    },
    Chore {
        name: "bundle",
        about: "build the plugin (CLAP, VST3) and the program into target/bundled; --debug or --profile NAME for another build, --into FOLDER",
        run: bundle::run,
    },
    Chore {
        name: "install",
        about: "bundle, then put plugin and program into this user's folders; --to FOLDER, --dry-run",
        run: install::run,
    },
    Chore {
        name: "bench",
        about: "measure the engine's speed beside a reference",
        run: bench,
    },
    Chore {
        name: "fuzz",
        about: "feed the readers with hostile files",
        run: |arguments| engine_chore("fuzz", arguments),
    },
    Chore {
        name: "fit-valves",
        about: "fit the valve laws to the published points and print each residual",
        run: |arguments| engine_chore("fit-valves", arguments),
    },
];

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let Some(name) = arguments.first() else {
        eprint!("{}", help());
        return ExitCode::from(2);
    };
    if matches!(name.as_str(), "--help" | "-h" | "help") {
        print!("{}", help());
        return ExitCode::SUCCESS;
    }
    let Some(chore) = CHORES.iter().find(|chore| chore.name == name) else {
        eprintln!("There is no chore called '{name}'.\n");
        eprint!("{}", help());
        return ExitCode::from(2);
    };
    if arguments[1..].iter().any(|a| a == "--help" || a == "-h") {
        println!("cargo xtask {}: {}", chore.name, chore.about);
        return ExitCode::SUCCESS;
    }
    match (chore.run)(&arguments[1..]) {
        Ok(()) => ExitCode::SUCCESS,
        Err(message) => {
            eprintln!("\ncargo xtask {name}: {message}");
            ExitCode::FAILURE
        }
    }
}

/// The list of chores.
fn help() -> String {
    let mut text = String::from("Usage: cargo xtask CHORE [ARGUMENTS]\n\nChores:\n");
    for chore in CHORES {
        text += &format!("  {:<12}{}\n", chore.name, chore.about);
    }
    text + "\ndemo and test install the Debian packages they miss when run as root, and otherwise\nprint the one line to run.\n"
}

/// The engine's bench, then how long a host waits for the bundle and what a frame of the window costs.
fn bench(arguments: &[String]) -> Result<(), String> {
    engine_chore("bench", arguments)?;
    println!("\nThe bundle in a CLAP host, and the window:");
    bundle::bundle(&bundle::Options::default())?;
    let bundles = target().join("bundled");
    steps::cargo_with(
        &[
            "test",
            "--quiet",
            "--test",
            "host",
            "--test",
            "editor",
            "--",
            "--ignored",
            "--nocapture",
            "times::scanning_and_opening",
            "pictures::what_a_frame_costs",
        ],
        &[("PRESOLDER_BUNDLES", &bundles)],
    )
}

/// Runs a chore of the second program, which is built with the engine.
fn engine_chore(name: &str, arguments: &[String]) -> Result<(), String> {
    let mut all = vec![
        "run",
        "--quiet",
        "--release",
        "--package",
        "xtask",
        "--features",
        "engine",
        "--bin",
        "engine-chores",
        "--",
        name,
    ];
    all.extend(arguments.iter().map(String::as_str));
    steps::cargo(&all)
}

/// The top of the checkout: the folder above this package's manifest.
fn top() -> PathBuf {
    let manifest = std::env::var_os("CARGO_MANIFEST_DIR").map_or_else(PathBuf::new, PathBuf::from);
    match manifest.parent() {
        Some(parent) if parent.join("Cargo.toml").exists() => parent.to_path_buf(),
        _ => PathBuf::from("."),
    }
}

/// Cargo's folder for what it builds.
fn target() -> PathBuf {
    std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| top().join("target"), PathBuf::from)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn help_names_every_chore() {
        for chore in CHORES {
            assert!(help().contains(chore.name));
        }
    }
}
