//! The netlist read back from what is drawn, and every way in which a drawing can be wrong.
//!
//! Takes a sheet and its circuit; reads lines, dots, pins, signs and flags only. Lines join where they
//! end on one another, where a pin lies on them, and at dots; two that cross without a dot do not. All
//! ground signs are one, and all flags of a name.

pub use super::fault::Fault;
use super::sheet::{Area, Item, Placed, Point, Sheet, Symbol, Wire};
use crate::circuit::{Circuit, GROUND, NodeId, PartId, PartKind};
use std::collections::BTreeMap;

/// One straight piece of a wire.
#[derive(Clone, Copy, Debug)]
struct Line {
    node: NodeId,
    from: Point,
    to: Point,
}

impl Line {
    fn area(&self) -> Area {
        Area::around(&[self.from, self.to])
    }

    fn holds(&self, at: Point) -> bool {
        self.area().contains(at)
    }

    fn ends_at(&self, at: Point) -> bool {
        self.from == at || self.to == at
    }

    fn level(&self) -> bool {
        self.from.y == self.to.y
    }
}

fn straight(wires: &[Wire]) -> Vec<Line> {
    let mut lines = Vec::new();
    for wire in wires {
        for pair in wire.points.windows(2) {
            lines.push(Line {
                node: wire.node,
                from: pair[0],
                to: pair[1],
            });
        }
    }
    lines
}

/// Sets that are joined pair by pair.
struct Sets(Vec<usize>);

impl Sets {
    fn of(&mut self, i: usize) -> usize {
        let mut i = i;
        while self.0[i] != i {
            self.0[i] = self.0[self.0[i]];
            i = self.0[i];
        }
        i
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.of(a), self.of(b));
        self.0[a.max(b)] = a.min(b);
    }
}

/// The nodes that a part's pins must be at, in the order of its symbol.
pub(super) fn nodes_of(kind: &PartKind) -> Vec<NodeId> {
    match kind {
        PartKind::Resistor { between, .. }
        | PartKind::Capacitor { between, .. }
        | PartKind::Inductor { between, .. }
        | PartKind::Switch { between, .. }
        | PartKind::Loudspeaker { between, .. }
        | PartKind::VoltageSource { between, .. } => between.to_vec(),
        PartKind::Pot {
            from, to, wiper, ..
        } if wiper == from || wiper == to => vec![*from, *to],
        PartKind::Pot {
            from, to, wiper, ..
        } => vec![*from, *to, *wiper],
        PartKind::Triode {
            anode,
            grid,
            cathode,
            ..
        } => vec![*anode, *grid, *cathode],
        PartKind::Pentode {
            anode,
            screen,
            grid,
            cathode,
            ..
        } => vec![*anode, *screen, *grid, *cathode],
        PartKind::Rectifier { to, from, .. } => vec![*to, *from],
        PartKind::OutputTransformer(t) => {
            let taps = t.primary.taps.iter().chain(&t.secondary.taps);
            taps.copied().collect()
        }
        PartKind::Supply { node, .. } | PartKind::BiasSupply { node, .. } => vec![*node],
    }
}

/// Pins of a sheet with the set that each belongs to once all that is drawn is joined.
fn groups(sheet: &Sheet) -> (Vec<(usize, usize)>, Vec<usize>) {
    let lines = straight(&sheet.wires);
    let pins: Vec<(usize, usize)> = sheet
        .placed
        .iter()
        .enumerate()
        .flat_map(|(i, p)| (0..p.pins.len()).map(move |k| (i, k)))
        .collect();
    let at = |(i, k): (usize, usize)| sheet.placed[i].pins[k].at;
    let first = pins.len();
    let mut sets = Sets((0..first + lines.len()).collect());
    for (i, a) in lines.iter().enumerate() {
        for (j, b) in lines.iter().enumerate().skip(i + 1) {
            let touch = [a.from, a.to].into_iter().any(|p| b.holds(p))
                || [b.from, b.to].into_iter().any(|p| a.holds(p));
            let dotted = sheet.dots.iter().any(|(_, p)| a.holds(*p) && b.holds(*p));
            if touch || dotted {
                sets.join(first + i, first + j);
            }
        }
        for (k, pin) in pins.iter().enumerate() {
            if a.holds(at(*pin)) {
                sets.join(first + i, k);
            }
        }
    }
    let mut signs: BTreeMap<NodeId, usize> = BTreeMap::new();
    for (k, pin) in pins.iter().enumerate() {
        for (j, other) in pins.iter().enumerate().take(k) {
            if at(*pin) == at(*other) {
                sets.join(k, j);
            }
        }
        let name = match sheet.placed[pin.0].item {
            Item::Ground => Some(GROUND),
            Item::Flag(node) => Some(node),
            _ => None,
        };
        if let Some(name) = name {
            let known = *signs.entry(name).or_insert(k);
            sets.join(k, known);
        }
    }
    let of = (0..pins.len()).map(|k| sets.of(k)).collect();
    (pins, of)
}

