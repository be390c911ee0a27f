//! A checked circuit: the amp's schematic as parts between named nodes, with every value in range.
//!
//! Only the checker makes a [`Circuit`], so what stands above need not check again. Values are in
//! SI units. Ground is node 0.

mod amp;
mod built_in;
mod changes;
mod check;
mod controls;
pub(crate) mod diagnostics;
mod drawer;
mod edit;
mod kinds;
mod load;
mod own_loudspeakers;
mod parts;
mod proposal;
mod proposal_file;
mod read;
mod readings;
mod sections;
pub(crate) mod text;
mod transformer;
pub(crate) mod values;
mod write;
mod written;

pub use built_in::{
    BuiltInCircuit, BuiltInProposal, built_in_circuit, built_in_circuits, built_in_proposals,
};
pub use changes::{Change, PartType, PartValue};
pub use controls::{ControlValue, Setting};
pub use diagnostics::{Diagnostic, Severity};
pub use drawer::{Drawer, MOST_STOCKED, Stock, read_drawer};
pub use edit::edit;
pub use kinds::Kind;
pub use load::{Join, NominalLoad, RIGHT_RATIO};
pub use own_loudspeakers::{KnownLoudspeakers, MOST_OWN_LOUDSPEAKERS};
pub use proposal::Proposal;
pub use proposal_file::{WrittenProposal, read_proposal, read_proposal_bytes, write_proposal};
pub use read::{MOST_NODES, MOST_PARTS, read, read_bytes};
pub use readings::{Meter, Reading, Readings, read_readings};
pub use sections::{Electrodes, electrodes, output_sections};
pub use text::MOST_BYTES;
pub use transformer::MOST_TAPS;
pub use write::write;
pub use written::{WrittenChange, WrittenSetting};

use crate::device::{Loudspeaker, Valve, catalogue::RectifierType};
use std::sync::Arc;

/// A node of the circuit; 0 is ground.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct NodeId(pub u16);

/// Ground.
pub const GROUND: NodeId = NodeId(0);

/// A part, by its place in [`Circuit::parts`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct PartId(pub u16);

/// How a pot's resistance from its low end to the wiper follows its rotation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Taper {
    /// In proportion.
    Linear,
    /// Audio taper in two straight pieces: 10 % of the resistance at half rotation, as
    /// carbon-track pots are made (common practice, no source).
    Log,
    /// The mirror image of [`Taper::Log`].
    Reverse,
}

impl Taper {
    /// Share of the resistance between the low end and the wiper at rotation `set` (0 to 1).
    pub fn share(self, set: f64) -> f64 {
        let log = |x: f64| {
            if x < 0.5 {
                0.2 * x
            } else {
                0.1 + 1.8 * (x - 0.5)
            }
        };
        match self {
            Taper::Linear => set,
            Taper::Log => log(set),
            Taper::Reverse => 1.0 - log(1.0 - set),
        }
    }

    /// The rotation (0 to 1) that leaves this share between the low end and the wiper: the inverse
    /// of [`Taper::share`].
    pub fn rotation(self, share: f64) -> f64 {
        let log = |share: f64| {
            if share < 0.1 {
                share / 0.2
            } else {
                0.5 + (share - 0.1) / 1.8
            }
        };
        match self {
            Taper::Linear => share,
            Taper::Log => log(share),
            Taper::Reverse => 1.0 - log(1.0 - share),
        }
    }
}

