//! A branch before positions are known.

use super::branch::{BranchValue, Piece};
use crate::circuit::NodeId;

/// An unknown before elimination: a node of the file or one inside a part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Place {
    Node(NodeId),
    /// Counted within the part.
    Inner(usize),
}

/// A branch of a part or of the guitar, before positions are known.
pub(super) struct Sketch {
    pub terminals: Vec<(Place, f64)>,
    pub value: BranchValue,
    pub piece: Piece,
}
