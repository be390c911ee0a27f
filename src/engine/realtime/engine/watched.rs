//! The nodes whose local error steers the step.

use crate::network::{Network, Piece};
use crate::numeric::real::Real;

/// A node whose local error steers the step.
#[derive(Clone, Debug)]
pub(super) struct Watched<T> {
    /// Branch of a capacitor on that node, and its ends.
    pub branch: usize,
    pub at: [usize; 2],
    /// 1 where it has a capacitance, 0 where the valve is left out.
    pub present: T,
    /// dv/dt at the last two accepted times, V/s, latest first.
    pub slopes: [T; 2],
}

/// Those of a network, at rest: the capacitances between anode and cathode of the pentodes, or of the
/// triodes where there is no pentode.
pub(super) fn watched<T: Real>(network: &Network) -> Vec<Watched<T>> {
    let of = |branch| Watched {
        branch,
        at: ends(network, branch),
        present: T::ZERO,
        slopes: [T::ZERO; 2],
    };
    watched_branches(network).into_iter().map(of).collect()
}

/// The ends of a branch between two positions, the one that counts positive first.
fn ends(network: &Network, branch: usize) -> [usize; 2] {
    let terminals = &network.branches()[branch].terminals;
    [1.0, -1.0].map(|sign| {
        let end = terminals.iter().find(|t| t.1 == sign);
        end.map_or(network.unknowns(), |t| t.0)
    })
}
fn watched_branches(network: &Network) -> Vec<usize> {
    let devices = network.devices();
    let parts: Vec<_> = if devices.pentodes.is_empty() {
        devices.triodes.iter().map(|p| p.part).collect()
    } else {
        devices.pentodes.iter().map(|p| p.part).collect()
    };
    parts
        .into_iter()
        .filter_map(|part| {
            network
                .branches_of(part)
                .find(|&b| network.branches()[b].piece == Piece::AnodeToCathode)
        })
        .collect()
}
