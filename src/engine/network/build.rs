//! From checked parts to branches and devices: the only place that knows what a part is made of.

use super::branch::{BranchValue, Piece};
use super::contacts::{contact_value, pot_values};
use super::cores::{Core, core_law};
use super::devices::{Devices, Site};
use super::guitar;
use super::sketch::{Place, Sketch};
use super::{Branch, INPUT_OHMS, Network, Values};
use crate::circuit::{Circuit, GROUND, NodeId, OutputTransformer, Part, PartId, PartKind};
use crate::device::{Loudspeaker, Valve};
use crate::numeric::sparse::{Changes, Program};
use std::ops::Range;

/// Least resistance of a source, Ω, so that one stated without resistance has a conductance.
const LEAST_SOURCE_OHMS: f64 = 1e-3;
/// Capacitance supplied from screen to cathode, where data sheets print none (F; assumed).
pub(crate) const SCREEN_FARADS: f64 = 10e-12;

/// Unknowns with their coefficients.
type Terminals = Vec<(usize, f64)>;

fn between(a: NodeId, b: NodeId) -> Vec<(Place, f64)> {
    vec![(Place::Node(a), 1.0), (Place::Node(b), -1.0)]
}

fn valve_capacitances(valve: &Valve, anode: NodeId, grid: NodeId, cathode: NodeId) -> Vec<Sketch> {
    [
        (Piece::AnodeToGrid, anode, grid, valve.grid_anode_farads),
        (
            Piece::GridToCathode,
            grid,
            cathode,
            valve.grid_cathode_farads,
        ),
        (
            Piece::AnodeToCathode,
            anode,
            cathode,
            valve.anode_cathode_farads,
        ),
    ]
    .into_iter()
    .map(|(piece, a, b, farads)| Sketch {
        terminals: between(a, b),
        value: BranchValue::Capacitive { farads },
        piece,
    })
    .collect()
}

fn transformer(t: &OutputTransformer) -> Vec<Sketch> {
    let flux = Place::Inner(0);
    let ratio = (t.secondary_ohms / t.primary_ohms).sqrt();
    let mut out = Vec::new();
    let primary: fn(usize) -> Piece = Piece::PrimarySection;
    for (winding, turns, ohms, leakage, piece) in [
        (&t.primary, 1.0, t.primary_resistance, t.leakage, primary),
        (
            &t.secondary,
            ratio,
            t.secondary_resistance,
            0.0,
            Piece::SecondarySection,
        ),
    ] {
        for (section, taps) in winding.taps.windows(2).enumerate() {
            let share = winding.shares[section + 1] - winding.shares[section];
            let mut terminals = between(taps[0], taps[1]);
            terminals.push((flux, -share * turns));
            out.push(Sketch {
                terminals,
                value: BranchValue::coil(ohms * share, leakage * share, t.leakage_damping),
                piece: piece(section + 1),
            });
        }
    }
    out.push(Sketch {
        terminals: vec![(flux, 1.0)],
        value: BranchValue::coil(0.0, t.inductance, f64::INFINITY),
        piece: Piece::Inductance,
    });
    out.push(Sketch {
        terminals: vec![(flux, 1.0)],
        value: BranchValue::resistor(t.core_loss),
        piece: Piece::CoreLoss,
    });
    let ends = [
        t.primary.taps[0],
        *t.primary.taps.last().expect("two taps or more"),
    ];
    for (end, node) in ends.into_iter().enumerate() {
        out.push(Sketch {
            terminals: between(node, GROUND),
            value: BranchValue::Capacitive {
                farads: t.winding_farads,
            },
            piece: Piece::WindingCapacitance(end + 1),
        });
    }
    out
}

/// The coil with its losses, and the cone as the amp sees it through the motor.
fn loudspeaker(driver: &Loudspeaker, [a, b]: [NodeId; 2]) -> Vec<Sketch> {
    let (first, second) = (Place::Inner(0), Place::Inner(1));
    let half = driver.coil_ohms / 2.0;
    let sketch = |from, to, value, piece| Sketch {
        terminals: vec![(from, 1.0), (to, -1.0)],
        value,
        piece,
    };
    let cone = |value, piece| sketch(second, Place::Node(b), value, piece);
    vec![
        sketch(
            Place::Node(a),
            first,
            BranchValue::coil(half, driver.lossy_henries, driver.lossy_ohms),
            Piece::CoilLosses,
        ),
        sketch(
            first,
            second,
            BranchValue::coil(half, driver.coil_henries, f64::INFINITY),
            Piece::Coil,
        ),
        cone(
            BranchValue::resistor(driver.motional_ohms()),
            Piece::SuspensionLosses,
        ),
        cone(
            BranchValue::Capacitive {
                farads: driver.motional_farads(),
            },
            Piece::MovingMass,
        ),
        cone(
            BranchValue::coil(0.0, driver.motional_henries(), f64::INFINITY),
            Piece::Compliance,
        ),
    ]
}

