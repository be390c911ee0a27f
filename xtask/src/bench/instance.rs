//! One plugin instance as a host drives it: both amps in stereo as a left/right pair, loudness
//! match on, with and without automation.

use super::subject::{RATE, hard_chord};
use cpu_time::ThreadTime;
use engine::circuit::built_in_circuits;
use engine::device::Catalogue;
use engine::live::LiveAmp;
use engine::live::cabinets::CabinetChoice;
use engine::live::circuit_pair::{CircuitPair, Format};
use engine::live::meters::Meters;
use engine::live::parameter_map::ParameterMap;
use engine::live::renderer::{Heard, RenderSettings, Renderer};
use engine::numeric::random::Random;
use engine::sound::phrase::phrase;
use std::sync::Arc;
use std::sync::atomic::Ordering::Relaxed;

/// Frames a block.
const BLOCK: usize = 64;

/// An instance of the demo's amp.
struct Subject {
    renderer: Renderer,
    positions: Vec<f32>,
    settings: RenderSettings,
    meters: Meters,
}

impl Subject {
    fn new(doublings: usize) -> Result<Self, String> {
        let text = built_in_circuits()[0].text.as_bytes();
        let amp = LiveAmp::read(text, None, Arc::new(Catalogue::built_in()))
            .map_err(|why| why.to_string())?;
        let ids: Vec<String> = amp
            .adjustables()
            .iter()
            .map(|adjustable| adjustable.id.clone())
            .collect();
        let bench = Arc::new(ParameterMap::for_parameters(amp, &ids));
        let adjustables = bench.amp().adjustables();
        let positions = (0..adjustables.len())
            .map(|p| bench.position_of(p, adjustables[p].filed).unwrap_or(0.0))
            .collect();
        let format = Format {
            rate: RATE,
            doublings,
            live: true,
        };
        let serial = bench.serial();
        let pair = CircuitPair::new(bench, format).map_err(|why| why.to_string())?;
        Ok(Subject {
            renderer: Renderer::new(Box::new(pair), 2),
            positions,
            settings: RenderSettings {
                heard: Heard::Pair,
                through: CabinetChoice::Loudspeaker,
                matched: true,
                input_volts: 1.0,
                output_gain: 0.03,
                bypass: false,
                glide_milliseconds: 5.0,
                serial,
            },
            meters: Meters::default(),
        })
    }

    /// Plays a signal, lets `before` act before each block; shares of a block's time, sorted, and
    /// the highest peak.
    fn play(
        &mut self,
        signal: &[f32],
        mut before: impl FnMut(&mut Self, usize),
    ) -> (Vec<f64>, f32) {
        let mut peak = 0f32;
        let mut blocks = Vec::new();
        for (index, chunk) in signal.chunks_exact(BLOCK).enumerate() {
            before(self, index);
            let (mut left, mut right) = ([0.0; BLOCK], [0.0; BLOCK]);
            left.copy_from_slice(chunk);
            right.copy_from_slice(chunk);
            let start = ThreadTime::now();
            self.renderer.process(
                &self.settings,
                &self.positions,
                &mut [&mut left, &mut right],
                2,
                &self.meters,
            );
            blocks.push(start.elapsed().as_secs_f64() / (BLOCK as f64 / RATE));
            let loudest = left.iter().chain(&right).fold(0f32, |m, s| m.max(s.abs()));
            peak = peak.max(loudest);
        }
        blocks.sort_by(f64::total_cmp);
        (blocks, peak)
    }
}

fn report(what: &str, blocks: &[f64]) {
    let mean = blocks.iter().sum::<f64>() / blocks.len() as f64;
    let at = |share: f64| 100.0 * blocks[((blocks.len() - 1) as f64 * share) as usize];
    println!(
        "{what:52} {:6.1} % of a core; 64-frame blocks p99 {:5.1} %, worst {:5.1} %",
        100.0 * mean,
        at(0.99),
        at(1.0)
    );
}

/// Prints what an instance costs.
///
/// # Errors
/// When the demo's amp cannot be loaded.
pub fn bench(repeats: usize) -> Result<(), String> {
    println!("\nOne instance, as found and proposed as a pair, 48 kHz, hard chord:");
    let chord: Vec<f32> = hard_chord().iter().map(|&v| v as f32).collect();
    for doublings in [1, 2] {
        let mut best: Option<Vec<f64>> = None;
        for _ in 0..repeats {
            let (blocks, _) = Subject::new(doublings)?.play(&chord, |_, _| {});
            let sum = |blocks: &[f64]| blocks.iter().sum::<f64>();
            if best.as_ref().is_none_or(|b| sum(&blocks) < sum(b)) {
                best = Some(blocks);
            }
        }
        let factor = 1 << doublings;
        report(
            &format!("oversampling × {factor}"),
            &best.unwrap_or_default(),
        );
    }
    let mut random = noise();
    let (blocks, _) = Subject::new(1)?.play(&chord, |subject, index| {
        let adjustable = index % subject.positions.len();
        subject.positions[adjustable] = random();
    });
    report("one parameter moved a block, × 2", &blocks);
    minute()
}

/// A minute of random automation of all parameters at once, the phrase at five times its level.
fn minute() -> Result<(), String> {
    let phrase = phrase(RATE as u32);
    let loud: Vec<f32> = phrase
        .iter()
        .cycle()
        .take(60 * 48_000)
        .map(|v| 5.0 * v)
        .collect();
    for (what, every) in [("every block", 1), ("every tenth block", 10)] {
        let mut random = noise();
        let mut subject = Subject::new(1)?;
        let (blocks, peak) = subject.play(&loud, |subject, index| {
            if index % every == 0 {
                subject.positions.fill_with(&mut random);
            }
        });
        report(
            &format!("a minute, all parameters at random {what}"),
            &blocks,
        );
        let over = blocks.iter().filter(|&&share| share > 1.0).count();
        let counts = subject.renderer.pair().counts();
        println!(
            "{:52} {over} of {} blocks over their time; peak {peak:.2} of full scale; {} samples were no number; {} steps held",
            "",
            blocks.len(),
            subject.meters.silenced.load(Relaxed),
            counts.unsolved,
        );
    }
    Ok(())
}

/// Uniform numbers from 0 to 1.
fn noise() -> impl FnMut() -> f32 {
    let mut random = Random::new(1, 0);
    move || random.unit() as f32
}
