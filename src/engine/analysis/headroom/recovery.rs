//! Blocking: how long the amp takes to come back after a burst.
//!
//! A quiet tone of 1 kHz stands; a tenth of a second of the same frequency, 20 dB over the level at
//! which a stage clips, comes on top of it. The circuit is played twice side by side, with the quiet
//! tone upright and turned over; half the difference of what is heard is the amp's gain for a small
//! signal at every moment, free of the burst and of whatever drifts after it. Biases and supplies are
//! read as means over a period.

use crate::analysis::drive::HZ;
use crate::analysis::valves_playing::supply_nodes;
use crate::circuit::PartId;
use crate::network::Network;
use crate::realtime::dispatch::Instructions;
use crate::realtime::{Processor, Settings};
use crate::solve::solved::SolvedCircuit;
use crate::units::{decibels_from_ratio, peak_from_rms, ratio_from_decibels};
use num_complex::Complex64;
use serde::Serialize;
use std::f64::consts::{PI, TAU};

/// How far the burst stands over the level at which a stage clips, dB.
pub const OVER_DB: f64 = 20.0;
/// Length of the burst, s.
pub const BURST_SECONDS: f64 = 0.1;
/// Back: the gain within so many dB, bias and supplies within so large a share of what they were.
pub const BACK_DB: f64 = 1.0;
pub const BACK_SHARE: f64 = 0.05;
/// The longest that is waited for, s.
pub const LONGEST_SECONDS: f64 = 2.0;

/// Rate of the samples, Hz; 48 a period, read every fourth.
const RATE: f64 = 48_000.0;
const PERIOD: usize = 48;
const READ_EVERY: usize = 4;
/// The quiet tone against the level at which a stage clips: 30 dB below.
const QUIET: f64 = 0.0316;
/// Periods before the burst, of which the last ones say what is usual.
const BEFORE: usize = 120;
const USUAL: usize = 20;
/// Periods over which the tones are faded in and out.
const FADE: usize = 5;
/// Everything must have stayed back for so many periods before the wait ends.
const STAYED: usize = 100;

/// A voltage that the burst moved.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Recovered {
    /// Designator of the valve, or name of the supply node.
    pub name: String,
    /// Stage of the valve; empty for a supply.
    pub stage: String,
    /// Grid against cathode, or supply against ground, before the burst, V.
    pub usual_volts: f64,
    /// In the last period of the burst, V.
    pub burst_volts: f64,
    /// In the first period after it that is free of its fade, V.
    pub after_volts: f64,
    /// Time from the end of the burst until it is back for good, s; none if that is longer than
    /// [`LONGEST_SECONDS`].
    pub back_seconds: Option<f64>,
}

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Recovery {
    /// Level of the burst at the jack, V r.m.s.
    pub burst_volts: f64,
    /// Time from the end of the burst until a quiet note is as loud as before within
    /// [`BACK_DB`], s; none if that is longer than [`LONGEST_SECONDS`].
    pub tone_seconds: Option<f64>,
    /// The quietest that the note is after the burst, against before, dB; none where it is silent.
    pub quietest_db: Option<f64>,
    /// Grids: triodes, then pentodes.
    pub grids: Vec<Recovered>,
    /// Supply nodes.
    pub supplies: Vec<Recovered>,
    /// Steps without a solution.
    pub unsolved: u64,
}

impl Recovery {
    /// The grid that is back last, if one takes longer than the others and than the burst's fade.
    pub fn slowest_grid(&self) -> Option<&Recovered> {
        let seconds = |r: &Recovered| r.back_seconds.unwrap_or(f64::INFINITY);
        let slowest = self
            .grids
            .iter()
            .max_by(|a, b| seconds(a).total_cmp(&seconds(b)))?;
        (seconds(slowest) > FADE as f64 / HZ).then_some(slowest)
    }
}

/// A voltage that is followed.
struct Followed {
    name: String,
    stage: String,
    at: [usize; 2],
    /// Means over each period.
    means: Vec<f64>,
}

