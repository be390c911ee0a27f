//! What a sweep says: levels, limits, harmonics.

use super::harmonics::HARMONICS;
use super::options::{HZ, PERCENTS};
use super::steady::Steady;
use crate::units::decibels_from_ratio;
use num_complex::Complex64;
use serde::Serialize;

/// The amp at one level.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Level {
    /// At the jack, V r.m.s.
    pub input_volts: f64,
    /// What is heard, V r.m.s., all harmonics.
    pub output_volts: f64,
    /// Power into the loudspeakers, W, all harmonics; none without one.
    pub watts: Option<f64>,
    /// Harmonics over all that is heard, per cent; 0 of silence (less than a nanovolt).
    pub distortion_percent: f64,
}

/// The drive at which a distortion is reached.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Limit {
    /// Distortion, per cent.
    pub percent: f64,
    /// The level; none when the distortion is never reached or always exceeded.
    pub at: Option<Level>,
    /// Why there is none.
    pub without: Option<Without>,
}

/// Why a limit was not found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Without {
    /// The lowest level is beyond it already.
    ExceededAtLowest,
    /// The highest level does not reach it.
    NeverReached,
}

/// The drive at which the first grid begins to take current.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct GridCurrent {
    /// Designator of the valve; none where no grid does.
    pub valve: Option<String>,
    /// Its stage, as the file says; empty if it has none.
    pub stage: String,
    /// The level; none when no grid takes current or one always does.
    pub at: Option<Level>,
    /// Why there is none.
    pub without: Option<Without>,
}

/// Harmonics at one level.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Harmonics {
    /// The level.
    pub level: Level,
    /// Harmonics 2 to 7 against the fundamental, dB; none where there is nothing.
    pub db: [Option<f64>; 6],
}

/// What the sine showed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Drive {
    /// Limits for [`PERCENTS`].
    pub limits: Vec<Limit>,
    /// Onset of grid current.
    pub grid_current: GridCurrent,
    /// Harmonics where 5 % are reached; none if they are not.
    pub harmonics_at_5_percent: Option<Harmonics>,
    /// Harmonics at the level that was asked for.
    pub harmonics_played: Option<Harmonics>,
    /// Every level tried, rising.
    pub levels: Vec<Level>,
    /// Levels at which the sine did not come to stand.
    pub restless: usize,
    /// Steps without a solution.
    pub unsolved: u64,
}

impl Drive {
    /// The limit at one of [`PERCENTS`].
    pub fn limit(&self, percent: f64) -> Option<&Limit> {
        debug_assert!(PERCENTS.contains(&percent));
        self.limits.iter().find(|l| l.percent == percent)
    }
}

/// What is heard below this, V, is the rounding of the solution and no sound.
const SILENCE: f64 = 1e-9;

/// Sum of the squares of r.m.s. values.
fn square(spectrum: &[Complex64]) -> f64 {
    spectrum.iter().map(|v| 0.5 * v.norm_sqr()).sum()
}

/// Reads a level. `siemens`: watts into the loudspeakers over mean square volts, by hertz.
pub fn level(steady: &Steady, siemens: Option<&dyn Fn(f64) -> f64>) -> Level {
    let spectrum = &steady.spectrum;
    let whole = square(&spectrum[1..]);
    let watts = siemens.map(|siemens| {
        let of = |k: usize| 0.5 * spectrum[k].norm_sqr() * siemens(HZ * k as f64);
        (1..=HARMONICS).map(of).sum()
    });
    let share = if whole.sqrt() > SILENCE {
        square(&spectrum[2..]) / whole
    } else {
        0.0
    };
    Level {
        input_volts: steady.volts,
        output_volts: whole.sqrt(),
        watts,
        distortion_percent: 100.0 * share.sqrt(),
    }
}

/// Harmonics 2 to 7 against the fundamental, dB.
pub fn harmonics_db(amplitudes: &[f64]) -> [Option<f64>; 6] {
    std::array::from_fn(|i| {
        let ratio = amplitudes[i + 2] / amplitudes[1];
        let db = decibels_from_ratio(ratio);
        db.is_finite().then_some(db)
    })
}
