//! A drawing after its circuit has gained or lost parts: what is drawn stays where it is.
//!
//! Takes a former sheet with its circuit, and a new circuit. Parts are the same by designator and kind.
//! They keep their places, and a node's wires stay as far as they lead to pins that are still at it;
//! only new parts are placed, only what is open is routed. Texts are not given.

use super::netlist::nodes_of;
use super::place::place_others;
use super::route::route;
use super::sheet::{Area, Item, Placed, Point, Sheet, Symbol, Way, Wire};
use super::symbols::{Stand, place};
use super::whole::{drop_idle_signs, frame};
use crate::circuit::topology::Topology;
use crate::circuit::{Circuit, GROUND, NodeId, PartKind};
use std::collections::{BTreeMap, BTreeSet};

/// Draws a circuit into a former one's places.
pub fn redraw(
    former: &Sheet,
    former_circuit: &Circuit,
    circuit: &Circuit,
    topology: &Topology,
) -> Sheet {
    let mut kept: Vec<(&Placed, Placed)> = former
        .placed
        .iter()
        .filter_map(|old| Some((old, stays(old, former_circuit, circuit)?)))
        .collect();
    let heirs = heirs(&kept, former_circuit, circuit);
    part_shorts(&mut kept, &heirs);
    let (wires, signs) = keep_wires(former, &kept, &heirs);
    let mut placed: Vec<Placed> = kept.into_iter().map(|(_, new)| new).collect();
    placed.extend(signs);
    let places = place_others(circuit, topology, placed, &wires);
    let routed = route(&places.placed, &wires, &places.soft);
    let mut placed = places.placed;
    placed.extend(routed.flags);
    let mut sheet = Sheet {
        placed,
        wires: routed.wires,
        dots: routed.dots,
        ..Sheet::default()
    };
    drop_idle_signs(&mut sheet);
    frame(&mut sheet);
    sheet
}

/// A part or the jack with its new nodes, where it was; none for what is gone, is of another kind, or
/// has another number of pins.
fn stays(old: &Placed, former: &Circuit, circuit: &Circuit) -> Option<Placed> {
    let (item, symbol, nodes) = match old.item {
        Item::Jack => (Item::Jack, old.symbol, vec![circuit.input()]),
        Item::Part(id) => {
            let was = former.part(id);
            let id = circuit.find_part(&was.designator)?;
            let kind = &circuit.part(id).kind;
            if kind.kind() != was.kind.kind() {
                return None;
            }
            let symbol = match (old.symbol, kind) {
                (Symbol::Switch { .. }, PartKind::Switch { closed, .. }) => {
                    Symbol::Switch { closed: *closed }
                }
                (Symbol::Rheostat { .. }, PartKind::Pot { from, wiper, .. }) => Symbol::Rheostat {
                    tied_to_first: wiper == from,
                },
                (symbol, _) => symbol,
            };
            (Item::Part(id), symbol, nodes_of(kind))
        }
        Item::Ground | Item::Flag(_) => return None,
    };
    if nodes.len() != old.pins.len() {
        return None;
    }
    let stand = Stand {
        at: old.at,
        turn: old.turn,
        mirrored: old.mirrored,
        length: old.length,
    };
    Some(place(item, symbol, stand, &nodes))
}

/// Of each former node the new one that has most of its pins; among equals the one of the same name.
fn heirs(
    kept: &[(&Placed, Placed)],
    former: &Circuit,
    circuit: &Circuit,
) -> BTreeMap<NodeId, NodeId> {
    let mut votes: BTreeMap<NodeId, BTreeMap<NodeId, usize>> = BTreeMap::new();
    for (old, new) in kept {
        for (was, is) in old.pins.iter().zip(&new.pins) {
            let count = votes
                .entry(was.node)
                .or_default()
                .entry(is.node)
                .or_default();
            *count += 1;
        }
    }
    let name = |circuit: &Circuit, node: NodeId| circuit.nodes()[node.0 as usize].clone();
    let most = |(was, votes): (NodeId, BTreeMap<NodeId, usize>)| {
        let rank = |(is, count): &(&NodeId, &usize)| {
            let same = name(former, was) == name(circuit, **is);
            (**count, same, std::cmp::Reverse(**is))
        };
        let heir = votes.iter().max_by_key(rank).map(|(is, _)| *is);
        // Ground stays ground.
        let heir = if was == GROUND { Some(GROUND) } else { heir };
        Some((was, heir?))
    };
    votes.into_iter().filter_map(most).collect()
}

/// Where pins that lay on one another are now at different nodes, the part whose pin has left the
/// others gives up its place.
fn part_shorts(kept: &mut Vec<(&Placed, Placed)>, heirs: &BTreeMap<NodeId, NodeId>) {
    let mut at: BTreeMap<Point, BTreeSet<NodeId>> = BTreeMap::new();
    for pin in kept.iter().flat_map(|(_, new)| &new.pins) {
        at.entry(pin.at).or_default().insert(pin.node);
    }
    let shorted = |place: Point| at.get(&place).is_some_and(|nodes| nodes.len() > 1);
    kept.retain(|(old, new)| {
        let mut pins = old.pins.iter().zip(&new.pins);
        !pins.any(|(was, is)| shorted(is.at) && heirs.get(&was.node) != Some(&is.node))
    });
}

