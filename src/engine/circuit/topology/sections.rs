//! The valves in signal order: what drives each, over which way, and what stands at its electrodes.

use super::graph::{Edge, Graph, is_ground, trace};
use super::types::{Rail, Role, Section};
use crate::circuit::electrodes;
use crate::circuit::{NodeId, PartId, PartKind};
use std::collections::{BTreeMap, BTreeSet};

/// What is known before sections are found.
pub(super) struct Ground<'a> {
    pub graph: &'a Graph<'a>,
    pub rails: &'a [Rail],
    pub bias: &'a [NodeId],
}

impl Ground<'_> {
    /// Ground, a rail or a bias.
    pub fn is_fixed(&self, node: NodeId) -> bool {
        is_ground(node)
            || self.bias.contains(&node)
            || self.rails.iter().any(|rail| rail.node == node)
    }

    pub fn is_rail(&self, node: NodeId) -> bool {
        self.rails.iter().any(|rail| rail.node == node)
    }
}

/// A valve before its place is known.
#[derive(Clone, Copy)]
pub(super) struct Valve {
    pub part: PartId,
    pub anode: NodeId,
    pub screen: Option<NodeId>,
    pub grid: NodeId,
    pub cathode: NodeId,
}

fn valves(graph: &Graph<'_>) -> Vec<Valve> {
    let all = graph.parts().into_iter().filter_map(|part| {
        let e = electrodes(graph.circuit.part(part))?;
        Some(Valve {
            part,
            anode: e.anode,
            screen: e.screen,
            grid: e.grid,
            cathode: e.cathode,
        })
    });
    all.collect()
}

/// End taps of output transformers' primaries: the side that an anode there is on.
fn primary_side(graph: &Graph<'_>, ground: &Ground<'_>, anode: NodeId) -> Option<usize> {
    graph.parts().into_iter().find_map(|part| {
        let PartKind::OutputTransformer(t) = graph.kind(part) else {
            return None;
        };
        let taps = &t.primary.taps;
        let place = taps.iter().position(|tap| *tap == anode)?;
        if ground.is_fixed(anode) {
            return None;
        }
        let rail = taps.iter().position(|tap| ground.is_rail(*tap));
        Some(match rail {
            Some(rail) if rail == 0 || rail == taps.len() - 1 => 0,
            Some(rail) => usize::from(place > rail),
            None => usize::from(place > 0 && taps.len() > 2),
        })
    })
}

/// All sections as the waves reach them; inverters and channels are not known yet.
pub(super) fn sections(ground: &Ground<'_>) -> Vec<Section> {
    let valves = valves(ground.graph);
    let mut places = waves(ground, &valves);
    undriven(ground, &valves, &mut places);
    valves
        .iter()
        .map(|valve| section(ground, &valves, valve, places.get(&valve.part)))
        .collect()
}

/// Where a valve was reached: level, the node that drives it, the way there.
#[derive(Clone, Debug)]
struct Reached {
    level: usize,
    from: NodeId,
    way: Vec<PartId>,
    by_cathode: bool,
    /// A wave from the input came here.
    driven: bool,
}

/// Nodes that a signal on its way to a grid does not pass: what is fixed, and electrodes of valves
/// other than the one that drives.
fn barriers(ground: &Ground<'_>, valves: &[Valve]) -> BTreeSet<NodeId> {
    let mut barriers = BTreeSet::new();
    for valve in valves {
        barriers.insert(valve.anode);
        barriers.insert(valve.cathode);
    }
    barriers.retain(|node| !ground.is_fixed(*node));
    barriers
}

/// Ways from a driving node, over what is not fixed and no valve's anode or cathode.
pub(super) fn ways(
    ground: &Ground<'_>,
    barriers: &BTreeSet<NodeId>,
    from: NodeId,
) -> BTreeMap<NodeId, (u32, Option<Edge>)> {
    let passes = |node: NodeId| !ground.is_fixed(node) && !barriers.contains(&node);
    ground.graph.reach(from, &|_| true, &passes)
}