/// What a part is, between which nodes, with its values in SI units.
#[derive(Clone, Debug, PartialEq)]
pub enum PartKind {
    /// Ohms between two nodes.
    Resistor { ohms: f64, between: [NodeId; 2] },
    /// Farads between two nodes.
    Capacitor { farads: f64, between: [NodeId; 2] },
    /// Henries with the resistance of the winding in series.
    Inductor {
        henries: f64,
        winding_ohms: f64,
        between: [NodeId; 2],
    },
    /// `set` is the rotation: at 1 the wiper stands at `from`, at 0 at `to`.
    Pot {
        ohms: f64,
        taper: Taper,
        from: NodeId,
        to: NodeId,
        wiper: NodeId,
        set: f64,
        control: String,
    },
    /// A contact.
    Switch {
        closed: bool,
        between: [NodeId; 2],
        control: String,
    },
    /// One triode section.
    Triode {
        valve: Arc<Valve>,
        anode: NodeId,
        grid: NodeId,
        cathode: NodeId,
    },
    /// A pentode or beam tetrode; triode-connected when screen and anode are the same node.
    Pentode {
        valve: Arc<Valve>,
        anode: NodeId,
        screen: NodeId,
        grid: NodeId,
        cathode: NodeId,
    },
    /// Full-wave rectifier on a centre-tapped winding, its reservoir being a part of its own.
    /// `winding_volts` is the r.m.s. voltage of each half, `winding_ohms` the resistance in
    /// series with each anode.
    Rectifier {
        rectifier: Arc<RectifierType>,
        winding_volts: f64,
        winding_ohms: f64,
        to: NodeId,
        from: NodeId,
    },
    /// Output transformer; see [`OutputTransformer`].
    OutputTransformer(OutputTransformer),
    /// A loudspeaker between two nodes.
    Loudspeaker {
        driver: Arc<Loudspeaker>,
        between: [NodeId; 2],
    },
    /// High-tension (positive) supply from ground to a node, with its source resistance.
    Supply { volts: f64, ohms: f64, node: NodeId },
    /// Bias (negative) supply from ground to a node, with its source resistance.
    BiasSupply { volts: f64, ohms: f64, node: NodeId },
    /// Any other constant source, first node positive.
    VoltageSource {
        volts: f64,
        ohms: f64,
        between: [NodeId; 2],
    },
}

/// One winding: its tap nodes from end to end and the turns at each, as a share of the winding.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Winding {
    /// Nodes of the taps, ends included; two or more.
    pub taps: Vec<NodeId>,
    /// Turns from the first end to each tap, first 0, last 1, rising.
    pub shares: Vec<f64>,
}

/// Output transformer with its losses, all as seen across the whole primary unless said otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct OutputTransformer {
    /// Reflected load across the whole primary at rated secondary load, Ω.
    pub primary_ohms: f64,
    /// Rated load across the whole secondary, Ω. Turns ratio is the root of the two.
    pub secondary_ohms: f64,
    /// Primary taps.
    pub primary: Winding,
    /// Secondary taps.
    pub secondary: Winding,
    /// Primary (magnetising) inductance, H.
    pub inductance: f64,
    /// Leakage inductance, H, shared among the primary sections by their turns.
    pub leakage: f64,
    /// Damping across each section's leakage, Ω.
    pub leakage_damping: f64,
    /// Resistance of the whole primary, Ω, shared by turns.
    pub primary_resistance: f64,
    /// Resistance of the whole secondary, Ω, shared by turns.
    pub secondary_resistance: f64,
    /// Core loss across the whole primary, Ω.
    pub core_loss: f64,
    /// Winding capacitance from each end of the primary to ground, F; only at ends that are
    /// anodes.
    pub winding_farads: f64,
}

/// Ratings and origin of a part, as the file states them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Particulars {
    /// Position in signal order, such as "First gain stage".
    pub stage: String,
    /// What it does there, such as "grid stopper".
    pub role: String,
    /// Power rating, W.
    pub rated_watts: Option<f64>,
    /// Voltage rating, V.
    pub rated_volts: Option<f64>,
    /// Tolerance as a share: 0.05 is 5 %.
    pub tolerance: Option<f64>,
    /// Where it sits on the board, to group work.
    pub near: Option<String>,
}

/// One line of the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Designator, such as "R14".
    pub designator: String,
    /// Line in the file, counted from 1.
    pub line: usize,
    /// Kind, nodes and values.
    pub kind: PartKind,
    /// False when the part is left out of the amp.
    pub fitted: bool,
    /// Stage, role, ratings.
    pub particulars: Particulars,
}

