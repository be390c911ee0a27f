//! One level of a convolver: partitions of one size, multiplied in the spectrum.

use fourier::{ComplexToReal, RealToComplex};
use num_complex::Complex64;
use std::fmt;
use std::sync::Arc;

/// Samples that are summed directly, and the grid on which the rest is worked out.
pub const BLOCK: usize = 64;

/// A transform costs about as much as this many products of a partition (3.2 to 4 measured, for
/// all three sizes).
const TRANSFORM: usize = 4;

/// A spectrum, real and imaginary parts apart so that products become wide instructions.
#[derive(Clone, Debug)]
struct Spectrum {
    re: Vec<f64>,
    im: Vec<f64>,
}

impl Spectrum {
    fn new(bins: usize) -> Self {
        Spectrum {
            re: vec![0.0; bins],
            im: vec![0.0; bins],
        }
    }

    fn clear(&mut self) {
        self.re.fill(0.0);
        self.im.fill(0.0);
    }

    fn take(&mut self, bins: &[Complex64]) {
        for ((re, im), bin) in self.re.iter_mut().zip(&mut self.im).zip(bins) {
            *re = bin.re;
            *im = bin.im;
        }
    }

    /// Adds a product.
    fn add(&mut self, a: &Spectrum, b: &Spectrum) {
        let bins = self.re.len();
        let (re, im) = (&mut self.re[..bins], &mut self.im[..bins]);
        let (ar, ai) = (&a.re[..bins], &a.im[..bins]);
        let (br, bi) = (&b.re[..bins], &b.im[..bins]);
        for k in 0..bins {
            re[k] += ar[k] * br[k] - ai[k] * bi[k];
            im[k] += ar[k] * bi[k] + ai[k] * br[k];
        }
    }
}

/// What one lane remembers.
#[derive(Debug)]
struct Lane {
    /// Spectra of the last blocks, as a ring.
    spectra: Vec<Spectrum>,
    sum: Spectrum,
    /// What is heard in this block, and what is being made for the next.
    ready: Vec<f64>,
    making: Vec<f64>,
    /// Cost of the work done for the next block.
    done: usize,
}

/// Partitions of one size.
pub struct Level<const N: usize> {
    size: usize,
    /// Whether the first partition begins at twice its length, so that there is time for the work.
    spread: bool,
    partitions: Vec<Spectrum>,
    lanes: [Lane; N],
    /// Place of the newest spectrum in its ring, and how many there are since rest.
    newest: usize,
    known: usize,
    forward: Arc<dyn RealToComplex<f64>>,
    back: Arc<dyn ComplexToReal<f64>>,
    time: Vec<f64>,
    bins: Vec<Complex64>,
    scratch: Vec<Complex64>,
}

impl<const N: usize> fmt::Debug for Level<N> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Level")
            .field("size", &self.size)
            .field("partitions", &self.partitions.len())
            .finish_non_exhaustive()
    }
}

impl<const N: usize> Level<N> {
    /// A level for taps that begin at `first` times `size`: 1, or at least 2 for a spread one.
    pub fn new(taps: &[f64], size: usize, first: usize) -> Self {
        debug_assert!(
            first == 1 && size == BLOCK || first == 2,
            "a gap before the level"
        );
        let forward = fourier::forward(2 * size);
        let back = fourier::inverse(2 * size);
        let mut bins = forward.make_output_vec();
        let mut time = forward.make_input_vec();
        let mut scratch = forward.make_scratch_vec();
        let longer = scratch.len().max(back.get_scratch_len());
        scratch.resize(longer, Complex64::ZERO);
        // Neither transform divides by its length.
        let scale = 1.0 / (2 * size) as f64;
        let partitions: Vec<Spectrum> = taps
            .chunks(size)
            .map(|chunk| {
                time.fill(0.0);
                for (place, tap) in time.iter_mut().zip(chunk) {
                    *place = tap * scale;
                }
                transform(&*forward, &mut time, &mut bins, &mut scratch);
                let mut spectrum = Spectrum::new(bins.len());
                spectrum.take(&bins);
                spectrum
            })
            .collect();
        let cost = partitions.len() + 2 * TRANSFORM;
        let lane = || Lane {
            spectra: vec![Spectrum::new(bins.len()); partitions.len()],
            sum: Spectrum::new(bins.len()),
            ready: vec![0.0; size],
            making: vec![0.0; size],
            done: cost,
        };
        Level {
            size,
            spread: first > 1,
            lanes: std::array::from_fn(|_| lane()),
            newest: 0,
            known: 0,
            partitions,
            forward,
            back,
            time,
            bins,
            scratch,
        }
    }

