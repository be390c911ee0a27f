//! Sounds with a known answer for the tests of recordings: noise, filters whose response is computed
//! from their coefficients, exact delays, and what is expected of a measured curve.
#![allow(dead_code)]

use engine::numeric::random::Random;
use engine::recording::Target;
use engine::sound::Sound;
use engine::sound::phrase::phrase;
use num_complex::Complex64;
use std::f64::consts::{PI, TAU};

pub const RATE: u32 = 48_000;

/// A sound of one channel or two.
pub fn sound(name: &str, rate: u32, channels: &[&[f32]]) -> Sound {
    Sound {
        name: name.into(),
        rate,
        channels: channels.iter().map(|c| c.to_vec()).collect(),
    }
}

/// White noise of r.m.s. value 1.
pub fn noise(seed: u64, frames: usize) -> Vec<f64> {
    let mut random = Random::new(seed, 0);
    (0..frames).map(|_| random.normal()).collect()
}

/// The built-in phrase, so many times, with a thousandth of noise so that every frequency is there.
pub fn guitar(rate: u32, times: usize) -> Vec<f64> {
    let once = phrase(rate);
    let hiss = noise(7, once.len() * times);
    let looped = once.iter().cycle().zip(&hiss);
    looped.map(|(&s, n)| f64::from(s) + 2e-4 * n).collect()
}

pub fn single(samples: &[f64]) -> Vec<f32> {
    samples.iter().map(|&s| s as f32).collect()
}

pub fn rms(samples: &[f64]) -> f64 {
    (samples.iter().map(|s| s * s).sum::<f64>() / samples.len() as f64).sqrt()
}

/// A second-order section with the response of its own coefficients.
#[derive(Clone, Copy, Debug)]
pub struct Section {
    pub b: [f64; 3],
    pub a: [f64; 2],
}

impl Section {
    /// A bell of so many decibels (R. Bristow-Johnson's cookbook, from memory; any section would do).
    pub fn bell(hz: f64, q: f64, db: f64, rate: u32) -> Self {
        let a = 10f64.powf(db / 40.0);
        let w = TAU * hz / f64::from(rate);
        let alpha = w.sin() / (2.0 * q);
        let d = 1.0 + alpha / a;
        Section {
            b: [
                (1.0 + alpha * a) / d,
                -2.0 * w.cos() / d,
                (1.0 - alpha * a) / d,
            ],
            a: [-2.0 * w.cos() / d, (1.0 - alpha / a) / d],
        }
    }

    /// A first-order high-pass.
    pub fn low_cut(hz: f64, rate: u32) -> Self {
        let p = (-TAU * hz / f64::from(rate)).exp();
        Section {
            b: [1.0, -1.0, 0.0],
            a: [-p, 0.0],
        }
    }

    /// A first-order low-pass.
    pub fn high_cut(hz: f64, rate: u32) -> Self {
        let p = (-TAU * hz / f64::from(rate)).exp();
        Section {
            b: [1.0 - p, 0.0, 0.0],
            a: [-p, 0.0],
        }
    }

    pub fn at(&self, hz: f64, rate: u32) -> Complex64 {
        let z = Complex64::cis(-TAU * hz / f64::from(rate));
        let numerator = self.b[0] + z * (self.b[1] + z * self.b[2]);
        numerator / (1.0 + z * (self.a[0] + z * self.a[1]))
    }

    pub fn filter(&self, samples: &[f64]) -> Vec<f64> {
        let mut z = [0.0; 2];
        let step = |&x: &f64| {
            let y = self.b[0] * x + z[0];
            z[0] = self.b[1] * x - self.a[0] * y + z[1];
            z[1] = self.b[2] * x - self.a[1] * y;
            y
        };
        samples.iter().map(step).collect()
    }
}

/// Something like an amp: a low cut, two bells, a high cut.
pub fn amp(rate: u32) -> Vec<Section> {
    vec![
        Section::low_cut(90.0, rate),
        Section::bell(450.0, 0.7, -7.0, rate),
        Section::bell(2500.0, 1.0, 5.0, rate),
        Section::high_cut(5000.0, rate),
    ]
}

