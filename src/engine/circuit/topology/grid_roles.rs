//! Roles of what stands at a grid: stopper, leak, divider, and what mixes signals before it.

use super::feedback::chain_nodes;
use super::graph::{ends, is_ground, track};
use super::roles::Roles;
use super::types::{Role, Section};
use crate::circuit::{NodeId, PartId, PartKind};

impl Roles<'_> {
    pub(super) fn grid(&mut self, i: usize) {
        let section = &self.sections[i];
        let at_grid: Vec<PartId> = self
            .graph
            .at(section.grid)
            .into_iter()
            .filter(|part| *part != section.part)
            .collect();
        let mut entry = section.grid;
        let resistors: Vec<PartId> = at_grid
            .iter()
            .filter(|p| matches!(self.graph.kind(**p), PartKind::Resistor { .. }))
            .copied()
            .collect();
        let last = section.spine.last().copied();
        if at_grid.len() == 1
            && let [stopper] = resistors[..]
            && let Some([a, b]) = ends(self.graph.kind(stopper))
        {
            let far = if a == section.grid { b } else { a };
            if !self.ground.is_fixed(far) {
                self.set(stopper, Role::GridStopper, Some(section.part));
                entry = far;
            }
        } else if let Some(last) = last
            && resistors.contains(&last)
            && at_grid
                .iter()
                .all(|p| *p == last || matches!(self.graph.kind(*p), PartKind::Capacitor { .. }))
        {
            self.set(last, Role::GridStopper, Some(section.part));
        }
        self.leaks(i, entry);
        if entry != section.grid {
            self.leaks(i, section.grid);
        }
    }

    fn leaks(&mut self, i: usize, entry: NodeId) {
        let section = &self.sections[i];
        if self.ground.is_fixed(entry) {
            return;
        }
        let own = chain_nodes(self.graph, section);
        let before = self.before(section, entry);
        let divided = before.is_some_and(|part| {
            matches!(self.graph.kind(part), PartKind::Resistor { .. })
                && self.found[part.0 as usize].0 != Role::GridStopper
        });
        let input = entry == self.graph.circuit.input();
        for edge in self.graph.edges(entry).to_vec() {
            if !matches!(self.graph.kind(edge.part), PartKind::Resistor { .. })
                || !self.is_open(edge.part)
                || section.spine.contains(&edge.part)
            {
                continue;
            }
            let held = is_ground(edge.to) || self.ground.bias.contains(&edge.to);
            if held || own.contains(&edge.to) {
                let role = match () {
                    () if input => Role::InputLoad,
                    () if divided && is_ground(edge.to) => Role::DividerLower,
                    () => Role::GridLeak,
                };
                self.set(edge.part, role, Some(section.part));
                if role == Role::DividerLower
                    && let Some(upper) = before
                {
                    self.set(upper, Role::DividerUpper, Some(section.part));
                }
            }
        }
    }

    /// The part of the way to a grid that arrives at a node.
    fn before(&self, section: &Section, entry: NodeId) -> Option<PartId> {
        let mut node = section.driven_from?;
        for part in &section.spine {
            let kind = self.graph.kind(*part);
            let to = match (ends(kind), track(kind)) {
                (Some([a, b]), _) => {
                    if a == node {
                        b
                    } else {
                        a
                    }
                }
                (_, Some([from, _, wiper])) => {
                    if node == wiper {
                        from
                    } else {
                        wiper
                    }
                }
                _ => return None,
            };
            if to == entry {
                return Some(*part);
            }
            node = to;
        }
        None
    }

    /// A grid that is held from a rail over a divider, with its capacitor.
    pub(super) fn held_grids(&mut self) {
        for section in self.sections {
            let edges = self.graph.edges(section.grid).to_vec();
            let resistor =
                |part: PartId| matches!(self.graph.kind(part), PartKind::Resistor { .. });
            let fed = edges
                .iter()
                .any(|edge| self.ground.is_rail(edge.to) && resistor(edge.part));
            if !fed || section.grid == self.graph.circuit.input() {
                continue;
            }
            for edge in edges {
                let role = match () {
                    () if self.ground.is_rail(edge.to) && resistor(edge.part) => Role::DividerUpper,
                    () if is_ground(edge.to) && resistor(edge.part) => Role::DividerLower,
                    () if is_ground(edge.to) && !edge.direct => Role::Decoupling,
                    () => continue,
                };
                self.set(edge.part, role, Some(section.part));
            }
        }
    }

    /// Resistors from two sources or more that meet on the way to a grid.
    pub(super) fn mixers(&mut self) {
        let nodes = 0..self.graph.circuit.nodes().len();
        let mut nodes: Vec<NodeId> = nodes.map(|i| NodeId(i as u16)).collect();
        nodes.sort_by_key(|node| self.graph.rank(*node));
        for node in nodes {
            if self.ground.is_fixed(node)
                || node == self.graph.circuit.input()
                || self.sections.iter().any(|s| s.anode == node)
            {
                continue;
            }
            let edges = self.graph.edges(node).iter();
            let open = edges.filter(|edge| {
                matches!(self.graph.kind(edge.part), PartKind::Resistor { .. })
                    && self.is_open(edge.part)
                    && !self.ground.is_fixed(edge.to)
            });
            let from: Vec<(PartId, NodeId)> = open
                .filter_map(|edge| Some((edge.part, self.source_of(edge.to, node)?)))
                .collect();
            let different = from.iter().any(|(_, source)| *source != from[0].1);
            if different {
                for (part, _) in from {
                    let valve = self.sections.iter().find(|s| s.spine.contains(&part));
                    self.set(part, Role::DividerUpper, valve.map(|s| s.part));
                }
            }
        }
    }

    /// The anode or cathode that drives a node, not over another one.
    fn source_of(&self, node: NodeId, but: NodeId) -> Option<NodeId> {
        let output = |n: NodeId| self.sections.iter().any(|s| s.outputs.contains(&n));
        let best = self.graph.reach(node, &|edge| edge.to != but, &|n| {
            n != but && !self.ground.is_fixed(n) && !output(n)
        });
        let reached = best.iter().filter(|(n, _)| output(**n));
        let nearest = reached.min_by_key(|(n, (cost, _))| (*cost, self.graph.rank(**n)));
        nearest.map(|(n, _)| *n)
    }
}
