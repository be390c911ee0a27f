//! The level at which an amp leaves 1 % distortion behind, found in one short pass: eight circuits
//! side by side, each with a 1 kHz sine that rises evenly in decibels.
//!
//! What comes out is multiplied with the falling exponential that takes the rise away again: a
//! linear circuit answers a rising sine with a rising sine, so that what is left beside the
//! fundamental is distortion. Harmonics are read over four periods under a Hann window, whose
//! zeros stand on all the others and on what stands still.
//!
//! A rise of a tenth of a second says what a note's start does; supplies have not sagged as they
//! do under a sine that stands.

use crate::analysis::drive::HZ;
use crate::network::{Network, Values};
use crate::realtime::dispatch::Instructions;
use crate::realtime::{Processor, Settings};
use crate::units::ratio_from_decibels;
use num_complex::Complex64;
use std::f64::consts::{SQRT_2, TAU};

/// Circuits side by side.
pub const LANES: usize = 8;
/// Distortion that is looked for, as a share.
const LIMIT: f64 = 0.01;
/// Rate of the samples, Hz: 24 a period; the circuit is stepped at twice that.
const RATE: f64 = 24_000.0;
const PERIOD: usize = 24;
/// Samples of a window, and from one window to the next.
const WINDOW: usize = 4 * PERIOD;
const HOP: usize = 2 * PERIOD;
/// Harmonics that are counted: up to 8 kHz, where nearly all of the first per cent is.
const HARMONICS: usize = 8;
/// The sine fades in, then stands until it rises: samples.
const FADE: usize = 10 * PERIOD;
const STANDS: usize = 20 * PERIOD;
/// The rise, dB a sample: 24 dB in a tenth of a second.
const RISE: f64 = 0.01;

/// Where an amp stops being clean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Clean {
    /// Below the lowest level tried.
    Below,
    /// At this level at the jack, V r.m.s.
    Upto(f64),
    /// Above the highest level tried.
    Beyond,
}

/// Raises the sine from `lowest` (V r.m.s., one a lane) by so many decibels. `lanes`: values and
/// operating point of each circuit.
pub fn rise(
    network: &Network,
    lanes: [(&Values, &[f64]); LANES],
    lowest: [f64; LANES],
    decibels: f64,
) -> [Clean; LANES] {
    let mut processor = Processor::<LANES>::new(
        network,
        lanes,
        Settings {
            governor: None,
            ..Settings::live(RATE, 1)
        },
        Instructions::detect(),
    );
    let latency = processor.latency();
    let rising = (decibels / RISE).ceil() as usize;
    let count = STANDS + rising + latency + WINDOW;
    let growth = |sample: f64| ratio_from_decibels(RISE * (sample - STANDS as f64).max(0.0));
    let shape: Vec<f64> = (0..count)
        .map(|i| {
            let fade = (i as f64 / FADE as f64).min(1.0);
            fade * growth(i as f64) * SQRT_2 * (TAU * HZ * i as f64 / RATE).sin()
        })
        .collect();
    let feed: [Vec<f64>; LANES] = lowest.map(|volts| shape.iter().map(|s| volts * s).collect());
    let mut heard: [Vec<f64>; LANES] = std::array::from_fn(|_| vec![0.0; count]);
    let inputs: [&[f64]; LANES] = std::array::from_fn(|lane| feed[lane].as_slice());
    processor.process(&inputs, &mut heard.each_mut().map(Vec::as_mut_slice));
    let [positive, negative] = network.output();
    let window = Window::new();
    std::array::from_fn(|lane| {
        let point = lanes[lane].1;
        let idle = point[positive] - point[negative];
        let level: Vec<f64> = heard[lane]
            .iter()
            .enumerate()
            .map(|(i, v)| (v - idle) / growth(i as f64 - latency as f64))
            .collect();
        let mut last: Option<(f64, f64)> = None;
        let first = STANDS + latency - WINDOW / 2;
        for start in (first..=count - WINDOW).step_by(HOP) {
            let distortion = window.distortion(&level[start..start + WINDOW]);
            let middle = (start + WINDOW / 2 - latency) as f64;
            let volts = lowest[lane] * growth(middle);
            if distortion >= LIMIT {
                return match last {
                    None => Clean::Below,
                    // Straight in logarithms between two windows.
                    Some((before, less)) => {
                        let span = (distortion / less).ln();
                        let share = ((LIMIT / less).ln() / span).clamp(0.0, 1.0);
                        Clean::Upto(before * (volts / before).powf(share))
                    }
                };
            }
            last = Some((volts, distortion.max(f64::MIN_POSITIVE)));
        }
        Clean::Beyond
    })
}

/// The phasors of the harmonics under the window.
struct Window {
    phasors: Vec<[Complex64; HARMONICS]>,
}

impl Window {
    fn new() -> Self {
        let phasors = (0..WINDOW).map(|i| {
            let hann = 1.0 - (TAU * i as f64 / WINDOW as f64).cos();
            std::array::from_fn(|k| {
                let turn = TAU * HZ * (k + 1) as f64 * i as f64 / RATE;
                Complex64::from_polar(hann, -turn)
            })
        });
        Window {
            phasors: phasors.collect(),
        }
    }

    /// Harmonics over fundamental, as a share; without a fundamental none.
    fn distortion(&self, samples: &[f64]) -> f64 {
        let mut sums = [Complex64::ZERO; HARMONICS];
        for (sample, phasors) in samples.iter().zip(&self.phasors) {
            for (sum, phasor) in sums.iter_mut().zip(phasors) {
                *sum += phasor * *sample;
            }
        }
        let square: f64 = sums[1..].iter().map(Complex64::norm_sqr).sum();
        let share = (square / sums[0].norm_sqr()).sqrt();
        if share.is_finite() { share } else { 0.0 }
    }
}
