//! Harmonics of what is heard, by a Fourier transform over whole periods.

use num_complex::Complex64;

/// Rate of the samples, Hz, and samples a period of the sine.
pub const RATE: f64 = 48_000.0;
/// 48 a period.
pub const PERIOD: usize = 48;
/// Harmonics that are counted: up to 20 kHz.
pub const HARMONICS: usize = 20;

/// Amplitudes of the harmonics by number, the constant first, of samples of whole periods; over
/// those no window is needed.
pub fn spectrum(samples: &[f64]) -> [Complex64; HARMONICS + 1] {
    let transform = fourier::forward(samples.len());
    let mut input = samples.to_vec();
    let mut bins = transform.make_output_vec();
    // The lengths come from the plan itself.
    let done = transform.process(&mut input, &mut bins);
    debug_assert!(done.is_ok());
    let periods = samples.len() / PERIOD;
    std::array::from_fn(|k| bins[k * periods] * (2.0 / samples.len() as f64))
}
