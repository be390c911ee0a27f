//! The rates at which the amp is computed, for whatever rate a host has.
//!
//! A host may try any rate before it settles; to refuse one that was accepted at setup is a fault. So
//! every rate is played at. From 8 kHz to 1 MHz the amp is computed at the host's own. Outside, where
//! nobody listens, it is computed as if the rate were the nearest of these: the sound is finite, but its
//! tone is another.

use std::ops::RangeInclusive;

/// Rates at which the amp is computed as it is, Hz.
const WORKED: RangeInclusive<f64> = 8_000.0..=1_000_000.0;
/// Most steps a second, eight for each sample at 400 kHz: finer ones gain nothing that can be heard.
const MOST_STEPS: f64 = 3.2e6;

/// Whether there is a rate at all, as far as the framework's number of 32 bits can hold it.
pub fn plays_at(rate: f64) -> bool {
    let rate = rate as f32;
    rate.is_finite() && rate > 0.0
}

/// The rate at which the amp is computed, Hz.
pub fn worked(rate: f64) -> f64 {
    rate.clamp(*WORKED.start(), *WORKED.end())
}

/// Doublings of a rate in hertz where so many are asked for: fewer, but at least one, where they would
/// be too many steps a second.
pub fn doublings(rate: f64, asked: usize) -> usize {
    let fits = |&doublings: &usize| rate * f64::from(1 << doublings as u32) <= MOST_STEPS;
    (1..=asked).rev().find(fits).unwrap_or(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_rate_is_played_at_and_no_other_number() {
        for rate in [1e-3, 1.0, 1_234.567_8, 48_000.0, 768_000.0, 1e6, 1e9] {
            assert!(plays_at(rate), "{rate}");
            assert!(WORKED.contains(&worked(rate)), "{rate}");
        }
        for rate in [0.0, -0.0, -48_000.0, 1e-50, 1e300, f64::INFINITY, f64::NAN] {
            assert!(!plays_at(rate), "{rate}");
        }
        for rate in [8_000.0, 44_100.0, 192_000.0, 768_000.0, 1e6] {
            assert_eq!(worked(rate), rate);
        }
    }

    #[test]
    fn rates_of_sessions_are_oversampled_as_asked() {
        for rate in [8_000.0, 44_100.0, 48_000.0, 96_000.0, 192_000.0, 400_000.0] {
            for asked in 1..=3 {
                assert_eq!(doublings(rate, asked), asked, "{rate}");
            }
        }
        let at = |rate| [1, 2, 3].map(|asked| doublings(rate, asked));
        assert_eq!(at(705_600.0), [1, 2, 2]);
        assert_eq!(at(768_000.0), [1, 2, 2]);
        assert_eq!(at(1e6), [1, 1, 1]);
    }
}
