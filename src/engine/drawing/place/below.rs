//! What runs below the stages: the bias supply in its corner, and the way back from the output.

use super::board::Board;
use super::links::chain;
use super::spine::Rows;
use super::valves::way;
use crate::circuit::topology::Role;
use crate::circuit::{NodeId, PartId, PartKind};
use crate::drawing::sheet::{Item, Point, Symbol, Way};
use crate::drawing::symbols::Stand;

impl Board<'_> {
    /// The lowest row taken between two columns.
    pub fn bottom(&self, from: i32, to: i32) -> i32 {
        let below = self
            .taken
            .iter()
            .filter(|area| area.from.x <= to && area.to.x >= from);
        below.map(|area| area.to.y).max().unwrap_or(0)
    }

    /// The bias supplies, from the node that the grids hang on to the source, below a column's stages.
    pub fn bias(&mut self, x: i32) {
        let role = |board: &Self, part: PartId| {
            matches!(
                board.topology.of(part).role,
                Role::BiasFeed | Role::BiasLoad | Role::BiasDecoupling
            )
        };
        for part in self.ranked() {
            let PartKind::BiasSupply { node: source, .. } = *self.kind(part) else {
                continue;
            };
            if self.is_done(part) {
                continue;
            }
            for i in 0..self.done.len() {
                let id = PartId(i as u16);
                if role(self, id) {
                    self.kept.remove(&id);
                }
            }
            let consumers: Vec<NodeId> = self
                .topology
                .bias
                .iter()
                .filter(|node| !self.pins_of(**node).is_empty())
                .copied()
                .collect();
            self.bias_open = true;
            let path = consumers
                .iter()
                .filter_map(|node| {
                    let found = chain(
                        self.circuit,
                        *node,
                        &|part| self.is_free_part(part) && role(self, part),
                        &|n| !self.is_fixed(n),
                        &|n| n == source,
                    );
                    found.map(|links| (*node, links))
                })
                .max_by_key(|(_, links)| links.len());
            let row = self.bottom(x, i32::MAX) + 5;
            let rows = Rows {
                before: row,
                grid: row,
                legs: Way::Down,
            };
            let (start, links) = path.unwrap_or((source, Vec::new()));
            for link in &links {
                self.spine.insert(link.from);
                self.spine.insert(link.to);
            }
            self.find_feet(&links);
            let end = self.lay(start, &links, x, rows);
            let at = Point::new(end + 1, row);
            let stand = Stand {
                at,
                turn: Way::Right,
                mirrored: false,
                length: 2,
            };
            self.put(Item::Part(part), Symbol::Supply, stand, &[source]);
            self.bias_open = false;
        }
    }

    /// The way back from the secondary, lowest of all.
    pub fn feedback(&mut self) {
        let topology = self.topology;
        for path in &topology.feedback {
            let open: Vec<PartId> = path
                .path
                .iter()
                .rev()
                .filter(|part| !self.is_done(**part))
                .copied()
                .collect();
            for part in path.path.iter().chain(&path.presence) {
                self.kept.remove(part);
            }
            let secondary = self.circuit.parts().iter().any(|part| match &part.kind {
                PartKind::OutputTransformer(t) => t.secondary.taps.contains(&path.from),
                _ => false,
            });
            if open.is_empty() || !secondary {
                continue;
            }
            let links = way(self, path.to, &open);
            let start = links.first().map_or(path.to, |link| link.from);
            let x = self.pins_of(start).iter().map(|at| at.x).max().unwrap_or(0) + 3;
            let row = self.bottom(x, i32::MAX) + 5;
            let rows = Rows {
                before: row,
                grid: row,
                legs: Way::Down,
            };
            self.find_feet(&links);
            self.lay(start, &links, x, rows);
        }
    }
}
