//! From samples in to samples out: rate conversion around the engine, and the choice of step.
//!
//! Each interval of the oversampled rate is crossed in steps of 1/2^level of it. The level rises
//! when the local error is too large or Newton's method fails, and falls when the error is small
//! and the time is a multiple of the coarser step. A governor holds the work within a budget of
//! Newton iterations: when it runs out, errors no longer refine, only failures do. A step that is
//! not solved is never accepted.

use super::engine::{Attempt, Engine};
use super::half_band::{self, Oversampler};
use super::subsample::{self, MOST, Subsampler, cubic};
use crate::network::{Network, Values};
use crate::numeric::real::Real;

/// Newton iterations that an interval may cost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Governor {
    /// Iterations granted an interval.
    pub grant: f64,
    /// Iterations that may be saved up.
    pub most: f64,
}

/// Counts since the start.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Intervals of the oversampled rate.
    pub intervals: u64,
    /// Newton iterations.
    pub iterations: u64,
    /// Attempts at a step, accepted or not.
    pub attempts: u64,
    /// Steps whose error the governor let through.
    pub governed: u64,
    /// Steps that had no solution at the finest level, where the circuit was held.
    pub unsolved: u64,
    /// Most iterations in one interval.
    pub worst: u64,
}

/// An error below this share of what is allowed lets the step grow; doubling it raises a
/// third-order error eightfold.
const COARSEN_BELOW: f64 = 0.1;

/// Settings of a [`Stepper`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Host rate, Hz.
    pub rate: f64,
    /// 1, 2 or 3: oversampling by 2, 4 or 8.
    pub doublings: usize,
    /// Budget, or none for work off line.
    pub governor: Option<Governor>,
    /// Finest step, s; the level count follows from it. A third of a microsecond suffices.
    pub finest: f64,
}

impl Settings {
    /// For playing at `rate` Hz with oversampling by `2^doublings`.
    pub fn live(rate: f64, doublings: usize) -> Self {
        let share = rate * (1 << doublings) as f64 / 96_000.0;
        Settings {
            rate,
            doublings,
            // An iteration takes about half a microsecond: eight in an interval of 10.4 µs leave
            // more than half of the time, and the savings are what a 64-frame block can lend.
            governor: Some(Governor {
                grant: 8.0 / share,
                most: 300.0,
            }),
            finest: 0.34e-6,
        }
    }

    fn halvings(&self) -> usize {
        let step = 1.0 / (self.rate * (1 << self.doublings) as f64);
        ((step / self.finest).log2().ceil().max(0.0) as usize).min(5)
    }

    /// Delay from input to output, samples of the host's rate; always whole.
    pub fn latency(&self) -> usize {
        let factor = 1 << self.doublings;
        (half_band::delay(self.doublings) + INPUT_DELAY + subsample::DELAY).div_ceil(factor)
    }

    /// Samples of the higher rate that fill the delay up to whole host samples.
    fn padding(&self) -> usize {
        let factor = 1 << self.doublings;
        self.latency() * factor
            - (half_band::delay(self.doublings) + INPUT_DELAY + subsample::DELAY)
    }
}

/// Intervals that the input's interpolation looks ahead.
const INPUT_DELAY: usize = 1;

/// The processor for lanes of type `T`.
#[derive(Clone, Debug)]
pub struct Stepper<T> {
    /// The circuit.
    pub engine: Engine<T>,
    over: Oversampler<T>,
    sub: Subsampler<T>,
    window: [T; 4],
    padding: [T; 8],
    pad: usize,
    level: usize,
    governor: Option<Governor>,
    credit: f64,
    /// A step had no solution in the last interval.
    stuck: bool,
    counts: Counts,
}