/// Levels by waves from the input: a valve is reached by its grid, or by its cathode when its grid is
/// fixed or its cathode is a reached valve's anode.
fn waves(ground: &Ground<'_>, valves: &[Valve]) -> BTreeMap<PartId, Reached> {
    let graph = ground.graph;
    let barriers = barriers(ground, valves);
    let mut places: BTreeMap<PartId, Reached> = BTreeMap::new();
    let mut sources = vec![graph.circuit.input()];
    for level in 0..=valves.len() {
        let mut found: BTreeMap<PartId, (u32, Reached)> = BTreeMap::new();
        for from in &sources {
            let best = ways(ground, &barriers, *from);
            for valve in valves {
                if places.contains_key(&valve.part) {
                    continue;
                }
                let by_cathode = valve.cathode == *from
                    && (ground.is_fixed(valve.grid) || valves.iter().any(|v| v.anode == *from));
                let reached = if by_cathode {
                    Some((0, Vec::new()))
                } else {
                    best.get(&valve.grid)
                        .map(|(cost, _)| (*cost, parts_of(&best, valve.grid)))
                };
                let Some((cost, way)) = reached else { continue };
                let known = found.get(&valve.part).map(|(known, _)| *known);
                if known.is_none_or(|known| cost < known) {
                    let place = Reached {
                        level,
                        from: *from,
                        way,
                        by_cathode,
                        driven: true,
                    };
                    found.insert(valve.part, (cost, place));
                }
            }
        }
        // A follower directly on an anode that this wave reaches too belongs to the next one.
        if found.is_empty() {
            break;
        }
        sources.clear();
        for valve in valves {
            let Some((_, place)) = found.remove(&valve.part) else {
                continue;
            };
            places.insert(valve.part, place);
            sources.extend(outputs_of(ground, valve));
        }
        sources.dedup();
    }
    shared_cathodes(ground, valves, &mut places);
    places
}

pub(super) fn parts_of(best: &BTreeMap<NodeId, (u32, Option<Edge>)>, end: NodeId) -> Vec<PartId> {
    let edges = trace(best, end).unwrap_or_default();
    edges.iter().map(|edge| edge.part).collect()
}

/// Where a valve's signal can come out: its anode unless fixed, and its cathode unless at ground or
/// bypassed to it.
fn outputs_of(ground: &Ground<'_>, valve: &Valve) -> Vec<NodeId> {
    let mut outputs = Vec::new();
    if !ground.is_fixed(valve.anode) {
        outputs.push(valve.anode);
    }
    if !ground.is_fixed(valve.cathode) {
        outputs.push(valve.cathode);
    }
    outputs
}

/// A valve that no wave reached and whose cathode is joined to a reached one's, straight or over one
/// resistor each, is the other half of a pair: it stands on the same level.
fn shared_cathodes(ground: &Ground<'_>, valves: &[Valve], places: &mut BTreeMap<PartId, Reached>) {
    for valve in valves {
        let late = |part: PartId, places: &BTreeMap<PartId, Reached>| {
            places.get(&part).map_or(usize::MAX, |place| place.level)
        };
        let partner = valves.iter().find(|other| {
            other.part != valve.part
                && joined_cathodes(ground, valve, other)
                && late(other.part, places) < late(valve.part, places)
        });
        if let Some(partner) = partner {
            let level = places[&partner.part].level;
            let own = places.get(&valve.part);
            let cathode = valve.cathode;
            // Its grid is fed by the cathodes' own surroundings, if at all.
            let from_cathodes =
                |own: &Reached| own.from == partner.cathode || own.from == valve.cathode;
            if own.is_none_or(|own| own.level > level && from_cathodes(own)) {
                places.insert(
                    valve.part,
                    Reached {
                        level,
                        from: cathode,
                        way: Vec::new(),
                        by_cathode: true,
                        driven: true,
                    },
                );
            }
        }
    }
}

/// Whether two cathodes are one node, or lead over one resistor each to one node that is not fixed.
pub(super) fn joined_cathodes(ground: &Ground<'_>, a: &Valve, b: &Valve) -> bool {
    if ground.is_fixed(a.cathode) || ground.is_fixed(b.cathode) {
        return false;
    }
    if a.cathode == b.cathode {
        return true;
    }
    let below = |valve: &Valve| -> Vec<NodeId> {
        let edges = ground.graph.edges(valve.cathode).iter();
        edges
            .filter(|e| matches!(ground.graph.kind(e.part), PartKind::Resistor { .. }))
            .map(|e| e.to)
            .filter(|node| !ground.is_fixed(*node))
            .collect()
    };
    let (a, b) = (below(a), below(b));
    a.iter().any(|node| b.contains(node))
}

