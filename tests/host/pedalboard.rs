//! The bundle in a real VST3 host that runs without a window, the Python package `pedalboard`: two
//! part values set, saved, opened anew, and what is heard equals the command line's rendering; a fresh
//! instance renders at 8 times oversampling.
//! Skipped where the package is not installed; `cargo xtask test` installs it.

use crate::fixture::outside::{COMPARISONS, Measure, RATE, run, script, told};
use crate::fixture::pluck;
use std::path::PathBuf;
use std::process::Command;

/// The interpreter that has the package: the one that the environment names, the one that the chore
/// has made, or any.
fn interpreter() -> Result<PathBuf, String> {
    let target = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).with_file_name("python");
    let within = if cfg!(windows) {
        "Scripts/python.exe"
    } else {
        "bin/python"
    };
    let candidates = [
        std::env::var_os("PRESOLDER_PYTHON").map(PathBuf::from),
        Some(target.join(within)),
        Some("python3".into()),
    ];
    let has = |python: &PathBuf| {
        let mut command = Command::new(python);
        run(command.args(["-c", "import pedalboard, numpy"]), 60).is_ok()
    };
    let found = candidates.into_iter().flatten().find(has);
    found.ok_or_else(|| "the Python packages pedalboard and numpy are not installed".into())
}

/// A recording as the scripts read it.
fn raw(channels: &[Vec<f32>]) -> Vec<u8> {
    let samples = channels.iter().flatten();
    samples.flat_map(|sample| sample.to_le_bytes()).collect()
}

/// The host renders off line from its first call on.
#[test]
fn a_fresh_instance_renders_at_eight_times() {
    let python = match interpreter() {
        Ok(python) => python,
        Err(reason) => {
            crate::absent::absent(&reason);
            return;
        }
    };
    let folder = tempfile::tempdir().expect("a folder");
    let source = folder.path().join("in.raw");
    std::fs::write(&source, raw(&pluck(f64::from(RATE), 24_000, 2, 0.5))).expect("written");
    for class in ["Presolder Bradawl 15", "Presolder Own Amp"] {
        let mut command = Command::new(&python);
        command.arg(script("pedalboard_quality.py"));
        command.arg(crate::fixture::vst3_folder()).arg(class);
        command.arg(RATE.to_string()).arg(&source);
        let said = run(&mut command, 300).unwrap_or_else(|fault| panic!("{fault}"));
        assert!(told(&said, "from 2 times") > 0, "{said}");
        assert_eq!(told(&said, "from 8 times"), 0, "{said}");
    }
}

#[test]
fn a_project_sounds_as_the_command_line_does() {
    let python = match interpreter() {
        Ok(python) => python,
        Err(reason) => {
            crate::absent::absent(&reason);
            return;
        }
    };
    for comparison in &COMPARISONS {
        let folder = tempfile::tempdir().expect("a folder");
        let reference = comparison.rendered(folder.path());
        let [source, target] = ["in.raw", "out.raw"].map(|name| folder.path().join(name));
        std::fs::write(&source, raw(&comparison.input())).expect("written");
        let mut command = Command::new(&python);
        command.arg(script("pedalboard_project.py"));
        command
            .arg(crate::fixture::vst3_folder())
            .arg(comparison.class);
        command
            .arg(RATE.to_string())
            .arg(reference.len().to_string());
        command.args([&source, &target]);
        for (name, position) in comparison.positions() {
            command.arg(format!("{name}={position}"));
        }
        let said = run(&mut command, 300).unwrap_or_else(|fault| panic!("{fault}"));
        for [name, _, value] in comparison.parts {
            assert!(said.contains(&format!("{name} {value}")), "{said}");
        }
        let raw = std::fs::read(&target).expect("what was heard");
        let samples: Vec<f32> = raw
            .chunks_exact(4)
            .map(|bytes| f32::from_le_bytes(bytes.try_into().expect("four bytes")))
            .collect();
        let heard: Vec<Vec<f32>> = samples
            .chunks_exact(samples.len() / reference.len())
            .map(<[f32]>::to_vec)
            .collect();
        let aligned = (told(&said, "latency"), 0);
        comparison.assert_agrees(&reference, &heard, aligned, Measure::Peak);
    }
}
