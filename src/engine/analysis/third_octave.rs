//! Third-octave bands after IEC 61260-1 in the base of ten: where a curve differs, told in the
//! bands a sound engineer knows.

use serde::Serialize;

/// Nominal mid-band frequencies from 20 Hz to 20 kHz, Hz (ISO 266).
pub const NOMINAL_HZ: [f64; 31] = [
    20.0, 25.0, 31.5, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 315.0, 400.0,
    500.0, 630.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0, 2500.0, 3150.0, 4000.0, 5000.0, 6300.0,
    8000.0, 10_000.0, 12_500.0, 16_000.0, 20_000.0,
];

/// What a guitar loudspeaker gives, from the lowest note up, Hz: changes outside are no tone.
pub const TONE_HZ: std::ops::RangeInclusive<f64> = 80.0..=8000.0;

/// One band.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Band {
    /// Nominal mid-band frequency, Hz.
    pub hz: f64,
    /// Mean level in the band, dB.
    pub db: f64,
}

/// Exact mid-band frequency of the band with this place in [`NOMINAL_HZ`], Hz.
pub fn exact_hz(band: usize) -> f64 {
    1000.0 * 10.0_f64.powf((band as f64 - 17.0) / 10.0)
}

/// Lower and upper edge of a band, Hz.
pub fn edges_hz(band: usize) -> [f64; 2] {
    [-0.05, 0.05].map(|exponent| exact_hz(band) * 10.0_f64.powf(exponent))
}

/// Band levels of a curve: the mean of its decibels over each band, on a logarithmic frequency
/// axis, the curve being straight lines between its points. Bands that the curve does not cover
/// wholly are left out.
///
/// `hz` rises strictly; `db` has the same length.
pub fn bands_of_curve(hz: &[f64], db: &[f64]) -> Vec<Band> {
    assert_eq!(hz.len(), db.len());
    let octaves: Vec<f64> = hz.iter().map(|f| f.ln()).collect();
    let covered = |low: f64, high: f64| {
        // A curve over 20 Hz to 20 kHz stops in the middle of the outermost bands: half a band
        // is taken for the whole.
        octaves.first().is_some_and(|&f| f <= low) && octaves.last().is_some_and(|&f| f >= high)
    };
    let mut bands = Vec::new();
    for (i, &nominal) in NOMINAL_HZ.iter().enumerate() {
        let [mut low, mut high] = edges_hz(i).map(f64::ln);
        if i == 0 {
            low = octaves.first().map_or(low, |&f| low.max(f));
        }
        if i + 1 == NOMINAL_HZ.len() {
            high = octaves.last().map_or(high, |&f| high.min(f));
        }
        if covered(low, high) && low < high {
            bands.push(Band {
                hz: nominal,
                db: mean(&octaves, db, low, high),
            });
        }
    }
    bands
}

/// Mean of the straight-line curve `y(x)` from `low` to `high`, both inside it.
fn mean(x: &[f64], y: &[f64], low: f64, high: f64) -> f64 {
    let mut area = 0.0;
    for (x, y) in x.windows(2).zip(y.windows(2)) {
        let (from, to) = (x[0].max(low), x[1].min(high));
        if from < to {
            let at = |place: f64| y[0] + (y[1] - y[0]) * (place - x[0]) / (x[1] - x[0]);
            area += 0.5 * (at(from) + at(to)) * (to - from);
        }
    }
    area / (high - low)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// IEC 61260-1, ISO 266: nominal frequencies are the exact ones rounded, within 1.5 %.
    #[test]
    fn nominal_frequencies_are_near_the_exact_ones() {
        for (i, nominal) in NOMINAL_HZ.iter().enumerate() {
            assert!((exact_hz(i) / nominal - 1.0).abs() < 0.015, "{nominal} Hz");
        }
        assert_eq!(exact_hz(17), 1000.0);
        // Ten bands are a decade, and they touch.
        assert!((edges_hz(10)[1] - edges_hz(11)[0]).abs() < 1e-9);
        assert!((exact_hz(27) - 10_000.0).abs() < 1e-9);
    }

    fn axis(low: f64, high: f64, count: usize) -> Vec<f64> {
        let share = |i: usize| i as f64 / (count - 1) as f64;
        let at = |i| low * (high / low).powf(share(i));
        (0..count).map(at).collect()
    }

    /// A slope of so many decibels an octave has, over each band, the value at its middle.
    #[test]
    fn a_straight_slope_gives_the_mid_band_value() {
        let hz = axis(10.0, 40_000.0, 300);
        let db: Vec<f64> = hz.iter().map(|f| 6.0 * (f / 1000.0).log2()).collect();
        let bands = bands_of_curve(&hz, &db);
        assert_eq!(bands.len(), NOMINAL_HZ.len());
        for (i, band) in bands.iter().enumerate().take(30).skip(1) {
            let expected = 6.0 * (exact_hz(i) / 1000.0).log2();
            assert!((band.db - expected).abs() < 1e-9, "{band:?} {expected}");
        }
    }

    #[test]
    fn the_audible_range_has_all_bands_and_a_part_of_it_fewer() {
        let count = |low, high| {
            let hz = axis(low, high, 200);
            bands_of_curve(&hz, &vec![1.0; hz.len()]).len()
        };
        assert_eq!(count(20.0, 20_000.0), 31);
        assert_eq!(count(80.0, 20_000.0), 24);
        assert_eq!(bands_of_curve(&[], &[]), []);
    }
}
