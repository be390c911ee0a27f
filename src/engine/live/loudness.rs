//! Loudness of the two amps and the gain that makes them equal.
//!
//! Momentary blocks of 100 ms of K-weighted sound (ITU-R BS.1770-4, annex 1: a shelf and a
//! high-pass in series, mean square, channels summed), over at most the last 3 s ("short-term",
//! EBU Tech 3341). It runs with the sound and not beside it, so that a mix-down is the same each
//! time; `tests/live/loudness.rs` holds it against the crate `ebur128`.

use crate::units::ratio_from_decibels;
use std::f64::consts::PI;

/// Blocks kept: 3 s.
const BLOCKS: usize = 30;
/// Length of a block, s.
const BLOCK_SECONDS: f64 = 0.1;
/// Blocks that a comparison needs.
const LEAST_BLOCKS: usize = 4;
/// Blocks below this are silence (the standard's absolute gate), LUFS.
const GATE_LUFS: f64 = -70.0;
/// Loudness of mean square 1 (BS.1770-4, equation 2), LUFS.
const OFFSET: f64 = -0.691;

/// A second-order section, transposed direct form II.
#[derive(Clone, Copy, Debug)]
struct Section {
    b: [f64; 3],
    a: [f64; 2],
    z: [f64; 2],
}

impl Section {
    #[inline]
    fn step(&mut self, x: f64) -> f64 {
        let y = self.b[0] * x + self.z[0];
        self.z[0] = self.b[1] * x - self.a[0] * y + self.z[1];
        self.z[1] = self.b[2] * x - self.a[1] * y;
        y
    }
}

/// The two K-weighting sections at a rate. The standard prints coefficients for 48 kHz; these are
/// the analogue prototypes behind them (corner, quality, gain recovered from the printed
/// coefficients by inverting the bilinear transform; from memory, checked by test against the
/// printed ones), transformed for any rate.
fn k_weighting(rate: f64) -> [Section; 2] {
    let (hz, q, db) = (1681.974450955533, 0.7071752369554196, 3.999843853973347);
    let k = (PI * hz / rate).tan();
    let high = ratio_from_decibels(db);
    let band = high.powf(0.4996667741545416);
    let d = 1.0 + k / q + k * k;
    let shelf = Section {
        b: [
            (high + band * k / q + k * k) / d,
            2.0 * (k * k - high) / d,
            (high - band * k / q + k * k) / d,
        ],
        a: [2.0 * (k * k - 1.0) / d, (1.0 - k / q + k * k) / d],
        z: [0.0; 2],
    };
    let (hz, q) = (38.13547087602444, 0.5003270373238773);
    let k = (PI * hz / rate).tan();
    let d = 1.0 + k / q + k * k;
    let pass = Section {
        b: [1.0, -2.0, 1.0],
        a: [2.0 * (k * k - 1.0) / d, (1.0 - k / q + k * k) / d],
        z: [0.0; 2],
    };
    [shelf, pass]
}

/// Mean squares of the K-weighted sound of one amp, left and right, since the window began.
#[derive(Clone, Debug)]
pub struct Meter {
    filters: [[Section; 2]; 2],
    channels: usize,
    sum: f64,
    blocks: [f64; BLOCKS],
    filled: usize,
    at: usize,
}

impl Meter {
    /// A meter at a rate for one or two channels.
    pub fn new(rate: f64, channels: usize) -> Self {
        Meter {
            filters: [k_weighting(rate); 2],
            channels,
            sum: 0.0,
            blocks: [0.0; BLOCKS],
            filled: 0,
            at: 0,
        }
    }

    /// Takes one sample a channel.
    #[inline]
    fn sample(&mut self, sound: [f64; 2]) {
        for (filters, sample) in self.filters.iter_mut().zip(sound).take(self.channels) {
            let [shelf, pass] = filters;
            let weighted = pass.step(shelf.step(sample));
            self.sum += weighted * weighted;
        }
    }

    fn end_block(&mut self, samples: f64) {
        self.blocks[self.at] = self.sum / samples;
        self.sum = 0.0;
        self.at = (self.at + 1) % BLOCKS;
        self.filled = (self.filled + 1).min(BLOCKS);
    }

