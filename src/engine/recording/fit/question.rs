//! What a fit is asked, and why there may be none.

use super::colour::Taken;
use super::rounding::Choice;
use super::unknowns::Unknown;
use crate::circuit::Circuit;
use crate::recording::Target;
use crate::solve::solved::NoOperatingPoint;
use crate::solve::stability::Unfit;
use crate::sound::Sound;
use std::fmt;

/// Fewest points that a fit is tried on: two octaves of the recording's twelve an octave.
pub const LEAST_POINTS: usize = 24;

/// The dry track that was played into the amp.
#[derive(Clone, Copy, Debug)]
pub struct Dry<'a> {
    /// The sound.
    pub sound: &'a Sound,
    /// Volts at the jack for a sample of 1.
    pub full_scale_volts: f64,
}

/// What stands behind the amp in the recording and is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Behind {
    /// Its name.
    pub name: String,
    /// Its level at the frequencies of the target, dB.
    pub db: Vec<f64>,
}

/// How well the rest of the amp is known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Others {
    /// Parts that are not varied lie within their tolerances, and valves spread as new ones do.
    #[default]
    WithinTolerance,
    /// They are as the circuit says, as after they were measured.
    AsStated,
}

/// What is asked.
#[derive(Clone, Copy)]
pub struct Question<'a> {
    /// As found.
    pub circuit: &'a Circuit,
    /// What may vary.
    pub unknowns: &'a [Unknown],
    /// What the recording shows.
    pub target: &'a Target,
    /// How it was taken.
    pub taken: Taken,
    /// Known loudspeaker or cabinet.
    pub behind: Option<&'a Behind>,
    /// The dry track, with which the model is played as hard as the amp was.
    pub dry: Option<Dry<'a>>,
    /// How well the rest of the amp is known.
    pub others: Others,
    /// Which parts there are.
    pub choice: Choice<'a>,
}

/// Why there is no match.
#[derive(Clone, Debug, PartialEq)]
pub enum NoFit {
    /// The amp as found has no operating point.
    NoOperatingPoint(NoOperatingPoint),
    /// The amp as found does not stay at rest.
    Unfit(Box<Unfit>),
    /// The recording shows too little.
    TooLittle(usize),
    /// No values led to a solution.
    NoSolution,
}

impl fmt::Display for NoFit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoFit::NoOperatingPoint(fault) => write!(f, "{fault}"),
            NoFit::Unfit(fault) => write!(f, "{fault}"),
            NoFit::TooLittle(points) => write!(
                f,
                "The recording can be trusted at {points} of its frequencies; a match needs {LEAST_POINTS}. Record more playing over the whole neck, with less noise."
            ),
            NoFit::NoSolution => write!(
                f,
                "No values of these parts led to an amp that works. Vary fewer parts, or others."
            ),
        }
    }
}

impl std::error::Error for NoFit {}

impl From<NoOperatingPoint> for NoFit {
    fn from(fault: NoOperatingPoint) -> Self {
        NoFit::NoOperatingPoint(fault)
    }
}

impl From<Box<Unfit>> for NoFit {
    fn from(fault: Box<Unfit>) -> Self {
        NoFit::Unfit(fault)
    }
}
