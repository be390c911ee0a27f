//! The valves of a circuit in the order in which a signal from the jack reaches them.

use crate::analysis::valves_playing::supply_nodes;
use crate::circuit::{Circuit, GROUND, NodeId, PartId, PartKind};

/// Every valve section. A signal passes resistors, capacitors, chokes, pots and closed switches,
/// but neither ground nor supply nodes, and a valve from grid or cathode to its other electrodes;
/// valves that it reaches through as many others stand in the order of the file, those that it
/// does not reach behind.
pub fn signal_order(circuit: &Circuit) -> Vec<PartId> {
    let mut closed = vec![false; circuit.nodes().len()];
    closed[GROUND.0 as usize] = true;
    for node in supply_nodes(circuit) {
        closed[node.0 as usize] = true;
    }
    let mut reached = closed;
    let mut front = vec![circuit.input()];
    let mut order: Vec<PartId> = Vec::new();
    let valves: Vec<(PartId, [NodeId; 2], Vec<NodeId>)> = circuit
        .parts()
        .iter()
        .enumerate()
        .filter_map(|(i, part)| {
            let id = PartId(i as u16);
            match part.kind {
                PartKind::Triode {
                    anode,
                    grid,
                    cathode,
                    ..
                } => Some((id, [grid, cathode], vec![anode, cathode])),
                PartKind::Pentode {
                    anode,
                    screen,
                    grid,
                    cathode,
                    ..
                } => Some((id, [grid, cathode], vec![anode, screen, cathode])),
                _ => None,
            }
        })
        .collect();
    loop {
        flood(circuit, &mut reached, &mut front);
        let fresh: Vec<_> = valves
            .iter()
            .filter(|(id, into, _)| {
                let here = |node: &NodeId| *node != GROUND && reached[node.0 as usize];
                !order.contains(id) && into.iter().any(here)
            })
            .collect();
        if fresh.is_empty() {
            break;
        }
        for (id, _, out) in fresh {
            order.push(*id);
            front.extend(out);
        }
    }
    let rest = valves.iter().map(|v| v.0);
    let behind: Vec<PartId> = rest.filter(|id| !order.contains(id)).collect();
    order.extend(behind);
    order
}

/// Marks what a signal at the nodes of `front` reaches without passing a valve, and empties it.
fn flood(circuit: &Circuit, reached: &mut [bool], front: &mut Vec<NodeId>) {
    while let Some(node) = front.pop() {
        if std::mem::replace(&mut reached[node.0 as usize], true) {
            continue;
        }
        for part in circuit.parts().iter().filter(|p| p.fitted) {
            let ends: Vec<NodeId> = match &part.kind {
                PartKind::Resistor { between, .. }
                | PartKind::Capacitor { between, .. }
                | PartKind::Inductor { between, .. } => between.to_vec(),
                PartKind::Switch {
                    between, closed, ..
                } if *closed => between.to_vec(),
                PartKind::Pot {
                    from, to, wiper, ..
                } => vec![*from, *to, *wiper],
                _ => continue,
            };
            if ends.contains(&node) {
                front.extend(ends.into_iter().filter(|end| !reached[end.0 as usize]));
            }
        }
    }
}
