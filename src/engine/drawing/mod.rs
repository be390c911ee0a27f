//! An amp's schematic, drawn from its parts alone.
//!
//! Topology to places (`place`), places to wires (`route`), both to texts (`labels`, `write`); the result
//! is a [`sheet::Sheet`], which SVG and window show alike. The netlist read back from the drawn lines is
//! the circuit's (`netlist`): that is the proof that a drawing is right.

pub mod around;
pub mod fault;
pub mod fold;
mod frame;
pub mod frozen;
pub mod labels;
pub mod netlist;
pub mod place;
pub mod route;
pub mod sheet;
pub mod strokes;
pub mod svg;
pub mod symbols;
pub mod text_places;
mod whole;
pub mod write;

pub use whole::{draw, frame, sheet_of};
