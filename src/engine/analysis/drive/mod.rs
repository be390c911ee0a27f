//! How hard the amp may be driven: a sine at 1 kHz at eight levels at once until it stands, its
//! harmonics by a Fourier transform over whole periods, and the input at which grid current sets in
//! and 1, 5 and 10 per cent of distortion are reached.
//!
//! Distortion is the r.m.s. value of the harmonics over that of the whole signal, as IEC 60268-3
//! (2013, 14.12.2 and 14.12.3; from memory) refers it; of the fundamental alone it would be larger
//! by half its own square: 5.006 % for 5 %, 10.05 % for 10 %.
//!
//! Grid current sets in where a grid's current has, at its largest within the period, risen by
//! 0.3 µA over what it is at rest: the peaks of the signal have then come to the point where "the grid
//! current is +0.3 µA", up to which the Electronic Tube Handbook sheets of 1953 to 1957 let their
//! outputs hold (seen). A grid that takes as much at rest already, such as a directly coupled
//! follower's, does not count. The mean current of a meter in the grid's lead would be another reading of
//! these words; it names levels further from the printed ones (`tests/print/headroom.rs`).

mod average;
mod full_output;
pub mod harmonics;
mod loudspeaker;
mod options;
mod report;
mod search;
pub mod steady;

use crate::network::Network;
use crate::solve::solved::SolvedCircuit;
pub use full_output::{HARD_FACTOR, full_output, full_output_volts};
pub use harmonics::HARMONICS;
pub use loudspeaker::{impedance, shared_out, shares};
pub use options::{DriveOptions, HZ, ONSET_AMPS, PERCENTS, RANGE_VOLTS};
pub use report::{Drive, GridCurrent, Harmonics, Level, Limit, Without};
use search::Sweep;
pub use steady::Pace;

/// Drives one circuit. `progress` is told the share that is done.
pub fn drive(network: &Network, side: &SolvedCircuit, progress: &mut dyn FnMut(f64)) -> Drive {
    let mut go_on = |share: f64| {
        progress(share);
        true
    };
    let drive = drive_with(network, side, DriveOptions::default(), &mut go_on);
    drive.expect("nobody gives up")
}

/// [`drive`] with what is asked. `go_on` is told the share that is done and answers whether to go
/// on; none when it says no.
pub fn drive_with(
    network: &Network,
    side: &SolvedCircuit,
    options: DriveOptions,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Option<Drive> {
    let sweep = Sweep::run(network, side, options, go_on)?;
    Some(sweep.report())
}
