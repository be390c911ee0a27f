//! The sheet while it is filled: what stands where, what is left to place, what ground is taken.

use super::links::{Link, Through, by_rank, ends, natural, track};
use crate::circuit::topology::{Role, Topology};
use crate::circuit::{Circuit, GROUND, NodeId, PartId, PartKind};
use crate::drawing::sheet::{Area, Item, Placed, Point, Symbol, Way, Wire};
use crate::drawing::symbols::{LENGTH, POT, Stand, VALVE, WIPER, place};
use std::collections::{BTreeMap, BTreeSet};

pub(super) struct Board<'a> {
    pub circuit: &'a Circuit,
    pub topology: &'a Topology,
    pub placed: Vec<Placed>,
    /// What no further symbol may stand on: bodies with their texts, and ways kept free.
    pub taken: Vec<Area>,
    /// By part.
    pub done: Vec<bool>,
    /// Parts that a later step places itself.
    pub kept: BTreeSet<PartId>,
    /// Nodes that no leg may pass: on a signal's way, or at a valve.
    pub spine: BTreeSet<NodeId>,
    /// What hangs from the feet of pots on signals' ways: by pot.
    pub feet: BTreeMap<PartId, Vec<Link>>,
    /// The nodes of those.
    pub feet_nodes: BTreeSet<NodeId>,
    /// Lines wanted as they are.
    pub first: Vec<Wire>,
    /// The way in which a leg to a bias goes.
    pub toward_bias: Way,
    /// While the bias supply itself is placed its nodes are nodes like others.
    pub bias_open: bool,
}

