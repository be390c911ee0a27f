//! Plays a recording through the amp off line: the processor that is heard, without its governor,
//! its delay taken off again.

use crate::network::Network;
use crate::realtime::dispatch::{Circuits, FusedLanes, Instructions};
use crate::realtime::{Counts, Processor, Settings};
use crate::solve::solved::SolvedCircuit;
use serde::Serialize;

/// Frames that are processed at once.
const BLOCK: usize = 4096;

/// The rate that the circuit is stepped at without need for finer steps, Hz: 8 times 48 kHz.
const STEPS_A_SECOND: f64 = 384_000.0;

/// Settings for work off line at a rate in hertz: oversampling by 2, 4 or 8, whatever brings it
/// nearest to 384 kHz.
pub fn settings(rate: f64) -> Settings {
    let doublings = (STEPS_A_SECOND / rate).log2().round().clamp(1.0, 3.0) as usize;
    Settings {
        governor: None,
        ..Settings::live(rate, doublings)
    }
}

/// What was heard, and what it took.
#[derive(Clone, Debug, PartialEq)]
pub struct Played {
    /// Volts heard, one recording a lane, each as long as its input; what stands at rest is taken
    /// off.
    pub volts: Vec<Vec<f32>>,
    /// What the work took.
    pub effort: Effort,
}

/// What the work took.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Effort {
    /// Intervals of the oversampled rate.
    pub intervals: u64,
    /// Newton iterations.
    pub iterations: u64,
    /// Steps without a solution, at which the circuit was held for a fraction of a microsecond.
    pub unsolved: u64,
    /// Samples that are no number; such a recording is of no use.
    pub not_finite: u64,
}

impl Effort {
    /// A sentence when something went wrong.
    pub fn warning(&self) -> Option<String> {
        (self.unsolved > 0).then(|| {
            let moments = match self.unsolved {
                1 => "At one moment".to_string(),
                n => format!("At {n} moments"),
            };
            format!(
                "{moments} the equations had no solution and the circuit was held still for less \
                 than a microsecond; the recording may click there."
            )
        })
    }
}

/// Plays one recording a lane, all of one length and rate; one, two or four lanes.
///
/// `inputs`: samples, times `volts` the voltage at the jack. `rate` in hertz. `progress` is told
/// the share that is done.
///
/// # Panics
/// With another number of lanes, or inputs of another number or of different lengths.
pub fn play(
    network: &Network,
    lanes: &[&SolvedCircuit],
    rate: u32,
    inputs: &[&[f32]],
    volts: f64,
    progress: &mut dyn FnMut(f64),
) -> Played {
    // Not generic: the processor is compiled here, once, and not in every program that plays.
    match lanes.len() {
        1 => play_lanes::<1>(network, lanes, rate, inputs, volts, progress),
        2 => play_lanes::<2>(network, lanes, rate, inputs, volts, progress),
        4 => play_lanes::<4>(network, lanes, rate, inputs, volts, progress),
        other => panic!("{other} lanes are not played at once"),
    }
}

fn play_lanes<const N: usize>(
    network: &Network,
    lanes: &[&SolvedCircuit],
    rate: u32,
    inputs: &[&[f32]],
    volts: f64,
    progress: &mut dyn FnMut(f64),
) -> Played
where
    Circuits<N>: FusedLanes,
{
    let lanes: [&SolvedCircuit; N] = std::array::from_fn(|lane| lanes[lane]);
    let inputs: [&[f32]; N] = std::array::from_fn(|lane| inputs[lane]);
    let mut processor = Processor::<N>::new(
        network,
        lanes.map(|side| (&side.values, side.point.solution.as_slice())),
        settings(f64::from(rate)),
        Instructions::detect(),
    );
    let [positive, negative] = network.output();
    let rest = lanes.map(|side| side.point.solution[positive] - side.point.solution[negative]);
    let frames = inputs[0].len();
    assert!(inputs.iter().all(|input| input.len() == frames));
    let latency = processor.latency();
    // Silence first fills the filters with the voltage at rest: an anode would otherwise begin
    // with a jump.
    let before = 2 * latency + 2;
    let mut heard: [Vec<f32>; N] = std::array::from_fn(|_| Vec::with_capacity(frames));
    let mut not_finite = 0;
    let mut buffers: [[Vec<f64>; N]; 2] =
        std::array::from_fn(|_| std::array::from_fn(|_| vec![0.0; BLOCK]));
    let total = before + frames + latency;
    for start in (0..total).step_by(BLOCK) {
        let count = BLOCK.min(total - start);
        let [feed, take] = &mut buffers;
        for (lane, input) in feed.iter_mut().zip(&inputs) {
            for (i, slot) in lane[..count].iter_mut().enumerate() {
                let frame = (start + i).checked_sub(before);
                let sample = frame.and_then(|f| input.get(f)).copied().unwrap_or(0.0);
                *slot = f64::from(sample) * volts;
            }
        }
        let feed: [&[f64]; N] = std::array::from_fn(|lane| &feed[lane][..count]);
        let mut slots = take.each_mut().map(|lane| &mut lane[..count]);
        processor.process(&feed, &mut slots);
        for ((lane, slot), rest) in heard.iter_mut().zip(&slots).zip(&rest) {
            let skip = (before + latency).saturating_sub(start).min(count);
            for &value in &slot[skip..] {
                not_finite += u64::from(!value.is_finite());
                lane.push((value - rest) as f32);
            }
        }
        progress((start + count) as f64 / total as f64);
    }
    let Counts {
        intervals,
        iterations,
        unsolved,
        ..
    } = processor.counts();
    Played {
        volts: heard.into(),
        effort: Effort {
            intervals,
            iterations,
            unsolved,
            not_finite,
        },
    }
}