    /// What a block costs a lane, in products.
    fn cost(&self) -> usize {
        self.partitions.len() + 2 * TRANSFORM
    }

    /// Length of a partition.
    pub fn size(&self) -> usize {
        self.size
    }

    /// Forgets everything heard so far.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn reset(&mut self) {
        self.known = 0;
        let cost = self.cost();
        for lane in &mut self.lanes {
            lane.ready.fill(0.0);
            lane.making.fill(0.0);
            lane.done = cost;
        }
    }

    /// What the level adds to the samples from `clock` on, which stay within a small block.
    pub fn ready(&self, lane: usize, clock: usize, count: usize) -> &[f64] {
        let at = clock & (self.size - 1);
        &self.lanes[lane].ready[at..at + count]
    }

    /// The end of the small block before `clock`; `rings` hold what came in, a lane.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn turn(&mut self, clock: usize, rings: &[Vec<f64>; N]) {
        let turns = self.size / BLOCK;
        let turn = (clock / BLOCK) % turns;
        if turn == 0 {
            if self.spread {
                self.swap();
            }
            self.newest = (self.newest + 1) % self.partitions.len();
            self.known = (self.known + 1).min(self.partitions.len());
            self.lanes.iter_mut().for_each(|lane| lane.done = 0);
        }
        // Lane after lane, each in its share of the turns; a share of the whole where there are
        // fewer turns than lanes.
        let cost = self.cost();
        let begun = clock - turn * BLOCK;
        for (lane, ring) in rings.iter().enumerate() {
            let due = ((turn + 1) * N * cost / turns)
                .saturating_sub(lane * cost)
                .min(cost);
            while self.lanes[lane].done < due {
                self.work(lane, begun, ring);
            }
        }
        if !self.spread {
            self.swap();
        }
    }

    fn swap(&mut self) {
        for lane in &mut self.lanes {
            std::mem::swap(&mut lane.ready, &mut lane.making);
        }
    }

    /// One piece of work for a lane: a transform of the block that ended at `begun`, a product, or
    /// the transform back.
    fn work(&mut self, lane: usize, begun: usize, ring: &[f64]) {
        let Lane {
            spectra,
            sum,
            making,
            done,
            ..
        } = &mut self.lanes[lane];
        let count = self.partitions.len();
        if *done < TRANSFORM {
            // The block and the one before it; before rest there was silence.
            let mask = ring.len() - 1;
            let from = begun.wrapping_sub(2 * self.size);
            for half in 0..2 {
                let at = from.wrapping_add(half * self.size) & mask;
                self.time[half * self.size..][..self.size]
                    .copy_from_slice(&ring[at..at + self.size]);
            }
            transform(
                &*self.forward,
                &mut self.time,
                &mut self.bins,
                &mut self.scratch,
            );
            spectra[self.newest].take(&self.bins);
            sum.clear();
            *done = TRANSFORM;
        } else if *done < TRANSFORM + count {
            let partition = *done - TRANSFORM;
            if partition < self.known {
                let place = (self.newest + count - partition) % count;
                sum.add(&self.partitions[partition], &spectra[place]);
            }
            *done += 1;
        } else {
            for (bin, (&re, &im)) in self.bins.iter_mut().zip(sum.re.iter().zip(&sum.im)) {
                *bin = Complex64::new(re, im);
            }
            // Both ends of a real signal's spectrum are real; rounding may have left a trace.
            let last = self.bins.len() - 1;
            self.bins[0].im = 0.0;
            self.bins[last].im = 0.0;
            let lengths =
                self.back
                    .process_with_scratch(&mut self.bins, &mut self.time, &mut self.scratch);
            debug_assert!(lengths.is_ok(), "buffers of the plan's lengths");
            making.copy_from_slice(&self.time[self.size..]);
            *done += TRANSFORM;
        }
    }
}

fn transform(
    plan: &dyn RealToComplex<f64>,
    time: &mut [f64],
    bins: &mut [Complex64],
    scratch: &mut [Complex64],
) {
    let lengths = plan.process_with_scratch(time, bins, scratch);
    debug_assert!(lengths.is_ok(), "buffers of the plan's lengths");
}
