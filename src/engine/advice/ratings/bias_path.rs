//! The parts that lead the bias to the output valves' grids and cathodes, and what becomes of the
//! idle when one of them has another value or comes loose.

use crate::circuit::{Circuit, GROUND, NodeId, Part, PartId, PartKind, electrodes};
use crate::network::{Network, Values};
use crate::solve::OperatingPointSolver;
use crate::solve::solved::SolvedCircuit;

/// Fitted resistors and pots between the electrodes `from` and ground or a high-tension supply, by
/// way of resistors, pots, chokes, closed contacts and windings; in the order of the file.
pub fn path(circuit: &Circuit, from: &[NodeId]) -> Vec<PartId> {
    let mut reached = vec![false; circuit.nodes().len()];
    let ends: Vec<NodeId> = circuit.parts().iter().filter_map(feeds).collect();
    let ends_at = |node: NodeId| node == GROUND || ends.contains(&node);
    for &node in from {
        reached[node.0 as usize] = node != GROUND;
    }
    let mut grew = true;
    while grew {
        grew = false;
        for part in circuit.parts().iter().filter(|p| p.fitted) {
            for joined in conductors(part) {
                let from_here = |n: &NodeId| reached[n.0 as usize] && !ends_at(*n);
                if !joined.iter().any(from_here) {
                    continue;
                }
                for node in joined.into_iter().filter(|n| *n != GROUND) {
                    grew |= !reached[node.0 as usize];
                    reached[node.0 as usize] = true;
                }
            }
        }
    }
    let on_it = |node: &NodeId| reached[node.0 as usize] && !ends_at(*node);
    let parts = circuit.parts().iter().enumerate();
    let found = parts.filter(|(_, part)| {
        let adjustable = matches!(part.kind, PartKind::Resistor { .. } | PartKind::Pot { .. });
        part.fitted && adjustable && conductors(part).iter().flatten().any(on_it)
    });
    found.map(|(i, _)| PartId(i as u16)).collect()
}

/// The node that a part holds at high tension.
fn feeds(part: &Part) -> Option<NodeId> {
    match part.kind {
        PartKind::Supply { node, .. } => Some(node),
        PartKind::Rectifier { to, .. } => Some(to),
        _ => None,
    }
}

/// Groups of nodes that a part joins for direct current.
fn conductors(part: &Part) -> Vec<Vec<NodeId>> {
    match &part.kind {
        PartKind::Resistor { between, .. } | PartKind::Inductor { between, .. } => {
            vec![between.to_vec()]
        }
        PartKind::Switch {
            between,
            closed: true,
            ..
        } => vec![between.to_vec()],
        PartKind::Pot {
            from, to, wiper, ..
        } => vec![vec![*from, *to, *wiper]],
        PartKind::OutputTransformer(t) => vec![t.primary.taps.clone(), t.secondary.taps.clone()],
        PartKind::VoltageSource { between, .. } => vec![between.to_vec()],
        _ => Vec::new(),
    }
}

/// The idle of the output valves.
#[derive(Clone, Debug, PartialEq)]
pub struct Idle {
    /// Anode dissipation of each, W.
    pub watts: Vec<f64>,
    /// Cathode current of each, A.
    pub amps: Vec<f64>,
    /// Grid to cathode of each, V.
    pub grid_volts: Vec<f64>,
    /// Volts by position.
    pub solution: Vec<f64>,
}

/// Solves for the idle again and again.
pub struct IdleSolver<'a> {
    network: &'a Network,
    side: &'a SolvedCircuit,
    output: Vec<PartId>,
    solver: OperatingPointSolver,
}

impl<'a> IdleSolver<'a> {
    /// For the output valves `output`.
    pub fn new(network: &'a Network, side: &'a SolvedCircuit, output: Vec<PartId>) -> Self {
        IdleSolver {
            network,
            side,
            output,
            solver: OperatingPointSolver::new(network),
        }
    }

    /// The idle with these values; none where there is no solution.
    pub fn idle(&mut self, values: &Values) -> Option<Idle> {
        let start = &self.side.point.solution;
        let point = self
            .solver
            .operating_point_near(self.network, values, start)?;
        Some(self.read(values, point.solution))
    }

    /// The idle of the circuit as it is, which is solved already.
    pub fn at_rest(&self) -> Idle {
        self.read(&self.side.values, self.side.point.solution.clone())
    }

    fn read(&self, values: &Values, solution: Vec<f64>) -> Idle {
        let mut idle = Idle {
            watts: Vec::new(),
            amps: Vec::new(),
            grid_volts: Vec::new(),
            solution: Vec::new(),
        };
        let devices = self.network.devices();
        for &id in &self.output {
            let part = self.side.circuit.part(id);
            let Some(valve) = electrodes(part) else {
                continue;
            };
            let at = |node| solution[self.network.position(node)];
            let k = at(valve.cathode);
            let (a, g) = (at(valve.anode) - k, at(valve.grid) - k);
            let triode = devices.triodes.iter().position(|site| site.part == id);
            let pentode = devices.pentodes.iter().position(|site| site.part == id);
            let (anode, others) = match (triode, pentode, valve.screen) {
                (Some(site), _, _) => {
                    let law = &values.devices.triodes[site];
                    let i = law.law.currents(a, g);
                    (law.present * i.anode, law.present * i.grid)
                }
                (_, Some(site), Some(screen)) => {
                    let law = &values.devices.pentodes[site];
                    let i = law.law.currents(a, at(screen) - k, g);
                    (law.present * i.anode, law.present * (i.screen + i.grid))
                }
                _ => (0.0, 0.0),
            };
            idle.watts.push(anode * a);
            idle.amps.push(anode + others);
            idle.grid_volts.push(g);
        }
        idle.solution = solution;
        idle
    }

    /// The values with one part changed.
    pub fn with_part(&self, values: &Values, id: PartId, part: &Part) -> Values {
        let mut changed = values.clone();
        self.network.update_part(&mut changed, id, part);
        changed
    }

    /// The output valves.
    pub fn output(&self) -> &[PartId] {
        &self.output
    }
}

/// Anode limits of the output valves, W; none where one has no printed limit.
pub fn limits(side: &SolvedCircuit, output: &[PartId]) -> Option<Vec<f64>> {
    let limit = |&id: &PartId| {
        let valve = electrodes(side.circuit.part(id))?.valve;
        valve.ratings.first()?.anode_watts.filter(|w| *w > 0.0)
    };
    output.iter().map(limit).collect()
}
