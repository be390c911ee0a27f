//! What full output and driving hard are.

use super::report::{Drive, Level};

/// Distortion that counts as full output, per cent: the clean limit that valve makers print.
const FULL_PERCENT: f64 = 5.0;
/// How far over full output a hard-driven amp is looked at, as a ratio of volts: 12 dB (own choice).
pub const HARD_FACTOR: f64 = 4.0;

/// The level of full output: 5 % distortion, or the highest level that was tried where that is never
/// reached; none of a drive without levels.
pub fn full_output(drive: &Drive) -> Option<Level> {
    let limit = drive.limit(FULL_PERCENT).and_then(|limit| limit.at);
    limit.or(drive.levels.last().copied())
}

/// Its input, V r.m.s.; 0 of a drive without levels.
pub fn full_output_volts(drive: &Drive) -> f64 {
    full_output(drive).map_or(0.0, |level| level.input_volts)
}
