//! A recording moved so that it stands in time with the dry track, for listening side by side.

use super::response::Target;
use crate::sound::Sound;
use std::f64::consts::{PI, TAU};

/// Samples either side that a value between two samples is made from. With a Blackman window the
/// transition is 6/32 of half the rate wide: flat to 19 kHz at 48 kHz.
const REACH: i64 = 16;
/// Samples after which the place is worked out anew where clocks drift: at 200 ppm it has moved by
/// 0.003 samples.
const PIECE: usize = 16;

/// The recording as long as the dry track, at its rate, in time with it to a fraction of a sample,
/// and the same way up. Silence stands where it has nothing. Its channels and its level stay.
///
/// `target` must be of these two sounds; without a delay in it the recording is only brought to the
/// dry track's rate and length.
///
/// # Errors
/// When a rate cannot be converted.
pub fn in_step(recording: &Sound, dry: &Sound, target: &Target) -> Result<Sound, String> {
    let frames = dry.channels.first().map_or(0, Vec::len);
    let channels = recording.at_rate(dry.rate)?.channels;
    let later = target.delay_seconds.unwrap_or(0.0) * f64::from(dry.rate);
    let drift = target.drift_ppm.unwrap_or(0.0) * 1e-6;
    let sign = match target.inverted {
        Some(true) => -1.0,
        _ => 1.0,
    };
    let moved = |channel: &Vec<f32>| -> Vec<f32> {
        let mut out = Vec::with_capacity(frames);
        let mut taps = Taps::new(0.0);
        for start in (0..frames).step_by(PIECE) {
            let place = later + drift * (start + PIECE / 2) as f64;
            let whole = place.floor();
            if start == 0 || drift != 0.0 {
                taps = Taps::new(place - whole);
            }
            for n in start..(start + PIECE).min(frames) {
                out.push((sign * taps.at(channel, n as i64 + whole as i64)) as f32);
            }
        }
        out
    };
    Ok(Sound {
        name: recording.name.clone(),
        rate: dry.rate,
        channels: channels.iter().map(moved).collect(),
    })
}

/// A windowed sinc: the value at a fraction of the way from one sample to the next.
struct Taps([f64; 2 * REACH as usize]);

impl Taps {
    fn new(fraction: f64) -> Self {
        let mut taps = std::array::from_fn(|i| {
            let x = i as f64 - (REACH - 1) as f64 - fraction;
            let sinc = if x == 0.0 {
                1.0
            } else {
                (PI * x).sin() / (PI * x)
            };
            let share = x / REACH as f64;
            let window = 0.42 + 0.5 * (PI * share).cos() + 0.08 * (TAU * share).cos();
            sinc * window
        });
        // What stands still stays where it is.
        let sum: f64 = taps.iter().sum();
        taps.iter_mut().for_each(|tap| *tap /= sum);
        Taps(taps)
    }

    fn at(&self, samples: &[f32], whole: i64) -> f64 {
        let first = whole - (REACH - 1);
        let sample = |i: i64| {
            let at = usize::try_from(i).ok();
            at.and_then(|at| samples.get(at))
                .map_or(0.0, |&s| f64::from(s))
        };
        let products = self.0.iter().zip(first..).map(|(tap, i)| tap * sample(i));
        products.sum()
    }
}
