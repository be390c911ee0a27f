//! What every valve and part has to stand: while something is played, on a steady sine, at one
//! solution. How that compares with its ratings is the advice's question.

mod gauge;
mod sine;

pub use gauge::{PartStress, Stress, StressGauge, at};
pub use sine::{SineStress, sine_stress};
