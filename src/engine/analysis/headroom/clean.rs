//! Clean headroom of one side: the sine sweep and the order in which the stages clip.

use super::stage::{How, StageHeadroom};
use super::stage_headroom;
use crate::analysis::drive::{Drive, DriveOptions, drive_with};
use crate::network::Network;
use crate::solve::solved::SolvedCircuit;
use crate::units::{decibels_from_ratio, rms_from_peak};
use serde::Serialize;

/// A level of a guitar at the jack at which harmonics are told where nobody asks for another, V
/// r.m.s. (own choice: a note at middling strength).
pub const PLAYED_VOLTS: f64 = 0.1;

/// A stage that clips.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Clips {
    /// The stage, as [`StageHeadroom`] names it.
    pub stage: String,
    /// Designator of its valve that clips first.
    pub valve: String,
    /// Level at the jack, V r.m.s. of a sine.
    pub input_volts: f64,
    /// How.
    pub how: How,
}

/// Which stages clip first and second.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ClipOrder {
    /// The first; none if none clips.
    pub first: Option<Clips>,
    /// The second.
    pub second: Option<Clips>,
    /// By how much the second clips later, dB.
    pub apart_db: Option<f64>,
}

impl ClipOrder {
    /// The order of some stages.
    pub fn of(stages: &[StageHeadroom]) -> Self {
        let mut clips: Vec<Clips> = stages
            .iter()
            .filter_map(|stage| {
                Some(Clips {
                    stage: stage.stage.clone(),
                    valve: stage.valve.clone(),
                    input_volts: rms_from_peak(stage.clips_at_input_volts?),
                    how: stage.how?,
                })
            })
            .collect();
        // Stable: of two at one level the one that the signal reaches first.
        clips.sort_by(|a, b| a.input_volts.total_cmp(&b.input_volts));
        let mut clips = clips.into_iter();
        let (first, second) = (clips.next(), clips.next());
        let apart = first.as_ref().zip(second.as_ref());
        ClipOrder {
            apart_db: apart.map(|(a, b)| decibels_from_ratio(b.input_volts / a.input_volts)),
            first,
            second,
        }
    }
}

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CleanHeadroom {
    /// The sine until it stands: grid current, distortion, power, harmonics.
    pub drive: Drive,
    /// The start of a note: where each stage clips, in signal order.
    pub stages: Vec<StageHeadroom>,
    /// Which is first and second.
    pub order: ClipOrder,
}

impl CleanHeadroom {
    /// Puts both sweeps together.
    pub fn new(drive: Drive, stages: Vec<StageHeadroom>) -> Self {
        CleanHeadroom {
            order: ClipOrder::of(&stages),
            drive,
            stages,
        }
    }

    /// The level from which on a stage clips, V r.m.s.: the first stage's, or else the onset of
    /// grid current; none if neither is found.
    pub fn clip_volts(&self) -> Option<f64> {
        let first = self.order.first.as_ref().map(|clips| clips.input_volts);
        first.or(self.drive.grid_current.at.map(|level| level.input_volts))
    }
}

/// Share of the work that the sweep takes, for the progress.
const SWEEP: f64 = 0.3;

/// Works out both sweeps. `played_volts`: level at the jack at which harmonics are told beside the
/// limits, V r.m.s. `go_on` is told the share that is done and answers whether to go on; none when
/// it says no.
pub fn clean_headroom(
    network: &Network,
    side: &SolvedCircuit,
    played_volts: f64,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Option<CleanHeadroom> {
    let options = DriveOptions {
        played_volts: Some(played_volts),
        ..DriveOptions::default()
    };
    let drive = drive_with(network, side, options, &mut |share| go_on(SWEEP * share))?;
    let mut on = |share: f64| go_on(SWEEP + (1.0 - SWEEP) * share);
    let stages = stage_headroom(network, side, &mut on)?;
    Some(CleanHeadroom::new(drive, stages))
}