impl<T: Real> Stepper<T> {
    /// A processor at rest; `lanes` as in [`Engine::new`].
    pub fn new(network: &Network, lanes: &[(&Values, &[f64])], settings: &Settings) -> Self {
        let step = 1.0 / (settings.rate * (1 << settings.doublings) as f64);
        let engine = Engine::new(network, lanes, step, settings.halvings());
        let heard = engine.heard();
        let mut over = Oversampler::new(settings.doublings);
        over.settle(heard);
        Stepper {
            sub: Subsampler::new(heard),
            over,
            window: [T::ZERO; 4],
            padding: [heard; 8],
            pad: settings.padding(),
            level: 0,
            governor: settings.governor,
            credit: settings.governor.map_or(0.0, |g| g.most),
            stuck: false,
            counts: Counts::default(),
            engine,
        }
    }

    /// What it took so far.
    pub fn counts(&self) -> Counts {
        Counts {
            iterations: self.engine.iterations,
            attempts: self.engine.attempts,
            ..self.counts
        }
    }

    /// One sample of the host's rate: volts at the jack in, volts heard out.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline(always)]
    pub fn sample(&mut self, input: T) -> T {
        let mut buffer = [T::ZERO; 8];
        self.over.raise(input, &mut buffer);
        for slot in buffer.iter_mut().take(self.over.factor()) {
            self.window = [self.window[1], self.window[2], self.window[3], *slot];
            self.interval();
            let heard = self.engine.heard();
            let out = self.sub.end(heard);
            // A short line fills the delay up to whole host samples.
            self.padding.copy_within(0..7, 1);
            self.padding[0] = out;
            *slot = self.padding[self.pad];
        }
        self.over.lower(&mut buffer)
    }

    /// Crosses one interval of the oversampled rate.
    #[inline(always)]
    fn interval(&mut self) {
        let finest = self.engine.finest();
        let whole = 1usize << finest;
        let before = self.engine.iterations;
        if let Some(governor) = self.governor {
            self.credit = (self.credit + governor.grant).min(governor.most);
        }
        if self.governor.is_some() && self.credit <= 0.0 {
            self.level = 0;
        }
        let unsolved = self.counts.unsolved;
        let mut time = 0;
        while time < whole {
            let size = whole >> self.level;
            let end = time + size;
            let input = if end == whole {
                self.window[2]
            } else {
                cubic(&self.window, end as f64 / whole as f64)
            };
            let broke =
                self.governor.is_some() && self.credit < (self.engine.iterations - before) as f64;
            match self.engine.attempt(self.level, input) {
                Attempt::Solved(error) if error <= 1.0 || self.level == finest || broke => {
                    if error > 1.0 && self.level < finest {
                        self.counts.governed += 1;
                    }
                    self.engine.commit(self.level);
                    time = end;
                    if size < whole {
                        self.sub.note(end * (MOST / whole), self.engine.heard());
                    }
                    let aligned = time % (2 * size) == 0;
                    if self.level > 0 && aligned && (error < COARSEN_BELOW || broke) {
                        self.level -= 1;
                    }
                }
                Attempt::Solved(error) => {
                    let levels = if error > 64.0 {
                        3
                    } else if error > 8.0 {
                        2
                    } else {
                        1
                    };
                    self.level = (self.level + levels).min(finest);
                }
                // Where finer steps did not help in the last interval and there is no time to try,
                // the circuit is held at once.
                Attempt::Failed if self.level < finest && !(self.stuck && broke) => self.level += 1,
                Attempt::Failed => {
                    self.counts.unsolved += 1;
                    time = end;
                }
            }
        }
        self.stuck = self.counts.unsolved > unsolved;
        self.counts.intervals += 1;
        let spent = self.engine.iterations - before;
        self.counts.worst = self.counts.worst.max(spent);
        self.credit -= spent as f64;
    }

    /// Back to rest at the operating points given, one a lane.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn reset(&mut self, network: &Network, points: &[&[f64]]) {
        for (lane, point) in points.iter().enumerate() {
            self.engine.settle(network, lane, point);
        }
        let heard = self.engine.heard();
        self.over.settle(heard);
        self.sub.settle(heard);
        self.window = [T::ZERO; 4];
        self.padding = [heard; 8];
        self.level = 0;
        self.stuck = false;
        self.credit = self.governor.map_or(0.0, |g| g.most);
    }
}