    fn forget(&mut self) {
        self.filled = 0;
        self.at = 0;
    }

    /// Short-term loudness, LUFS: of the last 3 s, or of what there is.
    pub fn lufs(&self) -> f64 {
        let mean = self.blocks[..self.filled].iter().sum::<f64>() / self.filled.max(1) as f64;
        OFFSET + 10.0 * mean.max(1e-12).log10()
    }
}

/// The gain that brings the proposed amp to the loudness of the one as found.
#[derive(Clone, Debug)]
pub struct Match {
    /// As found.
    pub as_found: Meter,
    /// Proposed.
    pub proposed: Meter,
    block: u32,
    filled: u32,
    target_db: f64,
    now_db: f64,
    slew: f64,
    restart: bool,
}

/// Fastest change of the gain, dB a second: 0.45 dB in 100 ms.
const SLEW: f64 = 4.5;
/// Largest gain either way, dB.
const MOST_DB: f64 = 40.0;

impl Match {
    /// At a rate, for one or two channels.
    pub fn new(rate: f64, channels: usize) -> Self {
        Match {
            as_found: Meter::new(rate, channels),
            proposed: Meter::new(rate, channels),
            block: (BLOCK_SECONDS * rate).round() as u32,
            filled: 0,
            target_db: 0.0,
            now_db: 0.0,
            slew: SLEW / rate,
            restart: false,
        }
    }

    /// What was measured belongs to other part values: measure anew. The gain stays until there
    /// is something to go by.
    pub fn values_changed(&mut self) {
        self.restart = true;
    }

    /// Takes one sample of each amp, left and right, and returns the gain for the proposed one, dB.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline]
    pub fn sample(&mut self, as_found: [f64; 2], proposed: [f64; 2]) -> f64 {
        self.as_found.sample(as_found);
        self.proposed.sample(proposed);
        self.filled += 1;
        if self.filled == self.block {
            self.end_block();
        }
        self.now_db += (self.target_db - self.now_db).clamp(-self.slew, self.slew);
        self.now_db
    }

    fn end_block(&mut self) {
        let samples = f64::from(self.block);
        self.filled = 0;
        let level = |sum: f64| OFFSET + 10.0 * (sum / samples).max(1e-12).log10();
        if level(self.as_found.sum).min(level(self.proposed.sum)) < GATE_LUFS {
            self.as_found.sum = 0.0;
            self.proposed.sum = 0.0;
            return;
        }
        // Under perpetual change each window still lives long enough to be used.
        if self.restart && (self.as_found.filled >= LEAST_BLOCKS || self.as_found.filled == 0) {
            self.as_found.forget();
            self.proposed.forget();
            self.restart = false;
        }
        self.as_found.end_block(samples);
        self.proposed.end_block(samples);
        if self.as_found.filled >= LEAST_BLOCKS {
            let difference = self.as_found.lufs() - self.proposed.lufs();
            self.target_db = difference.clamp(-MOST_DB, MOST_DB);
        }
    }

    /// The gain is at once where it creeps to.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline]
    pub fn arrive(&mut self) {
        self.now_db = self.target_db;
    }

    /// The gain now, dB.
    pub fn gain_db(&self) -> f64 {
        self.now_db
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ITU-R BS.1770-4, tables 1 and 2: coefficients at 48 kHz (from memory).
    #[test]
    fn the_weighting_at_48_khz_is_the_printed_one() {
        let [shelf, pass] = k_weighting(48_000.0);
        let printed = [
            (shelf.b[0], 1.53512485958697),
            (shelf.b[1], -2.69169618940638),
            (shelf.b[2], 1.19839281085285),
            (shelf.a[0], -1.69065929318241),
            (shelf.a[1], 0.73248077421585),
            (pass.a[0], -1.99004745483398),
            (pass.a[1], 0.99007225036621),
        ];
        for (ours, print) in printed {
            assert!((ours - print).abs() < 1e-9, "{ours} for {print}");
        }
    }
}