/// Valves that nothing drives: each one level before what it drives, or at the start.
fn undriven(ground: &Ground<'_>, valves: &[Valve], places: &mut BTreeMap<PartId, Reached>) {
    let barriers = barriers(ground, valves);
    for _ in 0..valves.len() {
        for valve in valves {
            if places.contains_key(&valve.part) {
                continue;
            }
            let target = outputs_of(ground, valve)
                .into_iter()
                .flat_map(|from| {
                    let best = ways(ground, &barriers, from);
                    valves
                        .iter()
                        .filter(|v| v.part != valve.part && best.contains_key(&v.grid))
                        .filter_map(|v| places.get(&v.part).map(|p| p.level))
                        .collect::<Vec<_>>()
                })
                .min();
            if let Some(level) = target {
                places.insert(
                    valve.part,
                    Reached {
                        level: level.saturating_sub(1),
                        from: valve.grid,
                        way: Vec::new(),
                        by_cathode: false,
                        driven: false,
                    },
                );
            }
        }
    }
}

fn section(
    ground: &Ground<'_>,
    valves: &[Valve],
    valve: &Valve,
    place: Option<&Reached>,
) -> Section {
    let graph = ground.graph;
    let side = primary_side(graph, ground, valve.anode);
    let level = place.map_or(0, |place| place.level);
    let driven = place.filter(|place| place.driven && !place.by_cathode);
    let role = if side.is_some() {
        Role::OutputValve
    } else if ground.is_fixed(valve.anode) && !ground.is_fixed(valve.cathode) {
        Role::Follower
    } else {
        Role::Gain
    };
    let outputs = if role == Role::Follower {
        vec![valve.cathode]
    } else {
        vec![valve.anode]
    };
    Section {
        part: valve.part,
        anode: valve.anode,
        screen: valve.screen.filter(|screen| *screen != valve.anode),
        grid: valve.grid,
        cathode: valve.cathode,
        role,
        level,
        channel: usize::from(!place.is_some_and(|place| place.driven)),
        side: side.unwrap_or(0),
        outputs,
        driven_from: driven.map(|place| place.from),
        spine: driven.map(|place| place.way.clone()).unwrap_or_default(),
        cathode_chain: cathode_chain(ground, valves, valve),
        anode_chain: match role {
            Role::OutputValve => Vec::new(),
            _ => anode_chain(ground, valve),
        },
    }
}

/// From a cathode to ground by direct current, over no other valve's electrode but joined cathodes.
fn cathode_chain(ground: &Ground<'_>, valves: &[Valve], valve: &Valve) -> Vec<PartId> {
    if ground.is_fixed(valve.cathode) || valves.iter().any(|v| v.anode == valve.cathode) {
        return Vec::new();
    }
    let electrode = |node: NodeId| {
        valves
            .iter()
            .any(|v| v.anode == node || v.grid == node || v.screen == Some(node))
    };
    let best = ground
        .graph
        .reach(valve.cathode, &|edge| edge.direct, &|node| {
            !ground.is_fixed(node) && !electrode(node) && !at_transformer(ground, node)
        });
    let ends = best
        .iter()
        .filter(|(node, _)| is_ground(**node) || ground.bias.contains(node))
        .min_by_key(|(node, (cost, _))| (*cost, ground.graph.rank(**node)));
    let end = ends.map(|(node, _)| *node);
    end.map(|end| parts_of(&best, end)).unwrap_or_default()
}

/// Whether a node is a tap of an output transformer.
fn at_transformer(ground: &Ground<'_>, node: NodeId) -> bool {
    ground.graph.at(node).into_iter().any(|part| {
        matches!(
            ground.graph.kind(part),
            PartKind::OutputTransformer(_) | PartKind::Loudspeaker { .. }
        )
    })
}

/// From an anode to a rail by direct current.
fn anode_chain(ground: &Ground<'_>, valve: &Valve) -> Vec<PartId> {
    if ground.is_fixed(valve.anode) {
        return Vec::new();
    }
    let own = |node: NodeId| node != valve.grid && node != valve.cathode;
    let best = ground
        .graph
        .reach(valve.anode, &|edge| edge.direct, &|node| {
            !ground.is_fixed(node) && own(node)
        });
    let end = best
        .iter()
        .filter(|(node, (cost, _))| ground.is_rail(**node) && *cost < 100)
        .min_by_key(|(node, (cost, _))| (*cost, ground.graph.rank(**node)));
    let end = end.map(|(node, _)| *node);
    end.map(|end| parts_of(&best, end)).unwrap_or_default()
}
