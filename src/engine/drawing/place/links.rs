//! What a part links: its two ends, or the ends of a pot's track and its wiper.
//!
//! Takes a circuit; gives chains of parts from a node to another. Lengths are counted in parts; a pot
//! costs a little more by its whole track than by a half, so that a way over a wiper is taken first.

use crate::circuit::{Circuit, NodeId, PartId, PartKind};
use std::cmp::Ordering;
use std::collections::{BTreeMap, BinaryHeap};

/// How a part is gone through.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Through {
    /// From end to end: of a part with two ends, or of a pot's whole track.
    Whole,
    /// From the track's first end to the wiper, or back.
    Upper,
    /// From the wiper to the track's last end, or back.
    Lower,
}

/// A part on a way, with the node that it is entered by and left by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Link {
    pub part: PartId,
    pub from: NodeId,
    pub to: NodeId,
    pub through: Through,
}

/// The ends of a part that has two; a pot whose wiper is tied to an end is one.
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

/// All ways through a part, each in both directions, with what it costs.
pub(super) fn links(part: PartId, kind: &PartKind) -> Vec<(Link, u32)> {
    let mut found = Vec::new();
    let mut both = |a: NodeId, b: NodeId, through: Through, cost: u32| {
        for (from, to) in [(a, b), (b, a)] {
            let link = Link {
                part,
                from,
                to,
                through,
            };
            found.push((link, cost));
        }
    };
    if let Some([a, b]) = ends(kind) {
        both(a, b, Through::Whole, 20);
    } else if let Some([from, to, wiper]) = track(kind) {
        both(from, wiper, Through::Upper, 18);
        both(wiper, to, Through::Lower, 24);
        both(from, to, Through::Whole, 21);
    }
    found.retain(|(link, _)| link.from != link.to);
    found
}

#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Reached {
    cost: u32,
    steps: usize,
    node: NodeId,
}

/// The cheapest chain from a node to one where `ends_at` holds, through parts that `may_use` and over
/// nodes that `may_pass`; among equals the one whose first parts have the lower rank.
pub(super) fn chain(
    circuit: &Circuit,
    start: NodeId,
    may_use: &dyn Fn(PartId) -> bool,
    may_pass: &dyn Fn(NodeId) -> bool,
    ends_at: &dyn Fn(NodeId) -> bool,
) -> Option<Vec<Link>> {
    let mut leaving: BTreeMap<NodeId, Vec<(Link, u32)>> = BTreeMap::new();
    for (i, part) in circuit.parts().iter().enumerate() {
        let id = PartId(i as u16);
        if may_use(id) {
            for (link, cost) in links(id, &part.kind) {
                leaving.entry(link.from).or_default().push((link, cost));
            }
        }
    }
    for links in leaving.values_mut() {
        links.sort_by(|(a, x), (b, y)| x.cmp(y).then_with(|| by_rank(circuit, a.part, b.part)));
    }
    let mut best: BTreeMap<NodeId, (u32, Option<Link>)> = BTreeMap::new();
    let mut heap = BinaryHeap::new();
    best.insert(start, (0, None));
    heap.push(std::cmp::Reverse(Reached {
        cost: 0,
        steps: 0,
        node: start,
    }));
    while let Some(std::cmp::Reverse(Reached { cost, steps, node })) = heap.pop() {
        if best[&node].0 < cost {
            continue;
        }
        if node != start && ends_at(node) {
            return Some(trace(&best, node));
        }
        if node != start && !may_pass(node) {
            continue;
        }
        for (link, price) in leaving.get(&node).into_iter().flatten() {
            let cost = cost + price;
            if best.get(&link.to).is_none_or(|(known, _)| cost < *known) {
                best.insert(link.to, (cost, Some(*link)));
                heap.push(std::cmp::Reverse(Reached {
                    cost,
                    steps: steps + 1,
                    node: link.to,
                }));
            }
        }
    }
    None
}

fn trace(best: &BTreeMap<NodeId, (u32, Option<Link>)>, end: NodeId) -> Vec<Link> {
    let mut links = Vec::new();
    let mut node = end;
    while let Some(link) = best[&node].1 {
        links.push(link);
        node = link.from;
    }
    links.reverse();
    links
}

/// Kinds in the order in which they are placed, then designators.
pub(super) fn by_rank(circuit: &Circuit, a: PartId, b: PartId) -> Ordering {
    let rank = |id: PartId| {
        let part = circuit.part(id);
        let kind = match part.kind {
            PartKind::Resistor { .. } => 0,
            PartKind::Pot { .. } => 1,
            PartKind::Capacitor { .. } => 2,
            PartKind::Inductor { .. } => 3,
            PartKind::Switch { .. } => 4,
            _ => 5,
        };
        (kind, natural(&part.designator))
    };
    rank(a).cmp(&rank(b))
}

/// A designator as it is counted: R9 before R10.
pub(super) fn natural(designator: &str) -> (String, u32, String) {
    let letters = designator.find(|c: char| c.is_ascii_digit());
    let (letters, rest) = designator.split_at(letters.unwrap_or(designator.len()));
    let digits = rest.find(|c: char| !c.is_ascii_digit());
    let (digits, rest) = rest.split_at(digits.unwrap_or(rest.len()));
    (
        letters.to_uppercase(),
        digits.parse().unwrap_or(0),
        rest.to_uppercase(),
    )
}
