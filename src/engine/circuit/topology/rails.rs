//! High tension and bias: nodes that a supply holds, and the parts between them.

use super::graph::{Edge, Graph, ends, is_ground, track};
use super::types::Rail;
use crate::circuit::electrodes;
use crate::circuit::{NodeId, PartId, PartKind};
use std::collections::{BTreeSet, VecDeque};

/// What stands at a node, as far as a rail is told by it.
struct Meets {
    /// A cathode or a grid, or a pot with a wiper.
    signal: bool,
    /// An anode or a screen.
    electrodes: usize,
    screens: usize,
    capacitor_to_ground: bool,
    capacitor_elsewhere: Vec<NodeId>,
    /// Resistors, inductors, switches but the one that it is fed by.
    loads: usize,
    taps: usize,
}

fn meets(graph: &Graph<'_>, node: NodeId, feed: Option<PartId>) -> Meets {
    let mut meets = Meets {
        signal: node == graph.circuit.input(),
        electrodes: 0,
        screens: 0,
        capacitor_to_ground: false,
        capacitor_elsewhere: Vec::new(),
        loads: 0,
        taps: 0,
    };
    for part in graph.at(node) {
        if Some(part) == feed {
            continue;
        }
        let kind = graph.kind(part);
        if let Some(valve) = electrodes(graph.circuit.part(part)) {
            meets.signal |= valve.grid == node || valve.cathode == node;
            meets.screens += usize::from(valve.screen == Some(node));
            meets.electrodes +=
                usize::from(valve.anode == node) + usize::from(valve.screen == Some(node));
            continue;
        }
        match kind {
            PartKind::Capacitor { between, .. } => {
                let far = if between[0] == node {
                    between[1]
                } else {
                    between[0]
                };
                // One across a load is that load's.
                let across = graph
                    .edges(node)
                    .iter()
                    .any(|edge| edge.to == far && edge.direct);
                if is_ground(far) {
                    meets.capacitor_to_ground = true;
                } else if !across {
                    meets.capacitor_elsewhere.push(far);
                }
            }
            PartKind::Pot { .. } if track(kind).is_some() => meets.signal = true,
            PartKind::OutputTransformer(t) => {
                if t.primary.taps.contains(&node) {
                    meets.taps += 1;
                } else {
                    meets.signal = true;
                }
            }
            PartKind::Loudspeaker { .. } => meets.signal = true,
            _ if ends(kind).is_some() => meets.loads += 1,
            _ => {}
        }
    }
    meets
}

/// Every node of the high tension, from each supply on.
pub(super) fn rails(graph: &Graph<'_>) -> Vec<Rail> {
    let mut rails: Vec<Rail> = Vec::new();
    let mut queue = VecDeque::new();
    for part in graph.parts() {
        let node = match *graph.kind(part) {
            PartKind::Supply { node, .. } => node,
            PartKind::Rectifier { to, .. } if !is_ground(to) => to,
            _ => continue,
        };
        if let Some(known) = rails.iter_mut().find(|rail| rail.node == node) {
            known.feed.push(part);
            continue;
        }
        rails.push(Rail {
            node,
            from: None,
            feed: vec![part],
        });
        queue.push_back(rails.len() - 1);
    }
    while let Some(place) = queue.pop_front() {
        for (node, feed) in next_rails(graph, &rails, place) {
            if rails.iter().any(|rail| rail.node == node) || is_ground(node) {
                continue;
            }
            rails.push(Rail {
                node,
                from: Some(place),
                feed,
            });
            queue.push_back(rails.len() - 1);
        }
    }
    rails
}

