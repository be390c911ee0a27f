//! An order of parts that depends on structure alone: kinds first, then what each part's nodes meet,
//! further and further out. Only parts that stand alike in every way are told apart by designator.

use crate::circuit::{Circuit, GROUND, NodeId, PartKind};
use std::collections::BTreeMap;
use std::hash::{DefaultHasher, Hash, Hasher};

/// Rounds of looking further out: further than any amp is long.
const ROUNDS: usize = 24;

fn hash(value: &impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    value.hash(&mut hasher);
    hasher.finish()
}

/// Pins of a part: what each is, by a number of its own, and its node. Ends that are alike have the same.
pub(super) fn pins(kind: &PartKind) -> Vec<(u8, NodeId)> {
    match kind {
        PartKind::Pot {
            from, to, wiper, ..
        } => vec![(1, *from), (2, *to), (3, *wiper)],
        PartKind::Triode {
            anode,
            grid,
            cathode,
            ..
        } => vec![(4, *anode), (5, *grid), (6, *cathode)],
        PartKind::Pentode {
            anode,
            screen,
            grid,
            cathode,
            ..
        } => vec![(4, *anode), (7, *screen), (5, *grid), (6, *cathode)],
        PartKind::OutputTransformer(t) => {
            let primary = t.primary.taps.iter().enumerate();
            let secondary = t.secondary.taps.iter().enumerate();
            primary
                .map(|(i, node)| (16 + i as u8, *node))
                .chain(secondary.map(|(i, node)| (48 + i as u8, *node)))
                .collect()
        }
        PartKind::Rectifier { to, from, .. } => vec![(8, *to), (9, *from)],
        PartKind::VoltageSource { between, .. } => vec![(10, between[0]), (11, between[1])],
        other => other
            .wiring()
            .terminals
            .into_iter()
            .map(|node| (0, node))
            .collect(),
    }
}

/// By part and by node: its place in the order.
pub(super) fn order(circuit: &Circuit) -> (Vec<usize>, Vec<usize>) {
    let parts = circuit.parts();
    let pins: Vec<Vec<(u8, NodeId)>> = parts.iter().map(|part| pins(&part.kind)).collect();
    let mut nodes: Vec<u64> = (0..circuit.nodes().len())
        .map(|i| {
            let node = NodeId(i as u16);
            hash(&(node == GROUND, node == circuit.input()))
        })
        .collect();
    let mut of_part: Vec<u64> = parts
        .iter()
        .map(|part| hash(&(part.kind.kind() as u8, part.fitted)))
        .collect();
    for _ in 0..ROUNDS {
        of_part = pins
            .iter()
            .zip(&of_part)
            .map(|(pins, own)| {
                let mut met: Vec<(u8, u64)> = pins
                    .iter()
                    .map(|(pin, node)| (*pin, nodes[node.0 as usize]))
                    .collect();
                met.sort_unstable();
                hash(&(own, met))
            })
            .collect();
        let mut met: BTreeMap<NodeId, Vec<(u8, u64)>> = BTreeMap::new();
        for (pins, part) in pins.iter().zip(&of_part) {
            for (pin, node) in pins {
                met.entry(*node).or_default().push((*pin, *part));
            }
        }
        for (node, mut met) in met {
            met.sort_unstable();
            // Ground meets everything: what it meets says nothing.
            if node != GROUND {
                nodes[node.0 as usize] = hash(&(nodes[node.0 as usize], met));
            }
        }
    }
    let mut sorted: Vec<usize> = (0..parts.len()).collect();
    sorted.sort_by(|&a, &b| {
        let key = |i: usize| (parts[i].kind.kind() as u8, of_part[i]);
        key(a)
            .cmp(&key(b))
            .then_with(|| parts[a].designator.cmp(&parts[b].designator))
    });
    let mut places = vec![0; parts.len()];
    for (place, part) in sorted.into_iter().enumerate() {
        places[part] = place;
    }
    let mut ranked: Vec<usize> = (0..nodes.len()).collect();
    // Nodes that stand alike are told apart by the parts that they meet.
    let meets = |node: usize| {
        let own = |i: &usize| pins[*i].iter().any(|(_, n)| n.0 as usize == node);
        let mut met: Vec<usize> = (0..parts.len()).filter(own).map(|i| places[i]).collect();
        met.sort_unstable();
        met
    };
    ranked.sort_by_cached_key(|node| (nodes[*node], meets(*node)));
    let mut of_node = vec![0; nodes.len()];
    for (place, node) in ranked.into_iter().enumerate() {
        of_node[node] = place;
    }
    (places, of_node)
}
