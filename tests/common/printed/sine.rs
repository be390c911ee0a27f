//! A circuit under a steady 1 kHz sine: harmonics of what is heard and mean valve currents.
//!
//! The transient oracle runs until two successive periods agree, with a whole number of steps a
//! period, so that the discrete Fourier transform of one period has neither leakage nor window.

use super::{Site, ValveAmps, site, valve_amps};
use crate::solved::Solved;
use engine::solve::Transient;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// Test tone, Hz. Where print does not state one this is our choice: low enough for every
/// electrode capacitance to be out of play, high enough for the transformer's inductance.
pub const TONE_HZ: f64 = 1000.0;
/// Steps a period. The trapezoid then bends the tenth harmonic's frequency by 2 %.
pub const STEPS: usize = 128;
/// Harmonics that count as distortion: the second to this one.
const HARMONICS: usize = 10;
/// Two successive periods that agree this well end the settling: share of the fundamental and of
/// each mean current, over [`STRIDE`] periods.
const SETTLED: f64 = 2e-4;
/// Periods between two looks.
const STRIDE: usize = 25;
/// Periods after which a circuit that has not settled fails the test.
const MOST_PERIODS: usize = 4000;

/// What the instruments read.
#[derive(Clone, Debug)]
pub struct Reading {
    /// Peak volts of each harmonic of what is heard, the first being the fundamental.
    pub harmonics: Vec<f64>,
    /// Mean currents of the valves asked for.
    pub amps: Vec<ValveAmps>,
}

impl Reading {
    /// R.m.s. volts of the fundamental.
    pub fn volts_rms(&self) -> f64 {
        self.harmonics[0] * 0.5_f64.sqrt()
    }
    /// Power of fundamental and harmonics in a resistor, W.
    pub fn watts(&self, ohms: f64) -> f64 {
        self.harmonics.iter().map(|v| v * v).sum::<f64>() / (2.0 * ohms)
    }
    /// One harmonic as per cent of the fundamental; 2 is the second.
    pub fn harmonic_percent(&self, order: usize) -> f64 {
        100.0 * self.harmonics[order - 1] / self.harmonics[0]
    }
    /// Harmonics 2 to 10 together, per cent of the fundamental.
    pub fn distortion_percent(&self) -> f64 {
        let sum: f64 = self.harmonics[1..].iter().map(|v| v * v).sum();
        100.0 * sum.sqrt() / self.harmonics[0]
    }
}

/// Runs the circuit from rest with `volts_rms` of 1 kHz in the jack until it is steady.
pub fn steady(bench: &Solved, volts_rms: f64, valves: &[&str]) -> Reading {
    let heard = bench.network.output();
    steady_between(bench, heard, volts_rms, valves)
}

/// The same, with the meter between two positions.
pub fn steady_between(
    bench: &Solved,
    heard: [usize; 2],
    volts_rms: f64,
    valves: &[&str],
) -> Reading {
    steady_in_steps(STEPS, bench, heard, volts_rms, valves)
}

/// The same in a chosen number of steps a period.
pub fn steady_in_steps(
    steps: usize,
    bench: &Solved,
    [positive, negative]: [usize; 2],
    volts_rms: f64,
    valves: &[&str],
) -> Reading {
    let step = 1.0 / (TONE_HZ * steps as f64);
    let mut transient = Transient::new(&bench.network, &bench.values, &bench.point, step);
    let sites: Vec<Site> = valves.iter().map(|v| site(bench, v)).collect();
    let peak = volts_rms * std::f64::consts::SQRT_2;
    let mut last: Option<Reading> = None;
    for period in 1..=MOST_PERIODS {
        let mut heard = Vec::with_capacity(steps);
        let mut amps = vec![ValveAmps::default(); sites.len()];
        for n in 1..=steps {
            let phase = TAU * n as f64 / steps as f64;
            transient
                .step(peak * phase.sin())
                .expect("the step converges");
            heard.push(transient.solution()[positive] - transient.solution()[negative]);
            if period % STRIDE == 0 {
                for (sum, &site) in amps.iter_mut().zip(&sites) {
                    let i = valve_amps(&bench.network, bench, site, transient.solution());
                    sum.anode += i.anode / steps as f64;
                    sum.screen += i.screen / steps as f64;
                    sum.grid += i.grid / steps as f64;
                }
            }
        }
        if period % STRIDE != 0 {
            continue;
        }
        let reading = Reading {
            harmonics: (1..=HARMONICS).map(|k| harmonic(&heard, k)).collect(),
            amps,
        };
        if let Some(last) = &last
            && agree(last, &reading)
        {
            return reading;
        }
        last = Some(reading);
    }
    panic!("not steady after {MOST_PERIODS} periods")
}

fn agree(a: &Reading, b: &Reading) -> bool {
    let near = |a: f64, b: f64, scale: f64| (a - b).abs() <= SETTLED * scale;
    let scale = b.harmonics[0];
    let same = |x: &ValveAmps, y: &ValveAmps| {
        near(x.anode, y.anode, y.anode) && near(x.screen, y.screen, y.screen.max(1e-6))
    };
    a.harmonics
        .iter()
        .zip(&b.harmonics)
        .all(|(a, b)| near(*a, *b, scale))
        && a.amps.iter().zip(&b.amps).all(|(a, b)| same(a, b))
}

fn harmonic(period: &[f64], order: usize) -> f64 {
    let count = period.len() as f64;
    let sum: Complex64 = period
        .iter()
        .enumerate()
        .map(|(n, v)| Complex64::from_polar(*v, -TAU * (order * (n + 1)) as f64 / count))
        .sum();
    2.0 * sum.norm() / count
}

/// What is read between two positions when its distortion first reaches `percent`, by bisection of the
/// drive between zero and `most_rms` volts in the jack.
pub fn output_at_distortion(
    bench: &Solved,
    heard: [usize; 2],
    percent: f64,
    most_rms: f64,
) -> Reading {
    let (mut low, mut high) = (0.0, most_rms);
    let mut reading = steady_between(bench, heard, most_rms, &[]);
    assert!(
        reading.distortion_percent() > percent,
        "{most_rms} V in distorts by only {:.2} %",
        reading.distortion_percent()
    );
    // The output near there follows the drive, so 1 % of the drive is 1 % of the output.
    while high - low > 0.005 * high {
        let middle = 0.5 * (low + high);
        reading = steady_between(bench, heard, middle, &[]);
        if reading.distortion_percent() > percent {
            high = middle;
        } else {
            low = middle;
        }
    }
    reading
}
