//! A sound through several circuits of one topology, as fast as this machine can, for reports.
//!
//! Takes circuits at rest and samples at the jack; gives what is heard of each, and what a
//! [`Gauge`] reads inside, by tenths of a second. The sound is cut into segments that are played
//! side by side in the lanes of the processor that is heard, on all cores, each after a run-in in
//! which supplies, bias and coupling capacitors come to where the whole sound would have brought
//! them. For recordings to listen to, [`super::playing`] plays without a seam.

use crate::network::Network;
use crate::numeric::parallel::{GoOn, on_all_cores};
use crate::realtime::dispatch::Instructions;
use crate::realtime::{Processor, Settings};
use crate::solve::solved::SolvedCircuit;

/// Most segments of a sound: two groups of lanes.
const SEGMENTS: usize = 2 * LANES;
/// Enough jobs for eight cores. Each segment costs a run-in, so many circuits are cut less: a hint at how
/// hard an amp was driven (24 performances of 5 s) steps 0.66 as many samples as with 16 segments each.
const JOBS: usize = 8 * LANES;
/// Circuits side by side.
const LANES: usize = 8;
/// Run-in before a segment, s. The slowest of the built-in amps is a supply decoupling of a third
/// of a second, which hardly sags; `tests/analysis/performance.rs` has what is left.
const RUN_IN_SECONDS: f64 = 0.2;
/// The run-in fades in for so long, s: it may begin within a note.
const FADE_SECONDS: f64 = 0.01;
/// Samples between two readings of the gauge; a mean power does not need its highest frequencies.
const READ_EVERY: usize = 8;
/// Length of a bin, s: short enough to follow a chord, long against a period of the low E.
pub const BIN_SECONDS: f64 = 0.1;
/// The rate that the circuit is stepped at without need for finer steps, Hz: twice 48 kHz.
const STEPS_A_SECOND: f64 = 96_000.0;

/// Reads figures off the voltages of one circuit.
pub trait Gauge: Sync {
    /// How many figures.
    fn count(&self) -> usize;
    /// Puts the present figures; `volts(position)` is the voltage of an unknown.
    fn read(&self, side: &SolvedCircuit, volts: &dyn Fn(usize) -> f64, figures: &mut [f64]);
}

/// Reads nothing.
#[derive(Clone, Copy, Debug)]
pub struct NoGauge;

impl Gauge for NoGauge {
    fn count(&self) -> usize {
        0
    }
    fn read(&self, _: &SolvedCircuit, _: &dyn Fn(usize) -> f64, _: &mut [f64]) {}
}

/// Readings by tenths of a second: a row a figure. The channels of a sound follow one another.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bins {
    /// Means.
    pub mean: Vec<Vec<f64>>,
    /// Lowest readings.
    pub low: Vec<Vec<f64>>,
    /// Highest readings.
    pub high: Vec<Vec<f64>>,
}

/// One circuit's performance.
#[derive(Clone, Debug, PartialEq)]
pub struct Performed {
    /// Volts heard, one recording a channel, each as long as its input; what stands at rest is
    /// taken off.
    pub volts: Vec<Vec<f32>>,
    /// What the gauge read.
    pub bins: Bins,
    /// Steps without a solution, shared by the circuits that were side by side.
    pub unsolved: u64,
}

/// One segment of one channel through one circuit.
#[derive(Clone, Copy)]
struct Job {
    side: usize,
    channel: usize,
    /// First frame.
    start: usize,
}

/// What came of a job.
#[derive(Clone)]
struct Done {
    volts: Vec<f32>,
    bins: Bins,
    unsolved: u64,
}