pub fn through(sections: &[Section], samples: &[f64]) -> Vec<f64> {
    let mut samples = samples.to_vec();
    for section in sections {
        samples = section.filter(&samples);
    }
    samples
}

pub fn db_at(sections: &[Section], hz: f64, rate: u32) -> f64 {
    let gain: Complex64 = sections.iter().map(|s| s.at(hz, rate)).product();
    20.0 * gain.norm().log10()
}

/// The samples later by any number of them: a sinc under a Blackman window 256 samples wide, which
/// is flat within 1e-4 up to 0.97 of half the rate.
pub fn later(samples: &[f64], by: f64) -> Vec<f64> {
    const REACH: i64 = 128;
    let whole = by.floor() as i64;
    let taps: Vec<f64> = (-REACH + 1..=REACH)
        .map(|i| {
            let x = i as f64 - (by - whole as f64);
            let sinc = match x.abs() < 1e-12 {
                true => 1.0,
                false => (PI * x).sin() / (PI * x),
            };
            let share = PI * x / REACH as f64;
            sinc * (0.42 + 0.5 * share.cos() + 0.08 * (2.0 * share).cos())
        })
        .collect();
    let at = |n: i64| -> f64 {
        let of_tap = |(tap, i): (&f64, i64)| {
            let sample = usize::try_from(n - whole - i)
                .ok()
                .and_then(|n| samples.get(n));
            tap * sample.copied().unwrap_or(0.0)
        };
        taps.iter().zip(-REACH + 1..).map(of_tap).sum()
    };
    (0..samples.len() as i64 + by.max(0.0).ceil() as i64)
        .map(at)
        .collect()
}

/// The samples as a recorder writes them whose clock is slow by so many parts per million: fewer of them.
pub fn slow_clock(samples: &[f64], ppm: f64) -> Vec<f64> {
    const REACH: i64 = 32;
    let count = (samples.len() as f64 * (1.0 - 1e-6 * ppm)) as i64;
    let at = |n: i64| -> f64 {
        let place = n as f64 / (1.0 - 1e-6 * ppm);
        let whole = place.floor() as i64;
        let fraction = place - whole as f64;
        // The sine of the sinc only changes its sign from tap to tap.
        let sine = (PI * fraction).sin();
        let of_tap = |i: i64| {
            let x = place - i as f64;
            let sample = usize::try_from(i).ok().and_then(|i| samples.get(i));
            let share = PI * x / REACH as f64;
            let window = 0.42 + 0.5 * share.cos() + 0.08 * (2.0 * share).cos();
            let sinc = match x.abs() < 1e-12 {
                true => 1.0,
                false => sine * if (whole - i) % 2 == 0 { 1.0 } else { -1.0 } / (PI * x),
            };
            sample.copied().unwrap_or(0.0) * sinc * window
        };
        (whole - REACH + 1..=whole + REACH).map(of_tap).sum()
    };
    (0..count).map(at).collect()
}

/// The phrase, and the phrase faster and higher: some 18 s in which nothing comes twice.
pub fn unlike() -> Vec<f64> {
    [guitar(RATE, 1), guitar(44_100, 1)].concat()
}

/// Differences of a target's trusted levels from those of `expected`, each mean taken away, as
/// (Hz, dB).
pub fn differences(target: &Target, expected: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
    let points: Vec<(f64, f64)> = (0..target.hz.len())
        .filter(|&i| target.trusted[i])
        .map(|i| (target.hz[i], target.db[i] - expected(target.hz[i])))
        .collect();
    let mean = points.iter().map(|p| p.1).sum::<f64>() / points.len() as f64;
    points.into_iter().map(|(hz, db)| (hz, db - mean)).collect()
}

pub fn worst(differences: &[(f64, f64)]) -> (f64, f64) {
    let worst = differences
        .iter()
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
    *worst.expect("some points are trusted")
}
