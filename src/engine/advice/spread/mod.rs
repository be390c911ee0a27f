//! Two amps of one model differ: many amps are drawn within the tolerances of their parts and the
//! spread of new valves, each is solved as found and as proposed, and every figure gets a band.
//!
//! Takes two circuits of one topology; gives bands of node voltages, valves, response and clean
//! level, and for each figure that a proposal changes whether the change stands out of the spread.
//! An amp's draw depends on the seed and its number alone, so neither the number of cores nor the
//! order of the work matters.

mod band;
mod draw;
mod figures;
mod gather;
mod report;
mod rising;
mod study;
#[cfg(test)]
mod tests;
mod words;

use crate::numeric::parallel::{GoOn, on_all_cores};
use crate::solve::solved::SolvedAmp;
pub use band::{Band, percentile};
pub use draw::{
    ENVELOPE_SHARE, Luck, Plan, TRANSFORMER_TOLERANCE, VALVE_DEVIATION, draw, envelope, tolerance,
    transformer_branches,
};
pub use report::{ChangeInSpread, SideSpread, SpreadReport, SpreadSettings, ValveSpread};
use study::Study;
pub use words::of_a_hundred;

/// Draws amps of the model of `amp`. `go_on` is told the share that is done and answers whether to
/// go on; none when it says no.
pub fn spread(amp: &SolvedAmp, settings: SpreadSettings, go_on: GoOn<'_>) -> Option<SpreadReport> {
    if !go_on(0.0) {
        return None;
    }
    let study = Study::new(amp, settings);
    let groups = on_all_cores(study.groups(), go_on, &|index, go_on| {
        go_on(0.0).then(|| study.group(index))
    })?;
    Some(gather::report(&study, groups))
}
