//! What is found of an amp that does not stay at rest.

use serde::Serialize;

/// What was found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub enum Stability {
    /// It stays at rest.
    Stable,
    /// It does not.
    Unstable(Howl),
    /// The count did not come out as a whole number: nothing is claimed.
    InDoubt,
}

/// An oscillation that grows by itself.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Howl {
    /// Frequency at which it grows, Hz; none where the voltages run to one side first. If nothing
    /// holds them there, such an amp swings to and fro all the same, at a rate that only its
    /// clipping sets.
    pub hertz: Option<f64>,
    /// How fast: it grows as `exp(growth·t)`, 1/s.
    pub growth: Option<f64>,
    /// Designators of the valves that it goes through.
    pub valves: Vec<String>,
    /// Designator of the part that closes the loop: without it nothing grows.
    pub through: Option<String>,
    /// What stops it.
    pub remedy: Option<Remedy>,
}

/// What stops an oscillation; tried on the equations.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub enum Remedy {
    /// Feedback is the wrong way round: the ends of a winding are to be swapped.
    SwapSecondary {
        /// Designator of the transformer.
        transformer: String,
    },
    /// The loop is to be opened, or less passed on, at the part that closes it.
    OpenPath,
}
