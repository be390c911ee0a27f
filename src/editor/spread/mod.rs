//! How much amps of one kind differ.

pub mod curve;
pub mod panel;
