//! Where and how a stage clips.

use serde::Serialize;

/// Lowest and highest level tried, V peak.
pub const RANGE_VOLTS: [f64; 2] = [1e-3, 20.0];

/// How a valve clips.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum How {
    /// The grid takes current.
    GridCurrent,
    /// The anode current stops.
    CutOff,
    /// The anode is at its knee.
    Knee,
}

impl How {
    /// "its grid takes current".
    pub fn in_words(self) -> &'static str {
        match self {
            How::GridCurrent => "its grid takes current",
            How::CutOff => "it cuts off",
            How::Knee => "its anode reaches the knee",
        }
    }
}

/// One stage, told by its valve that clips first.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StageHeadroom {
    /// Its name, as the file says; the valve's designator if it has none.
    pub stage: String,
    /// Designator of the valve.
    pub valve: String,
    /// Level at the jack at which it clips, V peak, the lowest level of [`RANGE_VOLTS`] standing for
    /// all below it; none if it does not up to the highest level of
    /// [`RANGE_VOLTS`], be it that an earlier stage keeps it from clipping.
    pub clips_at_input_volts: Option<f64>,
    /// How; none if it does not.
    pub how: Option<How>,
}

/// The stage that clips first.
pub fn first_to_clip(stages: &[StageHeadroom]) -> Option<&StageHeadroom> {
    stages
        .iter()
        .filter(|s| s.clips_at_input_volts.is_some())
        .min_by(|a, b| {
            let volts = |s: &StageHeadroom| s.clips_at_input_volts.unwrap_or(f64::INFINITY);
            volts(a).total_cmp(&volts(b))
        })
}
