//! What is marked *Real-time* neither allocates nor frees: any attempt to aborts this process
//! (the allocator of `assert_no_alloc` acts with debug assertions, which the test profile has).

use crate::solved::Solved;
use nice_assert_no_alloc::assert_no_alloc;
use presolder::numeric::random::Random;
use presolder::realtime::dispatch::Instructions;
use presolder::realtime::{Processor, Settings};

/// Plays hard enough to refine, to be governed and to limit Newton steps, moving every value.
fn play(bench: &Solved, instructions: Instructions) {
    let rate = 48_000.0;
    let lanes = [(&bench.values, bench.point.solution.as_slice()); 4];
    let mut processor =
        Processor::<4>::new(&bench.network, lanes, Settings::live(rate, 1), instructions);
    let mut random = Random::new(5, 0);
    let x: Vec<f64> = (0..64).map(|_| 20.0 * random.even()).collect();
    let mut y = vec![vec![0.0; 64]; 4];
    let [a, b, c, d] = &mut y[..] else {
        unreachable!("four lanes")
    };
    assert_no_alloc(|| {
        for round in 0..20 {
            for (branch, &value) in bench.values.branches.iter().enumerate() {
                processor.set_branch(round % 4, branch, value);
            }
            processor.set_devices(round % 4, &bench.values.devices);
            processor.process(&[&x; 4], &mut [a, b, c, d]);
            if round == 10 {
                processor.reset(&bench.network, [bench.point.solution.as_slice(); 4]);
            }
        }
    });
    let counts = processor.counts();
    assert!(
        counts.governed > 0 && counts.attempts > counts.intervals,
        "{counts:?}"
    );
    assert!(y[0].iter().all(|v| v.is_finite()));
}

#[test]
fn playing_and_changing_values_allocates_nothing() {
    if !cfg!(debug_assertions) {
        crate::absent::absent("without debug assertions the allocator is disarmed");
        return;
    }
    for amp in ["Bradawl 15", "Mizzle 5", "Spokeshave 18", "Sluice 40"] {
        let bench = Solved::built_in(amp);
        play(&bench, Instructions::detect());
        play(&bench, Instructions::Baseline);
    }
}

#[test]
#[ignore = "aborts; run by the test below in a process of its own"]
fn allocates_on_purpose() {
    assert_no_alloc(|| {
        std::hint::black_box(vec![1]);
    });
}

#[test]
fn an_allocation_would_be_noticed() {
    let itself = std::env::current_exe().expect("this test's path");
    let output = std::process::Command::new(itself)
        .args([
            "--exact",
            "realtime_allocations::allocates_on_purpose",
            "--ignored",
        ])
        .output()
        .expect("this test runs");
    assert_eq!(output.status.success(), !cfg!(debug_assertions));
}
