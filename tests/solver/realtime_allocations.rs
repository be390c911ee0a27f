//! What is marked *Real-time* neither allocates nor frees: any attempt to aborts this process
//! (see `forbids_allocation`).

use crate::solved::Solved;
use engine::numeric::random::Random;
use engine::realtime::dispatch::Instructions;
use engine::realtime::{Processor, Settings};
use nice_assert_no_alloc::assert_no_alloc;

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
