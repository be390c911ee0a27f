//! How far the recording tells an unknown.

use super::unknowns::{Unknown, UnknownKind};
use serde::Serialize;
use std::f64::consts::LN_10;

/// Half a step of the E12 series in the logarithm: a part known better than that is found.
pub const FIRM_LOG: f64 = LN_10 / 24.0;
/// Half a division of a dial from 0 to 10: the same for a control.
const FIRM_ROTATION: f64 = 0.05;
/// With more than this share of the belief's deviation left nothing was learnt, unless the belief
/// has moved by more than this many deviations.
const NOTHING_SHARE: f64 = 0.7;
const MOVED_DEVIATIONS: f64 = 1.0;

/// How far the recording tells a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Certainty {
    /// To half a step of E12, or half a division of a dial.
    Firm,
    /// Better than before.
    Roughly,
    /// Not at all.
    Nothing,
}

impl Certainty {
    /// The word for a table.
    pub fn in_words(self) -> &'static str {
        match self {
            Certainty::Firm => "firm",
            Certainty::Roughly => "roughly",
            Certainty::Nothing => "nothing",
        }
    }
}

/// How far an unknown is told by its mean and standard deviation.
pub fn certainty(unknown: &Unknown, mean: f64, deviation: f64) -> Certainty {
    let firm = match unknown.kind {
        UnknownKind::Value(_) => deviation <= FIRM_LOG,
        UnknownKind::Rotation(_) => {
            let [low, high] = [-1.0, 1.0].map(|way| unknown.value(mean + way * deviation));
            0.5 * (high - low) <= FIRM_ROTATION
        }
    };
    let moved = (mean - unknown.start).abs() > MOVED_DEVIATIONS * deviation;
    if deviation > NOTHING_SHARE * unknown.prior && !moved {
        Certainty::Nothing
    } else if firm {
        Certainty::Firm
    } else {
        Certainty::Roughly
    }
}
