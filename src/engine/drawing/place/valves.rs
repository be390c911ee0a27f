//! The valves before the output stage, each with what stands above its anode and below its cathode.

use super::board::Board;
use super::links::{Link, Through, ends, track};
use super::spine::{COLUMN, Rows};
use crate::circuit::topology::{InverterKind, Role, Section, StageKind};
use crate::circuit::{NodeId, PartId};
use crate::drawing::sheet::{Point, Way};
use crate::drawing::symbols::{GRID, VALVE};

/// The row of the rails.
pub(super) const RAIL: i32 = -7;
/// The row of anodes.
pub(super) const ANODE: i32 = 8;
/// The row of grids.
pub(super) const GRIDS: i32 = 12;
/// From the second half of a pair to the first.
const PAIR: i32 = 14;

/// Lowered by `down`, the rows of a stage.
fn rows(down: i32) -> Rows {
    Rows {
        before: ANODE + down,
        grid: GRIDS + down,
        legs: Way::Down,
    }
}

/// The parts of a way as links.
pub(super) fn way(board: &Board<'_>, start: NodeId, parts: &[PartId]) -> Vec<Link> {
    let mut node = start;
    let mut links = Vec::new();
    for (i, part) in parts.iter().enumerate() {
        let kind = board.kind(*part);
        let next = |node: NodeId| {
            parts.get(i + 1).is_none_or(|next| {
                let kind = board.kind(*next);
                ends(kind).is_some_and(|e| e.contains(&node))
                    || track(kind).is_some_and(|t| t.contains(&node))
            })
        };
        let link = if let Some([a, b]) = ends(kind) {
            let to = if a == node { b } else { a };
            Some((to, Through::Whole))
        } else if let Some([from, to, wiper]) = track(kind) {
            let ways = [
                (wiper, from, Through::Upper),
                (wiper, to, Through::Lower),
                (from, to, Through::Whole),
            ];
            ways.into_iter().find_map(|(a, b, through)| {
                if a == node && next(b) {
                    Some((b, through))
                } else if b == node && next(a) {
                    Some((a, through))
                } else {
                    None
                }
            })
        } else {
            None
        };
        let Some((to, through)) = link else {
            return links;
        };
        links.push(Link {
            part: *part,
            from: node,
            to,
            through,
        });
        node = to;
    }
    links
}

