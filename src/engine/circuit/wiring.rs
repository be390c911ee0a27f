//! What a part joins, as far as the checks of the wiring need it.

use super::kinds::Kind;
use super::part::{GROUND, NodeId, PartKind};

/// What a part joins, as far as the checks of the wiring need it.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Wiring {
    /// Every terminal.
    pub terminals: Vec<NodeId>,
    /// Groups of terminals between which direct current can flow.
    pub conducting: Vec<Vec<NodeId>>,
    /// Ends between which the voltage is fixed.
    pub ideal_source: Option<[NodeId; 2]>,
}

/// A source below this is taken as ideal, Ω; far below any wire of an amplifier.
const IDEAL_OHMS: f64 = 1e-3;

impl Wiring {
    pub fn joined(terminals: &[NodeId]) -> Self {
        Wiring {
            terminals: terminals.to_vec(),
            conducting: vec![terminals.to_vec()],
            ideal_source: None,
        }
    }

    pub fn blocking(terminals: &[NodeId]) -> Self {
        Wiring {
            terminals: terminals.to_vec(),
            ..Wiring::default()
        }
    }

    /// A valve: its grid is insulated, all else conducts.
    pub fn valve(grid: NodeId, others: &[NodeId]) -> Self {
        let mut wiring = Wiring::joined(others);
        wiring.terminals.push(grid);
        wiring
    }

    pub fn windings(primary: &[NodeId], secondary: &[NodeId]) -> Self {
        Wiring {
            terminals: [primary, secondary].concat(),
            conducting: vec![primary.to_vec(), secondary.to_vec()],
            ideal_source: None,
        }
    }

    pub fn source(ends: [NodeId; 2], ohms: f64) -> Self {
        let mut wiring = Wiring::joined(&ends);
        wiring.ideal_source = (ohms < IDEAL_OHMS).then_some(ends);
        wiring
    }
}

/// A part's terminals, known even if its values could not be read.
pub(crate) struct Wired {
    pub designator: String,
    pub line: usize,
    pub kind: Kind,
    pub wiring: Wiring,
}

impl PartKind {
    /// What the part joins.
    pub(crate) fn wiring(&self) -> Wiring {
        match *self {
            PartKind::Capacitor { between, .. } => Wiring::blocking(&between),
            PartKind::Resistor { between, .. }
            | PartKind::Inductor { between, .. }
            | PartKind::Switch { between, .. }
            | PartKind::Loudspeaker { between, .. } => Wiring::joined(&between),
            PartKind::Pot {
                from, to, wiper, ..
            } => Wiring::joined(&[from, to, wiper]),
            PartKind::Triode {
                anode,
                grid,
                cathode,
                ..
            } => Wiring::valve(grid, &[anode, cathode]),
            PartKind::Pentode {
                anode,
                screen,
                grid,
                cathode,
                ..
            } => Wiring::valve(grid, &[anode, screen, cathode]),
            PartKind::Rectifier { to, from, .. } => Wiring::joined(&[to, from]),
            PartKind::OutputTransformer(ref t) => {
                Wiring::windings(&t.primary.taps, &t.secondary.taps)
            }
            PartKind::Supply { ohms, node, .. } | PartKind::BiasSupply { ohms, node, .. } => {
                Wiring::source([node, GROUND], ohms)
            }
            PartKind::VoltageSource { ohms, between, .. } => Wiring::source(between, ohms),
        }
    }
}
