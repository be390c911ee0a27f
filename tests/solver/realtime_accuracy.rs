//! The processor that is heard against the transient oracle, in band, at the settings it plays with.
//!
//! Chain of trust: the oracle's laws and stamps are checked against another circuit simulator
//! (`tests/solver/against_ngspice.rs`), its convergence here by halving its step, and the processor against it.
//! The bars are the project's own.

use crate::solved::{Solved, chord, error_in_band, oracle};
use engine::realtime::dispatch::Instructions;
use engine::realtime::{Counts, Processor, Settings};
use std::f64::consts::TAU;

const RATE: f64 = 48_000.0;
const SECONDS: f64 = 0.08;
/// Oracle steps per sample: 3.07 MHz.
const FINE: usize = 64;
/// Peak of the chord at the jack that brings the demo amp, as its file sets it, just below
/// clipping: 0.9 of its clipped peak output.
const FULL: f64 = 0.075;

/// Two tones that fade in within 4 ms, 1 at their peak.
fn tones(t: f64) -> f64 {
    let rise = if t < 0.004 {
        0.5 - 0.5 * (TAU * 0.5 * t / 0.004).cos()
    } else {
        1.0
    };
    rise * 0.5 * ((TAU * 196.0 * t).sin() + (TAU * 587.33 * t).sin())
}

fn play(
    bench: &Solved,
    doublings: usize,
    instructions: Instructions,
    input: impl Fn(f64) -> f64,
) -> (Vec<f64>, Counts) {
    let settings = Settings::live(RATE, doublings);
    let lanes = [(&bench.values, bench.point.solution.as_slice()); 4];
    let mut processor = Processor::<4>::new(&bench.network, lanes, settings, instructions);
    let late = processor.latency();
    let count = (SECONDS * RATE) as usize;
    let x: Vec<f64> = (0..count + late).map(|n| input(n as f64 / RATE)).collect();
    let mut y = vec![vec![0.0; x.len()]; 4];
    let [a, b, c, d] = &mut y[..] else {
        unreachable!("four lanes")
    };
    processor.process(&[&x; 4], &mut [a, b, c, d]);
    assert_eq!(y[0], y[3], "equal lanes give equal sound");
    (y[0][late..].to_vec(), processor.counts())
}

fn peak(x: &[f64]) -> f64 {
    x.iter().fold(0.0, |m, v| f64::max(m, v.abs()))
}

#[test]
fn the_oracle_has_converged() {
    let bench = Solved::built_in("Bradawl 15");
    for (drive, bar) in [(1.0, -110.0), (5.0, -75.0), (100.0, -62.0)] {
        let input = |t| drive * FULL * chord(t);
        let fine = oracle(&bench, RATE, FINE, SECONDS, input);
        let finer = oracle(&bench, RATE, 2 * FINE, SECONDS, input);
        let error = error_in_band(&fine, &finer, RATE);
        println!("drive × {drive}: 3.07 against 6.14 MHz {error:.1} dB");
        // At least 10 dB below what the processor is allowed at this drive.
        assert!(error < bar, "{drive}: {error:.1} dB");
    }
}

#[test]
fn in_band_error_at_every_drive() {
    let bench = Solved::built_in("Bradawl 15");
    type Signal = fn(f64) -> f64;
    let cases: [(&str, Signal, f64, [f64; 2]); 6] = [
        ("clean chord", chord, 0.1, [-75.0, -85.0]),
        ("chord at full output", chord, 1.0, [-75.0, -85.0]),
        ("tones at full output", tones, 1.0, [-75.0, -85.0]),
        ("tones, 5 times that", tones, 5.0, [-60.0, -60.0]),
        ("hard chord, 5 times", chord, 5.0, [-60.0, -60.0]),
        ("chord, 100 times", chord, 100.0, [-50.0, -50.0]),
    ];
    let mut clipped = 0.0;
    let mut report = Vec::new();
    for (name, signal, drive, bars) in cases.into_iter().rev() {
        let input = |t| drive * FULL * signal(t);
        let reference = oracle(&bench, RATE, FINE, SECONDS, input);
        clipped = f64::max(clipped, if drive == 5.0 { peak(&reference) } else { 0.0 });
        if name == "chord at full output" {
            let share = peak(&reference) / clipped;
            assert!(
                (0.75..0.98).contains(&share),
                "full output is {share:.2} of clipping: set FULL anew"
            );
        }
        for (doublings, bar) in [1, 2].into_iter().zip(bars) {
            let (got, counts) = play(&bench, doublings, Instructions::detect(), input);
            let error = error_in_band(&got, &reference, RATE);
            println!(
                "{name:22} × {}: {error:6.1} dB (bar {bar}); {counts:?}",
                1 << doublings
            );
            assert_eq!(
                (counts.unsolved, counts.governed),
                (0, 0),
                "{name}: within the budget"
            );
            report.push((name, doublings, error, bar));
        }
    }
    for (name, doublings, error, bar) in report {
        assert!(
            error <= bar,
            "{name}, × {}: {error:.1} dB, bar {bar} dB",
            1 << doublings
        );
    }
}

