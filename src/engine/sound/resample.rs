//! A sound at another sample rate, by the crate `rubato` (band-limited, by Fourier transforms). What
//! stood at a time stands there afterwards, to about a sample between rates that are unlike.

use audioadapter_buffers::direct::SequentialSliceOfVecs;
use fourier::Resampler;

/// Least number of frames that are transformed at once. The filter is as long: the more, the nearer to
/// half the rate it passes.
const LEAST_BLOCK: u32 = 1024;

/// `channels` (of one length) at rate `to` instead of `from`, Hz. The length is that of the same
/// time, rounded up. A sound without frames stays empty.
///
/// # Errors
/// What the crate says of rates or channels that it does not take (a rate of 0).
pub fn resampled(channels: &[Vec<f32>], from: u32, to: u32) -> Result<Vec<Vec<f32>>, String> {
    let frames = channels.first().map_or(0, Vec::len);
    if from == to || frames == 0 {
        return Ok(channels.to_vec());
    }
    let count = channels.len();
    let in_words = |why: &dyn std::fmt::Display| why.to_string();
    // The crate takes blocks of whole multiples of the rates' smallest ratio. Only even multiples have
    // their filter's middle on a sample on both sides; of odd ones the sound comes out half a sample off.
    let smallest = from / common_divisor(from, to).max(1);
    let block = smallest * 2 * LEAST_BLOCK.div_ceil(2 * smallest.max(1));
    let mut resampler = fourier::resampler(from as usize, to as usize, block as usize, count)
        .map_err(|why| in_words(&why))?;
    let length = resampler.process_all_needed_output_len(frames);
    let mut out = vec![vec![0.0; length]; count];
    let input =
        SequentialSliceOfVecs::new(channels, count, frames).map_err(|why| in_words(&why))?;
    let mut output =
        SequentialSliceOfVecs::new_mut(&mut out, count, length).map_err(|why| in_words(&why))?;
    let (_, written) = resampler
        .process_all_into_buffer(&input, &mut output, frames, None)
        .map_err(|why| in_words(&why))?;
    out.iter_mut().for_each(|channel| channel.truncate(written));
    Ok(out)
}

fn common_divisor(a: u32, b: u32) -> u32 {
    match b {
        0 => a,
        b => common_divisor(b, a % b),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    /// A tone keeps its place in time, its level and its pitch. The bound is what single precision
    /// and the crate's window (sidelobes below −100 dB, as its documentation has it) leave.
    #[test]
    fn a_tone_stays_where_it_was() {
        for (from, to) in [
            (44_100, 48_000),
            (48_000, 44_100),
            (96_000, 48_000),
            (22_050, 96_000),
        ] {
            let tone = |rate: u32, frames: usize| -> Vec<f32> {
                let at = |n: usize| (TAU * 997.0 * n as f64 / f64::from(rate)).sin() as f32;
                (0..frames).map(at).collect()
            };
            let before = tone(from, from as usize);
            let after = resampled(&[before], from, to).unwrap().remove(0);
            let frames = after.len();
            assert!(
                frames.abs_diff(to as usize) <= 1,
                "{from} to {to}: {frames} frames"
            );
            let expected = tone(to, frames);
            // The ends hear the silence beyond.
            let inner = frames / 10..frames * 9 / 10;
            let worst = inner.fold(0f32, |most, n| most.max((after[n] - expected[n]).abs()));
            assert!(worst < 1e-4, "{from} to {to}: {worst}");
        }
    }

    #[test]
    fn the_same_rate_and_nothing_are_left_alone() {
        let sound = vec![vec![0.5f32, -0.25], vec![0.0, 1.0]];
        assert_eq!(resampled(&sound, 48_000, 48_000).unwrap(), sound);
        let none = Vec::<f32>::new();
        assert_eq!(
            resampled(std::slice::from_ref(&none), 48_000, 44_100).unwrap(),
            [none]
        );
    }
}
