//! What can be wrong with a drawing.

use super::sheet::Point;
use crate::circuit::{NodeId, PartId};

/// What is wrong with a drawing.
#[derive(Clone, Debug, PartialEq)]
pub enum Fault {
    /// A part is not drawn, or more than once.
    Drawn { part: PartId, times: usize },
    /// A part's pins are not at its nodes, in its order.
    Pins { part: PartId },
    /// Pins of one node do not hang together.
    Open { node: NodeId, pieces: usize },
    /// Two nodes are joined.
    Short { nodes: [NodeId; 2] },
    /// A wire runs through a part.
    Through { node: NodeId, at: Point },
    /// Two nodes' wires lie on one another.
    Over { nodes: [NodeId; 2], at: Point },
    /// Three ways meet without a dot, or a dot stands where they do not.
    Dot { at: Point },
    /// Two texts lie on one another, or one on a wire or a part.
    Text { text: String, on: String },
}
