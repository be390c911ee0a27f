//! Rate and oversampling of a circuit pair, and the latency that all of them share.

use crate::realtime::Settings;

/// Rate and oversampling of a circuit pair.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Format {
    /// Host rate, Hz.
    pub rate: f64,
    /// 1, 2 or 3: oversampling by 2, 4 or 8.
    pub doublings: usize,
    /// Whether the work must keep up with the clock.
    pub live: bool,
}

impl Format {
    pub(super) fn settings(self) -> Settings {
        let live = Settings::live(self.rate, self.doublings);
        Settings {
            governor: live.governor.filter(|_| self.live),
            ..live
        }
    }

    /// Delay of every circuit pair at this rate, samples: the longest of all oversamplings, to
    /// which the others are held back, so that a change of oversampling leaves it alone.
    pub fn latency(rate: f64) -> usize {
        (1..=3)
            .map(|doublings| Settings::live(rate, doublings).latency())
            .max()
            .unwrap_or(0)
    }
}
