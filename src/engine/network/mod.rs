//! A checked circuit as equations: unknowns, linear branches, devices, elimination order.
//!
//! The unknowns are the node voltages, the flux voltage of each transformer, and the inner nodes
//! of composite parts; no current is an unknown (see [`branch`]). Topology ([`Network`]) is apart
//! from values ([`Values`]): a changed value never changes the pattern.

pub mod assemble;
mod assumed;
pub mod branch;
mod build;
mod contacts;
pub mod cores;
pub mod curvature;
pub mod devices;
mod guitar;
mod sketch;

use crate::circuit::{NodeId, PartId};
use crate::device::CoreLaw;
use crate::numeric::sparse::Program;
pub use assumed::assumed;
pub use branch::{BranchKind, BranchValue, Companion, Piece};
pub use contacts::{contact_value, pot_values};
pub use cores::Core;
pub use devices::{DeviceValues, Devices, Fitted};
use std::ops::Range;

/// Conductance from every node to ground, S: a floating node then has a solution.
pub const LEAST_SIEMENS: f64 = 1e-12;

/// Source resistance of the jack without a guitar, Ω: small against any grid stopper.
pub const INPUT_OHMS: f64 = 1.0;

/// A linear branch of the network.
#[derive(Clone, Debug)]
pub struct Branch {
    /// What it is made of.
    pub kind: BranchKind,
    /// Positions of its terminals in the solution and their coefficients; ground is left out.
    pub terminals: Vec<(usize, f64)>,
    /// Slots of its stamp with the product of coefficients that belongs to each.
    pub stamp: Vec<(usize, f64)>,
    /// Which piece of its part it is.
    pub piece: Piece,
    /// Its name for a person: "R4", "V1a anode to grid".
    pub label: String,
}

/// Equations of a circuit without its values.
#[derive(Clone, Debug)]
pub struct Network {
    program: Program,
    branches: Vec<Branch>,
    devices: Devices,
    cores: Vec<Core>,
    node_positions: Vec<usize>,
    input: usize,
    input_siemens: f64,
    guitar_branches: Range<usize>,
    output: [usize; 2],
    part_branches: Vec<Range<usize>>,
    names: Vec<String>,
}

/// Values of every branch and device of one circuit.
#[derive(Clone, Debug, PartialEq)]
pub struct Values {
    /// One a branch.
    pub branches: Vec<BranchValue>,
    /// Laws at each valve position.
    pub devices: DeviceValues,
    /// Laws of the transformers' cores.
    pub cores: Vec<CoreLaw<f64>>,
}

impl Network {
    /// The compiled matrix pattern.
    pub fn program(&self) -> &Program {
        &self.program
    }
    /// The linear branches.
    pub fn branches(&self) -> &[Branch] {
        &self.branches
    }
    /// The valve and rectifier positions.
    pub fn devices(&self) -> &Devices {
        &self.devices
    }
    /// The transformers' cores.
    pub fn cores(&self) -> &[Core] {
        &self.cores
    }
    /// Branches that a part contributes.
    pub fn branches_of(&self, part: PartId) -> Range<usize> {
        self.part_branches[part.0 as usize].clone()
    }
    /// Number of unknowns; solutions have one entry more, the ground's, always 0.
    pub fn unknowns(&self) -> usize {
        self.program.unknowns()
    }
    /// Position of a node in the solution.
    pub fn position(&self, node: NodeId) -> usize {
        self.node_positions[node.0 as usize]
    }
    /// Position that the source drives: the jack, or behind a guitar's impedance the track.
    pub fn input(&self) -> usize {
        self.input
    }
    /// Conductance that it drives with, S.
    pub fn input_siemens(&self) -> f64 {
        self.input_siemens
    }
    /// Branches of the guitar in the jack, behind those of the parts; none without one.
    pub fn guitar_branches(&self) -> Range<usize> {
        self.guitar_branches.clone()
    }
    /// Positions whose difference is heard.
    pub fn output(&self) -> [usize; 2] {
        self.output
    }
    /// Name of the unknown at each position.
    pub fn names(&self) -> &[String] {
        &self.names
    }
}