#[test]
fn baseline_instructions_give_the_same_sound() {
    let bench = Solved::built_in("Bradawl 15");
    let input = |t| 5.0 * FULL * chord(t);
    let (fused, _) = play(&bench, 1, Instructions::detect(), input);
    let (plain, _) = play(&bench, 1, Instructions::Baseline, input);
    // Rounding differs, and with it now and then the number of iterations: the difference stays
    // at the tolerance of the iteration, far below the error against the oracle.
    let error = error_in_band(&plain, &fused, RATE);
    println!("baseline against fused: {error:.1} dB");
    assert!(error < -85.0, "{error:.1} dB");
}

/// Gain of the running processor at `hz`, all at once, by a sum of small sines on exact bins.
fn running_gains(bench: &Solved, doublings: usize, bins: &[usize], size: usize) -> Vec<f64> {
    let settings = Settings::live(RATE, doublings);
    let lanes = [(&bench.values, bench.point.solution.as_slice()); 1];
    let mut processor =
        Processor::<1>::new(&bench.network, lanes, settings, Instructions::detect());
    let amplitude = 20e-6;
    let settle = 3 * size;
    let x: Vec<f64> = (0..settle + size)
        .map(|n| {
            let tone =
                |&k: &usize| (TAU * (k * n % size) as f64 / size as f64 + (k * k) as f64).sin();
            amplitude * bins.iter().map(tone).sum::<f64>()
        })
        .collect();
    let mut y = vec![0.0; x.len()];
    processor.process(&[&x], &mut [&mut y]);
    bins.iter()
        .map(|&k| {
            let (mut re, mut im) = (0.0, 0.0);
            for (n, v) in y[settle..].iter().enumerate() {
                let (sin, cos) = (TAU * (k * n % size) as f64 / size as f64).sin_cos();
                re += v * cos;
                im += v * sin;
            }
            re.hypot(im) * 2.0 / size as f64 / amplitude
        })
        .collect()
}

#[test]
fn the_running_processor_has_the_analogue_response() {
    for amp in ["Bradawl 15", "Mizzle 5", "Spokeshave 18", "Sluice 40"] {
        let bench = Solved::built_in(amp);
        let small = engine::solve::SmallSignal::new(&bench.network, &bench.values, &bench.point);
        // 5 Hz bins: 25 Hz to 10 kHz, none a multiple of another's difference with its neighbour.
        let size = 9600;
        let bins = [
            5, 8, 13, 21, 34, 55, 89, 144, 233, 377, 610, 987, 1597, 1990,
        ];
        for (doublings, bar) in [(1, 0.25), (2, 0.1)] {
            let gains = running_gains(&bench, doublings, &bins, size);
            let mut worst = (0.0_f64, 0.0);
            for (&bin, gain) in bins.iter().zip(gains) {
                let hz = bin as f64 * RATE / size as f64;
                let difference = 20.0 * (gain / small.gain(hz).norm()).log10();
                if difference.abs() > worst.0.abs() {
                    worst = (difference, hz);
                }
            }
            println!(
                "{amp} × {}: worst {:+.3} dB at {:.0} Hz",
                1 << doublings,
                worst.0,
                worst.1
            );
            assert!(
                worst.0.abs() <= bar,
                "{amp} × {}: {worst:?}",
                1 << doublings
            );
        }
    }
}
