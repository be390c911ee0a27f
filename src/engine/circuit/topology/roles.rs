//! What each part is for, once rails, valves and feedback are known.

use super::feedback::chain_nodes;
use super::graph::{Graph, ends, is_ground, track};
use super::sections::Ground;
use super::types::{FeedbackPath, Role, Section};
use crate::circuit::{GROUND, NodeId, PartId, PartKind};
use std::collections::BTreeSet;

/// Whether two sections are the sides of one push-pull stage or inverter.
fn is_other_side(one: &Section, other: &Section) -> bool {
    let inverts = |s: &Section| matches!(s.role, Role::InverterDriven | Role::InverterOther);
    let output = |s: &Section| s.role == Role::OutputValve;
    (inverts(one) && inverts(other)) || (output(one) && output(other) && one.side != other.side)
}

/// Roles by part, with the valve that each serves.
pub(super) struct Roles<'a> {
    pub ground: &'a Ground<'a>,
    pub graph: &'a Graph<'a>,
    pub sections: &'a [Section],
    pub feedback: &'a [FeedbackPath],
    pub found: Vec<(Role, Option<PartId>)>,
}

impl Roles<'_> {
    pub(super) fn is_open(&self, part: PartId) -> bool {
        self.found[part.0 as usize].0 == Role::Unknown
    }

    pub(super) fn set(&mut self, part: PartId, role: Role, valve: Option<PartId>) {
        if self.is_open(part) {
            self.found[part.0 as usize] = (role, valve);
        }
    }

    /// Finds every role, the surest first.
    pub fn find(&mut self) {
        self.valves_and_sources();
        self.feedback_parts();
        self.rail_parts();
        self.bias_parts();
        for i in 0..self.sections.len() {
            self.cathode(i);
            self.anode(i);
            self.screen(i);
        }
        for i in 0..self.sections.len() {
            self.grid(i);
        }
        self.held_grids();
        self.paraphase();
        self.mixers();
        self.outputs();
        self.networks();
    }

    fn valves_and_sources(&mut self) {
        for section in self.sections {
            self.set(section.part, section.role, Some(section.part));
        }
        for part in self.graph.parts() {
            let role = match self.graph.kind(part) {
                PartKind::Supply { .. } | PartKind::Rectifier { .. } => Role::Supply,
                PartKind::BiasSupply { .. } => Role::BiasSupply,
                PartKind::OutputTransformer(_) => Role::OutputTransformer,
                PartKind::Loudspeaker { .. } => Role::Loudspeaker,
                _ => continue,
            };
            self.set(part, role, None);
        }
    }

    fn cathode(&mut self, i: usize) {
        let section = &self.sections[i];
        let nodes = chain_nodes(self.graph, section);
        let follower = section.role == Role::Follower;
        let cathodyne = section.outputs.len() > 1;
        let pair = self.partner(i);
        for (k, part) in section.cathode_chain.iter().enumerate() {
            let shared = pair.is_some_and(|p| self.sections[p].cathode_chain.contains(part));
            let single = section.cathode_chain.len() == 1;
            let lowest = k + 1 == section.cathode_chain.len();
            let shunt = self
                .feedback
                .iter()
                .any(|path| k > 0 && nodes.get(k) == Some(&path.to) && lowest);
            let role = if shunt {
                Role::FeedbackShunt
            } else if (follower || cathodyne) && (k > 0 || single) {
                Role::CathodeLoad
            } else if pair.is_some()
                && shared
                && (k > 0 || (single && section.role != Role::OutputValve))
            {
                Role::Tail
            } else if k == 0 {
                Role::CathodeBias
            } else {
                Role::Tail
            };
            self.set(*part, role, Some(section.part));
        }
        let own = |node: NodeId| nodes.contains(&node);
        for part in self.graph.parts() {
            if !self.is_open(part) {
                continue;
            }
            let Some([a, b]) = ends(self.graph.kind(part)) else {
                continue;
            };
            let capacitor = matches!(self.graph.kind(part), PartKind::Capacitor { .. });
            if !capacitor || !(own(a) || own(b)) {
                continue;
            }
            let other = if own(a) { b } else { a };
            if is_ground(other) || (own(a) && own(b)) {
                self.set(part, Role::CathodeBypass, Some(section.part));
            } else if let Some(rest) = self.to_ground(other, part) {
                for part in std::iter::once(part).chain(rest) {
                    self.set(part, Role::CathodeBypass, Some(section.part));
                }
            }
        }
    }

    /// Parts from a node that meets nothing else on to ground.
    fn to_ground(&self, node: NodeId, but: PartId) -> Option<Vec<PartId>> {
        let others: Vec<PartId> = self
            .graph
            .at(node)
            .into_iter()
            .filter(|part| *part != but)
            .collect();
        let grounded = |part: &PartId| {
            ends(self.graph.kind(*part)).is_some_and(|e| e.contains(&GROUND))
                && matches!(
                    self.graph.kind(*part),
                    PartKind::Switch { .. } | PartKind::Resistor { .. } | PartKind::Pot { .. }
                )
        };
        (!others.is_empty() && others.iter().all(grounded)).then_some(others)
    }

    fn partner(&self, i: usize) -> Option<usize> {
        let section = &self.sections[i];
        (0..self.sections.len()).find(|j| {
            let other = &self.sections[*j];
            *j != i
                && other.level == section.level
                && !section.cathode_chain.is_empty()
                && other.cathode_chain.last() == section.cathode_chain.last()
        })
    }

    fn anode(&mut self, i: usize) {
        let section = &self.sections[i];
        for part in &section.anode_chain {
            self.set(*part, Role::AnodeLoad, Some(section.part));
        }
        // Across the load, from the anode to ground or to the other anode: against oscillation.
        for edge in self.graph.edges(section.anode) {
            let capacitor = matches!(self.graph.kind(edge.part), PartKind::Capacitor { .. });
            let other_side = |s: &Section| {
                s.part != section.part && s.anode == edge.to && is_other_side(s, section)
            };
            let held = self.ground.is_fixed(edge.to);
            if capacitor && (held || self.sections.iter().any(other_side)) {
                self.set(edge.part, Role::Snubber, Some(section.part));
            } else if self.graph.at(edge.to).len() == 2 {
                let other = self
                    .graph
                    .edges(edge.to)
                    .iter()
                    .find(|next| next.part != edge.part)
                    .copied();
                let Some(other) = other else { continue };
                let capacitors = [edge.part, other.part]
                    .iter()
                    .filter(|p| matches!(self.graph.kind(**p), PartKind::Capacitor { .. }))
                    .count();
                let ends = self.ground.is_fixed(other.to)
                    || self
                        .sections
                        .iter()
                        .any(|s| s.anode == other.to && is_other_side(s, section));
                if capacitors == 1 && ends && other.to != section.anode {
                    self.set(edge.part, Role::Snubber, Some(section.part));
                    self.set(other.part, Role::Snubber, Some(section.part));
                }
            }
        }
    }

    fn screen(&mut self, i: usize) {
        let section = &self.sections[i];
        let Some(screen) = section.screen else {
            return;
        };
        if self.ground.is_fixed(screen) {
            return;
        }
        let shares = self
            .sections
            .iter()
            .filter(|s| s.screen == Some(screen))
            .count();
        let bypassed = self.graph.edges(screen).iter().any(|e| {
            matches!(self.graph.kind(e.part), PartKind::Capacitor { .. })
                && (is_ground(e.to) || e.to == section.cathode)
        });
        for edge in self.graph.edges(screen).to_vec() {
            let role = match self.graph.kind(edge.part) {
                PartKind::Capacitor { .. } => Role::ScreenBypass,
                PartKind::Resistor { .. } | PartKind::Inductor { .. } if is_ground(edge.to) => {
                    Role::ScreenFeed
                }
                PartKind::Resistor { .. } | PartKind::Inductor { .. } => {
                    if bypassed || shares > 1 {
                        Role::ScreenFeed
                    } else {
                        Role::ScreenStopper
                    }
                }
                _ => continue,
            };
            self.set(edge.part, role, Some(section.part));
        }
    }

    fn feedback_parts(&mut self) {
        for path in self.feedback {
            for part in &path.path {
                let role = match self.graph.kind(*part) {
                    PartKind::Switch { .. } => Role::FeedbackSwitch,
                    _ => Role::Feedback,
                };
                self.set(*part, role, None);
            }
            for part in &path.presence {
                self.set(*part, Role::Presence, None);
            }
            // What stands across a part of the path is of it.
            for part in &path.path {
                let Some([a, b]) = ends(self.graph.kind(*part)) else {
                    continue;
                };
                for edge in self.graph.edges(a).to_vec() {
                    if edge.to == b && edge.part != *part {
                        self.set(edge.part, Role::Feedback, None);
                    }
                }
            }
            self.shunt_wiper(path.to);
        }
    }

    /// A pot from the end of the feedback to ground: what its wiper leads to ground is presence.
    fn shunt_wiper(&mut self, end: NodeId) {
        for part in self.graph.at(end) {
            let Some([from, to, wiper]) = track(self.graph.kind(part)) else {
                continue;
            };
            if wiper == end || !(is_ground(from) || is_ground(to)) {
                continue;
            }
            for edge in self.graph.edges(wiper).to_vec() {
                if is_ground(edge.to) && !edge.direct {
                    self.set(edge.part, Role::Presence, None);
                }
            }
        }
    }

    fn paraphase(&mut self) {
        let halves: Vec<&Section> = self
            .sections
            .iter()
            .filter(|s| matches!(s.role, Role::InverterDriven | Role::InverterOther))
            .collect();
        let [a, b] = halves[..] else { return };
        if a.cathode_chain.last() == b.cathode_chain.last() && a.cathode_chain.last().is_some() {
            return;
        }
        let other = if a.role == Role::InverterOther { a } else { b };
        let driven = if a.role == Role::InverterOther { b } else { a };
        for from in [driven.anode, other.anode] {
            let best = self
                .graph
                .reach(from, &|edge| self.is_open(edge.part), &|node| {
                    !self.ground.is_fixed(node) && node != a.anode && node != b.anode
                });
            let edges = super::graph::trace(&best, other.grid).unwrap_or_default();
            for edge in edges {
                if matches!(self.graph.kind(edge.part), PartKind::Resistor { .. }) {
                    self.set(edge.part, Role::Paraphase, Some(other.part));
                }
            }
        }
    }

    fn outputs(&mut self) {
        let mut taps: BTreeSet<NodeId> = BTreeSet::new();
        for part in self.graph.parts() {
            if let PartKind::OutputTransformer(t) = self.graph.kind(part) {
                taps.extend(t.secondary.taps.iter().filter(|tap| !is_ground(**tap)));
            }
            if let PartKind::Loudspeaker { between, .. } = self.graph.kind(part) {
                taps.extend(between.iter().filter(|node| !is_ground(**node)));
            }
        }
        let mut queue: Vec<NodeId> = taps.iter().copied().collect();
        while let Some(node) = queue.pop() {
            if self.ground.is_fixed(node) {
                continue;
            }
            for part in self.graph.at(node) {
                if !self.is_open(part) {
                    continue;
                }
                let kind = self.graph.kind(part);
                self.set(part, Role::LoudspeakerNetwork, None);
                for node in kind.wiring().terminals {
                    if taps.insert(node) {
                        queue.push(node);
                    }
                }
            }
        }
    }
}