/// Nodes that a rail feeds over resistors, inductors or switches and that are rails themselves.
fn next_rails(graph: &Graph<'_>, rails: &[Rail], place: usize) -> Vec<(NodeId, Vec<PartId>)> {
    let start = rails[place].node;
    let known: BTreeSet<NodeId> = rails.iter().map(|rail| rail.node).collect();
    let mut found = Vec::new();
    for edge in graph.edges(start) {
        let mut feed = vec![edge.part];
        let mut edge = *edge;
        // A chain of two or three parts without anything at its joints is one feed.
        for _ in 0..3 {
            if !feeds(graph, &edge) || known.contains(&edge.to) || is_ground(edge.to) {
                break;
            }
            if is_rail(graph, edge.to, edge.part, &known) {
                found.push((edge.to, feed.clone()));
                break;
            }
            let onward: Vec<&Edge> = graph
                .edges(edge.to)
                .iter()
                .filter(|next| next.part != edge.part)
                .collect();
            let [next] = onward[..] else { break };
            if graph.at(edge.to).len() != 2 {
                break;
            }
            feed.push(next.part);
            edge = *next;
        }
    }
    found
}

/// Whether a part can be a rail's feed: a resistor, an inductor, a switch, between its ends.
fn feeds(graph: &Graph<'_>, edge: &Edge) -> bool {
    matches!(
        graph.kind(edge.part),
        PartKind::Resistor { .. } | PartKind::Inductor { .. } | PartKind::Switch { .. }
    )
}

fn is_rail(graph: &Graph<'_>, node: NodeId, feed: PartId, known: &BTreeSet<NodeId>) -> bool {
    let meets = meets(graph, node, Some(feed));
    let elsewhere = meets
        .capacitor_elsewhere
        .iter()
        .any(|far| !known.contains(far));
    if meets.signal || elsewhere {
        return false;
    }
    let consumers = meets.electrodes + meets.loads + meets.taps;
    if meets.capacitor_to_ground {
        let lone_screen = meets.screens == 1 && consumers == 1;
        return consumers > 0 && !lone_screen;
    }
    meets.taps > 0 || (meets.electrodes == 0 && meets.loads >= 2 && !bleeds_only(graph, node, feed))
}

/// Whether all else at a node leads straight to ground: a divider, no rail.
fn bleeds_only(graph: &Graph<'_>, node: NodeId, feed: PartId) -> bool {
    let others = graph.edges(node).iter().filter(|edge| edge.part != feed);
    others.filter(|edge| !is_ground(edge.to)).count() < 2
}

/// Nodes that negative supplies hold, from each supply on, over parts that carry no signal.
pub(super) fn bias(graph: &Graph<'_>) -> Vec<NodeId> {
    let mut nodes: Vec<NodeId> = Vec::new();
    for part in graph.parts() {
        if let PartKind::BiasSupply { node, .. } = *graph.kind(part) {
            nodes.push(node);
        }
    }
    let mut i = 0;
    while i < nodes.len() {
        let node = nodes[i];
        for edge in graph.edges(node) {
            let kind = graph.kind(edge.part);
            let passes = matches!(
                kind,
                PartKind::Resistor { .. }
                    | PartKind::Inductor { .. }
                    | PartKind::Pot { .. }
                    | PartKind::Switch { .. }
            );
            if passes
                && !is_ground(edge.to)
                && !nodes.contains(&edge.to)
                && holds_still(graph, edge.to, &nodes)
            {
                nodes.push(edge.to);
            }
        }
        i += 1;
    }
    nodes
}

/// Whether a node beside the bias has no electrode and no capacitor but to ground or the bias.
fn holds_still(graph: &Graph<'_>, node: NodeId, bias: &[NodeId]) -> bool {
    let mut grids = 0;
    for part in graph.at(node) {
        if electrodes(graph.circuit.part(part)).is_some() {
            return false;
        }
        match graph.kind(part) {
            PartKind::Capacitor { between, .. } => {
                let still = |n: NodeId| n == node || is_ground(n) || bias.contains(&n);
                if !between.iter().all(|n| still(*n)) {
                    return false;
                }
            }
            PartKind::OutputTransformer(_) | PartKind::Loudspeaker { .. } => return false,
            _ => grids += 1,
        }
    }
    grids > 0
}
