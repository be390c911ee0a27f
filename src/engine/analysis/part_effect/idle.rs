//! One part at rest: volts across it, current through it, watts in it.

use crate::analysis::voltages::reading;
use crate::circuit::{NodeId, PartId, PartKind};
use crate::network::assemble::branch_volts;
use crate::network::{BranchValue, Network};
use crate::solve::solved::SolvedCircuit;
use serde::Serialize;

/// A part at rest. A figure that its kind does not have is none; all are none for a part that is
/// not fitted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Idle {
    /// Direct voltage across it, V: between its ends, of a pot over its whole track, of a valve
    /// from anode to cathode.
    pub volts: Option<f64>,
    /// Direct current through it, mA: of a pot in the more loaded part of its track, of a valve
    /// into the anode.
    pub milliamps: Option<f64>,
    /// Power turned into heat in it, W; of a valve at the anode.
    pub watts: Option<f64>,
}

/// The figures of one part.
pub fn idle(network: &Network, side: &SolvedCircuit, id: PartId) -> Idle {
    let part = side.circuit.part(id);
    if !part.fitted {
        return Idle::default();
    }
    let at = |node: NodeId| side.point.solution[network.position(node)];
    let across = |[a, b]: [NodeId; 2]| Some((at(a) - at(b)).abs());
    // Currents and watts of the part's own branches.
    let branches = network.branches_of(id).map(|branch| {
        let volts = branch_volts(network, branch, &side.point.solution);
        let rest = side.values.branches[branch].at_rest();
        let amps = rest.siemens * volts - rest.constant;
        let inside = match side.values.branches[branch] {
            BranchValue::Resistive { volts: source, .. } => volts - source,
            _ => volts,
        };
        (amps.abs(), (inside * amps).abs())
    });
    let milliamps = || Some(1e3 * branches.clone().fold(0.0, |most, (i, _)| i.max(most)));
    let watts = || Some(branches.clone().map(|(_, w)| w).sum());
    match &part.kind {
        PartKind::Capacitor { between, .. } => Idle {
            volts: across(*between),
            milliamps: Some(0.0),
            watts: Some(0.0),
        },
        PartKind::Resistor { between, .. }
        | PartKind::Inductor { between, .. }
        | PartKind::Loudspeaker { between, .. }
        | PartKind::Switch { between, .. } => Idle {
            volts: across(*between),
            milliamps: milliamps(),
            watts: watts(),
        },
        PartKind::Pot { from, to, .. } => Idle {
            volts: across([*from, *to]),
            milliamps: milliamps(),
            watts: watts(),
        },
        PartKind::Supply { node, .. } | PartKind::BiasSupply { node, .. } => Idle {
            volts: Some(at(*node).abs()),
            milliamps: milliamps(),
            watts: None,
        },
        PartKind::VoltageSource { between, .. } => Idle {
            volts: across(*between),
            milliamps: milliamps(),
            watts: None,
        },
        PartKind::Rectifier { to, from, .. } => Idle {
            volts: across([*to, *from]),
            ..Idle::default()
        },
        PartKind::Triode { .. } | PartKind::Pentode { .. } => {
            reading(part, &at).map_or(Idle::default(), |r| Idle {
                volts: Some(r.anode_volts - r.cathode_volts),
                milliamps: Some(r.anode_milliamps),
                watts: Some(r.anode_watts),
            })
        }
        PartKind::OutputTransformer(_) => Idle {
            watts: watts(),
            ..Idle::default()
        },
    }
}
