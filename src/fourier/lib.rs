//! Fourier transforms, and the resampling that is made of them, compiled once.
//!
//! The crates behind are generic over the number, so that each crate that plans a transform would
//! compile all of them again: 26 s of a processor for double precision alone (Rust 1.95, `opt-level`
//! 2), in the library, in its own tests and in most test programs. Here they are made for the two
//! precisions that are used, and what comes out is behind a pointer.

pub use realfft::{ComplexToReal, RealToComplex};
pub use rubato::Resampler;

use realfft::RealFftPlanner;
use rubato::{Fft, FixedSync, ResamplerConstructionError, WindowFunction};
use std::sync::Arc;

/// The transform of `length` real numbers to `length / 2 + 1` complex ones. Neither way divides by
/// the length.
pub fn forward(length: usize) -> Arc<dyn RealToComplex<f64>> {
    RealFftPlanner::new().plan_fft_forward(length)
}

/// [`forward`] in single precision.
pub fn forward_single(length: usize) -> Arc<dyn RealToComplex<f32>> {
    RealFftPlanner::new().plan_fft_forward(length)
}

/// The transform back to `length` real numbers.
pub fn inverse(length: usize) -> Arc<dyn ComplexToReal<f64>> {
    RealFftPlanner::new().plan_fft_inverse(length)
}

/// A resampler of `channels` from one rate to another, Hz, that takes at least `block` frames at once
/// and whose filter is as long, under the square of a Blackman-Harris window.
///
/// # Errors
/// Rates or a block that the crate does not take.
pub fn resampler(
    from: usize,
    to: usize,
    block: usize,
    channels: usize,
) -> Result<Fft<f32>, ResamplerConstructionError> {
    let window = WindowFunction::BlackmanHarris2;
    Fft::new_custom(from, to, block, 1, channels, window, FixedSync::Both)
}
