//! The bias advice as a report: the part, its values, what each brings; or why there is none.

use super::bias_method::BiasMethod;
use crate::device::RatingSystem;
use serde::Serialize;
use std::fmt;

/// Why there is no advice.
#[derive(Clone, Debug, PartialEq)]
pub enum NoAdvice {
    /// No output valve is fitted.
    NoOutputValve,
    /// No limit is known for one.
    NoLimit,
    /// The target is no share from 1 to 200 %.
    BadTarget,
    /// No resistor or pot in the bias path moves the idle.
    NothingMovesIt,
    /// The part cannot bring the idle there; lowest and highest that it can, per cent.
    OutOfReach {
        /// The part.
        part: String,
        /// Per cent of the limit.
        reach: [f64; 2],
    },
}

impl fmt::Display for NoAdvice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoAdvice::NoOutputValve => f.write_str("No output valve is fitted."),
            NoAdvice::NoLimit => f.write_str("No limit is known for the output valves."),
            NoAdvice::BadTarget => f.write_str("An idle target lies between 1 and 200 per cent."),
            NoAdvice::NothingMovesIt => {
                f.write_str("No resistor or pot in the bias path moves the idle.")
            }
            NoAdvice::OutOfReach {
                part,
                reach: [low, high],
            } => write!(
                f,
                "{part} can set the idle from {low:.0} to {high:.0} % only."
            ),
        }
    }
}

impl std::error::Error for NoAdvice {}

/// The idle of the hottest output valve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct IdlePoint {
    /// Anode dissipation, W.
    pub watts: f64,
    /// Per cent of its limit.
    pub percent: f64,
    /// Cathode current, mA.
    pub cathode_milliamps: f64,
    /// Grid to cathode, V.
    pub bias_volts: f64,
}

/// One value of the part and what it brings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BiasChoice {
    /// Ohms of each part, or rotation of a pot from 0 to 1.
    pub values: Vec<f64>,
    /// The series that a preferred value is of; none for the value as it is and the exact one.
    pub series: Option<&'static str>,
    /// At nominal mains with average valves.
    pub idle: IdlePoint,
    /// Mains 10 % low.
    pub low_mains: Option<IdlePoint>,
    /// Mains 10 % high.
    pub high_mains: Option<IdlePoint>,
    /// Output valves that draw 30 % less than average.
    pub weak_valves: Option<IdlePoint>,
    /// Output valves that draw 30 % more than average.
    pub strong_valves: Option<IdlePoint>,
    /// Heat in the part itself, W; the most of them.
    pub part_watts: f64,
    /// All of it in words.
    pub in_words: String,
}

/// The advice.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BiasAdvice {
    /// Output valves.
    pub valves: Vec<String>,
    /// Where their bias comes from.
    pub method: BiasMethod,
    /// Rating system of the limit; none where no limit is known.
    #[serde(serialize_with = "RatingSystem::serialize_known")]
    pub system: Option<RatingSystem>,
    /// Idle aimed at, per cent of the anode's limit.
    pub target_percent: f64,
    /// What that target is, a sentence.
    pub target_in_words: String,
    /// The parts that set it.
    pub parts: Vec<String>,
    /// What the first of them does; may be empty.
    pub role: String,
    /// Whether the part is a pot and the values are rotations.
    pub rotation: bool,
    /// Whether a larger value runs the valves colder.
    pub larger_is_colder: bool,
    /// As it is.
    pub now: BiasChoice,
    /// The value that meets the target.
    pub exact: BiasChoice,
    /// Nearest preferred values on the cool side: E12, E24; none for a pot.
    pub preferred: Vec<BiasChoice>,
    /// The advice, a sentence each.
    pub sentences: Vec<String>,
}
