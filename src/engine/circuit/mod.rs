//! A checked circuit: the amp's schematic as parts between named nodes, with every value in range.
//!
//! Only the checker makes a [`Circuit`], so what stands above need not check again. Values are in
//! SI units. Ground is node 0.

mod amp;
mod assumed;
mod built_in;
mod changes;
mod check;
mod controls;
pub(crate) mod diagnostics;
mod drawer;
mod edit;
mod front;
mod guitar;
mod guitar_file;
mod kinds;
mod load;
mod own_loudspeakers;
mod part;
mod parts;
mod proposal;
mod proposal_file;
mod read;
mod reader;
mod readings;
mod sections;
mod signal_path;
pub(crate) mod text;
pub mod topology;
mod transformer;
mod transformer_core;
pub(crate) mod values;
mod wiring;
mod write;
mod written;
mod written_value;

pub use built_in::{
    BuiltInCircuit, BuiltInProposal, built_in_circuit, built_in_circuits, built_in_proposals,
};
pub use changes::{Change, PartType, PartValue};
pub use controls::{ControlValue, Setting};
pub use diagnostics::{Diagnostic, Severity};
pub use drawer::{Drawer, MOST_STOCKED, Stock, read_drawer};
pub use edit::edit;
pub use guitar::{Guitar, GuitarPot, NamedGuitar};
pub use guitar_file::read_guitar;
pub use kinds::Kind;
pub use load::{Join, NominalLoad, RIGHT_RATIO};
pub use own_loudspeakers::{KnownLoudspeakers, MOST_OWN_LOUDSPEAKERS};
pub use part::{
    GROUND, NodeId, Output, OutputTransformer, Part, PartId, PartKind, Particulars, Taper, Winding,
};
pub use proposal::Proposal;
pub use proposal_file::{WrittenProposal, read_proposal, read_proposal_bytes, write_proposal};
pub use read::{read, read_bytes};
pub use reader::{MOST_NODES, MOST_PARTS};
pub use readings::{Meter, Reading, Readings, read_readings};
pub use sections::{Electrodes, electrodes, output_sections};
pub use text::MOST_BYTES;
pub use transformer::MOST_TAPS;
pub use write::write;
pub use written::{WrittenChange, WrittenSetting};

use assumed::Assumed;
use std::sync::Arc;
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
    assumed: Vec<Assumed>,
    own_loudspeakers: Vec<own_loudspeakers::OwnLoudspeaker>,
    /// What drives the jack; no file says.
    guitar: Option<Arc<Guitar>>,
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
    /// The same, to be named.
    fn parts_mut(&mut self) -> &mut [Part] {
        &mut self.parts
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

    /// The guitar that drives the jack; none for a source of next to no impedance.
    pub fn guitar(&self) -> Option<&Guitar> {
        self.guitar.as_deref()
    }

    /// The same circuit with this guitar, or none, in its jack.
    pub fn with_guitar(&self, guitar: Option<Arc<Guitar>>) -> Circuit {
        Circuit {
            guitar,
            ..self.clone()
        }
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
