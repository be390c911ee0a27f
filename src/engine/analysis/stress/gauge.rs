//! What every valve and part has to stand while something is played.
//!
//! [`StressGauge`] reads the voltages of one moment; [`Stress`] is what came of all moments:
//! means of the heaviest second, and the lowest and highest voltages.

use crate::analysis::performance::{Bins, Gauge, heaviest_second};
use crate::analysis::valves_playing::{SidePlaying, SupplyPlaying, ValvePlaying, supply_nodes};
use crate::circuit::{Circuit, MOST_NODES, NodeId, PartId, PartKind, electrodes};
use crate::network::{BranchValue, Network};
use crate::solve::solved::SolvedCircuit;

/// What one part had to stand. Figures that a kind of part does not have are 0.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PartStress {
    /// W in the heaviest second: of an anode, a resistor, a pot's whole track.
    pub watts: f64,
    /// W of a screen in its heaviest second.
    pub screen_watts: f64,
    /// A in the heaviest second: of a cathode, out of a rectifier.
    pub amps: f64,
    /// A, highest moment, likewise.
    pub peak_amps: f64,
    /// V, lowest moment: from grid to cathode, across any other part (of a pot, the track section
    /// with more).
    pub low_volts: f64,
    /// V, highest moment.
    pub high_volts: f64,
    /// V from anode to cathode of a valve, lowest and highest moment that was read.
    pub anode_volts: [f64; 2],
}

impl PartStress {
    /// The larger of both ends, V.
    pub fn peak_volts(&self) -> f64 {
        self.low_volts.abs().max(self.high_volts.abs())
    }
}

/// What all parts had to stand.
#[derive(Clone, Debug, PartialEq)]
pub struct Stress {
    /// By [`PartId`].
    pub parts: Vec<PartStress>,
    /// Volts to ground by [`NodeId`], lowest and highest moment; of supplies, cathodes and
    /// rectifiers only.
    pub nodes: Vec<Option<[f64; 2]>>,
}

impl Stress {
    /// One part's.
    pub fn of(&self, id: PartId) -> &PartStress {
        &self.parts[id.0 as usize]
    }
}

/// A valve section: its part, its nodes (anode, screen, grid, cathode) and its place among the
/// laws of its kind.
#[derive(Clone, Copy, Debug)]
struct Section {
    part: usize,
    anode: usize,
    screen: Option<usize>,
    grid: usize,
    cathode: usize,
    law: usize,
}

/// A part between two nodes, with its branch.
#[derive(Clone, Copy, Debug)]
struct Across {
    part: usize,
    nodes: [usize; 2],
    branch: usize,
}

/// Reads volts of nodes, then watts, amperes and volts of parts.
#[derive(Clone, Debug)]
pub struct StressGauge {
    /// Position of each node; the first is ground.
    positions: Vec<usize>,
    /// Nodes whose volts are figures: supplies first, then cathodes and rectifiers.
    watched: Vec<usize>,
    supplies: usize,
    sections: Vec<Section>,
    resistors: Vec<Across>,
    capacitors: Vec<Across>,
    rectifiers: Vec<Section>,
    parts: usize,
}

/// Figures of a valve section: anode W, screen W, cathode A, V from grid and from anode to cathode.
const OF_SECTION: usize = 5;
/// Figures of a resistor: W, V.
const OF_RESISTOR: usize = 2;

