//! Valve sections: their electrodes, and which of them make up the output stage.

use super::{Circuit, NodeId, Part, PartId, PartKind};
use crate::device::Valve;

/// A valve section's electrodes.
#[derive(Clone, Copy, Debug)]
pub struct Electrodes<'a> {
    /// Its type.
    pub valve: &'a Valve,
    /// Its nodes.
    pub anode: NodeId,
    /// None for a triode.
    pub screen: Option<NodeId>,
    /// Control grid.
    pub grid: NodeId,
    /// Cathode.
    pub cathode: NodeId,
}

/// The electrodes of a part that is a valve section.
pub fn electrodes(part: &Part) -> Option<Electrodes<'_>> {
    match &part.kind {
        PartKind::Triode {
            valve,
            anode,
            grid,
            cathode,
        } => Some(Electrodes {
            valve,
            anode: *anode,
            screen: None,
            grid: *grid,
            cathode: *cathode,
        }),
        PartKind::Pentode {
            valve,
            anode,
            screen,
            grid,
            cathode,
        } => Some(Electrodes {
            valve,
            anode: *anode,
            screen: Some(*screen),
            grid: *grid,
            cathode: *cathode,
        }),
        _ => None,
    }
}

/// Sections whose anodes feed the output transformer; all pentodes where there is none.
pub fn output_sections(circuit: &Circuit) -> Vec<PartId> {
    let parts = circuit.parts();
    let primary = |node: NodeId| {
        parts.iter().any(|p| match &p.kind {
            PartKind::OutputTransformer(t) => t.primary.taps.contains(&node),
            _ => false,
        })
    };
    let find = |wanted: &dyn Fn(&Part, &Electrodes<'_>) -> bool| -> Vec<PartId> {
        let all = parts.iter().enumerate().filter(|(_, part)| {
            part.fitted && electrodes(part).is_some_and(|valve| wanted(part, &valve))
        });
        all.map(|(i, _)| PartId(i as u16)).collect()
    };
    let fed = find(&|_, valve| primary(valve.anode));
    if fed.is_empty() {
        return find(&|part, _| matches!(part.kind, PartKind::Pentode { .. }));
    }
    fed
}
