//! The way of a signal from one valve to the next: lying parts in a row, what hangs from their joints
//! in columns, and pots upright where the signal leaves by the wiper.

use super::board::{Board, room_aside, texts_along};
use super::links::{Link, Through, chain, ends, track};
use crate::circuit::{GROUND, NodeId, PartId};
use crate::drawing::sheet::{Item, Point, Way};
use crate::drawing::symbols::{LENGTH, POT, WIPER};
use std::collections::BTreeSet;

/// Free columns behind a pot on the way, for what stands across its halves.
const BESIDE_POT: i32 = 6;
/// From one column to the next.
pub(super) const COLUMN: i32 = 6;

/// Rows of a stage.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rows {
    /// While a wiper is still to come.
    pub before: i32,
    /// After it: the row of the grid.
    pub grid: i32,
    /// The way legs hang.
    pub legs: Way,
}

impl Board<'_> {
    /// Keeps the columns under the pots of a way free of other use.
    pub fn find_feet(&mut self, way: &[Link]) {
        for link in way {
            let Some([from, to, wiper]) = track(self.kind(link.part)) else {
                continue;
            };
            if link.through == Through::Whole {
                continue;
            }
            let other = if link.from == wiper {
                link.to
            } else {
                link.from
            };
            let foot = if other == from { to } else { from };
            self.feet_nodes.insert(foot);
            if self.is_fixed(foot) || self.spine.contains(&foot) {
                continue;
            }
            let found = chain(
                self.circuit,
                foot,
                &|part| self.is_free_part(part) && part != link.part,
                &|node| !self.is_fixed(node) && !self.spine.contains(&node),
                &|node| self.is_fixed(node),
            );
            let found = found.unwrap_or_default();
            self.spine.insert(foot);
            for link in &found {
                self.kept.insert(link.part);
                let wiper = track(self.kind(link.part)).map(|t| t[2]);
                for node in [Some(link.to), wiper].into_iter().flatten() {
                    if !self.is_fixed(node) {
                        self.feet_nodes.insert(node);
                        self.spine.insert(node);
                    }
                }
            }
            self.feet.insert(link.part, found);
        }
    }

    /// Lays a way of parts from a column on; gives the first free column behind it.
    pub fn lay(&mut self, start: NodeId, way: &[Link], x: i32, rows: Rows) -> i32 {
        let later = |i: usize| way[i..].iter().any(|link| link.through != Through::Whole);
        let mut x = x;
        let mut row = if later(0) { rows.before } else { rows.grid };
        let mut node = start;
        for (i, link) in way.iter().enumerate() {
            x = self.hang_all(node, Point::new(x, row), rows.legs, &|_| false);
            x = self.heads(node, &way[i..], Point::new(x, row));
            if link.through == Through::Whole {
                let length = self.length(link.part);
                let at = self.open_lying(Point::new(x, row), length);
                self.put_along(link.part, at, Way::Right, link.from, length, false);
                x = at.x + length + 2;
            } else {
                let at = self.open_pot(*link, Point::new(x, row));
                let after = self.put_links(&[*link], at, Way::Right);
                x = self.under(link.part).max(after.x + BESIDE_POT);
            }
            node = link.to;
            row = if later(i + 1) && link.through == Through::Whole {
                rows.before
            } else {
                rows.grid
            };
        }
        self.hang_all(node, Point::new(x, row), rows.legs, &|_| false)
    }

    /// The first column from a place on where a lying part has room.
    fn open_lying(&self, at: Point, length: i32) -> Point {
        let mut at = at;
        while !self.is_open(texts_along(at, Way::Right, length, 0)) && at.x < 10_000 {
            at.x += 1;
        }
        at
    }

    fn open_pot(&self, link: Link, at: Point) -> Point {
        let mut at = at;
        let wiper = track(self.kind(link.part)).map(|t| t[2]);
        let up = if Some(link.from) == wiper { POT / 2 } else { 0 };
        loop {
            let top = Point::new(at.x, at.y - up);
            let area = texts_along(top, Way::Down, POT, 2);
            if self.is_open(area) || at.x > 10_000 {
                return at;
            }
            at.x += 1;
        }
    }

    /// Puts what hangs from a pot's foot under it; gives the first free column.
    fn under(&mut self, pot: PartId) -> i32 {
        let Some(placed) = self.placed.iter().find(|p| p.item == Item::Part(pot)) else {
            return 0;
        };
        let lowest = placed.pins[..2].iter().max_by_key(|pin| pin.at.y);
        let Some(foot) = lowest.copied() else {
            return 0;
        };
        let mut right = foot.at.x + WIPER + 4;
        let track_pins: Vec<(NodeId, Point)> =
            placed.pins.iter().map(|pin| (pin.node, pin.at)).collect();
        right = right.max(self.across(&track_pins, foot.at.x + WIPER + 3));
        if let Some(links) = self.feet.get(&pot).cloned() {
            let whole: Vec<Link> = links
                .iter()
                .map(|link| Link {
                    through: Through::Whole,
                    ..*link
                })
                .take_while(|link| self.whole_fits(link))
                .collect();
            for link in &whole {
                self.kept.remove(&link.part);
            }
            // Wipers at the left: what feeds them comes from there.
            let mut at = foot.at;
            for link in &whole {
                let length = self.length(link.part);
                let aside = track(self.kind(link.part)).is_some();
                at = self.put_along(link.part, at, Way::Down, link.from, length, aside);
            }
            let column = self.column(&whole, foot.at);
            right = right.max(self.across(&column, foot.at.x + WIPER + 3));
        }
        right
    }

    /// Whether a link is one from end to end of its part.
    fn whole_fits(&self, link: &Link) -> bool {
        ends(self.kind(link.part))
            .or_else(|| track(self.kind(link.part)).map(|[from, to, _]| [from, to]))
            .is_some_and(|ends| ends.contains(&link.from) && ends.contains(&link.to))
    }

    /// Nodes of a column of parts, with the places of their pins.
    fn column(&self, links: &[Link], at: Point) -> Vec<(NodeId, Point)> {
        let mut nodes = Vec::new();
        if let Some(first) = links.first() {
            nodes.push((first.from, at));
        }
        for link in links {
            let placed = self.placed.iter().find(|p| p.item == Item::Part(link.part));
            for pin in placed.iter().flat_map(|p| &p.pins) {
                if !nodes.iter().any(|(node, _)| *node == pin.node) {
                    nodes.push((pin.node, pin.at));
                }
            }
        }
        nodes
    }

    /// Puts open parts beside a column that join two of its nodes; gives the first free column.
    pub fn across(&mut self, nodes: &[(NodeId, Point)], x: i32) -> i32 {
        let mut right = x;
        let place_of = |node: NodeId| nodes.iter().find(|(n, _)| *n == node).map(|(_, at)| *at);
        for part in self.ranked() {
            let Some([a, b]) = ends(self.kind(part)) else {
                continue;
            };
            let (Some(from), Some(to)) = (place_of(a), place_of(b)) else {
                continue;
            };
            let length = (from.y - to.y).abs();
            if !self.is_free_part(part) || length < 4 || a == b {
                continue;
            }
            let (top, enters) = if from.y < to.y {
                (from.y, a)
            } else {
                (to.y, b)
            };
            let mut at = Point::new(x, top);
            while !self.is_open(texts_along(at, Way::Down, length, 0)) && at.x < x + 40 {
                at.x += 1;
            }
            self.put_along(part, at, Way::Down, enters, length, false);
            right = right.max(at.x + COLUMN);
        }
        right
    }

    /// Hangs every leg of a node, each in a column of its own, and what branches off them; gives the
    /// first free column. A leg ends at a node that holds still, or where `ends_at` says so.
    pub fn hang_all(
        &mut self,
        node: NodeId,
        at: Point,
        way: Way,
        ends_at: &dyn Fn(NodeId) -> bool,
    ) -> i32 {
        let mut x = at.x;
        if self.is_fixed(node) {
            return x;
        }
        while let Some(leg) = chain(
            self.circuit,
            node,
            &|part| self.is_free_part(part),
            &|node| {
                !self.is_fixed(node) && !self.spine.contains(&node) && self.pins_of(node).is_empty()
            },
            &|node| self.is_fixed(node) || ends_at(node),
        ) {
            let whole: Vec<Link> = leg
                .iter()
                .take_while(|link| self.whole_fits(link))
                .copied()
                .collect();
            if whole.is_empty() {
                return self.hang_pot(leg[0], Point::new(x, at.y));
            }
            let last = whole[whole.len() - 1].to;
            let rises = self.topology.rail(last).is_some();
            let towards = match () {
                () if rises => Way::Up,
                () if self.is_bias(last) => self.toward_bias,
                () => way,
            };
            let mut top = Point::new(x, at.y);
            while top.x < x + 200 && !self.leg_open(&whole, top, towards) {
                top.x += 1;
            }
            self.put_links(&whole, top, towards);
            let column = self.column(&whole, top);
            let wide = whole.iter().map(|l| room_aside(self.kind(l.part))).max();
            x = top.x + COLUMN + wide.unwrap_or(0);
            let beside = if whole.iter().any(|l| track(self.kind(l.part)).is_some()) {
                top.x + WIPER + 3
            } else {
                top.x + COLUMN
            };
            if self.has_across(&column) {
                x = x.max(self.across(&column, beside));
            }
            for (inner, place) in column.iter().skip(1) {
                if !self.is_fixed(*inner) && !self.spine.contains(inner) {
                    self.spine.insert(*inner);
                    x = self.hang_all(*inner, Point::new(x, place.y), way, ends_at);
                }
            }
        }
        x
    }

    fn leg_open(&self, leg: &[Link], at: Point, way: Way) -> bool {
        self.ground_along(leg, at, way)
            .into_iter()
            .all(|area| self.is_open(area))
    }

    fn has_across(&self, nodes: &[(NodeId, Point)]) -> bool {
        let known = |node: NodeId| nodes.iter().any(|(n, _)| *n == node);
        (0..self.done.len()).any(|i| {
            let part = PartId(i as u16);
            self.is_free_part(part)
                && ends(self.kind(part)).is_some_and(|[a, b]| a != b && known(a) && known(b))
        })
    }

    /// A leg that begins at a wiper: the pot stands upright at its right.
    fn hang_pot(&mut self, link: Link, at: Point) -> i32 {
        let at = self.open_pot(link, at);
        let wiper = track(self.kind(link.part)).map(|t| t[2]);
        self.put_links(&[link], at, Way::Down);
        let pins: Vec<(NodeId, Point)> = self
            .placed
            .last()
            .map(|p| p.pins.iter().map(|pin| (pin.node, pin.at)).collect())
            .unwrap_or_default();
        let mut x = at.x + WIPER + COLUMN + 1;
        for (node, place) in pins {
            if Some(node) != wiper && node != GROUND && !self.spine.contains(&node) {
                self.spine.insert(node);
                x = self.hang_all(node, Point::new(x, place.y), Way::Down, &|_| false);
            }
        }
        x
    }

    /// Puts upright, at a node of the way, the first part of each chain that leads over a joint of its
    /// own to a later node of the way.
    fn heads(&mut self, node: NodeId, ahead: &[Link], at: Point) -> i32 {
        let later: BTreeSet<NodeId> = ahead
            .iter()
            .map(|link| link.to)
            .chain(self.feet_nodes.iter().copied())
            .collect();
        let mut at = at;
        loop {
            let found = chain(
                self.circuit,
                node,
                &|part| self.is_free_part(part),
                &|n| !self.is_fixed(n) && !self.spine.contains(&n) && self.pins_of(n).is_empty(),
                &|n| later.contains(&n) && n != GROUND,
            );
            let Some(links) = found else { return at.x };
            if links.len() < 2 || !self.whole_fits(&links[0]) {
                return at.x;
            }
            let length = LENGTH.max(self.length(links[0].part));
            while !self.is_open(texts_along(at, Way::Down, length, 0)) && at.x < 10_000 {
                at.x += 1;
            }
            self.put_links(&links[..1], at, Way::Down);
            at.x += COLUMN;
        }
    }
}