impl StressGauge {
    /// For a circuit of the network's topology.
    pub fn new(network: &Network, circuit: &Circuit) -> Self {
        let count = circuit.nodes().len();
        let supplies = supply_nodes(circuit);
        let mut gauge = StressGauge {
            positions: (0..count)
                .map(|i| network.position(NodeId(i as u16)))
                .collect(),
            watched: supplies.iter().map(|node| node.0 as usize).collect(),
            supplies: supplies.len(),
            sections: Vec::new(),
            resistors: Vec::new(),
            capacitors: Vec::new(),
            rectifiers: Vec::new(),
            parts: circuit.parts().len(),
        };
        let at = |node: NodeId| node.0 as usize;
        let (mut triodes, mut pentodes) = (0_usize, 0_usize);
        for (part, of) in circuit.parts().iter().enumerate() {
            let branches = network.branches_of(PartId(part as u16));
            let across = |[a, b]: [NodeId; 2], branch| Across {
                part,
                nodes: [at(a), at(b)],
                branch,
            };
            if let Some(valve) = electrodes(of) {
                let counter = match valve.screen {
                    None => &mut triodes,
                    Some(_) => &mut pentodes,
                };
                gauge.sections.push(Section {
                    part,
                    anode: at(valve.anode),
                    screen: valve.screen.map(at),
                    grid: at(valve.grid),
                    cathode: at(valve.cathode),
                    law: *counter,
                });
                *counter += 1;
                continue;
            }
            match of.kind {
                PartKind::Rectifier { to, from, .. } => {
                    let law = gauge.rectifiers.len();
                    gauge.rectifiers.push(Section {
                        part,
                        anode: at(to),
                        screen: None,
                        grid: 0,
                        cathode: at(from),
                        law,
                    });
                }
                PartKind::Resistor { between, .. } => {
                    gauge.resistors.push(across(between, branches.start));
                }
                PartKind::Pot {
                    from, to, wiper, ..
                } => {
                    let high = across([from, wiper], branches.start);
                    let low = across([wiper, to], branches.start + 1);
                    gauge.resistors.extend([high, low]);
                }
                PartKind::Capacitor { between, .. } => {
                    gauge.capacitors.push(across(between, branches.start));
                }
                _ => {}
            }
        }
        let sections = gauge.sections.iter().map(|s| vec![s.cathode]);
        let rectifiers = gauge.rectifiers.iter().map(|r| vec![r.anode, r.cathode]);
        for node in sections.chain(rectifiers).flatten() {
            if !gauge.watched.contains(&node) {
                gauge.watched.push(node);
            }
        }
        gauge
    }

    /// What came of the readings.
    pub fn stress(&self, bins: &Bins) -> Stress {
        let row = |rows: &[Vec<f64>], figure: usize| -> Vec<f64> {
            rows.get(figure).cloned().unwrap_or_default()
        };
        let mean = |figure| heaviest_second(&row(&bins.mean, figure));
        let low = |figure| row(&bins.low, figure).into_iter().reduce(f64::min);
        let high = |figure| row(&bins.high, figure).into_iter().reduce(f64::max);
        let range = |figure| [low(figure).unwrap_or(0.0), high(figure).unwrap_or(0.0)];
        let mut stress = Stress {
            parts: vec![PartStress::default(); self.parts],
            nodes: vec![None; self.positions.len()],
        };
        for (figure, &node) in self.watched.iter().enumerate() {
            stress.nodes[node] = Some(range(figure));
        }
        let mut at = self.watched.len();
        for section in &self.sections {
            let part = &mut stress.parts[section.part];
            part.watts = mean(at);
            part.screen_watts = mean(at + 1);
            part.amps = mean(at + 2);
            part.peak_amps = range(at + 2)[1];
            [part.low_volts, part.high_volts] = range(at + 3);
            part.anode_volts = range(at + 4);
            at += OF_SECTION;
        }
        for resistor in &self.resistors {
            let part = &mut stress.parts[resistor.part];
            // Both sections of a pot's track are one part.
            part.watts += mean(at);
            let [low, high] = range(at + 1);
            part.low_volts = part.low_volts.min(low);
            part.high_volts = part.high_volts.max(high);
            at += OF_RESISTOR;
        }
        for capacitor in &self.capacitors {
            let part = &mut stress.parts[capacitor.part];
            [part.low_volts, part.high_volts] = range(at);
            at += 1;
        }
        for rectifier in &self.rectifiers {
            let part = &mut stress.parts[rectifier.part];
            part.amps = mean(at);
            let reservoir = stress.nodes[rectifier.anode].unwrap_or_default();
            let back = stress.nodes[rectifier.cathode].unwrap_or_default();
            part.low_volts = reservoir[0] - back[1];
            part.high_volts = reservoir[1] - back[0];
            at += 1;
        }
        stress
    }
}

