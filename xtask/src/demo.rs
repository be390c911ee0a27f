//! `cargo xtask demo`: builds the program and lets it compare the demo amp as found with its
//! proposal on the built-in guitar phrase. Leaves sound, picture and tables in `demo/`.

use crate::packages;
use crate::steps::{Steps, cargo};

/// The demo's amp among the built-in ones.
const AMP: &str = "Bradawl 15";
/// Its proposal among the built-in ones.
const PROPOSAL: &str = "cooler";

/// The program without its window, which builds in half the time.
const PROGRAM: [&str; 4] = [
    "--release",
    "--package",
    "presolder",
    "--no-default-features",
];

/// Builds and runs the comparison.
pub fn run(arguments: &[String]) -> Result<(), String> {
    if let Some(other) = arguments.first() {
        return Err(format!("takes no arguments, but got '{other}'"));
    }
    let mut steps = Steps::new(3);
    let result = all(&mut steps);
    println!("{}", steps.summary());
    result
}

fn all(steps: &mut Steps) -> Result<(), String> {
    steps.step("Debian packages", || {
        packages::ensure(&packages::BUILD.iter().collect::<Vec<_>>())
    })?;
    steps.step("build the program, optimised", || {
        cargo(&[&["build"], &PROGRAM[..]].concat())
    })?;
    steps.step("as found against proposed", || {
        let compare = ["compare", AMP, "--proposal", PROPOSAL, "--into", "demo"];
        cargo(&[&["run", "--quiet"], &PROGRAM[..], &["--"], &compare[..]].concat())?;
        println!(
            "\nNext: `cargo xtask install` builds the plugin and the window too (some four minutes the \
             first time); then `presolder play`."
        );
        Ok(())
    })
}