impl Board<'_> {
    /// Keeps what belongs to valves, rails, bias and feedback from being hung elsewhere.
    pub fn reserve(&mut self) {
        let topology = self.topology;
        for section in &topology.sections {
            for part in section
                .anode_chain
                .iter()
                .chain(&section.cathode_chain)
                .chain(&section.spine)
            {
                self.kept.insert(*part);
            }
            for node in [section.anode, section.grid, section.cathode]
                .into_iter()
                .chain(section.screen)
            {
                self.spine.insert(node);
            }
            if let Some(start) = section.driven_from {
                for link in way(self, start, &section.spine) {
                    self.spine.insert(link.from);
                    self.spine.insert(link.to);
                }
            }
            let cathode = way(self, section.cathode, &section.cathode_chain);
            self.spine.extend(cathode.iter().map(|link| link.to));
        }
        for (i, part) in topology.parts.iter().enumerate() {
            if matches!(
                part.role,
                Role::Supply
                    | Role::Reservoir
                    | Role::RailFeed
                    | Role::Decoupling
                    | Role::Bleeder
                    | Role::BiasSupply
                    | Role::BiasFeed
                    | Role::BiasLoad
                    | Role::BiasDecoupling
                    | Role::ScreenStopper
                    | Role::ScreenFeed
                    | Role::OutputTransformer
                    | Role::Loudspeaker
            ) {
                self.kept.insert(PartId(i as u16));
            }
        }
        for path in &topology.feedback {
            self.kept.extend(path.path.iter().chain(&path.presence));
            for link in way(self, path.from, &path.path) {
                self.spine.insert(link.from);
                self.spine.insert(link.to);
            }
        }
        self.spine.retain(|node| *node != crate::circuit::GROUND);
        for section in &topology.sections {
            if let Some(start) = section.driven_from {
                self.find_feet(&way(self, start, &section.spine));
            }
        }
    }

    /// Lays what leads to a section's grid, as far as it is not there yet; gives the first free column.
    pub fn spine_of(&mut self, section: &Section, x: i32, rows: Rows) -> i32 {
        let start = section.driven_from.unwrap_or(section.grid);
        let mut links = way(self, start, &section.spine);
        let fresh = links.iter().rposition(|link| self.is_done(link.part));
        links.drain(..fresh.map_or(0, |i| i + 1));
        let start = links.first().map_or(section.grid, |link| link.from);
        self.lay(start, &links, x, rows)
    }

    /// A valve before the output stage, from a column on; gives the first free column behind it.
    pub fn stage(&mut self, section: &Section, x: i32, down: i32) -> i32 {
        let end = self.spine_of(section, x, rows(down));
        let cathodyne = self.is(section, InverterKind::Cathodyne);
        let axis = self.room_for_valve(section, end + GRID, down);
        let anode = Point::new(axis, ANODE + down);
        self.put_valve(section.part, anode, false, false);
        self.anode_load(section, anode);
        self.cathode_chain(section, Point::new(axis, anode.y + VALVE));
        let right = axis + if cathodyne { COLUMN + 2 } else { COLUMN };
        self.cathode_side(section, right)
    }

    /// A long-tailed pair: the driven half, the tail, and the other half turned over.
    pub fn pair(&mut self, driven: &Section, other: &Section, x: i32, down: i32) -> i32 {
        let end = self.spine_of(driven, x, rows(down));
        let inner = self.chain_nodes(driven);
        let end = self.hang_all(
            driven.grid,
            Point::new(end, GRIDS + down),
            Way::Down,
            &|n| inner.contains(&n),
        );
        let axis = self.room_for_valve(driven, end + GRID, down);
        let left = Point::new(axis, ANODE + down);
        let right = Point::new(axis + PAIR, ANODE + down);
        self.put_valve(driven.part, left, false, false);
        self.put_valve(other.part, right, false, true);
        self.anode_load(driven, left);
        self.anode_load(other, right);
        let foot = ANODE + down + VALVE;
        let own = |section: &Section, against: &Section| -> Vec<PartId> {
            let shared = |part: &&PartId| !against.cathode_chain.contains(part);
            section
                .cathode_chain
                .iter()
                .take_while(shared)
                .copied()
                .collect()
        };
        let mut y = foot + 2;
        for (section, at, against) in [(driven, left, other), (other, right, driven)] {
            let parts = own(section, against);
            let links = way(self, section.cathode, &parts);
            let end = self.put_links(&links, Point::new(at.x, foot + 1), Way::Down);
            if !links.is_empty() {
                y = y.max(end.y + 2);
            }
        }
        let common: Vec<PartId> = driven
            .cathode_chain
            .iter()
            .filter(|part| other.cathode_chain.contains(part))
            .copied()
            .collect();
        let from = way(self, driven.cathode, &driven.cathode_chain)
            .iter()
            .find(|link| common.first() == Some(&link.part))
            .map_or(driven.cathode, |link| link.from);
        let tail = Point::new(axis + PAIR / 2, y);
        let column = self.put_column(from, &common, tail);
        self.across(&column, tail.x + COLUMN);
        let outer = self.chain_nodes(other);
        let x = right.x + GRID + 2;
        let x = self.hang_all(other.grid, Point::new(x, GRIDS + down), Way::Down, &|n| {
            outer.contains(&n)
        });
        x + 2
    }

    /// Whether a section belongs to an inverter of a kind.
    pub fn is(&self, section: &Section, kind: InverterKind) -> bool {
        let stage = self.topology.of(section.part).stage;
        self.topology.stages[stage].kind == StageKind::Inverter(kind)
    }

    /// The nodes of a section's cathode chain.
    fn chain_nodes(&self, section: &Section) -> Vec<NodeId> {
        let links = way(self, section.cathode, &section.cathode_chain);
        links.iter().map(|link| link.to).collect()
    }

    /// The first column from `axis` on where a valve and its cathode parts have room.
    fn room_for_valve(&self, section: &Section, axis: i32, down: i32) -> i32 {
        let mut axis = axis;
        let links = way(self, section.cathode, &section.cathode_chain);
        loop {
            let at = Point::new(axis, ANODE + down + VALVE + 1);
            let below = self.ground_along(&links, at, Way::Down);
            let valve = crate::drawing::sheet::Area {
                from: Point::new(axis - GRID, ANODE + down),
                to: Point::new(axis + 4, ANODE + down + VALVE),
            };
            let open = self.is_open(valve) && below.into_iter().all(|area| self.is_open(area));
            if open || axis > 10_000 {
                return axis;
            }
            axis += 1;
        }
    }

    /// What stands between an anode and its rail, upwards.
    pub fn anode_load(&mut self, section: &Section, anode: Point) {
        let links = way(self, section.anode, &section.anode_chain);
        let fresh: Vec<Link> = links
            .into_iter()
            .filter(|link| !self.is_done(link.part))
            .collect();
        if fresh.is_empty() {
            return;
        }
        let tall: i32 = fresh.iter().map(|link| self.length(link.part)).sum();
        let room = anode.y - RAIL - 2;
        let at = Point::new(
            anode.x,
            (anode.y - ((room - tall).max(0) / 2 + 1)).max(RAIL + 1),
        );
        for link in &fresh {
            self.kept.remove(&link.part);
        }
        let bottom = Point::new(at.x, at.y.min(anode.y - 1));
        let top = self.put_links(&fresh, bottom, Way::Up);
        let mut nodes = vec![(section.anode, bottom)];
        nodes.extend(fresh.last().map(|link| (link.to, top)));
        self.across(&nodes, anode.x + COLUMN);
    }

    /// What stands between a cathode and ground, downwards, and what stands across it.
    pub fn cathode_chain(&mut self, section: &Section, cathode: Point) {
        let at = Point::new(cathode.x, cathode.y + 1);
        let column = self.put_column(section.cathode, &section.cathode_chain, at);
        self.across(&column, at.x + COLUMN);
    }

    fn put_column(&mut self, node: NodeId, parts: &[PartId], at: Point) -> Vec<(NodeId, Point)> {
        let open: Vec<PartId> = parts
            .iter()
            .filter(|part| !self.is_done(**part))
            .copied()
            .collect();
        let links = way(self, node, &open);
        for link in &links {
            self.kept.remove(&link.part);
        }
        self.put_links(&links, at, Way::Down);
        let mut nodes = vec![(node, at)];
        let mut y = at.y;
        for link in &links {
            y += self.length(link.part);
            nodes.push((link.to, Point::new(at.x, y)));
        }
        nodes
    }

    /// Legs of a cathode and of the joints below it, at its right.
    pub fn cathode_side(&mut self, section: &Section, x: i32) -> i32 {
        let mut right = x;
        let links = way(self, section.cathode, &section.cathode_chain);
        let nodes = std::iter::once(section.cathode).chain(links.iter().map(|link| link.to));
        for node in nodes.collect::<Vec<_>>() {
            if self.is_fixed(node) {
                continue;
            }
            let place = links.iter().find_map(|link| {
                if link.from == node {
                    self.pin_of(link.part, node)
                } else {
                    None
                }
            });
            if let Some(place) = place {
                let x = self.hang_all(node, Point::new(x, place.y), Way::Down, &|_| false);
                if x > place.x + COLUMN {
                    right = right.max(x - COLUMN);
                }
            }
        }
        right
    }
}
