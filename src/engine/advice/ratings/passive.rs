//! The circuit without its valves and sources: what an ohmmeter would find in the amp switched off
//! and its valves pulled, and what discharges its capacitors.

use crate::circuit::{Circuit, PartId, PartKind, Taper};
use crate::network::assemble::{empty_matrix, empty_vector, stamp_branches};
use crate::network::{BranchValue, LEAST_SIEMENS, Network, Values, pot_values};

/// Beyond this a path is none, Ω: far above any resistor, far below what the equations put from a
/// node that floats to ground.
pub const NO_PATH_OHMS: f64 = 1e9;

/// What counts as the sources: in a powered amp they hold their nodes, in one that is switched off
/// their rectifiers block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sources {
    /// A source is its resistance.
    Live,
    /// A source is open.
    Off,
}

/// Conductance of every branch for direct current, S; nothing is plugged in.
pub fn conductances(
    network: &Network,
    circuit: &Circuit,
    values: &Values,
    sources: Sources,
) -> Vec<f64> {
    let mut siemens: Vec<f64> = values
        .branches
        .iter()
        .map(|b| b.at_rest().siemens)
        .collect();
    siemens[network.guitar_branches()].fill(0.0);
    if sources == Sources::Off {
        for (index, part) in circuit.parts().iter().enumerate() {
            if matches!(
                part.kind,
                PartKind::Supply { .. }
                    | PartKind::BiasSupply { .. }
                    | PartKind::VoltageSource { .. }
            ) {
                siemens[network.branches_of(PartId(index as u16))].fill(0.0);
            }
        }
    }
    siemens
}

/// The matrix of given branch conductances, with the least leak of every node.
pub fn matrix(network: &Network, siemens: impl Fn(usize) -> f64) -> Vec<f64> {
    let mut matrix = empty_matrix(network);
    let program = network.program();
    for position in 0..network.unknowns() {
        let unknown = program.unknown_at(position);
        if let Some(slot) = program.slot(unknown, unknown) {
            matrix[slot] += LEAST_SIEMENS;
        }
    }
    stamp_branches(network, siemens, |c| c, &mut matrix);
    matrix
}

/// Resistance between two positions with valves out and sources live, nothing in the jack, Ω: the
/// highest that the pots make, at their settings or all at the bottom, in the middle or at the top
/// of their tracks.
pub fn resistance(
    network: &Network,
    circuit: &Circuit,
    values: &Values,
    [a, b]: [usize; 2],
) -> f64 {
    let mut siemens = conductances(network, circuit, values, Sources::Live);
    let mut highest = between(network, &siemens, values, [a, b]);
    for share in [0.0, 0.5, 1.0] {
        let mut any = false;
        for (index, part) in circuit.parts().iter().enumerate() {
            let PartKind::Pot { ohms, .. } = part.kind else {
                continue;
            };
            if !part.fitted {
                continue;
            }
            any = true;
            let range = network.branches_of(PartId(index as u16));
            let tracks = pot_values(ohms, Taper::Linear.share(share));
            for (slot, value) in siemens[range].iter_mut().zip(tracks) {
                *slot = value.at_rest().siemens;
            }
        }
        if !any {
            break;
        }
        highest = highest.max(between(network, &siemens, values, [a, b]));
    }
    highest
}

fn between(network: &Network, siemens: &[f64], values: &Values, [a, b]: [usize; 2]) -> f64 {
    let mut matrix = matrix(network, |branch| siemens[branch]);
    // A rectifier is a source too: its winding.
    let devices = network.devices();
    for (site, value) in devices.rectifiers.iter().zip(&values.devices.rectifiers) {
        let g = value.present / value.law.resistance.max(1.0);
        for (slot, sign) in site.slots.iter().zip([1.0, -1.0, -1.0, 1.0]) {
            matrix[*slot as usize] += sign * g;
        }
    }
    let mut volts = empty_vector::<f64>(network);
    volts[a] += 1.0;
    volts[b] -= 1.0;
    let ground = network.unknowns();
    volts[ground] = 0.0;
    network.program().solve(&mut matrix, &mut volts);
    volts[ground] = 0.0;
    volts[a] - volts[b]
}

/// Capacitance of every branch, F; 0 of those that are none. Nothing is plugged in.
pub fn capacitances(network: &Network, values: &Values) -> Vec<f64> {
    let farads = |branch: &BranchValue| match *branch {
        BranchValue::Capacitive { farads } => farads,
        _ => 0.0,
    };
    let mut farads: Vec<f64> = values.branches.iter().map(farads).collect();
    farads[network.guitar_branches()].fill(0.0);
    farads
}
