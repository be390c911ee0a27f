//! Whether what is played can reach the output at all, by the connections alone.

use super::{Circuit, GROUND, NodeId, PartKind};

/// A capacitor to ground from this value on holds its node still, F: what reaches the output through
/// such a node alone is crosstalk of a supply.
const HOLDS_FARADS: f64 = 1e-6;

impl Circuit {
    /// Whether there is a way from the jack to the output: through fitted passive parts either way,
    /// through valves from grid to anode and cathode and from cathode to anode, past no node that a
    /// supply or a large capacitor holds still. However controls stand, they pass.
    pub fn signal_reaches_output(&self) -> bool {
        let mut held = vec![false; self.nodes().len()];
        held[GROUND.0 as usize] = true;
        let mut ways: Vec<(NodeId, NodeId)> = Vec::new();
        for part in self.parts().iter().filter(|part| part.fitted) {
            let mut hold = |node: NodeId| held[node.0 as usize] = true;
            let mut join = |nodes: &[NodeId]| {
                for &a in nodes {
                    ways.extend(nodes.iter().map(|&b| (a, b)));
                }
            };
            match &part.kind {
                PartKind::Capacitor { farads, between } => {
                    if *farads >= HOLDS_FARADS && between.contains(&GROUND) {
                        between.iter().for_each(|&node| hold(node));
                    }
                    join(between);
                }
                PartKind::Resistor { between, .. }
                | PartKind::Inductor { between, .. }
                | PartKind::Switch { between, .. }
                | PartKind::VoltageSource { between, .. }
                | PartKind::Loudspeaker { between, .. } => join(between),
                PartKind::Pot {
                    from, to, wiper, ..
                } => join(&[*from, *to, *wiper]),
                PartKind::OutputTransformer(t) => {
                    join(&[t.primary.taps.as_slice(), &t.secondary.taps].concat());
                }
                PartKind::Triode {
                    anode,
                    grid,
                    cathode,
                    ..
                }
                | PartKind::Pentode {
                    anode,
                    grid,
                    cathode,
                    ..
                } => ways.extend([(*grid, *anode), (*grid, *cathode), (*cathode, *anode)]),
                PartKind::Supply { node, .. } | PartKind::BiasSupply { node, .. } => hold(*node),
                PartKind::Rectifier { to, from, .. } => {
                    hold(*to);
                    hold(*from);
                }
            }
        }
        let output = self.output();
        let mut reached = vec![self.input()];
        let mut next = 0;
        while let Some(&at) = reached.get(next) {
            next += 1;
            for &(from, to) in &ways {
                if from == at && !held[to.0 as usize] && !reached.contains(&to) {
                    reached.push(to);
                }
            }
        }
        [output.positive, output.negative]
            .iter()
            .any(|node| *node != GROUND && reached.contains(node))
    }
}
