//! Meters: what the audio thread tells everybody else, without locks.

use atomic_float::AtomicF32;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering::Relaxed};

/// Readings of one instance. Levels are linear peaks since they were last read.
#[derive(Debug, Default)]
pub struct Meters {
    /// Peak at the jack, V.
    pub input_volts: AtomicF32,
    /// Peak of the host's input, full scale 1.
    pub input: AtomicF32,
    /// Peak of the host's output, full scale 1.
    pub output: AtomicF32,
    /// Short-term loudness of the amp as found, LUFS; below -70 while nothing plays.
    pub as_found_lufs: AtomicF32,
    /// Short-term loudness of the amp as proposed before matching, LUFS.
    pub proposed_lufs: AtomicF32,
    /// Gain given to the proposed amp for the match, dB.
    pub match_db: AtomicF32,
    /// Share of the time that a block may take that the last one took; the largest since read.
    pub load: AtomicF32,
    /// Whether the amp is muted because it sounds with nothing played.
    pub howls: AtomicBool,
    /// Samples that came out as no number and were silenced, since the start.
    pub silenced: AtomicU64,
}

impl Meters {
    /// Raises a peak.
    ///
    /// # Real-time
    /// Lock-free.
    pub fn raise(meter: &AtomicF32, value: f32) {
        meter.fetch_max(value, Relaxed);
    }

    /// Reads a peak and starts it anew.
    pub fn take(meter: &AtomicF32) -> f32 {
        meter.swap(0.0, Relaxed)
    }
}