/// Plays `channels` (samples at the jack, V, of one length; `rate` in hertz) through each of
/// `sides`. `go_on` is told the share that is done and answers whether to go on; none when it says
/// no. The result does not depend on the number of cores.
pub fn perform(
    network: &Network,
    sides: &[&SolvedCircuit],
    channels: &[&[f32]],
    rate: u32,
    gauge: &dyn Gauge,
    go_on: GoOn<'_>,
) -> Option<Vec<Performed>> {
    let frames = channels.iter().map(|c| c.len()).max().unwrap_or(0);
    let bin = ((BIN_SECONDS * f64::from(rate)).round() as usize).max(READ_EVERY);
    let whole = (sides.len() * channels.len()).max(1);
    let segments = (JOBS / whole).clamp(1, SEGMENTS);
    // Whole bins, so that the seams fall between two.
    let length = frames.div_ceil(segments).div_ceil(bin) * bin;
    let jobs = jobs(sides.len(), channels.len(), frames, length.max(1));
    let stage = Stage {
        network,
        sides,
        channels,
        rate: f64::from(rate),
        gauge,
        length,
        bin,
    };
    let groups: Vec<&[Job]> = jobs.chunks(LANES).collect();
    let done = on_all_cores(groups.len(), go_on, &|index, go_on| {
        stage.play(groups[index], go_on)
    })?;
    let mut results: Vec<(Job, Done)> = jobs
        .iter()
        .copied()
        .zip(done.into_iter().flatten())
        .collect();
    results.sort_by_key(|(job, _)| (job.side, job.channel, job.start));
    let mut performed: Vec<Performed> = sides
        .iter()
        .map(|_| Performed {
            volts: vec![Vec::with_capacity(frames); channels.len()],
            bins: Bins {
                mean: vec![Vec::new(); gauge.count()],
                low: vec![Vec::new(); gauge.count()],
                high: vec![Vec::new(); gauge.count()],
            },
            unsolved: 0,
        })
        .collect();
    for (job, part) in results {
        let whole = &mut performed[job.side];
        whole.volts[job.channel].extend(&part.volts);
        for (whole, part) in [
            (&mut whole.bins.mean, part.bins.mean),
            (&mut whole.bins.low, part.bins.low),
            (&mut whole.bins.high, part.bins.high),
        ] {
            for (row, piece) in whole.iter_mut().zip(part) {
                row.extend(piece);
            }
        }
        whole.unsolved += part.unsolved;
    }
    Some(performed)
}

/// The jobs, in groups of lanes. Neighbouring segments go to different groups, so that a loud
/// passage falls to all cores alike.
fn jobs(sides: usize, channels: usize, frames: usize, length: usize) -> Vec<Job> {
    let mut jobs = Vec::new();
    for side in 0..sides {
        for channel in 0..channels {
            let starts: Vec<usize> = (0..frames).step_by(length).collect();
            for parity in 0..2 {
                let of_group = starts.iter().skip(parity).step_by(2);
                jobs.extend(of_group.map(|&start| Job {
                    side,
                    channel,
                    start,
                }));
            }
        }
    }
    jobs
}

/// What all jobs share.
struct Stage<'a> {
    network: &'a Network,
    sides: &'a [&'a SolvedCircuit],
    channels: &'a [&'a [f32]],
    rate: f64,
    gauge: &'a dyn Gauge,
    /// Frames of a segment.
    length: usize,
    /// Frames of a bin.
    bin: usize,
}

