//! The report on readings.

use crate::advice::spread::Band;
use serde::Serialize;
use std::fmt;

/// What a reading says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Judgement {
    /// Healthy amps read like this.
    Within,
    /// Healthy amps do not, but an amp with a fault might.
    Outside,
    /// No amp of this circuit can read like this.
    Impossible,
}

impl Judgement {
    /// One word.
    pub fn in_words(self) -> &'static str {
        match self {
            Judgement::Within => "within",
            Judgement::Outside => "OUTSIDE",
            Judgement::Impossible => "IMPOSSIBLE",
        }
    }
}

/// One reading beside what is expected.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Compared {
    /// Where, as written in the file.
    pub point: String,
    /// The node.
    pub node: String,
    /// Read, V.
    pub volts: f64,
    /// What the amp of the file would read with this meter, V.
    pub expected: f64,
    /// What stands there without the meter, V.
    pub without_meter: f64,
    /// Healthy amps with this meter and mains within ±5 %, V.
    pub band: Band,
    /// How far the meter may be off, V.
    pub meter: f64,
    /// What it says.
    pub judgement: Judgement,
}

/// One part that was measured.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PartMeasured {
    /// Designator.
    pub designator: String,
    /// Value in the file.
    pub file: String,
    /// Value measured.
    pub measured: String,
    /// Whether it lies within its tolerance; none where it has none.
    pub within: Option<bool>,
    /// All of it in words.
    pub sentence: String,
}

/// A fault that would explain what is off.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Suspect {
    /// Designator, or "mains".
    pub part: String,
    /// Its role in the file.
    pub role: String,
    /// What would have to be, such as "18 kΩ in place of 12 kΩ".
    pub needed: String,
    /// The change in units of the part's tolerance, where it has one.
    pub tolerances: Option<f64>,
    /// Readings outside that would then be as expected.
    pub explains: usize,
    /// Readings now within that would then be off.
    pub spoils: usize,
    /// Share of the distance between the readings and a healthy amp that it takes away, per cent.
    pub takes_away_percent: f64,
    /// All of it in words.
    pub sentence: String,
    /// What to look at, once the amp is off, unplugged and discharged.
    pub look: String,
}

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MeasuredReport {
    /// Name of the amp.
    pub amp: String,
    /// What the readings are compared with: "as found" or "as left".
    pub compared_with: &'static str,
    /// What the file of readings says about itself.
    pub about: String,
    /// The usual cautions, which come first.
    pub cautions: [&'static str; 6],
    /// The readings in the order of their file.
    pub readings: Vec<Compared>,
    /// The parts measured.
    pub parts: Vec<PartMeasured>,
    /// Whether the readings taken together fit no healthy amp.
    pub unlikely: bool,
    /// What would explain them, the likeliest first.
    pub suspects: Vec<Suspect>,
    /// What would explain the rest if the first suspect is right; only where it leaves some.
    pub besides: Vec<Suspect>,
    /// Sentences about the readings.
    pub sentences: Vec<String>,
    /// How the readings were compared.
    pub notes: Vec<String>,
}

/// Why there is no report: the amp with a meter on these points has no operating point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NoneWithMeter;

impl fmt::Display for NoneWithMeter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("The amp with a meter on these points has no solution.")
    }
}

impl std::error::Error for NoneWithMeter {}
