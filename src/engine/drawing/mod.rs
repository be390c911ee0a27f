//! An amp's schematic, drawn from its parts alone.
//!
//! Topology to places (`place`), places to wires (`route`), both to texts (`labels`); the result is a
//! [`sheet::Sheet`], which SVG and window show alike. The netlist read back from the drawn lines is
//! the circuit's (`netlist`): that is the proof that a drawing is right.

pub mod place;
pub mod sheet;
pub mod symbols;
