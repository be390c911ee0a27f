//! Integrated loudness of a recording after ITU-R BS.1770-4, by the crate `ebur128`.

use ebur128::{EbuR128, Mode};

/// Loudness in LUFS of one or two channels of equal length, 1.0 being full scale; `None` where
/// nothing passes the gate: silence, or less than 0.4 s.
///
/// # Panics
/// When there are no channels or more than two.
pub fn integrated_lufs(channels: &[&[f32]], rate: u32) -> Option<f64> {
    let count = channels.len();
    assert!((1..=2).contains(&count), "{count} channels");
    let mut meter = EbuR128::new(count as u32, rate, Mode::I).ok()?;
    // In pieces of a tenth of a second, which is how the meter steps anyway.
    let piece = (rate / 10).max(1) as usize;
    let frames = channels[0].len();
    for start in (0..frames).step_by(piece) {
        let end = (start + piece).min(frames);
        let planes: Vec<&[f32]> = channels.iter().map(|c| &c[start..end]).collect();
        meter.add_frames_planar_f32(&planes).ok()?;
    }
    let lufs = meter.loudness_global().ok()?;
    lufs.is_finite().then_some(lufs)
}

/// Highest magnitude of a sample in any channel.
pub fn peak(recording: &[&[f32]]) -> f64 {
    let samples = recording.iter().copied().flatten();
    f64::from(samples.fold(0.0f32, |peak, s| peak.max(s.abs())))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::ratio_from_decibels;
    use std::f64::consts::PI;

    /// A tone whose peak stands at each of these levels (dB of full scale) for so many seconds.
    fn tone(hz: f64, rate: u32, pieces: &[(f64, f64)]) -> Vec<f32> {
        let mut samples = Vec::new();
        for &(db, seconds) in pieces {
            let level = ratio_from_decibels(db);
            for _ in 0..(seconds * f64::from(rate)) as usize {
                let angle = 2.0 * PI * hz * samples.len() as f64 / f64::from(rate);
                samples.push((level * angle.sin()) as f32);
            }
        }
        samples
    }

    fn stereo(rate: u32, pieces: &[(f64, f64)]) -> f64 {
        let tone = tone(1000.0, rate, pieces);
        integrated_lufs(&[&tone, &tone], rate).unwrap()
    }

    /// ITU-R BS.1770-4: a 997 Hz full-scale sine in one front channel reads −3.01 LKFS (seen in
    /// secondary copies, and computed from the printed coefficients).
    #[test]
    fn one_channel_of_full_scale() {
        for rate in [44_100, 48_000, 96_000] {
            let tone = tone(997.0, rate, &[(0.0, 5.0)]);
            let lufs = integrated_lufs(&[&tone], rate).unwrap();
            assert!((lufs + 3.01).abs() < 0.02, "{rate} Hz: {lufs}");
        }
    }

    /// EBU Tech 3341 signals 1 to 4 and their ±0.1 LU (seen in secondary copies); the tones are made
    /// here.
    #[test]
    fn the_gates_of_the_broadcast_test_signals() {
        let cases: [(&[(f64, f64)], f64); 4] = [
            (&[(-23.0, 20.0)], -23.0),
            (&[(-33.0, 20.0)], -33.0),
            (&[(-36.0, 10.0), (-23.0, 60.0), (-36.0, 10.0)], -23.0),
            (
                &[
                    (-72.0, 10.0),
                    (-36.0, 10.0),
                    (-23.0, 60.0),
                    (-36.0, 10.0),
                    (-72.0, 10.0),
                ],
                -23.0,
            ),
        ];
        for (pieces, expected) in cases {
            let lufs = stereo(48_000, pieces);
            assert!((lufs - expected).abs() <= 0.1, "{lufs} for {expected}");
        }
    }

    /// K-weighting relative to 997 Hz at other frequencies, computed from the coefficients of
    /// BS.1770-4; allowed is the meter's own resolution.
    #[test]
    fn the_weighting_curve() {
        for (hz, db) in [
            (50.0, -3.934),
            (100.0, -1.134),
            (500.0, 0.043),
            (4000.0, 3.968),
        ] {
            let tone = tone(hz, 48_000, &[(-20.0, 5.0)]);
            let lufs = integrated_lufs(&[&tone], 48_000).unwrap();
            // A sine's mean square is half its peak squared: −3.010 dB; the standard adds −0.691.
            let expected = -20.0 - 3.0103 - 0.691 + db;
            assert!(
                (lufs - expected).abs() < 0.02,
                "{hz} Hz: {lufs}, {expected}"
            );
        }
    }

    #[test]
    fn silence_has_no_loudness() {
        assert_eq!(integrated_lufs(&[&[0.0; 48_000]], 48_000), None);
        assert_eq!(integrated_lufs(&[&[]], 48_000), None);
    }
}
