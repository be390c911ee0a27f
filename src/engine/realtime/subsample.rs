//! What happened between samples, brought into band.
//!
//! The engine's output is point-sampled at the oversampled rate. Where steps were refined it moved
//! too fast for that, and point samples alias. This stage takes the finer samples, subtracts the
//! cubic through the point samples, band-limits the difference with a short kernel and adds it.

use crate::numeric::real::Real;

/// Most sub-samples of one interval.
pub const MOST: usize = 32;
/// Half-width of the kernel in intervals.
const REACH: usize = 2;
/// Outputs leave this many intervals after they are known.
pub const DELAY: usize = REACH + 1;

/// One interval's finer samples.
#[derive(Clone, Debug)]
struct Interval<T> {
    count: usize,
    /// Time within the interval in units of 1/[`MOST`], and value.
    samples: [(usize, T); MOST],
}

/// The stage.
#[derive(Clone, Debug)]
pub struct Subsampler<T> {
    kernel: Vec<f64>,
    /// The last four point samples, oldest first.
    points: [T; 4],
    /// Corrections that belong to `points[..]` and what follows, oldest first.
    corrections: [T; 2 * REACH + 2],
    current: Interval<T>,
    before: Interval<T>,
}

/// Cubic through four equidistant points, between the middle two at `x` in 0..1 (Lagrange).
#[inline(always)]
pub fn cubic<T: Real>(p: &[T; 4], x: f64) -> T {
    let c0 = -x * (x - 1.0) * (x - 2.0) / 6.0;
    let c1 = (x + 1.0) * (x - 1.0) * (x - 2.0) / 2.0;
    let c2 = -(x + 1.0) * x * (x - 2.0) / 2.0;
    let c3 = (x + 1.0) * x * (x - 1.0) / 6.0;
    (p[0] * T::splat(c0))
        .plus_product(p[1], T::splat(c1))
        .plus_product(p[2], T::splat(c2))
        .plus_product(p[3], T::splat(c3))
}

impl<T: Real> Subsampler<T> {
    /// A stage at rest at `level`.
    pub fn new(level: T) -> Self {
        let interval = Interval {
            count: 0,
            samples: [(0, T::ZERO); MOST],
        };
        // Sinc with its first zero at one interval under a squared cosine, unit sum: passes the
        // lower half of the band and removes what would fold into it.
        let length = REACH * MOST;
        let raw: Vec<f64> = (0..=length)
            .map(|k| {
                let x = k as f64 / MOST as f64;
                let window = (std::f64::consts::FRAC_PI_2 * x / REACH as f64)
                    .cos()
                    .powi(2);
                let angle = std::f64::consts::PI * x;
                if k == 0 {
                    1.0
                } else {
                    angle.sin() / angle * window
                }
            })
            .collect();
        let sum = (raw[0] + 2.0 * raw[1..].iter().sum::<f64>()) / MOST as f64;
        Subsampler {
            kernel: raw.iter().map(|k| k / sum).collect(),
            points: [level; 4],
            corrections: [T::ZERO; 2 * REACH + 2],
            current: interval.clone(),
            before: interval,
        }
    }

    /// Back to rest at `level`.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn settle(&mut self, level: T) {
        self.points = [level; 4];
        self.corrections = [T::ZERO; 2 * REACH + 2];
        self.current.count = 0;
        self.before.count = 0;
    }

    /// Notes the value at `time`/[`MOST`] within the interval now being stepped through.
    #[inline(always)]
    pub fn note(&mut self, time: usize, value: T) {
        if self.current.count < MOST {
            self.current.samples[self.current.count] = (time, value);
            self.current.count += 1;
        }
    }

    /// Ends the interval with its point sample and returns the sample [`DELAY`] intervals back.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline(always)]
    pub fn end(&mut self, value: T) -> T {
        self.points = [self.points[1], self.points[2], self.points[3], value];
        // `before` lies between points[1] and points[2], which are corrections[2] and [3].
        if self.before.count > 0 {
            self.bring_in();
        }
        let out = self.points[0] + self.corrections[1];
        self.corrections.copy_within(1.., 0);
        self.corrections[2 * REACH + 1] = T::ZERO;
        std::mem::swap(&mut self.before, &mut self.current);
        self.current.count = 0;
        out
    }

    #[inline(always)]
    fn bring_in(&mut self) {
        let interval = &self.before;
        for index in 0..interval.count {
            let (time, value) = interval.samples[index];
            if time >= MOST {
                continue;
            }
            let earlier = if index == 0 {
                0
            } else {
                interval.samples[index - 1].0
            };
            let later = if index + 1 < interval.count {
                interval.samples[index + 1].0
            } else {
                MOST
            };
            let weight = (later - earlier) as f64 / (2 * MOST) as f64;
            let x = time as f64 / MOST as f64;
            let difference = (value - cubic(&self.points, x)) * T::splat(weight);
            // Point samples from one before the interval to one behind it.
            for (place, offset) in (1..=4).zip([-1i64, 0, 1, 2]) {
                let distance = (offset * MOST as i64 - time as i64).unsigned_abs() as usize;
                if distance <= REACH * MOST {
                    let c = T::splat(self.kernel[distance]);
                    self.corrections[place] = self.corrections[place].plus_product(difference, c);
                }
            }
        }
    }
}