/// All that is wrong with a drawing; nothing is the proof that it shows the circuit.
pub fn faults(sheet: &Sheet, circuit: &Circuit) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (i, part) in circuit.parts().iter().enumerate() {
        let id = PartId(i as u16);
        let drawn: Vec<&Placed> = sheet
            .placed
            .iter()
            .filter(|p| p.item == Item::Part(id))
            .collect();
        if drawn.len() != 1 {
            faults.push(Fault::Drawn {
                part: id,
                times: drawn.len(),
            });
        }
        let nodes = nodes_of(&part.kind);
        for placed in drawn {
            let own: Vec<NodeId> = placed.pins.iter().map(|pin| pin.node).collect();
            if own != nodes {
                faults.push(Fault::Pins { part: id });
            }
        }
    }
    connections(sheet, &mut faults);
    wires(sheet, &mut faults);
    dots(sheet, &mut faults);
    faults.extend(super::labels::text_faults(sheet));
    faults
}

fn connections(sheet: &Sheet, faults: &mut Vec<Fault>) {
    let (pins, of) = groups(sheet);
    let mut nodes: BTreeMap<NodeId, Vec<usize>> = BTreeMap::new();
    let mut by_set: BTreeMap<usize, NodeId> = BTreeMap::new();
    for ((i, k), set) in pins.iter().zip(&of) {
        let node = sheet.placed[*i].pins[*k].node;
        let sets = nodes.entry(node).or_default();
        if !sets.contains(set) {
            sets.push(*set);
        }
        let known = *by_set.entry(*set).or_insert(node);
        if known != node {
            let fault = Fault::Short {
                nodes: [known, node],
            };
            if !faults.contains(&fault) {
                faults.push(fault);
            }
        }
    }
    for (node, sets) in nodes {
        if sets.len() > 1 {
            faults.push(Fault::Open {
                node,
                pieces: sets.len(),
            });
        }
    }
}

fn wires(sheet: &Sheet, faults: &mut Vec<Fault>) {
    let lines = straight(&sheet.wires);
    for line in &lines {
        for placed in sheet.placed.iter().filter(|p| p.symbol != Symbol::Flag) {
            let body = placed.body;
            if line.area().meets(body) {
                faults.push(Fault::Through {
                    node: line.node,
                    at: line.from,
                });
            }
        }
    }
    for (i, a) in lines.iter().enumerate() {
        for b in &lines[i + 1..] {
            if a.node == b.node || a.level() != b.level() || !a.area().meets(b.area()) {
                continue;
            }
            faults.push(Fault::Over {
                nodes: [a.node, b.node],
                at: a.from,
            });
        }
    }
}

/// Ways that leave a place: of lines, and of pins' leads.
fn ways_at(sheet: &Sheet, lines: &[Line], node: NodeId, at: Point) -> usize {
    let mut ways: Vec<(i32, i32)> = Vec::new();
    let mut add = |x: i32, y: i32| {
        let way = (x.signum(), y.signum());
        if way != (0, 0) && !ways.contains(&way) {
            ways.push(way);
        }
    };
    for line in lines.iter().filter(|l| l.node == node && l.holds(at)) {
        for end in [line.from, line.to] {
            add(end.x - at.x, end.y - at.y);
        }
    }
    for pin in sheet.placed.iter().flat_map(|p| &p.pins) {
        if pin.node == node && pin.at == at {
            let lead = pin.leaves.opposite().step();
            add(lead.x, lead.y);
        }
    }
    ways.len()
}

fn dots(sheet: &Sheet, faults: &mut Vec<Fault>) {
    let lines = straight(&sheet.wires);
    for (node, at) in &sheet.dots {
        if ways_at(sheet, &lines, *node, *at) < 3 {
            faults.push(Fault::Dot { at: *at });
        }
    }
    let mut places: Vec<(NodeId, Point)> = Vec::new();
    for line in &lines {
        places.extend([(line.node, line.from), (line.node, line.to)]);
        for other in lines.iter().filter(|o| o.node == line.node) {
            if line.level() != other.level() {
                let at = if line.level() {
                    Point::new(other.from.x, line.from.y)
                } else {
                    Point::new(line.from.x, other.from.y)
                };
                if line.holds(at) && other.holds(at) && !line.ends_at(at) {
                    places.push((line.node, at));
                }
            }
        }
    }
    for pin in sheet.placed.iter().flat_map(|p| &p.pins) {
        places.push((pin.node, pin.at));
    }
    places.sort();
    places.dedup();
    for (node, at) in places {
        if ways_at(sheet, &lines, node, at) >= 3 && !sheet.dots.contains(&(node, at)) {
            faults.push(Fault::Dot { at });
        }
    }
}
