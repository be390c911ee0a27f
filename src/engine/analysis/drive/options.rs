//! What a sweep looks for, and over which levels.

use super::steady::Pace;

/// Frequency of the sine, Hz.
pub const HZ: f64 = 1000.0;
/// Distortion that is asked for, per cent.
pub const PERCENTS: [f64; 3] = [1.0, 5.0, 10.0];
/// Grid current that counts as its onset, A.
pub const ONSET_AMPS: f64 = 0.3e-6;
/// Lowest and highest level tried, V r.m.s.: the second is 20 V peak, more than a stage that is fed
/// by another one gives a grid in its clean range.
pub const RANGE_VOLTS: [f64; 2] = [1e-3, 14.2];

/// What is asked of a sweep.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DriveOptions {
    /// A level at which the harmonics are wanted beside the limits, V r.m.s.; none if none is.
    pub played_volts: Option<f64>,
    /// How the circuits are brought to stand.
    pub pace: Pace,
}

impl Default for DriveOptions {
    fn default() -> Self {
        DriveOptions {
            played_volts: None,
            pace: Pace::Quick,
        }
    }
}
