//! `cargo xtask test`: everything that must hold before a change is kept.

use crate::steps::{Steps, cargo, cargo_with};
use crate::{bundle, disk, packages, python};

/// Cargo's features for the tests.
const FEATURES: &str = "xtask/engine";

/// What a build of everything from nothing takes up, gigabytes; measured 5.0 with Rust 1.95.
const BUILT: f64 = 5.0;

/// Runs the packages check, the format check, clippy with warnings denied, all tests with the
/// plugin as it is bundled, and the fits of the valves.
pub fn run(arguments: &[String]) -> Result<(), String> {
    if let Some(other) = arguments.first() {
        return Err(format!("takes no arguments, but got '{other}'"));
    }
    let mut steps = Steps::new(6);
    let result = all(&mut steps);
    println!("{}", steps.summary());
    result
}

fn all(steps: &mut Steps) -> Result<(), String> {
    let target = crate::target();
    if let Some(free) = disk::free_gigabytes(&target)
        && free < BUILT + 1.0
        && !target.join("debug").exists()
    {
        println!(
            "The disk may get full: {free:.1} GB are free for {}, and the tests' build takes \
             about {BUILT:.0} GB.",
            target.display()
        );
    }
    steps.step("Debian packages", || {
        let wanted: Vec<_> = packages::BUILD.iter().chain(packages::TEST).collect();
        packages::ensure(&wanted)?;
        packages::ensure_if_possible(packages::HOSTS);
        if let Err(message) = python::ensure() {
            println!("    {message}\n    Tests that need the Python packages are skipped.");
        }
        Ok(())
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
            "--features",
            FEATURES,
            "--",
            "--deny",
            "warnings",
        ])
    })?;
    // The development profile is optimised (see Cargo.toml), so these are not slow, and debug
    // assertions stay on. The hosts open the bundles, laid out from the tests' own build.
    let tests = ["test", "--workspace", "--features", FEATURES];
    let folder = crate::target().join("bundled-for-tests");
    steps.step("build the tests and the bundles", || {
        cargo(&[&tests[..], &["--no-run"]].concat())?;
        bundle::bundle(&bundle::Options {
            profile: "dev".into(),
            build: false,
            into: Some(folder.clone()),
        })?;
        Ok(())
    })?;
    steps.step("tests", || {
        let python = python::interpreter();
        cargo_with(
            &tests,
            &[
                ("PRESOLDER_BUNDLES", &folder),
                ("PRESOLDER_PYTHON", &python),
            ],
        )
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