impl<'a> Board<'a> {
    pub fn new(circuit: &'a Circuit, topology: &'a Topology) -> Board<'a> {
        Board {
            circuit,
            topology,
            placed: Vec::new(),
            taken: Vec::new(),
            done: vec![false; circuit.parts().len()],
            kept: BTreeSet::new(),
            spine: BTreeSet::new(),
            feet: BTreeMap::new(),
            feet_nodes: BTreeSet::new(),
            first: Vec::new(),
            toward_bias: Way::Down,
            bias_open: false,
        }
    }

    pub fn kind(&self, part: PartId) -> &'a PartKind {
        &self.circuit.part(part).kind
    }

    pub fn is_done(&self, part: PartId) -> bool {
        self.done[part.0 as usize]
    }

    /// Ground, a rail or a bias: a node that holds still.
    pub fn is_fixed(&self, node: NodeId) -> bool {
        node == GROUND || self.topology.rail(node).is_some() || self.is_bias(node)
    }

    pub fn is_bias(&self, node: NodeId) -> bool {
        !self.bias_open && self.topology.bias.contains(&node)
    }

    /// Whether a leg may take a part: it is open, and no later step wants it.
    pub fn is_free_part(&self, part: PartId) -> bool {
        !self.is_done(part) && !self.kept.contains(&part)
    }

    /// Places of a node's pins.
    pub fn pins_of(&self, node: NodeId) -> Vec<Point> {
        let pins = self.placed.iter().flat_map(|placed| &placed.pins);
        pins.filter(|pin| pin.node == node)
            .map(|pin| pin.at)
            .collect()
    }

    /// Where a part's pin at a node lies.
    pub fn pin_of(&self, part: PartId, node: NodeId) -> Option<Point> {
        let placed = self.placed.iter().find(|p| p.item == Item::Part(part))?;
        placed
            .pins
            .iter()
            .find(|pin| pin.node == node)
            .map(|pin| pin.at)
    }

    pub fn is_open(&self, area: Area) -> bool {
        !self.taken.iter().any(|taken| taken.meets(area))
    }

    /// Puts a symbol down and takes its ground.
    pub fn put(&mut self, item: Item, symbol: Symbol, stand: Stand, nodes: &[NodeId]) {
        let placed = place(item, symbol, stand, nodes);
        self.taken.push(ground_of(&placed));
        if let Item::Part(part) = item {
            self.done[part.0 as usize] = true;
        }
        self.placed.push(placed);
    }

    /// Usual length of a part from end to end.
    pub fn length(&self, part: PartId) -> i32 {
        match self.kind(part) {
            PartKind::Pot { .. } => POT,
            _ => LENGTH,
        }
    }

    /// The symbol of a part with two ends, or of a pot.
    pub fn symbol(&self, part: PartId) -> Symbol {
        match *self.kind(part) {
            PartKind::Capacitor { between, .. } => match self.topology.of(part).role {
                // The bias is negative: its capacitors have their positive end at ground.
                Role::BiasDecoupling => Symbol::PolarCapacitor {
                    plus_second: between[1] == GROUND,
                },
                Role::Reservoir | Role::Decoupling | Role::CathodeBypass => {
                    Symbol::PolarCapacitor {
                        plus_second: self.is_higher(between[1], between[0]),
                    }
                }
                _ => Symbol::Capacitor,
            },
            PartKind::Inductor { .. } => Symbol::Inductor,
            PartKind::Switch { closed, .. } => Symbol::Switch { closed },
            PartKind::Loudspeaker { .. } => Symbol::Loudspeaker,
            PartKind::VoltageSource { .. } => Symbol::Source,
            PartKind::Pot { from, wiper, .. } if track(self.kind(part)).is_none() => {
                Symbol::Rheostat {
                    tied_to_first: wiper == from,
                }
            }
            PartKind::Pot { .. } => Symbol::Pot,
            _ => Symbol::Resistor,
        }
    }

    /// Whether one of two ends of a capacitor stands higher than the other: at a rail or a cathode,
    /// or at least not at ground.
    fn is_higher(&self, node: NodeId, other: NodeId) -> bool {
        let height = |node: NodeId| {
            let cathode = self.topology.sections.iter().any(|s| s.cathode == node);
            match () {
                () if node == GROUND => 0,
                () if self.topology.rail(node).is_some() || cathode => 2,
                () => 1,
            }
        };
        height(node) > height(other)
    }

    /// Puts a part with two ends, or a pot by its track, from `at` on; it is entered at `enters`.
    /// A pot's wiper stands at the right of one that goes down, at the upper side of one that goes right;
    /// `aside` turns it over.
    pub fn put_along(
        &mut self,
        part: PartId,
        at: Point,
        way: Way,
        enters: NodeId,
        length: i32,
        aside: bool,
    ) -> Point {
        let kind = self.kind(part);
        let nodes: Vec<NodeId> = ends(kind)
            .map(|e| e.to_vec())
            .or_else(|| track(kind).map(|t| t.to_vec()))
            .unwrap_or_default();
        let far = at.on(way, length);
        let forward = nodes[0] == enters;
        let stand = Stand {
            at: if forward { at } else { far },
            turn: if forward { way } else { way.opposite() },
            mirrored: aside == forward,
            length,
        };
        self.put(Item::Part(part), self.symbol(part), stand, &nodes);
        far
    }

    /// The ground that parts along a way take when put from a place on.
    pub fn ground_along(&self, links: &[Link], at: Point, way: Way) -> Vec<Area> {
        let mut areas = Vec::new();
        let mut at = at;
        for link in links {
            let length = self.length(link.part);
            areas.push(texts_along(
                at,
                way,
                length,
                room_aside(self.kind(link.part)),
            ));
            at = at.on(way, length);
        }
        if links.last().is_some_and(|link| link.to == GROUND) && way.upright() {
            areas.push(Area::around(&[
                Point::new(at.x - 1, at.y),
                Point::new(at.x + 1, at.y + 3),
            ]));
        }
        areas
    }

    /// Puts parts along a way, one behind the other; gives where the last ends.
    pub fn put_links(&mut self, links: &[Link], at: Point, way: Way) -> Point {
        let mut at = at;
        for link in links {
            let length = self.length(link.part);
            at = match link.through {
                Through::Whole => self.put_along(link.part, at, way, link.from, length, false),
                Through::Upper | Through::Lower => self.put_by_wiper(*link, at, way),
            };
        }
        at
    }

    /// A pot on a way that leaves or enters by its wiper, standing upright; gives where the way goes on.
    fn put_by_wiper(&mut self, link: Link, at: Point, _way: Way) -> Point {
        let Some([from, to, wiper]) = track(self.kind(link.part)) else {
            return at;
        };
        let nodes = [from, to, wiper];
        let entered_at_wiper = link.from == wiper;
        let other = if entered_at_wiper { link.to } else { link.from };
        let top_is_from = other == from;
        let down = if top_is_from { Way::Down } else { Way::Up };
        let (x, top) = if entered_at_wiper {
            (at.x + WIPER, at.y - POT / 2)
        } else {
            (at.x, at.y)
        };
        let first = if top_is_from { top } else { top + POT };
        let mirrored = entered_at_wiper == top_is_from;
        let stand = Stand {
            at: Point::new(x, first),
            turn: down,
            mirrored,
            length: POT,
        };
        self.put(Item::Part(link.part), Symbol::Pot, stand, &nodes);
        if entered_at_wiper {
            Point::new(x, top)
        } else {
            Point::new(x + WIPER, top + POT / 2)
        }
    }

    /// A valve, anode first: pointing down with its grid at the left, pointing up (`up`) likewise;
    /// `mirrored` has the grid at the right.
    pub fn put_valve(&mut self, part: PartId, anode: Point, up: bool, mirrored: bool) {
        let (symbol, nodes) = match *self.kind(part) {
            PartKind::Triode {
                anode,
                grid,
                cathode,
                ..
            } => (Symbol::Triode, vec![anode, grid, cathode]),
            PartKind::Pentode {
                anode,
                screen,
                grid,
                cathode,
                ..
            } => (Symbol::Pentode, vec![anode, screen, grid, cathode]),
            _ => return,
        };
        let stand = Stand {
            at: anode,
            turn: if up { Way::Up } else { Way::Down },
            mirrored: mirrored != up,
            length: VALVE,
        };
        self.put(Item::Part(part), symbol, stand, &nodes);
    }

    /// Parts in the order in which ties are broken.
    pub fn ranked(&self) -> Vec<PartId> {
        let mut parts: Vec<PartId> = (0..self.circuit.parts().len())
            .map(|i| PartId(i as u16))
            .collect();
        parts.sort_by(|a, b| by_rank(self.circuit, *a, *b));
        parts
    }

    /// A designator as it is counted.
    pub fn natural(&self, part: PartId) -> (String, u32, String) {
        natural(&self.circuit.part(part).designator)
    }
}