/// What is heard: the voltage between two nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Output {
    /// Positive side.
    pub positive: NodeId,
    /// Negative side.
    pub negative: NodeId,
    /// The loudspeaker, when the output was named by one.
    pub loudspeaker: Option<PartId>,
}

/// A checked circuit.
#[derive(Clone, Debug, PartialEq)]
pub struct Circuit {
    name: String,
    about: String,
    nodes: Vec<String>,
    parts: Vec<Part>,
    input: NodeId,
    output: Output,
    supplied: Vec<String>,
    /// Which keys those sentences are about, so that they are not written as if stated; further
    /// sentences are about the loudspeakers of the file's own.
    assumed: Vec<read::Assumed>,
    own_loudspeakers: Vec<own_loudspeakers::OwnLoudspeaker>,
}

impl Circuit {
    /// The amp's name.
    pub fn name(&self) -> &str {
        &self.name
    }
    /// What the file says about the amp.
    pub fn about(&self) -> &str {
        &self.about
    }
    /// Names of the nodes by [`NodeId`]; the first is "gnd".
    pub fn nodes(&self) -> &[String] {
        &self.nodes
    }
    /// The parts in the order of the file.
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }
    /// One part.
    pub fn part(&self, id: PartId) -> &Part {
        &self.parts[id.0 as usize]
    }
    /// A part by designator, in any case.
    pub fn find_part(&self, designator: &str) -> Option<PartId> {
        self.parts
            .iter()
            .position(|p| p.designator.eq_ignore_ascii_case(designator))
            .map(|i| PartId(i as u16))
    }
    /// A node by name.
    pub fn find_node(&self, name: &str) -> Option<NodeId> {
        self.nodes
            .iter()
            .position(|n| n == name)
            .map(|i| NodeId(i as u16))
    }
    /// The node that the guitar drives.
    pub fn input(&self) -> NodeId {
        self.input
    }
    /// What is heard.
    pub fn output(&self) -> Output {
        self.output
    }
    /// What the loader assumed because the file does not state it, a sentence each.
    pub fn supplied(&self) -> &[String] {
        &self.supplied
    }

    /// The same circuit with other parts in some places. A part keeps kind and nodes; its values
    /// are the caller's to answer for: twice a checked value is not checked again.
    pub(crate) fn with_parts(&self, parts: &[(PartId, Part)]) -> Circuit {
        let mut circuit = self.clone();
        for (id, part) in parts {
            debug_assert_eq!(part.kind.kind(), self.part(*id).kind.kind());
            circuit.parts[id.0 as usize] = part.clone();
        }
        circuit
    }

    /// The same circuit with a pot's wiper off its track, which stays as a resistor from end to
    /// end; other parts are left alone. The wiper's node may then have no path to ground.
    pub(crate) fn with_wiper_lifted(&self, id: PartId) -> Circuit {
        let mut circuit = self.clone();
        let part = &mut circuit.parts[id.0 as usize];
        if let PartKind::Pot { ohms, from, to, .. } = part.kind {
            part.kind = PartKind::Resistor {
                ohms,
                between: [from, to],
            };
        }
        circuit
    }

    /// The same circuit, listened to between two of its nodes.
    pub fn heard_between(&self, positive: NodeId, negative: NodeId) -> Circuit {
        let mut circuit = self.clone();
        circuit.output = Output {
            positive,
            negative,
            loudspeaker: None,
        };
        circuit
    }

    /// Whether two circuits differ in nothing but the lines that their parts stand on.
    pub fn same_but_for_lines(&self, other: &Circuit) -> bool {
        let without_lines = |circuit: &Circuit| {
            let mut circuit = circuit.clone();
            circuit.parts.iter_mut().for_each(|part| part.line = 0);
            circuit
        };
        without_lines(self) == without_lines(other)
    }
}
