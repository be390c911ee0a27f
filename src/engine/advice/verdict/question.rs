//! What a verdict is asked of, and why there may be none.

use super::calibrated::CalibratedSound;
use crate::advice::prices::Prices;
use crate::circuit::{Diagnostic, Proposal};
use crate::solve::solved::{NoOperatingPoint, SolvedAmp};
use crate::solve::stability::Unfit;

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Question<'a> {
    /// The amp as it is, its controls as they shall stand, at its operating point. If it is solved
    /// as the proposal leaves it too, it is not solved again.
    pub amp: &'a SolvedAmp,
    /// What is to be soldered.
    pub proposal: &'a Proposal,
    /// What parts cost and work takes.
    pub prices: &'a Prices,
    /// What is played.
    pub played: &'a CalibratedSound,
    /// Whether the volume control is turned and a burst given too, which takes a second.
    pub thorough: bool,
    /// Idle of the output valves that is wished for, per cent of their limit; common practice if
    /// none.
    pub idle_percent: Option<f64>,
    /// Lift of a pedal in front, dB, if it is asked whether the amp stays clean with it.
    pub boost_db: Option<f64>,
}

/// Why there is no verdict.
#[derive(Clone, Debug, PartialEq)]
pub enum NoVerdict {
    /// Faults of the proposal.
    Faults(Vec<Diagnostic>),
    /// No operating point.
    NoOperatingPoint(NoOperatingPoint),
    /// One of the circuits howls.
    Unfit(Box<Unfit>),
    /// The sound that came out is not made of numbers.
    NotFinite(u64),
}

impl From<Box<Unfit>> for NoVerdict {
    fn from(fault: Box<Unfit>) -> Self {
        NoVerdict::Unfit(fault)
    }
}

impl From<NoOperatingPoint> for NoVerdict {
    fn from(fault: NoOperatingPoint) -> Self {
        NoVerdict::NoOperatingPoint(fault)
    }
}
