//! Headroom: the level at the jack at which each stage clips.
//!
//! Takes one side of an amp at rest; a sine at 1 kHz drives the whole circuit, at eight levels at a
//! time, through the processor that is heard, and what each valve does is read from its
//! electrodes. The levels are those of a note's start: the sine has stood for 20 ms, so that the
//! supplies have hardly fallen yet.
//!
//! A valve *clips* when, within a period, the first of these comes about:
//! - its grid takes so much current that its own source resistance loses a twentieth of the grid's
//!   swing by it;
//! - its anode current falls below a twentieth of what it is at rest; not counted for valves that
//!   share a transformer's primary and take turns at it;
//! - a pentode's anode, at its knee, takes a fifth less of the cathode current than at rest.
//!
//! Beside it stand the sine sweep's limits ([`clean`]), both as a function of the volume control
//! ([`volume`]), and what a burst leaves behind ([`recovery`]).

pub mod clean;
mod order;
pub mod recovery;
mod search;
mod stage;
pub mod tables;
pub mod volume;
mod watch;
pub mod words;

use crate::network::Network;
use crate::solve::solved::SolvedCircuit;
use search::{clip, leaders, next_levels};
use watch::{LANES, Tried, try_levels, valves};

pub use clean::{CleanHeadroom, ClipOrder, Clips, PLAYED_VOLTS, clean_headroom};
pub use order::signal_order;
pub use recovery::{Recovered, Recovery, recovery};
pub use stage::{How, RANGE_VOLTS, StageHeadroom, first_to_clip};
pub use volume::{POSITIONS, VolumeHeadroom, VolumePoint, volume_headroom};

/// Rounds of eight levels that cover the range, and rounds that close in on the levels found.
const COARSE: usize = 3;
const FINE: usize = 6;
/// The stages in signal order. `go_on` is told the share that is done and answers whether to go on;
/// none when it says no.
pub fn stage_headroom(
    network: &Network,
    side: &SolvedCircuit,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Option<Vec<StageHeadroom>> {
    let valves = valves(network, side);
    let [low, high] = RANGE_VOLTS;
    let count = COARSE * LANES;
    let ratio = (high / low).powf(1.0 / (count - 1) as f64);
    let mut tried: Vec<Tried> = Vec::new();
    for round in 0..COARSE + FINE {
        let levels: [f64; LANES] = match round < COARSE {
            true => std::array::from_fn(|i| low * ratio.powi((round * LANES + i) as i32)),
            false => match next_levels(&tried, &leaders(side, &tried, &valves)) {
                Some(levels) => levels,
                None => break,
            },
        };
        tried.extend(try_levels(network, side, &valves, levels));
        tried.sort_by(|a, b| a.volts.total_cmp(&b.volts));
        if !go_on((round + 1) as f64 / (COARSE + FINE) as f64) {
            return None;
        }
    }
    let order = order::signal_order(&side.circuit);
    let mut stages: Vec<StageHeadroom> = Vec::new();
    for id in order {
        let Some(index) = valves.iter().position(|v| v.part == id) else {
            continue;
        };
        let part = side.circuit.part(id);
        let clip = clip(&tried, index);
        let found = StageHeadroom {
            stage: match part.particulars.stage() {
                "" => part.designator.clone(),
                stage => stage.into(),
            },
            valve: part.designator.clone(),
            clips_at_input_volts: clip.map(|c| c.0),
            how: clip.map(|c| c.1),
        };
        match stages.iter_mut().find(|s| s.stage == found.stage) {
            None => stages.push(found),
            Some(stage) => {
                let volts = |s: &StageHeadroom| s.clips_at_input_volts.map_or(f64::INFINITY, |v| v);
                if volts(&found) < volts(stage) {
                    *stage = found;
                }
            }
        }
    }
    Some(stages)
}
