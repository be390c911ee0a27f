//! What joins what: each part's ends, and the cheapest way over passive parts.
//!
//! A resistor, capacitor, inductor or contact costs 20; of a pot with a wiper of its own the upper half
//! 18, the lower half 24, the whole track 21, so that a signal goes by the wiper.

use crate::circuit::{Circuit, GROUND, NodeId, PartId, PartKind};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

/// A passive way from node to node.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Edge {
    pub part: PartId,
    pub from: NodeId,
    pub to: NodeId,
    pub cost: u32,
    /// Direct current passes.
    pub direct: bool,
}

/// A circuit's parts as a graph.
pub(super) struct Graph<'a> {
    pub circuit: &'a Circuit,
    /// By node.
    edges: Vec<Vec<Edge>>,
    /// By part: its place in an order that knows structure only, ties by designator.
    pub order: Vec<usize>,
    /// By node: likewise.
    node_order: Vec<usize>,
}

/// The ends of a part with two; a pot whose wiper is tied to an end is one.
pub(super) fn ends(kind: &PartKind) -> Option<[NodeId; 2]> {
    match *kind {
        PartKind::Resistor { between, .. }
        | PartKind::Capacitor { between, .. }
        | PartKind::Inductor { between, .. }
        | PartKind::Switch { between, .. }
        | PartKind::Loudspeaker { between, .. }
        | PartKind::VoltageSource { between, .. } => Some(between),
        PartKind::Pot {
            from, to, wiper, ..
        } => (wiper == from || wiper == to).then_some([from, to]),
        _ => None,
    }
}

/// A pot with a wiper of its own: from, to, wiper.
pub(super) fn track(kind: &PartKind) -> Option<[NodeId; 3]> {
    match *kind {
        PartKind::Pot {
            from, to, wiper, ..
        } if wiper != from && wiper != to => Some([from, to, wiper]),
        _ => None,
    }
}

impl<'a> Graph<'a> {
    pub fn new(circuit: &'a Circuit) -> Graph<'a> {
        let (order, node_order) = super::order::order(circuit);
        let mut edges = vec![Vec::new(); circuit.nodes().len()];
        for (i, part) in circuit.parts().iter().enumerate() {
            let part_id = PartId(i as u16);
            let mut join = |a: NodeId, b: NodeId, cost: u32, direct: bool| {
                if a != b {
                    for (from, to) in [(a, b), (b, a)] {
                        edges[from.0 as usize].push(Edge {
                            part: part_id,
                            from,
                            to,
                            cost,
                            direct,
                        });
                    }
                }
            };
            if matches!(
                part.kind,
                PartKind::Loudspeaker { .. } | PartKind::VoltageSource { .. }
            ) {
                continue;
            }
            // What is left out amplifies and joins nothing, but would be where it says.
            let aside = if part.fitted { 0 } else { 200 };
            let direct = !matches!(part.kind, PartKind::Capacitor { .. });
            if let Some([a, b]) = ends(&part.kind) {
                join(a, b, 20 + aside, direct);
            } else if let Some([from, to, wiper]) = track(&part.kind) {
                join(from, wiper, 18 + aside, true);
                join(wiper, to, 24 + aside, true);
                join(from, to, 21 + aside, true);
            }
        }
        for edges in &mut edges {
            edges.sort_by_key(|e| (e.cost, order[e.part.0 as usize]));
        }
        Graph {
            circuit,
            edges,
            order,
            node_order,
        }
    }

    /// A node's place in the order of structure.
    pub fn rank(&self, node: NodeId) -> usize {
        self.node_order[node.0 as usize]
    }

    pub fn kind(&self, part: PartId) -> &'a PartKind {
        &self.circuit.part(part).kind
    }

    pub fn edges(&self, node: NodeId) -> &[Edge] {
        &self.edges[node.0 as usize]
    }

    /// Parts in the order of structure.
    pub fn parts(&self) -> Vec<PartId> {
        let mut parts: Vec<PartId> = (0..self.order.len()).map(|i| PartId(i as u16)).collect();
        parts.sort_by_key(|part| self.order[part.0 as usize]);
        parts
    }

    /// Parts at a node, by whatever pin, in the order of structure.
    pub fn at(&self, node: NodeId) -> Vec<PartId> {
        let mut parts = self.parts();
        parts.retain(|part| self.kind(*part).wiring().terminals.contains(&node));
        parts
    }

    /// Cheapest ways from a node over edges that `may_use`, on over nodes that `may_pass`: by node,
    /// cost and last edge.
    pub fn reach(
        &self,
        start: NodeId,
        may_use: &dyn Fn(&Edge) -> bool,
        may_pass: &dyn Fn(NodeId) -> bool,
    ) -> BTreeMap<NodeId, (u32, Option<Edge>)> {
        let mut best: BTreeMap<NodeId, (u32, Option<Edge>)> = BTreeMap::new();
        let mut heap = BinaryHeap::new();
        best.insert(start, (0, None));
        heap.push(Reverse((0, 0, start)));
        while let Some(Reverse((cost, _, node))) = heap.pop() {
            if best[&node].0 < cost || (node != start && !may_pass(node)) {
                continue;
            }
            for edge in self.edges(node).iter().filter(|edge| may_use(edge)) {
                let cost = cost + edge.cost;
                let known = best.get(&edge.to);
                let rank = |e: &Edge| self.order[e.part.0 as usize];
                let better = known.is_none_or(|(known, last)| {
                    cost < *known
                        || (cost == *known && last.is_some_and(|last| rank(edge) < rank(&last)))
                });
                if better && edge.to != start {
                    best.insert(edge.to, (cost, Some(*edge)));
                    heap.push(Reverse((cost, self.rank(edge.to), edge.to)));
                }
            }
        }
        best
    }
}

/// The edges that lead to a node, in order; none if it was not reached.
pub(super) fn trace(
    best: &BTreeMap<NodeId, (u32, Option<Edge>)>,
    end: NodeId,
) -> Option<Vec<Edge>> {
    let mut edges = Vec::new();
    let mut node = end;
    while let Some(edge) = best.get(&node)?.1 {
        edges.push(edge);
        node = edge.from;
        if edges.len() > best.len() {
            return None;
        }
    }
    edges.reverse();
    Some(edges)
}

/// Whether a node is ground.
pub(super) fn is_ground(node: NodeId) -> bool {
    node == GROUND
}
