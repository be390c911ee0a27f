//! Instances come and go on eight threads at once, each removed right after a change of oversampling,
//! with values that came from another thread than the one that made it. Nothing aborts, nothing panics,
//! no thread is left. `PRESOLDER_CYCLES` says how many; the test alone makes enough to last some
//! seconds.

use crate::fixture::vst3::{self, Mode};
use crate::fixture::{CLASSES, Dice, clap, pluck};
use std::process::Command;
use std::time::{Duration, Instant};

const RATE: f64 = 48_000.0;
const THREADS: usize = 8;
/// Said to the process in which instances come and go.
const CYCLES: &str = "PRESOLDER_CYCLES";
const FEW: usize = 1_000;

/// Threads of this process.
fn threads() -> usize {
    std::fs::read_dir("/proc/self/task").map_or(0, Iterator::count)
}

fn vst3_cycle(dice: &mut Dice, input: &[Vec<f32>]) {
    let mut instance = vst3::Instance::new(vst3::CLASSES[dice.below(5)]);
    let oversampling = instance.param("Oversampling");
    let mut sets = vec![(oversampling, 1.0 / 3.0 * (1 + dice.below(3)) as f64)];
    for _ in 0..20 {
        let index = dice.below(instance.count() as usize);
        sets.extend(instance.told(index as i32).map(|(id, _)| (id, dice.roll())));
    }
    assert!(instance.set_up(Mode::Realtime, RATE, 64));
    // A host may also remove what it never started.
    if dice.roll() < 0.1 {
        return;
    }
    assert!(instance.set_active(true));
    let instance = &instance;
    std::thread::scope(|scope| {
        scope.spawn(|| instance.play(input, &sets));
    });
}

fn clap_cycle(dice: &mut Dice, input: &[Vec<f32>]) {
    let mut instance = clap::Instance::new(CLASSES[dice.below(5)]);
    let oversampling = instance.param("Oversampling");
    let set = clap::Set {
        frame: 3,
        id: oversampling.id,
        value: oversampling.at(1.0 / 3.0 * (1 + dice.below(3)) as f64),
    };
    if dice.roll() < 0.1 {
        return;
    }
    instance.activate(RATE, 64);
    instance.play(input, &[64], &[set]);
}

#[test]
#[ignore = "run by the test below in a process of its own"]
fn come_and_go() {
    let cycles = std::env::var(CYCLES)
        .ok()
        .and_then(|text| text.parse().ok());
    let cycles: usize = cycles.unwrap_or(FEW);
    let input = pluck(RATE, 64, 2, 0.3);
    let before = threads();
    std::thread::scope(|scope| {
        for thread in 0..THREADS {
            let input = &input;
            scope.spawn(move || {
                let mut dice = Dice::new(thread as u64);
                for _ in 0..cycles.div_ceil(THREADS) {
                    match dice.below(2) {
                        0 => vst3_cycle(&mut dice, input),
                        _ => clap_cycle(&mut dice, input),
                    }
                }
            });
        }
    });
    // The system may need a moment to take a thread that has ended off its list.
    let start = Instant::now();
    while threads() > before && start.elapsed() < Duration::from_secs(5) {
        std::thread::sleep(Duration::from_millis(1));
    }
    assert_eq!(threads(), before, "threads are left");
    println!("came and went");
}

#[test]
fn instances_can_be_removed_at_any_time() {
    let itself = std::env::current_exe().expect("this test's path");
    let start = Instant::now();
    let output = Command::new(itself)
        .args([
            "--exact",
            "removal::come_and_go",
            "--ignored",
            "--nocapture",
        ])
        .output()
        .expect("this test runs");
    let said = String::from_utf8_lossy(&output.stdout);
    let fault = String::from_utf8_lossy(&output.stderr);
    let panics = fault
        .lines()
        .filter(|line| line.contains("panicked"))
        .count();
    let end: Vec<&str> = fault.lines().rev().take(20).collect();
    assert!(
        output.status.success(),
        "{}\n{said}\n{end:#?}",
        output.status
    );
    assert!(said.contains("came and went"), "{said}");
    assert_eq!(panics, 0, "{end:#?}");
    println!("removed in {:.1} s", start.elapsed().as_secs_f64());
}
