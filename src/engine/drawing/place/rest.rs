//! What no rule has a place for: the nearest free place to the pins that it joins; and ground signs.

use super::board::{Board, ground_of};
use super::links::{ends, track};
use crate::circuit::{GROUND, NodeId, PartId, PartKind};
use crate::drawing::sheet::{Area, Item, Pin, Placed, Point, Symbol, Way};
use crate::drawing::symbols::{Stand, VALVE, place};

/// How far around the pins a place is looked for.
const AROUND: i32 = 14;

/// What a place costs from which no wire with one bend leads on, in half units of wire.
const WALLED: i32 = 40;

/// From a place to the nearest of others; nothing if there are none.
fn distance(at: Point, others: &[Point]) -> i32 {
    let far = others
        .iter()
        .map(|other| (at.x - other.x).abs() + (at.y - other.y).abs());
    far.min().unwrap_or(0)
}

impl Board<'_> {
    /// Whether symbols stand in both ways with one bend between two places.
    fn is_walled(&self, from: Point, to: Point) -> bool {
        [Point::new(from.x, to.y), Point::new(to.x, from.y)]
            .into_iter()
            .all(|corner| {
                let legs = [Area::around(&[from, corner]), Area::around(&[corner, to])];
                let mut bodies = self.placed.iter().map(|placed| placed.body);
                bodies.any(|body| legs.iter().any(|leg| leg.meets(body)))
            })
    }

    /// Places every part that is left.
    pub fn rest(&mut self) {
        loop {
            let open: Vec<PartId> = self
                .ranked()
                .into_iter()
                .filter(|part| !self.is_done(*part))
                .collect();
            // Those first that join most of what is there.
            let next = open.iter().max_by_key(|part| {
                let nodes = self.nodes(**part);
                let known = nodes
                    .iter()
                    .filter(|n| **n != GROUND && !self.pins_of(**n).is_empty());
                (known.count(), std::cmp::Reverse(self.natural(**part)))
            });
            let Some(part) = next.copied() else { return };
            self.nearest(part);
        }
    }

    /// A part's nodes in the order of its symbol's pins.
    pub fn nodes(&self, part: PartId) -> Vec<NodeId> {
        let kind = self.kind(part);
        if let Some(ends) = ends(kind) {
            return ends.to_vec();
        }
        if let Some(track) = track(kind) {
            return track.to_vec();
        }
        match kind {
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
            _ => Vec::new(),
        }
    }

    fn symbol_of(&self, part: PartId) -> Symbol {
        match self.kind(part) {
            PartKind::Triode { .. } => Symbol::Triode,
            PartKind::Pentode { .. } => Symbol::Pentode,
            PartKind::Rectifier { .. } => Symbol::Rectifier,
            PartKind::Supply { .. } | PartKind::BiasSupply { .. } => Symbol::Supply,
            PartKind::OutputTransformer(t) => Symbol::Transformer {
                primary: t.primary.taps.len() as u8,
                secondary: t.secondary.taps.len() as u8,
            },
            _ => self.symbol(part),
        }
    }

    /// Puts a part where its pins are nearest to those of the same nodes.
    fn nearest(&mut self, part: PartId) {
        let nodes = self.nodes(part);
        let symbol = self.symbol_of(part);
        let length = match symbol {
            Symbol::Transformer { primary, secondary } => {
                12.max(3 * (i32::from(primary.max(secondary)) - 1))
            }
            Symbol::Triode | Symbol::Pentode | Symbol::Rectifier => VALVE,
            Symbol::Supply => 2,
            _ => self.length(part),
        };
        let known: Vec<Vec<Point>> = nodes
            .iter()
            .map(|node| {
                if *node == GROUND {
                    Vec::new()
                } else {
                    self.pins_of(*node)
                }
            })
            .collect();
        let centre: Vec<Point> = known.iter().flatten().copied().collect();
        let around = if centre.is_empty() {
            let right = self.taken.iter().map(|a| a.to.x).max().unwrap_or(0);
            Area::around(&[Point::new(right + 4, 4), Point::new(right + 30, 30)])
        } else {
            Area::around(&centre).wider(AROUND)
        };
        let best = self.search(part, symbol, length, &nodes, &known, around);
        let placed = best.unwrap_or_else(|| {
            let right = self.taken.iter().map(|a| a.to.x).max().unwrap_or(0);
            let stand = Stand {
                at: Point::new(right + 8, 8),
                turn: Way::Down,
                mirrored: false,
                length,
            };
            place(Item::Part(part), symbol, stand, &nodes)
        });
        self.taken.push(ground_of(&placed));
        self.done[part.0 as usize] = true;
        self.placed.push(placed);
    }

    fn search(
        &self,
        part: PartId,
        symbol: Symbol,
        length: i32,
        nodes: &[NodeId],
        known: &[Vec<Point>],
        around: Area,
    ) -> Option<Placed> {
        let mut best: Option<(i32, Placed)> = None;
        let upright_only = matches!(
            symbol,
            Symbol::Triode | Symbol::Pentode | Symbol::Transformer { .. } | Symbol::Rectifier
        );
        let turns: &[Way] = if upright_only {
            &[Way::Down]
        } else {
            &[Way::Down, Way::Right, Way::Up, Way::Left]
        };
        for y in around.from.y..=around.to.y {
            for x in around.from.x..=around.to.x {
                for turn in turns {
                    let stand = Stand {
                        at: Point::new(x, y),
                        turn: *turn,
                        mirrored: false,
                        length,
                    };
                    // The distances alone are a lower bound: most places are out by them.
                    if let ([a, b], Some((least, _))) = (known, &best) {
                        let ends = [(stand.at, a), (stand.at.on(*turn, length), b)];
                        let sum: i32 = ends
                            .iter()
                            .map(|(at, known)| 2 * distance(*at, known))
                            .sum();
                        if sum >= *least {
                            continue;
                        }
                    }
                    let placed = place(Item::Part(part), symbol, stand, nodes);
                    let mut cost = 0;
                    for (pin, known) in placed.pins.iter().zip(known) {
                        let far = |at: &&Point| (at.x - pin.at.x).abs() + (at.y - pin.at.y).abs();
                        if let Some(nearest) = known.iter().min_by_key(far) {
                            cost += 2 * far(&nearest);
                            if best.as_ref().is_none_or(|(known, _)| cost < *known)
                                && self.is_walled(pin.at, *nearest)
                            {
                                cost += WALLED;
                            }
                        }
                        // Ground hangs downwards.
                        if pin.node == GROUND && pin.leaves != Way::Down {
                            cost += 6;
                        }
                    }
                    if best.as_ref().is_some_and(|(known, _)| *known <= cost) {
                        continue;
                    }
                    let mut ground = ground_of(&placed);
                    if placed.pins.iter().any(|pin| pin.node == GROUND) {
                        ground.to.y += 3;
                    }
                    if self.is_open(ground) && self.leaves_free(&placed) {
                        best = Some((cost, placed));
                    }
                }
            }
        }
        best.map(|(_, placed)| placed)
    }

    /// Whether wires can leave the pins of a symbol, and still leave those that are there.
    fn leaves_free(&self, placed: &Placed) -> bool {
        let own = placed.pins.iter().filter(|pin| pin.node != GROUND);
        let mut own = own.map(|pin| (pin.at, pin.at.on(pin.leaves, 1)));
        let covered = own.any(|(at, next)| {
            self.placed.iter().any(|other| {
                other.body.contains(at)
                    || other.body.contains(next)
                    || other.pins.iter().any(|pin| pin.at == at)
            })
        });
        let mut others = self.placed.iter().flat_map(|other| &other.pins);
        let covers = others.any(|pin| {
            placed.body.contains(pin.at) || placed.body.contains(pin.at.on(pin.leaves, 1))
        });
        !covered && !covers
    }

    /// A ground sign at every pin at ground.
    pub fn grounds(&mut self) {
        let pins: Vec<_> = self
            .placed
            .iter()
            .flat_map(|placed| placed.pins.clone())
            .filter(|pin| pin.node == GROUND)
            .collect();
        self.ground_signs(&pins, &[]);
    }

    /// A ground sign at each of these pins, none in areas that are to be kept free.
    pub fn ground_signs(&mut self, pins: &[Pin], free: &[Area]) {
        for pin in pins {
            let signs: Vec<Point> = match pin.leaves {
                Way::Down => vec![pin.at],
                Way::Up => [
                    (-3, -1),
                    (3, -1),
                    (-2, -1),
                    (2, -1),
                    (-4, -2),
                    (4, -2),
                    (0, -4),
                ]
                .map(|(x, y)| Point::new(pin.at.x + x, pin.at.y + y))
                .to_vec(),
                way => (2..6).map(|n| pin.at.on(way, n)).collect(),
            };
            let body = |at: Point| Area {
                from: Point::new(at.x - 1, at.y + 1),
                to: Point::new(at.x + 1, at.y + 2),
            };
            let bodies: Vec<Area> = self.placed.iter().map(|p| p.body).collect();
            let pins: Vec<Point> = self
                .placed
                .iter()
                .flat_map(|p| p.pins.iter())
                .filter(|p| p.node != GROUND)
                .map(|p| p.at)
                .collect();
            let clear = |at: &Point| {
                !bodies.iter().any(|b| b.meets(body(*at)) || b.contains(*at))
                    && !pins.iter().any(|p| body(*at).contains(*p) || p == at)
                    && !free
                        .iter()
                        .any(|area| area.meets(body(*at)) || area.contains(*at))
            };
            let at = signs.iter().find(|at| clear(at)).copied();
            let at = at.or_else(|| around(pin.at).into_iter().find(clear));
            let at = at.unwrap_or(signs[0]);
            let stand = Stand {
                at,
                turn: Way::Down,
                mirrored: false,
                length: 2,
            };
            self.put(Item::Ground, Symbol::Ground, stand, &[GROUND]);
        }
    }
}

/// Places around a pin, the nearest first, those below before those above.
fn around(at: Point) -> Vec<Point> {
    const FAR: i32 = 8;
    let offsets = (-FAR..=FAR).flat_map(|y| (-FAR..=FAR).map(move |x| (x, y)));
    let mut offsets: Vec<(i32, i32)> = offsets.filter(|offset| *offset != (0, 0)).collect();
    offsets.sort_by_key(|(x, y)| (x.abs() + y.abs(), -y, *x));
    let place = |(x, y)| Point::new(at.x + x, at.y + y);
    offsets.into_iter().map(place).collect()
}
