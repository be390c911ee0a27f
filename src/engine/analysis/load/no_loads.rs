//! Why there is nothing to report of loudspeakers.

use crate::solve::solved::NoOperatingPoint;
use crate::solve::stability::Unfit;
use std::fmt;

/// Why there is no report.
#[derive(Clone, Debug, PartialEq)]
pub enum NoLoads {
    /// What is heard is no loudspeaker, or none behind an output transformer.
    NoLoudspeaker,
    /// The amp as it is has no operating point.
    NoOperatingPoint(NoOperatingPoint),
    /// The amp as it is does not stay at rest, or passes no signal.
    Unfit(Box<Unfit>),
}

impl fmt::Display for NoLoads {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoLoads::NoLoudspeaker => f.write_str(
                "What is heard is no loudspeaker behind an output transformer: write the \
                 loudspeaker into the circuit file, between taps of the transformer's secondary, \
                 and name it as output.",
            ),
            NoLoads::NoOperatingPoint(fault) => fault.fmt(f),
            NoLoads::Unfit(fault) => fault.fmt(f),
        }
    }
}

impl std::error::Error for NoLoads {}

impl From<NoOperatingPoint> for NoLoads {
    fn from(fault: NoOperatingPoint) -> Self {
        NoLoads::NoOperatingPoint(fault)
    }
}

impl From<Box<Unfit>> for NoLoads {
    fn from(fault: Box<Unfit>) -> Self {
        NoLoads::Unfit(fault)
    }
}
