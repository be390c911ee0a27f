//! The bundle runs on any processor of its kind, although it uses what a newer one offers: the
//! plugin and the program run here on a make-believe one that has nothing beyond the first 64-bit
//! instructions and SSE3, and play the same. Skipped where QEMU is not installed.

use crate::fixture::clap::Instance;
use crate::fixture::outside::run;
use crate::fixture::{CLASSES, pluck};
use std::path::{Path, PathBuf};
use std::process::Command;

const RATE: f64 = 48_000.0;
/// QEMU's name for such a processor.
const PROCESSOR: &str = "qemu64";
/// The sound of one set of instructions against another's, dB: they round differently, and a step
/// may be refined in one and not in the other at a threshold; own design, as in the accuracy bars.
const AGREEMENT: f64 = -80.0;

/// Where the sound goes that the hidden test makes.
const OUTPUT: &str = "PRESOLDER_TEST_OUTPUT";

#[test]
#[ignore = "run by the test below, on this processor and on another"]
fn plays_a_pluck() {
    let path = std::env::var_os(OUTPUT).expect("where to");
    let mut bytes = Vec::new();
    for class in CLASSES {
        let mut instance = Instance::new(class);
        instance.activate(RATE, 512);
        let output = instance.play(&pluck(RATE, 1_024, 1, 0.3), &[512], &[]);
        bytes.extend(output.iter().flatten().flat_map(|x| x.to_le_bytes()));
    }
    std::fs::write(path, bytes).expect("written");
}

fn emulator(program: &Path) -> Command {
    let mut command = Command::new("qemu-x86_64");
    command.args(["-cpu", PROCESSOR]).arg(program);
    command
}

#[test]
fn an_old_processor_plays_the_same() {
    if !cfg!(all(target_os = "linux", target_arch = "x86_64")) {
        crate::absent::absent("made for Linux on x86-64");
        return;
    }
    if run(Command::new("qemu-x86_64").arg("--version"), 10).is_err() {
        crate::absent::absent("QEMU's qemu-x86_64 is not installed");
        return;
    }
    let folder = tempfile::tempdir().expect("a folder");
    let itself = std::env::current_exe().expect("this test's path");
    let play = |mut command: Command, name: &str| {
        let path: PathBuf = folder.path().join(name);
        command.args(["--exact", "old_processor::plays_a_pluck", "--ignored"]);
        command.env(OUTPUT, &path);
        run(&mut command, 240).unwrap_or_else(|fault| panic!("{name}: {fault}"));
        let bytes = std::fs::read(path).expect("a sound");
        let samples = bytes.chunks_exact(4);
        let read = |b: &[u8]| f32::from_le_bytes(b.try_into().expect("four bytes"));
        samples.map(read).map(f64::from).collect::<Vec<f64>>()
    };
    let new = play(Command::new(&itself), "new");
    let old = play(emulator(&itself), "old");
    assert_eq!(new.len(), old.len());
    let most = |values: &mut dyn Iterator<Item = f64>| values.fold(0.0, |a: f64, b| a.max(b.abs()));
    let apart = most(&mut new.iter().zip(&old).map(|(a, b)| a - b));
    let peak = most(&mut new.iter().copied());
    let decibels = 20.0 * (apart / peak).log10();
    println!("an old processor is {decibels:.0} dB apart");
    assert!(decibels < AGREEMENT, "{decibels} dB");

    let program = Path::new(env!("CARGO_BIN_EXE_presolder"));
    let said = run(emulator(program).args(["voltages", "Bradawl 15"]), 120);
    let said = said.unwrap_or_else(|fault| panic!("{fault}"));
    assert!(said.contains("Bradawl 15"), "{said}");
}
