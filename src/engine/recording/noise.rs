//! Whether a sound is noise without notes: the flatness of its spectrum, window by window.

use super::spectra::{Class, Windows, hann};

/// Octaves that are looked at, Hz: where notes and their first overtones are. In each by itself, so
/// that a tilt of the spectrum does not count.
const OCTAVES: [f64; 5] = [100.0, 200.0, 400.0, 800.0, 1600.0];

/// The geometric over the arithmetic mean of the lines of an octave, as powers, their geometric mean
/// over the octaves; of the windows that are no rests the median. White or coloured noise has
/// exp(−0.577) = 0.56 (the mean logarithm of an exponential variable is Euler's constant below that
/// of its mean; own derivation), lines less. None for silence.
pub fn flatness(samples: &[f32], rate: u32, windows: &Windows) -> Option<f64> {
    let length = windows.length;
    let weights = hann(length);
    let transform = fourier::forward(length);
    let mut lines = transform.make_output_vec();
    let line = |hz: f64| (hz * length as f64 / f64::from(rate)).round() as usize;
    let mut found = Vec::new();
    for (i, class) in windows.classes.iter().enumerate() {
        if *class == Class::Rest {
            continue;
        }
        let start = i * length / 2;
        let mut piece: Vec<f64> = samples[start..start + length]
            .iter()
            .zip(&weights)
            .map(|(&s, w)| f64::from(s) * w)
            .collect();
        transform.process(&mut piece, &mut lines).ok()?;
        let of_octave = |edges: &[f64]| {
            let powers = lines[line(edges[0])..line(edges[1])]
                .iter()
                .map(|c| c.norm_sqr());
            let count = powers.clone().count() as f64;
            let mean = powers.clone().sum::<f64>() / count;
            powers.map(|p| p.max(1e-30).ln()).sum::<f64>() / count - mean.max(1e-30).ln()
        };
        let octaves = OCTAVES.windows(2).map(of_octave);
        found.push((octaves.sum::<f64>() / (OCTAVES.len() - 1) as f64).exp());
    }
    found.sort_by(f64::total_cmp);
    found.get(found.len() / 2).copied()
}