impl StressGauge {
    /// The same readings as [`crate::analysis::valves_playing`] gives them, for the valve chart.
    pub fn playing(&self, side: &SolvedCircuit, bins: &Bins) -> SidePlaying {
        let stress = self.stress(bins);
        let valve = |section: &Section| {
            let stress = &stress.parts[section.part];
            ValvePlaying {
                designator: side.circuit.parts()[section.part].designator.clone(),
                anode_watts: stress.watts,
                screen_watts: section.screen.map(|_| stress.screen_watts),
            }
        };
        let of = |pentodes: bool| {
            let wanted = move |s: &&Section| s.screen.is_some() == pentodes;
            self.sections.iter().filter(wanted).map(valve)
        };
        let supply = |(figure, &node): (usize, &usize)| {
            let idle_volts = side.point.solution[self.positions[node]];
            let nearest =
                |low: f64, &volts: &f64| if volts.abs() < low.abs() { volts } else { low };
            SupplyPlaying {
                node: side.circuit.nodes()[node].clone(),
                idle_volts,
                lowest_volts: bins.mean[figure].iter().fold(idle_volts, nearest),
            }
        };
        SidePlaying {
            valves: of(false).chain(of(true)).collect(),
            supplies: self.watched[..self.supplies]
                .iter()
                .enumerate()
                .map(supply)
                .collect(),
        }
    }
}

impl Gauge for StressGauge {
    fn count(&self) -> usize {
        self.watched.len()
            + OF_SECTION * self.sections.len()
            + OF_RESISTOR * self.resistors.len()
            + self.capacitors.len()
            + self.rectifiers.len()
    }

    fn read(&self, side: &SolvedCircuit, volts: &dyn Fn(usize) -> f64, figures: &mut [f64]) {
        // Ground is nobody's unknown.
        let mut nodes = [0.0; MOST_NODES + 1];
        for (node, &position) in nodes.iter_mut().zip(&self.positions).skip(1) {
            *node = volts(position);
        }
        let (watched, rest) = figures.split_at_mut(self.watched.len());
        for (figure, &node) in watched.iter_mut().zip(&self.watched) {
            *figure = nodes[node];
        }
        let (sections, rest) = rest.split_at_mut(OF_SECTION * self.sections.len());
        let laws = &side.values.devices;
        for (section, out) in self
            .sections
            .iter()
            .zip(sections.chunks_exact_mut(OF_SECTION))
        {
            let cathode = nodes[section.cathode];
            let (anode, grid) = (
                nodes[section.anode] - cathode,
                nodes[section.grid] - cathode,
            );
            let (anode_amps, screen_amps, grid_amps, screen) = match section.screen {
                None => {
                    let valve = &laws.triodes[section.law];
                    let i = valve.law.currents(anode, grid);
                    let present = valve.present;
                    (present * i.anode, 0.0, present * i.grid, 0.0)
                }
                Some(screen) => {
                    let valve = &laws.pentodes[section.law];
                    let screen = nodes[screen] - cathode;
                    let i = valve.law.currents(anode, screen, grid);
                    let present = valve.present;
                    let grid_amps = present * i.grid;
                    (present * i.anode, present * i.screen, grid_amps, screen)
                }
            };
            out[0] = anode_amps * anode;
            out[1] = screen_amps * screen;
            out[2] = anode_amps + screen_amps + grid_amps;
            out[3] = grid;
            out[4] = anode;
        }
        let (resistors, rest) = rest.split_at_mut(OF_RESISTOR * self.resistors.len());
        for (of, out) in self.resistors.iter().zip(resistors.chunks_exact_mut(2)) {
            let across = nodes[of.nodes[0]] - nodes[of.nodes[1]];
            let siemens = match side.values.branches[of.branch] {
                BranchValue::Resistive { siemens, .. } => siemens,
                _ => 0.0,
            };
            out[0] = siemens * across * across;
            out[1] = across;
        }
        let (capacitors, rectifiers) = rest.split_at_mut(self.capacitors.len());
        for (of, out) in self.capacitors.iter().zip(capacitors) {
            *out = nodes[of.nodes[0]] - nodes[of.nodes[1]];
        }
        for (of, out) in self.rectifiers.iter().zip(rectifiers) {
            let valve = &laws.rectifiers[of.law];
            let reservoir = nodes[of.anode] - nodes[of.cathode];
            *out = valve.present * valve.law.current(reservoir).current;
        }
    }
}

/// What all parts stand at one solution, such as at rest: volts by position.
pub fn at(gauge: &StressGauge, side: &SolvedCircuit, solution: &[f64]) -> Stress {
    let mut figures = vec![0.0; gauge.count()];
    gauge.read(side, &|position| solution[position], &mut figures);
    let rows: Vec<Vec<f64>> = figures.into_iter().map(|figure| vec![figure]).collect();
    gauge.stress(&Bins {
        mean: rows.clone(),
        low: rows.clone(),
        high: rows,
    })
}
