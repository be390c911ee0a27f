//! What a run of the processor costs, in shares of real time.

use super::subject::Subject;
use cpu_time::ThreadTime;
use engine::realtime::dispatch::{Circuits, FusedLanes, Instructions};
use engine::realtime::{Counts, Processor, Settings};

/// What a run cost.
pub struct Cost {
    /// Share of real time.
    pub mean: f64,
    /// Shares of a block's time, sorted.
    pub blocks: Vec<f64>,
    pub counts: Counts,
}

impl Cost {
    /// The share that so much of the blocks stays below.
    pub fn percentile(&self, share: f64) -> f64 {
        self.blocks[((self.blocks.len() - 1) as f64 * share) as usize]
    }
}

/// Plays a signal in blocks; the best of some repeats.
pub fn run<const N: usize>(
    subject: &Subject,
    settings: Settings,
    instructions: Instructions,
    signal: &[f64],
    block: usize,
    repeats: usize,
) -> Cost
where
    Circuits<N>: FusedLanes,
{
    let mut best: Option<Cost> = None;
    for _ in 0..repeats {
        let lanes = [(&subject.values, subject.point.solution.as_slice()); N];
        let mut processor = Processor::<N>::new(&subject.network, lanes, settings, instructions);
        let mut out = vec![vec![0.0; block]; N];
        let mut blocks = Vec::new();
        for chunk in signal.chunks_exact(block) {
            let inputs = [chunk; N];
            let mut slices = out.iter_mut().map(Vec::as_mut_slice);
            let mut outputs: [&mut [f64]; N] =
                std::array::from_fn(|_| slices.next().expect("one a lane"));
            let start = ThreadTime::now();
            processor.process(&inputs, &mut outputs);
            blocks.push(start.elapsed().as_secs_f64() / (block as f64 / settings.rate));
        }
        let mean = blocks.iter().sum::<f64>() / blocks.len() as f64;
        blocks.sort_by(f64::total_cmp);
        let cost = Cost {
            mean,
            blocks,
            counts: processor.counts(),
        };
        if best.as_ref().is_none_or(|b| cost.mean < b.mean) {
            best = Some(cost);
        }
    }
    best.expect("at least one repeat")
}

/// One line of a run.
pub fn report(what: &str, cost: &Cost) {
    println!(
        "{what:44} {:6.1} % of a core; 64-frame blocks p99 {:5.1} %, worst {:5.1} %; {:.2} iterations an interval, worst {}; governed {}, held {}",
        100.0 * cost.mean,
        100.0 * cost.percentile(0.99),
        100.0 * cost.percentile(1.0),
        cost.counts.iterations as f64 / cost.counts.intervals as f64,
        cost.counts.worst,
        cost.counts.governed,
        cost.counts.unsolved,
    );
}
