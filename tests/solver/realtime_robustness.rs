//! The processor under what no amp should meet: it stays finite and bounded, solves every step,
//! keeps its budget, and falls silent again. Seeds are fixed.

use crate::solved::Solved;
use engine::circuit::WrittenSetting;
use engine::numeric::random::Random;
use engine::realtime::dispatch::Instructions;
use engine::realtime::{Counts, Governor, Processor, Settings};
use std::f64::consts::TAU;

const RATE: f64 = 48_000.0;
const AMPS: [&str; 4] = ["Bradawl 15", "Mizzle 5", "Spokeshave 18", "Sluice 40"];

fn processor(bench: &Solved, doublings: usize) -> Processor<4> {
    let lanes = [(&bench.values, bench.point.solution.as_slice()); 4];
    Processor::new(
        &bench.network,
        lanes,
        Settings::live(RATE, doublings),
        Instructions::detect(),
    )
}

/// Plays the same signal in all lanes and gives the first lane's sound.
fn play(processor: &mut Processor<4>, x: &[f64]) -> Vec<f64> {
    let mut y = vec![vec![0.0; x.len()]; 4];
    let [a, b, c, d] = &mut y[..] else {
        unreachable!("four lanes")
    };
    processor.process(&[x; 4], &mut [a, b, c, d]);
    y.swap_remove(0)
}

fn peak(y: &[f64]) -> f64 {
    y.iter().fold(0.0, |m, v| {
        if v.is_finite() {
            f64::max(m, v.abs())
        } else {
            f64::INFINITY
        }
    })
}

/// Highest sound that the output stage of any built-in amp can give, V: no supply reaches 550 V,
/// no transformer steps down by less than 20, and a winding may fly to a few times the supply.
const BOUND: f64 = 5.0 * 550.0 / 20.0;

/// Iterations that the governor allows over the whole run, with what one interval may overdraw.
fn within_budget(counts: Counts, doublings: usize) -> bool {
    let Some(Governor { grant, most }) = Settings::live(RATE, doublings).governor else {
        return false;
    };
    (counts.iterations as f64) < grant * counts.intervals as f64 * 2.0 + most
}

#[test]
fn torture_signals_stay_finite_bounded_and_solved() {
    let mut noise = Random::new(7, 0);
    let n = 4800;
    let at =
        |f: &mut dyn FnMut(f64) -> f64| (0..n).map(|i| f(i as f64 / RATE)).collect::<Vec<f64>>();
    let signals = [
        (
            "square",
            at(&mut |t| if (t * 440.0).fract() < 0.5 { 5.0 } else { -5.0 }),
        ),
        (
            "±50 V steps",
            at(&mut |t| {
                if (t * 50.0).fract() < 0.5 {
                    50.0
                } else {
                    -50.0
                }
            }),
        ),
        ("+50 V", at(&mut |_| 50.0)),
        ("sine 7 kHz", at(&mut |t| 20.0 * (TAU * 7000.0 * t).sin())),
        ("noise ±2 V", at(&mut |_| 2.0 * noise.even())),
        ("noise ±50 V", at(&mut |_| 50.0 * noise.even())),
    ];
    for amp in AMPS {
        let bench = Solved::built_in(amp);
        for doublings in [1, 2] {
            for (name, x) in &signals {
                let mut processor = processor(&bench, doublings);
                let y = play(&mut processor, x);
                let counts = processor.counts();
                println!(
                    "{amp} × {} {name}: peak {:.1} V {counts:?}",
                    1 << doublings,
                    peak(&y)
                );
                assert!(peak(&y) < BOUND, "{amp} {name}: {}", peak(&y));
                assert_eq!(
                    counts.unsolved, 0,
                    "{amp} {name}: every step has a solution"
                );
                assert!(within_budget(counts, doublings), "{amp} {name}: {counts:?}");
                let rest = play(&mut processor, &vec![0.0; 48_000]);
                let tail = peak(&rest[43_200..]);
                assert!(
                    tail < 0.05,
                    "{amp} {name}: {tail} V left after a second of silence"
                );
            }
        }
    }
}

