//! The way back from the output, and local feedback from an anode to its own grid.

use super::graph::{Graph, ends, is_ground, trace};
use super::sections::Ground;
use super::types::{FeedbackPath, Role, Section};
use crate::circuit::{GROUND, NodeId, PartId, PartKind};
use std::collections::BTreeSet;

/// Farthest way back: four parts in series and a pot.
const FARTHEST: u32 = 130;

/// Nodes at which feedback may arrive: cathode chains first, then early grids and anodes, with what
/// leads to them.
fn targets(ground: &Ground<'_>, sections: &[Section]) -> (BTreeSet<NodeId>, BTreeSet<NodeId>) {
    let mut cathodes = BTreeSet::new();
    let mut others = BTreeSet::new();
    for section in sections.iter().filter(|s| s.role != Role::OutputValve) {
        cathodes.extend(chain_nodes(ground.graph, section));
        others.insert(section.grid);
        others.insert(section.anode);
        let mut node = section.driven_from.unwrap_or(section.grid);
        for part in &section.spine {
            let to = next(ground.graph, *part, node);
            others.insert(to);
            node = to;
        }
    }
    let still = |node: &NodeId| !ground.is_fixed(*node) && *node != ground.graph.circuit.input();
    cathodes.retain(still);
    others.retain(still);
    (cathodes, others)
}

/// The other end of a part with two ends; of a pot the wiper, or its first end when entered there.
fn next(graph: &Graph<'_>, part: PartId, node: NodeId) -> NodeId {
    let kind = graph.kind(part);
    if let Some([a, b]) = ends(kind) {
        return if a == node { b } else { a };
    }
    match *kind {
        PartKind::Pot { wiper, from, .. } if node == wiper => from,
        PartKind::Pot { wiper, .. } => wiper,
        _ => node,
    }
}

/// A section's cathode and the joints below it.
pub(super) fn chain_nodes(graph: &Graph<'_>, section: &Section) -> Vec<NodeId> {
    let mut nodes = vec![section.cathode];
    let mut node = section.cathode;
    for part in &section.cathode_chain {
        node = next(graph, *part, node);
        nodes.push(node);
    }
    nodes.retain(|node| !is_ground(*node));
    nodes
}

/// Every way back.
pub(super) fn feedback(ground: &Ground<'_>, sections: &[Section]) -> Vec<FeedbackPath> {
    let mut paths = Vec::new();
    let graph = ground.graph;
    let (cathodes, others) = targets(ground, sections);
    let spine: BTreeSet<PartId> = sections.iter().flat_map(|s| s.spine.clone()).collect();
    let of_valve: BTreeSet<PartId> = sections
        .iter()
        .flat_map(|s| s.cathode_chain.iter().chain(&s.anode_chain))
        .copied()
        .collect();
    let electrodes: BTreeSet<NodeId> = sections
        .iter()
        .flat_map(|s| [s.anode, s.cathode, s.grid])
        .collect();
    let anodes = sections.iter().filter(|s| s.role == Role::OutputValve);
    let anodes = anodes
        .map(|s| s.anode)
        .filter(|node| !ground.is_fixed(*node));
    for from in secondary_taps(graph).into_iter().chain(anodes) {
        let best = graph.reach(
            from,
            &|edge| !spine.contains(&edge.part) && !of_valve.contains(&edge.part),
            &|node| {
                !ground.is_fixed(node) && !electrodes.contains(&node) && !cathodes.contains(&node)
            },
        );
        let nearest = |set: &BTreeSet<NodeId>| {
            let reached = set
                .iter()
                .filter_map(|node| Some((best.get(node)?.0, *node)));
            reached
                .filter(|(cost, _)| *cost > 0 && *cost <= FARTHEST)
                .min_by_key(|(cost, node)| (*cost, graph.rank(*node)))
        };
        let target = nearest(&cathodes).or_else(|| nearest(&others));
        let Some((_, to)) = target else { continue };
        let Some(edges) = trace(&best, to) else {
            continue;
        };
        let path: Vec<PartId> = edges.iter().map(|edge| edge.part).collect();
        if paths.iter().any(|known: &FeedbackPath| known.path == path) {
            continue;
        }
        let mut nodes: Vec<NodeId> = edges.iter().map(|edge| edge.to).collect();
        nodes.pop();
        let presence = presence(ground, &nodes, to, &path, &of_valve);
        paths.push(FeedbackPath {
            from,
            to,
            path,
            presence,
        });
    }
    paths.extend(local(ground, sections, &spine, &of_valve));
    paths
}

fn secondary_taps(graph: &Graph<'_>) -> Vec<NodeId> {
    let mut taps = Vec::new();
    for part in graph.parts() {
        if let PartKind::OutputTransformer(t) = graph.kind(part) {
            taps.extend(t.secondary.taps.iter().filter(|tap| !is_ground(**tap)));
        }
    }
    taps
}

/// What hangs from the joints of the way back, or from its end, over a capacitor or a pot to ground.
fn presence(
    ground: &Ground<'_>,
    joints: &[NodeId],
    end: NodeId,
    path: &[PartId],
    taken: &BTreeSet<PartId>,
) -> Vec<PartId> {
    let graph = ground.graph;
    let mut presence = Vec::new();
    for node in joints.iter().copied().chain([end]) {
        let best = graph.reach(
            node,
            &|edge| !path.contains(&edge.part) && !taken.contains(&edge.part),
            &|n| !ground.is_fixed(n) && graph.at(n).len() <= 3,
        );
        let Some(edges) = best
            .contains_key(&GROUND)
            .then(|| trace(&best, GROUND))
            .flatten()
        else {
            continue;
        };
        let pot = |part: PartId| matches!(graph.kind(part), PartKind::Pot { .. });
        let parts: Vec<PartId> = edges.iter().map(|edge| edge.part).collect();
        if parts.iter().any(|part| pot(*part)) || (joints.contains(&node) && parts.len() > 1) {
            presence.extend(parts);
        }
    }
    presence
}

/// From a valve's anode back to its own grid over passive parts that lie on no signal's way.
fn local(
    ground: &Ground<'_>,
    sections: &[Section],
    spine: &BTreeSet<PartId>,
    taken: &BTreeSet<PartId>,
) -> Vec<FeedbackPath> {
    let graph = ground.graph;
    let mut paths = Vec::new();
    for section in sections.iter().filter(|s| s.role == Role::Gain) {
        let best = graph.reach(
            section.anode,
            &|edge| !spine.contains(&edge.part) && !taken.contains(&edge.part),
            &|node| {
                !ground.is_fixed(node)
                    && graph.at(node).len() == 2
                    && !sections
                        .iter()
                        .any(|s| s.anode == node || s.cathode == node)
            },
        );
        if let Some(edges) = trace(&best, section.grid)
            && !edges.is_empty()
            && edges.len() <= 3
        {
            paths.push(FeedbackPath {
                from: section.anode,
                to: section.grid,
                path: edges.iter().map(|edge| edge.part).collect(),
                presence: Vec::new(),
            });
        }
    }
    paths
}