/// Ways on which a wire leads from each place.
type Ways = BTreeMap<Point, BTreeSet<Way>>;

/// The wires that stay, and the ground signs and flags that stand at them.
fn keep_wires(
    former: &Sheet,
    kept: &[(&Placed, Placed)],
    heirs: &BTreeMap<NodeId, NodeId>,
) -> (Vec<Wire>, Vec<Placed>) {
    let all = kept.iter().flat_map(|(_, new)| &new.pins);
    let pins: BTreeMap<Point, NodeId> = all.map(|pin| (pin.at, pin.node)).collect();
    let mut taken: BTreeSet<NodeId> = BTreeSet::new();
    let mut wires = Vec::new();
    let mut signs = Vec::new();
    let mut nodes: BTreeSet<NodeId> = former.wires.iter().map(|wire| wire.node).collect();
    let is_sign = |p: &&Placed| matches!(p.item, Item::Ground | Item::Flag(_));
    let own: Vec<&Placed> = former.placed.iter().filter(is_sign).collect();
    nodes.extend(own.iter().map(|sign| sign.pins[0].node));
    for node in nodes {
        // Of two nodes that have become one only the first keeps its wires.
        let Some(new) = heirs
            .get(&node)
            .copied()
            .filter(|new| (*new == GROUND) == (node == GROUND))
        else {
            continue;
        };
        if !taken.insert(new) {
            continue;
        }
        let mut ways = ways_of(former, node);
        for (at, _) in pins.iter().filter(|(_, other)| **other != new) {
            cut(&mut ways, *at);
        }
        let mut ends: BTreeSet<Point> = pins
            .iter()
            .filter(|(_, other)| **other == new)
            .map(|(at, _)| *at)
            .collect();
        // A sign stays while a pin hangs from it.
        for sign in own.iter().filter(|sign| sign.pins[0].node == node) {
            let at = sign.pins[0].at;
            if reached(&ways, at).iter().any(|place| ends.contains(place)) {
                signs.push(renamed(sign, new));
            }
        }
        ends.extend(
            signs
                .iter()
                .filter(|s| s.pins[0].node == new)
                .map(|s| s.pins[0].at),
        );
        prune(&mut ways, &ends);
        wires.extend(lines(&ways, new));
    }
    (wires, signs)
}

fn renamed(sign: &Placed, node: NodeId) -> Placed {
    let mut sign = sign.clone();
    sign.pins[0].node = node;
    if let Item::Flag(_) = sign.item {
        sign.item = Item::Flag(node);
    }
    sign
}

/// A node's wires unit by unit.
fn ways_of(sheet: &Sheet, node: NodeId) -> Ways {
    let mut ways = Ways::new();
    for wire in sheet.wires.iter().filter(|wire| wire.node == node) {
        for pair in wire.points.windows(2) {
            let line = Area::around(pair);
            let way = if line.from.y == line.to.y {
                Way::Right
            } else {
                Way::Down
            };
            let mut at = line.from;
            while at != line.to {
                let next = at.on(way, 1);
                ways.entry(at).or_default().insert(way);
                ways.entry(next).or_default().insert(way.opposite());
                at = next;
            }
        }
    }
    ways
}

/// Takes away what leads from a place.
fn cut(ways: &mut Ways, at: Point) {
    for way in ways.remove(&at).unwrap_or_default() {
        if let Some(beside) = ways.get_mut(&at.on(way, 1)) {
            beside.remove(&way.opposite());
        }
    }
}

/// Takes away what leads nowhere.
fn prune(ways: &mut Ways, ends: &BTreeSet<Point>) {
    loop {
        let dead = ways
            .iter()
            .find(|(at, ways)| ways.len() <= 1 && !ends.contains(at))
            .map(|(at, _)| *at);
        let Some(dead) = dead else { return };
        cut(ways, dead);
    }
}

/// All places that wires lead to from one.
fn reached(ways: &Ways, from: Point) -> BTreeSet<Point> {
    let mut reached = BTreeSet::from([from]);
    let mut open = vec![from];
    while let Some(at) = open.pop() {
        for way in ways.get(&at).into_iter().flatten() {
            let next = at.on(*way, 1);
            if reached.insert(next) {
                open.push(next);
            }
        }
    }
    reached
}

/// Straight lines, each as long as it goes on.
fn lines(ways: &Ways, node: NodeId) -> Vec<Wire> {
    let mut wires = Vec::new();
    for (at, here) in ways {
        for way in [Way::Right, Way::Down] {
            if !here.contains(&way) || here.contains(&way.opposite()) {
                continue;
            }
            let mut end = *at;
            while ways.get(&end).is_some_and(|ways| ways.contains(&way)) {
                end = end.on(way, 1);
            }
            wires.push(Wire {
                node,
                points: vec![*at, end],
            });
        }
    }
    wires
}