/// Room at the side of a part beyond that of a resistor: for a wiper, or a long name.
pub(super) fn room_aside(kind: &PartKind) -> i32 {
    match kind {
        PartKind::Loudspeaker { .. } => 9,
        PartKind::Pot { .. } => 3,
        _ => 0,
    }
}

/// What a part with its texts takes that lies along a way.
pub(super) fn texts_along(at: Point, way: Way, length: i32, more: i32) -> Area {
    let far = at.on(way, length);
    if way.upright() {
        Area::around(&[
            Point::new(at.x - 1, at.y.min(far.y)),
            Point::new(at.x + 4 + more, at.y.max(far.y)),
        ])
    } else {
        Area::around(&[
            Point::new(at.x.min(far.x), at.y - 2 - more),
            Point::new(at.x.max(far.x), at.y + 2),
        ])
    }
}

/// What a symbol in its place takes, its texts with it.
pub(super) fn ground_of(placed: &Placed) -> Area {
    match placed.symbol {
        Symbol::Resistor
        | Symbol::Capacitor
        | Symbol::PolarCapacitor { .. }
        | Symbol::Inductor
        | Symbol::Switch { .. }
        | Symbol::Source => texts_along(placed.at, placed.turn, placed.length, 0),
        Symbol::Rheostat { .. } => texts_along(placed.at, placed.turn, placed.length, 3),
        Symbol::Loudspeaker => texts_along(placed.at, placed.turn, placed.length, 9),
        Symbol::Pot => {
            let mut points: Vec<Point> = placed.pins.iter().map(|pin| pin.at).collect();
            points.push(Point::new(placed.at.x - 1, placed.at.y));
            points.push(Point::new(placed.at.x + 7, placed.at.y));
            Area::around(&points)
        }
        Symbol::Triode | Symbol::Pentode => {
            let points: Vec<Point> = placed.pins.iter().map(|pin| pin.at).collect();
            let area = Area::around(&points);
            Area::around(&[area.from, area.to, Point::new(placed.at.x + 5, placed.at.y)])
        }
        Symbol::Transformer { .. } => placed.body.wider(1),
        _ => placed.body,
    }
}

/// Where a symbol's texts are likely to stand, and wires are not wanted.
pub(super) fn text_ground(placed: &Placed) -> Vec<Area> {
    let at = placed.at;
    let middle = at.on(placed.turn, placed.length / 2);
    let area = |x: [i32; 2], y: [i32; 2]| Area {
        from: Point::new(middle.x + x[0], middle.y + y[0]),
        to: Point::new(middle.x + x[1], middle.y + y[1]),
    };
    match placed.symbol {
        Symbol::Triode | Symbol::Pentode | Symbol::Rectifier => {
            vec![area([2, 5], [-3, -2])]
        }
        Symbol::Jack | Symbol::Supply | Symbol::Flag | Symbol::Ground => Vec::new(),
        Symbol::Transformer { .. } => Vec::new(),
        Symbol::Loudspeaker => vec![area([2, 12], [-1, 1])],
        Symbol::Pot | Symbol::Rheostat { .. } => vec![area([1, 5], [1, 3])],
        _ if placed.turn.upright() => vec![area([1, 4], [-1, 1])],
        _ => vec![area([-2, 2], [-2, -1]), area([-2, 2], [1, 2])],
    }
}
