//! What of a sound a comparison needs: its loudness, and its power in the ear's bands, as a whole
//! and passage by passage.

use super::erb::bands;
use super::weighting::weight;
use crate::sound::loudness::integrated_lufs;
use std::f64::consts::TAU;

/// Least length of a window, s; the next power of two is taken. At 48 kHz it is 341 ms, whose
/// resolution (2.9 Hz) puts ten lines into the narrowest band.
const WINDOW_SECONDS: f64 = 0.3;
/// Windows, half overlapping, that make a passage: about a second.
const WINDOWS_A_PASSAGE: usize = 6;

/// A sound, ready to be compared.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// Integrated loudness, 1 V being full scale, LUFS; none for silence and for less than 0.4 s.
    pub lufs: Option<f64>,
    /// Mean power in each band, V²; one a band of [`bands`], those above half the rate left out.
    pub whole: Vec<f64>,
    /// Likewise of each passage of about a second.
    pub passages: Vec<Vec<f64>>,
    /// Length of a passage, s.
    pub passage_seconds: f64,
    /// Whether this is what a loudspeaker radiates; else it is the voltage at its terminals.
    pub radiated: bool,
}

impl Profile {
    /// What a loudspeaker radiates of this sound, its power gain being given in decibels, one a band
    /// of [`bands`]. A band is taken as evenly filled, and the loudness to change as the bands
    /// weighted by ITU-R BS.1770-4 do.
    pub fn radiated_by(&self, db: &[f64]) -> Profile {
        let gain = |db: &f64| 10f64.powf(db / 10.0);
        let through = |powers: &[f64]| -> Vec<f64> {
            let pairs = powers.iter().zip(db);
            pairs.map(|(power, db)| power * gain(db)).collect()
        };
        let loudness = |powers: &[f64]| -> f64 {
            let pairs = powers.iter().zip(bands());
            pairs.map(|(power, band)| power * weight(band.hz)).sum()
        };
        let whole = through(&self.whole);
        let change = 10.0 * (loudness(&whole) / loudness(&self.whole)).log10();
        Profile {
            lufs: self.lufs.map(|lufs| lufs + change),
            passages: self.passages.iter().map(|p| through(p)).collect(),
            passage_seconds: self.passage_seconds,
            radiated: true,
            whole,
        }
    }
}

/// The profile of one or two channels of equal length, in volts; `rate` in hertz. The powers of two
/// channels add.
///
/// Hann windows that overlap by half, as many as fit; what stands at rest has been taken off.
pub fn profile(channels: &[&[f32]], rate: u32) -> Profile {
    let rate_hz = f64::from(rate.max(1));
    let length = ((WINDOW_SECONDS * rate_hz) as usize)
        .next_power_of_two()
        .max(2);
    let hop = length / 2;
    let frames = channels.iter().map(|c| c.len()).max().unwrap_or(0);
    let below = band_edges(rate_hz, length);
    let window: Vec<f64> = (0..length)
        .map(|n| 0.5 * (1.0 - (TAU * n as f64 / length as f64).cos()))
        .collect();
    // A line's share of the mean power: both signs of the frequency, over the window's own power.
    let scale = 2.0 / (length as f64 * window.iter().map(|w| w * w).sum::<f64>());
    let transform = fourier::forward(length);
    let mut input = vec![0.0; length];
    let mut lines = transform.make_output_vec();
    let mut scratch = transform.make_scratch_vec();
    let count = below.len();
    let mut passages: Vec<Vec<f64>> = Vec::new();
    let mut whole = vec![0.0; count];
    // A window that reached beyond the end would hear the cut.
    let last = frames.saturating_sub(length);
    let starts: Vec<usize> = (0..=last).step_by(hop).collect();
    for group in starts.chunks(WINDOWS_A_PASSAGE) {
        let mut passage = vec![0.0; count];
        for (&start, channel) in group
            .iter()
            .flat_map(|s| channels.iter().map(move |c| (s, c)))
        {
            for (i, (slot, weight)) in input.iter_mut().zip(&window).enumerate() {
                *slot = channel.get(start + i).map_or(0.0, |&v| f64::from(v)) * weight;
            }
            // The lengths come from the plan itself.
            let done = transform.process_with_scratch(&mut input, &mut lines, &mut scratch);
            debug_assert!(done.is_ok());
            for (power, range) in passage.iter_mut().zip(&below) {
                let sum: f64 = lines[range.clone()].iter().map(|c| c.norm_sqr()).sum();
                *power += scale * sum / group.len() as f64;
            }
        }
        for (whole, power) in whole.iter_mut().zip(&passage) {
            *whole += power * group.len() as f64 / starts.len() as f64;
        }
        passages.push(passage);
    }
    Profile {
        lufs: match channels.len() {
            1 | 2 => integrated_lufs(channels, rate),
            _ => None,
        },
        whole,
        passages,
        passage_seconds: (hop * WINDOWS_A_PASSAGE) as f64 / rate_hz,
        radiated: false,
    }
}

/// The lines of a transform that belong to each band which lies wholly below half the rate.
fn band_edges(rate: f64, length: usize) -> Vec<std::ops::Range<usize>> {
    let line = |hz: f64| (hz * length as f64 / rate).round() as usize;
    bands()
        .iter()
        .take_while(|band| band.high_hz < 0.5 * rate)
        .map(|band| line(band.low_hz)..line(band.high_hz))
        .collect()
}
