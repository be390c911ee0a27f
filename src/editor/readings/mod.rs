//! Voltages that were measured, against those that are expected.

pub mod compared;
pub mod panel;
pub mod rows;
pub mod taken;
