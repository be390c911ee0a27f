//! Roles of pots: volume, treble, middle, bass, tone.

use super::graph::{ends, is_ground, track};
use super::roles::Roles;
use super::types::Role;
use crate::circuit::{NodeId, PartId, PartKind};

impl Roles<'_> {
    /// Volume: a wiper on the signal's way over a track to ground. Treble: a wiper on the way over a
    /// track whose foot is not. Rheostats and others by what they stand on.
    pub(super) fn pots(&mut self) {
        let pots: Vec<PartId> = self
            .graph
            .parts()
            .into_iter()
            .filter(|p| matches!(self.graph.kind(*p), PartKind::Pot { .. }) && self.open(*p))
            .collect();
        let stack = pots.len() > 1 && self.is_stack(&pots);
        for part in &pots {
            let kind = self.graph.kind(*part);
            let valve = self.spine_of(*part).map(|s| s.part);
            if let Some([from, to, wiper]) = track(kind) {
                let grounded = is_ground(from) || is_ground(to);
                let role = if grounded && !self.over_capacitor(wiper, *part) {
                    Role::Volume
                } else if grounded {
                    Role::Middle
                } else if self.capacitor_between(from, wiper) || self.capacitor_between(wiper, to) {
                    Role::Bass
                } else {
                    Role::Treble
                };
                let valve = valve.or_else(|| self.towards(wiper));
                self.put(*part, role, valve);
            } else if let Some([a, b]) = ends(kind) {
                let both_sides = self.leads_to_side(a) != self.leads_to_side(b);
                let role = if both_sides && !is_ground(a) && !is_ground(b) {
                    // Between the sides of a push-pull stage: the signal cancels as it closes.
                    Role::Volume
                } else if stack && !is_ground(a) && !is_ground(b) {
                    Role::Bass
                } else if stack && self.under_pot(if is_ground(a) { b } else { a }, *part) {
                    Role::Middle
                } else {
                    Role::Tone
                };
                let node = if is_ground(a) { b } else { a };
                let valve = valve.or_else(|| self.towards(node));
                self.put(*part, role, valve);
            }
        }
    }

    /// The side of the output stage that a node drives, if it drives one.
    fn leads_to_side(&self, node: NodeId) -> Option<usize> {
        let best = self
            .graph
            .reach(node, &|edge| edge.cost < 200, &|n| !self.ground.is_fixed(n));
        let output = self.sections.iter().filter(|s| s.role == Role::OutputValve);
        let reached = output.filter_map(|s| Some((best.get(&s.grid)?.0, s.side)));
        reached.min().map(|(_, side)| side)
    }

    /// Whether a treble control's foot leads on to further pots.
    fn is_stack(&self, pots: &[PartId]) -> bool {
        pots.iter().any(|part| {
            track(self.graph.kind(*part)).is_some_and(|[from, to, _]| {
                [from, to].into_iter().any(|foot| {
                    !is_ground(foot)
                        && self.graph.at(foot).into_iter().any(|other| {
                            other != *part && matches!(self.graph.kind(other), PartKind::Pot { .. })
                        })
                })
            })
        })
    }

    pub(super) fn under_pot(&self, node: NodeId, but: PartId) -> bool {
        self.graph
            .at(node)
            .into_iter()
            .any(|other| other != but && matches!(self.graph.kind(other), PartKind::Pot { .. }))
    }

    /// Whether a wiper meets nothing but a capacitor.
    fn over_capacitor(&self, wiper: NodeId, pot: PartId) -> bool {
        let at = self.graph.at(wiper);
        let others: Vec<&PartId> = at.iter().filter(|p| **p != pot).collect();
        !others.is_empty()
            && others
                .iter()
                .all(|p| matches!(self.graph.kind(**p), PartKind::Capacitor { .. }))
            && self.spine_of(pot).is_none()
    }

    fn capacitor_between(&self, a: NodeId, b: NodeId) -> bool {
        self.graph.parts().into_iter().any(|part| {
            matches!(self.graph.kind(part), PartKind::Capacitor { between, .. }
                if between.contains(&a) && between.contains(&b) && a != b)
        })
    }
}