#[test]
fn every_part_jumping_on_every_sample() {
    let mut noise = Random::new(11, 0);
    for amp in AMPS {
        let bench = Solved::built_in(amp);
        for doublings in [1, 2] {
            let mut processor = processor(&bench, doublings);
            let mut highest: f64 = 0.0;
            for n in 0..1200 {
                for (branch, &value) in bench.values.branches.iter().enumerate() {
                    let jumped = value.scaled(10f64.powf(noise.even()));
                    (0..4).for_each(|lane| processor.set_branch(lane, branch, jumped));
                }
                let y = play(
                    &mut processor,
                    &[3.0 * (TAU * 440.0 * n as f64 / RATE).sin()],
                );
                highest = highest.max(peak(&y));
            }
            let counts = processor.counts();
            println!("{amp} × {}: peak {highest:.0} V {counts:?}", 1 << doublings);
            assert_eq!(counts.unsolved, 0, "{amp}");
            // Parts that jump can lift any voltage by their ratio; what matters is an end to it.
            assert!(highest < 2300.0, "{amp}: {highest} V");
            for (branch, &value) in bench.values.branches.iter().enumerate() {
                (0..4).for_each(|lane| processor.set_branch(lane, branch, value));
            }
            let rest = play(&mut processor, &vec![0.0; 96_000]);
            let tail = peak(&rest[91_200..]);
            assert!(
                tail < 0.05,
                "{amp}: {tail} V left after two seconds of silence"
            );
        }
    }
}

#[test]
fn pots_at_their_ends_and_turned_while_playing() {
    for amp in AMPS {
        let bench = Solved::built_in(amp);
        let mut processor = processor(&bench, 1);
        let mut highest: f64 = 0.0;
        for step in 0..16 {
            let mut turned = bench.circuit.clone();
            for (k, control) in bench.circuit.controls().into_iter().enumerate() {
                let full = (step >> (k % 4)) & 1 == 1;
                // A pot takes a number, a switch a word.
                let settings =
                    if full { ["1", "on"] } else { ["0", "off"] }.map(|value| WrittenSetting {
                        control: control.into(),
                        value: value.into(),
                        line: None,
                    });
                turned = turned
                    .with_written_controls(&settings[..1])
                    .or_else(|_| turned.with_written_controls(&settings[1..]))
                    .expect("a pot or a switch");
            }
            let values = bench.network.values(&turned);
            for (branch, &value) in values.branches.iter().enumerate() {
                (0..4).for_each(|lane| processor.set_branch(lane, branch, value));
            }
            let x: Vec<f64> = (0..2400)
                .map(|n| (TAU * 220.0 * n as f64 / RATE).sin())
                .collect();
            highest = highest.max(peak(&play(&mut processor, &x)));
        }
        assert!(highest > 0.1 && highest < BOUND, "{amp}: {highest} V");
        assert_eq!(processor.counts().unsolved, 0, "{amp}");
    }
}

#[test]
fn any_cut_into_blocks_gives_the_same_samples_and_reset_equals_new() {
    let bench = Solved::built_in("Bradawl 15");
    let mut noise = Random::new(3, 0);
    let x: Vec<f64> = (0..3000).map(|_| noise.even()).collect();
    let whole = play(&mut processor(&bench, 1), &x);
    let mut cut = processor(&bench, 1);
    let mut pieces = Vec::new();
    let mut at = 0;
    for length in [1, 7, 64, 1, 513, 2000, 400, 14].into_iter() {
        pieces.extend(play(&mut cut, &x[at..at + length]));
        at += length;
    }
    assert_eq!(at, x.len());
    assert!(whole == pieces, "blocks change nothing");
    let point = bench.point.solution.as_slice();
    cut.reset(&bench.network, [point; 4]);
    assert!(whole == play(&mut cut, &x), "reset equals new");
}
