//! The high tension along the top: one line, the supply at its right, feeds in line, capacitors below.

use super::board::Board;
use super::links::{Link, chain};
use super::spine::COLUMN;
use super::valves::{RAIL, way};
use crate::circuit::{GROUND, NodeId, PartId, PartKind};
use crate::drawing::sheet::{Area, Item, Point, Symbol, Way, Wire};
use crate::drawing::symbols::{LENGTH, Stand};

/// A column before which more room is wanted, and how much.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Gap {
    pub before: i32,
    pub units: i32,
}

impl Board<'_> {
    /// Lays the rails above what is placed. Gives the room that was missing, if any: then the sheet is
    /// to be laid out again with it.
    pub fn rails(&mut self, row: i32) -> Vec<Gap> {
        let topology = self.topology;
        let main = self.main_chain();
        let wired = self.wired(&main);
        let mut gaps = Vec::new();
        let mut x = i32::MIN;
        for (k, &rail) in main.iter().enumerate().rev() {
            let node = topology.rails[rail].node;
            let own: Vec<i32> = wired
                .iter()
                .filter(|(_, place)| *place == k)
                .map(|(x, _)| *x)
                .collect();
            let low = own.iter().min().copied();
            if let Some(low) = low
                && x > i32::MIN
                && low < x
            {
                gaps.push(Gap {
                    before: low,
                    units: x - low,
                });
            }
            let start = match (low, x) {
                (Some(low), i32::MIN) => low,
                (_, i32::MIN) => 0,
                (_, x) => x,
            };
            let start = low.map_or(start, |low| start.min(low).max(x.min(low)));
            let high = own.iter().max().copied().unwrap_or(start).max(start);
            let end = self.hang_rail(node, start, high, row);
            let end = end.max(high + 1);
            self.first.push(Wire {
                node,
                points: vec![Point::new(start, row), Point::new(end, row)],
            });
            x = self.feed(rail, end, row);
        }
        let mut x = x.max(0) + 8;
        for rail in 0..topology.rails.len() {
            if !main.contains(&rail) {
                x = self.side_rail(rail, x, row);
            }
        }
        self.flag_consumers(&main, &wired);
        gaps
    }

    /// Rails from the supply on along which most stands.
    fn main_chain(&self) -> Vec<usize> {
        let rails = &self.topology.rails;
        let load = |rail: usize| self.consumers(rails[rail].node).len();
        let chain_of = |mut rail: usize| {
            let mut chain = vec![rail];
            while let Some(from) = rails[rail].from {
                if chain.contains(&from) {
                    break;
                }
                chain.push(from);
                rail = from;
            }
            chain.reverse();
            chain
        };
        (0..rails.len())
            .map(chain_of)
            .max_by_key(|chain| {
                let fed: usize = chain.iter().map(|rail| load(*rail)).sum();
                (fed, chain.len(), std::cmp::Reverse(chain.clone()))
            })
            .unwrap_or_default()
    }

    /// Places of pins at a rail.
    fn consumers(&self, node: NodeId) -> Vec<Point> {
        let mut pins = self.pins_of(node);
        pins.sort();
        pins
    }

    /// Columns of consumers with their place in the chain that can be wired straight: the longest
    /// series that falls from left to right.
    fn wired(&self, main: &[usize]) -> Vec<(i32, usize)> {
        let mut all: Vec<(i32, usize)> = Vec::new();
        for (k, rail) in main.iter().enumerate() {
            for at in self.consumers(self.topology.rails[*rail].node) {
                all.push((at.x, k));
            }
        }
        all.sort_by_key(|(x, k)| (*x, std::cmp::Reverse(*k)));
        let mut best: Vec<(usize, Option<usize>)> = Vec::new();
        for (i, (_, k)) in all.iter().enumerate() {
            let before = (0..i)
                .filter(|j| all[*j].1 >= *k)
                .max_by_key(|j| (best[*j].0, *j));
            best.push((before.map_or(1, |j| best[j].0 + 1), before));
        }
        let mut at = (0..all.len()).max_by_key(|i| best[*i].0);
        let mut wired = Vec::new();
        while let Some(i) = at {
            wired.push(all[i]);
            at = best[i].1;
        }
        wired.reverse();
        wired
    }

    /// Hangs capacitors and bleeders of a rail in the first free columns; gives where the line must
    /// reach to.
    fn hang_rail(&mut self, node: NodeId, from: i32, high: i32, row: i32) -> i32 {
        let mut end = high;
        let mut x = from;
        while let Some(leg) = self.rail_leg(node) {
            let mut at = Point::new(x, row);
            while !self
                .ground_along(&leg, at, Way::Down)
                .into_iter()
                .all(|area| self.is_open(area))
                && at.x < from + 10_000
            {
                at.x += 1;
            }
            for link in &leg {
                self.kept.remove(&link.part);
            }
            self.put_links(&leg, at, Way::Down);
            let inner: Vec<(NodeId, Point)> = std::iter::once((node, at))
                .chain(leg.iter().scan(at, |at, link| {
                    at.y += self.length(link.part);
                    Some((link.to, *at))
                }))
                .collect();
            if inner.len() > 2 {
                x = self.across(&inner, at.x + COLUMN);
            }
            x = x.max(at.x + COLUMN);
            end = end.max(at.x);
        }
        end
    }

    /// A chain from a rail to ground that belongs to no valve.
    fn rail_leg(&self, node: NodeId) -> Option<Vec<Link>> {
        use crate::circuit::topology::Role;
        let own = |part: PartId| {
            !self.is_done(part)
                && (self.is_free_part(part)
                    || matches!(
                        self.topology.of(part).role,
                        Role::Reservoir | Role::Decoupling | Role::Bleeder
                    ))
        };
        chain(
            self.circuit,
            node,
            &own,
            &|n| !self.is_fixed(n) && !self.spine.contains(&n) && self.pins_of(n).is_empty(),
            &|n| n == GROUND,
        )
    }

    /// Puts what feeds a rail at the right end of its line; gives where the next line begins.
    fn feed(&mut self, rail: usize, x: i32, row: i32) -> i32 {
        let rail = &self.topology.rails[rail];
        let mut at = Point::new(x + 1, row);
        let (node, feed) = (rail.node, rail.feed.clone());
        let links = way(self, node, &feed.iter().rev().copied().collect::<Vec<_>>());
        if rail.from.is_some() && !links.is_empty() {
            let area = |at: Point| Area {
                from: Point::new(at.x, at.y - 2),
                to: Point::new(at.x + LENGTH * links.len() as i32, at.y + 2),
            };
            while !self.is_open(area(at)) && at.x < x + 200 {
                at.x += 1;
            }
            for link in &links {
                self.kept.remove(&link.part);
                let done = self.is_done(link.part);
                if !done {
                    let length = self.length(link.part);
                    at = self.put_along(link.part, at, Way::Right, link.from, length, false);
                }
            }
            return at.x + 1;
        }
        for part in feed {
            at = self.source(part, at);
        }
        at.x
    }

    /// A supply or a rectifier at the end of a line.
    fn source(&mut self, part: PartId, at: Point) -> Point {
        if self.is_done(part) {
            return at;
        }
        let mut at = at;
        match *self.kind(part) {
            PartKind::Supply { node, .. } | PartKind::BiasSupply { node, .. } => {
                let stand = |at: Point| Stand {
                    at,
                    turn: Way::Right,
                    mirrored: false,
                    length: 2,
                };
                at.x += 3;
                self.put(Item::Part(part), Symbol::Supply, stand(at), &[node]);
                at.on(Way::Right, 8)
            }
            PartKind::Rectifier { to, from, .. } => {
                at.x += 6;
                let place = |at: Point| Area {
                    from: Point::new(at.x - 4, at.y + 1),
                    to: Point::new(at.x + 4, at.y + 12),
                };
                while !self.is_open(place(at)) && at.x < 10_000 {
                    at.x += 1;
                }
                let stand = Stand {
                    at: at.on(Way::Down, 2),
                    turn: Way::Down,
                    mirrored: false,
                    length: 8,
                };
                self.put(Item::Part(part), Symbol::Rectifier, stand, &[to, from]);
                at.on(Way::Right, 8)
            }
            _ => at,
        }
    }

    /// A rail beside the main line: from its flag over its feed to a flag of its own.
    fn side_rail(&mut self, rail: usize, x: i32, row: i32) -> i32 {
        let (node, from) = {
            let rail = &self.topology.rails[rail];
            (rail.node, rail.from)
        };
        let start = x;
        self.flag(node, Point::new(x, row), Way::Left);
        let end = self.hang_rail(node, x + 1, x + 1, row) + 1;
        self.first.push(Wire {
            node,
            points: vec![Point::new(start, row), Point::new(end, row)],
        });
        let x = self.feed(rail, end, row);
        if let Some(from) = from {
            let node = self.topology.rails[from].node;
            self.flag(node, Point::new(x, row), Way::Right);
            return x + 14;
        }
        x + 14
    }

    pub fn flag(&mut self, node: NodeId, at: Point, turn: Way) {
        let stand = Stand {
            at,
            turn,
            mirrored: false,
            length: 2,
        };
        self.put(Item::Flag(node), Symbol::Flag, stand, &[node]);
    }

    /// Gives every consumer that is not on the line the name of its rail.
    fn flag_consumers(&mut self, main: &[usize], wired: &[(i32, usize)]) {
        for rail in 0..self.topology.rails.len() {
            let node = self.topology.rails[rail].node;
            let place = main.iter().position(|r| *r == rail);
            let pins: Vec<_> = self
                .placed
                .iter()
                .filter(|p| match p.item {
                    Item::Part(part) => !self.topology.rails[rail].feed.contains(&part),
                    _ => false,
                })
                .flat_map(|p| p.pins.clone())
                .filter(|pin| pin.node == node)
                .collect();
            for pin in pins {
                let on_line = pin.at.y <= RAIL.max(pin.at.y.min(RAIL))
                    || self.on_line(node, pin.at)
                    || place.is_some_and(|k| wired.contains(&(pin.at.x, k)));
                if !on_line && (place.is_none() || !wired.contains(&(pin.at.x, place.unwrap_or(0))))
                {
                    self.flag(node, pin.at, pin.leaves);
                }
            }
        }
    }

    /// Whether a place lies on a line that is wanted for its node.
    fn on_line(&self, node: NodeId, at: Point) -> bool {
        self.first
            .iter()
            .any(|wire| wire.node == node && Area::around(&wire.points).contains(at))
    }
}