/// A burst within a quiet tone.
struct Burst {
    /// Level at which a stage clips, V r.m.s.
    clip_volts: f64,
    /// Level of the burst, V r.m.s.
    volts: f64,
    /// The period with which it ends.
    end: usize,
}

impl Burst {
    /// Samples of a period from `start` on; in the second lane the quiet tone is turned over.
    fn samples(&self, period: usize, start: usize) -> [[f64; READ_EVERY]; 2] {
        let ramp = |period: f64| 0.5 * (1.0 - (PI * (period / FADE as f64).clamp(0.0, 1.0)).cos());
        [1.0, -1.0].map(|turned| {
            std::array::from_fn(|i| {
                let phase = (start + i) as f64 / PERIOD as f64;
                let now = period as f64 + phase;
                let on = ramp(now - BEFORE as f64) - ramp(now - (self.end - FADE) as f64);
                let quiet = turned * QUIET * self.clip_volts * ramp(now);
                peak_from_rms(self.volts * on + quiet) * (TAU * phase).sin()
            })
        })
    }

    /// Plays a period: the amplitude of the quiet tone in what is heard; every voltage that is
    /// followed gets its mean.
    fn play(
        &self,
        period: usize,
        processor: &mut Processor<2>,
        followed: &mut [Followed],
    ) -> Complex64 {
        let mut gain = Complex64::ZERO;
        let mut sums = vec![0.0; followed.len()];
        for start in (0..PERIOD).step_by(READ_EVERY) {
            let feed = self.samples(period, start);
            let mut take = [[0.0; READ_EVERY]; 2];
            let mut outputs = take.each_mut().map(|lane| lane.as_mut_slice());
            processor.process(&[&feed[0], &feed[1]], &mut outputs);
            for (i, (upright, turned)) in take[0].iter().zip(&take[1]).enumerate() {
                let phase = -TAU * (start + i) as f64 / PERIOD as f64;
                gain += 0.5 * (upright - turned) * Complex64::from_polar(1.0, phase);
            }
            for (sum, followed) in sums.iter_mut().zip(&*followed) {
                let [a, b] = followed.at;
                let lane = |lane: usize| processor.volts(lane, a) - processor.volts(lane, b);
                *sum += 0.5 * (lane(0) + lane(1));
            }
        }
        for (sum, followed) in sums.iter().zip(followed) {
            followed.means.push(sum * READ_EVERY as f64 / PERIOD as f64);
        }
        gain
    }
}

