//! Shared by the tests: circuits ready to solve, signals with a formula, comparison in band.
#![allow(dead_code)]

use engine::circuit::Circuit;
use engine::network::{Network, Values};
use engine::solve::{OperatingPoint, Transient, operating_point};
use std::f64::consts::TAU;

/// A circuit with everything that a solve needs.
pub struct Solved {
    pub circuit: Circuit,
    pub network: Network,
    pub values: Values,
    pub point: OperatingPoint,
}

impl Solved {
    /// One of the amps that come with the program.
    pub fn built_in(name: &str) -> Self {
        let amp = engine::circuit::built_in_circuit(name).expect("a built-in amp");
        let catalogue = engine::device::Catalogue::built_in();
        Solved::new(engine::circuit::read(amp.text, &catalogue).expect("a sound file"))
    }

    pub fn new(circuit: Circuit) -> Self {
        let network = Network::new(&circuit);
        let values = network.values(&circuit);
        let point = operating_point(&network, &values).expect("an operating point");
        Solved {
            circuit,
            network,
            values,
            point,
        }
    }
}

/// A strummed E chord: six strings a few milliseconds apart, harmonics falling as 1/k² up to
/// 5 kHz, each decaying; about 1 at its peak. Smooth enough to be band-limited.
pub fn chord(t: f64) -> f64 {
    const STRINGS: [f64; 6] = [82.41, 123.47, 164.81, 207.65, 246.94, 329.63];
    let mut sum = 0.0;
    for (index, f) in STRINGS.into_iter().enumerate() {
        let t = t - 0.002 - 0.004 * index as f64;
        if t <= 0.0 {
            continue;
        }
        let rise = if t < 0.002 {
            0.5 - 0.5 * (TAU * 0.25 * t / 0.001).cos()
        } else {
            1.0
        };
        let count = (5000.0 / f) as usize;
        for k in 1..=count.min(16) {
            let k = k as f64;
            sum +=
                rise * (TAU * f * k * t + 0.7 * k).sin() * (-t * (2.0 + 0.5 * k)).exp() / (k * k);
        }
    }
    sum / 3.5
}

/// Windowed-sinc low-pass at `factor` times the rate: passes 0.42 and stops 0.58 of it.
fn decimation_taps(factor: usize) -> Vec<f64> {
    let half = 40 * factor as i64;
    let bessel = |x: f64| {
        (1..80)
            .fold((1.0, 1.0), |(s, t), k| {
                let t = t * (x / (2.0 * k as f64)).powi(2);
                (s + t, t)
            })
            .0
    };
    let beta = 12.0;
    let taps: Vec<f64> = (-half..=half)
        .map(|n| {
            let x = n as f64 / factor as f64;
            let sinc = if n == 0 {
                1.0
            } else {
                (std::f64::consts::PI * x).sin() / (std::f64::consts::PI * x)
            };
            sinc * bessel(beta * (1.0 - (n as f64 / half as f64).powi(2)).max(0.0).sqrt())
                / bessel(beta)
        })
        .collect();
    let sum: f64 = taps.iter().sum();
    taps.iter().map(|t| t / sum).collect()
}

/// The oracle's output at `rate`, from steps of 1/(rate·factor), band-limited without delay.
pub fn oracle(
    bench: &Solved,
    rate: f64,
    factor: usize,
    seconds: f64,
    input: impl Fn(f64) -> f64,
) -> Vec<f64> {
    let fast = rate * factor as f64;
    let mut transient = Transient::new(&bench.network, &bench.values, &bench.point, 1.0 / fast);
    let count = (seconds * rate) as usize;
    let reach = 40 * factor;
    let start = transient.output();
    let mut raw = vec![start; reach + 1];
    for n in 1..count * factor + reach {
        raw.push(
            transient
                .step(input(n as f64 / fast))
                .expect("the oracle converges"),
        );
    }
    let taps = decimation_taps(factor);
    (0..count)
        .map(|m| {
            taps.iter()
                .enumerate()
                .map(|(k, c)| c * raw[m * factor + k])
                .sum()
        })
        .collect()
}

/// Energy of `a − b` relative to `b` from 20 Hz to 20 kHz, in decibels, over the whole slices
/// under a Hann window.
pub fn error_in_band(a: &[f64], b: &[f64], rate: f64) -> f64 {
    assert_eq!(a.len(), b.len());
    let n = a.len();
    let fft = fourier::forward(n);
    let energy = |x: Vec<f64>| -> f64 {
        let mut windowed: Vec<f64> = x
            .iter()
            .enumerate()
            .map(|(i, v)| v * (1.0 - (TAU * i as f64 / n as f64).cos()))
            .collect();
        let mut spectrum = fft.make_output_vec();
        fft.process(&mut windowed, &mut spectrum)
            .expect("lengths match");
        spectrum
            .iter()
            .enumerate()
            .filter(|(k, _)| (20.0..=20_000.0).contains(&(*k as f64 * rate / n as f64)))
            .map(|(_, c)| c.norm_sqr())
            .sum()
    };
    let difference = energy(a.iter().zip(b).map(|(a, b)| a - b).collect());
    10.0 * (difference / energy(b.to_vec())).log10()
}
