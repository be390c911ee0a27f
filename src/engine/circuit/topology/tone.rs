//! What is left lies before a grid: coupling, dividers, volume and tone controls.

use super::graph::{ends, is_ground, track};
use super::roles::Roles;
use super::types::{Role, Section};
use crate::circuit::{GROUND, NodeId, PartId, PartKind};

impl Roles<'_> {
    /// Roles between the valves.
    pub(super) fn networks(&mut self) {
        self.pots();
        self.couplings();
        self.beside_pots();
        self.legs();
        self.series();
        self.remaining();
    }

    pub(super) fn open(&self, part: PartId) -> bool {
        self.found[part.0 as usize].0 == Role::Unknown
    }

    pub(super) fn put(&mut self, part: PartId, role: Role, valve: Option<PartId>) {
        if self.open(part) {
            self.found[part.0 as usize] = (role, valve);
        }
    }

    /// The section whose grid a node leads to.
    pub(super) fn towards(&self, node: NodeId) -> Option<PartId> {
        let best = self.graph.reach(node, &|_| true, &|n| {
            !self.ground.is_fixed(n)
                && !self.sections.iter().any(|s| s.anode == n || s.cathode == n)
        });
        let reached = self
            .sections
            .iter()
            .filter_map(|s| Some((best.get(&s.grid)?.0, s.part)));
        reached.min_by_key(|(cost, _)| *cost).map(|(_, part)| part)
    }

    pub(super) fn spine_of(&self, part: PartId) -> Option<&Section> {
        self.sections.iter().find(|s| s.spine.contains(&part))
    }

    /// Capacitors from a valve's output.
    fn couplings(&mut self) {
        for part in self.graph.parts() {
            let PartKind::Capacitor { between, .. } = *self.graph.kind(part) else {
                continue;
            };
            if !self.open(part) {
                continue;
            }
            let other_grid = |node: NodeId| {
                let grid = |s: &&Section| s.grid == node && s.role == Role::InverterOther;
                self.sections.iter().find(grid).map(|s| s.part)
            };
            // The other grid of a pair, held to ground or fed the feedback.
            if let Some(valve) = between.into_iter().find_map(other_grid)
                && !between.iter().any(|node| self.is_output(*node))
            {
                self.put(part, Role::Coupling, Some(valve));
                continue;
            }
            let output = |node: NodeId| self.is_output(node);
            let drives = match between.map(output) {
                [true, false] => between[1],
                [false, true] => between[0],
                _ => continue,
            };
            if self.ground.is_fixed(drives) {
                continue;
            }
            // A capacitor beside a direct way, into a tone network, is that network's.
            let source = if drives == between[0] {
                between[1]
            } else {
                between[0]
            };
            if self.direct_tone(source) {
                continue;
            }
            let valve = self.spine_of(part).map(|s| s.part);
            let valve = valve.or_else(|| self.towards(drives));
            self.put(part, Role::Coupling, valve);
        }
    }

    /// Whether a valve before the output stage drives from here.
    fn is_output(&self, node: NodeId) -> bool {
        self.sections
            .iter()
            .any(|s| s.outputs.contains(&node) && s.role != Role::OutputValve)
    }

    /// Whether a valve's output feeds a tone network straight: over a resistor too, and on to pots.
    fn direct_tone(&self, output: NodeId) -> bool {
        let resistor = self.graph.edges(output).iter().any(|e| {
            matches!(self.graph.kind(e.part), PartKind::Resistor { .. })
                && self.open(e.part)
                && !self.ground.is_fixed(e.to)
                && self.graph.at(e.to).len() > 1
        });
        let treble = self.found.iter().any(|(role, _)| *role == Role::Treble);
        resistor && treble
    }

    /// Capacitors across halves of pots, or in series with one.
    fn beside_pots(&mut self) {
        for pot in self.graph.parts() {
            let Some([from, to, wiper]) = track(self.graph.kind(pot)) else {
                continue;
            };
            let (role, valve) = self.found[pot.0 as usize];
            for part in self.graph.parts() {
                let Some([a, b]) = ends(self.graph.kind(part)) else {
                    continue;
                };
                let capacitor = matches!(self.graph.kind(part), PartKind::Capacitor { .. });
                let across = |x: NodeId, y: NodeId| (a == x && b == y) || (a == y && b == x);
                let upper = if is_ground(from) { to } else { from };
                if capacitor && across(upper, wiper) && role == Role::Volume {
                    self.put(part, Role::Bright, valve);
                } else if capacitor && (across(from, wiper) || across(wiper, to)) {
                    self.put(part, role, valve);
                }
            }
        }
        let mut pots = self.graph.parts();
        pots.retain(|part| matches!(self.graph.kind(*part), PartKind::Pot { .. }));
        // What stands between two of them belongs to the lower one.
        pots.sort_by_key(|part| match self.found[part.0 as usize].0 {
            Role::Middle => 0,
            Role::Bass => 1,
            _ => 2,
        });
        for pot in pots {
            let (role, valve) = self.found[pot.0 as usize];
            if !matches!(role, Role::Treble | Role::Bass | Role::Middle | Role::Tone) {
                continue;
            }
            let kind = self.graph.kind(pot);
            let nodes: Vec<NodeId> = match (ends(kind), track(kind)) {
                (Some(e), _) => e.to_vec(),
                (_, Some([from, to, wiper])) if role == Role::Middle => vec![from, to, wiper],
                (_, Some([from, to, _])) => vec![from, to],
                _ => continue,
            };
            for node in nodes.into_iter().filter(|n| !self.ground.is_fixed(*n)) {
                for part in self.graph.at(node) {
                    if matches!(self.graph.kind(part), PartKind::Capacitor { .. }) {
                        self.put(part, role, valve);
                    }
                }
            }
        }
    }

    /// From a joint of the signal's way to ground: with a resistor above a divider, a capacitor a tone
    /// shunt.
    fn legs(&mut self) {
        for part in self.graph.parts() {
            let Some([a, b]) = ends(self.graph.kind(part)) else {
                continue;
            };
            if !self.open(part) || !(is_ground(a) || is_ground(b)) {
                continue;
            }
            let node = if a == GROUND { b } else { a };
            let valve = self.towards(node);
            match self.graph.kind(part) {
                PartKind::Capacitor { .. } => {
                    let role = if node == self.graph.circuit.input() {
                        Role::Snubber
                    } else {
                        Role::Tone
                    };
                    self.put(part, role, valve);
                }
                PartKind::Resistor { .. } if node == self.graph.circuit.input() => {
                    self.put(part, Role::InputLoad, valve);
                }
                PartKind::Resistor { .. } => {
                    let pots = self.graph.at(node).into_iter().any(|p| {
                        track(self.graph.kind(p)).is_some_and(|[f, t, _]| f == node || t == node)
                            && self.found[p.0 as usize].0 != Role::Volume
                    });
                    let upper = self.resistor_into(node, part);
                    let role = match (pots, upper) {
                        (true, _) => Role::ToneNetwork,
                        (_, Some(upper)) => {
                            self.put(upper, Role::DividerUpper, valve);
                            Role::DividerLower
                        }
                        _ => Role::GridLeak,
                    };
                    self.put(part, role, valve);
                }
                _ => {}
            }
        }
    }

    /// The resistor by which the signal arrives at a node.
    fn resistor_into(&self, node: NodeId, but: PartId) -> Option<PartId> {
        self.sections.iter().find_map(|section| {
            let mut at = section.driven_from?;
            for part in &section.spine {
                let kind = self.graph.kind(*part);
                let to = match (ends(kind), track(kind)) {
                    (Some([a, b]), _) => {
                        if a == at {
                            b
                        } else {
                            a
                        }
                    }
                    (_, Some([from, _, wiper])) => {
                        if at == wiper {
                            from
                        } else {
                            wiper
                        }
                    }
                    _ => return None,
                };
                let resistor = matches!(kind, PartKind::Resistor { .. });
                if to == node && resistor && *part != but && self.open(*part) {
                    return Some(*part);
                }
                at = to;
            }
            None
        })
    }

    /// Resistors on the signal's way.
    fn series(&mut self) {
        for part in self.graph.parts() {
            if !self.open(part) {
                continue;
            }
            let Some(section) = self.spine_of(part) else {
                continue;
            };
            let valve = Some(section.part);
            let first = section.spine.iter().position(|p| *p == part);
            let control = section
                .spine
                .iter()
                .rposition(|p| matches!(self.graph.kind(*p), PartKind::Pot { .. }));
            if first < control && self.tone_beside(part) {
                self.put(part, Role::ToneNetwork, valve);
                continue;
            }
            match self.graph.kind(part) {
                PartKind::Resistor { .. } | PartKind::Switch { .. } | PartKind::Inductor { .. } => {
                    self.put(part, Role::Series, valve);
                }
                PartKind::Capacitor { .. } => self.put(part, Role::Coupling, valve),
                _ => {}
            }
        }
    }

    /// Whether a part stands at a joint with two parts of tone controls or more.
    fn tone_beside(&self, part: PartId) -> bool {
        ends(self.graph.kind(part)).is_some_and(|nodes| {
            nodes.into_iter().any(|node| {
                let at = self.graph.at(node).into_iter();
                let tone = at.filter(|other| *other != part && !self.ground.is_fixed(node));
                tone.filter(|other| {
                    matches!(
                        self.found[other.0 as usize].0,
                        Role::Treble | Role::Bass | Role::Middle | Role::ToneNetwork
                    )
                })
                .count()
                    > 1
            })
        })
    }

    /// The rest of a network that leads to a grid.
    fn remaining(&mut self) {
        let tone = self
            .found
            .iter()
            .any(|(role, _)| matches!(role, Role::Treble | Role::Bass | Role::Middle | Role::Tone));
        for part in self.graph.parts() {
            if !self.open(part) {
                continue;
            }
            let Some([a, b]) = ends(self.graph.kind(part)) else {
                continue;
            };
            let node = [a, b].into_iter().find(|n| !self.ground.is_fixed(*n));
            let Some(valve) = node.and_then(|node| self.towards(node)) else {
                continue;
            };
            let at_pot = [a, b].into_iter().any(|n| self.under_pot(n, part));
            if tone && (at_pot || self.tone_beside(part)) {
                self.put(part, Role::ToneNetwork, Some(valve));
            } else if matches!(self.graph.kind(part), PartKind::Resistor { .. })
                && !is_ground(a)
                && !is_ground(b)
            {
                self.put(part, Role::Series, Some(valve));
            } else if tone && matches!(self.graph.kind(part), PartKind::Capacitor { .. }) {
                self.put(part, Role::ToneNetwork, Some(valve));
            }
        }
    }
}
