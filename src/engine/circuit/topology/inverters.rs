//! What drives the output stage: the inverter and its kind, drivers as they are once it is known, and
//! channels.

use super::sections::{Ground, Valve, joined_cathodes, parts_of, ways};
use super::types::{InverterKind, Role, Section};
use crate::circuit::{NodeId, PartId};
use std::collections::{BTreeMap, BTreeSet};

/// Output valves are driven by the nearest electrode, although a wave may have come to them before by
/// way of another valve's grid.
pub(super) fn nearest_drivers(ground: &Ground<'_>, sections: &mut [Section]) {
    let outputs: Vec<(PartId, NodeId)> = sections
        .iter()
        .filter(|s| s.role != Role::OutputValve)
        .flat_map(|s| s.outputs.iter().map(|node| (s.part, *node)))
        .collect();
    let barriers: BTreeSet<NodeId> = sections
        .iter()
        .flat_map(|s| [s.anode, s.cathode])
        .filter(|node| !ground.is_fixed(*node))
        .collect();
    for section in sections.iter_mut().filter(|s| s.role == Role::OutputValve) {
        let Some(from) = section.driven_from else {
            continue;
        };
        let cost_from = |node: NodeId| {
            let ways = ways(ground, &barriers, node);
            let cost = ways.get(&section.grid).map(|(cost, _)| *cost)?;
            Some((cost, parts_of(&ways, section.grid)))
        };
        let Some((now, _)) = cost_from(from) else {
            continue;
        };
        let nearer = outputs.iter().filter_map(|(_, node)| {
            let (cost, way) = cost_from(*node)?;
            (cost < now).then_some((cost, ground.graph.rank(*node), *node, way))
        });
        if let Some((_, _, node, way)) = nearer.min() {
            section.driven_from = Some(node);
            section.spine = way;
        }
    }
}

/// The inverter: the nearest driving electrodes of the two sides of the output stage.
pub(super) fn inverters(
    ground: &Ground<'_>,
    sections: &mut [Section],
) -> BTreeMap<PartId, InverterKind> {
    let mut kinds = BTreeMap::new();
    let driver = |sections: &[Section], side: usize| -> Option<(usize, NodeId)> {
        let output = sections
            .iter()
            .find(|s| s.role == Role::OutputValve && s.side == side)?;
        let mut from = output.driven_from?;
        for _ in 0..sections.len() {
            let place = sections
                .iter()
                .position(|s| s.anode == from || s.cathode == from)?;
            let section = &sections[place];
            if section.role == Role::Follower {
                from = section.driven_from?;
                continue;
            }
            return Some((place, from));
        }
        None
    };
    let (Some((a, from_a)), Some((b, from_b))) = (driver(sections, 0), driver(sections, 1)) else {
        return kinds;
    };
    if a == b {
        if from_a != from_b && sections[a].role == Role::Gain {
            sections[a].role = Role::InverterDriven;
            sections[a].outputs = vec![sections[a].anode, sections[a].cathode];
            kinds.insert(sections[a].part, InverterKind::Cathodyne);
        }
        return kinds;
    }
    let valve = |s: &Section| Valve {
        part: s.part,
        anode: s.anode,
        screen: s.screen,
        grid: s.grid,
        cathode: s.cathode,
    };
    let pair = joined_cathodes(ground, &valve(&sections[a]), &valve(&sections[b]));
    let pair = pair && sections[a].cathode_chain.last() == sections[b].cathode_chain.last();
    let earlier = |s: &Section| {
        let by_other = s.driven_from.is_none_or(|from| from == s.cathode);
        (by_other, s.level, s.spine.len())
    };
    let (driven, other) = if earlier(&sections[a]) <= earlier(&sections[b]) {
        (a, b)
    } else {
        (b, a)
    };
    let kind = if pair {
        InverterKind::LongTailedPair
    } else if floats(ground, &sections[driven], &sections[other]) {
        InverterKind::FloatingParaphase
    } else {
        InverterKind::Paraphase
    };
    sections[driven].role = Role::InverterDriven;
    sections[other].role = Role::InverterOther;
    if pair {
        sections[other].level = sections[driven].level;
        sections[other].driven_from = None;
        sections[other].spine.clear();
    }
    kinds.insert(sections[driven].part, kind);
    kinds.insert(sections[other].part, kind);
    kinds
}

/// Whether a resistor from each anode meets at one node that leads to the other half's grid.
fn floats(ground: &Ground<'_>, driven: &Section, other: &Section) -> bool {
    let graph = ground.graph;
    let far = |anode: NodeId| -> Vec<NodeId> {
        let edges = graph.edges(anode).iter();
        let direct: Vec<NodeId> = edges
            .filter(|e| !ground.is_fixed(e.to))
            .map(|e| e.to)
            .collect();
        let next = direct.iter().flat_map(|node| graph.edges(*node));
        let next: Vec<NodeId> = next
            .filter(|e| e.to != anode && !ground.is_fixed(e.to))
            .map(|e| e.to)
            .collect();
        direct.into_iter().chain(next).collect()
    };
    let (a, b) = (far(driven.anode), far(other.anode));
    a.iter()
        .any(|node| b.contains(node) && *node != driven.anode && *node != other.anode)
}

/// Drivers of later valves as they are after inverters are known: a cathode that drives nothing but by
/// way of its own anode is no output.
pub(super) fn spines(ground: &Ground<'_>, sections: &mut [Section]) {
    let outputs: Vec<(NodeId, usize)> = sections
        .iter()
        .flat_map(|s| s.outputs.iter().map(|node| (*node, s.level)))
        .collect();
    let graph = ground.graph;
    let barriers: BTreeSet<NodeId> = sections
        .iter()
        .flat_map(|s| [s.anode, s.cathode])
        .filter(|node| !ground.is_fixed(*node))
        .collect();
    for section in sections.iter_mut() {
        let Some(from) = section.driven_from else {
            continue;
        };
        if from == graph.circuit.input() || outputs.iter().any(|(node, _)| *node == from) {
            continue;
        }
        let mut best: Option<(u32, NodeId, Vec<PartId>)> = None;
        for (node, level) in &outputs {
            if *level >= section.level {
                continue;
            }
            let ways = ways(ground, &barriers, *node);
            if let Some((cost, _)) = ways.get(&section.grid) {
                let better = best.as_ref().is_none_or(|(known, ..)| cost < known);
                if better {
                    best = Some((*cost, *node, parts_of(&ways, section.grid)));
                }
            }
        }
        if let Some((_, node, way)) = best {
            section.driven_from = Some(node);
            section.spine = way;
        }
    }
}

/// Channels: 0 for what the input drives, one for each further valve that nothing drives and what it
/// alone drives.
pub(super) fn channels(sections: &mut [Section], input: NodeId) {
    let mut next = 1;
    let mut order: Vec<usize> = (0..sections.len()).collect();
    order.sort_by_key(|i| sections[*i].level);
    for i in order {
        if sections[i].channel == 0 || sections[i].role == Role::OutputValve {
            sections[i].channel = 0;
            continue;
        }
        let own_input = sections[i].driven_from.is_none() && sections[i].grid != input;
        if own_input && sections[i].role != Role::InverterOther {
            sections[i].channel = next;
            next += 1;
        } else {
            sections[i].channel = 0;
        }
    }
}
