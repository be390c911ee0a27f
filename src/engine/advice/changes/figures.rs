//! The figures of one circuit that a change is judged by.

use crate::advice::ratings::{Driven, Finding, Limited, Undriven};
use crate::analysis::audibility::erb::bands;
use crate::analysis::audibility::{Profile, profile};
use crate::analysis::drive::HZ;
use crate::analysis::headroom::{StageHeadroom, first_to_clip, stage_headroom};
use crate::analysis::listening::{loudspeaker as radiates, loudspeaker_of};
use crate::analysis::performance::{NoGauge, perform};
use crate::analysis::response::{Path, gains};
use crate::analysis::voltages::chart;
use crate::circuit::output_sections;
use crate::device::{Electrode, Loudspeaker};
use crate::network::Network;
use crate::numeric::parallel::{GoOn, on_all_cores};
use crate::solve::solved::SolvedCircuit;
use crate::units::decibels_from_ratio;
use num_complex::Complex64;
use serde::Serialize;
use std::sync::Arc;

/// Points of the response within a band: power is averaged over them.
const POINTS_A_BAND: usize = 4;

/// Idle dissipation of one electrode of an output valve.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct IdleWatts {
    /// Designator.
    pub valve: String,
    /// Anode or screen.
    pub electrode: Electrode,
    /// Without signal, W.
    pub watts: f64,
    /// Its limit, W; none where no rating is known.
    pub limit_watts: Option<f64>,
}

impl IdleWatts {
    /// Share of the limit, per cent.
    pub fn percent(&self) -> Option<f64> {
        self.limit_watts.map(|limit| 100.0 * self.watts / limit)
    }
}

/// A limit of a valve or another part.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PartLimit {
    /// Designator.
    pub part: String,
    /// What is limited, such as "anode dissipation".
    pub what: Limited,
}

/// What one circuit does.
#[derive(Clone, Debug, PartialEq)]
pub struct Figures {
    /// What is heard of the sound.
    pub heard: Profile,
    /// Small-signal gain from the jack in each of the ear's bands, dB.
    pub response_db: Vec<f64>,
    /// The loudspeaker that is heard; none where the output is a node.
    pub loudspeaker: Option<Arc<Loudspeaker>>,
    /// What it radiates at a microphone for a volt at its terminals, in each of the ear's bands, dB
    /// against itself at 1 kHz.
    pub radiates_db: Vec<f64>,
    /// Small-signal gain at 1 kHz, dB.
    pub gain_db: f64,
    /// The stage that clips first; none if none does.
    pub clips_first: Option<StageHeadroom>,
    /// Output valves at rest.
    pub idle: Vec<IdleWatts>,
    /// Every limit of a valve or part that is exceeded at rest or before the valves are warm.
    pub over_limit: Vec<PartLimit>,
}

/// The figures of some circuits of one topology. `channels`: samples at the jack, V; `rate` in
/// hertz. The sound is played through all of them, which takes most of the time.
pub fn figures(
    network: &Network,
    sides: &[&SolvedCircuit],
    channels: &[&[f32]],
    rate: u32,
    go_on: GoOn<'_>,
) -> Option<Vec<Figures>> {
    /// Share of the work that is the playing.
    const PLAYING: f64 = 0.8;
    let performed = perform(network, sides, channels, rate, &NoGauge, &mut |share| {
        go_on(PLAYING * share)
    })?;
    on_all_cores(
        sides.len(),
        &mut |share| go_on(PLAYING + (1.0 - PLAYING) * share),
        &|i, go_on| {
            let heard: Vec<&[f32]> = performed[i].volts.iter().map(Vec::as_slice).collect();
            figures_of(network, sides[i], &heard, rate, go_on)
        },
    )
}

/// The figures of one circuit through which the sound has been played already: `heard` is what came
/// out, V, a channel each.
pub fn figures_of(
    network: &Network,
    side: &SolvedCircuit,
    heard: &[&[f32]],
    rate: u32,
    go_on: GoOn<'_>,
) -> Option<Figures> {
    let stages = stage_headroom(network, side, go_on)?;
    let over = Undriven::new(network, side)
        .ratings(&Driven::default())
        .over;
    Some(figures_with(network, side, heard, rate, &stages, over))
}

/// Likewise, the levels at which the stages clip and what is over its limit without signal being
/// known too.
pub fn figures_with(
    network: &Network,
    side: &SolvedCircuit,
    heard: &[&[f32]],
    rate: u32,
    stages: &[StageHeadroom],
    over: Vec<Finding>,
) -> Figures {
    let outputs = output_sections(&side.circuit);
    let chart = chart(network, side);
    let mut idle = Vec::new();
    for id in outputs {
        let name = &side.circuit.part(id).designator;
        let Some(reading) = chart.valves.get(name) else {
            continue;
        };
        idle.push(IdleWatts {
            valve: name.clone(),
            electrode: Electrode::Anode,
            watts: reading.anode_watts,
            limit_watts: reading.anode_limit_watts,
        });
        idle.extend(reading.screen_watts.map(|watts| IdleWatts {
            valve: name.clone(),
            electrode: Electrode::Screen,
            watts,
            limit_watts: reading.screen_limit_watts,
        }));
    }
    let mut over_limit: Vec<PartLimit> = Vec::new();
    for finding in over {
        let limit = PartLimit {
            part: finding.designator,
            what: finding.what,
        };
        if !over_limit.contains(&limit) {
            over_limit.push(limit);
        }
    }
    Figures {
        heard: profile(heard, rate),
        response_db: band_powers(|hz| gains(network, side, Path::default(), hz)),
        radiates_db: band_powers(|hz| hz.iter().map(|&hz| radiates(side, hz)).collect()),
        loudspeaker: loudspeaker_of(&side.circuit),
        gain_db: decibels_from_ratio(gains(network, side, Path::default(), &[HZ])[0].norm()),
        clips_first: first_to_clip(stages).cloned(),
        idle,
        over_limit,
    }
}

/// Mean power gain in each band, dB, of what has these gains at frequencies in hertz.
fn band_powers(gains: impl Fn(&[f64]) -> Vec<Complex64>) -> Vec<f64> {
    let points: Vec<f64> = bands()
        .iter()
        .flat_map(|band| {
            let ratio = band.high_hz / band.low_hz;
            (0..POINTS_A_BAND)
                .map(move |i| band.low_hz * ratio.powf((i as f64 + 0.5) / POINTS_A_BAND as f64))
        })
        .collect();
    let gains = gains(&points);
    let mean = |points: &[Complex64]| {
        let sum: f64 = points.iter().map(|g| g.norm_sqr()).sum();
        10.0 * (sum / points.len() as f64).log10()
    };
    gains.chunks(POINTS_A_BAND).map(mean).collect()
}
