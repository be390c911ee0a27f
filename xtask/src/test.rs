//! `cargo xtask test`: everything that must hold before a change is kept.
//!
//! What makes it short: twelve test programs, one for each room, instead of 119; `cargo-nextest`,
//! which keeps all processors busy across programs (without it the programs run one after another);
//! one build, since the check for allocations acts wherever there are debug assertions and the valve
//! files' fit is a test of the engine's chores. Processor seconds of the parts of that build, on a busy
//! machine with Rust 1.95: library 236, Fourier transforms 51 (made once, not in each program), a test
//! program 10 to 20. Of the library's time 32 s are the compiler's own, the others LLVM's.

use crate::runner::Run;
use crate::steps::{Steps, cargo};
use crate::{bundle, disk, packages, python, tidy};

/// Cargo's features for the tests.
const FEATURES: &str = "xtask/engine";

/// What a build of everything from nothing takes up, gigabytes; measured 2.7 with Rust 1.95.
const BUILT: f64 = 2.7;

/// Runs the packages check, the format check, the house rules, clippy with warnings denied, all tests with the
/// plugin as it is bundled; then tells the slowest and the skipped ones.
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
    steps.step("house rules", || tidy::run(&[]))?;
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
    let bundles = target.join("bundled-for-tests");
    let python = python::interpreter();
    let tests = Run {
        features: FEATURES,
        environment: &[
            ("PRESOLDER_BUNDLES", &bundles),
            ("PRESOLDER_PYTHON", &python),
        ],
    };
    steps.step("build the tests and the bundles", || {
        tests.build()?;
        bundle::bundle(&bundle::Options {
            profile: "dev".into(),
            build: false,
            into: Some(bundles.clone()),
        })?;
        Ok(())
    })?;
    steps.step("tests", || tests.run())
}

/// Says how to add a component of the toolchain that is not there.
fn component(subcommand: &str, component: &str) -> Result<(), String> {
    cargo(&[subcommand, "--version"]).map_err(|_| {
        format!(
            "this Rust toolchain lacks {component}; add it with: rustup component add {component}"
        )
    })
}