fn sketches(part: &Part) -> Vec<Sketch> {
    let one = |[a, b]: [NodeId; 2], value| {
        vec![Sketch {
            terminals: between(a, b),
            value,
            piece: Piece::Whole,
        }]
    };
    let source = |ohms: f64, volts| BranchValue::Resistive {
        siemens: 1.0 / ohms.max(LEAST_SOURCE_OHMS),
        volts,
    };
    match &part.kind {
        PartKind::Resistor { ohms, between } => one(*between, BranchValue::resistor(*ohms)),
        PartKind::Capacitor { farads, between } => {
            one(*between, BranchValue::Capacitive { farads: *farads })
        }
        PartKind::Inductor {
            henries,
            winding_ohms,
            between,
        } => one(
            *between,
            BranchValue::coil(*winding_ohms, *henries, f64::INFINITY),
        ),
        PartKind::Pot {
            ohms,
            taper,
            from,
            to,
            wiper,
            set,
            ..
        } => {
            let [upper, lower] = pot_values(*ohms, taper.share(*set));
            let section = |a, b, value, piece| Sketch {
                terminals: between(a, b),
                value,
                piece,
            };
            vec![
                section(*from, *wiper, upper, Piece::UpperTrack),
                section(*wiper, *to, lower, Piece::LowerTrack),
            ]
        }
        PartKind::Switch {
            closed, between, ..
        } => one(*between, contact_value(f64::from(u8::from(*closed)))),
        PartKind::Triode {
            valve,
            anode,
            grid,
            cathode,
        } => valve_capacitances(valve, *anode, *grid, *cathode),
        PartKind::Pentode {
            valve,
            anode,
            screen,
            grid,
            cathode,
        } => {
            let mut out = valve_capacitances(valve, *anode, *grid, *cathode);
            out.push(Sketch {
                terminals: between(*screen, *cathode),
                value: BranchValue::Capacitive {
                    farads: SCREEN_FARADS,
                },
                piece: Piece::ScreenToCathode,
            });
            out
        }
        PartKind::Rectifier { .. } => Vec::new(),
        PartKind::OutputTransformer(t) => transformer(t),
        PartKind::Loudspeaker { driver, between } => loudspeaker(driver, *between),
        PartKind::Supply { volts, ohms, node } | PartKind::BiasSupply { volts, ohms, node } => {
            one([*node, GROUND], source(*ohms, *volts))
        }
        PartKind::VoltageSource {
            volts,
            ohms,
            between,
        } => one(*between, source(*ohms, *volts)),
    }
}

/// Values of a part's branches, in the order of its sketches.
fn part_branch_values(part: &Part) -> Vec<BranchValue> {
    sketches(part)
        .into_iter()
        .map(|s| {
            if part.fitted {
                s.value
            } else {
                s.value.absent()
            }
        })
        .collect()
}

impl Network {
    /// Compiles the topology of a circuit.
    pub fn new(circuit: &Circuit) -> Self {
        network(circuit)
    }

    /// The values of a circuit of this topology.
    pub fn values(&self, circuit: &Circuit) -> Values {
        let parts = circuit.parts().iter();
        let branches = parts.flat_map(part_branch_values);
        Values {
            branches: branches.chain(guitar::values(circuit)).collect(),
            devices: Devices::values(circuit),
            cores: circuit.parts().iter().filter_map(core_law).collect(),
        }
    }

    /// Replaces the values of one part.
    pub fn update_part(&self, values: &mut Values, id: PartId, part: &Part) {
        let fresh = part_branch_values(part);
        values.branches[self.branches_of(id)].copy_from_slice(&fresh);
        self.devices.update_part(&mut values.devices, id, part);
        if let Some(index) = self.cores.iter().position(|core| core.part == id) {
            values.cores[index] = core_law(part).expect("a transformer");
        }
    }
}

