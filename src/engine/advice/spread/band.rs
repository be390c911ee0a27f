//! The band that a figure keeps to over many amps of one model: its percentiles.

use serde::Serialize;

/// Percentiles of one figure, beside what the amp of the file gives. The unit is the figure's.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Band {
    /// Of the amp of the file: every part at its value, average valves.
    pub nominal: f64,
    /// One amp in a hundred is below.
    pub p1: f64,
    /// Five in a hundred are below.
    pub p5: f64,
    /// A quarter is below.
    pub p25: f64,
    /// Half are below.
    pub p50: f64,
    /// A quarter is above.
    pub p75: f64,
    /// Five in a hundred are above.
    pub p95: f64,
    /// One in a hundred is above.
    pub p99: f64,
}

impl Band {
    /// The band of some figures, in any order; those that are no numbers count as nothing. All is
    /// `nominal` where there are none.
    pub fn of(nominal: f64, mut figures: Vec<f64>) -> Band {
        figures.retain(|f| f.is_finite());
        figures.sort_by(f64::total_cmp);
        let at = |percent: f64| percentile(&figures, percent).unwrap_or(nominal);
        Band {
            nominal,
            p1: at(1.0),
            p5: at(5.0),
            p25: at(25.0),
            p50: at(50.0),
            p75: at(75.0),
            p95: at(95.0),
            p99: at(99.0),
        }
    }

    /// Half of what nine amps in ten keep within: "two amps of this model differ by ± this".
    pub fn half(&self) -> f64 {
        0.5 * (self.p95 - self.p5)
    }
}

/// A percentile of figures that rise, straight between two of them (R. Hyndman, Y. Fan, Amer.
/// Statistician 50(4), 1996, definition 7; from memory). None of nothing.
pub fn percentile(rising: &[f64], percent: f64) -> Option<f64> {
    let last = rising.len().checked_sub(1)?;
    let place = (0.01 * percent).clamp(0.0, 1.0) * last as f64;
    let low = place.floor() as usize;
    let high = (low + 1).min(last);
    Some(rising[low] + (rising[high] - rising[low]) * (place - low as f64))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::random::Random;

    #[test]
    fn percentiles_of_a_row_of_whole_numbers() {
        // 0 to 100: each percentile is its own number.
        let row: Vec<f64> = (0..=100).rev().map(f64::from).collect();
        let band = Band::of(50.0, row);
        assert_eq!(
            [
                band.p1, band.p5, band.p25, band.p50, band.p75, band.p95, band.p99
            ],
            [1.0, 5.0, 25.0, 50.0, 75.0, 95.0, 99.0]
        );
        assert_eq!(band.half(), 45.0);
        // Half way between two.
        assert_eq!(percentile(&[1.0, 3.0], 50.0), Some(2.0));
        assert_eq!(percentile(&[], 50.0), None);
        assert_eq!(percentile(&[4.0], 99.0), Some(4.0));
    }

    /// Percentiles of the standard normal distribution: 1.6449 at 95 per cent and 0.6745 at 75
    /// (tables, from memory). The standard error of a percentile is √(p(1−p)/n)/f, f being the
    /// density there; four of them are allowed.
    #[test]
    fn percentiles_of_a_normal_distribution() {
        const DRAWS: usize = 40_000;
        let mut random = Random::new(3, 0);
        let band = Band::of(0.0, (0..DRAWS).map(|_| random.normal()).collect());
        for (share, expected, found) in [
            (0.05, -1.6449, band.p5),
            (0.25, -0.6745, band.p25),
            (0.5, 0.0, band.p50),
            (0.75, 0.6745, band.p75),
            (0.95, 1.6449, band.p95),
        ] {
            let density = (-0.5 * f64::powi(expected, 2)).exp() / std::f64::consts::TAU.sqrt();
            let error = f64::sqrt(share * (1.0 - share) / DRAWS as f64) / density;
            let off: f64 = found - expected;
            assert!(off.abs() < 4.0 * error, "{share}: {found}, {expected}");
        }
    }

    #[test]
    fn what_is_no_number_counts_as_nothing() {
        let band = Band::of(2.0, vec![f64::NAN, f64::INFINITY]);
        assert_eq!([band.p5, band.p50, band.p95], [2.0; 3]);
        assert_eq!(Band::of(0.0, vec![f64::NAN, 7.0]).p50, 7.0);
    }
}