/// Bursts one side. `clip_volts`: the level at which a stage clips, V r.m.s. `go_on` is told the
/// share of the longest wait that is done and answers whether to go on; none when it says no, or
/// when `clip_volts` is no positive number.
pub fn recovery(
    network: &Network,
    side: &SolvedCircuit,
    clip_volts: f64,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Option<Recovery> {
    if !(clip_volts.is_finite() && clip_volts > 0.0) {
        return None;
    }
    let end = BEFORE + (BURST_SECONDS * HZ).round() as usize;
    let burst = Burst {
        clip_volts,
        volts: clip_volts * ratio_from_decibels(OVER_DB),
        end,
    };
    let longest = end + (LONGEST_SECONDS * HZ).round() as usize;
    let mut followed = followed(network, side);
    let settings = Settings {
        governor: None,
        ..Settings::live(RATE, 1)
    };
    let lane = (&side.values, side.point.solution.as_slice());
    let mut processor = Processor::<2>::new(network, [lane; 2], settings, Instructions::detect());
    let mut gains: Vec<Complex64> = Vec::new();
    for period in 0..longest {
        if !go_on(period as f64 / longest as f64) {
            return None;
        }
        gains.push(burst.play(period, &mut processor, &mut followed));
        let late = |last: Option<usize>| last.is_none_or(|last| last + STAYED <= period);
        if period >= end + STAYED
            && late(last_off_gain(&gains, end))
            && followed.iter().all(|f| late(last_off(f, end)))
        {
            break;
        }
    }
    let grids = network.devices().triodes.len() + network.devices().pentodes.len();
    let unsolved = processor.counts().unsolved;
    Some(report(&burst, &gains, &followed, grids, unsolved))
}

/// The report; the first `grids` of what was followed are grids.
fn report(
    burst: &Burst,
    gains: &[Complex64],
    followed: &[Followed],
    grids: usize,
    unsolved: u64,
) -> Recovery {
    let (end, periods) = (burst.end, gains.len());
    // The first period after the last one that was off; none where that is the end.
    let seconds = |last: Option<usize>| match last {
        None => Some(0.0),
        Some(last) if last + 1 >= periods => None,
        Some(last) => Some((last + 1 - end) as f64 / HZ),
    };
    let quietest = gains[end.min(periods)..]
        .iter()
        .map(|g| g.norm())
        .fold(f64::INFINITY, f64::min);
    let quietest_db = decibels_from_ratio(quietest / usual_gain(gains));
    let mut recovered = followed.iter().map(|f| Recovered {
        name: f.name.clone(),
        stage: f.stage.clone(),
        usual_volts: usual_volts(f),
        burst_volts: f.means[end - FADE - 1],
        after_volts: f.means[end],
        back_seconds: seconds(last_off(f, end)),
    });
    Recovery {
        burst_volts: burst.volts,
        tone_seconds: seconds(last_off_gain(gains, end)),
        quietest_db: quietest_db.is_finite().then_some(quietest_db),
        grids: recovered.by_ref().take(grids).collect(),
        supplies: recovered.collect(),
        unsolved,
    }
}

/// Grids of the valves that are fitted, and supplies; those left out stand as ground.
fn followed(network: &Network, side: &SolvedCircuit) -> Vec<Followed> {
    let devices = network.devices();
    let valve = |part: PartId, grid: u16, cathode: u16| {
        let part = side.circuit.part(part);
        Followed {
            name: part.designator.clone(),
            stage: part.particulars.stage().to_string(),
            at: match part.fitted {
                true => [grid, cathode].map(usize::from),
                false => [network.unknowns(); 2],
            },
            means: Vec::new(),
        }
    };
    let triodes = devices.triodes.iter();
    let triodes = triodes.map(|site| valve(site.part, site.at[1], site.at[2]));
    let pentodes = devices.pentodes.iter();
    let pentodes = pentodes.map(|site| valve(site.part, site.at[2], site.at[3]));
    let supplies = supply_nodes(&side.circuit)
        .into_iter()
        .map(|node| Followed {
            name: side.circuit.nodes()[node.0 as usize].clone(),
            stage: String::new(),
            at: [network.position(node), network.unknowns()],
            means: Vec::new(),
        });
    triodes.chain(pentodes).chain(supplies).collect()
}

fn usual_volts(followed: &Followed) -> f64 {
    let before = &followed.means[BEFORE - USUAL..BEFORE];
    before.iter().sum::<f64>() / USUAL as f64
}

fn usual_gain(gains: &[Complex64]) -> f64 {
    let before = gains[BEFORE - USUAL..BEFORE].iter();
    before.map(|g| g.norm()).sum::<f64>() / USUAL as f64
}

/// The last period from `end` on in which a voltage is not back; none if it always is.
fn last_off(followed: &Followed, end: usize) -> Option<usize> {
    let usual = usual_volts(followed);
    let off = |volts: &f64| (volts - usual).abs() > BACK_SHARE * usual.abs();
    let after = followed.means.get(end..)?;
    after.iter().rposition(off).map(|i| end + i)
}

/// The same of the gain; silence that stays silence is back.
fn last_off_gain(gains: &[Complex64], end: usize) -> Option<usize> {
    let usual = usual_gain(gains);
    let off = |gain: &Complex64| {
        let db = decibels_from_ratio(gain.norm() / usual);
        usual > 0.0 && (db.is_nan() || db.abs() > BACK_DB)
    };
    let after = gains.get(end..)?;
    after.iter().rposition(off).map(|i| end + i)
}