fn network(circuit: &Circuit) -> Network {
    let nodes = circuit.nodes().len();
    let mut names: Vec<String> = circuit.nodes()[1..].to_vec();
    // Unknown of a node is its number less one; ground has none.
    let of_node = |node: NodeId| (node.0 as usize).checked_sub(1);
    let mut raw: Vec<(Terminals, Sketch, &str)> = Vec::new();
    let mut part_branches = Vec::new();
    let mut put = |sketches: Vec<(Sketch, &'static str)>, designator| {
        let first = raw.len();
        let base = names.len();
        let mut inner = 0;
        for (sketch, own) in sketches {
            let mut terminals: Vec<(usize, f64)> = Vec::new();
            for &(place, coefficient) in &sketch.terminals {
                let unknown = match place {
                    Place::Node(node) => of_node(node),
                    Place::Inner(index) => {
                        inner = inner.max(index + 1);
                        Some(base + index)
                    }
                };
                let Some(unknown) = unknown else { continue };
                match terminals.iter_mut().find(|(u, _)| *u == unknown) {
                    Some((_, sum)) => *sum += coefficient,
                    None => terminals.push((unknown, coefficient)),
                }
            }
            terminals.retain(|&(_, c)| c != 0.0);
            let name = if own.is_empty() { designator } else { own };
            raw.push((terminals, sketch, name));
        }
        names.extend((0..inner).map(|index| format!("{designator} inner {}", index + 1)));
        (first..raw.len(), base)
    };
    for part in circuit.parts() {
        let own = sketches(part).into_iter().map(|sketch| (sketch, ""));
        part_branches.push(put(own.collect(), &part.designator).0);
    }
    let (guitar_branches, guitar_base) = put(guitar::sketches(circuit), "guitar");
    let driven = circuit.guitar().map(|_| guitar_base + guitar::DRIVEN);
    let unknowns = names.len();
    let sites: Vec<Site> = Devices::sites(circuit);
    let mut pairs = Vec::new();
    let mut changes = vec![Changes::Never; unknowns];
    let mut join = |list: &[usize]| {
        for &a in list {
            pairs.extend(list.iter().filter(|&&b| b != a).map(|&b| (a, b)));
        }
    };
    for (terminals, sketch, _) in &raw {
        if sketch.piece == Piece::Inductance {
            changes[terminals[0].0] = Changes::EachStep;
        }
        join(&terminals.iter().map(|t| t.0).collect::<Vec<_>>());
    }
    for site in &sites {
        let list: Vec<usize> = site.nodes().into_iter().filter_map(of_node).collect();
        for &unknown in &list {
            changes[unknown] = Changes::EachIteration;
        }
        join(&list);
    }
    let program = Program::new(&pairs, &changes);
    let position = |node: NodeId| of_node(node).map_or(unknowns, |u| program.position(u));
    let branches: Vec<Branch> = raw
        .into_iter()
        .map(|(terminals, sketch, designator)| branch(&program, &terminals, &sketch, designator))
        .collect();
    let devices = Devices::new(&sites, of_node, &program);
    let output = circuit.output();
    let cores = cores(&branches, &part_branches);
    Network {
        node_positions: (0..nodes).map(|i| position(NodeId(i as u16))).collect(),
        input: driven.map_or(position(circuit.input()), |u| program.position(u)),
        input_siemens: driven.map_or(1.0 / INPUT_OHMS, |_| guitar::DRIVEN_SIEMENS),
        guitar_branches,
        output: [position(output.positive), position(output.negative)],
        names: (0..unknowns)
            .map(|p| names[program.unknown_at(p)].clone())
            .collect(),
        branches,
        devices,
        cores,
        part_branches,
        program,
    }
}

/// A branch between unknowns that have their positions.
fn branch(
    program: &Program,
    terminals: &[(usize, f64)],
    sketch: &Sketch,
    designator: &str,
) -> Branch {
    let mut stamp = Vec::new();
    for &(row, a) in terminals {
        for &(column, b) in terminals {
            stamp.push((program.slot(row, column).expect("in the pattern"), a * b));
        }
    }
    Branch {
        kind: sketch.value.kind(),
        terminals: terminals
            .iter()
            .map(|&(u, c)| (program.position(u), c))
            .collect(),
        stamp,
        piece: sketch.piece,
        label: sketch.piece.label(designator),
    }
}

/// The core of each transformer.
fn cores(branches: &[Branch], part_branches: &[Range<usize>]) -> Vec<Core> {
    let core = |(part, range): (usize, &Range<usize>)| {
        let is_inductance = |&index: &usize| branches[index].piece == Piece::Inductance;
        let branch = range.clone().find(is_inductance)?;
        Some(Core {
            part: PartId(part as u16),
            branch,
            at: branches[branch].terminals[0].0,
            slot: branches[branch].stamp[0].0,
        })
    };
    part_branches.iter().enumerate().filter_map(core).collect()
}
