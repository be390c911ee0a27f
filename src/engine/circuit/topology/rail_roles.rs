//! Roles of what stands at rails and at the bias.

use super::graph::{ends, is_ground, track};
use super::roles::Roles;
use super::types::{Rail, Role};
use crate::circuit::{GROUND, NodeId, PartId, PartKind};

impl Roles<'_> {
    pub(super) fn rail_parts(&mut self) {
        let rails: &[Rail] = self.ground.rails;
        for rail in rails {
            for part in &rail.feed {
                self.set(*part, Role::RailFeed, None);
            }
        }
        for part in self.graph.parts() {
            let Some([a, b]) = ends(self.graph.kind(part)) else {
                continue;
            };
            let place = |node: NodeId| rails.iter().position(|rail| rail.node == node);
            let (rail, other) = match (place(a), place(b)) {
                (Some(rail), None) => (rail, b),
                (None, Some(rail)) => (rail, a),
                (Some(_), Some(_)) => {
                    let role = match self.graph.kind(part) {
                        PartKind::Capacitor { .. } => Role::Decoupling,
                        _ => Role::RailFeed,
                    };
                    self.set(part, role, None);
                    continue;
                }
                _ => continue,
            };
            let reservoir = rails[rail].from.is_none();
            if is_ground(other) {
                let role = match self.graph.kind(part) {
                    PartKind::Capacitor { .. } if reservoir => Role::Reservoir,
                    PartKind::Capacitor { .. } => Role::Decoupling,
                    _ => Role::Bleeder,
                };
                self.set(part, role, None);
            } else {
                self.stacked(part, other, reservoir);
            }
        }
    }

    /// Two capacitors one on the other from a rail to ground, with their resistors.
    fn stacked(&mut self, part: PartId, joint: NodeId, reservoir: bool) {
        let at = self.graph.at(joint);
        let passive = |p: &PartId| {
            ends(self.graph.kind(*p)).is_some_and(|[a, b]| {
                let other = if a == joint { b } else { a };
                is_ground(other) || self.ground.is_rail(other)
            })
        };
        if !at.iter().all(passive) {
            return;
        }
        for part in at.into_iter().chain([part]) {
            let role = match self.graph.kind(part) {
                PartKind::Capacitor { .. } if reservoir => Role::Reservoir,
                PartKind::Capacitor { .. } => Role::Decoupling,
                _ => Role::Bleeder,
            };
            self.set(part, role, None);
        }
    }

    pub(super) fn bias_parts(&mut self) {
        let bias = self.ground.bias;
        for part in self.graph.parts() {
            let kind = self.graph.kind(part);
            let held = |node: NodeId| bias.contains(&node);
            let role = match (ends(kind), track(kind)) {
                (Some([a, b]), _) => {
                    let grounded = is_ground(a) || is_ground(b);
                    match kind {
                        PartKind::Capacitor { .. } if (held(a) || held(b)) && grounded => {
                            Role::BiasDecoupling
                        }
                        _ if held(a) && held(b) => Role::BiasFeed,
                        _ if (held(a) || held(b)) && grounded => Role::BiasLoad,
                        _ => continue,
                    }
                }
                (_, Some(nodes)) => {
                    let still = |node: &NodeId| held(*node) || is_ground(*node);
                    if !nodes.iter().all(still) || !nodes.iter().any(|n| held(*n)) {
                        continue;
                    }
                    // A track with a wiper divides the bias: it loads its source.
                    Role::BiasLoad
                }
                _ => continue,
            };
            self.set(part, role, None);
        }
        // From the bias over a joint of its own to ground: both are its load.
        for node in bias {
            for edge in self.graph.edges(*node) {
                let at = self.graph.at(edge.to);
                if is_ground(edge.to) || at.len() != 2 || !edge.direct {
                    continue;
                }
                let other = at.into_iter().find(|part| *part != edge.part);
                let Some(other) = other else { continue };
                if ends(self.graph.kind(other)).is_some_and(|e| e.contains(&GROUND))
                    && !self.sections.iter().any(|s| s.grid == edge.to)
                {
                    self.set(edge.part, Role::BiasLoad, None);
                    self.set(other, Role::BiasLoad, None);
                }
            }
        }
    }
}