impl Stage<'_> {
    /// Plays up to [`LANES`] jobs side by side.
    fn play(&self, jobs: &[Job], go_on: GoOn<'_>) -> Option<Vec<Done>> {
        // Lanes without a job repeat the first.
        let lanes: [Job; LANES] = std::array::from_fn(|lane| *jobs.get(lane).unwrap_or(&jobs[0]));
        let sides = lanes.map(|job| self.sides[job.side]);
        let doublings = (STEPS_A_SECOND / self.rate).log2().round().clamp(1.0, 3.0);
        let mut processor = Processor::<LANES>::new(
            self.network,
            sides.map(|side| (&side.values, side.point.solution.as_slice())),
            Settings {
                governor: None,
                ..Settings::live(self.rate, doublings as usize)
            },
            Instructions::detect(),
        );
        let [positive, negative] = self.network.output();
        let latency = processor.latency();
        let run_in = (RUN_IN_SECONDS * self.rate) as usize / READ_EVERY * READ_EVERY;
        let fade = FADE_SECONDS * self.rate;
        let count = self.gauge.count();
        let mut figures = vec![0.0; count];
        let mut tallies: Vec<Tally> = jobs.iter().map(|_| Tally::new(count)).collect();
        let mut done: Vec<Vec<f32>> = vec![Vec::with_capacity(self.length); jobs.len()];
        let mut feed = [[0.0; READ_EVERY]; LANES];
        let mut take = [[0.0; READ_EVERY]; LANES];
        let total = run_in + self.length + latency;
        for at in (0..total).step_by(READ_EVERY) {
            for (lane, job) in feed.iter_mut().zip(&lanes) {
                let channel = self.channels[job.channel];
                for (i, slot) in lane.iter_mut().enumerate() {
                    let frame = (job.start + at + i).checked_sub(run_in);
                    let sample = frame.and_then(|f| channel.get(f)).copied().unwrap_or(0.0);
                    *slot = f64::from(sample) * ((at + i) as f64 / fade).min(1.0);
                }
            }
            let feed: [&[f64]; LANES] = std::array::from_fn(|lane| feed[lane].as_slice());
            let mut slots = take.each_mut().map(<[f64; READ_EVERY]>::as_mut_slice);
            processor.process(&feed, &mut slots);
            for (lane, job) in jobs.iter().enumerate() {
                let point = &sides[lane].point.solution;
                let rest = point[positive] - point[negative];
                let of_channel = self.channels[job.channel].len();
                for (i, value) in take[lane].iter().enumerate() {
                    let Some(frame) = (at + i).checked_sub(run_in + latency) else {
                        continue;
                    };
                    if frame < self.length && job.start + frame < of_channel {
                        done[lane].push((value - rest) as f32);
                    }
                }
                // Whole bins, but for the end of the sound.
                let since = at.checked_sub(run_in);
                if since.is_some_and(|s| s < self.length && job.start + s < of_channel) {
                    let volts = |position: usize| processor.volts(lane, position);
                    self.gauge.read(sides[lane], &volts, &mut figures);
                    tallies[lane].add(&figures, self.bin / READ_EVERY);
                }
            }
            if at % 4096 == 0 && !go_on(at as f64 / total as f64) {
                return None;
            }
        }
        let unsolved = processor.counts().unsolved;
        let done = done.into_iter().zip(tallies);
        let done = done.map(|(volts, tally)| Done {
            volts,
            bins: tally.bins(),
            unsolved,
        });
        Some(done.collect())
    }
}

/// Sums and extremes of the bin that is being filled, and the bins that are full.
struct Tally {
    sum: Vec<f64>,
    low: Vec<f64>,
    high: Vec<f64>,
    reads: usize,
    bins: Bins,
}

impl Tally {
    fn new(count: usize) -> Self {
        let rows = || vec![Vec::new(); count];
        Tally {
            sum: vec![0.0; count],
            low: vec![f64::INFINITY; count],
            high: vec![f64::NEG_INFINITY; count],
            reads: 0,
            bins: Bins {
                mean: rows(),
                low: rows(),
                high: rows(),
            },
        }
    }

    fn add(&mut self, figures: &[f64], reads_a_bin: usize) {
        for (i, &figure) in figures.iter().enumerate() {
            self.sum[i] += figure;
            self.low[i] = self.low[i].min(figure);
            self.high[i] = self.high[i].max(figure);
        }
        self.reads += 1;
        if self.reads == reads_a_bin {
            self.close();
        }
    }

    fn close(&mut self) {
        for i in 0..self.sum.len() {
            self.bins.mean[i].push(self.sum[i] / self.reads as f64);
            self.bins.low[i].push(self.low[i]);
            self.bins.high[i].push(self.high[i]);
        }
        self.sum.fill(0.0);
        self.low.fill(f64::INFINITY);
        self.high.fill(f64::NEG_INFINITY);
        self.reads = 0;
    }

    /// The bins; a last one that is not full counts too.
    fn bins(mut self) -> Bins {
        if self.reads > 0 {
            self.close();
        }
        self.bins
    }
}

/// The largest mean over a second of one row of [`Bins::mean`]; over everything where that is
/// shorter; 0 of nothing.
pub fn heaviest_second(means: &[f64]) -> f64 {
    let window = ((1.0 / BIN_SECONDS).round() as usize)
        .min(means.len())
        .max(1);
    let sums = means.windows(window).map(|w| w.iter().sum::<f64>());
    sums.fold(0.0, f64::max) / window as f64
}
