//! Convolution of several lanes with one impulse response: no delay, the work spread evenly, the
//! same samples however the signal is cut into blocks.
//!
//! The first [`BLOCK`] taps are summed directly. What lies behind is cut into partitions of growing
//! size, each multiplied in the spectrum (overlap-save): W. G. Gardner, "Efficient Convolution
//! without Input-Output Delay", JAES 43(3), 127–136, 1995 (from memory). A level whose partitions
//! begin at twice their own length has one block of its own length to be computed in; its work is
//! spread over the small blocks that fit in there.

use super::level::{BLOCK, Level};

/// Lengths of the partitions by level; each begins where the next smaller one ends, at twice its
/// own length or later.
const SIZES: [usize; 3] = [BLOCK, 512, 4096];

/// The convolver of `N` lanes.
#[derive(Debug)]
pub struct Convolver<const N: usize> {
    head: [f64; BLOCK],
    /// The last block and the one that fills, a lane.
    near: [[f64; 2 * BLOCK]; N],
    /// What came in, a lane, as a ring whose length is a power of two.
    ring: [Vec<f64>; N],
    levels: Vec<Level<N>>,
    /// Samples since rest.
    clock: usize,
}

impl<const N: usize> Convolver<N> {
    /// At rest, for an impulse response of any length.
    pub fn new(taps: &[f64]) -> Self {
        let mut head = [0.0; BLOCK];
        let near = taps.len().min(BLOCK);
        head[..near].copy_from_slice(&taps[..near]);
        let mut levels = Vec::new();
        let mut start = BLOCK;
        for (index, &size) in SIZES.iter().enumerate() {
            if start >= taps.len() {
                break;
            }
            let end = match SIZES.get(index + 1) {
                Some(next) => (2 * next).min(taps.len()),
                None => taps.len(),
            };
            levels.push(Level::new(&taps[start..end], size, start / size));
            start = end;
        }
        let largest = levels.last().map_or(BLOCK, Level::size);
        Convolver {
            head,
            near: [[0.0; 2 * BLOCK]; N],
            ring: std::array::from_fn(|_| vec![0.0; 4 * largest]),
            levels,
            clock: 0,
        }
    }

    /// Back to rest.
    ///
    /// # Real-time
    /// Allocates nothing; clears half a megabyte at most, the spectra are only forgotten.
    pub fn reset(&mut self) {
        self.near = [[0.0; 2 * BLOCK]; N];
        self.ring.iter_mut().for_each(|ring| ring.fill(0.0));
        self.levels.iter_mut().for_each(Level::reset);
        self.clock = 0;
    }

    /// Convolves in place, one line a lane, all of one length.
    ///
    /// # Real-time
    /// Allocates nothing; the result does not depend on how a signal is cut into blocks.
    pub fn process(&mut self, lines: &mut [&mut [f64]; N]) {
        let length = lines.first().map_or(0, |line| line.len());
        let mut start = 0;
        while start < length {
            let within = self.clock % BLOCK;
            let count = (BLOCK - within).min(length - start);
            for (lane, line) in lines.iter_mut().enumerate() {
                self.piece(lane, within, &mut line[start..start + count]);
            }
            self.clock += count;
            start += count;
            if self.clock.is_multiple_of(BLOCK) {
                self.turn();
            }
        }
    }

    /// A piece of one lane that stays within a block, from its sample `within` on.
    fn piece(&mut self, lane: usize, within: usize, line: &mut [f64]) {
        let count = line.len();
        let near = &mut self.near[lane];
        near[BLOCK + within..BLOCK + within + count].copy_from_slice(line);
        let ring = &mut self.ring[lane];
        let at = self.clock & (ring.len() - 1);
        ring[at..at + count].copy_from_slice(line);
        // Tap by tap over the whole piece: every sample sums in the same order whatever the
        // piece's length, and the loop over samples becomes wide instructions.
        line.fill(0.0);
        for (tap, &gain) in self.head.iter().enumerate() {
            let from = BLOCK + within - tap;
            for (sum, &sample) in line.iter_mut().zip(&near[from..from + count]) {
                *sum += gain * sample;
            }
        }
        for level in &self.levels {
            for (sum, &sample) in line.iter_mut().zip(level.ready(lane, self.clock, count)) {
                *sum += sample;
            }
        }
    }

    /// The end of a block: the levels do their share.
    fn turn(&mut self) {
        for near in &mut self.near {
            near.copy_within(BLOCK.., 0);
        }
        for level in &mut self.levels {
            level.turn(self.clock, &self.ring);
        }
    }
}
