//! `cargo xtask test`: everything that must hold before a change is kept.

use crate::packages;
use crate::steps::{Steps, cargo};

/// Runs the packages check, the format check, clippy with warnings denied, all tests,
/// and the fits of the valves.
pub fn run(arguments: &[String]) -> Result<(), String> {
    if let Some(other) = arguments.first() {
        return Err(format!("takes no arguments, but got '{other}'"));
    }
    let mut steps = Steps::new(5);
    let result = all(&mut steps);
    println!("{}", steps.summary());
    result
}

fn all(steps: &mut Steps) -> Result<(), String> {
    steps.step("Debian packages", || {
        let wanted: Vec<_> = packages::BUILD.iter().chain(packages::TEST).collect();
        packages::ensure(&wanted)
    })?;
    steps.step("format check", || {
        component("fmt", "rustfmt")?;
        cargo(&["fmt", "--all", "--check"])
    })?;
    steps.step("clippy, warnings denied", || {
        component("clippy", "clippy")?;
        cargo(&[
            "clippy",
            "--workspace",
            "--all-targets",
            "--all-features",
            "--",
            "--deny",
            "warnings",
        ])
    })?;
    // The development profile is optimised (see Cargo.toml), so these are not slow, and debug
    // assertions stay on.
    steps.step("tests", || {
        cargo(&["test", "--workspace", "--all-features"])
    })?;
    // The printed residuals are for whoever fits; here it matters that the files follow from the
    // published points.
    steps.step("valve files follow from their points", || {
        crate::engine_chore("fit-valves", &["--check".into()])
    })
}

/// Says how to add a component of the toolchain that is not there.
fn component(subcommand: &str, component: &str) -> Result<(), String> {
    cargo(&[subcommand, "--version"]).map_err(|_| {
        format!(
            "this Rust toolchain lacks {component}; add it with: rustup component add {component}"
        )
    })
}
